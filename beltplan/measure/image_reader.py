"""What was picked on photos, scans and tracings: places, and rims traced point by point."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sized
from dataclasses import replace

import numpy as np

from beltplan.faults import did_you_mean, quoted
from beltplan.layoutfile.document import Sequence, Table, kind_of
from beltplan.layoutfile.schema import key_at
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.values import two_numbers
from beltplan.measure.forms import Accuracy, entries_of, length, tables_of
from beltplan.measure.images import POINTS_NEEDED, Model
from beltplan.measure.names import Names
from beltplan.measure.readings import Image, Pixel

_LEAST_ON_A_RIM = 3
_STRAIGHT = 1e-3
"""Points whose least spread is under this share of their largest lie on one line: no circle goes through them."""
_KNOWN = "known"


def read_images(top: Section, names: Names, accuracy: Accuracy) -> tuple[Image, ...]:
    """The images that could be read, each with the rims traced on it, and after it what is known of its places."""
    sections = top.named_mappings("points")
    read = {name: _image(name, each, names, accuracy) for name, each in sections.items() if each is not None}
    ways = {name: _way(each) for name, each in sections.items() if each is not None}
    if isinstance(node := top.node("points"), Table) and not node.entries:
        top.refuse("points", "no picture", "at least one picture by a name of your own")
    for name, circle, rim in _circles(top, names, tuple(sections)):
        own = read.get(circle)
        if own is not None:
            turned = tuple(_turned(ways[circle], at) for at in rim)
            read[circle] = replace(own, rims={**own.rims, name: (*own.rims.get(name, ()), *turned)})
    found: list[Image] = []
    for name, image in read.items():
        section = sections[name]
        known = None if section is None else _known(name, section, names, accuracy)
        found += [each for each in (image, known) if each is not None]
    return tuple(found)


def _way(section: Section) -> Pixel:
    """Signs by which coordinates turn into those seen from the front, with the second running up."""
    seen_from, y_runs = (getattr(section.node(key), "text", "") for key in ("seen_from", "y_runs"))
    return -1.0 if seen_from == "back" else 1.0, 1.0 if y_runs == "up" else -1.0


def _turned(way: Pixel, at: Pixel) -> Pixel:
    return way[0] * at[0], way[1] * at[1]


def _image(name: str, section: Section, names: Names, accuracy: Accuracy) -> Image | None:
    for key in ("y_runs", "seen_from"):
        section.value(key)
    slant, scale, own = section.value("slant") or False, section.value("mm_per_px"), section.value("accuracy_px")
    if slant and section.has("mm_per_px"):
        section.refuse("mm_per_px", "a scale beside slant", "one of the two: a photo at a slant has no one scale")
    model: Model = "slanted" if slant else "rigid" if scale is not None else "similar"
    places = _places(section, names, POINTS_NEEDED[model])
    if places is None:
        return None
    sd = accuracy.place_px if own is None else own
    turned = {point: _turned(_way(section), at) for point, at in places.items()}
    return Image(name, model, sd, turned, {}, 1.0 if scale is None else 1.0 / scale, section.line)


def _places(section: Section, names: Names, least: int) -> Mapping[str, Pixel] | None:
    own = section.free_mapping("places")
    if own is None:
        return None
    form = f"{section.form}.places.NAME"
    read = [(name, _pair(own, name, form), names.known(own, name, name)) for name in own.table.entries]
    if len(read) < least:
        why = "; at a slant 4, known from elsewhere" if least > 2 else ""
        section.refuse("places", _count(read), f"at least {least}{why}")
    places = {name: at for name, at, known in read if known and at is not None}
    _refuse_doubles(own, places)
    return places


def _count(places: Sized) -> str:
    return f"{len(places)} place{'' if len(places) == 1 else 's'}"


def _refuse_doubles(own: Section, places: Mapping[str, Pixel]) -> None:
    first: dict[Pixel, str] = {}
    for name, at in places.items():
        if first.setdefault(at, name) != name:
            own.refuse(name, f"the same place as {quoted(first[at])}", "another place (two names for one point?)")


def _pair(own: Section, key: str, form: str) -> Pixel | None:
    node, spec = own.node(key), key_at(form)
    if node is None:
        own.refuse(key, "nothing", spec.allowed())
        return None
    return own.converted(key, node, spec, two_numbers)


def _known(name: str, section: Section, names: Names, accuracy: Accuracy) -> Image | None:
    """What is known of the places of an image, as an image of its own that counts in mm."""
    own, given = section.free_mapping(_KNOWN), section.value("accuracy_mm")
    if own is None:
        if section.has("accuracy_mm") and not section.has(_KNOWN):
            section.refuse("accuracy_mm", "an accuracy of coordinates that are not given", f"it beside `{_KNOWN}`")
        return None
    read = {each: _coordinates(own, each, f"{section.form}.{_KNOWN}.NAME") for each in own.table.entries}
    if len(read) < 2:
        section.refuse(_KNOWN, _count(read), "at least 2")
    _check_picked(own, section)
    across, _ = _way(section)
    places = {each: (across * at[0], at[1]) for each, at in read.items() if at is not None and each in names.points}
    _refuse_doubles(own, places)
    sd = accuracy.distance_mm if given is None else given
    return Image(f"{name}, {_KNOWN}", "rigid", sd, places, {}, 1.0, section.line_of(_KNOWN), True)


def _check_picked(own: Section, section: Section) -> None:
    node = section.node("places")
    picked = tuple(node.entries) if isinstance(node, Table) else ()
    for name in own.table.entries:
        if picked and name not in picked:
            own.refuse(name, f"a name that is not among `places`{did_you_mean(name, picked)}", ", ".join(picked[:12]))


def _coordinates(own: Section, key: str, form: str) -> Pixel | None:
    node, spec = own.node(key), key_at(form)
    if not isinstance(node, Sequence) or len(node.items) != 2:
        own.refuse(key, "nothing" if node is None else kind_of(node), f"{spec.allowed(own.scale)}, such as [0, 8 1/2]")
        return None
    first, second = (length(own, key, item, spec) for item in node.items)
    return None if first is None or second is None else (first, second)


def _circles(top: Section, names: Names, images: tuple[str, ...]) -> Iterator[tuple[str, str, tuple[Pixel, ...]]]:
    for section, name in entries_of(top, "circles"):
        known = names.known(section, name, name)
        for own in tables_of(section, name, "NAME"):
            image, rim = _image_of(own, images), _rim(own)
            if known and image is not None and rim is not None:
                yield name, image, rim


def _image_of(own: Section, images: tuple[str, ...]) -> str | None:
    listed = ", ".join(images) or "none: this file has no `points`"
    if not own.has("picture"):
        if len(images) == 1:
            return images[0]
        own.missing("picture", f"the name of the picture: {listed}")
        return None
    name: str | None = own.value("picture")
    if name is not None and name not in images:
        own.refuse("picture", f"an unknown picture {quoted(name)}{did_you_mean(name, images)}", listed)
        return None
    return name


def _rim(own: Section) -> tuple[Pixel, ...] | None:
    rim = own.each("rim", two_numbers)
    if rim is None:
        return None
    different = len(set(rim))
    widest, least = np.linalg.svd(np.array(rim) - np.mean(rim, axis=0), compute_uv=False)
    if different < len(rim):
        own.refuse("rim", f"{len(rim)} places of which {len(rim) - different} are doubled", "each place once")
    elif least <= _STRAIGHT * widest:
        own.refuse("rim", "places on one line", f"{_LEAST_ON_A_RIM} or more places round the rim")
    else:
        return rim
    return None

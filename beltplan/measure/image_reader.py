"""What was picked on photos, scans and tracings: places, and rims traced point by point."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from beltplan.faults import did_you_mean, quoted
from beltplan.layoutfile.document import Scalar, Sequence, Table, is_nothing, kind_of, text_of
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.values import two_numbers
from beltplan.measure.images import POINTS_NEEDED, Model
from beltplan.measure.names import Names, keys_in
from beltplan.measure.readers import Accuracy, entries_of, length, tables_of
from beltplan.measure.readings import Image, Pixel, SeenFrom, YRuns, way_of

_STRAIGHT = 1e-3
"""Points whose least spread is under this share of their largest lie on one line: no circle goes through them."""
_KNOWN = "known"
_Rim = tuple[tuple[Pixel, int], ...]
"""Places on a rim, each with its line."""


def read_images(top: Section, names: Names, accuracy: Accuracy) -> tuple[Image, ...]:
    """The images that could be read, each with the rims traced on it, and after it what is known of its places."""
    every = top.named_mappings("points")
    sections = {name: section for name, section in every.items() if section is not None}
    read = {name: _image(name, section, names, accuracy) for name, section in sections.items()}
    if isinstance(node := top.node("points"), Table) and not node.entries:
        top.refuse("points", "no picture", "at least one picture by a name of your own")
    for name, circle, rim in _circles(top, names, tuple(every)):
        if (own := read.get(circle)) is not None:
            before = own.rims.get(name, ())
            turned = (_turned(own.way, at) for at, _ in rim)
            stand: dict[tuple[str, int | None], int] = {**own.lines}
            stand |= {(name, i): line for i, (_, line) in enumerate(rim, start=len(before) + 1)}
            read[circle] = replace(own, rims={**own.rims, name: (*before, *turned)}, lines=stand)
    both = ((read[name], _known(name, section, accuracy)) for name, section in sections.items())
    return tuple(image for images in both for image in images if image is not None)


def _hand(section: Section) -> tuple[YRuns, SeenFrom]:
    y_runs, seen_from = (text_of(section.node(key)) for key in ("y_runs", "seen_from"))
    return "up" if y_runs == "up" else "down", "back" if seen_from == "back" else "front"


def _turned(way: Pixel, at: Pixel) -> Pixel:
    return way[0] * at[0], way[1] * at[1]


def _image(name: str, section: Section, names: Names, accuracy: Accuracy) -> Image | None:
    for key in ("y_runs", "seen_from"):
        section.value(key)
    slant, scale, own = section.value("slant") or False, section.value("mm_per_px"), section.value("accuracy_px")
    if slant and section.has("mm_per_px"):
        section.refuse("mm_per_px", "a scale beside slant", "one of the two: a photo at a slant has no one scale")
    model: Model = "slanted" if slant else "rigid" if scale is not None else "similar"
    more = "; at a slant 4, known from elsewhere" if slant else ""
    places = _places(section, "places", POINTS_NEEDED[model], more, _pair, lambda own, at: names.known(own, at, at))
    if places is None:
        return None
    sd = accuracy.place_px if own is None else own
    hand, lines, keys = _hand(section), _lines(section, "places"), ("y_runs", "seen_from", "mm_per_px")
    turned = {point: _turned(way_of(*hand), at) for point, at in places.items()}
    scale = 1.0 if scale is None else 1.0 / scale
    own_lines = {key: section.line_of(key) for key in keys if section.has(key)}
    return Image(name, model, sd, turned, {}, scale, section.line, False, *hand, lines, own_lines)


def _known(name: str, section: Section, accuracy: Accuracy) -> Image | None:
    """What is known of the places of an image, as an image of its own that counts in mm."""
    given, picked, node = section.value("accuracy_mm"), keys_in(section.node("places")), section.node(_KNOWN)
    entries = node.entries.items() if isinstance(node, Table) else ()
    bare = [(own, each.value) for own, each in entries if own not in picked and isinstance(each.value, Scalar)]
    sizes = {own: size.text for own, size in bare if not is_nothing(size)}
    for own, size in sizes.items():
        meant = f"{{{own} 1: [0, 0], {own} 2: [{size}, 0]}}, and pick {own} 1 and {own} 2 under `places`"
        section.refuse(_KNOWN, f"{quoted(size)} of {own}", f"places: for a length write {meant}")
    if sizes:
        return None

    def among(own: Section, name: str) -> bool:
        if picked and name not in picked:
            own.refuse(name, f"a name that is not among `places`{did_you_mean(name, picked)}", ", ".join(picked[:12]))
        return not picked or name in picked

    places = _places(section, _KNOWN, 2, "", _coordinates, among)
    if places is None:
        return None
    hand = _hand(section)
    across, _ = way_of(*hand)
    turned = {each: (across * at[0], at[1]) for each, at in places.items()}
    sd = accuracy.distance_mm if given is None else given
    line, lines = section.line_of(_KNOWN), _lines(section, _KNOWN)
    return Image(f"{name}, {_KNOWN}", "rigid", sd, turned, {}, 1.0, line, True, *hand, lines)


def _lines(section: Section, key: str) -> dict[tuple[str, int | None], int]:
    node = section.node(key)
    return {(name, None): entry.line for name, entry in node.entries.items()} if isinstance(node, Table) else {}


def _places(
    section: Section,
    key: str,
    least: int,
    more: str,
    read: Callable[[Section, str], Pixel | None],
    known: Callable[[Section, str], bool],
) -> dict[str, Pixel] | None:
    """The places at a key, by name, that can be read and whose name is known; None where there is no mapping.

    more: what else is said of the fewest.
    """
    own = section.free_mapping(key)
    if own is None:
        return None
    found = [(name, read(own, name), known(own, name)) for name in own.table.entries]
    if len(found) < least:
        section.refuse(key, f"{len(found)} place{'' if len(found) == 1 else 's'}", f"at least {least}{more}")
    first: dict[Pixel, str] = {}
    for name, at, is_known in found:
        if is_known and at is not None and first.setdefault(at, name) != name:
            own.refuse(name, f"the same place as {quoted(first[at])}", "another place (two names for one point?)")
    return {name: at for name, at, is_known in found if is_known and at is not None}


def _pair(own: Section, key: str) -> Pixel | None:
    node, spec = own.node(key), own.spec(key, "NAME")
    if node is None:
        own.refuse(key, "nothing", spec.allowed())
        return None
    return own.converted(key, node, spec, two_numbers)


def _coordinates(own: Section, key: str) -> Pixel | None:
    node, spec = own.node(key), own.spec(key, "NAME")
    if not isinstance(node, Sequence) or len(node.items) != 2:
        own.refuse(key, "nothing" if node is None else kind_of(node), f"{spec.allowed(own.scale)}, such as [0, 8 1/2]")
        return None
    first, second = (length(own, key, item, spec) for item in node.items)
    return None if first is None or second is None else (first, second)


def _circles(top: Section, names: Names, images: tuple[str, ...]) -> Iterator[tuple[str, str, _Rim]]:
    for section, name in entries_of(top, "circles"):
        known = names.known(section, name, name)
        for own in tables_of(section, name):
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


def _rim(own: Section) -> _Rim | None:
    rim = own.each("rim", lambda node, spec: (two_numbers(node, spec), node.line))
    if rim is None:
        return None
    places = np.array([at for at, _ in rim])
    widest, least = np.linalg.svd(places - places.mean(axis=0), compute_uv=False)
    if least <= _STRAIGHT * widest:
        own.refuse("rim", "places on one line", "3 or more places round the rim")
        return None
    return rim

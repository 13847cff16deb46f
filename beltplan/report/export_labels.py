"""Words in an export that is drawn: names beside their parts, notes under the drawing, and how far all reaches."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from beltplan.belts.drawing import Arc, Line, Outline, Part, Place, Ring, Spot
from beltplan.report.export_content import Content, clean, notes_of
from beltplan.report.export_layers import NAMES, NOTES

HEIGHT_MM = 5.0
STEP_MM = 8.0
"""From one line of words to the next."""
GAP_MM = 20.0
"""Between the drawing and the notes under it."""
NOTE_LETTERS = 80
LETTER_SHARE = 0.8
"""Width of a letter as a share of its height, on the wide side: fonts differ, and the words must stay inside."""

Box = tuple[Place, Place]


@dataclass(frozen=True)
class Label:
    """One line of words. at_mm: its left end on the base line, or the middle of that where centred."""

    layer: str
    text: str
    at_mm: Place
    centred: bool


def labels_of(content: Content) -> tuple[Label, ...]:
    """Every name and every line of the notes."""
    return *_names(content.parts), *_notes(content)


def _names(parts: Iterable[Part]) -> Iterator[Label]:
    named = [part for part in parts if part.layer in ("pulleys", "obstacles", "centres")]
    rims = {part.name for part in named if part.layer == "pulleys"}
    for part in named:
        if part.layer != "centres" or part.name not in rims:
            (x0, y0), (x1, y1) = box_of(part)
            # Over the middle, so that the mark of the centre stays free.
            yield Label(NAMES, clean(part.name), (0.5 * (x0 + x1), 0.5 * (y0 + y1) + 0.8 * HEIGHT_MM), True)


def _notes(content: Content) -> Iterator[Label]:
    (x, y), _ = bounds_of(content.parts)
    for number, line in enumerate(note_lines(content)):
        yield Label(NOTES, line, (x, y - GAP_MM - number * STEP_MM), False)


def note_lines(content: Content) -> tuple[str, ...]:
    """The notes broken into lines."""
    return tuple(line for note in notes_of(content) for line in textwrap.wrap(note, NOTE_LETTERS))


def extent_of(content: Content) -> Box:
    """The least and the largest corner of parts and words together, mm."""
    return _around([*map(box_of, content.parts), *map(_label_box, labels_of(content))])


def bounds_of(parts: Iterable[Part]) -> Box:
    """The least and the largest corner of some parts, mm."""
    return _around([box_of(part) for part in parts])


def box_of(part: Part) -> Box:
    """The least and the largest corner of one part, mm."""
    if isinstance(part, Ring):
        (x, y), r = part.centre_mm, part.radius_mm
        return (x - r, y - r), (x + r, y + r)
    if isinstance(part, Spot):
        return part.at_mm, part.at_mm
    if isinstance(part, Line):
        return _box([part.start_mm, part.end_mm])
    return _box(part.corners_mm if isinstance(part, Outline) else _reach(part))


def _reach(arc: Arc) -> list[Place]:
    """Both ends of an arc, and where it is furthest right, up, left and down if it comes there."""
    low, high = sorted((arc.start_rad, arc.start_rad + arc.sweep_rad))
    quarter = 0.5 * math.pi
    inside = [n * quarter for n in range(math.ceil(low / quarter), math.floor(high / quarter) + 1)]
    (x, y), r = arc.centre_mm, arc.radius_mm
    furthest = [(x + r * math.cos(angle), y + r * math.sin(angle)) for angle in inside]
    return [arc.place_at(0.0), arc.place_at(1.0), *furthest]


def _label_box(label: Label) -> Box:
    (x, y), width = label.at_mm, LETTER_SHARE * HEIGHT_MM * len(label.text)
    left = x - 0.5 * width if label.centred else x
    return (left, y - 0.3 * HEIGHT_MM), (left + width, y + HEIGHT_MM)


def _box(places: Iterable[Place]) -> Box:
    xs, ys = zip(*places, strict=True)
    return (min(xs), min(ys)), (max(xs), max(ys))


def _around(boxes: Iterable[Box]) -> Box:
    return _box([corner for box in boxes for corner in box])

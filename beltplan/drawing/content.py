"""What every kind of export tells: parts as plain numbers, layers, labels, what `check` found, and the caution.

Here too the two kinds that draw nothing: a table and JSON.
"""

from __future__ import annotations

import csv
import math
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from io import StringIO

from beltplan.checks.belt import no_belt_words
from beltplan.checks.limits import begun
from beltplan.checks.plan import Plan
from beltplan.checks.pulleys import AT_MEASURING
from beltplan.drawing.control import counted, doubt_words
from beltplan.drawing.study import LAYERS, Arc, Line, Outline, Part, Place, Ring, Spot, points_along
from beltplan.drive.fit import setting_words
from beltplan.report.answer import title_words
from beltplan.report.words import SAFETY, json_lines

NAMES, NOTES = "names", "notes"
"""Layers that hold words alone, which a machine must not cut."""


@dataclass(frozen=True)
class _DrawnLayer:
    """One layer. colour_number: of the 255 colours that DXF counts. colour: red, green and blue for a screen."""

    name: str
    meaning: str
    colour_number: int
    colour: str


DRAWN_LAYERS = (
    _DrawnLayer("belt_line", "the line whose length the belt's number counts", 1, "#c00000"),
    _DrawnLayer("belt_edges", "the two faces of the belt", 8, "#808080"),
    _DrawnLayer("pulleys", "rims: over the rib tips, or the smooth face", 5, "#0000ff"),
    _DrawnLayer("centres", "shaft centres, and the pivot of an arm", 92, "#008000"),
    _DrawnLayer("adjuster", "travel of the adjuster, its pulley at both stops", 6, "#a000a0"),
    _DrawnLayer("obstacles", "what the belt must not touch", 30, "#b05000"),
    _DrawnLayer("holes", "bolt holes and slots of mounts", 3, "#00a000"),
    _DrawnLayer("marks", "points that are no pulleys, not to be cut", 9, "#606060"),
    _DrawnLayer(NAMES, "words, not to be cut", 7, "#000000"),
    _DrawnLayer(NOTES, "words, not to be cut", 134, "#007070"),
)
"""Each has a colour of its own: some machines tell by it, not by the name, what is to be cut."""


# What every kind of export tells beside the parts: title, belt, path, what `check` found, and the caution.

FRAME = "millimetres, full size; seen from the front: x right, y up"


@dataclass(frozen=True, eq=False)
class Content:
    plan: Plan
    parts: tuple[Part, ...]

    @property
    def heading(self) -> str:
        return clean(title_words(self.plan.layout))


def belt_words(content: Content) -> str:
    route = content.plan.route
    belt, line = route.designation or no_belt_words(route), route.layout.belt.profile.line_name
    at = "" if route.setting is None else f", adjuster at {setting_words(route.circuit, route.setting)}, {AT_MEASURING}"
    return f"{belt}; path as drawn {float(route.loop.length):.1f} mm along the {line} line{at}"


def problem_words(content: Content) -> str:
    """What whoever cuts by the file must know first; '' where no problem was found and no place is in doubt."""
    count, doubt = content.plan.count("problem"), doubt_words(content.plan.layout)
    found = f"beltplan check finds {counted(count, 'problem')} in this layout" if count else ""
    against = "; ".join(filter(None, (found, doubt)))
    return f"DO NOT CUT YET: {against}" if against else ""


def notes_of(content: Content) -> tuple[str, ...]:
    """What a person must read in the file, a paragraph each; all on one line, without control characters."""
    return (
        content.heading,
        *filter(None, [problem_words(content)]),
        f"Verdict: {content.plan.verdict}",
        begun(FRAME),
        f"Belt: {clean(belt_words(content))}",
        f"Layers {NAMES} and {NOTES} are words, not to be cut",
        SAFETY,
    )


def clean(text: str) -> str:
    """A text on one line with a space for all that cannot be printed: no control character gets into a file."""
    return "".join(letter if letter.isprintable() else " " for letter in text).strip()


# A part as plain numbers, the same in every kind of export: mm and degrees, rounded once.

_DIGITS = 10
"""Decimals of a number: a tenth of a nanometre, so that hundreds of parts still sum to 1e-6 mm."""
_NUMBERS = (
    "x_mm", "y_mm", "x2_mm", "y2_mm", "centre_x_mm", "centre_y_mm", "radius_mm", "start_deg", "sweep_deg", "length_mm"
)  # fmt: skip
"""x, y: where a line or arc begins, or the point; x2, y2: where it ends. Sweep: counter-clockwise positive."""
COLUMNS = ("part", "layer", "name", *_NUMBERS)

_Row = dict[str, str | float | None]


def rounded(value: float) -> float:
    """A number as it stands in a file; nothing is written as minus nothing. Raises ValueError where not finite."""
    if not math.isfinite(value):
        raise ValueError(f"got {value}, which no file can hold")
    return round(value, _DIGITS) + 0.0


def decimal(value: float) -> str:
    return f"{rounded(value):.{_DIGITS}f}"


def rows_of(part: Part) -> Iterator[_Row]:
    """One row, but for an outline one row an edge, in order. Raises ValueError for a number that is not finite."""
    if isinstance(part, Line):
        yield _row("line", part, **_ends(part.start_mm, part.end_mm), length_mm=part.length_mm)
    elif isinstance(part, Arc):
        degrees = {"start_deg": math.degrees(part.start_rad), "sweep_deg": math.degrees(part.sweep_rad)}
        numbers = {**_ends(part.place_at(0.0), part.place_at(1.0)), **_centre(part.centre_mm), **degrees}
        yield _row("arc", part, **numbers, radius_mm=part.radius_mm, length_mm=part.length_mm)
    elif isinstance(part, Ring):
        around = {"radius_mm": part.radius_mm, "length_mm": math.tau * part.radius_mm}
        yield _row("circle", part, **_centre(part.centre_mm), **around)
    elif isinstance(part, Spot):
        yield _row("point", part, x_mm=part.at_mm[0], y_mm=part.at_mm[1])
    else:
        for start, end in edges_of(part):
            yield _row("edge", part, **_ends(start, end), length_mm=math.dist(start, end))


def edges_of(outline: Outline) -> Iterator[tuple[Place, Place]]:
    """The edges of an outline in order, each from corner to corner, the last back to the first."""
    corners = outline.corners_mm
    return zip(corners, (*corners[1:], *corners[:1]), strict=True)


def counts_of(parts: Iterable[Part]) -> dict[str, tuple[int, float]]:
    own: dict[str, list[float]] = {layer: [] for layer in LAYERS}
    for part in parts:
        own[part.layer].append(math.fsum(float(row["length_mm"] or 0.0) for row in rows_of(part)))
    return {layer: (len(there), math.fsum(there)) for layer, there in own.items()}


def _ends(start: Place, end: Place) -> dict[str, float]:
    return {"x_mm": start[0], "y_mm": start[1], "x2_mm": end[0], "y2_mm": end[1]}


def _centre(at: Place) -> dict[str, float]:
    return {"centre_x_mm": at[0], "centre_y_mm": at[1]}


def _row(kind: str, part: Part, **numbers: float) -> _Row:
    known = {name: rounded(numbers[name]) if name in numbers else None for name in _NUMBERS}
    return {"part": kind, "layer": part.layer, "name": clean(part.name), **known}


# An export as a table for other programs, and as JSON.


def csv_text(content: Content) -> str:
    """The table with a head row; what a part does not have is left empty. Raises ValueError for a number not finite.

    The table has no room for notes: the caution, and what `check` found, stand in the command's own output.
    """
    target = StringIO()
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([_cell(row[name]) for name in COLUMNS] for part in content.parts for row in rows_of(part))
    return target.getvalue()


def _cell(value: str | float | None) -> str:
    """A number, or a word led by an apostrophe where a table program would compute it."""
    if isinstance(value, float):
        return decimal(value)
    return f"'{value}" if value and value[0] in "=+-@" else value or ""


def export_json(content: Content) -> str:
    """The parts, and what must be known of them, in plain ASCII. Raises ValueError for a number that is not finite."""
    plan, meanings = content.plan, {layer.name: layer.meaning for layer in DRAWN_LAYERS}
    text = json_lines(
        {
            "title": plan.layout.title,
            "variant": plan.layout.variant,
            "verdict": plan.verdict,
            "problems": plan.count("problem"),
            "in_doubt": plan.layout.in_doubt,
            "units": "mm",
            "angles": "deg",
            "frame": FRAME,
            "belt": plan.route.designation,
            "path_mm": rounded(float(plan.route.loop.length)),
            "layers": [
                {"name": name, "meaning": meanings[name], "parts": count, "length_mm": rounded(length)}
                for name, (count, length) in counts_of(content.parts).items()
            ],
            "parts": [row for part in content.parts for row in rows_of(part)],
            "caution": SAFETY,
        }
    )
    return text + "\n"


# Words in an export that is drawn: names beside their parts, notes under the drawing, and how far all reaches.

HEIGHT_MM = 5.0
_STEP_MM = 8.0
"""From one line of words to the next."""
_GAP_MM = 20.0
"""Between the drawing and the notes under it."""
_NOTE_LETTERS = 80
_LETTER_SHARE = 0.8
"""Width of a letter as a share of its height, on the wide side: fonts differ, and the words must stay inside."""

_Box = tuple[Place, Place]


@dataclass(frozen=True)
class Words:
    """One line of words. at_mm: its left end on the base line, or the middle of that where centred."""

    layer: str
    text: str
    at_mm: Place
    centred: bool


def labels_of(content: Content) -> tuple[Words, ...]:
    (x, y), _ = bounds_of(content.parts)
    lines = enumerate(note_lines(content))
    notes = (Words(NOTES, line, (x, y - _GAP_MM - number * _STEP_MM), False) for number, line in lines)
    return *_names(content.parts), *notes


def _names(parts: Iterable[Part]) -> Iterator[Words]:
    named = [part for part in parts if part.layer in ("pulleys", "obstacles", "centres", "marks")]
    rims = {part.name for part in named if part.layer == "pulleys"}
    for part in named:
        if part.layer != "centres" or part.name not in rims:
            (x0, y0), (x1, y1) = bounds_of([part])
            # Over the middle, so that the mark of the centre stays free.
            yield Words(NAMES, clean(part.name), (0.5 * (x0 + x1), 0.5 * (y0 + y1) + 0.8 * HEIGHT_MM), True)


def note_lines(content: Content) -> tuple[str, ...]:
    return tuple(line for note in notes_of(content) for line in textwrap.wrap(note, _NOTE_LETTERS))


def extent_of(content: Content) -> _Box:
    corners = list(bounds_of(content.parts))
    for label in labels_of(content):
        (x, y), width = label.at_mm, _LETTER_SHARE * HEIGHT_MM * len(label.text)
        left = x - 0.5 * width if label.centred else x
        corners += [(left, y - 0.3 * HEIGHT_MM), (left + width, y + HEIGHT_MM)]
    return _box(corners)


def bounds_of(parts: Iterable[Part]) -> _Box:
    return _box(at for part in parts for at in points_along(part).tolist())


def _box(places: Iterable[Place]) -> _Box:
    xs, ys = zip(*places, strict=True)
    return (min(xs), min(ys)), (max(xs), max(ys))

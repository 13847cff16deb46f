"""A part as plain numbers, the same in every kind of export: mm and degrees, rounded once."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from beltplan.belts.drawing import Arc, Line, Outline, Part, Place, Ring, Spot
from beltplan.report.export_content import clean
from beltplan.report.export_layers import DRAWN_LAYERS

DIGITS = 10
"""Decimals of a number: a tenth of a nanometre, so that hundreds of parts still sum to 1e-6 mm."""
NUMBERS = (
    "x_mm", "y_mm", "x2_mm", "y2_mm", "centre_x_mm", "centre_y_mm", "radius_mm", "start_deg", "sweep_deg", "length_mm"
)  # fmt: skip
"""x, y: where a line or arc begins, or the point; x2, y2: where it ends. Sweep: counter-clockwise positive."""
COLUMNS = ("part", "layer", "name", *NUMBERS)
WHOLE_TURN_DEG = 360.0

Row = dict[str, str | float | None]


def rounded(value: float) -> float:
    """A number as it stands in a file; nothing is written as minus nothing. Raises ValueError where not finite."""
    if not math.isfinite(value):
        raise ValueError(f"got {value}, which no file can hold")
    return round(value, DIGITS) + 0.0


def decimal(value: float) -> str:
    """The same in digits, never with an exponent."""
    return f"{rounded(value):.{DIGITS}f}"


def rows_of(part: Part) -> Iterator[Row]:
    """A part as rows of plain values: one row, but for an outline one row an edge, in order. None: has no such number.

    Raises ValueError for a number that is not finite.
    """
    if isinstance(part, Line):
        yield _row("line", part, **_ends(part.start_mm, part.end_mm), length_mm=part.length_mm)
    elif isinstance(part, Arc):
        yield _arc_row(part)
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


def length_of(part: Part) -> float:
    """Length of a part in mm; a point has none."""
    return math.fsum(float(row["length_mm"] or 0.0) for row in rows_of(part))


def counts_of(parts: Iterable[Part]) -> dict[str, tuple[int, float]]:
    """Parts of every layer that can hold some, and their length in mm; words count for nothing."""
    listed = tuple(parts)
    own = {layer.name: [part for part in listed if part.layer == layer.name] for layer in DRAWN_LAYERS}
    return {name: (len(there), math.fsum(map(length_of, there))) for name, there in own.items()}


def _arc_row(arc: Arc) -> Row:
    degrees = {"start_deg": math.degrees(arc.start_rad), "sweep_deg": math.degrees(arc.sweep_rad)}
    numbers = {**_ends(arc.place_at(0.0), arc.place_at(1.0)), **_centre(arc.centre_mm), **degrees}
    return _row("arc", arc, **numbers, radius_mm=arc.radius_mm, length_mm=arc.length_mm)


def _ends(start: Place, end: Place) -> dict[str, float]:
    return {"x_mm": start[0], "y_mm": start[1], "x2_mm": end[0], "y2_mm": end[1]}


def _centre(at: Place) -> dict[str, float]:
    return {"centre_x_mm": at[0], "centre_y_mm": at[1]}


def _row(kind: str, part: Part, **numbers: float) -> Row:
    known = {name: rounded(numbers[name]) if name in numbers else None for name in NUMBERS}
    return {"part": kind, "layer": part.layer, "name": clean(part.name), **known}

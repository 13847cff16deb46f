"""The shapes of an SVG drawing as curves, and its lengths.

Source: Scalable Vector Graphics (SVG) 1.1, second edition, sections 7.10 and 9, W3C Recommendation 2011.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

import numpy as np

from beltplan.belts.designations import MM_PER_INCH
from beltplan.geometry.curves import Edges, Sweep
from beltplan.geometry.vectors import TURN, Floats
from beltplan.reading.faults import quoted
from beltplan.reading.outline_drawing import LARGEST, Wrong, WrongDrawing
from beltplan.reading.svg_path import Subpath, subpaths_of
from beltplan.reading.svg_transform import numbers_in

PER_INCH = 96.0
"""CSS pixels, which are user units where nothing else is said, in an inch (CSS Values and Units, level 3)."""
PIXELS = {
    "": 1.0,
    "px": 1.0,
    "in": PER_INCH,
    "mm": PER_INCH / MM_PER_INCH,
    "cm": 10.0 * PER_INCH / MM_PER_INCH,
    "q": 0.25 * PER_INCH / MM_PER_INCH,
    "pt": PER_INCH / 72.0,
    "pc": PER_INCH / 6.0,
}
"""Pixels in each unit of length."""
_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z]*)\s*", re.ASCII)

Attributes = Mapping[str, str]


def length_in(text: str, line: int, name: str) -> float:
    """A length in pixels. Raises WrongDrawing."""
    found = _LENGTH.fullmatch(text)
    if found is None or found[2].lower() not in PIXELS:
        raise WrongDrawing(Wrong(f"{quoted(text)} as {name}", "a number, alone or with mm, cm, in, pt, pc or px", line))
    value = float(found[1]) * PIXELS[found[2].lower()]
    if not abs(value) <= LARGEST:
        raise WrongDrawing(Wrong(f"{quoted(text)} as {name}", f"at most {LARGEST:g}", line))
    return value


def shape_of(kind: str, attributes: Attributes, line: int) -> list[Subpath]:
    """The lines of a shape, in its own coordinates; none where it has no size. Raises WrongDrawing."""
    return SHAPES[kind](attributes, line)


def _path(attributes: Attributes, line: int) -> list[Subpath]:
    return subpaths_of(attributes.get("d", ""), line)


def _points(attributes: Attributes, line: int) -> Floats:
    numbers = numbers_in(attributes.get("points", ""), line, "one of the points")
    if len(numbers) % 2:
        raise WrongDrawing(Wrong(f"{len(numbers)} numbers as points", "an even number", line))
    return np.array(numbers, dtype=float).reshape(-1, 2)


def _polygon(attributes: Attributes, line: int) -> list[Subpath]:
    points = _points(attributes, line)
    return [Subpath((Edges(points),), True)] if len(points) > 1 else []


def _polyline(attributes: Attributes, line: int) -> list[Subpath]:
    points = _points(attributes, line)
    return [Subpath((Edges(points),), False)] if len(points) > 1 else []


def _line(attributes: Attributes, line: int) -> list[Subpath]:
    x1, y1, x2, y2 = (_length(attributes, name, line) for name in ("x1", "y1", "x2", "y2"))
    return [Subpath((Edges(np.array([[x1, y1], [x2, y2]])),), False)]


def _circle(attributes: Attributes, line: int) -> list[Subpath]:
    radius = _length(attributes, "r", line)
    return _whole(attributes, radius, radius, line)


def _ellipse(attributes: Attributes, line: int) -> list[Subpath]:
    return _whole(attributes, _length(attributes, "rx", line), _length(attributes, "ry", line), line)


def _whole(attributes: Attributes, rx: float, ry: float, line: int) -> list[Subpath]:
    if not (rx > 0.0 and ry > 0.0):
        return []
    centre = np.array([_length(attributes, "cx", line), _length(attributes, "cy", line)])
    return [Subpath((_quarter(centre, rx, ry, 0.0, TURN),), True)]


def _rect(attributes: Attributes, line: int) -> list[Subpath]:
    x, y, width, height = (_length(attributes, name, line) for name in ("x", "y", "width", "height"))
    if not (width > 0.0 and height > 0.0):
        return []
    rx, ry = (_radius(attributes, name, line) for name in ("rx", "ry"))
    rx, ry = (ry if rx is None else rx), (rx if ry is None else ry)
    rx, ry = min(rx or 0.0, width / 2.0), min(ry or 0.0, height / 2.0)
    corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
    if rx == 0.0 or ry == 0.0:
        return [Subpath((Edges(corners),), True)]
    inward = np.array([[rx, ry], [-rx, ry], [-rx, -ry], [rx, -ry]])
    quarters = [_quarter(corners[i] + inward[i], rx, ry, np.pi + i * TURN / 4.0, TURN / 4.0) for i in range(4)]
    # The straight edges between the arcs come of themselves, from point to point.
    return [Subpath(tuple(quarters), True)]


def _radius(attributes: Attributes, name: str, line: int) -> float | None:
    text = attributes.get(name, "auto").strip()
    return None if text == "auto" else length_in(text, line, name)


def _quarter(centre: Floats, rx: float, ry: float, start: float, sweep: float) -> Sweep:
    return Sweep(centre, np.array([rx, 0.0]), np.array([0.0, ry]), start, sweep)


def _length(attributes: Attributes, name: str, line: int) -> float:
    return length_in(attributes.get(name, "0"), line, name)


SHAPES: dict[str, Callable[[Attributes, int], list[Subpath]]] = {
    "path": _path,
    "polygon": _polygon,
    "polyline": _polyline,
    "line": _line,
    "rect": _rect,
    "circle": _circle,
    "ellipse": _ellipse,
}
"""How each kind of element is read."""

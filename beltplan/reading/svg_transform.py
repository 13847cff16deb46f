"""The transform attribute of an SVG element.

Source: Scalable Vector Graphics (SVG) 1.1, second edition, section 7.6, W3C Recommendation 2011.
"""

from __future__ import annotations

import math
import re

import numpy as np

from beltplan.geometry.curves import Map, scaled
from beltplan.geometry.vectors import Floats
from beltplan.reading.faults import quoted
from beltplan.reading.outline_drawing import LARGEST, Wrong, WrongDrawing, number_of

_ONE = re.compile(r"[\s,]*([A-Za-z]+)\s*\(([^()]*)\)[\s,]*")
_APART = re.compile(r"[\s,]+")
_GLUED = re.compile(r"(?<=[\d.])(?=[+-])")
COUNTS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewX": (1,), "skewY": (1,)}
"""How many numbers each may have."""
ALLOWED = "matrix, translate, scale, rotate, skewX, skewY, each with its numbers in brackets"
MOST = 100
SAME = Map(np.eye(2), np.zeros(2))


def numbers_in(text: str, line: int, what: str) -> list[float]:
    """The numbers of a list, parted by spaces and commas, or by a sign alone. Raises WrongDrawing."""
    apart = _GLUED.sub(" ", text).strip()
    return [number_of(part, line, what) for part in _APART.split(apart) if part]


def transform_of(text: str, line: int) -> Map:
    """The map that a transform attribute means, the last one done first. Raises WrongDrawing."""
    whole, at, count = SAME, 0, 0
    while at < len(text.rstrip()):
        found = _ONE.match(text, at)
        if found is None or count >= MOST:
            raise WrongDrawing(Wrong(f"{quoted(text[at:].strip())} in a transform", ALLOWED, line))
        whole = bounded(whole.after(_map(found[1], numbers_in(found[2], line, "a number of a transform"), line)), line)
        at, count = found.end(), count + 1
    return whole


def bounded(whole: Map, line: int) -> Map:
    """The map itself. Raises WrongDrawing where it leads too far for any drawing."""
    if not whole.largest <= LARGEST:
        raise WrongDrawing(Wrong("transforms that lead too far", f"numbers of at most {LARGEST:g}", line))
    return whole


def _map(name: str, numbers: list[float], line: int) -> Map:
    if len(numbers) not in COUNTS.get(name, ()):
        raise WrongDrawing(Wrong(f"{quoted(name)} with {len(numbers)} numbers in a transform", ALLOWED, line))
    if name == "matrix":
        a, b, c, d, e, f = numbers
        return Map(np.array([[a, c], [b, d]]), np.array([e, f]))
    if name == "translate":
        return Map(np.eye(2), np.array([*numbers, 0.0][:2]))
    if name == "scale":
        return scaled(numbers[0], numbers[-1])
    if name == "rotate":
        return _rotation(math.radians(numbers[0]), np.array(numbers[1:] or [0.0, 0.0]))
    skew = math.tan(math.radians(numbers[0]))
    return Map(np.array([[1.0, skew], [0.0, 1.0]] if name == "skewX" else [[1.0, 0.0], [skew, 1.0]]), np.zeros(2))


def _rotation(angle: float, centre: Floats) -> Map:
    matrix = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    return Map(matrix, centre - matrix @ centre)

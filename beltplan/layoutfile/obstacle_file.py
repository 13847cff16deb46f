"""An obstacle from a drawing: which file, which reader, and where its outline lies in the layout."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.layout import Circle, Obstacle, Polygon
from beltplan.layoutfile.document import bytes_of
from beltplan.layoutfile.keys import FAR_MM
from beltplan.layoutfile.schema import OBSTACLES, key_at
from beltplan.layoutfile.section import Beside, Section
from beltplan.outlines.choice import Found, found_in
from beltplan.outlines.curves import Map
from beltplan.outlines.drawing import MOST_BYTES, Drawing, Wrong, WrongDrawing

_ENDINGS = (".csv", ".dxf", ".svg")
_ORDINARY = "a file ending in .csv, .dxf or .svg, its path from the layout file's folder"

_Value = TypeVar("_Value")
_Asked = TypeVar("_Asked")


@dataclass(frozen=True)
class Traced:
    """What the file says of an obstacle in a drawing.

    file: path from the layout's folder. at_mm: where the drawing's origin lies; turn_deg: turned about it.
    units: of the drawing, whatever it says itself. outline: the layer or id.
    """

    file: str
    at_mm: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    units: str | None = None
    outline: str | None = None


def read_traced(name: str, section: Section) -> Obstacle | None:
    """The obstacle of a mapping with `file`, None where there is a fault, each noted."""
    before = len(section.faults.found)
    file, at, turn, units, outline = section.given("file", *OBSTACLES["file"]).values()
    if file is None:
        return None
    traced = Traced(file, at or (0.0, 0.0), turn or 0.0, units, outline)
    found = _noted(section, lambda: _known(section.beside, traced, section.scale))
    if found is None or len(section.faults.found) > before:
        return None
    return _noted(section, lambda: _placed(name, found, traced))


def _noted(section: Section, read: Callable[[], _Value]) -> _Value | None:
    """What a reading gives; what is wrong with the drawing is noted at `file`."""
    try:
        return read()
    except WrongDrawing as fault:
        file = os.path.basename(section.value("file") or "")
        for wrong in fault.wrong:
            where = "" if wrong.line is None else f", at {file}:{wrong.line}"
            section.refuse("file", f"{wrong.got}{where}", wrong.allowed)
        return None


def _known(beside: Beside, traced: Traced, layout_scale: float) -> Found:
    """The outline in its own frame; a drawing is read once, however many variants use it."""
    path = os.path.join(beside.folder, traced.file)
    asked = (path, traced.units, traced.outline, layout_scale)
    return _once(beside.outlines, asked, lambda: _found(beside, path, traced, layout_scale))


def _found(beside: Beside, path: str, traced: Traced, layout_scale: float) -> Found:
    drawing = _once(beside.drawings, path, lambda: _drawing(path))
    if traced.outline is not None and drawing.kind == "CSV":
        raise WrongDrawing(Wrong(f"`outline` {traced.outline!r} with a CSV file", "no `outline`: the file holds one"))
    return found_in(drawing, _scale(drawing, traced, layout_scale), traced.outline)


def _once(known: dict[_Asked, _Value | WrongDrawing], asked: _Asked, read: Callable[[], _Value]) -> _Value:
    """What a reading gives, or gave before. Raises WrongDrawing, as it did before."""
    if asked not in known:
        try:
            known[asked] = read()
        except WrongDrawing as fault:
            known[asked] = fault
    result = known[asked]
    if isinstance(result, WrongDrawing):
        raise result
    return result


def _scale(drawing: Drawing, traced: Traced, layout_scale: float) -> float:
    if traced.units is not None:
        return MM_PER_UNIT[traced.units]
    if drawing.mm_per_unit is not None:
        return drawing.mm_per_unit
    if drawing.no_unit is not None:
        raise WrongDrawing(drawing.no_unit)
    return layout_scale


def _drawing(path: str) -> Drawing:
    ending = os.path.splitext(path)[1].lower()
    if ending not in _ENDINGS:
        raise WrongDrawing(Wrong(repr(os.path.basename(path)), _ORDINARY))
    data = bytes_of(path, MOST_BYTES)
    if isinstance(data, str):
        raise WrongDrawing(Wrong(f"{data}; wanted: {_ORDINARY}", ""))
    if len(data) > MOST_BYTES:
        size = f"{MOST_BYTES // 1024**2} MB"
        raise WrongDrawing(Wrong(f"{path!r}, more than {size}", f"a drawing of at most {size}"))
    if ending == ".svg":
        from beltplan.outlines.svg import read_svg

        return read_svg(data)
    if ending == ".dxf":
        from beltplan.outlines.dxf import read_dxf

        return read_dxf(data)
    from beltplan.outlines.csv import read_csv

    return read_csv(_text(data))


def _text(data: bytes) -> str:
    if b"\0" in data:
        raise WrongDrawing(Wrong("a file with zero bytes (UTF-16?)", "a text file in UTF-8"))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")  # only names and comments can differ: numbers are ASCII


def _placed(name: str, found: Found, traced: Traced) -> Obstacle:
    turn = math.radians(traced.turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    place = Map(np.array([[cos, -sin], [sin, cos]]), np.asarray(traced.at_mm))
    corners = place.of(found.corners)
    if not np.abs(corners).max() <= FAR_MM:
        x, y = corners[np.abs(corners).max(axis=1).argmax()]
        words = f"an outline that reaches to ({round(x, 3) + 0.0:.6g}, {round(y, 3) + 0.0:.6g}) mm in the layout"
        raise WrongDrawing(Wrong(words, f"x and y of {-FAR_MM:g} to {FAR_MM:g} mm: look at `at` and `units`"))
    if found.circle is None:
        return Polygon(name, tuple((float(x), float(y)) for x, y in corners))
    x, y = place.of(found.circle[0])
    diameter_mm, most = 2.0 * found.circle[1], key_at("obstacles.NAME.circle.diameter").most
    if not diameter_mm <= most:
        raise WrongDrawing(Wrong(f"a circle of {diameter_mm:.6g} mm", f"at most {most:g} mm"))
    return Circle(name, (float(x), float(y)), diameter_mm)

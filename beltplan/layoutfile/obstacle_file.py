"""An obstacle from a drawing: which file, which reader, and where its outline lies in the layout."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np

from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.layout import Circle, Obstacle, Polygon
from beltplan.layoutfile.document import bytes_of
from beltplan.layoutfile.keys import FAR_MM
from beltplan.layoutfile.schema import OBSTACLES, key_at
from beltplan.layoutfile.section import Section
from beltplan.outlines.choice import Found, found_in
from beltplan.outlines.curves import Map
from beltplan.outlines.drawing import MOST_BYTES, Drawing, WrongDrawing

_ENDINGS = (".csv", ".dxf", ".svg")
_ORDINARY = "a file ending in .csv, .dxf or .svg, its path from the layout file's folder"

_Value = TypeVar("_Value")
_Asked = TypeVar("_Asked")


def read_traced(name: str, section: Section) -> Obstacle | None:
    """The obstacle of a mapping with `file`, None where there is a fault, each noted."""
    before = len(section.faults.found)
    file, at, turn_deg, units, outline = section.given("file", *OBSTACLES["file"]).values()
    if file is None:
        return None
    try:
        found = _known(section, file, units, outline)
        return _placed(name, found, at or (0.0, 0.0), turn_deg or 0.0) if len(section.faults.found) == before else None
    except WrongDrawing as fault:
        for wrong in fault.wrong:
            where = "" if wrong.line is None else f", at {os.path.basename(file)}:{wrong.line}"
            section.refuse("file", f"{wrong.got}{where}", wrong.allowed)
        return None


def _known(section: Section, file: str, units: str | None, outline: str | None) -> Found:
    """The outline in its own frame; a drawing is read once, however many variants use it."""
    beside, path = section.beside, os.path.join(section.beside.folder, file)

    def found() -> Found:
        drawing = _once(beside.drawings, path, lambda: _drawing(path))
        if outline is not None and drawing.kind == "CSV":
            raise WrongDrawing.of(f"`outline` {outline!r} with a CSV file", "no `outline`: the file holds one")
        mm_per_unit = drawing.mm_per_unit if units is None else MM_PER_UNIT[units]
        if mm_per_unit is None and drawing.no_unit is not None:
            raise WrongDrawing(drawing.no_unit)
        return found_in(drawing, section.scale if mm_per_unit is None else mm_per_unit, outline)

    return _once(beside.outlines, (path, units, outline, section.scale), found)


def _once(known: dict[_Asked, Any], asked: _Asked, read: Callable[[], _Value]) -> _Value:
    """What a reading gives, or gave before. Raises WrongDrawing, as it did before."""
    if asked not in known:
        try:
            known[asked] = read()
        except WrongDrawing as fault:
            known[asked] = fault
    result: _Value | WrongDrawing = known[asked]
    if isinstance(result, WrongDrawing):
        raise result
    return result


def _drawing(path: str) -> Drawing:
    ending = os.path.splitext(path)[1].lower()
    if ending not in _ENDINGS:
        raise WrongDrawing.of(repr(os.path.basename(path)), _ORDINARY)
    data = bytes_of(path, MOST_BYTES)
    if isinstance(data, str):
        raise WrongDrawing.of(f"{data}; wanted: {_ORDINARY}", "")
    if len(data) > MOST_BYTES:
        size = f"{MOST_BYTES // 1024**2} MB"
        raise WrongDrawing.of(f"{path!r}, more than {size}", f"a drawing of at most {size}")
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
        raise WrongDrawing.of("a file with zero bytes (UTF-16?)", "a text file in UTF-8")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")  # only names and comments can differ: numbers are ASCII


def _placed(name: str, found: Found, at_mm: tuple[float, float], turn_deg: float) -> Obstacle:
    turn = math.radians(turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    place = Map(np.array([[cos, -sin], [sin, cos]]), np.asarray(at_mm))
    corners = place.of(found.corners)
    if not np.abs(corners).max() <= FAR_MM:
        x, y = corners[np.abs(corners).max(axis=1).argmax()]
        words = f"an outline that reaches to ({round(x, 3) + 0.0:.6g}, {round(y, 3) + 0.0:.6g}) mm in the layout"
        raise WrongDrawing.of(words, f"x and y of {-FAR_MM:g} to {FAR_MM:g} mm: look at `at` and `units`")
    if found.circle is None:
        return Polygon(name, tuple((float(x), float(y)) for x, y in corners))
    x, y = place.of(found.circle[0])
    diameter_mm, most = 2.0 * found.circle[1], key_at("obstacles.NAME.circle.diameter").most
    if not diameter_mm <= most:
        raise WrongDrawing.of(f"a circle of {diameter_mm:.6g} mm", f"at most {most:g} mm")
    return Circle(name, (float(x), float(y)), diameter_mm)

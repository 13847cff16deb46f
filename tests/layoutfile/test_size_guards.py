"""How much of anything a file may hold: so much is read, and one more is refused or counted.

The bounds are frozen: guards of our own against files that nobody writes, with no source.
"""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from beltplan.faults import FaultList
from beltplan.layoutfile.document import parse_document
from beltplan.layoutfile.values import NotALength, length_mm
from beltplan.outlines.curves import Map
from beltplan.outlines.drawing import Wrong, WrongDrawing, number_of
from beltplan.outlines.dxf import read_dxf
from beltplan.outlines.svg import read_svg, subpaths_of, transformed
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of

AS_IT_IS = Map(np.eye(2), np.zeros(2))


def _document(text: str) -> None:
    parse_document(text, found := FaultList())
    assert not found.found


def _svg(inside: str) -> None:
    read_svg(f"<svg xmlns='http://www.w3.org/2000/svg'>{inside}</svg>".encode())


def _spline(degree: int, points: int) -> None:
    """A clamped one, as most CAD programs write them."""
    knots = [0] * (degree + 1) + list(range(1, points - degree)) + [points - degree] * (degree + 1)
    tags = [f"0\nSPLINE\n71\n{degree}", *(f"10\n{i}\n20\n0" for i in range(points)), *(f"40\n{each}" for each in knots)]
    read_dxf("\n".join(["0\nSECTION\n2\nENTITIES", *tags, "0\nENDSEC\n0\nEOF\n"]).encode())


GUARDS: dict[str, tuple[int, Callable[[int], object]]] = {
    "values of a layout": (20_000, lambda n: _document("a: [" + "1," * (n - 3) + "]")),
    "letters of a length": (40, lambda n: length_mm("1." + "0" * (n - 2), 1.0)),
    "levels of an SVG": (100, lambda n: _svg("<g>" * (n - 1) + "</g>" * (n - 1))),
    "transforms": (100, lambda n: transformed(AS_IT_IS, "scale(1) " * n, 1)),
    "a number of a drawing": (1_000_000_000, lambda n: number_of(str(n), 1, "x")),
    "a number of a path": (1_000_000_000, lambda n: subpaths_of(f"M0 0H{n}", 1)),
    "a transform": (1_000_000_000, lambda n: transformed(AS_IT_IS, f"translate(1) translate({n - 1})", 1)),
    "degree of a spline": (25, lambda n: _spline(n, 40)),
    "degree 3 and points of a spline": (5_000, lambda n: _spline(3, n)),
}


@for_each(*GUARDS)
def test_so_much_is_read_and_one_more_is_refused(name: str) -> None:
    most, read = GUARDS[name]
    read(most)
    try:
        read(most + 1)
    except (WrongDrawing, NotALength, AssertionError):
        return
    raise AssertionError("one more is read too")


def _faults(wrong: int) -> list[str]:
    try:
        WrongDrawing.refuse([Wrong(f"fault {i}", "none", i) for i in range(wrong)])
    except WrongDrawing as refused:
        return [each.got for each in refused.wrong]
    return []


@for_each((0, 0, None), (20, 20, "fault 19"), (21, 21, "1 more fault in the drawing"), (25, 21, "5 more faults in the"))
def test_faults_of_a_drawing_are_told_up_to_twenty_and_then_counted(wrong: int, told: int, last: str | None) -> None:
    found = _faults(wrong)
    assert len(found) == told and (last is None or found[-1].startswith(last))


def test_names_texts_and_unknown_keys(tmp_path: Path) -> None:
    """A name has 40 characters, a text 200; of unknown keys 30 are told one by one, more by their number."""
    for length, told in ((40, 0), (41, 1)):
        text = PLAIN.replace("pump", "p" * length)
        assert sum("a name of 1 to 40" in each.allowed for each in faults_of(tmp_path, text + "x: 1\n")) >= told
        assert any("a name of 1 to 40" in each.allowed for each in faults_of(tmp_path, text + "x: 1\n")) == bool(told)
    for length, told in ((200, 0), (201, 1)):
        found = faults_of(tmp_path, f"title: {'t' * length}\nx: 1\n{PLAIN}")
        assert sum(each.key == "title" for each in found) == told
    for count, told in ((30, 30), (31, 1)):
        found = faults_of(tmp_path, PLAIN + "".join(f"zz{i}: 1\n" for i in range(count)))
        assert len(found) == told and all("unknown key" in each.got for each in found)


@for_each("<line x2='1'/>", "<g/>", "<path d='M0 0Q1 1 2 0T3 0T4 0T5 0T6 0T7 0T8 0T9 0T10 0'/>")
def test_elements_lines_and_curves_of_a_drawing_are_counted_each_for_itself(
    monkeypatch: pytest.MonkeyPatch, element: str
) -> None:
    """With bounds of 40 elements and 20 lines; the path has nine curves."""
    monkeypatch.setattr("beltplan.outlines.svg._MOST_ELEMENTS", 40)
    monkeypatch.setattr("beltplan.outlines.svg.MOST_PIECES", 20)
    _svg(element * 2)
    with pytest.raises(WrongDrawing) as refused:
        _svg(element * (42 if element == "<g/>" else 22 if "line" in element else 6))
    assert refused.value.wrong[0].got == "a drawing of too many elements"

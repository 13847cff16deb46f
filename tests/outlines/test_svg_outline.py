"""An SVG as a whole: size, groups and transforms against svgpathtools, what is skipped, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.for_each import for_each
from tests.outlines.drawings import BLOCK, circle, corners, refusal, refusals, same_shape, svg_of

POINTS = " ".join(f"{x},{-y}" for x, y in BLOCK)
POLYGON = f'<polygon points="{POINTS}"/>'


# CSS Values and Units, level 3, section 5.2: 96 px, 72 pt, 6 pc, 2.54 cm and 25.4 mm to the inch, 4 Q to the mm.
@for_each(
    ('width="300mm" height="200mm" viewBox="0 0 300 200"', 1.0),
    ('width="30cm" height="20cm" viewBox="0 0 300 200"', 1.0),
    ('width="300mm" height="200mm" viewBox="-50 -90 600 400"', 0.5),
    ('width="3in" height="2in" viewBox="0 0 300 200"', 0.254),
    ('width="216pt" height="144pt" viewBox="0 0 300 200"', 0.254),
    ('width="18pc" height="12pc" viewBox="0 0 300 200"', 0.254),
    ('width="1200Q" height="800Q" viewBox="0 0 300 200"', 1.0),
    ('width="96px" height="96px" viewBox="0 0 25.4 25.4"', 1.0),
    ('width="96" height="96"', 25.4 / 96.0),
    ('width="3in" height="2in"', 25.4 / 96.0),
    ('width="300mm" viewBox="0,0,300,200"', 1.0),
    ('height="200mm" viewBox="0 0 300 200"', 1.0),
    ('width="300mm" height="900mm" viewBox="0 0 300 200"', 1.0),
    ('width="300mm" height="400mm" viewBox="0 0 300 200" preserveAspectRatio="xMidYMid slice"', 2.0),
)
def test_size(tmp_path: Path, head: str, mm: float) -> None:
    np.testing.assert_allclose(corners(tmp_path, svg_of(tmp_path, POLYGON, head)), BLOCK * mm, rtol=1e-12)


@pytest.mark.parametrize("head", ["", 'viewBox="0 0 300 200"', 'width="100%" height="100%" viewBox="0 0 300 200"'])
def test_without_a_size_the_user_must_say(tmp_path: Path, head: str) -> None:
    name = svg_of(tmp_path, POLYGON, head)
    fault = refusal(tmp_path, name)
    assert "does not say how large it is" in fault.got and "`units`" in fault.allowed
    np.testing.assert_allclose(corners(tmp_path, name, "units: in"), BLOCK * 25.4, rtol=1e-12)


def test_the_users_unit_wins(tmp_path: Path) -> None:
    name = svg_of(tmp_path, POLYGON, 'width="3in" height="2in" viewBox="0 0 300 200"')
    np.testing.assert_allclose(corners(tmp_path, name, "units: mm"), BLOCK, rtol=1e-12)


def test_y_runs_up_in_the_layout_from_the_origin_of_the_svgs_own_coordinates(tmp_path: Path) -> None:
    name = svg_of(tmp_path, '<rect x="10" y="20" width="30" height="40"/>')
    expected = np.array([[10.0, -20.0], [40.0, -20.0], [40.0, -60.0], [10.0, -60.0]])
    assert same_shape(corners(tmp_path, name), expected)
    assert same_shape(corners(tmp_path, name, "at: [100, 200]"), expected + np.array([100.0, 200.0]))


def test_a_circle_stays_a_circle(tmp_path: Path) -> None:
    name = svg_of(tmp_path, '<g transform="rotate(30) scale(2)"><circle cx="10" cy="5" r="4" id="hose"/></g>')
    at = 2.0 * 10.0 * np.exp(1j * np.radians(30.0)) + 2.0 * 5.0j * np.exp(1j * np.radians(30.0))
    assert circle(tmp_path, name) == pytest.approx((at.real, -at.imag, 16.0))


def test_single_lines_are_put_together_and_an_open_line_is_closed(tmp_path: Path) -> None:
    lines = [(BLOCK[i], BLOCK[(i + 1) % len(BLOCK)]) for i in (3, 0, 5, 1, 2)]
    text = "\n".join(f'<line x1="{a[0]}" y1="{-a[1]}" x2="{b[0]}" y2="{-b[1]}"/>' for a, b in lines)
    assert same_shape(corners(tmp_path, svg_of(tmp_path, text)), BLOCK)


def test_ids(tmp_path: Path) -> None:
    text = f'<g id="hard"><g id="edge">{POLYGON}</g>\n<circle id="hose" cx="200" cy="0" r="20"/></g>'
    name = svg_of(tmp_path, text)
    assert same_shape(corners(tmp_path, name, "outline: edge"), BLOCK)
    assert circle(tmp_path, name, "outline: hose") == pytest.approx((200.0, 0.0, 40.0))
    fault = refusal(tmp_path, name, "outline: hard")
    assert "2 outlines" in fault.got and fault.allowed == "`outline` with one: edge, hose"
    fault = refusal(tmp_path, name, "outline: Edge")
    assert fault.got == "no id 'Edge' with an outline" and fault.allowed == "edge, hard, hose"


def test_holes_are_left_out_and_two_parts_of_a_path_are_not_one(tmp_path: Path) -> None:
    square, hole, other = "M0 0h90v-90h-90z", "M20-20h9v-9h-9z", "M200 0h9v9h-9z"
    read = corners(tmp_path, svg_of(tmp_path, f'<path d="{square}{hole}"/>'))
    assert same_shape(read, np.array([[0, 0], [90, 0], [90, 90], [0, 90]]))
    assert "2 outlines" in refusal(tmp_path, svg_of(tmp_path, f'<path d="{square}{other}"/>')).got


@for_each(
    '<defs><circle r="9" cx="300"/></defs>',
    '<clipPath><circle r="9" cx="300"/></clipPath>',
    '<symbol><g><circle r="9" cx="300"/></g></symbol>',
    '<circle r="9" cx="300" display="none"/>',
    '<g style="fill:red; display : none"><circle r="9" cx="300"/></g>',
    '<circle r="9" cx="300" style="visibility:hidden"/>',
    '<text x="300">block</text><title>block</title><desc>5</desc>',
    '<image x="300" width="99" height="99"/>',
    '<other xmlns="http://example.org/own"><circle r="9" cx="300"/></other>',
    '<rect width="0" height="5" x="300"/><circle cx="300"/><ellipse rx="3" cx="300"/>',
    '<defs><use href="#x"/><circle r="x"/></defs>',
    '<!-- <circle r="9" cx="300"/> -->',
)
def test_what_is_not_drawn_is_passed_over(tmp_path: Path, more: str) -> None:
    assert same_shape(corners(tmp_path, svg_of(tmp_path, POLYGON + more)), BLOCK)


def test_a_document_type_without_entities_is_taken(tmp_path: Path) -> None:
    head = '<?xml version="1.0" standalone="no"?>\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 20010904//EN"\n'
    text = f'{head}"http://www.w3.org/TR/2001/REC-SVG-20010904/DTD/svg10.dtd">\n'
    body = f'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">{POLYGON}</svg>'
    (tmp_path / "block.svg").write_text(text + body, encoding="utf-8")
    assert same_shape(corners(tmp_path, "block.svg"), BLOCK)


def test_entities_are_refused_before_they_can_grow(tmp_path: Path) -> None:
    bomb = "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, 12))
    (tmp_path / "block.svg").write_text(
        f'<!DOCTYPE svg [<!ENTITY e0 "M0 0">{bomb}]>\n<svg>&e11;</svg>', encoding="utf-8"
    )
    fault = refusal(tmp_path, "block.svg")
    assert "document type with declarations" in fault.got and "block.svg:1" in fault.got


@for_each(
    ('<use href="#a"/>', "<use>, which is not read, at block.svg:2", "unlink the copy"),
    ('<svg><circle r="3"/></svg>', "<svg>, which is not read", "take the inner one out"),
    ('<circle r="x"/>', "'x' as r, at block.svg:2", "mm, cm, in"),
    ('<circle r="10%"/>', "'10%' as r", "mm, cm, in"),
    ('<rect width="3" height="nan"/>', "'nan' as height", "a number"),
    ('<polygon points="1 2 3"/>', "3 numbers as points", "an even number"),
    ('<polygon points="1 2 3 x"/>', "'x' as one of the points", "a number"),
    ('<path d="M0 0L5"/>', "a path that breaks off", "2 numbers behind L"),
    ('<g transform="spin(3)"><circle r="3"/></g>', "'spin' with 1 numbers", "matrix, translate"),
    ('<circle r="3"', "text that is not XML", "well-formed"),
    ("<g>" * 101, "nested deeper than 100", "at most 100 levels"),
    ('<path d="M0 0H9"/>', "no closed outline (1 path)", "one closed outline"),
    ("", "no closed outline (an empty drawing)", "one closed outline"),
    ('<circle r="9e8"/>', "reaches farther than 1000 m", "in the right unit"),
    ('<path d="M0 0H90V90L30-30z"/>', "crosses or touches itself near (45, 0)", "round one area"),
)  # fmt: skip
def test_refusals(tmp_path: Path, inside: str, got: str, allowed: str) -> None:
    fault = refusal(tmp_path, svg_of(tmp_path, inside))
    assert got in fault.got and allowed in fault.allowed


@for_each(
    ('width="0mm" height="5mm"', "'0mm' as width of the drawing"),
    ('width="5miles"', "'5miles' as width"),
    ('width="9mm" viewBox="0 0 9"', "'0 0 9' as viewBox"),
    ('width="9mm" viewBox="0 0 0 9"', "'0 0 0 9' as viewBox"),
    ('width="9mm" height="9mm" viewBox="0 0 9 4" preserveAspectRatio="none"', "stretched along x or y"),
)
def test_wrong_sizes(tmp_path: Path, head: str, got: str) -> None:
    assert got in refusal(tmp_path, svg_of(tmp_path, POLYGON, head)).got


def test_every_wrong_element_is_named(tmp_path: Path) -> None:
    faults = refusals(tmp_path, svg_of(tmp_path, '<circle r="x"/>\n<path d="3"/>\n<rect width="a"/>'))
    assert [fault.got.rpartition(":")[2] for fault in faults] == ["2", "3", "4"]


def test_no_svg(tmp_path: Path) -> None:
    (tmp_path / "block.svg").write_text("<html/>", encoding="utf-8")
    assert refusal(tmp_path, "block.svg").got == "<html> as its outermost element, at block.svg:1"

"""Path data against svgpathtools, which reads the same grammar, and the examples of the SVG specification."""

import math
import random
from pathlib import Path

import numpy as np
import pytest
import shapely
import svgpathtools
from svgpathtools.parser import parse_transform

from beltplan.geometry.vectors import Floats
from beltplan.outlines.curves import flattened, scaled
from beltplan.outlines.drawing import WrongDrawing
from beltplan.outlines.svg import subpaths_of, transformed
from tests.for_each import for_each
from tests.outlines.drawings import BLOCK, circle, corners, refusal, refusals, same_shape, svg_of

FINE = 1e-5

# From SVG 1.1, second edition, sections 8.3.2 to 8.3.8 (W3C 2011), and its appendix on compact numbers.
EXAMPLES = [
    "M 100 100 L 300 100 L 200 300 z",
    "M100,200 C100,100 250,100 250,200 S400,300 400,200",
    "M200,300 Q400,50 600,300 T1000,300",
    "M300,200 h-150 a150,150 0 1,0 150,-150 z",
    "M275,175 v-150 a150,150 0 0,0 -150,150 z",
    "M600,350 l 50,-25 a25,25 -30 0,1 50,-25 l 50,-25 a25,50 -30 0,1 50,-25 l 50,-25 a25,75 -30 0,1 50,-25 "
    "l 50,-25 a25,100 -30 0,1 50,-25 l 50,-25",
    "M 100-200 -300 40.5.5 7",
    "M.5.5l1e1-2.5E+0.25.75-3e-1 4",
    "M0 0A10 20 30 1140 7",
    "M0 0a5 5 0 01 7 7 9 4 15 1 0 3-3",
    "m10 10 20 0 0 20-20 0z m5 5 10 0 0 10z",
    "M0,0 S 10,20 30,5 s 4-9 9 3 q 5 5 9 0 t 9-1 t 9 2 T 70 9 H 80 v-3 h-4.5 V 20",
    "M0 0 T 10 10 t 5 0 Q 20 0 30 10 C 30 20 40 20 40 10 T 60 10 S 70 30 80 10",
    "M0 0 A 5 5 0 0 1 100 0 A 3 80 45 1 1 100 90",
]


def by_svgpathtools(data: str) -> list[Floats]:
    """Points along each part of a path."""
    share = np.linspace(0.0, 1.0, 400)
    parts = svgpathtools.parse_path(data).continuous_subpaths()
    points = [np.concatenate([np.array([segment.point(t) for t in share]) for segment in part]) for part in parts]
    return [np.column_stack((part.real, part.imag)) for part in points]


def length(points: Floats) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def assert_same(data: str) -> None:
    ours = [flattened(part[0], FINE) for part in subpaths_of(data, 1)]
    theirs = by_svgpathtools(data)
    assert len(ours) == len(theirs)
    for own, other in zip(ours, theirs, strict=True):
        np.testing.assert_allclose(own[[0, -1]], other[[0, -1]], atol=1e-9)
        assert length(own) == pytest.approx(length(other), rel=1e-4)
        np.testing.assert_allclose(own.min(axis=0), other.min(axis=0), atol=2e-2)
        np.testing.assert_allclose(own.max(axis=0), other.max(axis=0), atol=2e-2)


@for_each(*EXAMPLES)
def test_examples(data: str) -> None:
    assert_same(data)


@for_each(*range(60))
def test_random_paths(seed: int) -> None:
    """Every command, absolute and relative, with implicit repeats and as few characters as can be."""
    dice = random.Random(seed)
    data = f"M{number(dice)}{number(dice)}"
    for _ in range(dice.randint(2, 8)):
        letter = dice.choice("LHVCSQTA")
        count = {"H": 1, "V": 1, "L": 2, "T": 2, "S": 4, "Q": 4, "C": 6, "A": 7}[letter]
        data += dice.choice((letter, letter.lower()))
        for _ in range(dice.randint(1, 3)):
            data += " ".join(number(dice) for _ in range(count)) if letter != "A" else arc(dice)
    assert_same(data)


def number(dice: random.Random) -> str:
    return dice.choice((f" {dice.uniform(-99, 99):.3f}", f"{dice.choice('+-')}{dice.uniform(1, 99):.2f}"))


def arc(dice: random.Random) -> str:
    flags = f"{dice.choice('01')}{dice.choice(('', ' ', ','))}{dice.choice('01')}"
    axes = f"{dice.uniform(5, 90):.2f},{dice.uniform(5, 90):.2f} {dice.randint(-90, 90)}"
    return f" {axes} {flags}{number(dice)}{number(dice)}"


@for_each("M0 0L10 0 10 10z", "M0 0H10V10z", "M0 0A5 5 0 1 1 9 0Z")
def test_closed_parts(data: str) -> None:
    (part,) = subpaths_of(data, 1)
    points = flattened(part[0], FINE)
    assert part[1] and points[-1] == pytest.approx((0.0, 0.0))


def test_an_arc_of_no_radius_is_a_line_and_one_of_no_chord_is_nothing() -> None:
    """SVG 1.1, appendix F.6.2."""
    (part,) = subpaths_of("M1 2A0 5 0 1 1 9 2A4 4 0 1 1 9 2", 1)
    np.testing.assert_array_equal(flattened(part[0], FINE), [[1.0, 2.0], [9.0, 2.0]])


def test_too_small_radii_grow() -> None:
    """SVG 1.1, appendix F.6.6: half a turn about the middle of the chord."""
    (part,) = subpaths_of("M0 0A1 1 0 0 1 20 0", 1)
    points = flattened(part[0], FINE)
    np.testing.assert_allclose(np.hypot(points[:, 0] - 10.0, points[:, 1]), 10.0)
    assert points[len(points) // 2] == pytest.approx((10.0, -10.0), abs=0.01)


@for_each(
    ("L0 0", "'L0 0' at character 1", "M first"),
    ("M0 0 B3 3", "'B3 3' at character 6", "2 numbers behind L"),
    ("3 3", "'3 3' at character 1", "a command"),
    ("M0", "breaks off", "2 numbers behind M"),
    ("M0 0 1", "breaks off", "2 numbers behind L"),
    ("M0 0 C1 2 3 4 5", "breaks off", "6 numbers behind C"),
    ("M0 0 A5 5 0 2 1 3 3", "'2 1 3 3' at character 13", "7 numbers behind A"),
    ("M0 0z 5 5", "'5 5' at character 7", "a command"),
    ("M0 0L1e99 0", "'1e99 0' at character 6", "at most 1e+09"),
    ("M nan 0", "'nan 0'", "2 numbers"),
    ("M0 0L1,,x", "'x'", "2 numbers"),
)
def test_wrong_data(data: str, got: str, allowed: str) -> None:
    with pytest.raises(WrongDrawing) as caught:
        subpaths_of(data, 7)
    (wrong,) = caught.value.wrong
    assert got in wrong.got and allowed in wrong.allowed and wrong.line == 7


def test_what_follows_a_closed_part_begins_where_that_began() -> None:
    """SVG 1.1, section 8.3.3."""
    first, second = subpaths_of("M1 2h5v5zl-3-3 0 9z", 1)
    np.testing.assert_array_equal(flattened(first[0], FINE), [[1, 2], [6, 2], [6, 7], [1, 2]])
    np.testing.assert_array_equal(flattened(second[0], FINE), [[1, 2], [-2, -1], [-2, 8], [1, 2]])


def test_an_empty_path_draws_nothing() -> None:
    assert subpaths_of("", 1) == subpaths_of(" M5 5 ", 1) == []


# The shapes of an SVG against svgpathtools, and what SVG 1.1 says of radii and lengths.


UP = np.array([1.0, -1.0])
"""y runs down in an SVG and up in a layout."""

SHAPES = [
    '<polygon points="0,0 120,0 120-30 45-30 45-80.5,0,-80.5"/>',
    '<polyline points="0,0 120,0 120-30 45-30 45-80.5,0,-80.5"/>',
    '<rect x="10" y="20" width="80" height="50"/>',
    '<rect x="10" y="20" width="80" height="50" rx="12"/>',
    '<rect x="10" y="20" width="80" height="50" rx="12" ry="20"/>',
    '<circle cx="50" cy="40" r="30" transform="scale(2,1)"/>',
    '<ellipse cx="50" cy="40" rx="70" ry="20"/>',
    '<path d="M0 0C40-60 90 90 120 0A60 40 20 1 1 0 0Z"/>',
    '<g transform="rotate(20)"><g transform="translate(5,7)">'
    '<rect width="80" height="50" transform="skewX(10)"/></g></g>',
]


def shape_by_svgpathtools(file: Path) -> Floats:
    """The one outline as svgpathtools reads it, groups and transforms included."""
    (path,) = svgpathtools.Document(str(file)).paths()
    share = np.linspace(0.0, 1.0, 3000)
    straight = np.linspace(0.0, 1.0, 2)
    points = [s.poly()(straight) if isinstance(s, svgpathtools.Line) else [s.point(t) for t in share] for s in path]
    every = np.concatenate(points)
    return np.asarray(np.column_stack((every.real, every.imag)) * UP)


@for_each(*SHAPES)
def test_shapes(tmp_path: Path, shape: str) -> None:
    read = corners(tmp_path, svg_of(tmp_path, shape))
    expected = shape_by_svgpathtools(tmp_path / "block.svg")
    curved = len(read) > 8
    assert same_shape(read, expected, 0.02 + 0.05 if curved else 1e-9)
    assert shapely.Polygon(read).area == pytest.approx(shapely.Polygon(expected).area, rel=2e-3 if curved else 1e-9)


def test_radii_of_a_rectangle_reach_to_its_middle_at_most(tmp_path: Path) -> None:
    """SVG 1.1, section 9.2: one given radius holds for both, each at most half the side: here an ellipse is left."""
    round_one = corners(tmp_path, svg_of(tmp_path, '<rect x="10" y="20" width="80" height="50" ry="99"/>'))
    assert same_shape(
        round_one, corners(tmp_path, svg_of(tmp_path, '<ellipse cx="50" cy="45" rx="40" ry="25"/>')), 0.05
    )


def test_lengths_with_units_are_in_pixels(tmp_path: Path) -> None:
    """A circle of 1 in in a drawing whose unit is a pixel: CSS says 96 of them."""
    name = svg_of(tmp_path, '<circle cx="1in" cy="0" r="12.7mm"/>', 'width="500" height="500"')
    assert circle(tmp_path, name) == pytest.approx((25.4, 0.0, 25.4))


# The transform attribute against svgpathtools, and against the matrices of SVG 1.1, section 7.6.


TAN = math.tan(math.radians(20.0))


@for_each(
    ("matrix(1 2 3 4 5 6)", [[1, 3, 5], [2, 4, 6]]),
    ("translate(3)", [[1, 0, 3], [0, 1, 0]]),
    ("translate(3,-4)", [[1, 0, 3], [0, 1, -4]]),
    ("scale(2)", [[2, 0, 0], [0, 2, 0]]),
    ("scale(2 -3)", [[2, 0, 0], [0, -3, 0]]),
    ("rotate(90)", [[0, -1, 0], [1, 0, 0]]),
    ("rotate(90 10 20)", [[0, -1, 30], [1, 0, 10]]),
    ("skewX(20)", [[1, TAN, 0], [0, 1, 0]]),
    ("skewY(20)", [[1, 0, 0], [TAN, 1, 0]]),
    ("translate(3,4) scale(2)", [[2, 0, 3], [0, 2, 4]]),
    ("scale(2),translate(3-4)", [[2, 0, 6], [0, 2, -8]]),
    ("  ", [[1, 0, 0], [0, 1, 0]]),
)
def test_matrices_of_the_specification(text: str, matrix: list[list[float]]) -> None:
    read = transformed(scaled(1.0, 1.0), text, 1)
    np.testing.assert_allclose(np.column_stack((read.matrix, read.shift)), matrix, atol=1e-12)


@for_each(
    "rotate(-10 50 100) translate(-36 45.5) skewX(40) scale(1 0.5)",
    "matrix(1.5,.5,-.5,1.5,10,-20) rotate(33) skewY(-12)",
    "scale(-1,1) translate(7) rotate(271,-3,4)",
)
def test_rows_of_transforms(text: str) -> None:
    read = transformed(scaled(1.0, 1.0), text, 1)
    np.testing.assert_allclose(np.column_stack((read.matrix, read.shift)), parse_transform(text)[:2], atol=1e-9)


@for_each(
    ("turn(3)", "'turn' with 1 numbers"),
    ("scale()", "'scale' with 0 numbers"),
    ("rotate(1 2)", "'rotate' with 2 numbers"),
    ("scale(2", "'scale(2' in a transform"),
    ("scale(a)", "'a' as a number"),
    ("scale(2) junk", "'junk' in a transform"),
    ("scale(1e9)scale(1e9)", "lead too far"),
    ("skewX(90)", "lead too far"),
    ("translate(inf)", "'inf' as a number"),
    ("scale(1)" * 101, "in a transform"),
)
def test_wrong_transforms(text: str, got: str) -> None:
    with pytest.raises(WrongDrawing) as caught:
        transformed(scaled(1.0, 1.0), text, 5)
    (wrong,) = caught.value.wrong
    assert got in wrong.got and wrong.line == 5


# An SVG as a whole: size, groups and transforms against svgpathtools, what is skipped, and what is refused.


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

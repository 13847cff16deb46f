"""Path data against svgpathtools, which reads the same grammar, and the examples of the SVG specification."""

from __future__ import annotations

import random

import numpy as np
import pytest
import svgpathtools

from beltplan.geometry.vectors import Floats
from beltplan.outlines.curves import flattened
from beltplan.outlines.drawing import WrongDrawing
from beltplan.outlines.svg import subpaths_of
from tests.for_each import for_each

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

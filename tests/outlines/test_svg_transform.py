"""The transform attribute against svgpathtools, and against the matrices of SVG 1.1, section 7.6."""

from __future__ import annotations

import math

import numpy as np
import pytest
from svgpathtools.parser import parse_transform

from beltplan.outlines.curves import scaled
from beltplan.outlines.drawing import WrongDrawing
from beltplan.outlines.svg import transformed
from tests.for_each import for_each

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

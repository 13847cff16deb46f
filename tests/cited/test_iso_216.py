"""Paper sizes: A0 to A4 after ISO 216:2007, letter and tabloid after ASME Y14.1 (A and B), legal after PWG 5101.1.

The numbers are from memory, with high confidence; the rules of ISO 216 beside them are worked out here.
"""

import math

import numpy as np
import pytest

from beltplan.picture.paper import PAPERS
from tests.cited.published import holds
from tests.for_each import for_each

SIZES_MM = {paper.name: (paper.width_mm, paper.height_mm) for paper in PAPERS}
INCH_MM = 25.4
METRIC = {"A0": (841, 1189), "A1": (594, 841), "A2": (420, 594), "A3": (297, 420), "A4": (210, 297)}
INCHES = {"letter": (8.5, 11.0), "legal": (8.5, 14.0), "tabloid": (11.0, 17.0)}


@for_each(*METRIC)
def test_metric_sizes(name: str) -> None:
    holds(SIZES_MM[name], METRIC[name])


@for_each(*INCHES)
def test_inch_sizes(name: str) -> None:
    holds(np.array(SIZES_MM[name]) / INCH_MM, INCHES[name], 1e-9)


def test_every_paper_is_checked_here() -> None:
    assert set(SIZES_MM) == set(METRIC) | set(INCHES)


def test_a_series_halves_and_keeps_its_shape() -> None:
    """ISO 216: A0 has an area of 1 m2, sides as 1 to the root of 2; each next size is half, rounded down to mm."""
    width, height = SIZES_MM["A0"]
    assert width * height == pytest.approx(1e6, rel=1e-3) and height / width == pytest.approx(math.sqrt(2.0), rel=1e-3)
    for larger, smaller in (("A0", "A1"), ("A1", "A2"), ("A2", "A3"), ("A3", "A4")):
        width, height = SIZES_MM[larger]
        assert SIZES_MM[smaller] == (height // 2, width)

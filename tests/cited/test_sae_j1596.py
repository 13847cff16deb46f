"""SAE J1596 (1989, cancelled 2019), read second-hand: the least belt length that can be fitted.

In inches, least length = 1.003 L1 + L2 + 0.77 + 6.28 h: L1 the path with the adjuster where the belt is fitted, L2
twice the minus tolerance, h the height of a flange. It is a rule for assembly lines: the belt goes over every rim at
once.
Ours asks for the easiest rim last, so it must ask for less, and how much less is shown here.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.drive.route import Route, route_of
from beltplan.layoutfile.layout_file import read_layout

LAYOUTS = Path(__file__).parents[2] / "layouts"
MM_PER_INCH = 25.4


def _route(name: str) -> Route:
    return route_of(read_layout(str(LAYOUTS / f"{name}.yaml")).layout)


def _least_by_j1596_mm(path_mm: float, minus_tolerance_mm: float, flange_mm: float = 0.0) -> float:
    inches = (
        1.003 * path_mm / MM_PER_INCH + 2.0 * minus_tolerance_mm / MM_PER_INCH + 0.77 + 6.28 * flange_mm / MM_PER_INCH
    )
    return inches * MM_PER_INCH


def test_the_rule_itself() -> None:
    """1500 mm of path, 7.5 mm of minus tolerance, no flange: 1504.5 + 15 + 19.558."""
    assert _least_by_j1596_mm(1500.0, 7.5) == pytest.approx(1539.058, abs=1e-9)


@pytest.mark.parametrize("name", ["railcar", "camper", "workboat"])
def test_our_rule_asks_less_because_it_fits_over_the_easiest_rim(name: str) -> None:
    route = _route(name)
    acceptable = route.acceptable_mm
    assert acceptable is not None
    tolerance = route.layout.belt.tolerance_of(acceptable[0])
    assert route.window is not None
    theirs = _least_by_j1596_mm(route.window.shortest, tolerance)
    assert 25.0 < theirs - acceptable[0] < 40.0

"""Values that can hardly be meant: edges at each limit, and that a file with them is asked, not refused."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from beltplan.checks.doubts import DOUBT
from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding
from beltplan.drive.belt import Friction
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import ArmSpring, SlideSpring
from beltplan.drive.route import route_of
from tests.drive.drives import with_belt, with_pulley
from tests.drive.loaded_drives import SWING, on_slide, seven
from tests.for_each import for_each

SLIDE_MM = math.hypot(115.0, 20.0)
"""Length of the slide, from (-190, 118) to (-75, 138)."""


def _asked(given: Layout) -> list[Finding]:
    return [finding for finding in findings_of(route_of(given), None) if finding.check == DOUBT.name]


@pytest.mark.parametrize(("sizes", "count"), [((70.0, 90.0, 600.0), 0), ((9.9, 601.0, 2286.0), 3)])
def test_idlers_of_a_size_that_looks_like_another_unit(sizes: tuple[float, ...], count: int) -> None:
    found = _asked(replace(seven(), idler_sizes_mm=sizes))
    assert [(f.severity, f.subject) for f in found] == [("caution", "idler_sizes")] * count
    assert any("2286 mm (90 in): has it a digit too many?" in f.message for f in found) == (count == 3)


@for_each((9.9, "Then write `9.9 in`, which is 251.5 mm"), (10.0, ""), (600.0, ""), (606.0, "digit too many"))
def test_pulleys_of_a_size_that_looks_like_another_unit(size: float, words: str) -> None:
    """A size to be had of a pulley, so that the drive stays as it is."""
    found = _asked(with_pulley(seven(), "cooling", diameters_mm=(size,)))
    assert [f.subject for f in found] == ["cooling"] * bool(words) and all(words in f.message for f in found)


def test_an_own_limit_answers_the_question() -> None:
    given = with_pulley(seven(), "cooling", diameters_mm=(700.0,))
    assert _asked(given) and not _asked(replace(given, limits={"max_likely_diameter_mm": {"cooling": 800.0}}))


@for_each(
    (Friction(0.6, 0.9), True),
    (Friction(0.9, 0.6), False),
    (Friction(wet=1.1), True),
    (Friction(), False),
    (Friction(0.8, 0.8), False),
    (Friction(0.9, 0.6, 1.0), True),
    (Friction(0.9, 0.6, 0.9), False),
    (Friction(0.4, 0.3), True),
)
def test_friction_that_is_greater_wet_or_by_design_than_dry(friction: Friction, asked: bool) -> None:
    """One number alone stands against the default of the other: 1.0 dry, ln 4 / pi by design."""
    found = _asked(with_belt(seven(), friction=friction))
    assert [(f.severity, f.subject) for f in found] == [("caution", "belt")] * asked


@for_each((265.0 - 29.0, False), (265.0 - 31.0, True), (331.0, True))
def test_a_springs_angle_far_outside_the_stops(at_deg: float, asked: bool) -> None:
    """Stops at 265 and 300 deg; 31 deg at 0.4 Nm a deg are 12.4 Nm by the rate alone."""
    given = seven(replace(SWING, spring=ArmSpring(26.0, at_deg, 0.4)))
    found = _asked(given)
    assert [(f.severity, f.subject) for f in found] == [("caution", "tensioner")] * asked
    assert all("31 deg outside the travel, 265 to 300" in f.message and "12.4 Nm" in f.message for f in found)


@for_each((-29.0, False), (-31.0, True), (SLIDE_MM + 31.0, True))
def test_a_slides_spring_far_outside_its_travel(at_mm: float, asked: bool) -> None:
    """31 mm at 4 N a mm are 124 N by the rate alone."""
    found = _asked(on_slide(spring=SlideSpring(900.0, at_mm, 4.0)))
    assert [(f.severity, f.subject) for f in found] == [("caution", "tensioner")] * asked
    assert all("31 mm outside the travel, 0 to 116.726" in f.message and "124 N" in f.message for f in found)

"""Values in a unit that cannot be meant: asked after once, and what they would be in the likely one."""

from __future__ import annotations

from dataclasses import replace

from beltplan.checks.pulleys import doubt_findings, doubtful_unit
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm
from beltplan.drive.route import route_of
from tests.drive.drives import railcar, with_pulley
from tests.for_each import for_each


def _scaled(factor: float) -> Layout:
    given = railcar()
    pulleys = {name: replace(each, diameter_mm=each.diameter_mm * factor) for name, each in given.pulleys.items()}
    return replace(given, pulleys=pulleys)


@for_each(
    ("factor", "words"),
    [
        (1.0, ""),
        (
            1.0 / 25.4,
            "All pulleys are under 8 mm: is the file in inches? Then write `units: in`. The largest would be 190",
        ),
        (0.11, "All pulleys are under 21 mm: is the file in centimetres?"),
        (25.4, "are these mm? Then write `units: mm`. The"),
        (10.5, "is there a digit too many in every length?"),
    ],
)
def test_a_whole_file_in_another_unit(factor: float, words: str) -> None:
    """One inch is 25.4 mm exactly (ISO 31-1); the rest is common practice, no source."""
    assert words in doubtful_unit(_scaled(factor)) and bool(words) == bool(doubtful_unit(_scaled(factor)))


def test_a_whole_file_is_asked_after_once() -> None:
    route = replace(route_of(railcar()), layout=_scaled(1.0 / 25.4))
    (finding,) = [each for each in doubt_findings(route) if "mm" in each.message and each.subject == "units"]
    assert finding.severity == "caution"
    assert not [each for each in doubt_findings(route) if each.message.startswith("a diameter of")]


@for_each(("length_mm", "asked"), [(14.9, True), (15.1, False), (599.0, False), (601.0, True)])
def test_an_arm_that_looks_like_inches(length_mm: float, asked: bool) -> None:
    given = railcar()
    arm = given.pulleys["tensioner"].adjuster
    assert isinstance(arm, Arm)
    layout = with_pulley(given, "tensioner", adjuster=replace(arm, length_mm=length_mm))
    found = doubt_findings(replace(route_of(given), layout=layout))
    assert bool([each for each in found if "an arm of" in each.message]) == asked


@for_each(("x_mm", "asked"), [(3300.0, True), (2900.0, False)])
def test_a_pulley_far_from_all_others(x_mm: float, asked: bool) -> None:
    given = railcar()
    layout = with_pulley(given, "generator", at_mm=(x_mm, 300.0))
    found = doubt_findings(replace(route_of(given), layout=layout))
    assert [each.subject for each in found if "nearest other pulley" in each.message] == ["generator"] * asked

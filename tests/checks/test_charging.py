"""An alternator that gives less than is asked: how much is missing, from when it is enough, which pulley would do.

Speeds by pitch diameters d_e + 2 b_e, b_e = 2 mm (ISO 9981:2020, 5.4): 60 mm on a crankshaft pulley of 190 turns
194 / 64 = 3.03 times as fast. The assumed output curve is from memory, medium confidence (`loads.OUTPUT_SOURCE`).
"""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from beltplan.checks.charging import CURRENT
from beltplan.checks.limits import Finding
from beltplan.checks.pulleys import minimum_diameter
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.loads import AlternatorLoad, default_output, usual_loads
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.screen import in_units
from tests.drive.drives import with_pulley
from tests.drive.loaded_drives import ENGINE, seven
from tests.for_each import for_each

RAILCAR = Path(__file__).parents[2] / "layouts" / "railcar.yaml"
RATIO = 174.0 / 64.0
"""Of the generator in `seven`: 60 mm on 170."""
STRAIGHT = (0.0, 20_000.0)
"""An output that rises by 1 A for every 100 rpm of its shaft."""


def asking(current_A: float, output: Any = (STRAIGHT, (0.0, 200.0)), **more: Any) -> Layout:
    own = {name: more.pop(name) for name in ("max_rpm", "usual_load") if name in more}
    return with_pulley(seven(**more), "generator", load=AlternatorLoad(current_A, 14.0, 0.5, *output), **own)


def found(layout: Layout) -> Finding:
    (finding,) = CURRENT.of_route(route_of(layout))
    return finding


def test_the_demo_railcar_asked_for_139_A() -> None:
    """62 mm on 190 turns 194 / 66 times as fast; at 700 rpm its sheet (60 A at 2000, 100 A at 3000 rpm) gives 62 A."""
    stated = read_layout(str(RAILCAR)).layout
    load = stated.pulleys["alternator"].load
    assert isinstance(load, AlternatorLoad)
    finding = found(with_pulley(stated, "alternator", load=replace(load, current_A=139.0)))
    gives = 60.0 + 40.0 * (700.0 * 194.0 / 66.0 - 2000.0) / 1000.0
    assert (finding.check, finding.severity, finding.subject) == ("current", "caution", "alternator")
    assert finding.value == pytest.approx(gives)
    assert (finding.limit, finding.unit) == (139.0, "A") and finding.margin == pytest.approx((gives - 139.0) / 139.0)
    assert "at idle (700 rpm) it gives 62 A of the 139 A asked, the battery 77 A" in finding.message


def test_from_which_speed_it_is_enough_and_which_pulley_would_do() -> None:
    """30 A need 3000 rpm of the shaft, 1103 of the engine; at its idle of 750 that is 4 to 1, a pitch of 43.5 mm."""
    finding = found(asking(30.0, limits={"min_diameter_mm": {"": 20.0}}, engine=ENGINE))
    assert f"Enough from {3000.0 / RATIO:.0f} rpm" in finding.message
    assert "a pulley of 39 mm would do at idle" in finding.message
    assert f"turn {174.0 / 43.0 * 5500.0:.0f} rpm at 5500 of the engine" in finding.message
    assert "over its" not in finding.message


@for_each("line", "rim")
def test_the_pulley_that_is_told_does_and_one_mm_more_does_not(reading: Any) -> None:
    """Told at the effective line, however it was measured, as the table of pulleys tells it."""
    given = with_pulley(asking(26.0, limits={"min_diameter_mm": {"": 20.0}}), "generator", reading=reading)
    words = found(given).message
    assert ("mm effective diameter would do" in words) == (reading == "rim")
    diameter = int(words.partition("a pulley of ")[2].partition(" mm")[0])
    enough = {mm: CURRENT.of_route(route_of(with_pulley(given, "generator", diameter_mm=mm, reading="line")))
              for mm in (float(diameter), diameter + 1.0)}  # fmt: skip
    assert enough[float(diameter)] == [] and enough[diameter + 1.0] != []


def test_a_pulley_that_makes_it_too_fast_says_so() -> None:
    finding = found(asking(24.0, limits={"min_diameter_mm": {"": 20.0}}, max_rpm=16_000.0))
    assert "over its 16000" in finding.message


def test_a_pulley_too_small_for_the_belt_is_no_help() -> None:
    """45 mm: ISO 9981:2020, 5.2."""
    advice = found(asking(30.0)).advice
    assert advice.startswith("a pulley of 39 mm would do, but 6PK allows 45 mm or more: a larger crank ")
    assert in_units(advice, "in").startswith("a pulley of 1.54 in (39 mm) would do, but 6PK allows 1.77 in")


def test_a_pulley_under_the_recommended_size_is_not_advised_either() -> None:
    """99.5 % of 25.6 A need 2547 rpm of the shaft, a pitch of 51.2 mm: 47 mm at the line. From
    45 (ISO 9981:2020, 5.2) to 50 it is a caution, from memory.
    """
    least = minimum_diameter(seven(), seven().pulleys["generator"])
    assert least.limit <= 47.0 < least.ample
    advice = found(asking(25.6)).advice
    assert advice.startswith(f"a pulley of 47 mm would do, but 6PK should have {least.ample:g} mm or more: a larger ")


@for_each((20.39, 0), (20.39 / 0.996, 0), (20.39 / 0.994, 1))
def test_what_no_meter_tells_is_not_short(asked_A: float, count: int) -> None:
    """2039 rpm of the shaft at idle give 20.39 A; half a percent is common practice, no source."""
    assert len(CURRENT.of_route(route_of(asking(asked_A)))) == count


def test_never_enough_at_any_speed_is_a_problem() -> None:
    finding = found(asking(160.0))
    assert finding.severity == "problem"
    assert f"At 5500 rpm, its best, it gives {55.0 * RATIO:.0f} A: it never carries the load" in finding.message
    assert found(asking(149.0)).severity == "caution"


def test_more_than_it_can_ever_give_is_helped_by_no_pulley() -> None:
    finding = found(asking(139.0, default_output(90.0)))
    assert finding.severity == "problem" and "no pulley helps: it never gives more than 90 A" in finding.message


def test_short_at_cruise_is_told_too() -> None:
    message = found(asking(70.0)).message
    assert f"at cruise (2200 rpm) {22.0 * RATIO:.0f} A, the battery {70.0 - 22.0 * RATIO:.0f} A" in message
    assert "cruise" not in found(asking(30.0)).message


def test_an_output_that_falls_at_speed() -> None:
    """100 A at 6000 rpm of the shaft falls to nothing at 20,000: under 50 A from 13,000, 4782 engine rpm."""
    falling = ((2000.0, 6000.0, 20_000.0), (100.0, 100.0, 0.0))
    message = found(asking(50.0, falling)).message
    assert message.startswith("at 5500 rpm it gives")
    assert f"Enough from 750 rpm to {13_000.0 / RATIO:.0f}" in message


def test_an_assumed_output_is_named() -> None:
    assumed = AlternatorLoad(60.0, 14.0, 0.5, *default_output(90.0), ("output",))
    finding = found(with_pulley(seven(), "generator", load=assumed))
    assert "assumed from `rated_A`" in finding.message and "from memory, medium confidence" in finding.source
    assert "assumed" not in found(asking(60.0, default_output(90.0))).message


@for_each(
    asking(20.0),  # 2039 rpm of the shaft at idle give 20.4 A
    asking(100.0, ()),  # as a clamp meter read it
    asking(100.0, duties={"lights off": ("pump",)}),
    asking(100.0, engine=Engine()),
    asking(100.0, usual_load=usual_loads()["alternator"]),
    seven(),
)
def test_nothing_to_say(given: Layout) -> None:
    assert CURRENT.of_route(route_of(given)) == []


def test_idle_alone_is_judged_and_is_no_problem() -> None:
    assert found(asking(500.0, engine=Engine(idle_rpm=750.0))).severity == "caution"


@for_each(
    (((0.0, 1.0), (500.0, 0.0)),),
    (((5000.0, 5001.0), (0.0, 1e4)),),
    (((0.0, 1e6), (0.0, 0.0)),),
    (((0.0, 1e-300), (0.0, 1e4)),),
    (((1e5, 1e6), (0.0, 100.0)),),
)  # fmt: skip
@pytest.mark.filterwarnings("error")
def test_odd_curves_say_something(output: Any) -> None:
    for finding in CURRENT.of_route(route_of(asking(50.0, output))):
        assert "nan" not in finding.message and "inf" not in finding.message

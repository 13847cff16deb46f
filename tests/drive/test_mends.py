"""One change that gives a belt a path: undone damage is found again, and what is told does work.

That a layout is sound is the shipped layouts' own word: one side or one place in the order of them is changed, and the
change must be found again.
"""

from dataclasses import replace
from pathlib import Path
from typing import cast

import numpy as np
import pytest
from scipy.optimize import minimize

from beltplan.checks.plan import plan_on
from beltplan.drive.layout import Layout
from beltplan.drive.mends import Mend, mends_of, mends_text, shortest_move, tries_of
from beltplan.drive.pulleys import Arm
from beltplan.drive.route import Route, route_of
from beltplan.drive.travel import Circuit
from beltplan.drive.way_round import NoBeltPath, PathFault
from beltplan.geometry.loops import close_loop
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.layout_file import read_layout
from tests.cli.running import Runner
from tests.drive.drives import fixed, layout, pulley
from tests.for_each import for_each
from tests.shipped import SHIPPED_LAYOUTS as SHIPPED

ROOT = Path(__file__).parents[1]


def _has_path(layout: Layout) -> bool:
    try:
        route_of(layout)
    except NoBeltPath:
        return False
    return True


def _faults(layout: Layout) -> tuple[PathFault, ...]:
    with pytest.raises(NoBeltPath) as caught:
        route_of(layout)
    return caught.value.faults


@for_each(*SHIPPED)
def test_a_side_that_was_flipped_is_found_again(path: Path) -> None:
    good = read_layout(str(path)).layout
    for name, own in good.pulleys.items():
        if not own.on_back or name not in good.route:
            continue
        bad = replace(good, pulleys={**good.pulleys, name: replace(own, belt_side="ribbed")})
        if not _has_path(bad):
            told = [(mend.question, mend.words) for mend in mends_of(bad, (name,))]
            assert (f"Does {name} run on the belt's back? ", f"`belt_side: back` for {name}") == told[0]


def test_a_place_that_was_exchanged_or_lost_its_minus_is_found_again() -> None:
    tried = 0
    for good in (read_layout(str(path)).layout for path in SHIPPED):
        scale = 25.4 if good.units == "in" else 1.0  # by definition
        placed = {name: good.pulleys[name].at_mm or (0.0, 0.0) for name in good.route}
        for name, (x, y) in placed.items():
            slips = {(y, x): f"Are x and y of {name} exchanged? ", (-x, y): f"Has {name} a wrong sign? "}
            for wrong, question in slips.items():
                bad = good.with_pulley(replace(good.pulleys[name], at_mm=wrong))
                if (x, y) in ((0.0, 0.0), wrong) or _has_path(bad):
                    continue
                tried += 1
                overlaps = any("overlap by" in fault.got for fault in _faults(bad))
                told = [(mend.question, mend.words) for mend in mends_of(bad, (name,), overlap=overlaps)]
                assert (question, f"`at: [{x / scale:.6g}, {y / scale:.6g}]` for {name}") in told
    assert tried > 20


@pytest.mark.parametrize("spring_too", [True, False])
@pytest.mark.parametrize(("way", "zero_deg"), [(-1.0, 0.0), (-1.0, 90.0), (1.0, -90.0), (1.0, 90.0)])
def test_angles_of_an_arm_read_from_elsewhere_are_found_again(way: float, zero_deg: float, spring_too: bool) -> None:
    """By plane geometry an angle read from straight up, clockwise, is 90 less the file's; and so on."""
    tried = 0
    for good in (read_layout(str(path)).layout for path in SHIPPED):
        for own in (good.pulleys[name] for name in good.route):
            arm = own.adjuster
            if not isinstance(arm, Arm) or arm.spring is None or arm.spring.readings:
                continue
            first, second = (way * stop + np.radians(zero_deg) for stop in arm.stops_rad)
            at = None if arm.at_rad is None else way * arm.at_rad + np.radians(zero_deg)
            right_deg = arm.spring.at_deg
            spring = replace(arm.spring, at_deg=way * right_deg + zero_deg if spring_too else right_deg)
            held = replace(arm, stops_rad=(first, second), at_rad=at, spring=spring)
            bad = good.with_pulley(replace(own, adjuster=held))
            if _has_path(bad) or (not spring_too and abs(np.degrees(arm.middle) - right_deg) > 20.0):
                continue
            tried += 1
            overlaps = any("overlap by" in fault.got for fault in _faults(bad))
            stops = "`stops: [{:.6g}, {:.6g}]`".format(*np.degrees(arm.stops_rad))
            (told,) = (mend for mend in mends_of(bad, (own.name,), overlap=overlaps) if mend.words.startswith(stops))
            meant = told.route.layout.pulleys[own.name].adjuster
            assert isinstance(meant, Arm) and meant.spring and meant.stops_rad == pytest.approx(arm.stops_rad)
            assert meant.spring.at_deg == pytest.approx(right_deg) and meant.nominal == pytest.approx(arm.nominal)
            assert ("spring.at_deg" in told.words) is spring_too
    assert tried > 0


def test_an_arm_measured_to_the_far_rim_of_its_pulley_is_found_again() -> None:
    """That is half its diameter too long."""
    tried = 0
    for good in (read_layout(str(path)).layout for path in SHIPPED):
        for own in (good.pulleys[name] for name in good.route):
            if isinstance(arm := own.adjuster, Arm):
                held = replace(arm, length_mm=arm.length_mm + 0.5 * own.diameter_mm)
                bad, asked = good.with_pulley(replace(own, adjuster=held)), f"Is the arm of {own.name} measured to"
                told = [each for each in tries_of(bad, (own.name,), places=True) if each.question.startswith(asked)]
                lengths = [cast(Arm, each.route.layout.pulleys[own.name].adjuster).length_mm for each in told]
                assert lengths == [pytest.approx(arm.length_mm)]
                tried += 1
    assert tried > 3


@pytest.mark.parametrize("at", [(90.0, 0.0), (64.0, 64.0)])
def test_numbers_that_turning_leaves_as_they_are_stand_in_no_other_unit(at: tuple[float, float]) -> None:
    overlapping = layout([pulley("crank", 0, 0, 100), pulley("far", *at, 100)])
    told = mends_of(overlapping, ("crank", "far"), overlap=True)
    assert not [mend.words for mend in told if mend.keys[-1] == "at" and " in" in mend.words]


def test_a_pulley_forgotten_in_the_route_is_found_again() -> None:
    tried = 0
    for path in SHIPPED:
        good = read_layout(str(path)).layout
        for name in good.route:
            pulley = good.pulleys[name]
            bad = replace(good, route=tuple(other for other in good.route if other != name))
            if pulley.drives or pulley.guides_only or pulley.at_mm is None or _has_path(bad):
                continue
            tried += 1
            told = [mend for mend in mends_of(bad) if f"Is {name} forgotten in `route`? " == mend.question]
            assert any(set(mend.route.layout.route) == set(good.route) for mend in told)
    assert tried > 0


@for_each(*SHIPPED)
def test_two_that_changed_places_are_put_right(path: Path) -> None:
    good = read_layout(str(path)).layout
    for place in range(1, len(good.route) - 1):
        order = list(good.route)
        order[place], order[place + 1] = order[place + 1], order[place]
        bad = replace(good, route=tuple(order))
        if not _has_path(bad):
            mends = mends_of(bad)
            assert mends and all(mend.route.loop.exists for mend in mends)


def test_thirty_pulleys_in_a_wrong_order_and_nothing_where_no_one_change_helps() -> None:
    good = read_layout(str(ROOT / "cases" / "faults" / "r30.yaml")).layout
    order = [*good.route[:5], good.route[6], good.route[5], *good.route[7:]]
    words = mends_of(replace(good, route=tuple(order)))[0].words
    assert any(name in words for name in (good.route[5], good.route[6])) and words.endswith(" in `route`")
    assert mends_of(replace(good, route=good.route[::2] + good.route[1::2])) == ()


@pytest.mark.parametrize("side", ["ribbed", "back"])
def test_a_driver_is_never_flipped_nor_grooves_laid_on_the_back(side: str) -> None:
    good = read_layout(str(SHIPPED[0])).layout
    for mend in mends_of(replace(good, route=good.route[:2] + good.route[:1:-1])):
        assert not any(pulley.on_back and (pulley.drives or pulley.grooves) for pulley in mend.route.pulleys)


def test_what_leaves_the_fewest_problems_is_told_first_and_a_flipped_side_among_the_best() -> None:
    good = read_layout(str(ROOT / "cases" / "hz.yaml")).layout
    bad = good.with_pulley(replace(good.pulleys["guide"], belt_side="ribbed"))
    left = [replace(mend, problems=plan_on(mend.route).count("problem")) for mend in mends_of(bad)]
    told = mends_text(left).removeprefix("With ").split(". Or: with ")
    numbers = [int(words.partition(" laid, with ")[2].split()[0]) for words in told]
    assert numbers == sorted(mend.problems for mend in left)[:4] and numbers[0] < numbers[-1]
    assert any(words.startswith("`belt_side: back` for guide ") for words in told[:2])


def test_the_line_to_change_is_told(run: Runner, tmp_path: Path) -> None:
    text = (ROOT / "cases" / "hz.yaml").read_text(encoding="utf-8")
    path = tmp_path / "file.yaml"
    (route,) = (line for line in text.splitlines() if line.startswith("route: "))
    names = route.removeprefix("route: [").removesuffix("]").split(", ")
    names[5:7] = reversed(names[5:7])
    path.write_text(text.replace(route, f"route: [{', '.join(names)}]"), encoding="utf-8")
    assert f" in `route` (line {text.splitlines().index(route) + 1}) " in run("check", str(path)).err


def test_only_changes_that_leave_no_problem_are_told_where_there_are_some() -> None:
    good = read_layout(str(SHIPPED[0])).layout
    mends = mends_of(replace(good, route=good.route[:2] + good.route[:1:-1]))
    one, none = (Mend(("route",), "", "AB"[not left], mends[0].route, problems=left) for left in (1, 0))
    assert mends_text([one, none, replace(none, words="C")]) == ("With B it works (tried). Or: with C it works (tried)")
    assert mends_text([one]) == ("With A a belt can be laid, with 1 problem (tried). Or is a place wrong?")
    assert mends_text([replace(one, rare=True)]) == ""


def test_places_of_pulleys_with_a_problem_are_tried_before_all_others() -> None:
    """Of a long route only so many are laid: the last pulley of it must not be left out."""
    layout = read_layout(str(ROOT.parent / "layouts" / "camper.yaml")).layout
    last = next(name for name in reversed(layout.route) if layout.pulleys[name].at_mm)
    first, *_ = (mend for mend in tries_of(layout, (last,), places=True) if "sign" in mend.question)
    assert first.keys[:2] == ("pulleys", last)


# The smallest movement of a pulley that makes a belt fit, against plane geometry and scipy's constrained search.


def _three() -> Route:
    return route_of(
        layout(
            [
                pulley("crank", 0, 0, 160, role="crankshaft"),
                pulley("pump", -180, 220, 120),
                pulley("generator", 200, 260, 60),
            ]
        )
    )


@pytest.mark.parametrize(("change", "direction"), [(6.0, 0.0), (-6.0, np.pi)])
def test_of_two_pulleys_the_driven_one_moves_by_half_the_change(change: float, direction: float) -> None:
    move = shortest_move(route_of(fixed()), 600.0 + 100.0 * np.pi + change)
    assert move is not None
    assert move.pulley == "pump"
    assert move.distance_mm == pytest.approx(3.0)
    assert np.cos(move.direction_rad) == pytest.approx(np.cos(direction))


@for_each(-15.0, -4.0, 4.0, 15.0)
def test_against_a_constrained_search(change: float) -> None:
    """scipy's SLSQP may bend the direction as it goes: at these distances it gains less than 1 %."""
    route = _three()
    circuit = route.circuit
    wanted = float(circuit.loop_at(0.0).length) + change
    move = shortest_move(route, wanted)
    assert move is not None
    least = min(_searched(circuit, index, wanted) for index in (1, 2))
    assert least <= move.distance_mm + 1e-6
    assert move.distance_mm <= 1.01 * least


def _searched(circuit: Circuit, index: int, wanted: float) -> float:
    def missing(step: Floats) -> float:
        centre = np.array(circuit.centre)
        centre[index] += step
        return float(close_loop(centre, circuit.radius, circuit.sense).length) - wanted

    found = minimize(lambda step: step @ step, [1.0, 1.0], constraints={"type": "eq", "fun": missing}, method="SLSQP")
    assert found.success
    return float(np.hypot(*found.x))


@pytest.mark.parametrize("change", [-30.0, 30.0])
def test_the_movement_gives_the_length(change: float) -> None:
    route = _three()
    circuit = route.circuit
    wanted = float(circuit.loop_at(0.0).length) + change
    move = shortest_move(route, wanted)
    assert move is not None
    index = [p.name for p in circuit.pulleys].index(move.pulley)
    step = move.distance_mm * np.array([np.cos(move.direction_rad), np.sin(move.direction_rad)])
    moved = circuit.moved({index: circuit.centre[index] + step})
    assert float(moved.loop_at(0.0).length) == pytest.approx(wanted, abs=1e-8)
    assert moved.sound_at(np.array(0.0))


def test_no_move_within_reach() -> None:
    assert shortest_move(route_of(fixed()), 5000.0) is None


def test_no_move_into_the_next_pulley() -> None:
    assert shortest_move(route_of(fixed(110.0)), 2.0 * 95.0 + 100.0 * np.pi) is None

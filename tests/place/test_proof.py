"""Plans of places: what `check` finds there is what is told, and the best one passes."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import SEVERITIES
from beltplan.drive.loads import AlternatorLoad, TorqueLoad
from beltplan.drive.operation import operation_of
from beltplan.drive.route import route_of
from beltplan.place.advice import advice_of, proof_of
from beltplan.place.report import place_report
from beltplan.place.running import LEFT_TO_CHECK
from beltplan.place.study import STATES, Grid, Place, judged_places, moved, place_map
from tests.drive.drives import with_pulley
from tests.place.drives import shipped

GRID = Grid((150.0, 330.0), (190.0, 370.0), 10.0)

LEFT = {check.name for check in LEFT_TO_CHECK}


def test_moved_pulleys_and_no_others() -> None:
    given = shipped("workboat")
    other = moved(given, ("alternator", "idler"), ((1.0, 2.0), (3.0, 4.0)))
    assert (other.pulleys["alternator"].at_mm, other.pulleys["idler"].at_mm) == ((1.0, 2.0), (3.0, 4.0))
    assert other.pulleys["crank"] is given.pulleys["crank"] or other.pulleys["crank"] == given.pulleys["crank"]
    assert given.pulleys["alternator"].at_mm != (1.0, 2.0)


def test_the_findings_are_those_of_check() -> None:
    place = Place(((174.0, 358.5),), "sound")
    proof = proof_of(shipped("workboat"), ("alternator",), place)
    route = route_of(with_pulley(shipped("workboat"), "alternator", at_mm=(174.0, 358.5)))
    expected = findings_of(route, operation_of(route))
    assert proof is not None
    assert [(f.check, f.subject, f.severity, f.value) for f in proof.plan.findings] == [
        (f.check, f.subject, f.severity, f.value) for f in expected
    ]


def test_no_path_no_proof() -> None:
    assert proof_of(shipped("workboat"), ("alternator",), Place(((0.0, 0.0),), "no path")) is None


def test_the_best_place_passes_in_full() -> None:
    found = place_map(shipped("workboat"), "alternator", GRID)
    best = advice_of(found).best
    assert best is not None and not best.plan.count("problem")


def test_a_tilted_face_is_judged_at_every_place_as_check_judges_it() -> None:
    """Of a tilt of 0.36 deg the spans beside it see more or less, as the place turns them: caution or not."""
    given = with_pulley(shipped("workboat"), "alternator", tilt_deg=(0.0, 0.36))
    rng = np.random.default_rng(3)
    places = np.array(given.pulleys["alternator"].at_mm) + rng.uniform(-60.0, 60.0, (24, 2))
    told = [STATES[state] for state in judged_places(given, ("alternator",), places[:, None]).state]
    checked = []
    for at in places.tolist():
        route = route_of(with_pulley(given, "alternator", at_mm=tuple(at)))
        found = {f.severity for f in findings_of(route, operation_of(route)) if f.check not in LEFT}
        checked.append("problem" if "problem" in found else "caution" if "caution" in found else "sound")
    assert told == checked and len(set(told)) > 1


def test_what_no_place_changes_is_a_problem_at_every_place() -> None:
    """An alternator that stands 100 rpm: no place changes its speed."""
    layout = with_pulley(shipped("workboat"), "alternator", max_rpm=100.0)
    found = place_map(layout, "alternator", GRID)
    assert advice_of(found).best is None
    assert ("rpm", "problem", "alternator") in [(f.check, f.severity, f.subject) for f in found.judged.everywhere]
    # It is told apart from what the places decide, which is counted as it is without it.
    assert found.judged.standing == ("rpm of alternator",)
    assert found.failing == place_map(shipped("workboat"), "alternator", GRID).failing != {}


def test_a_caution_that_no_place_changes_marks_none() -> None:
    """Short of current at idle wherever it sits: the map shows what the place decides, and the words tell the rest."""
    alternator = shipped("workboat").pulleys["alternator"].load
    assert isinstance(alternator, AlternatorLoad)
    short = with_pulley(shipped("workboat"), "alternator", load=replace(alternator, current_A=70.0))
    found, without = (place_map(layout, "alternator", GRID) for layout in (short, shipped("workboat")))
    assert [finding.check for finding in found.judged.everywhere] == ["current"]
    assert found.counts == without.counts and found.counts["sound"] > 0
    words = "".join(str(part) for part in place_report(found, advice_of(found)).blocks)
    assert "AT EVERY PLACE" in words and "70 A asked" in words


def test_a_rotor_that_slips_on_revs_has_no_place() -> None:
    """A rotor of 50 kg m2 revved up in an instant: no wrap holds that."""
    layout = with_pulley(shipped("workboat"), "alternator", inertia_kgm2=50.0)
    layout = replace(layout, engine=replace(layout.engine, rev_up_rpm_per_s=3000.0))
    assert advice_of(place_map(layout, "alternator", GRID)).best is None


def test_a_hub_that_stands_nothing_has_no_place() -> None:
    """A bearing that stands 10 N: every span pulls more."""
    layout = with_pulley(shipped("workboat"), "alternator", max_hub_load_N=10.0)
    assert advice_of(place_map(layout, "alternator", GRID)).best is None


def test_a_bearing_that_no_moment_may_bend_has_no_place() -> None:
    """1 N m at 62 mm: the belt pulls far more than 16 N wherever it runs."""
    layout = with_pulley(shipped("workboat"), "alternator", overhang_mm=62.0, max_moment_Nm=1.0)
    assert advice_of(place_map(layout, "alternator", GRID)).best is None


def test_a_drive_that_slips_everywhere_has_no_best() -> None:
    """An alternator that asks 500 N m: no wrap holds that."""
    layout = with_pulley(shipped("workboat"), "alternator", load=TorqueLoad(500.0))
    assert advice_of(place_map(layout, "alternator", GRID)).best is None


def test_a_map_without_any_place_has_no_best() -> None:
    found = place_map(shipped("workboat"), "alternator", replace(GRID, low=(-10.0, -10.0), high=(10.0, 10.0)))
    assert advice_of(found).best is None


def test_counting() -> None:
    """What `check` says with the camper's second alternator where it stands, counted by hand and by the proof."""
    route = route_of(shipped("camper"))
    seen = Counter(finding.severity for finding in findings_of(route, operation_of(route)))
    proof = proof_of(shipped("camper"), ("house_alternator",), Place((shipped_at("camper"),), "problem"))
    assert proof is not None and seen["problem"] > 0
    assert all(proof.plan.count(severity) == seen[severity] for severity in SEVERITIES)


def shipped_at(name: str) -> tuple[float, float]:
    """Where the camper's second alternator stands."""
    at = shipped(name).pulleys["house_alternator"].at_mm
    assert at is not None
    return at

"""Findings of slip: edges at 0.99 and 1.01 of the grip, conditions, slack spans, revving. Euler's formula."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding, Way
from beltplan.checks.plan import Plan, plan_of
from beltplan.checks.slip import SLIP, SLIP_ON_REVS
from beltplan.drive.belt import Friction
from beltplan.drive.layout import Block, Engine, Layout
from beltplan.drive.loads import Load, TorqueLoad, fan_load, usual_loads
from beltplan.drive.mechanics import CONDITIONS
from beltplan.drive.pulleys import Arm
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from tests.cure.drives import layout_of, revving_camper
from tests.drive.drives import fixed, with_belt, with_pulley
from tests.drive.loaded_drives import ENGINE, on_slide, operation, seven
from tests.for_each import for_each
from tests.shipped import FOLDER

ONE_LOAD: dict[str, Load] = {"generator": TorqueLoad(6.0)}
HEAVY: dict[str, Load] = {"cooling": TorqueLoad(200.0)}
STRETCHED = replace(
    with_belt(fixed(), length_mm=905.0, stretch_fit=(0.005, 0.015), stiffness_N=168_000.0), engine=ENGINE
)
"""Two pulleys on a belt that is held by its own stretch."""


def _on_revs(given: Layout, subject: str) -> list[Finding]:
    return [finding for finding in _of(given, subject) if finding.check == SLIP_ON_REVS.name]


def _of(given: Layout, subject: str) -> list[Finding]:
    return [finding for finding in SLIP.of_operation(operation(given)) if subject in finding.parts]


def _rubbing(dry: float, wet: float, design: float) -> Layout:
    """The drive with one load, where the generator uses these shares of its grip: friction is use(1) / share."""
    given = seven(loads=ONE_LOAD)
    smooth = with_belt(given, friction=Friction(dry=1.0, wet=1.0, design=1.0))
    needed = float(operation(smooth).utilisation[0, :, :, 4].max())
    return with_belt(given, friction=Friction(dry=needed / dry, wet=needed / wet, design=needed / design))


@for_each((1.01, "problem"), (0.99, "caution"), (0.81, "caution"), (0.79, None))
def test_edges_of_slip(utilisation: float, severity: str | None) -> None:
    found = _of(_rubbing(utilisation, utilisation, 0.1), "generator")
    assert [f.severity for f in found] == ([] if severity is None else [severity])


@for_each(
    (seven(), None),
    (seven(loads={}), "no pulley has a load"),
    (seven(engine=Engine(idle_rpm=750.0)), "engine.idle_rpm and engine.max_rpm are not both given"),
    (with_pulley(seven(), "pump", usual_load=usual_loads()["water_pump"]), "usual loads assumed for pump: give"),
    (with_pulley(seven(), "pump", usual_load=fan_load(457.2)), "assumed for pump (as a fan of 457.2 mm): give"),
)
def test_what_is_not_judged_or_assumed_is_a_note(given: Layout, words: str | None) -> None:
    notes = [finding for finding in SLIP.of_route(route_of(given)) if finding.severity == "note"]
    assert [words in finding.message for finding in notes if words] == [True] * (words is not None)
    assert words is not None or notes == []


@pytest.mark.parametrize(("utilisation", "count"), [(1.01, 1), (0.99, 0)])
def test_design_friction_only_cautions(utilisation: float, count: int) -> None:
    found = _of(_rubbing(0.1, 0.1, utilisation), "generator")
    assert [f.severity for f in found] == ["caution"] * count
    assert all("by the design friction" in f.message for f in found)


def test_finding_names_speed_duty_condition_and_cure() -> None:
    (finding,) = _of(_rubbing(0.5, 1.2, 0.1), "generator")
    assert finding.check == SLIP.name and finding.value == pytest.approx(1.2)
    for words in ("wet at ", " rpm", "duty 'everything on'", "deg more wrap", "more tension"):
        assert words in finding.message


def test_dry_slip_is_named_before_wet_slip() -> None:
    (finding,) = _of(_rubbing(1.1, 1.5, 3.0), "generator")
    assert "slips dry at " in finding.message and "It uses 1.10 of its grip (1.50 when wet)" in finding.message


def test_own_limit_holds() -> None:
    given = replace(_rubbing(0.6, 0.6, 0.1), limits={"max_slip_use": {"generator": 0.5}})
    assert [f.severity for f in _of(given, "generator")] == ["problem"]


def test_slack_span_is_a_problem_without_a_number() -> None:
    given = on_slide(tension_N=400.0, loads={"cooling": TorqueLoad(200.0)})
    (finding,) = _of(given, "cooling")
    assert finding.severity == "problem" and finding.value is None and "slack" in finding.message


def test_what_hangs_slack_is_one_problem_that_names_its_spans_and_pulleys() -> None:
    """Tension rises only at the loaded pulley, the last before the driver: what lies before it hangs slack at once."""
    run = operation(on_slide(tension_N=400.0, loads={"cooling": TorqueLoad(200.0)}))
    (finding,) = [each for each in findings_of(run.route, run) if "slack" in each.message]
    assert set(finding.parts) == {"crank", "cooling"} and finding.check == SLIP.name
    assert "; cooling slips too" in finding.message
    names = [pulley.name for pulley in run.route.pulleys]
    first, loaded = 0, names.index("cooling")
    assert all(f"{names[i]} to {names[i + 1]}" in finding.message for i in range(first, loaded))
    assert f"cooling to {names[(loaded + 1) % len(names)]}" not in finding.message


def test_unloaded_drive_says_nothing() -> None:
    assert SLIP.of_operation(operation(seven(loads={}))) == []


def _sprayer(stiffness_N: float | None) -> Plan:
    """A V-belt, set by hand to 400 N and locked; its engine gains speed, and no block grows hot."""
    given = read_layout(str(FOLDER / "orchard_sprayer.yaml")).layout
    engine = replace(given.engine, rev_up_rpm_per_s=900.0)
    return plan_of(replace(with_belt(given, length_mm=1425.0, stiffness_N=stiffness_N), engine=engine, block=None))


@for_each(2e4, 6e4, 1e6)
def test_a_belt_set_by_hand_is_judged_without_its_stiffness_as_with_any(stiffness_N: float) -> None:
    """The stretch that is locked in stays, and is shared by lengths: no stiffness is in that (`test_balance.py`)."""
    unknown, known = _sprayer(None), _sprayer(stiffness_N)
    assert unknown.not_judged is None and unknown.operation is not None and known.operation is not None
    of_known = (known.operation, *(known.operation.ends or ()))
    for one, other in zip((unknown.operation, *(unknown.operation.ends or ())), of_known, strict=True):
        assert one.utilisation[0].max() > 0.1
        np.testing.assert_allclose(one.highest_utilisation, other.highest_utilisation, rtol=1e-9)
        np.testing.assert_allclose(one.most_span_N, other.most_span_N, rtol=1e-9)
        np.testing.assert_allclose(one.most_hub_N, other.most_hub_N, rtol=1e-9)


def test_what_goes_by_an_unknown_stiffness_is_a_note_and_says_how_to_find_it() -> None:
    plan = _sprayer(None)
    (note,) = (each for each in plan.findings if "stiffness_N" in each.message)
    assert note.message == (
        "its stretch to the set tension is not counted, nor is shaking judged: give stiffness_N under `belt` (see "
        "`beltplan words stiffness_N`): AV13 has no default"
    )
    assert plan.operation is not None and plan.operation.shaken is None
    hot = plan_of(replace(plan.layout, block=Block("iron", 60.0)))
    assert any(
        each.message.startswith("its stretch to the set tension and the heat of the block are not")
        for each in hot.findings
    )
    assert not any("stiffness_N" in each.message for each in _sprayer(6e4).findings)


def _revving(rev_up: float, inertia: float, **more: Any) -> Layout:
    given = seven(loads=ONE_LOAD, engine=replace(ENGINE, rev_up_rpm_per_s=rev_up))
    return with_pulley(with_belt(given, friction=Friction(1.0, 1.0, 1.0)), "generator", inertia_kgm2=inertia, **more)


def test_chirp_while_the_engine_speeds_up() -> None:
    """0.05 kg m2 at 5000 rpm/s of the engine: J alpha of 71 Nm against 6 Nm of load."""
    (found,) = _on_revs(_revving(5000.0, 0.05, one_way=True), "generator")
    assert found.severity == "problem" and "speeds up" in found.message


def test_gentle_change_of_speed_is_silent() -> None:
    assert SLIP.of_operation(operation(_revving(50.0, 0.001))) == []


def test_one_way_pulley_is_silent_while_the_engine_slows_down() -> None:
    for one_way, slows in ((True, False), (False, True)):
        (finding,) = _on_revs(_revving(5000.0, 0.05, one_way=one_way), "generator")
        assert ("slows down" in finding.message) == slows


@pytest.mark.parametrize(("rev_up", "severity"), [(3000.0, "problem"), (300.0, "caution")])
def test_a_milder_steady_finding_hides_no_chirp(rev_up: float, severity: str) -> None:
    """The crank uses 0.90 of its grip steadily, a caution, and slips at 3000 rpm/s: the worse is named, once."""
    layout = layout_of("camper", "with idler")
    tensioner = layout.pulleys["tensioner"]
    assert isinstance(tensioner.adjuster, Arm) and tensioner.adjuster.spring is not None
    weak = replace(tensioner.adjuster, spring=replace(tensioner.adjuster.spring, torque_Nm=16.0))
    revving = replace(layout, engine=replace(layout.engine, rev_up_rpm_per_s=rev_up))
    given = with_pulley(revving, "tensioner", adjuster=weak)
    (finding,) = _of(given, "crank")
    assert (finding.check, finding.severity) == (SLIP_ON_REVS.name, severity) and "(0.90 steadily)" in finding.message
    assert plan_of(given).verdict.startswith("does not work") == (rev_up == 3000.0)


NEAR_CHIRP = revving_camper(16.0, 3000.0)
"""The crank uses 0.86 of its grip steadily, and nearly all of it while the engine speeds up."""
UNDER_DESIGN = revving_camper(16.0, 3000.0, idler=(77.0, 106.0, 65.0))
"""The crank slips steadily by the design friction alone, and comes near slipping in the wet while revving."""


@pytest.mark.parametrize("given", [NEAR_CHIRP, UNDER_DESIGN])
def test_a_steady_caution_hides_no_near_chirp(given: Layout) -> None:
    """Of cautions the larger use in the wet is told, steady or revving, by the low end if it slips there; our own."""
    steady = operation(given)
    changed = steady.revving
    assert changed is not None
    wet = float(changed[1][CONDITIONS.index("wet"), ..., 0].max())
    assert 0.8 < wet < 1.0 and wet > float(steady.utilisation[CONDITIONS.index("wet"), ..., 0].max())
    assert steady.ends is not None and steady.ends[0].revving is not None
    low = float(steady.ends[0].revving[1][CONDITIONS.index("wet"), ..., 0].max())
    told, words = (low, "by the tensioner's friction, it slips wet") if low >= 1.0 else (wet, "comes near slipping wet")
    (finding,) = _of(given, "crank")
    assert (finding.check, finding.severity) == (SLIP_ON_REVS.name, "caution") and finding.value == pytest.approx(told)
    assert words in finding.message and "while the engine speeds up" in finding.message


def test_a_limit_of_nothing_divides_by_nothing() -> None:
    given = replace(_rubbing(0.1, 0.6, 0.1), limits={"max_slip_use": {"generator": 0.0}})
    assert [f.severity for f in _of(given, "generator")] == ["problem"]


@for_each((1.02, "slips wet"), (0.998, "is just under slipping wet"), (0.83, "comes near slipping wet"))
def test_how_near_to_slipping_is_said(utilisation: float, deed: str) -> None:
    """1 is slip (Euler); what to two digits would be all of the grip is just under it."""
    given = replace(_rubbing(0.1, utilisation, 0.1), limits={"max_slip_use": {"generator": 0.5}})
    (finding,) = _of(given, "generator")
    assert finding.wrong.startswith(f"{deed} at ")


@for_each(
    (on_slide(tension_N=400.0, loads=HEAVY), "more tension, or the adjuster elsewhere"),
    (seven(loads=HEAVY, rotation="counterclockwise"), "more tension, or the tensioner elsewhere"),
    (with_pulley(STRETCHED, "pump", load=TorqueLoad(200.0)), "a shorter belt, or less load"),
)
def test_a_slack_span_asks_for_what_can_tighten_it(given: Layout, advice: str) -> None:
    slack = [finding for finding in SLIP.of_operation(operation(given)) if finding.value is None]
    assert {finding.advice for finding in slack} == {advice}
    # Where the belt cannot take a tension that is enough, more ribs bear it.
    instead = advice.replace("more tension", "more ribs and then more tension")
    assert {each.by(Way.RIBS_FOR_TENSION, Way.TIGHTER).advice for each in slack} == {instead}


@pytest.mark.parametrize(
    ("utilisation", "words"), [(0.801, "; 1 deg more wrap brings it to 0.8"), (0.83, " deg more wrap bring")]
)
def test_no_cure_of_nothing_is_told(utilisation: float, words: str) -> None:
    (finding,) = _of(_rubbing(0.1, utilisation, 0.1), "generator")
    assert words in finding.wrong and "; 0 deg" not in finding.message


def test_the_wrap_that_is_told_meets_the_layouts_own_limit() -> None:
    """0.6 of the grip where 0.5 is allowed: within a tenth of it there is a caution, so 0.6 x 1.1 / 0.5 of the wrap."""
    given = replace(_rubbing(0.1, 0.6, 0.1), limits={"max_slip_use": {"generator": 0.5}})
    (finding,) = _of(given, "generator")
    wrap = float(np.degrees(operation(given).running.loop.wrap[..., 4].mean()))
    assert f"; {np.ceil(wrap * 0.32):.0f} deg more wrap brings it to 0.45" in finding.message


def test_of_a_slipping_pulley_the_wrap_that_just_holds_is_told() -> None:
    """Use u at wrap w asks for w u to hold: grip goes with wrap (Euler)."""
    given = _rubbing(0.1, 1.2, 0.1)
    (finding,) = _of(given, "generator")
    wrap = float(np.degrees(operation(given).running.loop.wrap[..., 4].mean()))
    assert finding.wrong.endswith(f"; {np.ceil(wrap * 0.2):.0f} deg more wrap stops it")


def test_what_slips_dry_is_told_the_wrap_that_holds_wet_too() -> None:
    """1.05 of its grip dry, 1.2 wet: a twentieth of the wrap more holds dry alone, a fifth wet as well (Euler)."""
    given = _rubbing(1.05, 1.2, 0.1)
    (finding,) = _of(given, "generator")
    wrap = float(np.degrees(operation(given).running.loop.wrap[..., 4].mean()))
    assert "slips dry at " in finding.wrong
    assert finding.wrong.endswith(f"; {np.ceil(wrap * 0.2):.0f} deg more wrap stops it, wet too")
    (finding,) = _of(_rubbing(1.05, 240.0 / wrap + 0.1, 0.1), "generator")
    assert "more wrap stops it" not in finding.wrong and finding.advice.endswith("more wrap alone will not do")


@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_wrap_is_advised_as_far_as_a_belt_can_be_led(over: float) -> None:
    """A use u over 1 just holds at wrap w u, for grip goes with wrap (Euler); 240 deg: common practice, no source."""
    wrap = float(np.degrees(operation(seven(loads=ONE_LOAD)).running.loop.wrap[..., 4].mean()))
    (finding,) = _of(_rubbing(0.1, (240.0 + over) / wrap, 0.1), "generator")
    assert finding.advice == (
        "more wrap, or more tension" if over < 0.0 else "more tension, or less load; more wrap alone will not do"
    )
    assert ("deg more wrap stops it" in finding.wrong) == (over < 0.0)


def test_steady_slip_is_named_before_slip_on_revs() -> None:
    slipping = with_belt(_revving(5000.0, 0.05), friction=Friction(0.05, 0.05, 0.05))
    for name in ("crank", "generator"):
        assert [(f.check, f.severity) for f in _of(slipping, name)] == [(SLIP.name, "problem")]


def _notes(given: Layout) -> list[str]:
    found = SLIP_ON_REVS.of_operation(operation(given))
    assert {f.severity for f in found} <= {"note"} and {f.check for f in found} <= {SLIP_ON_REVS.name}
    return [f.message for f in found]


def test_revving_that_is_not_judged_is_said_with_its_key() -> None:
    (note,) = _notes(seven(loads=ONE_LOAD))
    assert "not judged" in note and "engine.rev_up_rpm_per_s" in note
    assert _notes(seven(loads={})) == []  # nothing about slip is judged there, and that is said already


def test_usual_inertias_that_stand_in_are_named() -> None:
    """A role without a usual inertia is named as not counted; what the file gives, and idlers, are not named."""
    given = with_pulley(_revving(500.0, 0.003), "cooling", role="air_compressor")
    (note,) = _notes(given)
    assert "(kg m2) are assumed: pump 0.0023, steering 0.002;" in note
    assert "no usual inertia, so not counted: cooling: give" in note and "generator" not in note
    for name in ("pump", "steering", "cooling"):
        given = with_pulley(given, name, inertia_kgm2=0.001)
    assert _notes(given) == []


def test_a_grip_just_beyond_slipping_is_not_told_as_all_of_it() -> None:
    """To two digits 1.004 would be 1.00, which is no more than there is."""
    (finding,) = _of(_rubbing(0.1, 1.004, 0.1), "generator")
    assert "slips wet" in finding.message and "It uses 1.004 of its grip" in finding.message

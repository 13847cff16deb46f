"""The drive over its speeds, duties and conditions: loads, use, acceleration, friction band of the arm."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from beltplan.drive.belt import Friction
from beltplan.drive.inertias import USUAL_KGM2
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.loads import Load, TorqueLoad, usual_loads
from beltplan.drive.mechanics import DAMPING
from beltplan.drive.operation import Operation, duties_of, operation_of, speeds_rpm, why_not_judged
from beltplan.drive.pulleys import Role
from beltplan.drive.route import route_of
from tests.drive.drives import fixed, with_belt, with_pulley
from tests.drive.drives import on_slide as slide_of_two
from tests.drive.loaded_drives import ENGINE, SLIDE_SPRING, on_slide, operation, seven
from tests.for_each import for_each

DUTIES = {"all on": ("pump", "generator", "steering", "cooling"), "bare": ("pump",), "nothing": ()}
INERTIA, REV_UP = 0.004, 3000.0


def test_at_least_a_hundred_speeds_with_cruise_among_them() -> None:
    rpm = speeds_rpm(750.0, 2222.0, 5500.0)
    assert len(rpm) >= 100 and rpm[0] == 750.0 and rpm[-1] == 5500.0 and 2222.0 in rpm
    assert (np.diff(rpm) > 0.0).all()
    assert len(speeds_rpm(750.0, 750.0, 5500.0)) == len(speeds_rpm(750.0, None, 5500.0))


def test_duties_switch_loads() -> None:
    run = operation(seven(duties=DUTIES))
    assert run.duties == ("all on", "bare", "nothing")
    taken = run.running.torque_Nm[..., 1:] != 0.0
    names = [p.name for p in run.route.pulleys[1:]]
    for loads, acts in zip(DUTIES.values(), taken.all(axis=1), strict=True):
        assert {name for name, on in zip(names, acts, strict=True) if on} == set(loads)
    assert run.utilisation[:, 2].max() == 0.0
    assert run.carries_load and not operation(seven(loads={})).carries_load


def test_without_duties_all_loads_act() -> None:
    assert list(duties_of(seven()).values()) == [("pump", "generator", "steering", "cooling")]


def with_usual(**more: Any) -> Layout:
    usual = usual_loads()["steering_pump"]
    return with_pulley(seven(**more), "steering", load=usual.load, usual_load=usual)


def test_usual_loads_come_with_two_duties_and_ease_in_the_second() -> None:
    """90 bar hard over and 10 straight: common practice, no source; what is stated stays."""
    run = operation(with_usual())
    assert run.duties == ("everything on", "cruising")
    names = [p.name for p in run.route.pulleys]
    for name, share in {"steering": 10.0 / 90.0, "pump": 1.0, "generator": 1.0, "cooling": 1.0}.items():
        everything, cruising = run.running.torque_Nm[..., names.index(name)]
        assert (everything > 0.0).all()
        np.testing.assert_allclose(cruising / everything, share)


def test_duties_of_the_layout_win_and_usual_loads_ease_in_one_called_cruising() -> None:
    run = operation(with_usual(duties={"parking": ("steering",), "cruising": ("steering", "pump")}))
    assert run.duties == ("parking", "cruising")
    steering = run.running.torque_Nm[..., [p.name for p in run.route.pulleys].index("steering")]
    np.testing.assert_allclose(steering[1] / steering[0], 10.0 / 90.0)


def test_power_of_the_driver() -> None:
    """14 Nm on a shaft that turns (170 + 4) / (120 + 4) as fast as the driver; pitch diameters, ISO 9981:2020, 5.4."""
    run = operation(seven(loads={"cooling": TorqueLoad(14.0)}))
    expected = 14.0 * run.driver_rpm * 174.0 / 124.0 * 2.0 * np.pi / 60.0 / 1000.0
    np.testing.assert_allclose(run.driver_power_kW[0], expected, rtol=1e-9)


def test_wet_use_over_dry_use_is_the_ratio_of_frictions() -> None:
    given = with_belt(seven(), friction=Friction(dry=0.9, wet=0.54))
    dry, wet, _ = operation(given).utilisation
    np.testing.assert_allclose(wet, dry * 0.9 / 0.54, rtol=1e-12)


@pytest.mark.parametrize("used", [0.99, 1.01])
def test_edge_of_slip_in_a_whole_drive(used: float) -> None:
    """Euler turned round: with the friction that the worst pulley needs, it just slips; a hundredth either side."""
    dry = operation(with_belt(seven(), friction=Friction(dry=1.0))).utilisation[0].max()
    edge = operation(with_belt(seven(), friction=Friction(dry=float(dry) / used))).utilisation[0].max()
    assert float(edge) == pytest.approx(used, rel=1e-9)


@for_each(
    (with_belt(seven(), length_mm=900.0), "does not fit"),
    (seven(belt="6PL"), "stiffness_N"),
    (seven(engine=Engine(idle_rpm=750.0)), "max_rpm"),
    (fixed(), "no adjuster sets the tension"),
)
def test_what_cannot_be_judged_is_said(given: Layout, words: str) -> None:
    if given.belt.profile.name == "PL":
        given = with_belt(given, back_over_rim_mm=3.0)
    route = route_of(given)
    assert words in (why_not_judged(route) or "")
    assert operation_of(route) is None


def test_a_stretch_belt_that_fits_is_judged_without_an_adjuster() -> None:
    """Hooke: 50 N a rib when measured, and 168 kN for what the path of 600 + 100 pi mm draws it out."""
    belt = with_belt(fixed(), length_mm=905.0, stretch_fit=(0.005, 0.015), stiffness_N=168_000.0)
    stretched = replace(belt, engine=ENGINE)
    run = operation_of(route_of(stretched))
    assert why_not_judged(route_of(stretched)) is None and run is not None
    expected = 300.0 + 168_000.0 * ((600.0 + 100.0 * np.pi) / 905.0 - 1.0)
    np.testing.assert_allclose(run.stopped.total_N, expected)


def test_loads_count_only_where_no_span_hangs_slack() -> None:
    """Between locked centres m v^2 takes tension off: slow enough all is tight. Where nothing ever is, all counts."""
    loads: dict[str, Load] = {"cooling": TorqueLoad(45.0)}
    run = operation(on_slide(tension_N=300.0, loads=loads))
    tight = np.asarray((run.running.tractive_N > 0.0).all(axis=-1))
    assert 0 < tight.sum() < tight.size
    np.testing.assert_array_equal(run.tight, tight)
    assert not run.hub_size_N[~tight].any()
    slack = operation(on_slide(tension_N=300.0, loads={"cooling": TorqueLoad(200.0)}))
    assert not (slack.running.tractive_N > 0.0).all(axis=-1).any() and slack.tight.all()


def _reving(**more: Any) -> Operation:
    """Only the generator has an inertia."""
    given = seven(engine=replace(ENGINE, rev_up_rpm_per_s=REV_UP))
    for pulley in given.routed:
        given = with_pulley(given, pulley.name, inertia_kgm2=0.0)
    return operation(with_pulley(given, "generator", **{"inertia_kgm2": INERTIA, **more}))


@pytest.mark.parametrize(("way", "sign"), [(0, 1), (1, -1)])
def test_inertia_adds_j_alpha_with_the_sign_of_the_change(way: int, sign: int) -> None:
    """Newton: J alpha, alpha the engine's times the ratio of pitch diameters, (170 + 4) / (60 + 4)."""
    steady = _reving()
    changed = steady.revving
    assert changed is not None
    extra = changed[0].torque_Nm[way] - steady.running.torque_Nm
    alpha = REV_UP * 2.0 * np.pi / 60.0 * 174.0 / 64.0
    index = [p.name for p in steady.route.pulleys].index("generator")
    np.testing.assert_allclose(extra[..., index], sign * INERTIA * alpha, rtol=1e-9)
    others = np.delete(extra, [0, index], axis=-1)
    np.testing.assert_allclose(others, 0.0, atol=1e-12)
    np.testing.assert_allclose(extra[..., 0], -sign * INERTIA * alpha * 174.0 / 64.0, rtol=1e-9)


def test_usual_inertia_of_its_role_stands_in() -> None:
    """0.0035 kg m2 for an alternator, within the range (up to 0.0042) of a 2008 industry training text."""
    given = seven(engine=replace(ENGINE, rev_up_rpm_per_s=REV_UP))
    changed, own = operation(given).revving, operation(with_pulley(given, "generator", inertia_kgm2=0.0035))
    same = own.revving
    assert changed is not None and same is not None
    np.testing.assert_array_equal(changed[0].torque_Nm, same[0].torque_Nm)
    extra = changed[0].torque_Nm[0] - own.running.torque_Nm
    assert extra[0, 0, 4] == pytest.approx(0.0035 * REV_UP * 2.0 * np.pi / 60.0 * 174.0 / 64.0)


def test_revving_up_uses_more_grip_of_the_loaded_pulley() -> None:
    steady = _reving()
    changed = steady.revving
    assert changed is not None
    index = [p.name for p in steady.route.pulleys].index("generator")
    assert (changed[1][:, 0, ..., index] > steady.utilisation[..., index]).all()


def test_one_way_pulley_carries_no_braking_torque() -> None:
    """6 Nm of load against 3.4 Nm of inertia: with 1 Nm of load it would drive the belt; a one-way pulley lets go."""
    for one_way, expected in ((False, 1.0 - INERTIA * REV_UP * 2.0 * np.pi / 60.0 * 174.0 / 64.0), (True, 0.0)):
        changed = _reving(load=TorqueLoad(1.0), one_way=one_way).revving
        assert changed is not None
        np.testing.assert_allclose(changed[0].torque_Nm[1, ..., 4], expected, rtol=1e-9, atol=1e-12)
    pushed = _reving(load=TorqueLoad(1.0), one_way=True).revving
    assert pushed is not None and (pushed[0].torque_Nm[0, ..., 4] > 1.0).all()


def test_without_inertia_or_speed_of_change_nothing_is_said() -> None:
    assert _reving(inertia_kgm2=0.0).revving is None
    assert operation(with_pulley(seven(), "generator", inertia_kgm2=INERTIA)).revving is None


@for_each(("crank", False), ("tensioner", True), ("cooling", True))
def test_the_drivers_own_inertia_loads_no_belt_and_every_other_does(name: str, counts: bool) -> None:
    run = operation(with_pulley(_reving(inertia_kgm2=0.0).route.layout, name, inertia_kgm2=INERTIA))
    assert (run.revving is not None) is counts


def test_the_highest_utilisation_is_reached_and_never_passed() -> None:
    run = _reving()
    assert run.revving is not None
    every = np.concatenate((run.utilisation[:, None], run.revving[1]), axis=1)
    assert (every <= run.highest_utilisation[:, None, None, None]).all()
    assert (every == run.highest_utilisation[:, None, None, None]).any(axis=(1, 2, 3)).all()
    steady = operation(seven())
    assert steady.revving is None and steady.highest_utilisation.shape == (3, 7)
    assert (steady.utilisation == steady.highest_utilisation[:, None, None]).any(axis=(1, 2)).all()


def test_a_load_or_an_inertia_alone_asks_for_grip() -> None:
    """The loaded pulley beside the driver counts as any other."""
    bare = replace(slide_of_two(tension_N=600.0), engine=replace(ENGINE, rev_up_rpm_per_s=REV_UP))
    bare = with_pulley(with_pulley(bare, "crank", inertia_kgm2=0.0), "generator", inertia_kgm2=0.0)
    loaded = operation(with_pulley(bare, "generator", load=TorqueLoad(0.5)))
    heavy = operation(with_pulley(bare, "generator", inertia_kgm2=INERTIA))
    assert (loaded.carries_load, loaded.judges_grip) == (True, True)
    assert (heavy.carries_load, heavy.judges_grip) == (False, True)
    assert not operation(bare).judges_grip


def test_band_of_the_arms_friction() -> None:
    """Friction of 15 % either way moves the tension by about as much, a little less for the belt's stretch.

    That stands in where nothing is read: by the published ratio 2 (A - B) / (A + B) of the forces up and down (US
    patent 5,362,280, abstract) a damping of 20 to 40 % (common practice, no source) is 10 to 20 % of the middle either
    way.
    """
    run = operation(seven())
    up, down = 1.0 + DAMPING, 1.0 - DAMPING
    assert 0.2 <= 2.0 * (up - down) / (up + down) <= 0.4
    band, middle = run.spring_band_N, float(run.stopped.tractive_N[1])
    assert band is not None
    assert 0.825 * middle < band[0] < 0.90 * middle
    assert 1.10 * middle < band[1] < 1.175 * middle


def test_locked_adjuster_has_no_band() -> None:
    assert operation(on_slide(tension_N=600.0)).spring_band_N is None
    assert operation(on_slide(spring=SLIDE_SPRING)).spring_band_N is not None


def test_usual_inertias_lie_in_their_published_ranges() -> None:
    """A 2008 industry training text, from memory; what has no range there is frozen, our own."""
    ranges: dict[Role, tuple[float, float]] = {
        "alternator": (0.0, 0.0042), "air_conditioning": (0.0023, 0.0029), "steering_pump": (0.0018, 0.0023),
        "fan": (0.0, 0.058),
    }  # fmt: skip
    for role, (low, high) in ranges.items():
        assert low < USUAL_KGM2[role] < high
    assert (USUAL_KGM2["water_pump"], USUAL_KGM2["idler"], USUAL_KGM2["tensioner"]) == (0.0023, 0.0004, 0.0004)

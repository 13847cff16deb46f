"""The usable travel: its ends against exact places, scipy, and the numbers of the manual's example."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.differentiate import derivative
from scipy.optimize import brentq

from beltplan.drive import travel
from beltplan.drive.fit import Window, setting_for, window_of
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Adjuster, Pulley, Slide, Track
from beltplan.drive.travel import Circuit, Travel, circuit_of, place_of, travel_of
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import length_by_motion, overlap
from beltplan.geometry.pieces import Pieces, pieces_of
from beltplan.geometry.vectors import Floats
from tests.drive.drives import arm, fixed, layout, on_slide, pulley, railcar, with_pulley
from tests.for_each import for_each


def _travel(given: Layout) -> tuple[Circuit, Travel]:
    circuit = circuit_of(given)
    travel = travel_of(circuit)
    assert travel is not None
    return circuit, travel


def _window(given: Layout) -> tuple[Circuit, Travel, Window[float]]:
    circuit, travel = _travel(given)
    return circuit, travel, window_of(given, circuit, travel).single


def _hung(adjuster: Adjuster, on_back: bool = False) -> Layout:
    """Two pulleys of 100 mm 400 mm apart and a third, 80 mm, on an adjuster; clockwise, so over the top first."""
    third = Pulley("jockey", "tensioner", 80.0, adjuster=adjuster, belt_side="back" if on_back else "ribbed")
    two = [pulley("crank", 0, 0, 100, role="crankshaft"), pulley("pump", 400, 0, 100, role="water_pump")]
    return layout([two[0], third, two[1]] if on_back else [*two, third])


def test_window_of_the_manuals_example() -> None:
    """Path 1672 to 1718 mm over the travel: recomputed independently of this program, to the mm."""
    _, travel, window = _window(railcar())
    assert round(window.shortest) == 1672
    assert round(window.longest) == 1718
    assert np.degrees([travel.short, travel.long]) == pytest.approx([265.0, 300.0])
    assert travel.whole
    assert travel.at_nominal


@for_each((245.0, (225.0, 270.0)), (290.0, (320.0, 270.0)), (269.999, (225.0, 270.0)))
def test_dead_point_by_symmetry(at_deg: float, ends_deg: tuple[float, float]) -> None:
    """Arm hung on the axis of symmetry of two equal pulleys: the path is longest straight down, at 270 deg."""
    swing = arm((200.0, -60.0), 90.0, (225.0, 320.0), at_rad=float(np.radians(at_deg)))
    _, travel = _travel(_hung(swing))
    assert np.degrees([travel.short, travel.long]) == pytest.approx(ends_deg, abs=1e-6)
    assert travel.turns_back and travel.fails_at == ()
    assert not travel.whole
    low, high = sorted((travel.short, travel.long))
    assert low <= np.radians(at_deg) <= high


def test_dead_point_against_scipy() -> None:
    """Where the numeric slope of the length is zero, by scipy's brentq on central differences."""
    swing = arm((-150.0, 215.0), 85.0, (200.0, 340.0), at_rad=float(np.radians(285.0)))
    circuit, travel = _travel(with_pulley(railcar(), "tensioner", adjuster=swing))

    def slope(setting: float) -> float:
        ends = circuit.loop_at(np.array([setting - 1e-4, setting + 1e-4])).length
        return float(ends[1] - ends[0])

    assert travel.short == pytest.approx(brentq(slope, 3.5, 4.0, xtol=1e-12), abs=1e-6)
    assert travel.long == pytest.approx(np.radians(340.0))


def test_dead_point_on_a_slide() -> None:
    """A slide square to the axis of symmetry: the path is shortest in the middle."""
    _, travel = _travel(_hung(Slide((120.0, -150.0), (280.0, -150.0), at=0.3)))
    assert travel.short == pytest.approx(80.0, abs=1e-6)
    assert travel.long == 0.0
    assert travel.position(40.0) == pytest.approx(0.5)


def test_path_on_part_of_the_travel_only() -> None:
    """A smooth pulley lowered on the upper span: contact from y = 50 + 40 + 2.2 mm on, by plain geometry."""
    _, travel, window = _window(_hung(Slide((200.0, 130.0), (200.0, 50.0), at=0.9), on_back=True))
    assert travel.short == pytest.approx(130.0 - 92.2, abs=1e-6)
    assert window.shortest == pytest.approx(800.0 + 100.0 * np.pi, abs=1e-5)
    assert travel.long == 80.0
    assert not travel.turns_back and len(travel.fails_at) == 1
    assert travel.at_nominal


def test_a_belt_that_cannot_pass_between_two_pulleys_in_mid_travel_cuts_it() -> None:
    """From rib to back the belt needs both radii of its line; the rims never touch. By the law of cosines."""
    swing = arm((-210.0, 153.0), 82.0, (-48.0, 13.0), at_rad=float(np.radians(-20.0)))
    crank, guide = pulley("crank", 0, 0, 140, role="crankshaft"), pulley("guide", -78, 76, 61.3)
    jockey = Pulley("jockey", "tensioner", 76.0, adjuster=swing, belt_side="back")
    circuit, travel = _travel(layout([crank, guide, jockey, pulley("pump", -187, 297, 125)]))
    apart, radii = np.hypot(132.0, -77.0), circuit.radius[1] + circuit.radius[2]
    half = np.arccos((82.0**2 + apart**2 - radii**2) / (2.0 * 82.0 * apart))
    assert travel.low == pytest.approx(np.arctan2(-77.0, 132.0) + half, abs=1e-8)
    assert travel.low_lost and np.degrees(travel.high) == pytest.approx(13.0)


def test_nearest_sound_part_where_the_nominal_setting_has_no_path() -> None:
    _, travel = _travel(_hung(Slide((200.0, 130.0), (200.0, 50.0), at=0.1), on_back=True))
    assert travel.short == pytest.approx(130.0 - 92.2, abs=1e-6)
    assert not travel.at_nominal


def test_a_sound_part_shorter_than_the_sampling_is_found_round_the_nominal_setting() -> None:
    """Rims meet at 99.615 mm and the slide ends 0.02 mm beyond: a ten-thousandth of its travel."""
    _, travel = _travel(on_slide((-100.365, 0.0), (99.635, 0.0), at=0.99995))
    assert travel.short == pytest.approx(199.98, abs=1e-6)
    assert travel.long == pytest.approx(200.0)


def test_no_travel_without_an_adjuster_or_without_any_path() -> None:
    assert travel_of(circuit_of(fixed())) is None
    assert travel_of(circuit_of(on_slide((10.0, 0.0), (50.0, 0.0)))) is None


@pytest.mark.parametrize("backward", [False, True])
def test_stops_may_be_listed_either_way(backward: bool) -> None:
    stops = (300.0, 265.0) if backward else (265.0, 300.0)
    _, travel = _travel(with_pulley(railcar(), "tensioner", adjuster=arm((-150.0, 215.0), 85.0, stops)))
    assert np.degrees([travel.short, travel.long]) == pytest.approx([265.0, 300.0])


def test_stops_past_a_whole_turn() -> None:
    swing = arm((-150.0, 215.0), 85.0, (625.0, 660.0))
    _, travel, window = _window(with_pulley(railcar(), "tensioner", adjuster=swing))
    assert window.shortest == pytest.approx(_window(railcar())[2].shortest)
    assert np.degrees(travel.short) == pytest.approx(625.0)


def test_position_runs_from_the_short_to_the_long_stop() -> None:
    _, travel = _travel(railcar())
    assert [travel.position(s) for s in (travel.short, travel.long)] == [0.0, 1.0]
    assert travel.position(np.radians(285.0)) == pytest.approx(20.0 / 35.0)


DRIVES = {
    "arm": railcar(),
    "slide": on_slide(),
    "slide listed backward": on_slide((360.0, 0.0), (300.0, 0.0)),
    "up to a dead point": _hung(arm((200.0, -60.0), 90.0, (225.0, 320.0), at_rad=float(np.radians(245.0)))),
    "on the back from first contact": _hung(Slide((200.0, 130.0), (200.0, 50.0)), on_back=True),
}


@for_each(*DRIVES.values(), ids=list(DRIVES))
def test_setting_for_gives_back_the_length(given: Layout) -> None:
    circuit, travel, window = _window(given)
    wanted = np.linspace(window.shortest, window.longest, 101)
    setting = setting_for(circuit, travel, window, wanted)
    np.testing.assert_allclose(circuit.loop_at(setting).length, wanted, rtol=0.0, atol=1e-9)
    assert (np.diff([travel.position(s) for s in setting]) > 0.0).all()


@pytest.mark.parametrize("given", [DRIVES["arm"], DRIVES["slide"]], ids=["arm", "slide"])
def test_setting_for_gives_back_the_setting(given: Layout) -> None:
    circuit, travel, window = _window(given)
    setting = np.linspace(travel.short, travel.long, 57)
    found = setting_for(circuit, travel, window, circuit.loop_at(setting).length)
    np.testing.assert_allclose(found, setting, atol=1e-9)


def test_lengths_outside_the_window_give_the_nearer_end() -> None:
    circuit, travel, window = _window(railcar())
    found = setting_for(circuit, travel, window, np.array([100.0, 9000.0]))
    np.testing.assert_allclose(found, [travel.short, travel.long], atol=1e-9)


def test_no_lengths_give_no_settings() -> None:
    circuit, travel, window = _window(railcar())
    assert setting_for(circuit, travel, window, np.array([])).shape == (0,)


def test_slide_of_two_equal_pulleys_is_half_the_change_of_length() -> None:
    circuit, travel, window = _window(on_slide())
    assert window.shortest == pytest.approx(600.0 + 100.0 * np.pi)
    found = setting_for(circuit, travel, window, window.shortest + np.array([30.0, 90.0]))
    np.testing.assert_allclose(found, [15.0, 45.0])


# Pulleys in the order that the belt passes them, and the loop for any setting.


def test_starts_at_the_driver_wherever_the_list_starts() -> None:
    given = replace(railcar(), route=("guide", "generator", "crank", "tensioner", "pump"))
    assert [p.name for p in circuit_of(given).pulleys] == ["crank", "tensioner", "pump", "guide", "generator"]
    assert [p.name for p in circuit_of(given, reverse=True).pulleys] == [
        "crank", "generator", "guide", "pump", "tensioner"
    ]  # fmt: skip


def test_arrays_follow_the_order() -> None:
    circuit = circuit_of(railcar())
    assert circuit.moving == 1
    np.testing.assert_allclose(circuit.radius, [95.0, 36.0 + 2.2, 65.0, 38.0 + 2.2, 30.0])
    np.testing.assert_allclose(circuit.rim, [94.8075, 36.0, 64.8075, 38.0, 29.8075])
    assert circuit.sense.tolist() == [-1.0, 1.0, -1.0, 1.0, -1.0]
    assert circuit.turning == -1


def test_only_the_adjusted_pulley_moves() -> None:
    circuit = circuit_of(railcar())
    centre = circuit.centre_at(np.radians([270.0, 360.0]))
    np.testing.assert_allclose(centre[:, 1], [[-150.0, 130.0], [-65.0, 215.0]])
    assert (centre[0] == centre[1]).all(axis=-1).tolist() == [True, False, True, True, True]
    assert circuit.loop_at(np.zeros((2, 3))).length.shape == (2, 3)


def test_without_an_adjuster_any_setting_will_do() -> None:
    circuit = circuit_of(fixed())
    assert circuit.adjuster is None
    np.testing.assert_allclose(circuit.loop_at(np.array([0.0, 5.0])).length, 600.0 + 100.0 * np.pi)
    assert circuit.slope_at(np.array([0.0, 5.0])).tolist() == [0.0, 0.0]


def test_slope_against_scipy() -> None:
    circuit = circuit_of(railcar())
    for setting in np.radians([266.0, 280.0, 299.0]):
        found = derivative(lambda s: circuit.loop_at(s).length, setting, initial_step=0.01, order=8, maxiter=1)
        assert float(circuit.slope_at(setting)) == pytest.approx(float(found.df), abs=1e-6)


def test_rims_may_touch_but_not_overlap() -> None:
    """Rims of 100 mm effective pulleys are 99.615 mm: the path is there for any distance beyond that."""
    circuit = circuit_of(on_slide((99.0, 0.0), (101.0, 0.0)))
    assert circuit.sound_at(np.array([0.0, 0.6, 0.615, 0.616, 2.0])).tolist() == [False, False, True, True, True]


def test_a_path_that_misses_a_pulley_is_not_sound() -> None:
    away = with_pulley(railcar(), "guide", at_mm=(0.0, 420.0))
    assert circuit_of(railcar()).sound_at(np.array(4.97))
    assert not circuit_of(away).sound_at(np.array(4.97))


def test_place_of_an_adjusted_pulley_is_its_nominal_one() -> None:
    given = railcar()
    arm = given.pulleys["tensioner"].adjuster
    assert arm is not None
    assert place_of(given.pulleys["tensioner"]) == pytest.approx(tuple(arm.track.centre_at(np.radians(285.0))))
    assert place_of(given.pulleys["pump"]) == (-190.0, 300.0)


def test_a_pulley_of_no_place_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="nowhere"):
        place_of(replace(pulley("nowhere", 0, 0, 50), at_mm=None))


def _many(count: int) -> tuple[Circuit, list[Circuit]]:
    """Layouts with every place, radius and arm a little off, as one circuit and one by one; some without a path."""
    given, rng = circuit_of(railcar()), np.random.default_rng(11)
    track = given.track
    assert track is not None
    places = [at + rng.normal(0.0, 45.0, (count, 2)) for at in given.centre]
    radius, rim = (part[:, None] + rng.normal(0.0, 6.0, (len(part), count)) for part in (given.radius, given.rim))
    origin, lever = track.origin + rng.normal(0.0, 12.0, (count, 2)), track.lever + rng.normal(0.0, 5.0, count)
    arms = Track(origin, lever, None, track.travel, track.nominal)
    places[1] = arms.centre_at(arms.nominal)
    every = replace(given, base=pieces_of(places, radius, given.sense), rim=rim, track=arms)
    return every, [every.picked(np.arange(count) == k) for k in range(count)]


def test_many_at_once_or_one_by_one() -> None:
    """Law: a circuit over many layouts has the lengths, slopes and sound paths of each, piece by piece or whole."""
    every, alone = _many(80)
    setting = np.radians([262.0, 280.0, 300.0, 330.0])
    loops = [one.loop_at(setting) for one in alone]
    np.testing.assert_allclose(every.path_at(setting[:, None]).length, np.stack([loop.length for loop in loops], -1))
    motions = [one.track.motion_at(setting) for one in alone if one.track is not None]
    slopes = np.stack(
        [
            length_by_motion(loop.direction[..., 0, :], loop.direction[..., 1, :], by)
            for loop, by in zip(loops, motions, strict=True)
        ],
        axis=-1,
    )
    np.testing.assert_allclose(every.slope_at(setting[:, None]), slopes, atol=1e-9)
    apart = [~(overlap(one.centre_at(setting), one.rim.T)[0] > travel.TOUCHING_MM).any(axis=-1) for one in alone]
    sound = np.stack([is_sound(loop, -1.0) & clear for loop, clear in zip(loops, apart, strict=True)], axis=-1)
    np.testing.assert_array_equal(every.sound_at(setting[:, None]), sound)
    assert 40 < sound.sum() < 280


def test_rims_that_are_far_apart_in_every_layout_are_not_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """One couple of the ten comes together, in some of the layouts (own bound on how many are looked at)."""
    given, looked, real = circuit_of(railcar()), list[tuple[int, int]](), Circuit.rim_gap

    def counted(own: Circuit, path: Pieces, first: int, second: int) -> Floats:
        looked.append((first, second))
        return real(own, path, first, second)

    monkeypatch.setattr(Circuit, "rim_gap", counted)
    step = np.linspace(0.0, 1.0, 300)[:, None] * (given.centre[3] - given.centre[4])
    many = given.moved({4: given.centre[4] + step})
    depth, _ = overlap(many.centre_at(given.nominal), given.rim)
    np.testing.assert_array_equal(many.rims_apart(many.base), ~(depth > travel.TOUCHING_MM).any(axis=-1))
    assert 0 < many.rims_apart(many.base).sum() < 300
    assert len(set(looked)) <= 4

"""Pulleys in the order that the belt passes them, and the loop for any setting."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.differentiate import derivative

from beltplan.drive import travel
from beltplan.drive.pulleys import Track
from beltplan.drive.travel import Circuit, circuit_of, place_of
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import Pieces, length_by_motion, overlap, pieces_of
from beltplan.geometry.vectors import Floats
from tests.drive.drives import fixed, on_slide, pulley, railcar, with_pulley


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

"""Pulleys in the order that the belt passes them, and the loop for any setting."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.differentiate import derivative

from beltplan.drive.travel import circuit_of, place_of
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
    assert place_of(given.pulleys["tensioner"]) == pytest.approx(tuple(arm.centre_at(np.radians(285.0))))
    assert place_of(given.pulleys["pump"]) == (-190.0, 300.0)


def test_a_pulley_of_no_place_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="nowhere"):
        place_of(replace(pulley("nowhere", 0, 0, 50), at_mm=None))

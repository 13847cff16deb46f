"""Plane vectors against numpy's own linear algebra and complex numbers."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.geometry.vectors import TOUCHING_RAD, TURN, cross, dot, from_angle, left_normal, norm, turned

ANGLES = st.floats(-20.0, 20.0)


def test_products_against_linear_algebra() -> None:
    a, b = np.random.default_rng(1).normal(size=(2, 50, 2))
    np.testing.assert_allclose(cross(a, b), np.linalg.det(np.stack((a, b), axis=-1)), atol=1e-13)
    np.testing.assert_allclose(dot(a, b), np.einsum("ij,ij->i", a, b), atol=1e-14)
    np.testing.assert_allclose(norm(a), np.linalg.norm(a, axis=-1))


def test_left_normal_is_times_i() -> None:
    a = np.random.default_rng(2).normal(size=(50, 2))
    turned_by_i = (a[:, 0] + 1j * a[:, 1]) * 1j
    np.testing.assert_array_equal(left_normal(a), np.stack((turned_by_i.real, turned_by_i.imag), axis=-1))


def test_left_normal_of_one_vector_in_four() -> None:
    """Vectors 64 bytes apart: numpy 2.4 negates them wrong where its output is given and has gaps too."""
    every = np.arange(8000.0).reshape(1000, 4, 2)
    for i in range(4):
        np.testing.assert_array_equal(left_normal(every[:, i]), left_normal(every)[:, i])
        np.testing.assert_array_equal(left_normal(every[:, i])[:, 0], -every[:, i, 1])


@given(ANGLES, st.floats(1e-6, TURN - 1e-6), st.sampled_from([1.0, -1.0]))
def test_turned_gives_back_the_sweep(first: float, sweep: float, sense: float) -> None:
    a, b = from_angle(np.array(first)), from_angle(np.array(first + sense * sweep))
    assert float(turned(a, b, np.array(sense))) == pytest.approx(sweep, abs=1e-12)


@given(ANGLES, st.floats(-0.9 * TOUCHING_RAD, 0.0))
def test_a_sweep_just_under_nothing_is_no_sweep(first: float, sweep: float) -> None:
    a, b = from_angle(np.array(first)), from_angle(np.array(first + sweep))
    assert float(turned(a, b, np.array(1.0))) < 2e-15


def test_a_sweep_further_under_nothing_is_nearly_a_whole_turn() -> None:
    a, b = from_angle(np.array(0.0)), from_angle(np.array(-3.0 * TOUCHING_RAD))
    assert float(turned(a, b, np.array(1.0))) == pytest.approx(TURN - 3.0 * TOUCHING_RAD, abs=1e-14)


def test_half_a_turn_either_way() -> None:
    a = from_angle(np.linspace(0.0, 6.0, 40))
    for sense in (1.0, -1.0):
        np.testing.assert_allclose(turned(a, -a, np.full(40, sense)), np.pi, rtol=1e-15)

"""All mirror images of generic networks, against every choice of sides laid by circles and polished by scipy."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest
from scipy.optimize import least_squares

from beltplan.geometry.vectors import Floats, cross, norm
from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.gross_errors import NO_WORSE
from beltplan.measure.network import surveyed
from beltplan.measure.readings import Direction, Measured
from beltplan.measure.solutions import is_as_seen, solutions_of
from tests.for_each import for_each
from tests.measure.drives import (
    PLACES,
    Pair,
    Places,
    every_pair,
    levelled,
    measured_of,
    scattered,
    shot,
    slanted_sight,
    taped,
    turned_sight,
)
from tests.measure.networks import solved_at


def _generic(rng: np.random.Generator, points: int, more: int, sd_mm: float) -> tuple[Places, list[Pair], Measured]:
    """Each point tied to two drawn from those before it, and some bars more; read with noise."""
    places = levelled(scattered(rng, points))
    names = list(places)
    pairs = [(names[0], names[1])]
    for i in range(2, points):
        first, second = _well_tied(rng, np.array(list(places.values())), i)
        pairs += [(names[first], names[i]), (names[second], names[i])]
    rest = [pair for pair in every_pair(places) if pair not in pairs]
    pairs += [rest[i] for i in rng.permutation(len(rest))[:more]]
    tapes = taped(places, pairs, rng, sd_mm)
    return places, pairs, measured_of(places, tapes, level=(names[0], names[1]))


def _well_tied(rng: np.random.Generator, at: Floats, i: int) -> tuple[int, int]:
    """Two points before the i-th, drawn till it lies 25 mm off their line."""
    for _ in range(50):
        first, second = sorted(int(each) for each in rng.permutation(i)[:2])
        along = at[second] - at[first]
        if abs(cross(along, at[i] - at[first])) > 25.0 * norm(along):
            break
    return first, second


def _by_force(measured: Measured) -> list[tuple[float, Floats]]:
    """Every choice of a side for each point after the second, polished by scipy; those that differ, the best first."""
    number = {name: i for i, name in enumerate(measured.points)}
    tapes = [(number[t.first], number[t.second], t.value_mm, t.sd_mm) for t in measured.distances]

    def misfit(x: Floats) -> Floats:
        at = np.concatenate(([0.0], x[:1], x[1::2])) + 1j * np.concatenate(([0.0, 0.0], x[2::2]))
        return np.array([(abs(at[j] - at[i]) - value) / deviation for i, j, value, deviation in tapes])

    found: list[tuple[float, Floats]] = []
    for sides in product((-1.0, 1.0), repeat=len(number) - 2):
        at = np.zeros(len(number), dtype=complex)
        at[1] = tapes[0][2]
        for i in range(2, len(number)):
            (a, _, r, _), (b, _, s, _) = (tape for tape in tapes[: 2 * len(number) - 3] if tape[1] == i)
            apart = abs(at[b] - at[a])
            along = (apart**2 + r**2 - s**2) / (2.0 * apart)
            across = sides[i - 2] * np.sqrt(max(r**2 - along**2, 0.0))
            at[i] = at[a] + (at[b] - at[a]) / apart * complex(along, across)
        start = np.concatenate(([at[1].real], np.column_stack((at[2:].real, at[2:].imag)).reshape(-1)))
        end = least_squares(misfit, start, xtol=1e-12, ftol=1e-12, gtol=1e-12)
        places = np.concatenate(([0.0, 0.0, end.x[0], 0.0], end.x[1:])).reshape(-1, 2)
        if all(norm(places - other).max() > 1.0 for _, other in found):
            found.append((2.0 * float(end.cost), places))
    return sorted(found, key=lambda each: each[0])


@for_each((4, 0), (5, 0), (6, 0), (5, 1), (6, 2))
def test_every_mirror_image_is_found(points: int, more: int) -> None:
    """Those within the limit of the best, no one less, and 2^(points - 2) where no bar is spare.

    Fewer where a point comes to lie in line with its two ties in some image: there circles only just miss.
    """
    full = 0
    for seed in range(6):
        _, _, measured = _generic(np.random.default_rng(100 * points + 10 * more + seed), points, more, 0.2)
        expected = _by_force(measured)
        limit = expected[0][0] + NO_WORSE
        wanted = [places for cost, places in expected if cost <= limit]
        ends = solutions_of(measured, surveyed(measured))
        found = [end.places for end in ends if end.cost <= limit]
        assert len(found) == len(wanted), seed
        for places in wanted:
            assert min(norm(places - other).max() for other in found) < 0.05, seed
        assert len(wanted) <= 2 ** (points - 2)
        full += len(wanted) == 2 ** (points - 2)
    assert full >= (4 if more == 0 else 0)


def test_the_best_comes_first_and_each_once() -> None:
    for seed in range(5):
        _, _, measured = _generic(np.random.default_rng(seed), 6, 2, 1.0)
        ends = solutions_of(measured, surveyed(measured))
        costs = [round(end.cost, 6) for end in ends]
        assert costs == sorted(costs)
        for one, other in combinations(ends, 2):
            assert norm(one.places - other.places).max() > 0.05


def test_what_lies_as_seen_comes_first_whatever_it_costs() -> None:
    """Four points, two bars to spare: seen on the wrong side the best is no longer the first."""
    rng = np.random.default_rng(4)
    places, _, plain = _generic(rng, 5, 1, 0.2)
    name, y = max(((n, at[1]) for n, at in places.items()), key=lambda each: abs(each[1]))
    for side in ("above", "below"):
        seen = measured_of(places, plain.distances, level=plain.level, sides={name: (side,)})
        first = solutions_of(seen, surveyed(seen))[0]
        at = first.places[list(places).index(name)]
        assert (at[1] > 0.0) == (side == "above") and abs(at[1]) > 0.5 * abs(y)
        assert is_as_seen(seen, first.places)


def test_of_equals_the_one_with_more_points_above() -> None:
    places = {name: at for name, at in PLACES.items() if name != "compressor"} | {"low": (200.0, -90.0)}
    names = list(places)
    pairs = every_pair(places)
    ends = solutions_of(m := measured_of(places, taped(places, pairs, None)), surveyed(m))
    assert ends[0].cost == pytest.approx(0.0, abs=1e-9) and ends[1].cost == pytest.approx(0.0, abs=1e-9)
    assert [int(np.count_nonzero(end.places[:, 1] > 1e-6)) for end in ends[:2]] == sorted(
        (int(np.count_nonzero(end.places[:, 1] > 1e-6)) for end in ends[:2]), reverse=True
    )
    assert len(names) == 6


@for_each("left", "right", "above", "below")
def test_sides_at_both_ends_of_nought(side: SeenSide) -> None:
    given = Measured("m", ("a", "b"), "a", directions=(Direction("a", "b", 0.0, 0.01),), sides={"b": (side,)})
    signs = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "above": (0.0, 1.0), "below": (0.0, -1.0)}
    for factor in (1e-3, -1e-3):
        places = np.array(((0.0, 0.0), factor * np.array(signs[side])))
        assert is_as_seen(given, places) == (factor > 0.0)
    assert not is_as_seen(given, np.zeros((2, 2)))


def test_a_photo_at_an_angle_settles_the_mirror_image() -> None:
    """It was taken from the front: the layout whose photo would have to be taken from behind is no solution."""
    for seed in range(5):
        rng = np.random.default_rng(seed)
        tapes = taped(PLACES, every_pair(PLACES)[:12], rng)
        without = measured_of(PLACES, tapes)
        photo = shot(PLACES, PLACES, slanted_sight, rng, "slanted")
        with_photo = measured_of(PLACES, tapes, images=(photo,))
        costs = [end.cost for end in solutions_of(without, surveyed(without))[:2]]
        assert costs[1] == pytest.approx(costs[0], abs=1e-6)
        first, *rest = solutions_of(with_photo, surveyed(with_photo))
        assert first.cost < 40.0
        assert all(other.cost > first.cost + NO_WORSE for other in rest)
        turned = turned_sight(1.0, -np.arctan2(300.0, 235.0), (0.0, 0.0))(np.array(list(PLACES.values())))
        assert norm(first.places - turned).max() < 6.0


def test_a_negative_radius_is_turned_right_side_out() -> None:
    """A rim point at -r is that at r on the other side: a start of wrong sign ends at the true radius."""
    photo = shot(
        PLACES, ["crank", "alternator"], turned_sight(2.0, 0.2, (300.0, 300.0)), None, rims={"pump": (65.0, 5)}
    )
    measured = measured_of(PLACES, taped(PLACES, every_pair(PLACES), None), images=(photo,))
    survey = surveyed(measured)
    start = survey.unknowns_at(np.array(list(PLACES.values())))
    start[12] *= -1.0
    start[survey.images[0].rim[2]] += np.pi
    end = solved_at(survey, start)
    assert end.at.unknowns[12] == pytest.approx(65.0, abs=1e-3)
    assert end.cost == pytest.approx(0.0, abs=1e-6)


def test_degrees_count_readings_left() -> None:
    measured = measured_of(PLACES, taped(PLACES, every_pair(PLACES), np.random.default_rng(1)))
    survey = surveyed(measured)
    end = solutions_of(measured, survey)[0]
    assert end.degrees == 15 - 9
    assert solved_at(survey, end.at.unknowns, (0, 5)).degrees == 13 - 9
    assert solved_at(survey, end.at.unknowns, (0, 5)).cost < end.cost

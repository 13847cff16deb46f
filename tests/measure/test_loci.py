"""Circles and lines on which a point may lie, and their crossings against shapely, a general geometry library."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from beltplan.geometry.vectors import Floats, from_angle, norm
from beltplan.measure.multilateration import Circle, Locus, Spot, Straight, crossings, loci_of
from beltplan.measure.network import Network
from beltplan.measure.sightings import NO_RADIUS, Directions, Distances, Offsets, Sheet, mapped

SEED = 71
SIDES = 4000
"""Corners of the polygon that stands for a circle in shapely: it cuts in by 0.0001 mm, crossings may be off by more."""


def _shape(locus: Circle | Straight) -> shapely.Geometry:
    if isinstance(locus, Circle):
        return shapely.LinearRing(
            locus.centre + locus.radius_mm * from_angle(np.linspace(0.0, 2.0 * np.pi, SIDES)[:-1])
        )
    return shapely.LineString((locus.through - 2e3 * locus.along, locus.through + 2e3 * locus.along))


def _drawn(rng: np.random.Generator, circle: bool) -> Circle | Straight:
    at = rng.uniform(-200.0, 200.0, 2)
    if circle:
        return Circle(at, float(rng.uniform(50.0, 300.0)))
    return Straight(at, from_angle(np.asarray(rng.uniform(0.0, 6.0))), False)


@pytest.mark.parametrize("kinds", [(True, True), (True, False), (False, True), (False, False)])
def test_crossings_as_shapely(rng: np.random.Generator, kinds: tuple[bool, bool]) -> None:
    """Both crossings of circles that cross, none forgotten and none made up; grazing ones within 0.05 mm."""
    crossed = 0
    for _ in range(60):
        first, second = _drawn(rng, kinds[0]), _drawn(rng, kinds[1])
        expected = shapely.get_coordinates(shapely.intersection(_shape(first), _shape(second)))
        found = crossings([first, second])
        if len(expected):
            crossed += 1
            far = norm(expected[:, None] - found[None])
            assert far.min(axis=1).max() < 0.05 and far.min(axis=0).max() < 0.05
    assert crossed >= 20


@pytest.mark.parametrize(
    ("centre", "radius", "expected"),
    [((100.0, 0.0), 30.0, 60.0), ((100.0, 0.0), 170.0, -60.0), ((10.0, 0.0), 20.0, 40.0)],
)
def test_circles_that_do_not_touch_give_the_place_between(centre: Floats, radius: float, expected: float) -> None:
    """Round nought with 50: apart, within the other, holding it. The gap's middle lies on the line of centres."""
    found = crossings([Circle(np.zeros(2), 50.0), Circle(np.array(centre), radius)])
    one, other = Circle(np.zeros(2), 50.0).miss_mm(found), Circle(np.array(centre), radius).miss_mm(found)
    assert found.shape == (1, 2)
    assert found[0] == pytest.approx((expected, 0.0))
    assert one == pytest.approx(other)


def test_touching_circles_at_both_sides_of_the_limit() -> None:
    for radius, count in ((49.99, 1), (50.01, 2)):
        assert len(crossings([Circle(np.zeros(2), 50.0), Circle(np.array((100.0, 0.0)), radius)])) == count


def test_a_line_that_misses_a_circle_gives_the_nearest_place() -> None:
    found = crossings([Straight(np.array((0.0, 70.0)), np.array((1.0, 0.0)), False), Circle(np.zeros(2), 50.0)])
    np.testing.assert_allclose(found, ((0.0, 70.0), (0.0, 70.0)), atol=1e-9)


def test_a_ray_crosses_a_circle_ahead_only() -> None:
    """From its middle ahead alone, from outside twice, from outside away from it: both, rather than nothing."""
    along, circle = np.array((1.0, 0.0)), Circle(np.zeros(2), 50.0)
    np.testing.assert_allclose(crossings([Straight(np.zeros(2), along, True), circle]), ((50.0, 0.0),))
    assert len(crossings([Straight(np.array((-90.0, 0.0)), along, True), circle])) == 2
    assert len(crossings([Straight(np.array((90.0, 0.0)), along, True), circle])) == 2


def test_no_crossing_of_one_centre_or_of_parallels() -> None:
    along = from_angle(np.asarray(1.0))
    assert len(crossings([Circle(np.zeros(2), 50.0), Circle(np.zeros(2), 50.0)])) == 0
    assert len(crossings([Straight(np.zeros(2), along, False), Straight(np.ones(2), -along, True)])) == 0
    assert crossings([]).shape == (0, 2)


def test_misses_as_shapely(rng: np.random.Generator) -> None:
    places = rng.uniform(-300.0, 300.0, (50, 2))
    for circle in (True, False):
        locus = _drawn(rng, circle)
        expected = shapely.distance(_shape(locus), shapely.points(places))
        np.testing.assert_allclose(locus.miss_mm(places), expected, atol=1e-3)
    at = np.array((3.0, 4.0))
    ray = Straight(at, np.array((1.0, 0.0)), True)
    expected = shapely.distance(shapely.LineString((at, (1e4, at[1]))), shapely.points(places))
    np.testing.assert_allclose(ray.miss_mm(places), expected, atol=1e-9)
    np.testing.assert_allclose(Spot(at).miss_mm(places), np.hypot(*(places - at).T), atol=1e-9)


def _tape(value: float, rims: float) -> Distances:
    radius = np.array([NO_RADIUS]) if rims == 0.0 else np.array([8])
    return Distances(
        np.array([0]), np.array([2]), np.array([value]), np.ones(1), np.array([rims]), radius, radius + (rims != 0.0)
    )


def _loci(places: Floats, point: int, *kinds: object) -> list[Locus]:
    given = Network(4, 0, np.array((30.0, 20.0)), kinds, 10)  # type: ignore[arg-type]
    return loci_of(given, places, point)


OPEN = np.array(((0.0, 0.0), (100.0, 0.0), (np.nan, np.nan), (np.nan, np.nan)))


@pytest.mark.parametrize(("rims", "radius"), [(0.0, 200.0), (1.0, 150.0), (-1.0, 250.0)])
def test_a_distance_is_a_circle_between_centres(rims: float, radius: float) -> None:
    """200 mm over rims of 30 and 20 mm radius leave 150 for the centres, as a gap 250."""
    (found,) = _loci(OPEN, 2, _tape(200.0, rims))
    assert isinstance(found, Circle) and found.radius_mm == pytest.approx(radius)
    assert found.centre.tolist() == [0.0, 0.0]


def test_what_is_not_laid_gives_no_locus() -> None:
    assert _loci(OPEN, 3, _tape(200.0, 0.0)) == []
    assert _loci(np.full((4, 2), np.nan), 2, _tape(200.0, 0.0)) == []


def test_every_kind_holds_the_true_place_from_either_end() -> None:
    """A point laid by its own measurements, read exactly, lies on each locus; so does the other end."""
    true = np.array(((0.0, 0.0), (100.0, 0.0), (140.0, -170.0), (60.0, 90.0)))
    ends, numbers = (np.array([0]), np.array([2])), np.array((1.5, 0.5, 40.0, 50.0))
    none = np.zeros(0, dtype=int)
    step, seen = true[2] - true[0], mapped("similar", 1.0, numbers, true)[0]
    kinds = (
        Distances(*ends, norm(step)[None], np.ones(1), np.zeros(1), np.array([NO_RADIUS]), np.array([NO_RADIUS])),
        Directions(*ends, np.arctan2(step[1:], step[:1]), np.ones(1)),
        Offsets(*ends, np.array([0]), step[:1], np.ones(1)),
        Offsets(*ends, np.array([1]), step[1:], np.ones(1)),
        Sheet("similar", 1.0, np.arange(4), seen, none, none, np.zeros((0, 2)), 1.0, 10, 14),
    )  # fmt: skip
    for point in (2, 0):
        places = true.copy()
        places[point] = np.nan
        found = _loci(places, point, *kinds)
        assert [type(each).__name__ for each in found] == ["Circle", "Straight", "Straight", "Straight", "Spot"]
        for locus in found:
            assert locus.miss_mm(true[point][None]) == pytest.approx([0.0], abs=1e-6)
        nearest = norm(crossings(found) - true[point]).min()
        assert nearest < 1e-6


def test_a_direction_is_a_ray_not_a_line() -> None:
    kind = Directions(np.array([0]), np.array([2]), np.array([0.0]), np.ones(1))
    (found,) = _loci(OPEN, 2, kind)
    assert found.miss_mm(np.array(((50.0, 0.0), (-50.0, 0.0)))) == pytest.approx([0.0, 50.0])


def test_a_place_on_the_horizon_of_a_photo_is_none() -> None:
    """On the horizon no place of the plane is seen: there is no locus, and no division by nought on the screen."""
    square = np.array(((0.0, 0.0), (300.0, 0.0), (300.0, 300.0), (0.0, 300.0), (np.nan, np.nan)))
    at = np.array(((0.0, 0.0), (300.0, 0.0), (200.0, 150.0), (100.0, 150.0), (150.0, 225.0)))
    none = np.zeros(0, dtype=int)
    sheet = Sheet("slanted", 1.0, np.arange(5), at, none, none, np.zeros((0, 2)), 1.0, 10, 18)
    found = loci_of(Network(5, 0, np.zeros(0), (sheet,), 18), square, 4)
    for locus in found:
        assert isinstance(locus, Spot) and np.isfinite(locus.at).all()
        assert np.abs(locus.at).max() > 1e6

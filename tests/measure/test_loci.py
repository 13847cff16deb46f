"""Circles and lines on which a point may lie, and their crossings against shapely, a general geometry library."""

from collections.abc import Sequence

import numpy as np
import pytest
import shapely

from beltplan.geometry.vectors import Floats, from_angle, norm
from beltplan.measure.images import mapped
from beltplan.measure.loci import Chance, Circle, Curve, Loci, Straight
from beltplan.measure.readings import Between, Direction, Distance, Image, Offset, Reading
from beltplan.measure.starts import loci_of
from tests.for_each import for_each
from tests.measure.networks import image, network

SEED = 71
SIDES = 4000
"""Corners of the polygon that stands for a circle in shapely: it cuts in by 0.0001 mm, crossings may be off by more."""


def _shape(locus: Circle | Straight) -> shapely.Geometry:
    if isinstance(locus, Circle):
        return shapely.LinearRing(
            locus.centre + locus.radius_mm * from_angle(np.linspace(0.0, 2.0 * np.pi, SIDES)[:-1])
        )
    return shapely.LineString((locus.through - 2e3 * locus.along, locus.through + 2e3 * locus.along))


def _crossings(loci: Sequence[Curve]) -> Floats:
    return Loci(tuple(loci), ()).crossings()


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
        found = _crossings([first, second])
        if len(expected):
            crossed += 1
            far = norm(expected[:, None] - found[None])
            assert far.min(axis=1).max() < 0.05 and far.min(axis=0).max() < 0.05
    assert crossed >= 20


@for_each(((100.0, 0.0), 30.0, 60.0), ((100.0, 0.0), 170.0, -60.0), ((10.0, 0.0), 20.0, 40.0))
def test_circles_that_do_not_touch_give_the_place_between(centre: Floats, radius: float, expected: float) -> None:
    """Round nought with 50: apart, within the other, holding it. The gap's middle lies on the line of centres."""
    found = _crossings([Circle(np.zeros(2), 50.0), Circle(np.array(centre), radius)])
    one, other = Circle(np.zeros(2), 50.0).miss_mm(found), Circle(np.array(centre), radius).miss_mm(found)
    assert found.shape == (1, 2)
    assert found[0] == pytest.approx((expected, 0.0))
    assert one == pytest.approx(other)


def test_touching_circles_at_both_sides_of_the_limit() -> None:
    for radius, count in ((49.99, 1), (50.01, 2)):
        assert len(_crossings([Circle(np.zeros(2), 50.0), Circle(np.array((100.0, 0.0)), radius)])) == count


def test_a_line_that_misses_a_circle_gives_the_nearest_place() -> None:
    found = _crossings([Straight(np.array((0.0, 70.0)), np.array((1.0, 0.0)), False), Circle(np.zeros(2), 50.0)])
    np.testing.assert_allclose(found, ((0.0, 70.0), (0.0, 70.0)), atol=1e-9)


def test_a_ray_crosses_a_circle_ahead_only() -> None:
    """From its middle ahead alone, from outside twice, from outside away from it: both, rather than nothing."""
    along, circle = np.array((1.0, 0.0)), Circle(np.zeros(2), 50.0)
    np.testing.assert_allclose(_crossings([Straight(np.zeros(2), along, True), circle]), ((50.0, 0.0),))
    assert len(_crossings([Straight(np.array((-90.0, 0.0)), along, True), circle])) == 2
    assert len(_crossings([Straight(np.array((90.0, 0.0)), along, True), circle])) == 2


def test_no_crossing_of_one_centre_or_of_parallels() -> None:
    along = from_angle(np.asarray(1.0))
    assert len(_crossings([Circle(np.zeros(2), 50.0), Circle(np.zeros(2), 50.0)])) == 0
    assert len(_crossings([Straight(np.zeros(2), along, False), Straight(np.ones(2), -along, True)])) == 0
    assert _crossings([]).shape == (0, 2)


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
    np.testing.assert_allclose(Circle(at, 0.0).miss_mm(places), np.hypot(*(places - at).T), atol=1e-9)


def _tape(value: float, between: Between) -> tuple[Distance]:
    return (Distance("0", "2", value, 1.0, between),)


def _loci(places: Floats, point: int, *kinds: Sequence[Reading], images: tuple[Image, ...] = ()) -> tuple[Curve, ...]:
    given = network(len(places), *kinds, images=images, radii_mm={0: 30.0, 2: 20.0})
    return loci_of(given, places, point).every


OPEN = np.array(((0.0, 0.0), (100.0, 0.0), (np.nan, np.nan), (np.nan, np.nan)))


@for_each(("centres", 200.0), ("outside", 150.0), ("gap", 250.0))
def test_a_distance_is_a_circle_between_centres(between: Between, radius: float) -> None:
    """200 mm over rims of 30 and 20 mm radius leave 150 for the centres, as a gap 250."""
    (found,) = _loci(OPEN, 2, _tape(200.0, between))
    assert isinstance(found, Circle) and found.radius_mm == pytest.approx(radius)
    assert found.centre.tolist() == [0.0, 0.0]


def test_what_is_not_laid_gives_no_locus() -> None:
    assert _loci(OPEN, 3, _tape(200.0, "centres")) == ()
    assert _loci(np.full((4, 2), np.nan), 2, _tape(200.0, "centres")) == ()


def test_every_kind_holds_the_true_place_from_either_end() -> None:
    """A point laid by its own measurements, read exactly, lies on each locus; so does the other end."""
    true = np.array(((0.0, 0.0), (100.0, 0.0), (140.0, -170.0), (60.0, 90.0)))
    step, seen = true[2] - true[0], mapped("similar", 1.0, np.array((1.5, 0.5, 40.0, 50.0)), true)[0]
    kinds = (
        (Distance("0", "2", float(norm(step)), 1.0),),
        (Direction("0", "2", float(np.arctan2(step[1], step[0])), 1.0),),
        (Offset("2", "0", "x", float(step[0]), 1.0), Offset("2", "0", "y", float(step[1]), 1.0)),
    )
    for point in (2, 0):
        places = true.copy()
        places[point] = np.nan
        found = _loci(places, point, *kinds, images=(image("similar", seen),))
        assert [type(each).__name__ for each in found] == ["Circle", "Straight", "Straight", "Straight", "Circle"]
        for locus in found:
            assert locus.miss_mm(true[point][None]) == pytest.approx([0.0], abs=1e-6)
        nearest = norm(_crossings(found) - true[point]).min()
        assert nearest < 1e-6


def test_a_direction_is_a_ray_not_a_line() -> None:
    (found,) = _loci(OPEN, 2, (Direction("0", "2", 0.0, 1.0),))
    assert found.miss_mm(np.array(((50.0, 0.0), (-50.0, 0.0)))) == pytest.approx([0.0, 50.0])


def test_a_place_on_the_horizon_of_a_photo_is_none() -> None:
    """On the horizon no place of the plane is seen: there is no locus, and no division by nought on the screen."""
    square = np.array(((0.0, 0.0), (300.0, 0.0), (300.0, 300.0), (0.0, 300.0), (np.nan, np.nan)))
    at = np.array(((0.0, 0.0), (300.0, 0.0), (200.0, 150.0), (100.0, 150.0), (150.0, 225.0)))
    found = _loci(square, 4, images=(image("slanted", at),))
    for locus in found:
        assert isinstance(locus, Circle) and locus.radius_mm == 0.0 and np.isfinite(locus.centre).all()
        assert np.abs(locus.centre).max() > 1e6


def test_where_nothing_says_where_a_point_lies_it_is_drawn_anywhere(rng: np.random.Generator) -> None:
    """To all sides of the origin alike: of 400 the mean of each coordinate lies within 4 of its deviations of it."""
    drawn = np.array([Loci((), ()).drawn(Chance(rng, 0.0)) for _ in range(400)])
    assert (drawn.min(axis=0) < -300.0).all() and (drawn.max(axis=0) > 300.0).all()
    assert (np.abs(drawn.mean(axis=0)) < 4.0 * drawn.std(axis=0) / 20.0).all()

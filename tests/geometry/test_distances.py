"""Distances in plain numpy against shapely, a general-purpose geometry library, on random shapes."""

from __future__ import annotations

import numpy as np
import shapely

from beltplan.geometry.distances import (
    Band,
    arc_to_band,
    arc_to_point,
    arc_to_polygon,
    band_to_band,
    band_to_point,
    band_to_polygon,
    in_polygon,
    point_to_polygon,
)
from beltplan.geometry.pieces import Arc, FreeSpan
from beltplan.geometry.vectors import Floats, from_angle
from tests.geometry.drawn import arc_lines, span_bodies
from tests.geometry.random_loops import sound_mixed

COUNT = 400
BOX = np.array([(0.0, 0.0), (60.0, 0.0), (60.0, 25.0), (0.0, 25.0)])
BENT = np.array([(0.0, 0.0), (70.0, 5.0), (60.0, 60.0), (45.0, 15.0), (10.0, 30.0)])
"""Not convex."""
SEED = 11


def _bands(seed: int, count: int = COUNT) -> Band:
    rng = np.random.default_rng(seed)
    direction = from_angle(rng.uniform(0.0, 2.0 * np.pi, count))
    return Band(FreeSpan(rng.uniform(-100.0, 150.0, (count, 2)), direction, rng.uniform(20.0, 150.0, count)), 2.2, 2.3)


def _rectangles(band: Band) -> Floats:
    return np.asarray(shapely.polygons(np.moveaxis(band.ring, 0, -2)))


def _arcs(seed: int) -> Arc:
    rng = np.random.default_rng(seed)
    radius, sense = rng.uniform(20.0, 60.0, COUNT), rng.choice([-1.0, 1.0], COUNT)
    away = radius[:, None] * from_angle(rng.uniform(0.0, 2.0 * np.pi, COUNT))
    return Arc(rng.uniform(-100.0, 150.0, (COUNT, 2)), radius, sense, away, rng.uniform(0.05, 6.2, COUNT))


def _chains(arc: Arc) -> Floats:
    """Arcs as chains of 3000 chords: cut in by less than 0.0001 mm."""
    first = np.arctan2(arc.away[:, 1], arc.away[:, 0])
    angles = first[:, None] + (arc.sense * arc.wrap)[:, None] * np.linspace(0.0, 1.0, 3001)
    return np.asarray(shapely.linestrings(arc.centre[:, None] + arc.radius[:, None, None] * from_angle(angles)))


def test_points(rng: np.random.Generator) -> None:
    band, point = _bands(1), rng.uniform(-100.0, 150.0, (COUNT, 2))
    np.testing.assert_allclose(
        band_to_point(band, point), shapely.distance(_rectangles(band), shapely.points(point)), atol=1e-9
    )
    for corners in (BOX, BENT):
        shape = shapely.Polygon(corners)
        np.testing.assert_allclose(
            point_to_polygon(point, corners), shapely.distance(shapely.points(point), shape), atol=1e-9
        )
        np.testing.assert_array_equal(in_polygon(point, corners), shapely.contains(shape, shapely.points(point)))


def test_bands_against_polygons() -> None:
    band = _bands(2)
    for corners in (BOX, BENT, 12.0 * BOX - 300.0):
        expected = shapely.distance(_rectangles(band), shapely.Polygon(corners))
        np.testing.assert_allclose(band_to_polygon(band, corners), expected, atol=1e-9)
        assert (expected == 0.0).any()


def test_bands_against_bands_that_they_do_not_cross() -> None:
    first, second = _bands(3), _bands(4)
    own, other = _rectangles(first), _rectangles(second)
    apart = ~np.asarray(shapely.intersects(_lines(first), _lines(second)))
    assert 50 < apart.sum() < COUNT
    np.testing.assert_allclose(band_to_band(first, second)[apart], shapely.distance(own, other)[apart], atol=1e-9)


def _lines(band: Band) -> Floats:
    return np.asarray(shapely.linestrings(np.stack((band.span.start, band.span.end), axis=-2)))


def test_arcs(rng: np.random.Generator) -> None:
    arc, point, band = _arcs(5), rng.uniform(-100.0, 150.0, (COUNT, 2)), _bands(6)
    chains = _chains(arc)
    np.testing.assert_allclose(arc_to_point(arc, point), shapely.distance(chains, shapely.points(point)), atol=1e-3)
    expected = shapely.distance(chains, _rectangles(band))
    np.testing.assert_allclose(arc_to_band(arc, band), expected, atol=1e-3)
    assert (expected == 0.0).any()
    for corners in (BOX, BENT, 12.0 * BOX - 300.0):
        expected = shapely.distance(chains, shapely.Polygon(corners))
        np.testing.assert_allclose(arc_to_polygon(arc, corners), expected, atol=1e-3)
        assert (expected == 0.0).any()


def test_belts_on_real_loops() -> None:
    """Against the belt drawn by shapely from the loop: exactly on spans, to the sag of a chord on arcs."""
    loop = sound_mixed(7).where(np.arange(len(sound_mixed(7).radius)) < 40).loop
    bodies = np.asarray(span_bodies(loop, 2.2, 2.3))
    chains = np.asarray(arc_lines(loop, np.full(loop.span.shape[-1], 2.2)))
    for i, j in ((0, 2), (1, 3), (3, 5)):
        first, second = (
            Band(FreeSpan(loop.start[:, k], loop.direction[:, k], loop.span[:, k]), 2.3, 2.2) for k in (i, j)
        )
        np.testing.assert_allclose(band_to_band(first, second), shapely.distance(bodies[:, i], bodies[:, j]), atol=1e-9)
        arc = Arc(
            loop.centre[:, j],
            loop.radius[:, j],
            loop.sense[:, j],
            loop.arrival[:, j] - loop.centre[:, j],
            loop.wrap[:, j],
        )
        expected = shapely.distance(bodies[:, i], chains[:, j])
        np.testing.assert_allclose(arc_to_band(arc.raised(2.2), first), expected, atol=1e-3)

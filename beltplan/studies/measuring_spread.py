"""One deviation for each pulley that stands for how all places hang together, as a layout file can keep it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from beltplan.belts.adjusters import Slide
from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley
from beltplan.belts.route import Route, route_of
from beltplan.belts.routing import NoBeltPath
from beltplan.geometry.precision import without_motion
from beltplan.geometry.sensitivity import length_by_centre
from beltplan.geometry.vectors import Floats
from beltplan.studies.measuring import Measuring

LEAST_MM = 0.01


def points_of(pulley: Pulley) -> tuple[str, ...]:
    """Names of the points that were measured for a pulley: its centre, the pivot of its arm, the ends of its slide."""
    if pulley.adjuster is None:
        return (pulley.name,)
    return tuple(f"{pulley.name}.{end}" for end in pulley.adjuster.points)


def spread_of(found: Measuring, layout: Layout) -> Mapping[str, float]:
    """One standard deviation of the place of every pulley, mm, for errors taken as independent of one another.

    A turn or shift of the whole, which neither belt nor wraps mind, is taken out. Then all are scaled alike, so that
    the belt length at the design setting spreads as it does by the covariance of all places. layout: with the places
    found in it; where it has no belt path, nothing is scaled.
    Source: the scaling is our own choice.
    """
    measured = {pulley.name: points_of(pulley) for pulley in layout.pulleys.values()}
    apart = _apart(found, {point for points in measured.values() for point in points})
    variance = {
        name: float(np.mean([apart[point] for point in points]))
        for name, points in measured.items()
        if apart.keys() >= set(points)
    }
    every = {point: variance[name] for name in variance for point in measured[name]}
    scale = _scale(found, layout, every)
    return {name: max(LEAST_MM, scale * float(np.sqrt(each))) for name, each in variance.items()}


def _apart(found: Measuring, wanted: set[str]) -> dict[str, float]:
    """Variance of each wanted point by its name, mean of both coordinates, with shift and turn of them taken out, mm2.

    Marks do not count: the layout does not have them.
    """
    centres = [(i, centre) for i, centre in enumerate(found.centres) if centre.name in wanted]
    rows = np.array([(2 * i, 2 * i + 1) for i, _ in centres]).reshape(-1)
    places = np.array([(centre.x_mm, centre.y_mm) for _, centre in centres])
    variance = np.diagonal(without_motion(places, found.covariance_mm2[np.ix_(rows, rows)]))
    own = variance.reshape(-1, 2).mean(axis=1)
    return {centre.name: max(float(each), 0.0) for (_, centre), each in zip(centres, own, strict=True)}


def _scale(found: Measuring, layout: Layout, own: dict[str, float]) -> float:
    """own: variance of each point that counts, mm2."""
    try:
        slopes = _slopes(found, route_of(layout))
    except NoBeltPath:
        return 1.0
    flat = slopes.reshape(-1)
    really = float(flat @ found.covariance_mm2 @ flat)
    pairs = zip(found.centres, slopes, strict=True)
    apart = sum(own.get(centre.name, 0.0) * float(slope @ slope) for centre, slope in pairs)
    return float(np.sqrt(really / apart)) if really > 0.0 and apart > 0.0 else 1.0


def _slopes(found: Measuring, route: Route) -> Floats:
    """Change of the belt length at the design setting with every point, (n, 2) mm per mm."""
    adjuster = route.circuit.adjuster
    by_centre = length_by_centre(route.circuit.loop_at(0.0 if adjuster is None else adjuster.nominal))
    number = {centre.name: i for i, centre in enumerate(found.centres)}
    slopes = np.zeros((len(number), 2))
    for pulley, own in zip(route.pulleys, by_centre, strict=True):
        for name, share in zip(points_of(pulley), _shares(pulley), strict=True):
            if name in number:
                slopes[number[name]] += share * own
    return slopes


def _shares(pulley: Pulley) -> tuple[float, ...]:
    """How far a pulley's centre moves with each of its points."""
    if not isinstance(pulley.adjuster, Slide):
        return (1.0,)
    along = pulley.adjuster.nominal / pulley.adjuster.length_mm
    return (1.0 - along, along)

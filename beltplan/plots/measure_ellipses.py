"""The standard ellipses of a measured drive as drawn: never smaller than life, cut off at the drawing's edge."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.path import Path
from matplotlib.transforms import Bbox

from beltplan.geometry.vectors import TURN, Floats, from_angle
from beltplan.plots.measure_ground import at_of, geometry_box, is_loose
from beltplan.plots.scene import Box
from beltplan.studies.measuring import Measuring

ELLIPSE_PT = 26.0
"""Half the longest axis of the largest ellipse on paper, at most, where ellipses are drawn larger than life."""
GROWTH = 0.5
"""The drawing grows by this share of its longer side, at most, to show the ellipses whole."""
ELLIPSE_STEPS = 120


@dataclass(frozen=True, eq=False)
class Ellipses:
    """times: how many times larger than life, 1 or more. outlines: (n, 2) mm, by point. cut: those cut off."""

    times: float
    outlines: Mapping[str, Floats]
    cut: tuple[str, ...]


def drawing_box(found: Measuring) -> Box:
    """The box round all points, rims and mirror solutions, grown to hold the ellipses to scale as far as may be, mm."""
    box = geometry_box(found)
    x0, y0, x1, y1 = _grown(box, GROWTH * max(box[2] - box[0], box[3] - box[1]))
    outlines = [outline for name in _known(found) if (outline := ellipse_outline(found, name, 1.0)) is not None]
    every = np.concatenate((np.array(box).reshape(2, 2), *outlines))
    low, high = np.maximum(every.min(axis=0), (x0, y0)), np.minimum(every.max(axis=0), (x1, y1))
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def ellipses_of(found: Measuring, box: Box, unit_pt: float) -> Ellipses:
    """The ellipses in a drawing of that box. unit_pt: points on paper for one mm."""
    whole = {name: outline for name in _known(found) if (outline := ellipse_outline(found, name, 1.0)) is not None}
    times = enlargement(max((_reach(found, name, whole[name]) for name in whole), default=0.0), unit_pt)
    edge = _grown(box, ELLIPSE_PT / unit_pt)
    centres = {name: at_of(found, name) for name in whole}
    drawn = {name: centres[name] + times * (outline - centres[name]) for name, outline in whole.items()}
    cut = tuple(name for name, outline in drawn.items() if not _is_inside(outline, edge))
    return Ellipses(times, {**drawn, **{name: _cut_off(drawn[name], edge) for name in cut}}, cut)


def ellipse_outline(found: Measuring, name: str, times: float) -> Floats | None:
    """The outline of a place's standard ellipse, so many times larger, (n, 2) mm; None for an exact place."""
    values, axes = np.linalg.eigh(_covariance(found, name))
    if not values[-1] > 0.0:
        return None
    round_once = from_angle(np.linspace(0.0, TURN, ELLIPSE_STEPS, endpoint=False))
    half = times * np.sqrt(np.maximum(values, 0.0))
    outline: Floats = at_of(found, name) + (round_once * half) @ axes.T
    return outline


def enlargement(longest_mm: float, unit_pt: float) -> float:
    """How many times larger ellipses are drawn: 1, 2 or 5 times a power of ten, so that the largest can be seen.

    Never less than 1: a large error must not look smaller than a small one.
    """
    most = ELLIPSE_PT / (longest_mm * unit_pt) if longest_mm > 0.0 else 1.0
    if not most > 1.0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(most))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most * (1.0 + 1e-9))


def _known(found: Measuring) -> list[str]:
    return [centre.name for centre in found.centres if not is_loose(centre)]


def _covariance(found: Measuring, name: str) -> Floats:
    first = 2 * found.measured.points.index(name)
    return found.covariance_mm2[first : first + 2, first : first + 2]


def _reach(found: Measuring, name: str, outline: Floats) -> float:
    return float(np.hypot(*(outline - at_of(found, name)).T).max())


def _grown(box: Box, by: float) -> Box:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def _is_inside(outline: Floats, box: Box) -> bool:
    return bool(np.all(outline >= box[:2]) and np.all(outline <= box[2:]))


def _cut_off(outline: Floats, box: Box) -> Floats:
    """What lies in the box of an outline whose middle does, (n, 2)."""
    closed = Path(np.concatenate((outline, outline[:1])), closed=True)
    corners: Floats = np.asarray(closed.clip_to_bbox(Bbox.from_extents(*box)).vertices, dtype=float)
    return corners

"""The belt as it is drawn: a band of its real thickness, ribbed side dark and back light, with its way of travel."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from beltplan.belts.route import Route
from beltplan.geometry.loops import Loop
from beltplan.geometry.outline import arc_points, outline
from beltplan.geometry.vectors import Floats, norm
from beltplan.plots.palette import BELT_BACK, BELT_EDGE, BELT_RIBS, FOLLOWED_LINE, INK, PAPER
from beltplan.plots.scene import Item, Pen, Shape, Stroke, arrow_head

THINNEST_PT = 4.0
"""A belt thinner than this on paper is drawn this thick, so that its two sides can be told apart."""
ARROW_PT = 12.0
ARROW_TO_BAND = 2.0
"""The arrow of travel is at least this much longer than the band is thick, so that it stands out of it."""
EVERY_PT = 170.0
"""One arrow of travel for about this much strand."""


def reach_mm(route: Route, unit_pt: float) -> tuple[float, float]:
    """How far the drawn band stands over and under the followed line, mm."""
    belt = route.layout.belt
    growth = max(1.0, THINNEST_PT / (belt.profile.thickness_mm * unit_pt))
    return belt.outer_mm * growth, belt.inner_mm * growth


def arrow_mm(route: Route, unit_pt: float) -> float:
    """Length of an arrow of travel, mm."""
    return max(ARROW_PT / unit_pt, ARROW_TO_BAND * sum(reach_mm(route, unit_pt)))


def belt_items(route: Route, unit_pt: float) -> list[Item]:
    """The band, the followed line strand by strand and arc by arc, and the arrows of travel."""
    outer, inner = reach_mm(route, unit_pt)
    middle = 0.5 * (outer - inner)
    back, face, ribs = (_shifted(route, by) for by in (outer, middle, -inner))
    return [
        Shape((outline(back), outline(face)), BELT_BACK, name="belt back"),
        Shape((outline(face), outline(ribs)), BELT_RIBS, name="belt ribs"),
        Shape((outline(back),), pen=BELT_EDGE, name="belt edge"),
        Shape((outline(ribs),), pen=BELT_EDGE, name="belt edge"),
        *_followed_line(route),
        *_arrows(route, unit_pt, middle),
    ]


def _shifted(route: Route, by_mm: float) -> Loop:
    # A parallel of the path `by_mm` further out: same tangent directions, radii changed by the side the belt is on.
    loop = route.loop
    return replace(loop, radius=loop.radius + by_mm * loop.sense * route.circuit.turning)


def _followed_line(route: Route) -> list[Item]:
    loop = route.loop
    strands = [
        Stroke(np.stack((loop.start[i], loop.end[i])), FOLLOWED_LINE, f"strand {a.name} to {b.name}")
        for i, (a, b) in enumerate(route.strands)
    ]
    arcs = [Stroke(arc_points(loop, i), FOLLOWED_LINE, f"arc {p.name}") for i, p in enumerate(route.pulleys)]
    return [*strands, *arcs]


def _arrows(route: Route, unit_pt: float, middle: float) -> list[Item]:
    band = _shifted(route, middle)
    length = arrow_mm(route, unit_pt)
    longest = int(np.argmax(norm(band.end - band.start)))
    items: list[Item] = []
    for i, (a, b) in enumerate(route.strands):
        if band.span[i] > 2.2 * length or i == longest:
            name = f"travel {a.name} to {b.name}"
            items += [_arrow(band, i, share, length, name) for share in _shares(band, i, unit_pt)]
    return items


def _shares(band: Loop, index: int, unit_pt: float) -> Floats:
    count = max(1, round(float(band.span[index]) * unit_pt / EVERY_PT))
    return (np.arange(count) + 0.5) / count


def _arrow(band: Loop, index: int, share: float, length: float, name: str) -> Shape:
    along = band.direction[index]
    tip = band.start[index] + share * band.span[index] * along + 0.5 * length * along
    return Shape((arrow_head(tip, along, length),), INK, Pen(PAPER, 1.2), name=name)

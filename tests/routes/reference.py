"""Every route over a layout by trying everything: the reference for the search. Crossings are judged by shapely alone.

A simple closed curve makes one turn, the way that its inside lies (the turning theorem of plane curves, H. Hopf, 1935):
so `is_simple` and `is_ccw` of the drawn path answer for crossing and for turning.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, combinations, permutations, product

import numpy as np
import shapely

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Pulley, Side
from beltplan.drive.travel import circuit_of
from beltplan.geometry.loops import outline

SLACK_MM = 1e-6
Key = tuple[tuple[str, str], ...]


def key_of(pulleys: list[Pulley]) -> Key:
    """Names and sides from the driver on, the same for an order and its reverse."""
    first = next(i for i, pulley in enumerate(pulleys) if pulley.drives)
    round_it = [(pulley.name, pulley.belt_side) for pulley in pulleys[first:] + pulleys[:first]]
    return min(tuple(round_it), (round_it[0], *reversed(round_it[1:])))


def routes_by_trying(layout: Layout) -> set[Key]:
    """Every sound route, an order and its reverse counted once."""
    return {key_of(pulleys) for pulleys in every_choice(layout) if _sound(layout, pulleys)}


def every_choice(layout: Layout) -> Iterator[list[Pulley]]:
    """Every subset, order and choice of sides."""
    driver = layout.driver
    others = [pulley for pulley in layout.pulleys.values() if pulley is not driver]
    spare = [pulley for pulley in others if pulley.optional]
    subsets = chain.from_iterable(combinations(spare, count) for count in range(len(spare) + 1))
    for out in subsets:
        on = [pulley for pulley in others if pulley not in out]
        for order in permutations(on):
            for sides in product(*(_sides(layout, pulley) for pulley in order)):
                yield [driver, *(replace(p, belt_side=s) for p, s in zip(order, sides, strict=True))]


def _sides(layout: Layout, pulley: Pulley) -> list[Side]:
    """Grooves want the ribs; a demanded turning wants the side that turns so; else as written, or both."""
    demanded = pulley.turns in ("clockwise", "counterclockwise")
    sides: list[Side] = ["ribbed", "back"] if pulley.side_open or demanded else [pulley.belt_side]
    if pulley.grooves:
        sides = [side for side in sides if side == "ribbed"]
    if demanded:
        with_driver = layout.rotation == pulley.turns
        assert not layout.driver.on_back
        sides = [side for side in sides if (side == "ribbed") == with_driver]
    return sides


def _sound(layout: Layout, pulleys: list[Pulley]) -> bool:
    if len(pulleys) < 2:
        return False
    laid = replace(layout, pulleys={p.name: p for p in pulleys}, route=tuple(p.name for p in pulleys))
    circuit = circuit_of(laid)
    loop = circuit.loop_at(circuit.adjuster.nominal if circuit.adjuster is not None else 0.0)
    if not np.isfinite(loop.span).all():
        return False
    discs, rims = shapely.points(loop.centre), np.asarray(circuit.rim)
    touching = shapely.distance(discs[:, None], discs) < rims[:, None] + rims - SLACK_MM
    if np.triu(touching, 1).any():
        return False
    spans = shapely.linestrings(np.stack((loop.start, loop.end), axis=1))
    struck = shapely.distance(spans[:, None], discs) < rims - SLACK_MM
    own = np.eye(len(discs), dtype=bool)
    if (struck & ~own & ~np.roll(own, 1, axis=1)).any():
        return False
    ring = shapely.LinearRing(outline(loop, 0.02))
    return bool(ring.is_simple) and ring.is_ccw == (circuit.turning > 0)

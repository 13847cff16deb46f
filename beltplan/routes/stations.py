"""Which sides of the belt each pulley may have, and every closed route over these stations, grown a batch at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import get_args

import numpy as np

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Pulley, Side
from beltplan.drive.travel import TOUCHING_MM, place_of
from beltplan.drive.way_round import PathFault
from beltplan.geometry.crossing import is_sound, spans_cross
from beltplan.geometry.distances import Band, band_to_point
from beltplan.geometry.loops import close_loop, overlap, tangent
from beltplan.geometry.pieces import FreeSpan
from beltplan.geometry.vectors import Bools, Floats, Ints, left_normal, turned
from beltplan.progress import Progress, unseen


@dataclass(frozen=True, eq=False)
class Stations:
    """Every pulley on every side that it may have: s stations, the driver's the first; p pulleys.

    pulleys: of each station, on its side. of: (s) index of its pulley in `names`. centre: (s, 2) mm, an adjusted pulley
    at its nominal place; radius, rim: (s) mm; sense: (s). needed: (p) whether a pulley must be on the belt.
    """

    pulleys: tuple[Pulley, ...]
    names: tuple[str, ...]
    of: Ints
    centre: Floats
    radius: Floats
    rim: Floats
    sense: Floats
    needed: Bools
    turning: int


@dataclass(frozen=True, eq=False)
class Field:
    """What lies between stations. spans: (s, s), from the first to the second, NaN where there is no tangent.

    cuts: (s, s, s), whether that span cuts through the rim of a third station. clash: (s, s), whether two rims
    overlap. free: (s, s), whether a route may hold that span at all.
    """

    stations: Stations
    spans: FreeSpan
    cuts: Bools
    clash: Bools
    free: Bools


def allowed_sides(layout: Layout, pulley: Pulley) -> tuple[Side, ...]:
    """Sides that its work and its surface allow: no grooves on the back, nor a back of unknown height."""
    if pulley.drives:
        return (pulley.belt_side,)
    sides: tuple[Side, ...] = get_args(Side) if pulley.side_open else (pulley.belt_side,)
    if pulley.turns not in (None, "either"):
        with_the_loop = (pulley.turns == "counterclockwise") == (layout.loop_sense == 1)
        sides = ("ribbed" if with_the_loop else "back",)
    no_back = pulley.grooves is not None or layout.belt.back_mm is None
    return tuple(side for side in sides if not (side == "back" and no_back))


def stations_of(layout: Layout) -> Stations:
    named = sorted(layout.pulleys.values(), key=lambda pulley: not pulley.drives)
    each = [
        (i, replace(pulley, belt_side=side, side_open=False))
        for i, pulley in enumerate(named)
        for side in allowed_sides(layout, pulley)
    ]
    pulleys = tuple(pulley for _, pulley in each)
    return Stations(
        pulleys,
        tuple(pulley.name for pulley in named),
        np.array([i for i, _ in each]),
        np.array([place_of(pulley) for pulley in pulleys], dtype=float),
        np.array([pulley.line_radius_mm(layout.belt) for pulley in pulleys]),
        np.array([pulley.rim_radius_mm(layout.belt) for pulley in pulleys]),
        np.array([layout.sense_of(pulley) for pulley in pulleys], dtype=float),
        np.array([not pulley.optional for pulley in named]),
        layout.loop_sense,
    )


def field_of(stations: Stations) -> Field:
    """Lay every span from every station to every other, and see what it meets."""
    apart, centre = np.asarray(stations.of[:, None] != stations.of), stations.centre
    signed = stations.sense * stations.radius
    step = np.where(apart[..., None], centre - centre[:, None], np.nan)
    direction, length = tangent(step, signed[:, None] - signed)
    spans = FreeSpan(centre[:, None] - signed[:, None, None] * left_normal(direction), direction, length)
    clash = np.zeros(apart.shape, dtype=bool)
    depth, pairs = overlap(centre, stations.rim)
    for (i, j), deep in zip(pairs, depth, strict=True):
        clash[i, j] = clash[j, i] = deep > TOUCHING_MM
    clash &= apart
    # Of a span from i to j, station k counts where it is of a third pulley.
    third = apart[:, None, :] & apart[None, :, :]
    spread = FreeSpan(spans.start[:, :, None], spans.direction[:, :, None], spans.length[:, :, None])
    gap = band_to_point(Band(spread, 0.0, 0.0), centre)
    cuts = third & (gap < stations.rim - TOUCHING_MM)
    # A needed pulley that is cut on whichever side leaves no route for that span.
    barred = np.any([cuts[..., stations.of == i].all(axis=-1) for i in np.flatnonzero(stations.needed)], axis=0)
    return Field(stations, spans, cuts, clash, apart & ~clash & ~barred & np.isfinite(spans.length))


def impossible(layout: Layout) -> tuple[PathFault, ...]:
    return tuple(
        PathFault((pulley.name,), *_why_no_side(pulley))
        for pulley in layout.pulleys.values()
        if not allowed_sides(layout, pulley) and not pulley.optional
    )


def _why_no_side(pulley: Pulley) -> tuple[str, str]:
    must = f"{pulley.name} must turn {pulley.turns}, so it" if pulley.turns else pulley.name
    must += " runs on the belt's back"
    if pulley.grooves is not None:
        return f"{must}, but has {pulley.grooves} grooves", "a smooth face there, or another `turns`"
    return f"{must}, whose height is not known", "`back_over_rim_mm` of the belt, measured"


# Every closed route over a field of stations, grown pulley by pulley, a whole batch at once.

MOST_GROWING = 200_000
"""Part routes of one size that are followed: more than the 8! x 4 of nine pulleys with both sides of two open."""
BEAM_WIDTH = 4_000
"""So many are followed once there are more: half of them the shortest, half drawn by lot."""
SEED = 1
_CANDIDATES = 200_000
"""So many longer part routes are made at once: it bounds the memory."""
_COUPLES_AT_ONCE = 1_500_000
"""So many couples of pulleys are looked at at once in routes that close: it bounds the memory too."""


def grow(field: Field, kept: Ints, shown: Progress = unseen) -> tuple[tuple[Ints, ...], bool]:
    """Grow part routes from the driver; those that cross themselves or cut through a pulley on them are dropped.

    kept: (s) place of a station's pulley in the order to keep, -1 where it is free. shown: told the share of the
    pulleys that part routes hold. Returns the sound routes, one array (routes, pulleys) of stations for each number of
    pulleys, driver first, in the order of belt travel; and whether every part route was followed.
    """
    lot = np.random.default_rng(SEED)
    growing: Ints = np.zeros((1, 1), dtype=np.int16)
    found: list[Ints] = []
    exhaustive = True
    for size in range(2, len(field.stations.names) + 1):
        rows = max(1, _CANDIDATES // len(field.stations.of))
        parts = (growing[i : i + rows] for i in range(0, len(growing), rows))
        growing = np.concatenate([_one_more(field, part, kept) for part in parts])
        if not len(growing):
            break
        shown(size / len(field.stations.names))
        if len(growing) > max(BEAM_WIDTH, MOST_GROWING if exhaustive else 0):
            growing, exhaustive = _chosen(field, growing, lot), False
        found.append(_closed(field, growing))
    return tuple(found), exhaustive


def _one_more(field: Field, growing: Ints, kept: Ints) -> Ints:
    of = field.stations.of
    used = np.zeros((len(growing), len(field.stations.names)), dtype=bool)
    np.put_along_axis(used, of[growing], True, axis=1)
    row, station = np.nonzero(field.free[growing[:, -1]] & ~used[:, of])
    longer = np.concatenate([growing[row], station[:, None].astype(growing.dtype)], axis=1)
    newest, before = longer[:, -1:], longer[:, :-1]
    barred = field.clash[newest, before].any(axis=1)
    barred |= field.cuts[before[:, :-1], before[:, 1:], newest].any(axis=1)
    barred |= field.cuts[before[:, -1:], newest, before].any(axis=1)
    longer = longer[~barred]
    longer = longer[in_order(kept[longer])]
    return _uncrossed(field, longer)


def in_order(place: Ints) -> Bools:
    """Whether the kept pulleys stand in their order, either way round. place: (routes, pulleys), -1 where free."""
    falls, rises = np.zeros((2, len(place)), dtype=int)
    first, last = np.full((2, len(place)), -1)
    for now in place.T:
        met = now >= 0
        falls += met & (last > now)
        rises += met & (last >= 0) & (last < now)
        first = np.where(met & (first < 0), now, first)
        last = np.where(met, now, last)
    # Round the loop once, an order kept turns back once.
    return np.asarray((falls + (last > first) <= 1) | (rises + (last < first) <= 1))


def _uncrossed(field: Field, laid: Ints, closed: bool = False) -> Ints:
    """Those whose newest span crosses none before it. laid: stations in the order of travel, the newest span last.

    closed: the newest span ends where the first begins; these two are left to the test of the whole loop.
    """
    neighbour = laid.shape[1] - 3
    for i in range(neighbour, 0 if closed else -1, -1):
        first, second = laid[:, i], laid[:, i + 1]
        crossed = spans_cross(_span(field, first, second), _span(field, laid[:, -2], laid[:, -1]))
        if i == neighbour:
            # Spans of one pulley cross only where it is turned by more than half a turn.
            direction = field.spans.direction
            turn = turned(direction[first, second], direction[second, laid[:, -1]], field.stations.sense[second])
            crossed = crossed & (turn > np.pi)
        laid = laid[~crossed]
    return laid


def _span(field: Field, first: Ints, second: Ints) -> FreeSpan:
    spans = field.spans
    return FreeSpan(spans.start[first, second], spans.direction[first, second], spans.length[first, second])


def _closed(field: Field, growing: Ints) -> Ints:
    """The part routes that hold every needed pulley and close to a route."""
    stations = field.stations
    on = np.zeros((len(growing), len(stations.names)), dtype=bool)
    np.put_along_axis(on, stations.of[growing], True, axis=1)
    whole = growing[(on | ~stations.needed).all(axis=1) & field.free[growing[:, -1], 0]]
    home = np.zeros((len(whole), 1), dtype=whole.dtype)
    whole = _uncrossed(field, np.concatenate([whole, home], axis=1), closed=True)[:, :-1]
    rows = max(1, _COUPLES_AT_ONCE // whole.shape[1] ** 2)
    parts = (whole[i : i + rows] for i in range(0, len(whole), rows))
    return np.concatenate([whole[:0], *(part[are_routes(field, part)] for part in parts)])


def are_routes(field: Field, routes: Ints) -> Bools:
    """Whether routes are sound loops of free spans that cut through no pulley on them, (routes).

    routes: (routes, pulleys) stations in the order of travel.
    """
    stations, following = field.stations, np.roll(routes, -1, axis=1)
    clear = field.free[routes, following].all(axis=1)
    clear &= ~field.clash[routes[:, :, None], routes[:, None]].any(axis=(1, 2))
    clear &= ~field.cuts[routes[:, :, None], following[:, :, None], routes[:, None]].any(axis=(1, 2))
    loop = close_loop(stations.centre[routes], stations.radius[routes], stations.sense[routes])
    return np.asarray(clear & is_sound(loop, float(stations.turning)))


def _chosen(field: Field, growing: Ints, lot: np.random.Generator) -> Ints:
    """Half of the beam by the shortest spans so far, half by lot."""
    length = field.spans.length[growing[:, :-1], growing[:, 1:]].sum(axis=1)
    order = np.argsort(length, kind="stable")
    short, rest = order[: BEAM_WIDTH // 2], order[BEAM_WIDTH // 2 :]
    drawn = lot.choice(rest, BEAM_WIDTH - len(short), replace=False)
    return np.asarray(growing[np.sort(np.concatenate([short, drawn]))])

"""Very many changed paths at once: which are sound, how far each falls short, and which are worth judging."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.limits import Bound, demanded
from beltplan.checks.pulleys import (
    maximum_belt_speed,
    maximum_misalignment,
    maximum_rpm,
    minimum_rpm,
    minimum_wrap,
    misalignment_deg,
)
from beltplan.cure.changes import Change
from beltplan.drive.layout import Circle, Layout
from beltplan.drive.mechanics import CONDITIONS
from beltplan.drive.operation import Operation
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit
from beltplan.geometry.distances import Band, band_to_point, band_to_polygon, point_to_polygon
from beltplan.geometry.vectors import TURN, Floats, Ints, norm

_MOST_SHORT = 3.0
"""One thing counts for no more than this, so that a lost case hides no other."""


@dataclass(frozen=True, eq=False)
class Shortfall:
    """How far changed paths fall short; (N) each, infinite where there is no sound path.

    short: summed over wraps, speeds, planes and clearances, as shares of their limits. tight: the same with wraps that
    leave no caution, to tell apart those that fall short of nothing. length_mm: of the path, NaN where there is none.
    """

    short: Floats
    tight: Floats
    length_mm: Floats


@dataclass(frozen=True, eq=False)
class Needs:
    """What a changed path is screened by. wanted_rad: wrap that each pulley wants, for its role and against slip.

    ample_rad: the wrap that leaves no caution either.
    """

    layout: Layout
    wanted_rad: Mapping[str, float]
    ample_rad: Mapping[str, float]

    @property
    def against_cautions(self) -> Needs:
        """The same where cautions are what is to be cured."""
        return replace(self, wanted_rad=self.ample_rad)

    def shortfall(self, circuit: Circuit) -> Shortfall:
        """How far every path of a circuit falls short, (N), with the adjuster as it stands. No promise: the checks
        decide.
        """
        sound = np.array(np.broadcast_to(circuit.sound_at(circuit.nominal), circuit.shape or (1,)))
        short, tight, length = (np.full(sound.shape, value) for value in (np.inf, np.inf, np.nan))
        if sound.any():
            own = circuit.picked(sound)
            others = self._speeds(own) + self._clearances(own) + self._askew(own)
            short[sound] = others + self._wraps(own, self.wanted_rad)
            tight[sound] = others + self._wraps(own, self.ample_rad)
            length[sound] = own.base.length
        return Shortfall(short, tight, length)

    def _wraps(self, circuit: Circuit, wanted_rad: Mapping[str, float]) -> Floats:
        total = np.zeros(())
        for pulley, wrap in zip(circuit.pulleys, circuit.base.wrap, strict=True):
            wanted = wanted_rad.get(pulley.name)
            if wanted is None:
                bound = minimum_wrap(self.layout, pulley)
                wanted = (
                    0.0 if bound is None else np.radians(bound.ample if wanted_rad is self.ample_rad else bound.limit)
                )
            total = total + _missing(wrap, Bound("lower", float(wanted), "rad", ""))
        return total

    def _speeds(self, circuit: Circuit) -> Floats:
        engine, belt, total = self.layout.engine, self.layout.belt, np.zeros(())
        pulleys = zip(circuit.pulleys, circuit.radius, strict=True)
        pitch = [radius + pulley.pitch_radius_mm(belt) - pulley.line_radius_mm(belt) for pulley, radius in pulleys]
        for pulley, own in zip(circuit.pulleys, pitch, strict=True):
            for rpm, bound in ((engine.max_rpm, maximum_rpm(pulley)), (engine.idle_rpm, minimum_rpm(pulley))):
                total = total + (0.0 if rpm is None else _missing(pitch[0] / own * rpm, bound))
        if engine.max_rpm:
            speed = engine.max_rpm / 60.0 * TURN * pitch[0] / 1000.0
            total = total + _missing(speed, maximum_belt_speed(self.layout))
        return total

    def _askew(self, circuit: Circuit) -> Floats:
        """Spans out of one plane."""
        total, pulleys = np.zeros(()), circuit.pulleys
        for start, end, span in zip(pulleys, pulleys[1:] + pulleys[:1], circuit.base.span, strict=True):
            total = total + _missing(misalignment_deg(start, end, span), maximum_misalignment(self.layout, start, end))
        return total

    def _clearances(self, circuit: Circuit) -> Floats:
        total, pulleys = np.zeros(()), circuit.pulleys
        for i, (start, end) in enumerate(zip(pulleys, pulleys[1:] + pulleys[:1], strict=True)):
            total = total + self._span(circuit, i, (start.name, end.name)) + self._rim(circuit, i)
        return total

    def _span(self, circuit: Circuit, index: int, names: tuple[str, str]) -> Floats:
        belt, layout, total = self.layout.belt, self.layout, np.zeros(())
        outside_left = layout.loop_sense < 0
        sides = (belt.outer_mm, belt.inner_mm) if outside_left else (belt.inner_mm, belt.outer_mm)
        band = Band(circuit.base.free_span(index), *sides)
        for other, centre, rim in zip(circuit.pulleys, circuit.centre, circuit.rim, strict=True):
            if other.name not in names:
                least = demanded(layout, "min_strand_gap_mm", (*names, other.name))
                total = total + _missing(band_to_point(band, centre) - rim, least)
        for obstacle in layout.obstacles:
            least = demanded(layout, "min_clearance_mm", (obstacle.name, *names))
            if isinstance(obstacle, Circle):
                gap = band_to_point(band, np.asarray(obstacle.at_mm)) - obstacle.diameter_mm / 2.0
            else:
                gap = band_to_polygon(band, np.asarray(obstacle.corners_mm, dtype=float))
            total = total + _missing(gap, least)
        return total

    def _rim(self, circuit: Circuit, index: int) -> Floats:
        layout, total, own = self.layout, np.zeros(()), circuit.pulleys[index]
        centre, rim = circuit.centre[index], circuit.rim[index]
        for j, other in enumerate(circuit.pulleys[:index]):
            least = demanded(layout, "min_rim_gap_mm", (own.name, other.name))
            total = total + _missing(circuit.rim_gap(circuit.base, index, j), least)
        for spare in layout.unrouted:
            if spare.at_mm is not None and spare.name != own.name:
                least = demanded(layout, "min_rim_gap_mm", (own.name, spare.name))
                gap = norm(centre - np.asarray(spare.at_mm)) - rim - spare.rim_radius_mm(layout.belt)
                total = total + _missing(gap, least)
        for obstacle in layout.obstacles:
            least = demanded(layout, "min_rim_gap_mm", (obstacle.name, own.name))
            if isinstance(obstacle, Circle):
                gap = norm(centre - np.asarray(obstacle.at_mm)) - obstacle.diameter_mm / 2.0 - rim
            else:
                gap = point_to_polygon(centre, np.asarray(obstacle.corners_mm, dtype=float)) - rim
            total = total + _missing(gap, least)
        return total


def _missing(values: Floats, bound: Bound | None) -> Floats:
    return np.zeros(values.shape) if bound is None else np.minimum(bound.shortfall(values), _MOST_SHORT)


def needs_of(route: Route, operation: Operation | None) -> Needs:
    """What changed paths are screened by: the wrap for every role, and that which would stop slip in the wet.

    Source: grip goes by friction x wrap (Euler), so at one tension the wrap that is wanted grows with the slip use.
    """
    wanted: dict[str, float] = {}
    ample: dict[str, float] = {}
    for pulley, wrap, worst in zip(route.pulleys, route.loop.wrap, wet_utilisation(route, operation), strict=True):
        role = minimum_wrap(route.layout, pulley)
        slip = demanded(route.layout, "max_slip_use", (pulley.name, pulley.role))
        limit, none_left = (0.0, 0.0) if role is None else np.radians((role.limit, role.ample))
        wanted[pulley.name] = max(float(limit), float(wrap) * _grown(worst, slip.limit))
        ample[pulley.name] = max(float(none_left), float(wrap) * _grown(worst, slip.ample))
    return Needs(route.layout, wanted, ample)


def wet_utilisation(route: Route, operation: Operation | None) -> Floats:
    """The highest slip use of every pulley in the wet, (n), steady or while revving; 0 where it is not known."""
    if operation is None or not operation.judges_grip:
        return np.zeros(len(route.pulleys))
    return np.asarray(operation.highest_utilisation[CONDITIONS.index("wet")])


def _grown(utilisation: float, most: float) -> float:
    """By how much wrap has to grow to bring a slip use down; 0 where it is well already, or no wrap would do."""
    return float(utilisation / most) if most <= utilisation < _MOST_SHORT else 0.0


def as_it_stands(route: Route) -> Circuit:
    """The circuit with the adjuster locked where the judged belt puts it."""
    at = route.circuit.path_at(0.0 if route.setting is None else route.setting)
    return replace(route.circuit, base=at, moving=None, track=None)


# A pool of changes of one kind: screened together, and the promising ones picked out to be judged.

NEARLY = 0.03
"""A shortfall up to this may come from what the screening leaves out."""


@dataclass(frozen=True, eq=False)
class Pool:
    """Changed paths as one circuit over (N), how far each change goes, and what makes the change of a number.

    sizes: (N), None where a change goes as far as it lengthens the path. change: called with the number and the size.
    """

    circuit: Circuit
    sizes: Floats | None
    change: Callable[[int, float], Change]


@dataclass(frozen=True, eq=False)
class Promise:
    """A change, and how far it falls short by the screening; tight: with wraps that leave no caution."""

    short: float
    tight: float
    change: Change

    @property
    def near(self) -> bool:
        """Whether the screening has little or nothing against it."""
        return self.short <= NEARLY


@dataclass(frozen=True, eq=False)
class Screened:
    """A pool after screening. shortfall and sizes: (N)."""

    pool: Pool
    shortfall: Shortfall
    sizes: Floats

    def picked(self, most: int) -> tuple[Promise, ...]:
        """The changes that are worth judging, at most so many.

        Of those that fall short of little or nothing evenly from the smallest up, and those that leave margin with the
        smallest change; else the nearest.
        """
        short, tight = self.shortfall.short, self.shortfall.tight
        near = np.flatnonzero(short <= NEARLY)
        by_size = near[np.argsort(self.sizes[near], kind="stable")]
        by_margin = np.lexsort((self.sizes, tight))
        best = [int(i) for i in by_margin if np.isfinite(tight[i])]
        half = most - most // 2
        even = [int(i) for i in _evenly(by_size, half)]
        chosen = list(dict.fromkeys([*even, *best]))[:most]
        return tuple(self._promise(i) for i in chosen)

    def _promise(self, i: int) -> Promise:
        change = self.pool.change(i, float(self.sizes[i]))
        return Promise(float(self.shortfall.short[i]), float(self.shortfall.tight[i]), change)


def _evenly(index: Ints, most: int) -> Ints:
    """At most so many, evenly from the first to the last."""
    if len(index) <= most:
        return index
    return np.asarray(index[np.linspace(0, len(index) - 1, most).astype(int)])


def screened(pool: Pool, needs: Needs, base_mm: float) -> Screened:
    """Screen a pool. base_mm: length of the path as it stands."""
    shortfall = needs.shortfall(pool.circuit)
    sizes = np.abs(shortfall.length_mm - base_mm) if pool.sizes is None else pool.sizes
    return Screened(pool, shortfall, np.round(sizes, 3))


def best_of(promises: Sequence[Promise], most: int) -> tuple[Change, ...]:
    """The best of several pools: half by how far they go, where they fall short of little; half by their promise."""
    near = sorted((p for p in promises if p.near), key=lambda p: p.change.size)
    nearest = sorted(promises, key=lambda p: (p.tight, p.change.size))
    ranked = [*near[: most - most // 2], *nearest, *near]
    return tuple(promise.change for promise in list(dict.fromkeys(ranked))[:most])

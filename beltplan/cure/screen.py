"""Very many changed paths at once: which are sound, how far each falls short, and which are worth judging."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.limits import Bound, demanded
from beltplan.checks.pulleys import (
    least_rpm,
    least_wrap,
    misalignment_deg,
    most_belt_speed,
    most_misalignment,
    most_rpm,
)
from beltplan.cure.changes import Change
from beltplan.drive.layout import Circle, Layout
from beltplan.drive.mechanics import CONDITIONS
from beltplan.drive.operation import Operation
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.distances import Band, band_to_point, band_to_polygon, point_to_polygon
from beltplan.geometry.loops import Loop, close_loop, overlap
from beltplan.geometry.pieces import Strand
from beltplan.geometry.vectors import TURN, Floats, Ints, norm

MOST_SHORT = 3.0
"""One thing counts for no more than this, so that a lost case hides no other."""


@dataclass(frozen=True, eq=False)
class Paths:
    """Changed circuits, all of the same pulleys. centre: (N, n, 2) mm; radius, rim: (N, n) mm; sense: (N, n)."""

    pulleys: tuple[Pulley, ...]
    centre: Floats
    radius: Floats
    rim: Floats
    sense: Floats

    def __len__(self) -> int:
        return len(self.centre)

    def where(self, index: Ints) -> Paths:
        """Some of them, by number."""
        return Paths(self.pulleys, self.centre[index], self.radius[index], self.rim[index], self.sense[index])


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

    def shortfall(self, paths: Paths) -> Shortfall:
        """How far every path falls short, at one setting of the adjuster. No promise: the checks decide."""
        short, tight, length = (np.full(len(paths), value) for value in (np.inf, np.inf, np.nan))
        apart = np.flatnonzero(~(overlap(paths.centre, paths.rim)[0] > 0.0).any(axis=-1))
        loop = close_loop(paths.centre[apart], paths.radius[apart], paths.sense[apart])
        whole = np.flatnonzero(is_sound(loop, float(self.layout.loop_sense)))
        if not len(whole):
            return Shortfall(short, tight, length)
        index = apart[whole]
        sound, own = paths.where(index), _picked(loop, whole)
        others = self._speeds(sound) + self._clearances(sound, own) + self._askew(sound, own)
        short[index] = others + self._wraps(sound, own, self.wanted_rad)
        tight[index] = others + self._wraps(sound, own, self.ample_rad)
        length[index] = own.length
        return Shortfall(short, tight, length)

    def _wraps(self, paths: Paths, loop: Loop, wanted_rad: Mapping[str, float]) -> Floats:
        total = np.zeros(len(paths))
        for i, pulley in enumerate(paths.pulleys):
            wanted = wanted_rad.get(pulley.name)
            if wanted is None:
                bound = least_wrap(self.layout, pulley)
                wanted = (
                    0.0 if bound is None else np.radians(bound.ample if wanted_rad is self.ample_rad else bound.limit)
                )
            total += _missing(loop.wrap[:, i], Bound("lower", float(wanted), "rad", ""))
        return total

    def _speeds(self, paths: Paths) -> Floats:
        engine, belt, total = self.layout.engine, self.layout.belt, np.zeros(len(paths))
        deeper = [pulley.pitch_radius_mm(belt) - pulley.line_radius_mm(belt) for pulley in paths.pulleys]
        pitch = paths.radius + np.array(deeper)
        ratio = pitch[:, :1] / pitch
        for i, pulley in enumerate(paths.pulleys):
            for rpm, bound in ((engine.max_rpm, most_rpm(pulley)), (engine.idle_rpm, least_rpm(pulley))):
                total += 0.0 if rpm is None else _missing(ratio[:, i] * rpm, bound)
        if engine.max_rpm:
            speed = engine.max_rpm / 60.0 * TURN * pitch[:, 0] / 1000.0
            total += _missing(speed, most_belt_speed(self.layout))
        return total

    def _askew(self, paths: Paths, loop: Loop) -> Floats:
        """Strands out of one plane."""
        total, pulleys = np.zeros(len(paths)), paths.pulleys
        for i, start in enumerate(pulleys):
            end = pulleys[(i + 1) % len(pulleys)]
            angle = misalignment_deg(start, end, loop.span[:, i])
            total += _missing(angle, most_misalignment(self.layout, start, end))
        return total

    def _clearances(self, paths: Paths, loop: Loop) -> Floats:
        count, total = len(paths.pulleys), np.zeros(len(paths))
        for i, pulley in enumerate(paths.pulleys):
            names = (pulley.name, paths.pulleys[(i + 1) % count].name)
            strand = Strand(loop.start[:, i], loop.direction[:, i], loop.span[:, i])
            total += self._strand(paths, strand, names) + self._rim(paths, i)
        return total

    def _strand(self, paths: Paths, strand: Strand, names: tuple[str, str]) -> Floats:
        belt, layout, total = self.layout.belt, self.layout, np.zeros(len(paths))
        outside_left = layout.loop_sense < 0
        sides = (belt.outer_mm, belt.inner_mm) if outside_left else (belt.inner_mm, belt.outer_mm)
        band = Band(strand, *sides)
        for j, other in enumerate(paths.pulleys):
            if other.name not in names:
                least = demanded(layout, "min_strand_gap_mm", (*names, other.name))
                total += _missing(band_to_point(band, paths.centre[:, j]) - paths.rim[:, j], least)
        for obstacle in layout.obstacles:
            least = demanded(layout, "min_clearance_mm", (obstacle.name, *names))
            if isinstance(obstacle, Circle):
                gap = band_to_point(band, np.asarray(obstacle.at_mm)) - obstacle.diameter_mm / 2.0
            else:
                gap = band_to_polygon(band, np.asarray(obstacle.corners_mm, dtype=float))
            total += _missing(gap, least)
        return total

    def _rim(self, paths: Paths, index: int) -> Floats:
        layout, total, own = self.layout, np.zeros(len(paths)), paths.pulleys[index]
        centre, rim = paths.centre[:, index], paths.rim[:, index]
        for j, other in enumerate(paths.pulleys[:index]):
            least = demanded(layout, "min_rim_gap_mm", (own.name, other.name))
            total += _missing(norm(centre - paths.centre[:, j]) - rim - paths.rim[:, j], least)
        for spare in layout.unrouted:
            if spare.at_mm is not None and spare.name != own.name:
                least = demanded(layout, "min_rim_gap_mm", (own.name, spare.name))
                gap = norm(centre - np.asarray(spare.at_mm)) - rim - spare.rim_radius_mm(layout.belt)
                total += _missing(gap, least)
        for obstacle in layout.obstacles:
            least = demanded(layout, "min_rim_gap_mm", (obstacle.name, own.name))
            if isinstance(obstacle, Circle):
                gap = norm(centre - np.asarray(obstacle.at_mm)) - obstacle.diameter_mm / 2.0 - rim
            else:
                gap = point_to_polygon(centre, np.asarray(obstacle.corners_mm, dtype=float)) - rim
            total += _missing(gap, least)
        return total


def _missing(values: Floats, bound: Bound | None) -> Floats:
    return np.zeros(values.shape) if bound is None else np.minimum(bound.shortfall(values), MOST_SHORT)


def _picked(loop: Loop, index: Ints) -> Loop:
    return Loop(*(part[index] for part in (loop.centre, loop.radius, loop.sense, loop.direction, loop.span, loop.wrap)))


def needs_of(route: Route, operation: Operation | None) -> Needs:
    """What changed paths are screened by: the wrap for every role, and that which would stop slip in the wet.

    Source: grip goes by friction x wrap (Euler), so at one tension the wrap that is wanted grows with the slip use.
    """
    wanted: dict[str, float] = {}
    ample: dict[str, float] = {}
    for pulley, wrap, worst in zip(route.pulleys, route.loop.wrap, wet_use(route, operation), strict=True):
        role = least_wrap(route.layout, pulley)
        slip = demanded(route.layout, "max_slip_use", (pulley.name, pulley.role))
        limit, none_left = (0.0, 0.0) if role is None else np.radians((role.limit, role.ample))
        wanted[pulley.name] = max(float(limit), float(wrap) * _grown(worst, slip.limit))
        ample[pulley.name] = max(float(none_left), float(wrap) * _grown(worst, slip.ample))
    return Needs(route.layout, wanted, ample)


def wet_use(route: Route, operation: Operation | None) -> Floats:
    """The highest slip use of every pulley in the wet, (n), steady or while revving; 0 where it is not known."""
    if operation is None or not operation.judges_grip:
        return np.zeros(len(route.pulleys))
    return np.asarray(operation.most_used[CONDITIONS.index("wet")])


def _grown(use: float, most: float) -> float:
    """By how much wrap has to grow to bring a slip use down; 0 where it is well already, or no wrap would do."""
    return float(use / most) if most <= use < MOST_SHORT else 0.0


def paths_of(route: Route) -> Paths:
    """The circuit as it stands, once, with the adjuster where the judged belt puts it."""
    circuit = route.circuit
    centre = circuit.centre_at(np.asarray(0.0 if route.setting is None else route.setting))
    return Paths(circuit.pulleys, centre[None], circuit.radius[None], circuit.rim[None], circuit.sense[None])


# A pool of changes of one kind: screened together, and the promising ones picked out to be judged.

NEARLY = 0.03
"""A shortfall up to this may come from what the screening leaves out."""


@dataclass(frozen=True, eq=False)
class Pool:
    """Changed paths, how far each change goes, and what makes the change of a number.

    sizes: (N), None where a change goes as far as it lengthens the path. change: called with the number and the size.
    """

    paths: Paths
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
    shortfall = needs.shortfall(pool.paths)
    sizes = np.abs(shortfall.length_mm - base_mm) if pool.sizes is None else pool.sizes
    return Screened(pool, shortfall, np.round(sizes, 3))


def best_of(promises: Sequence[Promise], most: int) -> tuple[Change, ...]:
    """The best of several pools: half by how far they go, where they fall short of little; half by their promise."""
    near = sorted((p for p in promises if p.near), key=lambda p: p.change.size)
    nearest = sorted(promises, key=lambda p: (p.tight, p.change.size))
    ranked = [*near[: most - most // 2], *nearest, *near]
    return tuple(promise.change for promise in list(dict.fromkeys(ranked))[:most])

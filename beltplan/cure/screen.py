"""Very many changed paths at once: which are sound, how far each falls short, and which are worth judging."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from beltplan.checks.alignment import maximum_misalignment, misalignment_deg
from beltplan.checks.gaps import bodies_of, gaps_over
from beltplan.checks.limits import Bound, demanded, makers_bound
from beltplan.checks.pulleys import maximum_belt_speed, minimum_diameter, minimum_wrap
from beltplan.cure.changes import Change
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import CONDITIONS
from beltplan.drive.operation import Operation
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit
from beltplan.geometry.vectors import TURN, Floats

_COUPLES_AT_ONCE = 400_000
"""It bounds the memory."""
_MOST_SHORT = 3.0
"""One thing counts for no more than this, so that a lost case hides no other."""

Part = tuple[Circuit, frozenset[int] | None]
"""Changed paths, (N), and the pulleys that set them apart from that as it stands; None for any."""


class Shortfall(NamedTuple):
    """How far changed paths fall short; (N) each, infinite where there is no sound path.

    short: summed over wraps, diameters, speeds, planes and gaps, as shares of their limits. tight: the same with wraps
    that leave no caution, to tell apart those that fall short of nothing. length_mm: of the path, NaN without one.
    """

    short: Floats
    tight: Floats
    length_mm: Floats


@dataclass(frozen=True, eq=False)
class Screen:
    """What changed paths are held against before every check is made: measures and bounds of the checks themselves.

    grip: by pulley, the wrap that would stop slip in the wet, deg. cautions: whether cautions are to be cured too.
    known: what is lacking between parts that stand still, by the pulleys and which of them do not.
    """

    layout: Layout
    grip: Mapping[str, Bound]
    cautions: bool = False
    known: dict[tuple[tuple[str, ...], frozenset[int]], Floats] = field(default_factory=dict)

    def shortfall(self, circuit: Circuit, varying: frozenset[int] | None = None) -> Shortfall:
        """How far every path of a circuit falls short, (N), with the adjuster as it stands.

        varying: all that sets it apart from the sound path that there is are these pulleys; None where that is not so.
        """
        many = at_once(len(circuit.pulleys))
        if circuit.shape and circuit.shape[0] > many:
            number = np.arange(circuit.shape[0])
            parts = [number // many == k for k in range(-(-len(number) // many))]
            return self.over([(circuit.picked(part), varying) for part in parts])
        sound = np.array(np.broadcast_to(circuit.sound_at(circuit.nominal, varying), circuit.shape or (1,)))
        short, tight, length = (np.full(sound.shape, value) for value in (np.inf, np.inf, np.nan))
        if sound.any():
            own = circuit.picked(sound)
            others = _lacking(_asked(self.layout, own)) + self._gaps(own, varying)
            short[sound] = others + self._wraps(own, ample=self.cautions)
            tight[sound] = others + self._wraps(own, ample=True)
            length[sound] = own.base.length
        return Shortfall(short, tight, length)

    def over(self, parts: Sequence[Part]) -> Shortfall:
        return Shortfall(*map(np.concatenate, zip(*(self.shortfall(*part) for part in parts), strict=True)))

    def _gaps(self, circuit: Circuit, varying: frozenset[int] | None) -> Floats:
        bodies = bodies_of(self.layout, circuit)

        def lacking(fixed: bool) -> Floats:
            gaps = gaps_over(bodies, circuit.base, varying, fixed, near=True)
            return _lacking((gap.gap_mm, gap.bound) for gap in gaps)

        if varying is None:
            return lacking(fixed=False)
        key = (tuple(pulley.name for pulley in circuit.pulleys), varying)
        if key not in self.known:
            self.known[key] = lacking(fixed=True)
        return self.known[key] + lacking(fixed=False)

    def _wraps(self, circuit: Circuit, ample: bool) -> Floats:
        total = np.zeros(())
        for pulley, wrap in zip(circuit.pulleys, circuit.base.wrap, strict=True):
            # Of an added idler it is not known what would stop it from slipping.
            asked = filter(None, (minimum_wrap(self.layout, pulley), self.grip.get(pulley.name)))
            lacking = [bound.shortfall(np.degrees(wrap), ample) for bound in asked]
            total = total + np.minimum(np.max(lacking, axis=0), _MOST_SHORT)
        return total


def at_once(count: int) -> int:
    """How many paths over so many pulleys are laid at once: each has a few couples of spans and arcs for every two."""
    return max(1, _COUPLES_AT_ONCE // count**2)


def _lacking(asked: Iterable[tuple[Floats, Bound]]) -> Floats:
    return sum((np.minimum(bound.shortfall(values), _MOST_SHORT) for values, bound in asked), np.zeros(()))


def _asked(layout: Layout, circuit: Circuit) -> Iterator[tuple[Floats, Bound]]:
    """What the checks measure of a path beside its wraps and gaps, with what they ask of it."""
    engine, belt, pulleys = layout.engine, layout.belt, circuit.pulleys
    # Of each its own size, which need not be the one that the pulley is listed with.
    over = [radius - p.line_radius_mm(belt) for p, radius in zip(pulleys, circuit.radius, strict=True)]
    pitch = [p.pitch_radius_mm(belt) + more for p, more in zip(pulleys, over, strict=True)]
    asked: list[tuple[Floats, Bound | None]] = []
    for pulley, own, more in zip(pulleys, pitch, over, strict=True):
        asked += [(pulley.line_diameter_mm(belt) + 2.0 * more, minimum_diameter(layout, pulley))]
        for rpm, bound in (
            (engine.max_rpm, makers_bound(pulley, "max_rpm")),
            (engine.idle_rpm, makers_bound(pulley, "min_rpm")),
        ):
            asked += [] if rpm is None else [(pitch[0] / own * rpm, bound)]
    if engine.max_rpm:
        asked += [(engine.max_rpm / 60.0 * TURN * pitch[0] / 1000.0, maximum_belt_speed(layout))]
    for (start, end), span, along in zip(circuit.spans, circuit.base.span, circuit.base.direction, strict=True):
        # An added idler is shimmed to its place, so its spans run no more askew than the one that it splits.
        if {start.name, end.name} <= layout.pulleys.keys():
            asked += [(misalignment_deg(start, end, span, along), maximum_misalignment(layout, start, end))]
    yield from ((values, bound) for values, bound in asked if bound is not None)


def screen_of(route: Route, operation: Operation | None, cautions: bool = False) -> Screen:
    """What changed paths are held against.

    Source: grip goes by friction x wrap (Euler), so at one tension the wrap that is wanted grows with the grip used.
    """
    grip = {}
    for pulley, wrap, worst in zip(route.pulleys, route.loop.wrap, wet_utilisation(route, operation), strict=True):
        slip = demanded(route.layout, "max_slip_use", (pulley.name, pulley.role))
        wanted, ample = (float(np.degrees(wrap)) * _grown(worst, most) for most in (slip.limit, slip.ample))
        grip[pulley.name] = Bound("lower", wanted, "deg", slip.source, ample)
    return Screen(route.layout, grip, cautions)


def wet_utilisation(route: Route, operation: Operation | None) -> Floats:
    """The highest grip use of every pulley in the wet, (n), steady or while revving; 0 where it is not known."""
    if operation is None or not operation.judges_grip:
        return np.zeros(len(route.pulleys))
    return np.asarray(operation.highest_utilisation[CONDITIONS.index("wet")])


def _grown(utilisation: float, most: float) -> float:
    """By how much wrap has to grow to bring the grip used down; 0 where it is well already, or no wrap would do."""
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
    """Changed paths, part by part, (N) in all; how far each change goes, and what makes the change of a number.

    sizes: (N), None where a change goes as far as it lengthens the path. change: called with the number and the size.
    """

    parts: tuple[Part, ...]
    sizes: Floats | None
    change: Callable[[int, float], Change]


@dataclass(frozen=True, eq=False)
class Promise:
    """A change, and how far it falls short by the screening; tight: with wraps that leave no caution."""

    short: float
    tight: float
    change: Change


def picked(pool: Pool, shortfall: Shortfall, base_mm: float, most: int) -> tuple[Promise, ...]:
    """The changes of a pool that are worth judging, at most so many. base_mm: length of the path as it stands.

    Of those that fall short of little or nothing evenly from the smallest up, and those that leave margin with the
    smallest change; else the nearest.
    """
    short, tight = shortfall.short, shortfall.tight
    sizes = np.round(np.abs(shortfall.length_mm - base_mm) if pool.sizes is None else pool.sizes, 3)
    near = np.flatnonzero(short <= NEARLY)
    by_size = near[np.argsort(sizes[near], kind="stable")]
    half = min(most - most // 2, len(near))
    even = by_size[np.linspace(0, len(near) - 1, half).astype(int)] if half else near
    best = np.lexsort((sizes, tight))
    chosen = dict.fromkeys([*even.tolist(), *best[np.isfinite(tight[best])].tolist()])
    return tuple(
        Promise(float(short[i]), float(tight[i]), pool.change(i, float(sizes[i]))) for i in list(chosen)[:most]
    )


def best_of(promises: Sequence[Promise], most: int) -> tuple[Change, ...]:
    """The best of several pools: half by how far they go, where they fall short of little; half by their promise."""
    near = sorted((p for p in promises if p.short <= NEARLY), key=lambda p: p.change.size)
    nearest = sorted(promises, key=lambda p: (p.tight, p.change.size))
    ranked = [*near[: most - most // 2], *nearest]
    return tuple(promise.change for promise in list(dict.fromkeys(ranked))[:most])

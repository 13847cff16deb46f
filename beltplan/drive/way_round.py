"""Which way round the belt runs over a layout, or why it can run neither way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from beltplan.drive.layout import Layout
from beltplan.drive.travel import SAMPLES, TOUCHING_MM, Circuit, circuit_of
from beltplan.geometry.crossing import crossings
from beltplan.geometry.loops import Loop, overlap
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import Floats

_MISSED_RAD = np.radians(300.0)
"""A wrap beyond this, where the turns do not add up, is a pulley that the belt misses."""
_MOST_CROSSINGS = 6
"""So many are told of a belt that crosses itself."""


class _Crossing(NamedTuple):
    """Where a belt crosses itself: the two parts of it, spans or the pulleys that they lie on, and words for it."""

    words: str
    first: str
    second: str


@dataclass(frozen=True, eq=False)
class PathFault:
    """Why there is no belt path: the pulleys concerned, what was found and what is needed, in words.

    overlap: how much of the sum of their radii two rims share; 0 where they do not.
    """

    pulleys: tuple[str, ...]
    got: str
    allowed: str
    crossings: tuple[_Crossing, ...] = ()
    overlap: float = 0.0


class NoBeltPath(ValueError):
    """There is no belt path anywhere on the adjuster's travel."""

    def __init__(self, faults: tuple[PathFault, ...]) -> None:
        super().__init__("; ".join(fault.got for fault in faults))
        self.faults = faults


def circuit_for(layout: Layout) -> tuple[Circuit, bool]:
    """The pulleys in the direction of belt travel that gives a simple loop, and whether both directions do.

    If both are sound, the listed order is taken.
    Raises NoBeltPath where neither is, anywhere on the adjuster's travel.
    """
    circuits = ways_round(layout)
    at_nominal = [bool(circuit.sound_at(_settings(circuit)[-1])) for circuit in circuits]
    # The whole travel is looked at only where the design's own setting decides nothing.
    sound = at_nominal if any(at_nominal) else [bool(c.sound_at(_settings(c)).any()) for c in circuits]
    if not any(sound):
        raise NoBeltPath(_why_not(circuits))
    return circuits[sound.index(True)], sum(at_nominal) == 2


def ways_round(layout: Layout) -> tuple[Circuit, ...]:
    """The pulleys in the listed order and the other way round; two make the same loop either way."""
    return tuple(circuit_of(layout, reverse) for reverse in ((False, True) if len(layout.route) > 2 else (False,)))


def _settings(circuit: Circuit) -> Floats:
    if circuit.adjuster is None:
        return np.zeros(1)
    return np.append(np.linspace(*circuit.adjuster.travel, SAMPLES), circuit.adjuster.nominal)


def _why_not(circuits: tuple[Circuit, ...]) -> tuple[PathFault, ...]:
    """Rims that overlap wherever the adjuster is; else the reasons at its own setting, the nearer way round."""
    overlaps = _overlaps(circuits[0], _settings(circuits[0]))
    return overlaps or why_not_at(*_nearest_to_sound(circuits))


def unsound(layout: Layout) -> tuple[Circuit, Loop]:
    """Of a layout without a belt path, the way round that is nearest to one, and its loop at the design setting."""
    circuit, setting = _nearest_to_sound(ways_round(layout))
    return circuit, circuit.loop_at(setting)


def _nearest_to_sound(circuits: tuple[Circuit, ...]) -> tuple[Circuit, float]:
    setting = float(_settings(circuits[0])[-1])
    return min(circuits, key=lambda circuit: _distance_from_sound(circuit, circuit.loop_at(setting))), setting


def why_not_at(circuit: Circuit, setting: float) -> tuple[PathFault, ...]:
    """Why there is no sound path at a setting without one: overlaps, else tangents, else misses or crossings."""
    overlaps = _overlaps(circuit, np.array([setting]))
    loop = circuit.loop_at(setting)
    if overlaps or not loop.exists:
        return overlaps or _missing_tangents(circuit, loop)
    return _missed(circuit, loop) or _crossed(circuit, loop)


def _distance_from_sound(circuit: Circuit, loop: Loop) -> tuple[bool, int, float]:
    # The fewest crossings: a missed pulley makes one, the same route run the wrong way round makes more.
    if not loop.exists:
        return (True, 0, 0.0)
    crossed = sum(bool(hit) for *_, hit in crossings(Pieces.of(loop)))
    return (False, crossed, round(abs(float(loop.turns) - circuit.turning), 3))


def _overlaps(circuit: Circuit, settings: Floats) -> tuple[PathFault, ...]:
    depth, pairs = overlap(circuit.centre_at(settings), circuit.rim)
    names = [pulley.name for pulley in circuit.pulleys]
    return overlap_faults(names, circuit.rim, pairs, depth.min(axis=0))


def overlap_faults(
    names: Sequence[str], rim: Floats, pairs: Sequence[tuple[int, int]], depth: Floats
) -> tuple[PathFault, ...]:
    """The pairs of discs that share ground, in words. rim: radii (n) mm; depth: of each pair, mm, as `overlap` says."""
    found = []
    for (i, j), deep in zip(pairs, depth.tolist(), strict=True):
        if deep > TOUCHING_MM:
            first, second, need = names[i], names[j], float(rim[i] + rim[j])
            got = f"{first} and {second} overlap by {deep:.2f} mm: centres {need - deep:.2f} mm apart"
            allowed = f"{need:.2f} mm or more, the sum of their radii"
            found.append(PathFault((first, second), got, allowed, overlap=deep / need))
    return tuple(found)


def _missing_tangents(circuit: Circuit, loop: Loop) -> tuple[PathFault, ...]:
    # Rims stand apart here, so the line of a pulley on the back meets that of one on the ribs.
    found, n = [], len(circuit.pulleys)
    for i in np.flatnonzero(np.isnan(loop.span)).tolist():
        j = (i + 1) % n
        couple = circuit.ends(i)
        apart = float(np.linalg.norm(loop.centre[i] - loop.centre[j]))
        need = float(abs(loop.sense[i] * loop.radius[i] - loop.sense[j] * loop.radius[j]))
        numbers = f"centres {apart:.2f} mm apart, but over {need:.2f} mm needed"
        got = f"{couple[0]} and {couple[1]} leave no room for the belt: {numbers}"
        found.append(PathFault(couple, got, f"these two {need - apart:.2f} mm farther apart"))
    return tuple(found)


def _missed(circuit: Circuit, loop: Loop) -> tuple[PathFault, ...]:
    if circuit.one_turn(loop):
        return ()
    return tuple(
        PathFault(
            (pulley.name,),
            f"on this side the belt never touches {pulley.name}",
            f"a place, a belt_side ({pulley.belt_side} now) or a position in the route where the belt leans on it",
        )
        for pulley, wrap in zip(circuit.pulleys, loop.wrap, strict=True)
        if wrap > _MISSED_RAD
    )


def _crossed(circuit: Circuit, loop: Loop) -> tuple[PathFault, ...]:
    names, n = [pulley.name for pulley in circuit.pulleys], len(circuit.pulleys)
    parts = [*map(circuit.span_name, range(n)), *names]
    hits = sorted(((i >= n) + (j >= n), i, j) for i, j, hit in crossings(Pieces.of(loop)) if hit)
    told = ("span {} crosses span {}", "span {} crosses the belt on {}", "the belt on {} runs into the belt on {}")
    every = [_Crossing(told[kind].format(parts[i], parts[j]), parts[i], parts[j]) for kind, i, j in hits]
    if not every:
        # A loop that does not cross itself goes round once: here the other way than its pulleys turn.
        back = tuple(pulley.name for pulley in circuit.pulleys if pulley.on_back)
        got = f"the belt would lie inside out, with its back on {', '.join(back)}"
        return (PathFault(back, got, "`belt_side: ribbed` for those that the belt goes round"),)
    some = tuple(every[:_MOST_CROSSINGS])
    words = [f"({number}) {each.words}" for number, each in enumerate(some, 1)]
    if len(every) > len(some):
        words.append(f"and {len(every) - len(some)} more crossings")
    got = f"the belt would cross itself, either way round: {'; '.join(words)}"
    return (PathFault(tuple(names), got, "an order and belt sides for which the belt does not cross itself", some),)

"""Which way round the belt runs, and why it cannot where it cannot: layout in, circuit out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.belts.circuit import TOUCHING_MM, Circuit, circuit_of
from beltplan.belts.layout import Layout
from beltplan.belts.travel import SAMPLES
from beltplan.geometry.crossing import WHOLE_LOOP_TURNS, crossings
from beltplan.geometry.loops import Loop, overlap
from beltplan.geometry.vectors import Floats

MISSED_RAD = np.radians(300.0)
"""A wrap beyond this, where the turns do not add up, is a pulley that the belt misses."""


@dataclass(frozen=True, eq=False)
class PathFault:
    """Why there is no belt path: the pulleys concerned, what was found and what is needed, in words."""

    pulleys: tuple[str, ...]
    got: str
    allowed: str


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
    # Two pulleys make the same loop either way.
    ways = (False, True) if len(layout.route) > 2 else (False,)
    circuits = tuple(circuit_of(layout, reverse) for reverse in ways)
    at_nominal = [bool(circuit.sound_at(_settings(circuit)[-1])) for circuit in circuits]
    # The whole travel is looked at only where the design's own setting decides nothing.
    sound = at_nominal if any(at_nominal) else [bool(c.sound_at(_settings(c)).any()) for c in circuits]
    if not any(sound):
        raise NoBeltPath(_why_not(circuits))
    return circuits[sound.index(True)], sum(at_nominal) == 2


def _settings(circuit: Circuit) -> Floats:
    if circuit.adjuster is None:
        return np.zeros(1)
    return np.append(np.linspace(*circuit.adjuster.travel, SAMPLES), circuit.adjuster.nominal)


def _why_not(circuits: tuple[Circuit, ...]) -> tuple[PathFault, ...]:
    """Rims that overlap wherever the adjuster is; else the reasons at its own setting, the nearer way round."""
    overlaps = _overlaps(circuits[0], _settings(circuits[0]))
    if overlaps:
        return overlaps
    setting = float(_settings(circuits[0])[-1])
    nearest = min(circuits, key=lambda circuit: _distance_from_sound(circuit, circuit.loop_at(setting)))
    return why_not_at(nearest, setting)


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
    found = crossings(loop)
    crossed = int(found.span_span.sum() + found.span_arc.sum() + found.arc_arc.sum())
    return (False, crossed, round(abs(float(loop.turns) - circuit.turning), 3))


def _overlaps(circuit: Circuit, settings: Floats) -> tuple[PathFault, ...]:
    depth, pairs = overlap(circuit.centre_at(settings), circuit.rim)
    always = depth.min(axis=0)
    return tuple(
        _overlap_fault(circuit, pair, float(deep))
        for pair, deep in zip(pairs, always, strict=True)
        if deep > TOUCHING_MM
    )


def _overlap_fault(circuit: Circuit, pair: tuple[int, int], deep: float) -> PathFault:
    first, second = (circuit.pulleys[i].name for i in pair)
    need = circuit.rim[pair[0]] + circuit.rim[pair[1]]
    return PathFault(
        (first, second),
        f"{first} and {second} overlap by {deep:.2f} mm: centres {need - deep:.2f} mm apart",
        f"{need:.2f} mm or more, the sum of their radii",
    )


def _missing_tangents(circuit: Circuit, loop: Loop) -> tuple[PathFault, ...]:
    n = len(circuit.pulleys)
    couples = [(circuit.pulleys[i].name, circuit.pulleys[(i + 1) % n].name) for i in range(n) if np.isnan(loop.span[i])]
    return tuple(
        PathFault(couple, f"no tangent from {couple[0]} to {couple[1]}", "room for the belt to pass between their rims")
        for couple in couples
    )


def _missed(circuit: Circuit, loop: Loop) -> tuple[PathFault, ...]:
    if abs(float(loop.turns) - circuit.turning) < WHOLE_LOOP_TURNS:
        return ()
    return tuple(
        PathFault(
            (pulley.name,),
            f"the belt misses {pulley.name}: its wrap comes out at {np.degrees(wrap):.1f} deg, which is no contact",
            f"a place, a belt_side ({pulley.belt_side} now) or a position in the route where the belt leans on it",
        )
        for pulley, wrap in zip(circuit.pulleys, loop.wrap, strict=True)
        if wrap > MISSED_RAD
    )


def _crossed(circuit: Circuit, loop: Loop) -> tuple[PathFault, ...]:
    found, n = crossings(loop), len(circuit.pulleys)
    names = [pulley.name for pulley in circuit.pulleys]
    strands = [f"{names[i]} to {names[(i + 1) % n]}" for i in range(n)]
    words = (
        [
            f"strand {strands[i]} crosses strand {strands[j]}"
            for (i, j), hit in zip(found.spans, found.span_span, strict=True)
            if hit
        ]
        + [
            f"strand {strands[i]} crosses the belt on {names[j]}"
            for (i, j), hit in zip(found.span_arcs, found.span_arc, strict=True)
            if hit
        ]
        + [
            f"the belt on {names[i]} runs into the belt on {names[j]}"
            for (i, j), hit in zip(found.arcs, found.arc_arc, strict=True)
            if hit
        ]
    )
    return (_no_loop(circuit, "; ".join(words) or _unexplained(circuit, loop)),)


def _unexplained(circuit: Circuit, loop: Loop) -> str:
    turns = round(circuit.turning * float(loop.turns))
    return "the path is sound only with overlapping rims" if turns == 1 else f"the belt makes {turns} turns, not one"


def _no_loop(circuit: Circuit, why: str) -> PathFault:
    names = tuple(pulley.name for pulley in circuit.pulleys)
    return PathFault(
        names,
        f"no simple loop in the order {', '.join(names)}, either way round: {why}",
        "an order and belt sides for which the belt does not cross itself",
    )

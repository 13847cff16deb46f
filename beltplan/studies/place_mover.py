"""A layout with one or two of its fixed pulleys free to stand anywhere: what stays, and the path through new places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from beltplan.belts.circuit import TOUCHING_MM, Circuit
from beltplan.belts.layout import Layout
from beltplan.geometry.crossing import WHOLE_LOOP_TURNS, pieces_cross
from beltplan.geometry.distances import point_to_point
from beltplan.geometry.pieces import Pieces, pieces_of
from beltplan.geometry.vectors import Bools, Floats, dot


@dataclass(frozen=True, eq=False)
class Mover:
    """A circuit some of whose pulleys are moved. Places are (N, k, 2) mm for the k pulleys that `moved` names by index.

    base: the path as the layout has it, the adjuster at its design setting.
    """

    layout: Layout
    circuit: Circuit
    moved: tuple[int, ...]
    base: Pieces

    def path(self, places: Floats, setting: Floats | None = None) -> Pieces:
        """The path through places. setting: of the adjuster, (N) or (S, 1) or (S, N); None for the design's own."""
        centres = {index: places[:, i] for i, index in enumerate(self.moved)}
        adjuster, moving = self.circuit.adjuster, self.circuit.moving
        if setting is not None and adjuster is not None and moving is not None:
            centres[moving] = adjuster.centre_at(setting)
        return self.base.moved(centres)

    def one_turn(self, path: Pieces) -> Bools:
        """Whether a path exists and makes one turn the circuit's way, (...)."""
        return np.asarray(np.abs(path.turns - self.circuit.turning) < WHOLE_LOOP_TURNS)

    def rims_apart(self, path: Pieces, among: frozenset[int]) -> Bools:
        """Whether no rim overlaps that of one of these pulleys, (...)."""
        clear = np.ones((), dtype=bool)
        for first, second in combinations(range(len(path.centre)), 2):
            if first in among or second in among:
                clear = clear & ~(self.rim_gap(path, first, second) < -TOUCHING_MM)
        return np.asarray(clear)

    def rim_gap(self, path: Pieces, first: int, second: int) -> Floats:
        """How far the rims of two pulleys are apart, (...) mm."""
        apart = point_to_point(path.centre[first], path.centre[second])
        return np.asarray(apart - self.circuit.rim[first] - self.circuit.rim[second])

    @property
    def design_setting(self) -> float:
        """The adjuster's own setting, 0 without one."""
        return 0.0 if self.circuit.adjuster is None else self.circuit.adjuster.nominal

    def sound_at_design(self, places: Floats) -> Bools:
        """Whether there is a sound path with the adjuster at its design setting, (N); the cheapest tests first."""
        among = frozenset(self.moved)
        sound = np.array(self.rims_apart(self.path(places), among))
        sound[sound] = self.one_turn(self.path(places[sound]))
        sound[sound] = ~pieces_cross(self.path(places[sound]), among)
        return sound

    def rest_is_sound(self) -> bool:
        """Whether the pulleys that stay leave a path at all: their rims, strands and arcs meet at no place."""
        n = len(self.circuit.pulleys)
        rest = frozenset(range(n)) - frozenset(self.moved)
        far = self.base.moved({index: np.full(2, np.nan) for index in self.moved})
        return bool(self.rims_apart(far, rest) & ~pieces_cross(far))

    def slope(self, path: Pieces, setting: Floats) -> Floats:
        """Change of path length for one unit of the setting, (...) mm."""
        adjuster, moving = self.circuit.adjuster, self.circuit.moving
        if adjuster is None or moving is None:
            return np.zeros(())
        return dot(path.direction[moving - 1] - path.direction[moving], adjuster.motion_at(setting))


def mover_of(layout: Layout, circuit: Circuit, names: tuple[str, ...]) -> Mover:
    """Free some pulleys of a circuit, by name."""
    moved = tuple(next(i for i, p in enumerate(circuit.pulleys) if p.name == name) for name in names)
    return Mover(layout, circuit, moved, pieces_of(list(circuit.centre), circuit.radius, circuit.sense))


def moved(layout: Layout, names: Sequence[str], at_mm: Sequence[tuple[float, float]]) -> Layout:
    """The layout with pulleys moved to places, mm."""
    places = dict(zip(names, at_mm, strict=True))
    pulleys = {name: replace(pulley, at_mm=places.get(name, pulley.at_mm)) for name, pulley in layout.pulleys.items()}
    return replace(layout, pulleys=pulleys)

"""A layout with one or two pulleys free to stand anywhere, and the length that each place is judged with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from beltplan.drive.belt import Belt, line_length_mm
from beltplan.drive.fit import UNLISTED, Chosen
from beltplan.drive.layout import Layout
from beltplan.drive.route import middle_of
from beltplan.drive.travel import Circuit, Travel
from beltplan.geometry.vectors import Bools, Floats


@dataclass(frozen=True, eq=False)
class Mover:
    """A circuit some of whose pulleys are moved. Places are (N, k, 2) mm for the k pulleys that `moved` names by index.

    circuit: as the layout has it.
    """

    layout: Layout
    circuit: Circuit
    moved: tuple[int, ...]

    def at(self, places: Floats) -> Circuit:
        """The circuit at places, over any leading axes."""
        return self.circuit.moved({index: places[..., i, :] for i, index in enumerate(self.moved)})

    def sound_at_design(self, places: Floats) -> Bools:
        """Whether there is a sound path with the adjuster at its design setting, (N); what stays is not looked at."""
        return self.at(places).sound_at(self.circuit.nominal, frozenset(self.moved))

    def rest_is_sound(self) -> bool:
        """Whether the pulleys that stay leave a path at all: their rims, spans and arcs meet at no place."""
        rest = frozenset(range(len(self.circuit.pulleys))) - frozenset(self.moved)
        far = self.at(np.full((len(self.moved), 2), np.nan))
        return bool(far.rims_apart(far.base, rest) & ~far.crossed(far.base))


def mover_of(layout: Layout, circuit: Circuit, names: tuple[str, ...]) -> Mover:
    """Free some pulleys of a circuit, by name."""
    return Mover(layout, circuit, tuple([p.name for p in circuit.pulleys].index(name) for name in names))


def moved(layout: Layout, names: Sequence[str], at_mm: Sequence[tuple[float, float]]) -> Layout:
    """The layout with pulleys moved to places, mm."""
    places = dict(zip(names, at_mm, strict=True))
    pulleys = {name: replace(pulley, at_mm=places.get(name, pulley.at_mm)) for name, pulley in layout.pulleys.items()}
    return replace(layout, pulleys=pulleys)


def lengths_for(circuit: Circuit, belts: tuple[Belt, ...], chosen: Chosen, travel: Travel) -> Floats:
    """Length along the followed line that places are judged with, (N); where no list holds a belt, the path at the
    middle of the travel, as `drive.route`.
    """
    lengths = np.array([line_length_mm(belt) for belt in belts] or [np.nan])[np.maximum(chosen.index, 0)]
    unlisted = chosen.index == UNLISTED
    if unlisted.any():
        adjuster, own = circuit.adjuster, circuit.picked(unlisted)
        setting = np.zeros(()) if adjuster is None else middle_of(adjuster, travel.where(unlisted))
        lengths[unlisted] = own.path_at(setting).length
    return lengths

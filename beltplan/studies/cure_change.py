"""What a change of a layout is: its family, whom it concerns, how far it goes, and the layout that it makes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, Protocol, get_args

from beltplan.belts.layout import Layout

Family = Literal["belt", "rib", "order", "spring", "diameter", "move", "idler"]
FAMILIES: tuple[Family, ...] = get_args(Family)
"""From the least disturbance to the greatest: bought belts, the way it is laid, parts exchanged, metal cut."""

MEANINGS: dict[Family, str] = {
    "belt": "another stock belt",
    "rib": "one rib more",
    "order": "another order round the loop",
    "spring": "more spring, or a higher set tension",
    "diameter": "another diameter of one pulley",
    "move": "one pulley moved, where movable_mm allows it",
    "idler": "one idler more",
}


class Change(Protocol):
    """One small change. target: what it concerns; size: how far it goes, to compare within its family alone."""

    @property
    def family(self) -> Family:
        """Which kind of change it is."""
        ...

    @property
    def target(self) -> str:
        """The pulley, strand or part that it concerns."""
        ...

    @property
    def size(self) -> float:
        """How far it goes: the smaller, the less it disturbs."""
        ...

    @property
    def words(self) -> str:
        """What is to be done."""
        ...

    def applied(self, layout: Layout) -> Layout:
        """The layout with the change made."""
        ...


Changes = tuple[Change, ...]
Key = tuple[tuple[Family, str], ...]
Disturbance = tuple[int, tuple[int, ...], float]


def applied(changes: Changes, layout: Layout) -> Layout:
    """The layout with every change made, one after the other."""
    for change in changes:
        layout = change.applied(layout)
    return layout


def disturbance(changes: Changes) -> Disturbance:
    """What changes are ordered by: one before two, then the greatest family, then how far they go."""
    families = sorted((FAMILIES.index(change.family) for change in changes), reverse=True)
    return len(changes), tuple(families), sum(change.size for change in changes)


def key_of(changes: Changes) -> Key:
    """Families and targets: changes that share them differ only in how far they go."""
    return tuple(sorted((change.family, change.target) for change in changes))


def families_of(changes: Changes) -> tuple[Family, ...]:
    """The families concerned, in the order of `FAMILIES`."""
    return tuple(sorted({change.family for change in changes}, key=FAMILIES.index))


def words_of(changes: Sequence[Change]) -> str:
    """All that is to be done, in one sentence."""
    return "; and ".join(change.words for change in changes)

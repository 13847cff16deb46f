"""What holds a pulley's part to the engine: bolt holes, slots and metal; and marks, points that are no pulleys."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

Place = tuple[float, float]


@dataclass(frozen=True)
class Hole:
    """A round hole."""

    at_mm: Place
    diameter_mm: float


@dataclass(frozen=True)
class Slot:
    """A slot with round ends, from the middle of one end to that of the other."""

    start_mm: Place
    end_mm: Place
    width_mm: float


@dataclass(frozen=True)
class Mount:
    """Holes, slots and the corners of metal in the belt's plane, as they are turned, mm from where it is bolted."""

    holes: tuple[Hole, ...] = ()
    slots: tuple[Slot, ...] = ()
    outline_mm: tuple[Place, ...] = ()

    @property
    def bolts(self) -> Iterator[tuple[str, Place, float]]:
        """What a drill or cutter needs: every hole, and both ends of every slot, with the diameter there."""
        for number, hole in enumerate(self.holes, start=1):
            yield f"hole {number}", hole.at_mm, hole.diameter_mm
        for number, slot in enumerate(self.slots, start=1):
            for end, at in (("from", slot.start_mm), ("to", slot.end_mm)):
                yield f"slot {number} {end}", at, slot.width_mm

    def at(self, place: Place) -> Mount:
        """The same in the layout's frame.

        >>> Mount((Hole((-40.0, 25.0), 10.5),)).at((200.0, 300.0)).holes
        (Hole(at_mm=(160.0, 325.0), diameter_mm=10.5),)
        """
        return Mount(
            tuple(Hole(_moved(hole.at_mm, place), hole.diameter_mm) for hole in self.holes),
            tuple(Slot(_moved(s.start_mm, place), _moved(s.end_mm, place), s.width_mm) for s in self.slots),
            tuple(_moved(corner, place) for corner in self.outline_mm),
        )


def _moved(at: Place, by: Place) -> Place:
    return at[0] + by[0], at[1] + by[1]


@dataclass(frozen=True)
class Mark:
    """A point that is no pulley. uncertainty_mm: one standard deviation of x and of y; None where not given."""

    name: str
    at_mm: Place
    uncertainty_mm: float | None = None

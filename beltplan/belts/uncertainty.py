"""How far the user's measurements may be off: one standard deviation each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from beltplan.belts.layout import Layout
    from beltplan.belts.pulleys import Pulley


@dataclass(frozen=True, eq=False)
class Uncertainty:
    """One standard deviation of the measurements of a layout or of one pulley; None where not given.

    position_mm: of x and of y of a centre, an arm's pivot, an end of a slide, and of an arm's length.
    diameter_mm: of a diameter. angle_deg: of an arm's angles.
    """

    position_mm: float | None = None
    diameter_mm: float | None = None
    angle_deg: float | None = None

    @property
    def says_anything(self) -> bool:
        """Whether any of them is given."""
        return any(value is not None for value in (self.position_mm, self.diameter_mm, self.angle_deg))


@dataclass(frozen=True, eq=False)
class Deviations:
    """One standard deviation of each kind of measurement, every one known."""

    position_mm: float
    diameter_mm: float
    angle_deg: float


NOTHING_SAID = Uncertainty()
TAPE_AND_CALIPERS = Deviations(position_mm=1.0, diameter_mm=0.2, angle_deg=0.5)
DEVIATIONS_SOURCE = "common practice, no source"
"""Where the deviations come from that hold where the layout gives none."""


def deviations_of(layout: Layout, pulley: Pulley | None = None) -> Deviations:
    """What holds for a pulley: its own uncertainty, else the layout's, else the usual one.

    pulley: None for what holds where no pulley has its own.
    """
    own = NOTHING_SAID if pulley is None else pulley.uncertainty
    every, usual = layout.uncertainty, TAPE_AND_CALIPERS
    return Deviations(
        _first(own.position_mm, every.position_mm, usual.position_mm),
        _first(own.diameter_mm, every.diameter_mm, usual.diameter_mm),
        _first(own.angle_deg, every.angle_deg, usual.angle_deg),
    )


def _first(own: float | None, every: float | None, usual: float) -> float:
    return own if own is not None else usual if every is None else every

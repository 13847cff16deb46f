"""How far the measurements may be off: of the whole layout, or of one pulley."""

from __future__ import annotations

from beltplan.belts.uncertainty import NOTHING_SAID, Uncertainty
from beltplan.reading.section import Section


def read_uncertainty(section: Section) -> Uncertainty:
    """The uncertainty that a layout or a pulley gives; nothing in it where it gives none."""
    own = section.mapping("uncertainty")
    if own is None:
        return NOTHING_SAID
    return Uncertainty(own.number("position_mm"), own.number("diameter_mm"), own.number("angle_deg"))

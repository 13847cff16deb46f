"""How good each kind of measurement is: one standard deviation each, given or usual."""

from __future__ import annotations

from dataclasses import dataclass, fields

from beltplan.reading.measurement_keys import USUAL_DEG, USUAL_DIAMETER_MM, USUAL_MM, USUAL_OFFSET_MM, USUAL_PX
from beltplan.reading.section import Section


@dataclass(frozen=True, eq=False)
class Accuracy:
    """One standard deviation of each kind of measurement."""

    distance_mm: float = USUAL_MM
    angle_deg: float = USUAL_DEG
    offset_mm: float = USUAL_OFFSET_MM
    diameter_mm: float = USUAL_DIAMETER_MM
    place_px: float = USUAL_PX


def read_accuracy(top: Section) -> Accuracy:
    """The accuracy that the file gives, the usual one where it gives none."""
    section = top.mapping("accuracy")
    if section is None:
        return Accuracy()
    given = {field.name: section.number(field.name) for field in fields(Accuracy)}
    return Accuracy(**{name: value for name, value in given.items() if value is not None})

"""Readings and lengths as they are said: in mm, what a tape reads in its own unit."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Units
from beltplan.measure.network import without_turn
from beltplan.measure.readings import Image, Reading, Unit
from beltplan.measure.study import Centre, Checked, Measuring
from beltplan.report.screen import KEPT, in_units

_SMALLEST_PART = 64
"""A length that is a whole number of these parts of an inch is said as a fraction."""


def as_read(words: str) -> str:
    """A length that stays as a tape shows it, in whichever units a report is."""
    return words.replace(" mm", f"{KEPT}mm")


def plain(words: str, units: Units) -> str:
    """Words of a report where no screen lays them out: lengths in the file's units."""
    return in_units(words, units).replace(KEPT, " ")


def tape_words(length_mm: float, in_inches: bool) -> str:
    """A length as a tape shows it: 18 1/4 in, 371.5 mm."""
    parts = _SMALLEST_PART * length_mm / MM_PER_INCH
    if not in_inches or abs(parts - round(parts)) > 1e-6:
        return f"{round(length_mm / MM_PER_INCH, 3):g} in" if in_inches else f"{round(length_mm, 2):g} mm"
    whole, part = divmod(Fraction(round(parts), _SMALLEST_PART), 1)
    words = [str(whole)] if whole or not part else []
    return " ".join([*words, *([str(part)] if part else []), "in"])


def listed(names: list[str] | tuple[str, ...], most: int = 4, last: str = "and") -> str:
    """Names in a sentence, the first few and how many more."""
    shown, more = list(names[:most]), len(names) - most
    if more > 0:
        return f"{', '.join(shown)} and {more} more"
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} {last} {shown[-1]}" if shown else ""


def value_words(reading: Reading, in_inches: bool) -> str:
    """What was read, as it stands in the file, with its unit; empty for a place on an image."""
    if reading.value is None:
        return ""
    written = reading.written or f"{reading.value:.6g}"
    unit = "in" if in_inches and reading.written and reading.unit == "mm" else reading.unit
    bare = all(letter in "0123456789.+-/ " for letter in written)
    return f"{written} {unit}" if bare else written


def unit_of(reading: Reading) -> Unit:
    """The unit in which a reading is told: of a place that of its image."""
    return reading.unit if reading.image is None else reading.image.unit


def px_words(off_px: float, image: Image, mm_per_px: float) -> str:
    """A length on an image, in mm as well."""
    return f"{off_px:.1f} mm" if image.unit == "mm" else f"{off_px:.1f} px ({off_px * mm_per_px:.1f} mm)"


def off_words(found: Measuring, reading: Reading, off: float) -> str:
    """How far a reading is off, without its sign, in its unit; of a place in mm as well."""
    if reading.image is not None:
        mm_per_px = next((trust.mm_per_px for trust in found.images if trust.image is reading.image), 1.0)
        return px_words(abs(off), reading.image, mm_per_px)
    return f"{abs(off):.1f} {reading.unit}"


@dataclass(frozen=True)
class _Ellipse:
    """The standard ellipse of a place: half axes in mm, and the angle of the long one from x, 0 to 180 deg."""

    long_mm: float
    short_mm: float
    angle_deg: float


def ellipse_of(centre: Centre) -> _Ellipse | None:
    """The standard ellipse of a place, None where nothing holds it."""
    x, y = centre.sd_x_mm, centre.sd_y_mm
    if x is None or y is None:
        return None
    shared = (centre.correlation or 0.0) * x * y
    values, axes = np.linalg.eigh(np.array(((x * x, shared), (shared, y * y))))
    short, long = np.sqrt(np.maximum(values, 0.0))
    angle = float(np.degrees(np.arctan2(axes[1, 1], axes[0, 1]))) % 180.0
    return _Ellipse(float(long), float(short), angle)


def worst_first(checked: tuple[Checked, ...]) -> list[Checked]:
    """Readings that were left out, then those that are furthest off for what chance makes of them; unchecked last."""
    return sorted(checked, key=lambda each: (not each.left_out, -(-1.0 if each.share is None else each.share)))


def number(value: float, places: int, signed: bool = False) -> str:
    """A number to so many places, without a sign where it rounds to zero."""
    near = round(value, places) + 0.0
    return f"{near:{'+' if signed and near else ''}.{places}f}"


def shape_mm(found: Measuring) -> float:
    """The widest half axis of any standard ellipse, marks left out, once the whole may turn about the origin.

    A belt minds how points lie to each other, not how level they stand together.
    """
    held = [i for i, centre in enumerate(found.centres) if not centre.is_undetermined]
    rows = [row for i in held for row in (2 * i, 2 * i + 1)]
    shape = without_turn(found.places[held], found.covariance_mm2[np.ix_(rows, rows)])
    names = [found.measured.points[i] for i in held]
    blocks = [shape[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] for k, name in enumerate(names) if not is_mark(found, name)]
    return float(np.sqrt(max((float(np.linalg.eigvalsh(block)[-1]) for block in blocks), default=0.0)))


def is_mark(found: Measuring, name: str) -> bool:
    """Whether a point carries no pulley and no adjuster."""
    return name in found.measured.marks

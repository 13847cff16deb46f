"""Readings and lengths as they are said: in mm, what a tape reads in its own unit."""

from __future__ import annotations

from beltplan.checks.limits import all_of
from beltplan.drive.layout import Units
from beltplan.measure.readings import Image, Reading, Unit
from beltplan.report.screen import in_units, length_text
from beltplan.report.words import KEPT


def as_read(words: str) -> str:
    """A length that stays as a tape shows it, in whichever units a report is."""
    return words.replace(" mm", f"{KEPT}mm")


def plain(words: str, units: Units) -> str:
    """Words of a report where no screen lays them out: lengths in the file's units."""
    return in_units(words, units).replace(KEPT, " ")


def listed(names: list[str] | tuple[str, ...], most: int = 4, last: str = "and") -> str:
    """The first names, and how many more; semicolons part those that have commas of their own, outside brackets."""
    shown = [*names[:most], *[f"{len(names) - most} more"] * (len(names) > most)]
    if shown[1:] and any("," in each.partition(" (")[0] for each in shown):
        return "; ".join([*shown[:-1], f"{last} {shown[-1]}"])
    return all_of(shown, last)


def value_words(reading: Reading, in_inches: bool) -> str:
    """What was read, as it stands in the file, with its unit; empty for a place on an image."""
    if reading.value is None:
        return ""
    written = reading.written or f"{reading.value:.6g}"
    unit = "in" if in_inches and reading.written and reading.unit == "mm" else reading.unit
    return f"{written} {unit}" if all(letter in "0123456789.+-/ " for letter in written) else written


def unit_of(reading: Reading) -> Unit:
    return reading.unit if reading.image is None else reading.image.unit


def px_words(off_px: float, image: Image, mm_per_px: float) -> str:
    """A length on an image, in mm as well."""
    return f"{off_px:.1f} mm" if image.unit == "mm" else f"{off_px:.1f} px ({off_px * mm_per_px:.2f} mm)"


def quantity(value: float, unit: Unit, units: Units, signed: bool = True) -> str:
    """A number with its unit, a length in the units asked for; with its sign unless it rounds to zero."""
    told = f"{length_text(value, 1, units)} {units}" if unit == "mm" else f"{value:z.1f} {unit}"
    return f"+{told}" if signed and value > 0.0 and float(told.split()[0]) else told

"""Readings and lengths as they are said: in mm, and in inches as well to whoever writes inches."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.measure.network import Pick, Reading, Source, without_turn
from beltplan.measure.readings import Direction, Distance, Measured, Offset, Picture, Size
from beltplan.measure.study import Centre, Checked, Measuring, Trust

SMALLEST_PART = 64
"""A length that is a whole number of these parts of an inch is said as a fraction."""


def length_words(length_mm: float, in_inches: bool) -> str:
    """A length: 311.2 mm (12.25 in)."""
    words = f"{length_mm:.1f} mm"
    return f"{words} ({length_mm / MM_PER_INCH:.2f} in)" if in_inches else words


def tape_words(length_mm: float, in_inches: bool) -> str:
    """A length as a tape shows it: 18 1/4 in, 371.5 mm."""
    parts = SMALLEST_PART * length_mm / MM_PER_INCH
    if not in_inches or abs(parts - round(parts)) > 1e-6:
        return f"{round(length_mm / MM_PER_INCH, 3):g} in" if in_inches else f"{round(length_mm, 2):g} mm"
    whole, part = divmod(Fraction(round(parts), SMALLEST_PART), 1)
    words = [str(whole)] if whole or not part else []
    return " ".join([*words, *([str(part)] if part else []), "in"])


def listed(names: list[str] | tuple[str, ...], most: int = 4, last: str = "and") -> str:
    """Names in a sentence, the first few and how many more."""
    shown, more = list(names[:most]), len(names) - most
    if more > 0:
        return f"{', '.join(shown)} and {more} more"
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} {last} {shown[-1]}" if shown else ""


def line_of(measured: Measured, source: Source) -> int:
    """The line of the file that a reading stands in; of a place on a picture that of the picture."""
    if isinstance(source, Pick):
        return next(picture.line for picture in measured.pictures if picture.name == source.picture)
    return source.line


def kind_of(source: Source) -> str:
    """What kind of reading it is, in one word."""
    kinds = {Distance: "distance", Direction: "angle", Offset: "offset", Size: "diameter", Pick: "pick"}
    return kinds[type(source)]


def value_words(source: Source, in_inches: bool) -> str:
    """What was read, as it stands in the file, with its unit; empty for a place on a picture."""
    if isinstance(source, Pick):
        return ""
    if isinstance(source, Direction):
        return _with_unit(source.written or f"{np.degrees(source.value_rad):.6g}", "deg")
    length_mm = source.diameter_mm if isinstance(source, Size) else source.value_mm
    return _with_unit(source.written, "in" if in_inches else "mm") if source.written else f"{length_mm:.6g} mm"


def _with_unit(written: str, unit: str) -> str:
    bare = all(letter in "0123456789.+-/ " for letter in written)
    return f"{written} {unit}" if bare else written


def value_of(source: Source) -> float | None:
    """What was read as a number, mm or deg; None for a place on a picture."""
    if isinstance(source, Pick):
        return None
    if isinstance(source, Direction):
        return float(np.degrees(source.value_rad))
    return source.diameter_mm if isinstance(source, Size) else source.value_mm


def px_words(off_px: float, picture: Picture, mm_per_px: float) -> str:
    """A length on a picture, in mm as well."""
    if px_unit(picture) == "mm":
        return f"{off_px:.1f} mm"
    return f"{off_px:.1f} px ({off_px * mm_per_px:.1f} mm)"


def trust_of(found: Measuring, pick: Pick) -> Trust:
    """The picture of a picked place."""
    return next(trust for trust in found.pictures if trust.picture.name == pick.picture)


def unit_of(found: Measuring, reading: Reading) -> str:
    """The unit in which a reading is told."""
    if not isinstance(reading.source, Pick):
        return reading.unit
    return px_unit(trust_of(found, reading.source).picture)


def px_unit(picture: Picture) -> str:
    """The unit of a picture's places: mm where one is the other, as for places that are known."""
    return "mm" if picture.model == "rigid" and picture.px_per_mm == 1.0 else "px"


def off_words(found: Measuring, reading: Reading, off: float) -> str:
    """How far a reading is off, without its sign, in its unit and in inches or mm beside it: 27.2 mm (1.07 in)."""
    off = abs(off)
    if isinstance(reading.source, Pick):
        trust = trust_of(found, reading.source)
        return px_words(off, trust.picture, trust.mm_per_px)
    return f"{off:.1f} deg" if reading.unit == "deg" else length_words(off, found.measured.in_inches)


@dataclass(frozen=True)
class Ellipse:
    """The standard ellipse of a place: half axes in mm, and the angle of the long one from x, 0 to 180 deg."""

    long_mm: float
    short_mm: float
    angle_deg: float


def ellipse_of(centre: Centre) -> Ellipse | None:
    """The standard ellipse of a place, None where nothing holds it."""
    x, y = centre.deviation_x_mm, centre.deviation_y_mm
    if x is None or y is None:
        return None
    shared = (centre.correlation or 0.0) * x * y
    values, axes = np.linalg.eigh(np.array(((x * x, shared), (shared, y * y))))
    short, long = np.sqrt(np.maximum(values, 0.0))
    angle = float(np.degrees(np.arctan2(axes[1, 1], axes[0, 1]))) % 180.0
    return Ellipse(float(long), float(short), angle)


def worst_first(checked: tuple[Checked, ...]) -> list[Checked]:
    """Readings that were left out, then those that are furthest off for what chance makes of them; unchecked last."""
    return sorted(checked, key=lambda each: (not each.left_out, -(-1.0 if each.share is None else each.share)))


def is_of_rim(source: Source) -> bool:
    """Whether it is a diameter, or one of the points of a rim that was traced: it says little of a place."""
    return isinstance(source, Size) or (isinstance(source, Pick) and source.rim_place is not None)


def number(value: float, places: int, signed: bool = False) -> str:
    """A number to so many places, without a sign where it rounds to nought."""
    near = round(value, places) + 0.0
    return f"{near:{'+' if signed and near else ''}.{places}f}"


def shape_mm(found: Measuring) -> float:
    """The widest half axis of any standard ellipse, marks left out, once the whole may turn about the origin.

    A belt minds how points lie to each other, not how level they stand together.
    """
    held = [i for i, centre in enumerate(found.centres) if centre.deviation_mm is not None]
    rows = [row for i in held for row in (2 * i, 2 * i + 1)]
    places = np.array([(found.centres[i].x_mm, found.centres[i].y_mm) for i in held])
    shape = without_turn(places, found.covariance_mm2[np.ix_(rows, rows)])
    names = [found.centres[i].name for i in held]
    blocks = [shape[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] for k, name in enumerate(names) if not is_mark(found, name)]
    return float(np.sqrt(max((float(np.linalg.eigvalsh(block)[-1]) for block in blocks), default=0.0)))


def is_mark(found: Measuring, name: str) -> bool:
    """Whether a point carries no pulley and no adjuster."""
    return name in found.measured.marks

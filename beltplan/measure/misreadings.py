"""Ways to misread: what each changes in a reading, and how it is said."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from beltplan.drive.belt import MM_PER_INCH
from beltplan.layoutfile.values import DENOMINATORS
from beltplan.measure.readings import RIMS, Diameter, Direction, Distance, LoopLength, Measured, Offset, Reading


@dataclass(frozen=True)
class _Way:
    """A way to misread. of: the readings in which it happens; right: what would have been read without it, by what was.

    words: it would fit if it was ...
    """

    of: tuple[type[Reading], ...]
    right: Callable[[float], float]
    words: str


_LENGTHS = (Distance, Offset, LoopLength, Diameter)
_WAYS: dict[str, _Way] = {
    "other sign": _Way((Offset,), lambda mm: -mm, "of the other sign: write {tape}"),
    "read in mm": _Way(_LENGTHS, lambda mm: mm / MM_PER_INCH, "read in mm: write {mm}"),
    "read in inches": _Way(_LENGTHS, lambda mm: mm * MM_PER_INCH, "read in inches: write {inches}"),
    "clockwise": _Way((Direction,), lambda deg: -deg, "read clockwise"),
    "reversed": _Way((Direction,), lambda deg: deg + 180.0, "read from the second point to the first"),
    "plumb": _Way((Direction,), lambda deg: deg + 90.0, "counted from straight up (`from: plumb`)"),
    "plumb other side": _Way(
        (Direction,), lambda deg: 90.0 - deg, "counted from straight up and read from the other side"
    ),
    "other side": _Way(
        (Direction,), lambda deg: 180.0 - deg, "read from the other side, or the level shows no more than 90 deg"
    ),
}
"""Source: the kinds are common practice, no source."""
_ALONG: dict[str, str] = {
    "centres": "taken from centre to centre",
    "outside": "taken over both rims: write `outside: true`",
    "gap": "taken between the rims: write `gap: true`",
}
"""What a tape may have lain along, in the same words."""
_TEN = 10.0
_MOST_STEPS = 12
_STRANGE = 4.0
"""Weight against a step of the unit that the user does not write, and on the logarithm of the number of steps: one
inch is likelier than three times ten millimetres."""
_TOLERATED = 3.0
"""An error explains itself by what lies within so many of its standard deviations of it."""
_INCH_PART = 1.0 / max(DENOMINATORS)
_OF_INCHES, _DECIMAL = re.compile(r"in|ft|[\"'\u2019\u201d\u2032\u2033]"), re.compile(r"[-+]?\d*\.?\d+")
_ALIKE = 1e-6
"""A right angle is nine times ten degrees as well: where both explain as much, the way of misreading says more."""


@dataclass(frozen=True)
class Misreading:
    """A way in which one reading may have been misread.

    fits: what would have been read without it, mm or deg as the reading counts.
    words: how it is said, with the places of what is to be written.
    """

    kind: str
    fits: float
    words: str


def steps_in(error: float, sd: float, reading: Reading, in_inches: bool) -> tuple[float, int]:
    """The likeliest step (an inch, ten mm, ten deg) that explains an error, and how many; 0 where none comes near."""
    part_mm = _part_mm(reading.written, in_inches)
    lengths = (MM_PER_INCH, _TEN) if in_inches else (_TEN, MM_PER_INCH)
    found: list[tuple[float, float, int]] = []
    for i, step in enumerate({"mm": lengths, "deg": (_TEN,), "px": ()}[reading.unit]):
        steps = round(error / step)
        if reading.unit == "mm" and not math.isclose(parts := steps * step / part_mm, round(parts), abs_tol=1e-6):
            continue
        off = abs(error - steps * step) / sd
        # Where the standard deviation is wide, some whole number of steps always lies near: it explains nothing.
        if 0 < abs(steps) <= _MOST_STEPS and off <= _TOLERATED and _TOLERATED * sd < 0.5 * step:
            found.append((off**2 + _STRANGE * (math.log(abs(steps)) + i), step, steps))
    return min(found)[1:] if found else (0.0, 0)


def misreading_in(measured: Measured, reading: Reading, error: float, sd: float, off_steps: float) -> Misreading | None:
    """The misreading that explains an error within its standard deviation, the nearest of all that do, if any does.

    None that no tape could read; nor one where whole steps explain it better: they leave `off_steps` of it.
    """
    if reading.value is None:
        return None
    right = reading.value - error
    offs = [(_off(each.fits - right, reading), each) for each in _misreadings(measured, reading)]
    # Where the standard deviation is wide, what was read lies near as well: then nothing is explained.
    near = [(off, each) for off, each in offs if off <= _TOLERATED * sd < 0.5 * abs(error)]
    off, misreading = min(near, key=lambda each: each[0], default=(math.inf, None))
    return misreading if off <= off_steps + _ALIKE else None


def _misreadings(measured: Measured, reading: Reading) -> Iterator[Misreading]:
    """Every misreading that may have been made in a reading, whether it explains anything or not."""
    value = reading.value
    if value is None or (isinstance(reading, LoopLength) and reading.is_belt):
        return
    for kind, way in _WAYS.items():
        if isinstance(reading, way.of) and _can_be_read(kind, reading.written, measured.in_inches):
            yield Misreading(kind, way.right(value), way.words)
    radii = [each.value_mm / 2.0 for name in reading.points for each in measured.diameters if each.pulley == name][:2]
    if isinstance(reading, Distance) and len(radii) == 2:
        # The reading counts as its own way says; taken as another way, the centres lie elsewhere.
        for along, rims in RIMS.items():
            if along != reading.between:
                yield Misreading(along, value + (RIMS[reading.between] - rims) * sum(radii), _ALONG[along])


def _off(error: float, reading: Reading) -> float:
    """How large an error is; whole turns of an angle are none."""
    return abs(math.remainder(error, 360.0)) if reading.unit == "deg" else abs(error)


def _part_mm(written: str, in_inches: bool) -> float:
    """The smallest part in which a length was read: its last decimal, or a fraction of an inch."""
    decimals = _decimals(written)
    if _counts_in_inches(written, in_inches):
        return MM_PER_INCH * (10.0**-decimals if decimals else _INCH_PART)
    return 10.0 ** (written.endswith("cm") - (decimals if written else 1))


def _counts_in_inches(written: str, in_inches: bool) -> bool:
    """Whether a length counts in inches. in_inches: where it has no unit of its own."""
    return not written.endswith(("mm", "cm")) and (in_inches or _OF_INCHES.search(written) is not None)


def _decimals(written: str) -> int:
    return len(written.partition(".")[2].rstrip('mcinh "'))


def _can_be_read(kind: str, written: str, in_inches: bool) -> bool:
    if not written or kind not in ("read in mm", "read in inches"):
        return True
    if (kind == "read in mm") is not _counts_in_inches(written, in_inches):
        return False
    number = written.rstrip('mcinh "')
    if not _DECIMAL.fullmatch(number):
        return kind == "read in inches"
    off = abs(float(number) - _INCH_PART * round(float(number) / _INCH_PART))
    return kind == "read in mm" or off <= 0.5 * 10.0 ** -_decimals(written)

"""Ways to misread: what each changes in a reading, and how it is said."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import islice, product
from string import digits
from typing import NamedTuple

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.own_units import own_unit_value
from beltplan.geometry.vectors import Floats, norm
from beltplan.layoutfile.values import DENOMINATORS, length_mm
from beltplan.measure.readings import (
    RIMS,
    Diameter,
    Direction,
    Distance,
    LoopLength,
    Measured,
    Offset,
    Pick,
    Pixel,
    Reading,
)
from beltplan.measure.values import as_read, value_words
from beltplan.report.screen import tape_words


@dataclass(frozen=True)
class Misreading:
    """A way in which one reading may have been misread.

    fits: what would have been read without it, mm or deg as the reading counts; NaN of a pick. told: what it was then.
    steps: 1, or -1 if too little, where it is off by just one `step` (an inch, half or ten of them, 10 or 100 mm, ten
    degrees).
    ends: the points between which the tape was taken instead, where that is what it was.
    small: whether the error is so small that chance alone may bring some misreading near it.
    against: what speaks against it, twice a natural logarithm of odds: how far off it leaves the reading, in squares
    of standard deviations, and how rare it is, or how many like it might fit as well.
    """

    kind: str
    fits: float
    told: str
    step: float = 0.0
    steps: int = 0
    small: bool = False
    against: float = 0.0
    ends: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """How it is said."""
        return f"{WOULD}{self.told}"


class _Way(NamedTuple):
    """A way to misread. of: the readings in which it happens; right: what would have been read without it, by what was.

    words: it would fit if it was ...
    """

    of: tuple[type[Reading], ...]
    right: Callable[[float], float]
    words: str


_TEN, _HUNDRED, _MOST_DEG = 10.0, 100.0, 360.0
_INCHES = {10.0 * MM_PER_INCH: "ten inches", MM_PER_INCH: "a whole inch", 0.5 * MM_PER_INCH: "half an inch"}
_LENGTHS = (Distance, Offset, LoopLength, Diameter)
WAYS: dict[str, _Way] = {
    "other sign": _Way((Offset,), lambda mm: -mm, "of the other sign: write {tape}"),
    "read in mm": _Way(_LENGTHS, lambda mm: mm / MM_PER_INCH, "read in mm: write {mm}"),
    "read in inches": _Way(_LENGTHS, lambda mm: mm * MM_PER_INCH, "read in inches: write {inches}"),
    "plumb": _Way((Direction,), lambda deg: deg + 90.0, "counted from straight up{write}"),
    "clockwise": _Way((Direction,), lambda deg: -deg, "read clockwise{write}"),
    "reversed": _Way((Direction,), lambda deg: deg + 180.0, "read from the second point to the first{write}"),
    "plumb other side": _Way((Direction,), lambda deg: 90.0 - deg, "counted from straight up, clockwise{write}"),
    "other side": _Way((Direction,), lambda deg: 180.0 - deg, "read from the other side{write}"),
    "radius": _Way((Diameter,), lambda mm: 2.0 * mm, "its radius: write {tape}"),
}
"""Source: the kinds are common practice, no source."""
_ALONG: dict[str, str] = {
    "centres": "taken from centre to centre",
    "outside": "taken over both rims: write `outside: true`",
    "gap": "taken between the rims: write `gap: true`",
}
"""What a tape may have lain along, in the same words."""
_ANY, _FIRST = re.compile(r"(\d+(?:\.\d+)?|\.\d+)"), re.compile(r"\A[-+\s]*(\d+(?:\.\d+)?|\.\d+)")
_DOUBLED = re.compile(r"(\d)(?=\1\d*(?:\.|\Z))")
_DIGITS: dict[str, tuple[str, re.Pattern[str], Callable[[str], Iterator[str]]]] = {
    "point misplaced": (
        ", the decimal point misplaced",
        _FIRST,
        # A nought may be lost, and nobody writes one more.
        lambda number: (
            meant for by in (-1, 1) if "." in number + (meant := f"{10.0**by * float(number):.10g}") or by == 1
        ),
    ),
    "digits swapped": (
        ", two digits swapped",
        _ANY,
        lambda number: (
            number[: pair.start()] + pair[3] + pair[2] + pair[1] + number[pair.end(3) :]
            for pair in re.finditer(r"(?=(\d)(\.?)(\d))", number)
        ),
    ),
    "digit doubled": (
        ", a digit doubled",
        _FIRST,
        lambda number: (number[: twice.start()] + number[twice.end() :] for twice in _DOUBLED.finditer(number)),
    ),
    "digit lost": (
        ", a digit lost",
        _FIRST,
        lambda number: (
            number[:i] + digit + number[i:] for i in range(len(number.partition(".")[0])) for digit in digits
        ),
    ),
    # Of a whole number: which digit the last one was no other reading knows to one mm.
    "last digit lost": (" or so, its last digit lost", _FIRST, lambda number: (number + digit for digit in digits)),
}
"""Words, the numbers of a text in which it happens, and what each may have been meant for. Of equals the first."""
_OF_MANY = 2.0 * math.log(10.0)
"""What speaks against a digit lost: one of ten fits by chance where it is one of many."""
_TOLERATED = 3.0
"""An error explains itself by what lies within so many of its standard deviations of it."""
_RIM_MM = 2.0
"""And a diameter within so much: the line of a belt lies less off the rim (common practice, no source)."""
_NEAR = 0.3
"""And within this share of it: where the standard deviation is wide, much lies near, also what was read itself."""
_ROUGH_DEG, _ROUGH = 5.0, 0.1
"""An angle counted from elsewhere is told where it lies so near, in deg and as a share of the error: our own choice."""
_AS_WELL = 2.0
"""A tape was taken to another point perhaps where it reads that distance within so many standard deviations."""
_AS_LIKELY, _MOST_CAUSES = 6.0, 3
"""What speaks no more than this against a misreading than against the likeliest is told beside it: odds of 1 to 20."""
OTHER_END = "other end"
WOULD = "it would fit if it was "
_OF_INCHES, _DECIMAL = re.compile(r"in|ft|[\"'\u2019\u201d\u2032\u2033]"), re.compile(r"[-+]?\d*\.?\d+")


def misreadings_in(
    measured: Measured, reading: Reading, error: float, sd: float, places: Floats
) -> tuple[Misreading, ...]:
    """The misreadings that explain an error within its standard deviation, the likeliest first; such as a tape reads.

    places: where the points lie without the reading, (points, 2) mm.
    """
    # A unit may stand in capitals.
    plain = replace(reading, written=reading.written.lower())
    if plain.value is None or (isinstance(reading, LoopLength) and reading.is_belt):
        return ()
    found = [*_steps(plain, plain.value, error, sd, measured.in_inches), *_other_ends(measured, reading, places)]
    # Where the others hardly know a diameter, much lies near: it agrees only as calipers would.
    most = max(_TOLERATED * reading.sd, _RIM_MM) if isinstance(reading, Diameter) else math.inf
    within = min(_TOLERATED * sd, most)
    for each in _ways(measured, plain, plain.value):
        off = abs(math.remainder(each.fits - plain.value + error, 360.0 if plain.unit == "deg" else math.inf))
        # Where others are misread as well they know an angle less well than they seem to.
        rough = isinstance(reading, Direction) and each.kind in WAYS and off <= min(_ROUGH_DEG, _ROUGH * abs(error))
        if off <= min(within, _NEAR * abs(error)) or rough:
            small = each.small or _TOLERATED * sd >= 0.5 * abs(error) or off > within
            found.append(replace(each, small=small, against=each.against + (off / sd) ** 2))
    found.sort(key=lambda each: round(each.against, 6))
    told = [each for each in found if each.against <= found[0].against + _AS_LIKELY]
    # What should have been read is told once: 0.8 for 8 is a point misplaced, and digits swapped as well.
    once = (each for i, each in enumerate(told) if not any(_is_same(each, own) for own in told[:i]))
    return tuple(islice(once, _MOST_CAUSES))


def _is_same(one: Misreading, other: Misreading) -> bool:
    if math.isclose(one.fits, other.fits) or (one.kind == other.kind and one.kind in _DIGITS):
        return True
    # A pulley is told once, with its arm at a stop or not.
    return bool(one.ends) and one.ends == other.ends


def mispicked(pick: Pick, seen: Floats, error: float, sd: float) -> tuple[Misreading, ...]:
    """Slips of the pen that put a pick where all the others have it, px as its image counts: `seen`, (2)."""
    within, at = min(_TOLERATED * sd, _NEAR * abs(error)), np.multiply(pick.on.way, seen)
    kind, told, meant = min(_pen_slips(pick), key=lambda each: math.dist(each[2], at))
    return (Misreading(kind, math.nan, told),) if math.dist(meant, at) <= within else ()


def mispicked_length(pick: Pick, other: Pixel, length_px: float, sd_px: float) -> list[str]:
    """What a pick was, in words, if a slip of the pen in it makes a length from another place wrong; the likeliest."""
    end = np.multiply(pick.on.way, other)
    off = [(abs(math.dist(meant, end) - length_px), told) for _, told, meant in _pen_slips(pick)]
    return [told for apart, told in sorted(off)[:1] if apart <= _TOLERATED * sd_px]


def _pen_slips(pick: Pick) -> list[tuple[str, str, Pixel]]:
    """Slips of the pen in a pick: kind, what it was in words, and that as it is written, px."""
    u, v = (sign * px for sign, px in zip(pick.on.way, pick.at, strict=True))
    slips = [("exchanged", ", its two numbers exchanged", (v, u))]
    slips += [("other sign", ", of the other sign", at) for at in ((-u, v), (u, -v), (-u, -v))]
    for kind, (words, _, numbers) in _DIGITS.items():
        slips += [(kind, words, (math.copysign(float(meant), u), v)) for meant in numbers(f"{abs(u):.10g}")]
        slips += [(kind, words, (u, math.copysign(float(meant), v))) for meant in numbers(f"{abs(v):.10g}")]
    return [(kind, f"[{meant[0]:.10g}, {meant[1]:.10g}]{words}", meant) for kind, words, meant in slips]


def _steps(reading: Reading, value: float, error: float, sd: float, in_inches: bool) -> Iterator[Misreading]:
    """One step (an inch, half or ten of them, ten or a hundred mm, ten deg) that comes near an error: nobody misreads
    more of them."""
    inches = _counts_in_inches(reading.written, in_inches)
    # The marks of half inches are on a tape of fractions.
    lengths = tuple(_INCHES)[: 2 if "." in reading.written else 3] if inches else (_HUNDRED, _TEN)
    for step in {"mm": lengths, "deg": (_TEN,), "px": ()}[reading.unit]:
        steps = round(error / step)
        off, fits = abs(error - steps * step), value - steps * step
        # Where the standard deviation is wide, some whole number of steps always lies near: it explains nothing.
        is_near = off <= min(_TOLERATED * sd, _NEAR * abs(error)) and _TOLERATED * sd < 0.5 * min(step, MM_PER_INCH)
        # One inch is told all the same where it just fits, as what may have been: it names nothing.
        small = not is_near and step == MM_PER_INCH and off <= sd <= step / _TOLERATED
        # Nor does half an inch: many an error comes near it.
        small |= is_near and step < MM_PER_INCH and inches
        if (is_near or small) and abs(steps) == 1:
            told = _INCHES.get(step) or as_read(f"{step:g} {reading.unit}")
            # What is written may count from plumb, or be another diameter than the rim's.
            shown = fits - value + (_number(reading, reading.written, in_inches) if reading.written else value)
            right = tape_words(shown, in_inches) if reading.unit == "mm" else f"{shown:.5g} deg"
            words = f"{as_read(right)}, {told} {'less' if steps > 0 else 'more'}"
            yield Misreading("steps", fits, words, step, steps, small, (off / sd) ** 2)


def _ways(measured: Measured, reading: Reading, value: float) -> Iterator[Misreading]:
    # An effective diameter is written, the rim is what the tape lies on.
    typed = isinstance(reading, Diameter) and reading.written
    over_rim = _number(reading, reading.written, measured.in_inches) - value if typed else 0.0
    for kind, way in WAYS.items():
        if isinstance(reading, way.of) and _can_be_read(kind, reading.written, measured.in_inches):
            mm = way.right(value + over_rim)
            from_plumb = kind.startswith("plumb") or _is_from_plumb(reading, value)
            level, plumb = ((each + 180.0) % 360.0 - 180.0 for each in (mm, mm - 90.0))
            told = way.words.format(
                mm=as_read(f"{mm:.5g} mm"),
                inches=f"{mm / MM_PER_INCH:.5g} in",
                tape=as_read(tape_words(mm, measured.in_inches)),
                write=f": write `{{value: {plumb:.5g}, from: plumb}}`" if from_plumb else f": write {level:.5g} deg",
            )
            yield Misreading(kind, mm - over_rim, told)
    rims = [
        (name, each.value_mm / 2.0) for name in reading.points for each in measured.diameters if each.pulley == name
    ]
    radii = dict(rims).values()
    if isinstance(reading, Distance) and reading.between == "centres":
        for name, radius in rims:
            for side, more in (("near", radius), ("far", -radius)):
                told = f"taken to the {side} rim of {name}"
                yield Misreading(f"{side} rim", value + more, told, against=2.0 * math.log(2.0 * len(rims)))
    if isinstance(reading, Distance) and len(radii) == 2:
        # The reading counts as its own way says; taken as another way, the centres lie elsewhere.
        for along, both in RIMS.items():
            if along != reading.between:
                yield Misreading(along, value + (RIMS[reading.between] - both) * sum(radii), _ALONG[along])
    yield from _digit_slips(measured, reading, value)


def _is_from_plumb(reading: Reading, value: float) -> bool:
    """Whether what is written of an angle counts from straight up."""
    return reading.unit == "deg" and bool(reading.written) and abs(_degrees(reading.written) - value) > 1.0


def _other_ends(measured: Measured, reading: Reading, places: Floats) -> Iterator[Misreading]:
    """Between which other points a distance was taken if it reads just that; a pulley on an arm is one."""
    if not isinstance(reading, Distance) or reading.between != "centres":
        return
    where = dict(zip(measured.points, places, strict=True))
    reaches = [(pivot, "", arm) for pivot, arm in measured.carried_mm.items()]
    reaches += [
        (pivot, f" (arm at its stop of {math.degrees(math.atan2(y, x)) % 360.0:.0f} deg)", (x, y))
        for pivot, stops in measured.stopped_mm.items()
        for x, y in stops
    ]
    # By its name, the stop at which it lies, and the adjuster that it is of.
    ends = {(name, "", _holder(name)): at for name, at in where.items() if name not in reading.points}
    ends |= {(f"the pulley of {_holder(on)}", stop, _holder(on)): where[on] + arm for on, stop, arm in reaches}
    for own, ((name, stop, holder), at) in product(reading.points, ends.items()):
        apart, (meant,) = float(norm(at - where[own])), (each for each in reading.points if each != own)
        # Of one adjuster: the other end of a slide, the pulley of an arm. Any other point may lie there by chance.
        by_chance = not holder or holder != _holder(meant)
        off = (reading.value - apart) / reading.sd
        if abs(off) <= _AS_WELL:
            against, told = off**2 + 2.0 * math.log(2.0 * len(ends)), f"taken from {own} to {name}{stop}"
            yield Misreading(OTHER_END, apart, told, small=by_chance, against=against, ends=(own, name))


def _holder(point: str) -> str:
    return point.rpartition(".")[0]


def _digit_slips(measured: Measured, reading: Reading, value: float) -> Iterator[Misreading]:
    """Slips of the pen. Digits are swapped in fractions too."""
    every = (*measured.distances, *measured.offsets, *measured.loops, *measured.diameters, *measured.directions)
    most = max(_decimals(each.written) for each in (reading, *every) if type(each) is type(reading))
    for kind, (words, where, numbers) in _DIGITS.items():
        for number in where.finditer(reading.written):
            for meant in dict.fromkeys(numbers(number[1])):
                written = reading.written[: number.start(1)] + meant + reading.written[number.end(1) :]
                # Nobody reads more decimals than anywhere else, or writes 0207 for 207.
                if _decimals(written) > most or (meant[0] == "0" and meant[1:2].isdigit()):
                    continue
                with suppress(ValueError):
                    now = _number(reading, reading.written, measured.in_inches)
                    fits = value + _number(reading, written, measured.in_inches) - now
                    told = as_read(value_words(replace(reading, written=written), measured.in_inches))
                    lost = kind == "point misplaced" and "/" in written and f"{number[1]}0" == meant
                    told += ", a zero left out" if lost else words
                    is_one_of_ten = kind.endswith("lost")
                    yield Misreading(kind, fits, told, small=is_one_of_ten, against=_OF_MANY * is_one_of_ten)


def _number(reading: Reading, written: str, in_inches: bool) -> float:
    """What a text says, mm or deg. Raises ValueError where no tape or level can show it."""
    if reading.unit == "mm":
        return length_mm(written, MM_PER_INCH if in_inches else 1.0)
    degrees = _degrees(written)
    # Nobody counts more than half a turn from straight up.
    most = 0.5 * _MOST_DEG if reading.value is not None and _is_from_plumb(reading, reading.value) else _MOST_DEG
    if not -0.5 * _MOST_DEG <= degrees <= most:
        raise ValueError(written)
    return degrees


def _degrees(written: str) -> float:
    own = own_unit_value(written, "deg")
    return float(written) if own is None else own


def _counts_in_inches(written: str, in_inches: bool) -> bool:
    """in_inches: where it has no unit of its own."""
    return not written.endswith(("mm", "cm")) and (in_inches or _OF_INCHES.search(written) is not None)


def _decimals(written: str) -> int:
    return len(written.partition(".")[2].lower().rstrip('mcinh "'))


def _can_be_read(kind: str, written: str, in_inches: bool) -> bool:
    """Whether a tape in the other unit shows what is written: none in inches shows 17.481."""
    if not written or kind not in ("read in mm", "read in inches"):
        return True
    if (kind == "read in mm") is not _counts_in_inches(written, in_inches):
        return False
    number = written.rstrip('mcinh "')
    if not _DECIMAL.fullmatch(number):
        return kind == "read in inches"
    part = 1.0 / max(DENOMINATORS)
    off = abs(float(number) - part * round(float(number) / part))
    return kind == "read in mm" or off <= 0.5 * 10.0 ** -_decimals(written)

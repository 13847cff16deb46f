"""Ways to misread: what each changes in a reading, and how it is said."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace

from beltplan.drive.belt import MM_PER_INCH
from beltplan.geometry.vectors import Floats, norm
from beltplan.layoutfile.values import DENOMINATORS, length_mm
from beltplan.measure.readings import RIMS, Diameter, Direction, Distance, LoopLength, Measured, Offset, Reading
from beltplan.measure.values import as_read, value_words
from beltplan.report.screen import tape_words


@dataclass(frozen=True)
class Misreading:
    """A way in which one reading may have been misread.

    fits: what would have been read without it, mm or deg as the reading counts. words: how it is said.
    steps: the whole number of `step` (an inch, 10 or 100 mm, ten degrees) that it is off by, where it is just that.
    small: whether the error is so small that chance alone may bring some misreading near it.
    tells: whether it tells what to write: nothing else explains the error nearly as well.
    """

    kind: str
    fits: float
    words: str
    step: float = 0.0
    steps: int = 0
    small: bool = False
    tells: bool = True


@dataclass(frozen=True)
class _Way:
    """A way to misread. of: the readings in which it happens; right: what would have been read without it, by what was.

    words: it would fit if it was ...
    """

    of: tuple[type[Reading], ...]
    right: Callable[[float], float]
    words: str


_TEN, _HUNDRED, _MOST_DEG = 10.0, 100.0, 360.0
_LENGTHS = (Distance, Offset, LoopLength, Diameter)
WAYS: dict[str, _Way] = {
    "other sign": _Way((Offset,), lambda mm: -mm, "of the other sign: write {tape}"),
    "read in mm": _Way(_LENGTHS, lambda mm: mm / MM_PER_INCH, "read in mm: write {mm}"),
    "read in inches": _Way(_LENGTHS, lambda mm: mm * MM_PER_INCH, "read in inches: write {inches}"),
    "read in cm": _Way(_LENGTHS, lambda mm: mm * _TEN / MM_PER_INCH, "read in cm: write {cm}"),
    "in cm": _Way(_LENGTHS, lambda mm: 10.0 * mm, "in cm: write {cm}"),
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
_DIGITS: dict[str, tuple[str, re.Pattern[str], Callable[[str], Iterator[str]]]] = {
    "other fraction": (
        "{written}, another part of an inch",
        re.compile(r"/\s*(\d+)"),
        lambda number: (str(each) for each in DENOMINATORS if int(number) in (2 * each, each / 2)),
    ),
    "point misplaced": (
        "{written}, the decimal point misplaced",
        _FIRST,
        lambda number: (meant for by in (-1, 1) if "." in number + (meant := f"{10.0**by * float(number):.10g}")),
    ),
    "digits swapped": (
        "{written}, two digits swapped",
        _ANY,
        lambda number: (
            number[: pair.start()] + pair[3] + pair[2] + pair[1] + number[pair.end(3) :]
            for pair in re.finditer(r"(?=(\d)(\.?)(\d))", number)
        ),
    ),
    "digit lost": (
        "{written}, a digit lost",
        _FIRST,
        lambda number: (number[:i] + str(d) + number[i:] for i in range(len(number) + 1) for d in range(10)),
    ),
}
"""Words, the numbers of a text in which it happens, and what each may have been meant for. Of equals the first."""
_IN_PARTS = ("read back", "other fraction")
"""Slips of a tape that shows parts of an inch: likelier there than others, and often too near to each other."""
_LIKELIER = {**dict.fromkeys(_IN_PARTS, -1), "digit lost": 1}
"""Of some digit that was lost ten come near; what else explains as much is likelier."""
_ALIKE = 4.0
"""A misreading that no more speaks against explains an error nearly as well: two standard deviations."""
_INCHES = {MM_PER_INCH: "a whole inch", 10.0 * MM_PER_INCH: "ten inches", 12.0 * MM_PER_INCH: "a foot"}
_MOST_STEPS = {_HUNDRED: 3, _TEN: 9, **dict.fromkeys(_INCHES, 1), MM_PER_INCH: 3}
"""Nobody misreads more of them: a tape held at its 100 mm, another digit, a wrong whole inch."""
_STRANGE = 4.0
"""Weight against a step of the unit that the user does not write, and on the logarithm of the number of steps: one
inch is likelier than three times ten millimetres."""
_TOLERATED = 3.0
"""An error explains itself by what lies within so many of its standard deviations of it."""
_NEAR = 0.3
"""And within this share of it: where the standard deviation is wide, much lies near, also what was read itself."""
_INCH_PART = 1.0 / max(DENOMINATORS)
_WOULD = "it would fit if it was "
_OF_INCHES, _DECIMAL = re.compile(r"in|ft|[\"'\u2019\u201d\u2032\u2033]"), re.compile(r"[-+]?\d*\.?\d+")


def misreading_in(
    measured: Measured, reading: Reading, error: float, sd: float, places: Floats | None = None
) -> Misreading | None:
    """The misreading that explains an error within its standard deviation, the likeliest of all that do, if any does.

    None that no tape could read. places: where the points lie, (points, 2) mm, as far as known.
    """
    # A unit may stand in capitals.
    reading = replace(reading, written=reading.written.lower())
    if reading.value is None:
        return None
    right, found = reading.value - error, list[tuple[float, Misreading]]()
    for each in (*_ways(measured, reading, reading.value), *_by_arm(measured, reading, reading.value, places)):
        off = abs(math.remainder(each.fits - right, 360.0 if reading.unit == "deg" else math.inf))
        if off <= min(_TOLERATED * sd, _NEAR * abs(error)):
            # What has one decimal was read in cm rather than that it lost a digit besides.
            against = 0.0 if each.kind == "in cm" else (off / sd) ** 2
            found.append((against, replace(each, small=_TOLERATED * sd >= 0.5 * abs(error))))
    steps = list(_steps(reading, reading.value, error, sd, measured.in_inches))
    if not found and not steps:
        return None
    ranked = sorted([*found, *steps], key=lambda each: round(each[0], 6) + _STRANGE * _LIKELIER.get(each[1].kind, 0))
    against, best = ranked[0]
    # An eighth of an inch apart, two are too near for the others to tell; with half an inch they are the same.
    near = [each for other, each in ranked[1:] if other - against < _ALIKE and abs(each.fits - best.fits) > 1e-6]
    # Some digit that was lost always comes near.
    rivals = [each for each in near if best.kind == "digit lost" or each.kind != "digit lost"]
    same = [each for _, each in ranked[1:] if each.steps and abs(each.fits - best.fits) <= 1e-6]
    if best.kind not in _IN_PARTS:
        return replace(best, tells=best.tells and not rivals)
    told = f"; or {rivals[0].words.removeprefix(_WOULD)}" if rivals else ""
    return replace((same or [best])[0], words=f"{(same or [best])[0].words}{told}", tells=not (rivals or same))


def _steps(
    reading: Reading, value: float, error: float, sd: float, in_inches: bool
) -> Iterator[tuple[float, Misreading]]:
    """Whole steps (an inch, ten mm, ten deg) that come near an error, with what speaks against each."""
    # The smallest part in which a length was read: its last decimal, or a fraction of an inch.
    written, decimals = reading.written, _decimals(reading.written)
    part_mm = 10.0 ** (written.endswith("cm") - (decimals if written else 1))
    if _counts_in_inches(written, in_inches):
        part_mm = MM_PER_INCH * (10.0**-decimals if decimals else _INCH_PART)
    lengths = (*_INCHES, _TEN) if in_inches else (_HUNDRED, _TEN, MM_PER_INCH)
    for step in {"mm": lengths, "deg": (_TEN,), "px": ()}[reading.unit]:
        steps = round(error / step)
        is_foreign = reading.unit == "mm" and in_inches is not (step in _INCHES)
        if reading.unit == "mm" and not math.isclose(parts := steps * step / part_mm, round(parts), abs_tol=1e-6):
            continue
        off = abs(error - steps * step) / sd
        # Where the standard deviation is wide, some whole number of steps always lies near: it explains nothing.
        is_near = off * sd <= min(_TOLERATED * sd, _NEAR * abs(error)) and _TOLERATED * sd < 0.5 * min(
            step, MM_PER_INCH
        )
        # On a tape in mm an inch is no slip where a whole ten comes as near.
        is_ten = not in_inches and is_foreign and abs(math.remainder(error, _TEN)) <= off * sd
        if 0 < abs(steps) <= _MOST_STEPS[step] and is_near and not is_ten:
            fits = value - steps * step
            words = _step_words(fits, step, abs(steps), reading, in_inches)
            misread = Misreading("steps", fits, words, step, steps, tells=False)
            is_rare = step in _INCHES and step != MM_PER_INCH
            yield off**2 + _STRANGE * (math.log(abs(steps)) + is_foreign + is_rare), misread


def _step_words(fits: float, step: float, steps: int, reading: Reading, in_inches: bool) -> str:
    if reading.unit == "deg":
        return f"{steps * step:g} deg misread would explain it"
    inches = _INCHES.get(step) if steps == 1 else f"{steps} whole inches"
    told = inches if inches and step in _INCHES else as_read(f"{steps * step:g} mm")
    return f"{told} misread would explain it: {as_read(tape_words(fits, in_inches))} would fit"


def _ways(measured: Measured, reading: Reading, value: float) -> Iterator[Misreading]:
    """Every misreading that may have been made in a reading, whether it explains anything or not."""
    if isinstance(reading, LoopLength) and reading.is_belt:
        return
    # An effective diameter is written, the rim is what the tape lies on.
    typed = isinstance(reading, Diameter) and reading.written
    over_rim = _number(reading, reading.written, measured.in_inches) - value if typed else 0.0

    def misreading(kind: str, fits: float, words: str, written: str = "") -> Misreading:
        mm = fits + over_rim
        told = words.format(
            mm=as_read(f"{mm:.5g} mm"),
            inches=f"{mm / MM_PER_INCH:.5g} in",
            tape=as_read(tape_words(mm, measured.in_inches)),
            write="" if reading.unit != "deg" else f": write {_angle_words(kind, reading, fits)}",
            cm=as_read(f"{mm / _TEN:.5g} cm"),
            written=as_read(value_words(replace(reading, written=written), measured.in_inches)),
        )
        return Misreading(kind, fits, f"{_WOULD}{told}")

    for kind, way in WAYS.items():
        if isinstance(reading, way.of) and _can_be_read(kind, reading.written, measured.in_inches):
            yield misreading(kind, way.right(value + over_rim) - over_rim, way.words)
    if isinstance(reading, _LENGTHS) and "/" in reading.written and not _decimals(reading.written):
        whole, part = divmod(abs(value + over_rim) / MM_PER_INCH, 1.0)
        for mark, fits in ((whole, whole - part), (whole + 1.0, whole + 1.0 - part)):
            if fits > 0.0:
                told = f"{{tape}}, its fraction counted back from the {mark:g}"
                yield misreading("read back", math.copysign(MM_PER_INCH * fits, value) - over_rim, told)
    radii = [each.value_mm / 2.0 for name in reading.points for each in measured.diameters if each.pulley == name][:2]
    if isinstance(reading, Distance) and len(radii) == 2:
        # The reading counts as its own way says; taken as another way, the centres lie elsewhere.
        for along, rims in RIMS.items():
            if along != reading.between:
                yield misreading(along, value + (RIMS[reading.between] - rims) * sum(radii), _ALONG[along])
    for kind, words, written, off in _digit_slips(measured, reading):
        yield misreading(kind, value + off, words, written)


def _by_arm(measured: Measured, reading: Reading, value: float, places: Floats | None) -> Iterator[Misreading]:
    """A distance to the pulley on an arm, written as one to the arm's pivot; with the arm as the design has it."""
    for own, other in (reading.points, reading.points[::-1]) if isinstance(reading, Distance) else ():
        if places is not None and own in measured.carried_mm:
            step = places[measured.points.index(own)] - places[measured.points.index(other)]
            more = float(norm(step + measured.carried_mm[own]) - norm(step))
            words = f"{_WOULD}taken to {own.rpartition('.')[0]} itself, not to the pivot of its arm"
            yield Misreading("to the pulley", value - more, words, tells=False)


def _angle_words(kind: str, reading: Reading, fits: float) -> str:
    """What to write for an angle that would fit, deg from level: from plumb too where the user has plumb in mind."""
    level, plumb = ((each + 180.0) % 360.0 - 180.0 for each in (fits, fits - 90.0))
    with suppress(ValueError):
        is_plumb = abs((reading.value or 0.0) - float(reading.written) - 90.0) < 1e-6
        if is_plumb or kind.startswith("plumb"):
            return f"`{{value: {plumb:.5g}, from: plumb}}`, or {level:.5g} from level"
    return f"{level:.5g} deg from level"


def _digit_slips(measured: Measured, reading: Reading) -> Iterator[tuple[str, str, str, float]]:
    """Slips of the pen: kind, words, what was meant, by how much that is more. Digits are swapped in fractions too."""
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
                    yield kind, words, written, _number(reading, written, measured.in_inches) - now


def _number(reading: Reading, written: str, in_inches: bool) -> float:
    """What a text says, mm or deg. Raises ValueError where no tape or level can show it."""
    if reading.unit == "mm":
        return length_mm(written, MM_PER_INCH if in_inches else 1.0)
    if not abs(float(written)) <= _MOST_DEG:
        raise ValueError(written)
    return float(written)


def _counts_in_inches(written: str, in_inches: bool) -> bool:
    """Whether a length counts in inches. in_inches: where it has no unit of its own."""
    return not written.endswith(("mm", "cm")) and (in_inches or _OF_INCHES.search(written) is not None)


def _decimals(written: str) -> int:
    return len(written.partition(".")[2].lower().rstrip('mcinh "'))


def _can_be_read(kind: str, written: str, in_inches: bool) -> bool:
    if kind == "in cm":
        return _DECIMAL.fullmatch(written) is not None and not in_inches and _decimals(written) == 1
    if kind == "read in cm":
        number = written.rstrip('inh "')
        return (
            _counts_in_inches(written, in_inches) and _DECIMAL.fullmatch(number) is not None and _decimals(written) < 2
        )
    if not written or kind not in ("read in mm", "read in inches"):
        return True
    if (kind == "read in mm") is not _counts_in_inches(written, in_inches):
        return False
    number = written.rstrip('mcinh "')
    if not _DECIMAL.fullmatch(number):
        return kind == "read in inches"
    off = abs(float(number) - _INCH_PART * round(float(number) / _INCH_PART))
    return kind == "read in mm" or off <= 0.5 * 10.0 ** -_decimals(written)

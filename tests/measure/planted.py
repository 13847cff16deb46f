"""Sound sets of readings of eight invented points, and one slip planted in each: is it the one that is named?

`python -m tests.measure.planted` plants every kind over 30 seeds and prints the shares.
"""

import math
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.measure.measurements_file import read_measurements
from beltplan.measure.study import Measuring, measuring_of
from tests.measure.drives import apart, every_pair

Plant = Callable[["Readings"], str | None]
"""Plants a slip, and says in which words it is named; None where it would make no other reading."""
Name = tuple[str, ...]
"""What was read: two points, of an offset its axis and its point, of a side its point."""


@dataclass
class Readings:
    """As they stand in a file, mm and deg: tapes to the millimetre, angles to a tenth."""

    rng: np.random.Generator
    radii: dict[str, float] = field(default_factory=dict)
    tapes: dict[Name, float] = field(default_factory=dict)
    angles: dict[Name, float] = field(default_factory=dict)
    offsets: dict[Name, float] = field(default_factory=dict)
    sides: dict[Name, str] = field(default_factory=dict)
    level: str = ""

    def one(self, of: Mapping[Name, object]) -> Name:
        return list(of)[self.rng.integers(len(of))]

    @property
    def text(self) -> str:
        """The measurements file."""
        offsets: dict[str, dict[str, float]] = {}
        for (axis, point), value in self.offsets.items():
            offsets.setdefault(point, {})[axis] = value
        tables: dict[str, dict[str, object]] = {
            "distances": {" - ".join(pair): value for pair, value in self.tapes.items()},
            "angles": {" - ".join(pair): value for pair, value in self.angles.items()},
            "offsets": {point: f"{{{', '.join(f'{k}: {v}' for k, v in at.items())}}}" for point, at in offsets.items()},
            "sides": {point: word for (point,), word in self.sides.items()},
            "diameters": {point: round(2.0 * radius, 1) for point, radius in self.radii.items()},
        }
        lines = ["accuracy: {distance_mm: 1.0, offset_mm: 1.0, angle_deg: 0.5}", *self.level.splitlines()]
        for key, entries in tables.items():
            lines += [f"{key}:", *(f"  {name}: {value}" for name, value in entries.items())] if entries else []
        return "\n".join(lines) + "\n"


def sound(seed: int) -> Readings:
    """18 tapes, three angles and four offsets for 14 coordinates; errors of 0.7 mm and 0.3 deg."""
    rng = np.random.default_rng(seed)
    at = [np.zeros(2)]
    while len(at) < 8:
        new = rng.uniform((-300.0, -50.0), (300.0, 450.0))
        if all(np.hypot(*(new - other)) > 110.0 for other in at):
            at.append(new)
    places = {
        name: (float(x), float(y)) for name, (x, y) in zip(("crank", *map("p{}".format, range(1, 8))), at, strict=True)
    }
    found, others = Readings(rng), [*places][1:]
    far = [pair for pair in every_pair(places) if "crank" not in pair]
    pairs = [("crank", name) for name in others] + [far[i] for i in sorted(rng.permutation(len(far))[:11])]
    found.radii = {name: float(rng.uniform(25.0, 50.0)) for name in places}
    found.tapes = {pair: round(apart(places, pair) + 0.7 * rng.normal()) for pair in pairs}
    for name in rng.permutation(others)[:3].tolist():
        angle = math.degrees(math.atan2(*places[name][::-1]))
        found.angles["crank", name] = round(angle + 0.3 * rng.normal(), 1)
    for name in rng.permutation(others)[:2].tolist():
        found.offsets |= {
            (axis, name): round(value + 0.7 * rng.normal()) for axis, value in zip("xy", places[name], strict=True)
        }
    seen = [name for name in others if abs(places[name][0]) > 40.0][:3]
    found.sides = {(name,): "right" if places[name][0] > 0.0 else "left" for name in seen}
    return found


def _tape(change: Callable[[Readings, Name, float], float | None]) -> Plant:
    return _one("tapes", "{0} - {1}", change)


def _one(kind: str, words: str, change: Callable[[Readings, Name, float], float | None]) -> Plant:
    """Change one reading, of a kind, in a way; its words. None where the change makes no other reading."""

    def plant(found: Readings) -> str | None:
        every: dict[Name, float] = getattr(found, kind)
        name = found.one(every)
        wrong = change(found, name, every[name])
        if wrong is None or abs(math.remainder(wrong - every[name], 360.0)) < 8.0:
            return None
        every[name] = round(wrong, 1)
        return words.format(*name)

    return plant


def _without_digit(found: Readings, _: Name, value: float) -> float:
    digits, i = f"{value:.0f}", int(found.rng.integers(3))
    return max(1.0, float(digits[:i] + digits[i + 1 :] or 1))


def _swapped(found: Readings, _: Name, value: float) -> float | None:
    digits, i = f"{value:.0f}", int(found.rng.integers(2))
    swapped = digits[:i] + digits[i + 1 : i + 2] + digits[i] + digits[i + 2 :]
    return None if swapped.startswith("0") else float(swapped)


def _all_angles(turn: Callable[[float], float]) -> Plant:
    def plant(found: Readings) -> str | None:
        found.angles = {name: round(turn(value), 1) for name, value in found.angles.items()}
        return "all angles"

    return plant


def _level(found: Readings) -> str | None:
    name, value = next(iter(found.angles.items()))
    if not abs(value) > 8.0:
        return None
    found.level = f"level: [{', '.join(name)}]"
    return "level"


def _side(found: Readings) -> str | None:
    name = found.one(found.sides)
    found.sides[name] = {"left": "right", "right": "left"}[found.sides[name]]
    return f"side of {name[0]}"


def _exchanged(found: Readings) -> str | None:
    _, name = found.one(found.offsets)
    x, y = (found.offsets[axis, name] for axis in "xy")
    found.offsets |= {("x", name): y, ("y", name): x}
    return f"x and y of {name}" if abs(x - y) > 8.0 else None


KINDS: dict[str, Plant] = {
    "an inch": _tape(lambda found, name, mm: mm + MM_PER_INCH * found.rng.choice((-1.0, 1.0))),
    "a hundred": _tape(lambda found, name, mm: mm + 100.0),
    "a digit lost": _tape(_without_digit),
    "the last digit lost": _tape(lambda found, name, mm: float(f"{mm:.0f}"[:-1])),
    "digits swapped": _tape(_swapped),
    "inches for mm": _tape(lambda found, name, mm: round(8.0 * mm / MM_PER_INCH) / 8.0),
    "over both rims": _tape(lambda found, name, mm: mm + sum(found.radii[each] for each in name)),
    "between the rims": _tape(lambda found, name, mm: mm - sum(found.radii[each] for each in name)),
    "plumb": _one("angles", "angle {0} - {1}", lambda found, name, deg: deg - 90.0),
    "clockwise": _one("angles", "angle {0} - {1}", lambda found, name, deg: -deg),
    "reversed": _one("angles", "angle {0} - {1}", lambda found, name, deg: deg + 180.0),
    "the other side of the level": _one("angles", "angle {0} - {1}", lambda found, name, deg: 180.0 - deg),
    "the sign of an offset": _one("offsets", "{0} of {1} from crank", lambda found, name, mm: -mm),
    "a side": _side,
    "all angles from plumb": _all_angles(lambda deg: deg - 90.0),
    "all angles clockwise": _all_angles(lambda deg: -deg),
    "the level not set to zero": _all_angles(lambda deg: deg + 7.0),
    "a level line that is none": _level,
    "x and y exchanged": _exchanged,
}
HARD = {"ten millimetres": _tape(lambda found, name, mm: mm + 10.0 * float(found.rng.choice((-1.0, 1.0))))}
"""Ten deviations of the tape: not every reading is checked that well."""


@dataclass(frozen=True)
class Verdict:
    """What was said of a planted slip. first: named before all else; fair: nothing right is misread without it."""

    first: bool
    fair: bool


def verdict(kind: str, seed: int) -> Verdict | None:
    """None where the slip makes no other reading, or one that is refused at once."""
    found = sound(seed)
    planted = {**KINDS, **HARD}[kind](found)
    if planted is None:
        return None
    with TemporaryDirectory() as folder:
        path = Path(folder) / "m.yaml"
        path.write_text(found.text)
        told = _named(measuring_of(read_measurements(str(path)).measured))
    return Verdict(told[:1] == [planted], not told or planted in told)


def _named(found: Measuring) -> list[str]:
    """What is named, in the order of the report: a shared cause by its kind, readings by their words."""
    errors, cause = found.errors, found.errors.cause
    shared = [] if cause is None else ["level" if cause.kind == "level" else "all angles"]
    if cause is not None and cause.kind == "exchanged":
        shared = [f"x and y of {cause.readings[0].points[-1]}"]
    if cause is not None and cause.sides:
        shared = [f"side of {cause.sides[0][0]}"]
    return [*shared, *(each.reading.words for each in (*errors.gross_errors, *errors.suspects))]


def shares(kind: str, seeds: range) -> tuple[int, int, int]:
    """How many slips were planted, named first, and told fairly."""
    told = [each for seed in seeds if (each := verdict(kind, seed)) is not None]
    return len(told), sum(each.first for each in told), sum(each.fair for each in told)


if __name__ == "__main__":
    total = np.zeros(3, dtype=int)
    for each in {**KINDS, **HARD}:
        own = shares(each, range(30))
        total += own if each in KINDS else (0, 0, 0)
        sys.stdout.write(f"{each:30} planted {own[0]:3}, first {own[1]:3}, fair {own[2]:3}\n")
    sys.stdout.write(f"all but ten millimetres: planted {total[0]}, first {total[1]}, fair {total[2]}\n")

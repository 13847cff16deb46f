"""What is done before anything is punched: distances measured between dots, findings read; and numbers on a print."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from beltplan.checks.limits import Finding
from beltplan.drawing.study import Place, Spot
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Units
from beltplan.report.screen import length_text

STOP = "DO NOT PUNCH YET"


@dataclass(frozen=True)
class Control:
    start: Spot
    end: Spot

    @property
    def length_mm(self) -> float:
        return math.dist(self.start.at_mm, self.end.at_mm)


def controls_of(dots: Iterable[Spot], most: int, of: Container[str] | None = None) -> tuple[Control, ...]:
    """The longest distances between some dots. of: their names; each distance has one of them."""
    pairs = [Control(*pair) for pair in combinations(dots, 2)]
    wanted = [pair for pair in pairs if of is None or pair.start.name in of or pair.end.name in of]
    return tuple(sorted(wanted, key=lambda pair: -pair.length_mm)[:most])


def control_words(controls: Iterable[Control], units: Units) -> str:
    digits = 1 if units == "mm" else 2
    pairs = [
        f"{each.start.name} to {each.end.name} {length_text(each.length_mm, digits, units)} {units}"
        for each in controls
    ]
    return f"Measure before you punch, from dot to dot: {'; '.join(pairs)}." if pairs else ""


def checked_words(findings: Sequence[Finding]) -> str:
    counts = [(sum(f.severity == severity for f in findings), severity) for severity in ("problem", "caution")]
    found = " and ".join(counted(count, severity) for count, severity in counts if count)
    if not found:
        return "Check found nothing against it."
    count, do = (counts[0][0], "put {} right") if counts[0][0] else (counts[1][0], "read {}")
    return f"Check found {found}: {do.format('it' if count == 1 else 'them')} before you cut metal."


def loud_words(problems: int) -> str:
    return f"{STOP}: " + (
        f"{counted(problems, 'problem')}; check the scale too" if problems else "check the scale first"
    )


# Lengths and places as they are written on a print, in the units of the file.


def told(mm: float, units: Units) -> str:
    """A bare number: to 0.01 mm or 0.001 in."""
    return f"{round(mm, 2) + 0.0:.10g}" if units == "mm" else f"{round(mm / MM_PER_INCH, 3) + 0.0:.3f}"


def counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def place_words(at: Place, units: Units) -> str:
    return f"x {told(at[0], units)}, y {told(at[1], units)} {units}"

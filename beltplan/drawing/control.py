"""What is done before anything is punched: distances measured between dots, findings read; and numbers on a print."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.drawing.study import Place, Spot
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Layout, Units, deviations_of
from beltplan.geometry.vectors import left_normal, norm
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


def doubt_words(layout: Layout) -> str:
    """That places are in doubt, and what to measure again; '' where they are not."""
    return f"places in doubt, measure again {layout.in_doubt}" if layout.in_doubt else ""


def loud_words(plan: Plan) -> str:
    problems, doubt = plan.count("problem"), plan.layout.in_doubt
    after = "places in doubt" if doubt else f"check the scale {'too' if problems else 'first'}"
    return f"{STOP}: {counted(problems, 'problem') + '; ' if problems else ''}{after}"


# Lengths and places as they are written on a print, in the units of the file.


def told(mm: float, units: Units) -> str:
    """A bare number: to 0.01 mm or 0.001 in."""
    return f"{round(mm, 2) + 0.0:.10g}" if units == "mm" else f"{round(mm / MM_PER_INCH, 3) + 0.0:.3f}"


def counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def place_words(at: Place, units: Units) -> str:
    return f"x {told(at[0], units)}, y {told(at[1], units)} {units}"


def laid_off_mm(layout: Layout, datums: Sequence[Spot], own: Sequence[Spot]) -> float:
    """One standard deviation, the way it is largest, of where the farthest of a print's own points comes to lie that is
    laid on two others: their middle on its middle, their direction on its direction.
    """
    first, second = (np.array(spot.at_mm) for spot in datums)
    length = max(norm(second - first), 1e-9)
    along, off = (second - first) / length, np.array([spot.at_mm for spot in own]) - (first + second) / 2.0
    u, v = off @ along / length, off @ left_normal(along) / length
    half, none = np.full_like(u, 0.5), np.zeros_like(u)
    # Rows: how the point moves along and across the base with each datum's error, first along and then across it.
    moves = np.stack(
        [np.stack([half, half, v, -v], axis=-1), np.stack([none, none, half - u, half + u], axis=-1)], axis=-2
    )
    moves = moves * np.tile([_deviation_mm(layout, spot) for spot in datums], 2)
    return float(np.linalg.svd(moves, compute_uv=False).max())


def _deviation_mm(layout: Layout, spot: Spot) -> float:
    mark = next((each for each in layout.marks if each.name == spot.name), None)
    usual = deviations_of(layout, layout.pulleys.get(spot.name.split()[0])).position_mm  # of its pivot too
    return usual if mark is None or mark.uncertainty_mm is None else mark.uncertainty_mm

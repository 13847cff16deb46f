"""Check scales of a template: 100 mm and 4 in, along and across the sheet, to be measured before anything is cut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.belts.designations import MM_PER_INCH
from beltplan.plots.palette import INK, PRINT_SCALE
from beltplan.plots.scene import Align, Item, Label, Point, Stroke

WORDS_PT = 6.5
TICK_MM = 2.6
"""Length of the longest ticks, those at the ends."""


@dataclass(frozen=True)
class Scale:
    """A check scale. numbers: those written along it, evenly; parts: between two of them, and how many to a tick."""

    length_mm: float
    unit: str
    numbers: tuple[int, ...]
    parts: int

    @property
    def ticks(self) -> tuple[tuple[float, float], ...]:
        """Place and length of every tick, mm."""
        count = (len(self.numbers) - 1) * self.parts
        return tuple((self.length_mm * i / count, self._tick(i, count)) for i in range(count + 1))

    def _tick(self, i: int, count: int) -> float:
        if i in (0, count):
            return TICK_MM
        halves = (self.parts, self.parts // 2)
        return TICK_MM * (0.75 if i % halves[0] == 0 else 0.5 if i % halves[1] == 0 else 0.35)


METRIC = Scale(100.0, "mm", (0, 50, 100), 10)
INCHES = Scale(4.0 * MM_PER_INCH, "in", (0, 1, 2, 3, 4), 8)


def scales_across(left: float, top: float) -> list[Item]:
    """Both scales one under the other from a top left corner, mm; 14 mm high."""
    items: list[Item] = []
    for scale, y in ((METRIC, top - 0.4), (INCHES, top - 7.8)):
        items += [*_lines(scale, (left, y), (1.0, 0.0)), *_numbers(scale, left, y - TICK_MM - 2.3)]
    return items


def scales_up(left: float, bottom: float) -> list[Item]:
    """Both scales side by side, upright, from a bottom left corner, mm; 11 mm wide, 110 mm high."""
    items: list[Item] = []
    for scale, x in ((METRIC, left + 2.0), (INCHES, left + 7.6)):
        items += _lines(scale, (x, bottom), (0.0, 1.0))
        for word, y in ((scale.unit, 1.4), (str(scale.numbers[-1]), 4.0)):
            at = (x + 0.5 * TICK_MM, bottom + INCHES.length_mm + y)
            items.append(Label(word, at, WORDS_PT, INK, True, "center", "scale"))
    return items


def _lines(scale: Scale, start: Point, along: Point) -> list[Item]:
    # Ticks stand to the right of the line's direction: under a level scale, beside an upright one.
    at, unit = np.array(start), np.array(along)
    side = np.array((unit[1], -unit[0]))
    ticks = [at + place * unit + np.outer((0.0, high), side) for place, high in scale.ticks]
    line = Stroke(np.stack((at, at + scale.length_mm * unit)), PRINT_SCALE, f"check scale {scale.unit}")
    return [line, *(Stroke(tick, PRINT_SCALE, "tick") for tick in ticks)]


def _numbers(scale: Scale, left: float, y: float) -> list[Item]:
    last = scale.numbers[-1]
    aligns: dict[int, Align] = {0: "left", last: "right"}
    return [
        Label(
            f"{number} {scale.unit}" if number == last else str(number),
            (left + scale.length_mm * number / last, y),
            WORDS_PT,
            INK,
            number == last,
            aligns.get(number, "center"),
            "scale",
        )
        for number in scale.numbers
    ]

"""The chance of every stock belt on the drawn layouts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.designations import format_designation
from beltplan.belts.fit import taken_on_fixed
from beltplan.belts.layout import Layout
from beltplan.belts.lengths import line_length_mm
from beltplan.belts.stock import stock_of
from beltplan.geometry.vectors import Bools, Floats
from beltplan.studies.windows import Windows

RESERVE_PERCENT = 5.0
"""The reserve told is the one that all but this share of the draws keep."""
LITTLE = 0.001
"""A chance nearer than this to none or to certainty is not given as a number."""
LEAST_TO_BUY = 0.5
"""A belt that can be fitted less often than this is not one to buy (our own choice)."""
BUYING = (
    "A belt is worth buying that goes on in at least one of two draws, and in some with its reserves in hand. "
    "Of those: the highest chance with reserves, then to go on, then the largest reserve. "
    "Where none is worth buying, the nearest is named, and the exit status is 1."
)
ALIKE = 0.001
"""Chances are told apart in steps of this: their own sampling error is of that size."""


@dataclass(frozen=True)
class BeltChance:
    """A belt and its chances over all draws, from 0 to 1; a draw without a path counts as a failure.

    line_mm: nominal length along the followed line. inside: that it can be put on. with_reserve: that fitting and wear
    are left as well; None where nothing takes up wear. reserve_mm: the smaller reserve that 19 of 20 draws keep.
    """

    belt: Belt
    line_mm: float
    inside: float
    with_reserve: float | None
    reserve_mm: float

    @property
    def designation(self) -> str:
        """Designation of the belt."""
        return format_designation(self.belt)

    @property
    def worth_buying(self) -> bool:
        """Whether it goes on more often than not, and keeps fitting and wear in some draw."""
        return self.inside >= LEAST_TO_BUY and (self.with_reserve or 0.0) >= LITTLE

    @property
    def rank(self) -> tuple[bool, float, float, float]:
        """Larger is the better buy: worth it, chance with reserves, chance to go on, then reserve."""
        first = self.inside if self.with_reserve is None else self.with_reserve
        return (self.worth_buying, round(first / ALIKE), round(self.inside / ALIKE), self.reserve_mm)


def percent(chance: float) -> str:
    """A chance in words; certainty and impossibility are said only where every draw agrees."""
    if 1.0 - LITTLE < chance < 1.0:
        return "over 99.9 %"
    if 0.0 < chance < LITTLE:
        return "under 0.1 %"
    return f"{100.0 * chance:.1f}".removesuffix(".0") + " %"


def chances_in_window(
    layout: Layout, windows: Windows, place: Floats, growth_share: float, draws: int
) -> tuple[BeltChance, ...]:
    """Every stock belt that may fit, shortest first, against the window of each draw.

    place: (d) in -1 to 1, where the belt lies in its length tolerance. The rule is that of a good belt, with the drawn
    length in the place of the tolerance: L - fitting >= short end, L + growth L <= long end.
    """
    found = []
    for belt in _stock(layout, float(windows.shortest.min()), float(windows.longest.max())):
        line = line_length_mm(belt)
        length = line + belt.tolerance_of(line) * place
        inside = (length >= windows.shortest) & (length <= windows.longest)
        short = length - windows.fitting - windows.short_end
        long = windows.long_end - (1.0 + growth_share) * length
        found.append(_chance(belt, inside, np.minimum(short, long), draws))
    return _worth_telling(layout, found)


def chances_on_fixed(layout: Layout, path_mm: Floats, place: Floats, draws: int) -> tuple[BeltChance, ...]:
    """Every stock belt that a drive without adjuster may take, shortest first, against the path of each draw.

    place: (d) in -1 to 1, where the belt lies in its length tolerance. The path must lie in the stretch band of the
    drawn belt; one that does not stretch goes on where its tolerance band holds the path, as `check` has it.
    """
    found = []
    for belt in _stock(layout, float(path_mm.min()), float(path_mm.max())):
        least, most = taken_on_fixed(belt)
        # A belt that stretches does so from its drawn length; one that does not is only known by its band.
        drawn = 1.0 if belt.stretch_fit is None else _drawn_share(belt, place)
        spare = np.minimum(path_mm - least * drawn, most * drawn - path_mm)
        found.append(_chance(belt, spare >= 0.0, spare, draws, belt.stretch_fit is not None))
    return _worth_telling(layout, found)


def _drawn_share(belt: Belt, place: Floats) -> Floats:
    """Drawn length of a belt over its nominal one, (d)."""
    line = line_length_mm(belt)
    return np.asarray((line + belt.tolerance_of(line) * place) / line)


def best_of(chances: tuple[BeltChance, ...]) -> BeltChance | None:
    """The belt of the highest rank, whether it is worth buying or not; None without a chance."""
    possible = [chance for chance in chances if chance.inside > 0.0]
    return max(possible, key=lambda chance: chance.rank, default=None)


def _chance(belt: Belt, inside: Bools, spare: Floats, draws: int, wears: bool = True) -> BeltChance:
    reserve = float(np.percentile(spare, RESERVE_PERCENT))
    kept = float((inside & (spare >= 0.0)).sum()) / draws if wears else None
    return BeltChance(belt, line_length_mm(belt), float(inside.sum()) / draws, kept, reserve)


def _stock(layout: Layout, least_mm: float, most_mm: float) -> tuple[Belt, ...]:
    # A belt may lie outside by its tolerance, or by all that it stretches, and still have a chance.
    belt = layout.belt
    off = 2.0 * max(belt.tolerance_of(least_mm), belt.tolerance_of(most_mm))
    stretch = 1.0 if belt.stretch_fit is None else 1.0 + belt.stretch_fit[1]
    near = stock_of(layout, least_mm / stretch - off, most_mm + off)
    named = () if belt.length_mm is None or belt in near else (belt,)
    return (*near, *named)


def _worth_telling(layout: Layout, chances: list[BeltChance]) -> tuple[BeltChance, ...]:
    kept = [chance for chance in chances if chance.inside > 0.0 or chance.belt == layout.belt]
    return tuple(sorted(kept, key=lambda chance: chance.line_mm))

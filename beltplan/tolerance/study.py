"""What the errors of measuring and the belt's own tolerance do to a layout: spreads and chances."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from beltplan.checks.clearance import PLACES
from beltplan.checks.gaps import bodies_of, gaps_over
from beltplan.checks.lengths import findings_with
from beltplan.checks.limits import PROBLEM, Bound, Finding, all_of, new_in, problems_of
from beltplan.checks.plan import OnBelt, Plan, plan_on
from beltplan.checks.questions import with_questions
from beltplan.drive.belt import Belt, format_designation, line_length_mm
from beltplan.drive.fit import (
    Window,
    begins_over,
    ends_put_on,
    reserves,
    setting_for,
    stock_of,
    taken_on_fixed,
    window_of,
)
from beltplan.drive.layout import Layout
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit, Travel, joined_travels, nearest_sound, travel_round
from beltplan.geometry.vectors import Bools, Floats
from beltplan.progress import Progress, unseen
from beltplan.tolerance.measurements import Measurement, drawn_circuits, measurements_of, slopes_of


@dataclass(frozen=True)
class Contribution:
    """What one measurement does to the path at the design setting.

    mm_per_unit: change of its length for a mm, or a degree, of the measurement; None without a path there. share: of
    the variance, None where there is no variance at all.
    """

    measurement: Measurement
    mm_per_unit: float | None
    share: float | None

    @property
    def deviation_mm(self) -> float | None:
        """Standard deviation of the path's length by this measurement alone."""
        return None if self.mm_per_unit is None else abs(self.mm_per_unit) * self.measurement.deviation


def contributions_of(route: Route, measurements: tuple[Measurement, ...]) -> tuple[Contribution, ...]:
    """What independent small errors do to the path at the design setting, the largest share first.

    Source: propagation of uncertainty, variance = sum of (dL/dm x deviation)^2 (JCGM 100:2008, 5.1.2).
    """
    if route.needed_mm is None:
        return tuple(Contribution(each, None, None) for each in measurements)
    slopes = slopes_of(route, measurements)
    parts = (slopes * [each.deviation for each in measurements]) ** 2
    variance = float(parts.sum())
    rows = zip(measurements, slopes.tolist(), parts.tolist(), strict=True)
    found = [(part, Contribution(each, slope, part / variance if variance else None)) for each, slope, part in rows]
    return tuple(row for _, row in sorted(found, key=lambda pair: -pair[0]))


# The chance of every stock belt on the drawn layouts.

_RESERVE_PERCENT = 5.0
"""The reserve told is the one that all but this share of the draws keep."""
_SURELY = 0.99
"""What fails in more draws than this is no matter of measuring (our own choice)."""
_LITTLE = 0.001
"""A chance nearer than this to none or to certainty is not given as a number."""
_LEAST_TO_BUY = 0.5
"""A belt that can be fitted less often than this is not one to buy (our own choice)."""
_LEAST_WITH_RESERVES = 0.1
"""Nor one that keeps its reserves less often than this: over nine of ten would soon hang loose, or be hard to put on
(our own choice)."""
BUYING = (
    "A belt is worth buying that can be fitted in at least one of two draws, and in one of ten with room for wear. "
    "Of those with no new problem in `check`: the highest chance of room for wear with every wrap at its minimum, then "
    "of room for wear, then to be fitted, then the most room; the belt of `check` where none does better by more than "
    "chances are good to. Where none is worth buying, the likeliest to be fitted is the nearest, and the exit status 1."
)
WORTH_A_WARNING = 0.01
"""A chance of too little wrap, or of too small a gap, from which on the answer at the top says so."""
OFTEN = 0.2
"""A chance of too little wrap from which on that comes before what to measure (our own choice)."""
_ALIKE = 0.001
"""Chances are told apart in steps of this: their own sampling error is of that size."""


@dataclass(frozen=True)
class BeltChance:
    """A belt and its chances over all draws, from 0 to 1; a draw without a path counts as a failure.

    line_mm: nominal length along the followed line. inside: that it can be put on. with_reserve: that fitting and wear
    are left as well; None where nothing takes up wear. reserve_mm: the smaller reserve that 19 of 20 draws keep.
    wrapped: of `kept`, that no wrap is under its minimum either.
    """

    belt: Belt
    line_mm: float
    inside: float
    with_reserve: float | None
    reserve_mm: float
    wrapped: float

    @property
    def kept(self) -> float:
        """With room for wear, where anything takes it up."""
        return self.inside if self.with_reserve is None else self.with_reserve

    @property
    def narrow(self) -> float:
        """That it has room for wear, but too little wrap somewhere."""
        return self.kept - self.wrapped

    @property
    def designation(self) -> str:
        return format_designation(self.belt)

    @property
    def worth_buying(self) -> bool:
        """Whether it goes on more often than not, and often enough keeps fitting and wear as well."""
        return self.inside >= _LEAST_TO_BUY and (self.with_reserve or 0.0) >= _LEAST_WITH_RESERVES

    @property
    def rank(self) -> tuple[float, ...]:
        """Larger is the better buy: worth it, chance that all holds, with reserves, to be fitted, then reserve; of what
        is not worth it the chance to be fitted comes first. Wraps that hold too seldom are no matter of the belt.
        """
        all_holds = self.wrapped if self.wrapped >= _LEAST_WITH_RESERVES else 0.0
        chances = (all_holds, self.kept, self.inside) if self.worth_buying else (self.inside, self.kept)
        return (self.worth_buying, *(round(each / _ALIKE) for each in chances), self.reserve_mm)


def percent(chance: float) -> str:
    """A chance in words; certainty and impossibility are said only where every draw agrees."""
    if 1.0 - _LITTLE < chance < 1.0:
        return "over 99.9 %"
    if 0.0 < chance < _LITTLE:
        return "under 0.1 %"
    return f"{100.0 * chance:.{0 if chance in (0.0, 1.0) else 1}f} %"


def _chances(
    layout: Layout,
    window: Window[Floats] | None,
    path_mm: Floats,
    place: Floats,
    draws: int,
    wrapped: Callable[[Belt, Bools], Bools],
) -> tuple[BeltChance, ...]:
    """Every stock belt that may fit, shortest first, against what each draw needs: its window, else its path.

    place: (d) in -1 to 1, where the belt lies in its length tolerance. wrapped: in which of some draws each wrap, last
    axis, is at its minimum with a belt.
    """
    if not place.size:
        return ()
    lengths = (path_mm,) if window is None else (window.shortest, window.longest)
    found = []
    for belt in _stock(layout, float(lengths[0].min()), float(lengths[-1].max())):
        inside, spare = _on_fixed(belt, path_mm, place) if window is None else _in_window(belt, window, place)
        wears = window is not None or belt.stretch_fit is not None
        chance, reserve = float(inside.sum()) / draws, float(np.percentile(spare, _RESERVE_PERCENT))
        held = inside & (spare >= 0.0)
        kept = float(held.sum()) / draws if wears else None
        if chance > 0.0 or belt == layout.belt:
            holds = float(wrapped(belt, held).all(axis=-1).sum()) / draws if held.any() else 0.0
            found.append(BeltChance(belt, line_length_mm(belt), chance, kept, reserve, holds))
    return tuple(sorted(found, key=lambda each: each.line_mm))


def _in_window(belt: Belt, window: Window[Floats], place: Floats) -> tuple[Bools, Floats]:
    """Whether a belt goes on in each draw, and what is spare, mm.

    It goes on where `check` would not say that it cannot be put on or tightened. The rule of reserves is that of a good
    belt, with the drawn length in the place of the tolerance: L - fitting >= short end, L + growth L <= long end.
    """
    length, (least, most) = _drawn_lengths(belt, place), ends_put_on(window)
    return (length >= least) & (length <= most), np.minimum(*reserves(window, length, 0.0))


def _on_fixed(belt: Belt, path_mm: Floats, place: Floats) -> tuple[Bools, Floats]:
    """The same without adjuster: the path must lie in the stretch band of the drawn belt.

    One that does not stretch goes on where its tolerance band holds the path, as `check` has it.
    """
    least, most = taken_on_fixed(belt)
    # A belt that stretches does so from its drawn length; one that does not is only known by its band.
    drawn = 1.0 if belt.stretch_fit is None else _drawn_lengths(belt, place) / line_length_mm(belt)
    spare = np.minimum(path_mm - least * drawn, most * drawn - path_mm)
    return spare >= 0.0, spare


def _drawn_lengths(belt: Belt, place: Floats) -> Floats:
    """Length of a belt in each draw, (d) mm along the followed line; place: (d) in -1 to 1, in its tolerance."""
    line = line_length_mm(belt)
    return np.asarray(line + belt.tolerance_of(line) * place)


def best_of(chances: tuple[BeltChance, ...], usual: Belt | None = None, error: float = 0.0) -> BeltChance | None:
    """The belt of the highest rank, whether it is worth buying or not; None without a chance.

    usual: the belt of `check`, taken unless what decides holds more often with the best by more than the error of
    chances.
    """
    possible = [chance for chance in chances if chance.inside > 0.0]
    best = max(possible, key=lambda chance: chance.rank, default=None)
    own = next((chance for chance in possible if chance.belt == usual), None)
    return best if best is None or own is None or _outdoes(best, own, error) else own


def against(plan: Plan, belt: Belt) -> list[Finding]:
    """What `check` finds with another belt and not with its own; nothing where it has none, or a problem with it."""
    found = () if plan.route.judged is None or plan.count("problem") else findings_with(plan.route, belt)
    return [each for each in new_in(found, plan.findings) if each.severity != "note"]


def _outdoes(best: BeltChance, usual: BeltChance, error: float) -> bool:
    if best.worth_buying != usual.worth_buying:
        return True
    # What decides is the first chance of the rank that the best has at all.
    high, low = next((pair for pair in zip(best.rank[1:3], usual.rank[1:3], strict=True) if pair[0]), (0.0, 0.0))
    return _ALIKE * (high - low) > error


def _stock(layout: Layout, least_mm: float, most_mm: float) -> tuple[Belt, ...]:
    # A belt may lie outside by its tolerance, or by all that it stretches, and still have a chance.
    belt = layout.belt
    off = 2.0 * max(belt.tolerance_of(least_mm), belt.tolerance_of(most_mm))
    stretch = 1.0 if belt.stretch_fit is None else 1.0 + belt.stretch_fit[1]
    near = stock_of(layout, least_mm / stretch - off, most_mm + off)
    named = () if belt.length_mm is None or belt in near else (belt,)
    return (*near, *named)


# The study: all draws together.

DRAWS = 20_000
SEED = 1
_MOST_BELTS = 9
_BAND_PERCENT = (2.5, 97.5)
"""A spread is told as what 19 of 20 draws lie between."""


@dataclass(frozen=True)
class WrapSpread:
    """Wrap of one pulley over the draws that have a path, deg.

    band_deg: what 19 of 20 lie between. under: chance to be under the least.
    """

    pulley: str
    minimum_deg: float
    mean_deg: float
    deviation_deg: float
    band_deg: tuple[float, float]
    under: float


@dataclass(frozen=True)
class GapChance:
    """How often two parts come nearer to each other than `check` lets them, of the draws that have a path.

    first, second: as `check` names them. as_given_mm: their gap in the layout as given, None where it is far.
    """

    first: str
    second: str
    bound: Bound
    as_given_mm: float | None
    under: float


@dataclass(frozen=True, eq=False)
class Tolerance:
    """A layout with its measurements uncertain. Chances are shares of all draws.

    plan: of the layout as given. contributions: everything that was drawn, with what it does to the path. needed_mm:
    path at the design setting of each draw that has one there. windows: of the draws with a path (None without an
    adjuster). no_path: draws without a sound path anywhere. turns_back: whose length turns back on the travel. cut:
    whose travel cannot be used whole. belts: those with a chance, shortest first. nearest: the one of the best chances,
    whether it is worth buying or not. fitted: the belt that the wraps are for, named by the layout or else the nearest;
    None where nothing has a chance. gaps: those that are ever too small, the most often first.
    """

    plan: Plan
    draws: int
    seed: int
    contributions: tuple[Contribution, ...]
    needed_mm: Floats
    windows: Window[Floats] | None
    no_path: float
    turns_back: float
    cut: float
    belts: tuple[BeltChance, ...]
    nearest: BeltChance | None
    fitted: Belt | None
    wraps: tuple[WrapSpread, ...]
    gaps: tuple[GapChance, ...]

    @property
    def route(self) -> Route:
        return self.plan.route

    @property
    def shares(self) -> tuple[Contribution, ...]:
        return tuple(row for row in self.contributions if row.share)

    @property
    def first_order_mm(self) -> float | None:
        """Standard deviation of the path's length by the derivatives; None without a path at the design setting."""
        return None if self.route.needed_mm is None else math.hypot(*(row.deviation_mm or 0.0 for row in self.shares))

    @property
    def to_measure(self) -> tuple[Contribution, ...]:
        """What can be measured again: not the origin, which is at 0, 0 by definition, though its place has a share in
        how the others lie to it, unless there is nothing else; nor a place that is only planned.
        """
        there = [row for row in self.shares if not row.measurement.planned]
        return tuple([row for row in there if not self._at_origin(row.measurement)] or there)

    def words_of(self, measurement: Measurement) -> str:
        """A measurement, and why it cannot be measured again."""
        if measurement.planned:
            return f"{measurement.words} (not placed yet)"
        origin = f" (origin: every {measurement.part} is from it)"
        return measurement.words + origin * self._at_origin(measurement)

    def _at_origin(self, measurement: Measurement) -> bool:
        return measurement.part in ("x", "y") and self.route.pulleys[measurement.index].at_mm == (0.0, 0.0)

    @property
    def measure_again(self) -> Measurement | None:
        """What makes most of the path's variance; None where nothing does, and where no measuring mends what fails."""
        return self.to_measure[0].measurement if self.to_measure and not self.lost else None

    @property
    def lost(self) -> tuple[str, ...]:
        """What fails in nearly every draw, in words: to measure again is no help there."""
        none = self.route.to_ask_for_mm is None and (self.nearest is None or self.nearest.inside < 1.0 - _SURELY)
        short = [] if self.another_wraps else [each.pulley for each in self.wraps if each.under > _SURELY]
        worn = self.windows is None and self.route.layout.belt.stretch_fit is None
        told = (
            ("no belt can be fitted", none),
            ("nothing takes up wear", worn),
            (f"the wrap of {all_of(short)} falls short", short),
            ("a gap is too small", any(each.under > _SURELY for each in self.gaps)),
        )
        return tuple(words for words, holds in told if holds)

    @property
    def best(self) -> BeltChance | None:
        return self.nearest if self.nearest is not None and self.nearest.worth_buying else None

    @property
    def foremost_chance(self) -> BeltChance | None:
        """The belt of the best chances, whatever `check` has against it."""
        return best_of(self.belts, self.route.belt, sampling_error(self.draws))

    @property
    def wraps_tell(self) -> bool:
        """Whether wraps fall short with a belt that has room for wear, and do not with nearly every belt."""
        some = any(belt.wrapped >= _LEAST_WITH_RESERVES for belt in self.belts)
        return some and any(belt.narrow >= WORTH_A_WARNING for belt in self.belts)

    @property
    def another_wraps(self) -> bool:
        """Whether the wraps are those with a belt that the layout names, and seldom fall short with the nearest one."""
        nearest = self.nearest
        return nearest is not None and nearest.belt != self.fitted and nearest.narrow < OFTEN

    @property
    def worth_asking(self) -> bool:
        """Whether no belt that is known of is worth buying, but one that may be sold would be good."""
        asked, good = self.route.to_ask_for_mm, self.route.acceptable_mm
        may_be = asked is not None and begins_over(self.route.layout.belt, asked[1]) is None
        return self.best is None and good is not None and may_be

    @property
    def chosen(self) -> BeltChance | None:
        """The belt that the layout names, or that is chosen for the layout as given."""
        return next((chance for chance in self.belts if chance.belt == self.route.belt), None)

    def called(self, belt: BeltChance) -> tuple[str, ...]:
        """What stands beside the nearest belt: a problem may yet change the length."""
        told = "nearest" if self.best is None else "as it stands" if self.plan.count("problem") else "buy"
        return (told,) if belt == self.nearest else ()

    def foremost(self, count: int = _MOST_BELTS) -> tuple[BeltChance, ...]:
        """The belts worth showing, shortest first: the nearest, the chosen one, and those of the highest chance."""
        wanted = sorted(
            self.belts, key=lambda belt: (belt != self.nearest, belt != self.chosen, [-part for part in belt.rank])
        )
        return tuple(sorted(wanted[:count], key=lambda belt: belt.line_mm))

    @property
    def needed_band_mm(self) -> tuple[float, float] | None:
        return band(self.needed_mm) if self.needed_mm.size else None


def tolerance_of(route: Route, draws: int = DRAWS, seed: int = SEED, shown: Progress = unseen) -> Tolerance:
    """Spread and chances of a layout; the same seed and number of draws give the same answer.

    shown: told the share of the work that is done.
    """
    measurements = measurements_of(route)
    circuit, place = drawn_circuits(route, measurements, draws, seed)
    able, travel, needed, too_near = _travels(route.layout, circuit, draws, shown)
    circuit, place = circuit.picked(able), place[able]
    window = None if circuit.track is None or not place.size else window_of(route.layout, circuit, travel)
    plan, wraps = with_questions(plan_on(route)), tuple[WrapSpread, ...]()
    least = [pulley.minimum_deg for pulley in plan.pulleys]

    def wraps_deg(belt: Belt, keep: Bools) -> Floats:
        kept, drawn = circuit.picked(keep), _drawn_lengths(belt, place[keep])
        setting = kept.nominal if window is None else setting_for(kept, travel.where(keep), window.where(keep), drawn)
        return np.degrees(np.stack(kept.path_at(setting).wrap, axis=-1))

    belts = _chances(route.layout, window, needed, place, draws, lambda belt, keep: wraps_deg(belt, keep) >= least)
    sound = belts
    while (nearest := best_of(sound, route.belt, sampling_error(draws))) and problems_of(against(plan, nearest.belt)):
        sound = tuple(each for each in sound if each != nearest)
    fitted = route.layout.belt if route.layout.belt.length_mm is not None else (nearest.belt if nearest else None)
    if fitted is not None and place.size:
        wraps = tuple(map(_wrap, plan.pulleys, wraps_deg(fitted, np.ones(place.size, dtype=bool)).T))
    given_mm = {(gap.first, gap.second): gap.value_mm for gap in plan.gaps}
    gaps = [GapChance(*parts, bound, given_mm.get(parts), count / place.size)
            for (parts, bound), count in too_near.most_common()]  # fmt: skip
    no_path, turns_back, cut = (float(each.sum()) / draws for each in (~able, travel.turns_back, ~travel.whole))
    return Tolerance(
        plan, draws, seed, contributions_of(route, measurements), needed, window,
        no_path, turns_back, cut, belts, nearest, fitted, wraps, (*gaps,),
    )  # fmt: skip


def sampling_error(draws: int) -> float:
    """1.96 standard deviations of a drawn share, where it is widest: 1.96 sqrt(1/4 / draws); to one digit."""
    return float(f"{0.98 / draws**0.5:.1g}")


def fitted_words(study: Tolerance) -> str:
    """The belt that the wraps are for, and why that one where another is to be bought."""
    told = "no belt" if study.fitted is None else format_designation(study.fitted)
    return told + " (named in the file)" * (study.nearest is not None and study.nearest.belt != study.fitted)


def band(values: Floats) -> tuple[float, float]:
    """What 19 of 20 values lie between."""
    low, high = np.percentile(values, _BAND_PERCENT)
    return float(low), float(high)


_CHUNK = 2_000
"""So many draws are worked on together: their arrays stay near the processor."""


_TooNear = Counter[tuple[tuple[str, str], Bound]]
"""In how many draws two parts, by their names, are a problem by a bound."""


def _travels(layout: Layout, circuit: Circuit, draws: int, shown: Progress) -> tuple[Bools, Travel, Floats, _TooNear]:
    """Which draws, (d), have a sound path somewhere, and their travels.

    Then the path at the design setting of each that has one there, mm, and what comes too near.
    """
    parts = -(-draws // _CHUNK)
    chunks = np.arange(draws) * parts // draws == np.arange(parts)[:, None]
    every: list[tuple[Bools, Travel, Floats]] = []
    too_near: _TooNear = Counter()
    for part in map(circuit.picked, chunks):
        home, found = nearest_sound(part)
        part, home = part.picked(found), home[found]
        travel = travel_round(part, home)
        every.append((found, travel, np.asarray(part.base.length[travel.at_nominal])))
        too_near.update(_too_near(layout, part, travel))
        shown(len(every) / parts)
    able, travels, needed = zip(*every, strict=True)
    return np.concatenate(able), joined_travels(list(travels)), np.concatenate(needed), too_near


def _too_near(layout: Layout, circuit: Circuit, travel: Travel) -> dict[tuple[tuple[str, str], Bound], int]:
    """In how many draws `check` finds a problem between two parts, at any of the settings at which it looks."""
    settings = np.linspace(travel.low, travel.high, PLACES)
    over = gaps_over(bodies_of(layout, circuit), circuit.path_at(settings), times=1.0, near=True)
    wrong = {((gap.first, gap.second), gap.bound): gap.bound.severity(gap.gap_mm) == PROBLEM for gap in over}
    drawn = {of: np.broadcast_to(here, settings.shape).any(axis=0) for of, here in wrong.items() if here.any()}
    return {of: int(here.sum()) for of, here in drawn.items()}


def _wrap(pulley: OnBelt, wrap: Floats) -> WrapSpread:
    under = float((wrap < pulley.minimum_deg).mean())
    return WrapSpread(pulley.name, pulley.minimum_deg, float(wrap.mean()), float(wrap.std()), band(wrap), under)

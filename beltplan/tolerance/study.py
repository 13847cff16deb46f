"""What the errors of measuring and the belt's own tolerance do to a layout: spreads and chances."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from beltplan.checks.limits import all_of
from beltplan.checks.plan import OnBelt, Plan, plan_on
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
from beltplan.drive.pulleys import Arm, Slide
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit, Travel, joined_travels, nearest_sound, travel_round
from beltplan.geometry.loops import length_by_centre, length_by_radius
from beltplan.geometry.vectors import Bools, Floats, dot, from_angle, left_normal
from beltplan.tolerance.draws import drawn_circuits
from beltplan.tolerance.measurements import Measurement, Part, measurements_of

_Slopes = dict[Part, float]


@dataclass(frozen=True)
class Contribution:
    """What one measurement does to the needed length.

    mm_per_unit: change of length for a mm, or a degree, of the measurement. share: of the variance, None where there
    is no variance at all.
    """

    measurement: Measurement
    mm_per_unit: float
    share: float | None

    @property
    def deviation_mm(self) -> float:
        """Standard deviation of the needed length by this measurement alone."""
        return abs(self.mm_per_unit) * self.measurement.deviation


@dataclass(frozen=True)
class _FirstOrder:
    """Standard deviation of the needed length, mm, and what each measurement adds, the largest share first."""

    deviation_mm: float
    contributions: tuple[Contribution, ...]


def first_order(route: Route, measurements: tuple[Measurement, ...]) -> _FirstOrder | None:
    """Spread of the path length at the design setting by independent small errors; None without a path there.

    Source: propagation of uncertainty, variance = sum of (dL/dm x deviation)^2 (JCGM 100:2008, 5.1.2), with
    dL/dcentre and dL/dradius of `geometry/sensitivity`.
    """
    if route.needed_mm is None:
        return None
    slopes = length_by_measurement(route, measurements)
    parts = slopes * np.array([measurement.deviation for measurement in measurements])
    variance = float(np.sum(parts**2))
    shares = [None if variance == 0.0 else float(part**2) / variance for part in parts]
    rows = [Contribution(*row) for row in zip(measurements, slopes.tolist(), shares, strict=True)]
    return _FirstOrder(float(np.sqrt(variance)), tuple(sorted(rows, key=lambda row: -row.deviation_mm)))


def length_by_measurement(route: Route, measurements: tuple[Measurement, ...]) -> Floats:
    """Change of the path length at the design setting with each measurement, (m) mm per mm or per deg."""
    adjuster = route.circuit.adjuster
    loop = route.circuit.loop_at(0.0 if adjuster is None else adjuster.nominal)
    by_centre, by_radius = length_by_centre(loop), length_by_radius(loop)
    slopes = [_slopes(route, i, by_centre[i], float(by_radius[i])) for i in range(len(route.pulleys))]
    return np.array([slopes[measurement.index].get(measurement.part, 0.0) for measurement in measurements])


def _slopes(route: Route, index: int, by_centre: Floats, by_radius: float) -> _Slopes:
    adjuster = route.pulleys[index].adjuster
    # The rim's height over the line is taken off the reading.
    found: _Slopes = {"diameter": 0.5 * by_radius, "rim height": -0.5 * by_radius}
    if isinstance(adjuster, Arm):
        return found | _arm_slopes(adjuster, by_centre)
    if isinstance(adjuster, Slide):
        return found | _slide_slopes(adjuster, by_centre)
    return found | {"x": float(by_centre[0]), "y": float(by_centre[1])}


def _arm_slopes(arm: Arm, by_centre: Floats) -> _Slopes:
    out = from_angle(np.asarray(arm.nominal))
    by_degree = float(np.radians(arm.length_mm * dot(by_centre, left_normal(out))))
    found: _Slopes = {
        "pivot x": float(by_centre[0]),
        "pivot y": float(by_centre[1]),
        "arm length": float(dot(by_centre, out)),
    }
    if arm.at_rad is not None:
        return found | {"design angle": by_degree}
    # The middle of the travel moves half as far as either stop.
    return found | {"first stop": 0.5 * by_degree, "second stop": 0.5 * by_degree}


def _slide_slopes(slide: Slide, by_centre: Floats) -> _Slopes:
    share = slide.nominal / slide.length_mm
    x, y = float(by_centre[0]), float(by_centre[1])
    return {"from x": (1.0 - share) * x, "from y": (1.0 - share) * y, "to x": share * x, "to y": share * y}


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
    "A belt is worth buying that can be fitted in at least one of two draws, and in one of ten with full reserve. "
    "Of those: the highest chance of full reserve, then to be fitted, then the largest reserve. "
    "Where none is worth buying, the one likeliest to be fitted is named the nearest, and the exit status is 1."
)
_ALIKE = 0.001
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
        """Whether it goes on more often than not, and often enough keeps fitting and wear as well."""
        return self.inside >= _LEAST_TO_BUY and (self.with_reserve or 0.0) >= _LEAST_WITH_RESERVES

    @property
    def rank(self) -> tuple[bool, float, float, float]:
        """Larger is the better buy: worth it, chance with reserves, chance to be fitted, then reserve; of what is not
        worth it the chance to be fitted comes first.
        """
        kept = self.inside if self.with_reserve is None else self.with_reserve
        first, second = (kept, self.inside) if self.worth_buying else (self.inside, kept)
        return (self.worth_buying, round(first / _ALIKE), round(second / _ALIKE), self.reserve_mm)


def percent(chance: float) -> str:
    """A chance in words; certainty and impossibility are said only where every draw agrees."""
    if 1.0 - _LITTLE < chance < 1.0:
        return "over 99.9 %"
    if 0.0 < chance < _LITTLE:
        return "under 0.1 %"
    return f"{100.0 * chance:.{0 if chance in (0.0, 1.0) else 1}f} %"


def _chances_in_window(layout: Layout, window: Window[Floats], place: Floats, draws: int) -> tuple[BeltChance, ...]:
    """Every stock belt that may fit, shortest first, against the window of each draw.

    place: (d) in -1 to 1, where the belt lies in its length tolerance. It goes on where `check` would not say that it
    cannot be put on or tightened. The rule of reserves is that of a good belt, with the drawn length in the place of
    the tolerance: L - fitting >= short end, L + growth L <= long end.
    """
    found, (least, most) = [], ends_put_on(window)
    for belt in _stock(layout, float(window.shortest.min()), float(window.longest.max())):
        length = _drawn_lengths(belt, place)
        inside = (length >= least) & (length <= most)
        found.append(_chance(belt, inside, np.minimum(*reserves(window, length, 0.0)), draws))
    return _worth_telling(layout, found)


def _chances_on_fixed(layout: Layout, path_mm: Floats, place: Floats, draws: int) -> tuple[BeltChance, ...]:
    """Every stock belt that a drive without adjuster may take, shortest first, against the path of each draw.

    place: (d) in -1 to 1, where the belt lies in its length tolerance. The path must lie in the stretch band of the
    drawn belt; one that does not stretch goes on where its tolerance band holds the path, as `check` has it.
    """
    found = []
    for belt in _stock(layout, float(path_mm.min()), float(path_mm.max())):
        least, most = taken_on_fixed(belt)
        # A belt that stretches does so from its drawn length; one that does not is only known by its band.
        drawn = 1.0 if belt.stretch_fit is None else _drawn_lengths(belt, place) / line_length_mm(belt)
        spare = np.minimum(path_mm - least * drawn, most * drawn - path_mm)
        found.append(_chance(belt, spare >= 0.0, spare, draws, belt.stretch_fit is not None))
    return _worth_telling(layout, found)


def best_of(chances: tuple[BeltChance, ...]) -> BeltChance | None:
    """The belt of the highest rank, whether it is worth buying or not; None without a chance."""
    possible = [chance for chance in chances if chance.inside > 0.0]
    return max(possible, key=lambda chance: chance.rank, default=None)


def _chance(belt: Belt, inside: Bools, spare: Floats, draws: int, wears: bool = True) -> BeltChance:
    reserve = float(np.percentile(spare, _RESERVE_PERCENT))
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


# What the errors of measuring and the belt's own tolerance do to a layout: spreads and chances.

DRAWS = 20_000
SEED = 1
_MOST_BELTS = 9
_BAND_PERCENT = (2.5, 97.5)
"""A spread is told as what 19 of 20 draws lie between."""


@dataclass(frozen=True)
class WrapSpread:
    """Wrap of one pulley over the draws that have a path, deg.

    band_deg: what 19 of 20 lie between. under: chance to be under the least, None without one.
    """

    pulley: str
    minimum_deg: float | None
    mean_deg: float
    deviation_deg: float
    band_deg: tuple[float, float]
    under: float | None


@dataclass(frozen=True, eq=False)
class Tolerance:
    """A layout with its measurements uncertain. Chances are shares of all draws.

    plan: of the layout as given. measurements: everything that was drawn. first: spread of the needed length by
    derivatives. needed_mm: path at the design setting of each draw that has one there. windows: of the draws with a
    path (None without an adjuster). no_path: draws without a sound path anywhere. turns_back: whose length turns back
    on the travel. cut: whose travel cannot be used whole. belts: those with a chance, shortest first. nearest: the one
    of the best chances, whether it is worth buying or not. fitted: the belt that the wraps are for, named by the layout
    or else the nearest; None where nothing has a chance.
    """

    plan: Plan
    draws: int
    seed: int
    measurements: tuple[Measurement, ...]
    first: _FirstOrder | None
    needed_mm: Floats
    windows: Window[Floats] | None
    no_path: float
    turns_back: float
    cut: float
    belts: tuple[BeltChance, ...]
    nearest: BeltChance | None
    fitted: Belt | None
    wraps: tuple[WrapSpread, ...]

    @property
    def route(self) -> Route:
        return self.plan.route

    @property
    def measure_again(self) -> Measurement | None:
        """What makes most of the path's variance; None where nothing does, and where no measuring mends what fails."""
        spread = self.first is not None and self.first.deviation_mm and not self.lost
        return self.first.contributions[0].measurement if self.first is not None and spread else None

    @property
    def lost(self) -> tuple[str, ...]:
        """What fails in nearly every draw, in words: to measure again is no help there."""
        none = self.route.to_ask_for_mm is None and (self.nearest is None or self.nearest.inside < 1.0 - _SURELY)
        short = [each.pulley for each in self.wraps if (each.under or 0.0) > _SURELY]
        worn = self.windows is None and self.route.layout.belt.stretch_fit is None
        told = (
            ("no belt can be fitted", none),
            ("nothing takes up wear", worn),
            (f"the wrap of {all_of(short)} falls short", short),
        )
        return tuple(words for words, holds in told if holds)

    @property
    def best(self) -> BeltChance | None:
        """The belt to buy, None where none is worth it."""
        return self.nearest if self.nearest is not None and self.nearest.worth_buying else None

    @property
    def worth_asking(self) -> bool:
        """Whether no belt that is known of is worth buying, but one that may be sold would be good."""
        asked, good = self.route.to_ask_for_mm, self.route.acceptable_mm
        may_be = asked is not None and begins_over(self.route.layout.belt, asked[1]) is None
        return self.best is None and good is not None and may_be

    @property
    def chosen(self) -> BeltChance | None:
        """The belt that the layout names, or that is chosen for the layout as given."""
        if self.route.layout.belt.length_mm is not None:
            return self._of(self.route.layout.belt)
        return None if self.route.judged is None else self._of(self.route.judged.belt)

    def called(self, belt: BeltChance) -> tuple[str, ...]:
        """What stands beside the nearest belt: a problem may yet change the length."""
        told = "nearest" if self.best is None else "as it stands" if self.plan.count("problem") else "buy"
        return (told,) if belt == self.nearest else ()

    @property
    def foremost(self) -> tuple[BeltChance, ...]:
        """The belts worth showing, shortest first: the nearest, the chosen one, and those of the highest chance."""
        return self.foremost_of(None)

    def foremost_of(self, count: int | None) -> tuple[BeltChance, ...]:
        """The same, so many at most."""
        wanted = sorted(
            self.belts, key=lambda belt: (belt != self.nearest, belt != self.chosen, [-part for part in belt.rank])
        )
        return tuple(sorted(wanted[: count or _MOST_BELTS], key=lambda belt: belt.line_mm))

    @property
    def needed_band_mm(self) -> tuple[float, float] | None:
        """What 19 of 20 needed lengths lie between."""
        return band(self.needed_mm) if self.needed_mm.size else None

    def _of(self, belt: Belt) -> BeltChance | None:
        return next((chance for chance in self.belts if chance.belt == belt), None)


def tolerance_of(
    route: Route, draws: int = DRAWS, seed: int = SEED, shown: Callable[[float], None] = lambda share: None
) -> Tolerance:
    """Spread and chances of a layout; the same seed and number of draws give the same answer.

    shown: told the share of the work that is done.
    """
    measurements = measurements_of(route)
    circuit, place = drawn_circuits(route, measurements, draws, seed)
    drawn = _drawn(circuit, draws, shown)
    able = _Able(circuit.picked(drawn.able), drawn.travel, place[drawn.able])
    window = None if circuit.track is None or not able.count else window_of(route.layout, able.circuit, able.travel)
    belts = _chances(route, able, window, drawn.needed_mm, draws)
    nearest = best_of(belts)
    named = route.layout.belt if route.layout.belt.length_mm is not None else None
    fitted = named or (None if nearest is None else nearest.belt)
    plan = plan_on(route)
    return Tolerance(
        plan, draws, seed, measurements, first_order(route, measurements), drawn.needed_mm, window,
        1.0 - able.count / draws, _share(able.travel.turns_back, draws), _share(~able.travel.whole, draws), belts,
        nearest, fitted, _wraps(plan, able, window, fitted),
    )  # fmt: skip


def fitted_words(study: Tolerance) -> str:
    """The belt that the wraps are for, and why that one where another is to be bought."""
    if study.fitted is None:
        return "no belt"
    told = format_designation(study.fitted)
    named = study.nearest is not None and study.nearest.belt != study.fitted
    return told + (", named in the file," if named else "")


def band(values: Floats) -> tuple[float, float]:
    """What 19 of 20 values lie between."""
    low, high = np.percentile(values, _BAND_PERCENT)
    return float(low), float(high)


_CHUNK = 2_000
"""So many draws are worked on together: their arrays stay near the processor."""


@dataclass(frozen=True, eq=False)
class _Drawn:
    """Drawn layouts. able: (d), which have a sound path somewhere. travel: of those. needed_mm: path at the design
    setting of each that has one there.
    """

    able: Bools
    travel: Travel
    needed_mm: Floats


@dataclass(frozen=True, eq=False)
class _Able:
    """The draws that have a path. place: (d) in -1 to 1, where the belt lies in its length tolerance."""

    circuit: Circuit
    travel: Travel
    place: Floats

    @property
    def count(self) -> int:
        return len(self.place)


def _drawn(circuit: Circuit, draws: int, shown: Callable[[float], None]) -> _Drawn:
    parts = -(-draws // _CHUNK)
    chunks = np.arange(draws) * parts // draws == np.arange(parts)[:, None]
    every: list[_Drawn] = []
    for chunk in chunks:
        every.append(_part(circuit.picked(chunk)))
        shown(len(every) / parts)
    able, needed = (np.concatenate([getattr(part, name) for part in every]) for name in ("able", "needed_mm"))
    return _Drawn(able, joined_travels([part.travel for part in every]), needed)


def _part(circuit: Circuit) -> _Drawn:
    home, found = nearest_sound(circuit)
    travel = travel_round(circuit.picked(found), home[found])
    return _Drawn(found, travel, np.asarray(circuit.base.length[found][travel.at_nominal]))


def _share(which: Bools, draws: int) -> float:
    return float(which.sum()) / draws


def _chances(
    route: Route, able: _Able, window: Window[Floats] | None, needed: Floats, draws: int
) -> tuple[BeltChance, ...]:
    if not able.count:
        return ()
    if window is None:
        return _chances_on_fixed(route.layout, needed, able.place, draws)
    return _chances_in_window(route.layout, window, able.place, draws)


def _wraps(plan: Plan, able: _Able, window: Window[Floats] | None, fitted: Belt | None) -> tuple[WrapSpread, ...]:
    if fitted is None or not able.count:
        return ()
    setting = able.circuit.nominal
    if window is not None:
        setting = setting_for(able.circuit, able.travel, window, _drawn_lengths(fitted, able.place))
    wrap = np.degrees(able.circuit.loop_at(setting).wrap)
    return tuple(map(_wrap, plan.pulleys, wrap.T))


def _drawn_lengths(belt: Belt, place: Floats) -> Floats:
    """Length of a belt in each draw, (d) mm along the followed line; place: (d) in -1 to 1, in its tolerance."""
    line = line_length_mm(belt)
    return np.asarray(line + belt.tolerance_of(line) * place)


def _wrap(pulley: OnBelt, wrap: Floats) -> WrapSpread:
    least = pulley.minimum_deg
    under = None if least is None else float((wrap < least).mean())
    return WrapSpread(pulley.name, least, float(wrap.mean()), float(wrap.std()), band(wrap), under)

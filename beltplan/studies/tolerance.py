"""What the errors of measuring and the belt's own tolerance do to a layout: spreads and chances."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.fit import growth_of
from beltplan.belts.lengths import line_length_mm
from beltplan.belts.route import Route
from beltplan.checks.wrap import least_wrap
from beltplan.geometry.vectors import Floats
from beltplan.studies.measurements import Measurement, measurements_of
from beltplan.studies.tolerance_belts import BeltChance, best_of, chances_in_window, chances_on_fixed
from beltplan.studies.tolerance_draws import Drawn, drawn_layouts
from beltplan.studies.tolerance_first_order import FirstOrder, first_order
from beltplan.studies.tolerance_travel import Ends, share_for, usable_travel, windows_of
from beltplan.studies.windows import Windows

DRAWS = 20_000
SEED = 1
MOST_BELTS = 9
BAND_PERCENT = (2.5, 97.5)
"""A spread is told as what 19 of 20 draws lie between."""


@dataclass(frozen=True)
class WrapSpread:
    """Wrap of one pulley over the draws that have a path, deg.

    band_deg: what 19 of 20 lie between. under: chance to be under the least, None without one.
    """

    pulley: str
    least_deg: float | None
    mean_deg: float
    deviation_deg: float
    band_deg: tuple[float, float]
    under: float | None


@dataclass(frozen=True, eq=False)
class Tolerance:
    """A layout with its measurements uncertain. Chances are shares of all draws.

    measurements: everything that was drawn. first: spread of the needed length by derivatives. needed_mm: path at the
    design setting of each draw that has one there. windows: of the draws with a path (None without an adjuster).
    no_path: draws without a sound path anywhere. turns_back: whose length turns back on the travel. cut: whose travel
    cannot be used whole. belts: those with a chance, shortest first. nearest: the one of the best chances, whether it
    is worth buying or not. fitted: the belt that the wraps are for, named by the layout or else the nearest; None where
    nothing has a chance.
    """

    route: Route
    draws: int
    seed: int
    measurements: tuple[Measurement, ...]
    first: FirstOrder | None
    needed_mm: Floats
    windows: Windows | None
    no_path: float
    turns_back: float
    cut: float
    belts: tuple[BeltChance, ...]
    nearest: BeltChance | None
    fitted: Belt | None
    wraps: tuple[WrapSpread, ...]

    @property
    def best(self) -> BeltChance | None:
        """The belt to buy, None where none is worth it."""
        return self.nearest if self.nearest is not None and self.nearest.worth_buying else None

    @property
    def chosen(self) -> BeltChance | None:
        """The belt that the layout names, or that is chosen for the layout as given."""
        if self.route.layout.belt.length_mm is not None:
            return self._of(self.route.layout.belt)
        return None if self.route.judged is None else self._of(self.route.judged.belt)

    @property
    def foremost(self) -> tuple[BeltChance, ...]:
        """The belts worth showing, shortest first: the nearest, the chosen one, and those of the highest chance."""
        wanted = sorted(
            self.belts, key=lambda belt: (belt != self.nearest, belt != self.chosen, [-part for part in belt.rank])
        )
        return tuple(sorted(wanted[:MOST_BELTS], key=lambda belt: belt.line_mm))

    @property
    def needed_band_mm(self) -> tuple[float, float] | None:
        """What 19 of 20 needed lengths lie between."""
        return band(self.needed_mm) if self.needed_mm.size else None

    def _of(self, belt: Belt) -> BeltChance | None:
        return next((chance for chance in self.belts if chance.belt == belt), None)


def tolerance_of(route: Route, draws: int = DRAWS, seed: int = SEED) -> Tolerance:
    """Spread and chances of a layout; the same seed and number of draws give the same answer."""
    measurements = measurements_of(route)
    drawn = drawn_layouts(route, measurements, draws, seed)
    ends = _joined_ends([usable_travel(piece) for piece in drawn.chunks()])
    able = drawn.where(ends.exists)
    windows = _windows(route, able, _ends_where(ends))
    needed = _needed(drawn)
    belts = _chances(route, able, windows, needed, draws)
    nearest = best_of(belts)
    named = route.layout.belt if route.layout.belt.length_mm is not None else None
    fitted = named or (None if nearest is None else nearest.belt)
    return Tolerance(
        route, draws, seed, measurements, first_order(route, measurements), needed, windows,
        1.0 - able.count / draws, float(ends.turns_back.mean()), float(ends.cut.mean()), belts, nearest, fitted,
        _wraps(route, able, windows, fitted),
    )  # fmt: skip


def band(values: Floats) -> tuple[float, float]:
    """What 19 of 20 values lie between."""
    low, high = np.percentile(values, BAND_PERCENT)
    return float(low), float(high)


def _needed(drawn: Drawn) -> Floats:
    lengths = [piece.loop_at(piece.design).length[piece.sound_at(piece.design)] for piece in drawn.chunks()]
    return np.concatenate(lengths)


def _windows(route: Route, able: Drawn, ends: Ends) -> Windows | None:
    if able.track is None or not able.count:
        return None
    return windows_of(route.layout, able, ends)


def _chances(route: Route, able: Drawn, windows: Windows | None, needed: Floats, draws: int) -> tuple[BeltChance, ...]:
    if not able.count:
        return ()
    if windows is None:
        return chances_on_fixed(route.layout, needed, able.belt, draws)
    growth = growth_of(route.layout.belt, route.circuit).total
    return chances_in_window(route.layout, windows, able.belt, growth, draws)


def _wraps(route: Route, able: Drawn, windows: Windows | None, fitted: Belt | None) -> tuple[WrapSpread, ...]:
    if fitted is None or not able.count:
        return ()
    share = able.design
    if windows is not None:
        share = share_for(able, windows, drawn_lengths(fitted, able))
    wrap = np.degrees(able.loop_at(share).wrap)
    return tuple(_wrap(route, i, wrap[:, i]) for i in range(wrap.shape[1]))


def drawn_lengths(belt: Belt, drawn: Drawn) -> Floats:
    """Length of a belt in each draw, (d) mm along the followed line."""
    line = line_length_mm(belt)
    return np.asarray(line + belt.tolerance_of(line) * drawn.belt)


def _wrap(route: Route, index: int, wrap: Floats) -> WrapSpread:
    pulley = route.pulleys[index]
    bound = least_wrap(route.layout, pulley)
    least = None if bound is None else bound.limit
    under = None if least is None else float((wrap < least).mean())
    return WrapSpread(pulley.name, least, float(wrap.mean()), float(wrap.std()), band(wrap), under)


def _joined_ends(pieces: list[Ends]) -> Ends:
    return Ends(*(np.concatenate([getattr(piece, field.name) for piece in pieces]) for field in fields(Ends)))


def _ends_where(ends: Ends) -> Ends:
    return Ends(*(getattr(ends, field.name)[ends.exists] for field in fields(Ends)))

"""Which belt fits: every stock belt against the window, its place on the travel, and what is left to either end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.circuit import Circuit
from beltplan.belts.designations import format_designation
from beltplan.belts.layout import Layout
from beltplan.belts.lengths import line_length_mm
from beltplan.belts.stock import stock_of
from beltplan.belts.travel import Travel, setting_for
from beltplan.geometry.vectors import Floats

Number = TypeVar("Number", float, Floats)


@dataclass(frozen=True, eq=False)
class Window:
    """The lengths that the drive can take, and what must be left of them; all in mm.

    shortest, longest: path at the ends of the usable travel. short_end, long_end: where the reserves count from (the
    marks where the arm has them). fitting: slack needed to slip the belt over the easiest fixed rim, `last_over`.
    wear_share: growth in life that must still be taken up (0 for an adjuster that is set again by hand).
    """

    shortest: float
    longest: float
    short_end: float
    long_end: float
    fitting: float
    last_over: str
    wear_share: float


@dataclass(frozen=True, eq=False)
class FittedBelt:
    """A belt that can be put on: where it puts the adjuster, and what is left.

    line_mm: its length along the followed line. setting: the adjuster's; position: 0 short end, 1 long end (None
    without an adjuster). short_reserve_mm, long_reserve_mm: left over after tolerance, fitting and wear; negative
    where something is missing. reasons: in words, empty for a good belt.
    """

    belt: Belt
    line_mm: float
    setting: float | None
    position: float | None
    short_reserve_mm: float
    long_reserve_mm: float
    judged: Literal["good", "marginal"]
    reasons: tuple[str, ...]

    @property
    def designation(self) -> str:
        """Designation of the belt."""
        return format_designation(self.belt)

    @property
    def reserve_mm(self) -> float:
        """The smaller of the two reserves."""
        return min(self.short_reserve_mm, self.long_reserve_mm)


def window_of(layout: Layout, circuit: Circuit, travel: Travel) -> Window:
    """The window of an adjuster, with the slack that fitting needs at its short-path stop.

    Source: fitting slack, dL/dr = wrap for every rim (derived); wear by belt kind, common practice, no source.
    """
    fitting, last_over = _fitting(layout, circuit, travel)
    ends = _mark_lengths(circuit, travel)
    sprung = is_sprung(circuit)
    return Window(
        travel.shortest_mm,
        travel.longest_mm,
        *ends,
        fitting,
        last_over,
        layout.belt.profile.wear_share if sprung else 0.0,
    )


def is_sprung(circuit: Circuit) -> bool:
    """Whether a spring moves the adjuster; otherwise it is set by hand and locked."""
    return circuit.adjuster is not None and circuit.adjuster.spring is not None


def _fitting(layout: Layout, circuit: Circuit, travel: Travel) -> tuple[float, str]:
    wrap = circuit.loop_at(travel.short).wrap
    over = [
        (float(wrap[i]) * pulley.climb_mm(layout.belt), pulley.name)
        for i, pulley in enumerate(circuit.pulleys)
        if i != circuit.moving
    ]
    return min(over)


def _mark_lengths(circuit: Circuit, travel: Travel) -> tuple[float, float]:
    marks = circuit.adjuster.marks if circuit.adjuster is not None else None
    if marks is None:
        return travel.shortest_mm, travel.longest_mm
    low, high = sorted((travel.short, travel.long))
    lengths = sorted(float(length) for length in circuit.loop_at(np.clip(np.array(marks), low, high)).length)
    return lengths[0], lengths[1]


def fitted_in_window(layout: Layout, circuit: Circuit, travel: Travel, window: Window) -> tuple[FittedBelt, ...]:
    """Stock belts inside the window, good before marginal, then larger smallest reserve, then shorter."""
    belts = stock_of(layout, window.shortest, window.longest)
    settings = setting_for(circuit, travel, np.array([line_length_mm(belt) for belt in belts]))
    fitted = [_fitted(belt, float(at), travel, window) for belt, at in zip(belts, settings, strict=True)]
    return tuple(sorted(fitted, key=lambda f: (f.judged != "good", -f.reserve_mm, f.line_mm)))


def _fitted(belt: Belt, setting: float, travel: Travel, window: Window) -> FittedBelt:
    line = line_length_mm(belt)
    short, long = reserves_in_window(
        line, belt.tolerance_of(line), window.wear_share, window.fitting, window.short_end, window.long_end
    )
    reasons = _short_of(short, "short", "length tolerance and fitting") + _short_of(
        long, "long", "length tolerance and wear" if window.wear_share else "length tolerance"
    )
    judged: Literal["good", "marginal"] = "marginal" if reasons else "good"
    return FittedBelt(belt, line, setting, travel.position(setting), short, long, judged, reasons)


def reserves_in_window(
    line_mm: float,
    tolerance_mm: float,
    wear_share: float,
    fitting_mm: Number,
    short_end_mm: Number,
    long_end_mm: Number,
) -> tuple[Number, Number]:
    """What a belt leaves at the short-path end after tolerance and fitting, and at the long one after tolerance and
    wear, mm; for one window or for arrays of them.
    """
    short = line_mm - tolerance_mm - fitting_mm - short_end_mm
    return short, long_end_mm - line_mm - tolerance_mm - wear_share * line_mm


def _short_of(reserve: float, end: str, what: str) -> tuple[str, ...]:
    return () if reserve >= 0.0 else (f"{-reserve:.1f} mm too little at the {end}-path end for {what}",)


def acceptable_lengths(belt: Belt, window: Window) -> tuple[float, float] | None:
    """Least and most length along the followed line that is good in a window, mm; None where no length is.

    Solves L - tolerance(L) - fitting >= short end and L + tolerance(L) + wear L <= long end, with the tolerance the
    greater of a fixed number and a share of L.
    """
    fixed, share = _tolerance_parts(belt)
    least = max(window.short_end + window.fitting + fixed, (window.short_end + window.fitting) / (1.0 - share))
    most = min(
        (window.long_end - fixed) / (1.0 + window.wear_share), window.long_end / (1.0 + share + window.wear_share)
    )
    return (least, most) if least <= most else None


def _tolerance_parts(belt: Belt) -> tuple[float, float]:
    if belt.tolerance_mm is not None:
        return belt.tolerance_mm, 0.0
    return belt.profile.tolerance_least_mm, belt.profile.tolerance_share


def fitted_on_fixed(layout: Layout, needed_mm: float) -> tuple[FittedBelt, ...]:
    """Stock belts that a drive without adjuster can take: by stretch, or by their length tolerance."""
    fitted = [_on_fixed(belt, needed_mm) for belt in stock_of(layout)]
    inside = [belt for belt in fitted if belt.reserve_mm >= 0.0]
    return tuple(sorted(inside, key=lambda f: (f.judged != "good", -f.reserve_mm, f.line_mm)))


def _on_fixed(belt: Belt, needed_mm: float) -> FittedBelt:
    line, (least, most) = line_length_mm(belt), taken_on_fixed(belt)
    reserves = (most - needed_mm, needed_mm - least)
    if belt.stretch_fit is not None:
        return FittedBelt(belt, line, None, None, *reserves, "good", ())
    reasons = ("no adjuster: only its length tolerance lets it fit, and nothing takes up wear",)
    return FittedBelt(belt, line, None, None, *reserves, "marginal", reasons)


def taken_on_fixed(belt: Belt) -> tuple[float, float]:
    """Shortest and longest path that a belt goes on where nothing adjusts it, mm: by its stretch, else by tolerance."""
    line = line_length_mm(belt)
    if belt.stretch_fit is not None:
        return line * (1.0 + belt.stretch_fit[0]), line * (1.0 + belt.stretch_fit[1])
    return line - belt.tolerance_of(line), line + belt.tolerance_of(line)


def seat_mm(belt: Belt) -> float:
    """Path length that a belt is made for where nothing adjusts it, mm: its own, or in the middle of its stretch."""
    least, most = belt.stretch_fit or (0.0, 0.0)
    return line_length_mm(belt) * (1.0 + 0.5 * (least + most))


def acceptable_on_fixed(belt: Belt, needed_mm: float) -> tuple[float, float]:
    """Least and most length that a drive without adjuster can take, mm along the followed line."""
    if belt.stretch_fit is not None:
        return needed_mm / (1.0 + belt.stretch_fit[1]), needed_mm / (1.0 + belt.stretch_fit[0])
    fixed, share = _tolerance_parts(belt)
    return min(needed_mm - fixed, needed_mm / (1.0 + share)), max(needed_mm + fixed, needed_mm / (1.0 - share))

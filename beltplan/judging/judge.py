"""Very many places judged at once by every check that needs no tension, each by its own measure and bounds."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from beltplan.checks import alignment, belt, charging, clearance, doubts, pulleys
from beltplan.checks.alignment import maximum_misalignment, misalignment_deg
from beltplan.checks.belt import too_wide_a_sweep
from beltplan.checks.clearance import PLACES, minimum_span
from beltplan.checks.every_check import CALLED
from beltplan.checks.gaps import CLEARANCE_CHECK, GAP_CHECK, RIM_CHECK, Bodies, bodies_of, gaps_over
from beltplan.checks.limits import CAUTION, CAUTION_BAND, NONE, PROBLEM, Bound, Check, Finding, demanded
from beltplan.checks.pulleys import minimum_wrap
from beltplan.drive.belt import Belt, line_length_mm
from beltplan.drive.fit import (
    NO_BELT,
    UNLISTED,
    Chosen,
    Window,
    chosen_in,
    chosen_on_fixed,
    ends_sure_to_go_on,
    setting_for,
    share_missing,
    window_of,
)
from beltplan.drive.layout import Layout
from beltplan.drive.route import Route, middle_of
from beltplan.drive.travel import Circuit, Travel, circuit_of
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import Bools, Floats, Ints, apart

Words = NDArray[np.object_]
"""A word a place."""


class Tally:
    """What every place comes to, judged value by value: the worst severity, and the smallest margin with its name.

    worst: '' where nothing has a margin. own_margin, own_worst: the same of what is not the same at every place.
    failing: what a problem of the place, or without one a caution, is by, the farthest beyond its limit; '' without
    any. standing: what is a problem whatever the place. told: values to be told of every place.
    """

    def __init__(self, count: int) -> None:
        self.severity = np.full(count, NONE, dtype=np.int8)
        self.margin = np.full(count, np.inf)
        self.own_margin = np.full(count, np.inf)
        self.worst, self.own_worst, self.failing = (np.full(count, "", dtype=object) for _ in range(3))
        self.standing = list[str]()
        self._depth = np.full(count, np.inf)
        self.told: dict[str, Floats] = {}

    def mark(self, where: Bools | bool, severity: int, cause: str) -> None:
        """Places that are at least so bad, by something that has no bound."""
        self._blame(np.multiply(where, severity, dtype=np.int8), 0.0, cause)

    def judge(
        self, values: Floats, bound: Bound, name: str = "", cause: str = "", own: Bools | bool | None = None
    ) -> None:
        """Hold values, (N) or a single one for all, against a bound; only what has a name counts for the margin.

        cause: what it is blamed on, where that is not the name. own: where the place decides the value, None for
        wherever there are more than a single one. What no place changes is no caution of a place.
        """
        found, alone = bound.severity(values), not np.ndim(values)
        margin = bound.margin(values) if name and bound.limit else None
        if alone and found == PROBLEM:
            self.standing += [] if (cause or name) in self.standing else [cause or name]
            self._blame(found, np.inf, "")
        elif found.any() and not alone:
            self._blame(found, bound.margin(values) if margin is None else margin, cause or name)
        if margin is not None:
            self.rank(margin, name, own)

    def _blame(self, found: Ints, share: Floats | float, cause: str) -> None:
        # What is no number is beyond everything; of what is as far beyond, the first counts.
        share = np.where(np.isnan(share), -np.inf, share)
        deeper = (found > self.severity) | ((found == self.severity) & (found > NONE) & (share < self._depth))
        self.failing[deeper] = cause
        np.copyto(self._depth, share, where=deeper)
        np.maximum(self.severity, found, out=self.severity)

    def rank(self, share: Floats | float, name: str, own: Bools | bool | None = None) -> None:
        """Count a distance to a limit, as a share of it, (N) or a single one for all, for the margin."""
        own = np.ndim(share) > 0 if own is None else own
        most = np.max(self.own_margin if np.any(own) else self.margin, initial=-np.inf)
        if np.min(share, initial=np.inf) >= most:
            return  # as of what is far off
        for margin, worst, where in ((self.margin, self.worst, True), (self.own_margin, self.own_worst, own)):
            less = where & (share < margin)
            worst[less] = name
            np.copyto(margin, share, where=less)


Gaps = dict[tuple[str, Bound, str, str], Floats]
"""Every gap by its check, its limit and what it is between, mm: (N), or a single number where it is the same at every
place.
"""
_GAP_CHECKS = (CLEARANCE_CHECK, GAP_CHECK, RIM_CHECK)
_TOLD_MM = 0.1
"""A gap that changes less is told as the same."""
_RESERVE_NAME = "reserve of the belt"


@dataclass(frozen=True, eq=False)
class Verdicts:
    """Places with a path, (N) each but `standing`; NaN where no belt fits and so nothing is judged.

    index: into the places asked for, in no order. belt: into the belts on offer, or NO_BELT, or UNLISTED. line_mm:
    length that is judged. shortest_mm, longest_mm: the window.
    position: of the adjuster, 0 short to 1 long. wrap_rad: (N, n). clearance_mm, span_gap_mm, rim_gap_mm: the
    smallest. margin: the smallest share in hand of any limit; worst: which, '' where there is none;
    own_margin, own_worst: the same of those that are not the same at every place. failing: what a problem is by that
    the place decides, or without any problem a caution; standing: what is a problem whatever the place. setting, short,
    long: of the adjuster, where the belt puts it and at both ends. slip_wet: the highest grip utilisation when wet,
    steady or revving, where slip is judged. severity: the worst of any check, cautions that no place changes left out.
    """

    index: Ints
    belt: Ints
    line_mm: Floats
    shortest_mm: Floats
    longest_mm: Floats
    reserve_mm: Floats
    position: Floats
    take_up_percent: Floats
    wrap_rad: Floats
    clearance_mm: Floats
    span_gap_mm: Floats
    rim_gap_mm: Floats
    margin: Floats
    own_margin: Floats
    setting: Floats
    short: Floats
    long: Floats
    slip_wet: Floats
    worst: Words
    own_worst: Words
    severity: Ints
    failing: Words
    standing: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.index)


BY_ROW = tuple(each.name for each in fields(Verdicts) if each.name != "standing")
"""What of them stands in rows, one a place."""


@dataclass(frozen=True, eq=False)
class Freed:
    """A layout some of whose pulleys may stand anywhere: k of them, by their indices in the circuit.

    circuit: as the layout has it. fixed: gaps that no place changes. swept: those and what only the adjuster changes,
    the smallest of each from stop to stop. everywhere: what the checks find whatever the place, None until it is
    asked.
    """

    layout: Layout
    circuit: Circuit
    indices: tuple[int, ...]
    belts: tuple[Belt, ...]
    bodies: Bodies
    fixed: Gaps
    swept: Gaps
    everywhere: tuple[Finding, ...] | None = None

    def at(self, places: Floats) -> Circuit:
        """The circuit at places, (..., k, 2) mm."""
        return self.circuit.moved(
            {index: apart(*np.moveaxis(places[..., i, :], -1, 0)) for i, index in enumerate(self.indices)}
        )

    @cached_property
    def pulleys(self) -> tuple[str, ...]:
        """Names of all pulleys, in the direction of belt travel."""
        return tuple(pulley.name for pulley in self.circuit.pulleys)

    @cached_property
    def line_mm(self) -> Floats:
        """Length of every belt on offer along the followed line, rising, mm; NaN for want of any."""
        return np.array([line_length_mm(belt) for belt in self.belts] or [np.nan])


def freed_of(layout: Layout, names: tuple[str, ...], belts: tuple[Belt, ...], reverse: bool = False) -> Freed:
    """Free some pulleys of a layout, by name; reverse: the listed order run the other way round."""
    circuit = circuit_of(layout, reverse)
    pulleys = [pulley.name for pulley in circuit.pulleys]
    indices = tuple(pulleys.index(name) for name in names)
    freed = Freed(layout, circuit, indices, belts, bodies_of(layout, circuit), {}, {})
    fixed = _smallest(freed, circuit.base, frozenset(indices) | circuit.adjusted, fixed=True)
    if circuit.adjuster is None:
        return replace(freed, fixed=fixed, swept=fixed)
    every = circuit.path_at(np.linspace(*circuit.adjuster.travel, PLACES)[:, None])
    return replace(freed, fixed=fixed, swept=_smallest(freed, every, frozenset(indices), fixed=True))


def wet_slip_of(pulley: str) -> str:
    """What a margin of slip is called."""
    return f"wet slip of {pulley}"


def _smallest(freed: Freed, path: Pieces, varying: frozenset[int], fixed: bool = False) -> Gaps:
    """The smallest gaps of paths, settings (if they have an axis) put together. fixed: those that no place changes."""
    found: Gaps = {}
    for over in gaps_over(freed.bodies, path, varying, fixed):
        least = over.gap_mm.min(axis=0) if over.gap_mm.ndim == 2 else over.gap_mm
        _keep_least(found, {(over.check, over.bound, over.first, over.second): least})
    return found


def _keep_least(found: Gaps, more: Gaps) -> None:
    for key, gap in more.items():
        found[key] = np.minimum(found[key], gap) if key in found else gap


@dataclass(frozen=True, eq=False)
class _Laid:
    """Places, (N), with the belt on that each is judged with: its length, and the path where that puts the adjuster.

    setting: None without an adjuster.
    """

    freed: Freed
    circuit: Circuit
    travel: Travel
    window: Window[Floats]
    chosen: Chosen
    line_mm: Floats
    setting: Floats | None
    path: Pieces

    @property
    def listed(self) -> Bools:
        """Where a list holds the belt."""
        return np.asarray(self.chosen.index >= 0)


def verdicts_of(freed: Freed, circuit: Circuit, index: Ints, travel: Travel) -> Verdicts:
    """Judge places with a sound path at the design setting, all in one circuit; index: their numbers."""
    window = window_of(freed.layout, circuit, travel)
    if circuit.adjuster is None:
        chosen = chosen_on_fixed(freed.layout, freed.belts, window.shortest)
    else:
        chosen = chosen_in(freed.layout, freed.belts, freed.line_mm, window)
    fits = chosen.index != NO_BELT
    # Of a single place `picked` would make what no place changes.
    kept = circuit if fits.all() else circuit.picked(fits)
    laid = _laid(freed, kept, travel.where(fits), window.where(fits), chosen.where(fits))
    tally = Tally(int(fits.sum()))
    for question in BY_PLACE.values():
        question(laid, tally)
    return _verdicts(laid, tally, fits, index, window, chosen)


def _laid(freed: Freed, circuit: Circuit, travel: Travel, window: Window[Floats], chosen: Chosen) -> _Laid:
    line_mm = _lengths_for(circuit, freed.line_mm, chosen, travel)
    setting = None if circuit.adjuster is None else setting_for(circuit, travel, window, line_mm)
    path = circuit.base if setting is None else circuit.path_at(setting)
    return _Laid(freed, circuit, travel, window, chosen, line_mm, setting, path)


def _lengths_for(circuit: Circuit, offered_mm: Floats, chosen: Chosen, travel: Travel) -> Floats:
    """Length along the followed line that places are judged with, (N); where no list holds a belt, the path at the
    middle of the travel, as `drive.route`.
    """
    lengths = offered_mm[np.maximum(chosen.index, 0)]
    unlisted = chosen.index == UNLISTED
    if unlisted.any():
        adjuster = circuit.adjuster
        setting = np.zeros(()) if adjuster is None else middle_of(adjuster, travel.where(unlisted))
        lengths[unlisted] = circuit.picked(unlisted).path_at(setting).length
    return lengths


def _verdicts(laid: _Laid, tally: Tally, fits: Bools, index: Ints, window: Window[Floats], chosen: Chosen) -> Verdicts:
    nothing, count = np.full(int(fits.sum()), np.nan), len(index)
    told = {name: nothing for name in ("take_up_percent", "slip_wet", "setting", "short", "long", "position")}
    if laid.setting is not None:
        told |= {"setting": laid.setting, "short": laid.travel.short, "long": laid.travel.long}
        told["position"] = laid.travel.position(laid.setting)
    told |= {"line_mm": laid.line_mm} | tally.told | {name: getattr(tally, name) for name in _TALLIED}
    spread: dict[str, Any] = {}
    for name, found in told.items():
        spread[name] = np.full((count, *found.shape[1:]), _TALLIED.get(name, np.nan), dtype=found.dtype)
        spread[name][fits] = found
    spread["reserve_mm"] = np.where(chosen.index >= 0, chosen.reserve_mm, np.nan)
    spread |= {"index": index, "belt": chosen.index, "shortest_mm": window.shortest, "longest_mm": window.longest}
    return Verdicts(**spread, standing=(*tally.standing,))


_TALLIED = {"margin": np.nan, "own_margin": np.nan, "worst": "", "own_worst": "", "severity": PROBLEM, "failing": ""}
"""What a tally tells of places with a belt, and what stands for it where none fits."""


# What is asked of every place, check by check.


def _belt_fit(laid: _Laid, tally: Tally) -> None:
    """Places without any belt are problems already; one that no list holds must be asked for."""
    tally.mark(laid.chosen.index == UNLISTED, CAUTION, "a belt to ask for")


def _wraps(laid: _Laid, tally: Tally) -> None:
    for pulley, wrap in zip(laid.circuit.pulleys, laid.path.wrap, strict=True):
        tally.judge(np.degrees(wrap), minimum_wrap(laid.freed.layout, pulley), f"wrap of {pulley.name}")
    count = len(laid.line_mm)
    tally.told["wrap_rad"] = np.stack([np.broadcast_to(wrap, (count,)) for wrap in laid.path.wrap], axis=-1)


def _take_up(laid: _Laid, tally: Tally) -> None:
    circuit, moving = laid.circuit, laid.circuit.moving
    if laid.setting is None or moving is None:
        return
    percent = circuit.take_up_percent_at(laid.setting, laid.path)
    bound = demanded(laid.freed.layout, "min_take_up_percent", (circuit.pulleys[moving].name,))
    tally.judge(percent, bound, cause="take-up")
    tally.told["take_up_percent"] = percent


def _free_spans(laid: _Laid, tally: Tally) -> None:
    for i, span in enumerate(laid.path.span):
        bound = laid.freed.bodies.limit("max_free_strand_mm", *laid.freed.circuit.ends(i))
        tally.judge(span, bound, cause="a long span")


def _short_spans(laid: _Laid, tally: Tally) -> None:
    for i, span in enumerate(laid.path.span):
        tally.judge(span, minimum_span(laid.freed.layout, laid.freed.circuit.ends(i)), cause="a short span")


def _alignment(laid: _Laid, tally: Tally) -> None:
    for (start, end), span, along in zip(laid.circuit.spans, laid.path.span, laid.path.direction, strict=True):
        bound = maximum_misalignment(laid.freed.layout, start, end)
        tally.judge(misalignment_deg(start, end, span, along), bound, cause="pulleys out of line")


def _reserve(laid: _Laid, tally: Tally) -> None:
    """A belt that is not good, one that cannot be pulled to its set tension, and what is missing as a margin."""
    if laid.setting is None:
        return
    tally.mark(laid.listed & ~laid.chosen.good, CAUTION, _RESERVE_NAME)
    tally.mark(np.greater(*ends_sure_to_go_on(laid.freed.layout.belt, laid.window)), PROBLEM, _RESERVE_NAME)
    pulled = laid.line_mm * laid.window.growth.pulled
    tally.mark(laid.listed & (pulled > laid.window.longest), PROBLEM, _RESERVE_NAME)
    share = share_missing(laid.chosen.reserve_mm, laid.window)
    tally.rank(np.where(laid.listed & (share < 0.0), share, np.inf), _RESERVE_NAME)


def _fitting(laid: _Laid, tally: Tally) -> None:
    if laid.setting is None:
        return
    slack, fitting = laid.line_mm - laid.window.shortest, laid.window.fitting
    for least, severity in ((fitting * CAUTION_BAND, CAUTION), (fitting, PROBLEM)):
        tally.mark(laid.listed & (slack < least), severity, "fitting the belt")


def _travel(laid: _Laid, tally: Tally) -> None:
    if laid.setting is not None:
        tally.mark(~laid.travel.whole, CAUTION, "a part of the travel")


def _rising_spring(laid: _Laid, tally: Tally) -> None:
    if laid.setting is not None:
        tally.mark(doubts.pushes_back(laid.freed.layout, laid.travel), PROBLEM, "the spring's push")
        tally.mark(doubts.rises(laid.circuit, laid.travel), CAUTION, "the spring's readings")


def _gaps(laid: _Laid, tally: Tally) -> None:
    """Gaps of all three checks where the belt puts the adjuster, at both ends, and, where that leaves no problem, at
    every setting that `check` looks at: there of what moves with the adjuster.
    """
    freed, count = laid.freed, len(laid.line_mm)
    smallest = {check: np.full(count, np.inf) for check in _GAP_CHECKS}

    def judge(gaps: Gaps, where: Bools | None = None) -> None:
        for between, gap in gaps.items():
            check, bound, first, second = between
            # What moves is the place's own, also where it is far off at all of them.
            over = gap if gaps is freed.fixed else np.broadcast_to(gap, (count,) if where is None else gap.shape)
            if where is not None:
                over = np.array(np.broadcast_to(least[between], count))
                over[where] = np.minimum(over[where], gap)
            # Else it is the adjuster's: of its whole travel no place changes anything.
            swept = freed.swept.get(between)
            own = None if swept is None else ~(laid.travel.whole | (over <= swept + _TOLD_MM))
            # What is only asked after is no distance that the place is told by.
            name = "" if bound.only_caution else f"{CALLED[check]} {first} / {second}"
            cause = f"clearance to {second}" if check == CLEARANCE_CHECK else CALLED[check]
            tally.judge(over, bound, name, cause, own)
            if not bound.only_caution:
                np.minimum(smallest[check], over, out=smallest[check])

    judge(freed.fixed)
    least = _smallest(freed, laid.path, frozenset(freed.indices) | freed.circuit.adjusted)
    if laid.setting is not None:
        ends = laid.circuit.path_at(laid.travel.ends(laid.circuit))
        _keep_least(least, _smallest(freed, ends, freed.circuit.adjusted))
    judge(least)
    left = tally.severity < PROBLEM
    if laid.setting is not None and left.any():
        circuit = laid.circuit.picked(left)
        low, high = laid.travel.where(left).ends(circuit)
        between = np.linspace(low, high, PLACES)[1:-1]
        judge(_smallest(freed, circuit.path_at(between), freed.circuit.adjusted), left)
    tally.told |= dict(zip(("clearance_mm", "span_gap_mm", "rim_gap_mm"), smallest.values(), strict=True))


def _with_clearance(laid: _Laid, tally: Tally) -> None:
    """Judged with the clearances."""


BY_PLACE: Mapping[Check, Callable[[_Laid, Tally], None]] = MappingProxyType(
    {
        belt.BELT_FIT: _belt_fit,
        pulleys.WRAP: _wraps,
        belt.TAKE_UP: _take_up,
        clearance.FREE_SPAN: _free_spans,
        clearance.SHORT_SPAN: _short_spans,
        alignment.MISALIGNMENT: _alignment,
        belt.RESERVE: _reserve,
        belt.FITTING: _fitting,
        belt.TRAVEL: _travel,
        doubts.RISING_SPRING: _rising_spring,
        clearance.CLEARANCE: _gaps,
        clearance.SPAN_GAP: _with_clearance,
        clearance.RIM_GAP: _with_clearance,
    }
)
"""How each check that depends on the place, but on no tension, is asked of all of them."""

EVERYWHERE = (
    *(pulleys.GROOVES, pulleys.SMALL_PULLEY, pulleys.TURNS, pulleys.RPM, pulleys.BELT_SPEED),
    *(pulleys.DIRECTION, pulleys.SIDE, pulleys.OPEN_SIDE, pulleys.NOT_ON_BELT, doubts.DOUBT),
    *(belt.NO_ADJUSTER, belt.RIM_READING, belt.SLACK_SIDE, charging.CURRENT),
)
"""Checks whose answer no place changes: asked once, of one place."""


def found_everywhere(route: Route) -> tuple[Finding, ...]:
    """What the checks find that no place changes, notes left out; route: of any place."""
    found = [finding for check in EVERYWHERE for finding in check.of_route(route)]
    return tuple(finding for finding in (*found, *too_wide_a_sweep(route)) if finding.severity != "note")

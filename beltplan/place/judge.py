"""Very many places judged at once by all checks that depend on them: wraps, belt, reserves, clearances, slip."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.clearance import minimum_span
from beltplan.checks.gaps import CLEARANCE_CHECK, GAP_CHECK, RIM_CHECK, Bodies, bodies_of, measured
from beltplan.checks.limits import CAUTION, CAUTION_BAND, NONE, PROBLEM, Bound, demanded
from beltplan.checks.pulleys import maximum_misalignment, minimum_wrap, misalignment_deg
from beltplan.checks.tension import maximum_hub_load, maximum_tension
from beltplan.drive.balance import Seat, balance
from beltplan.drive.belt import Belt
from beltplan.drive.fit import (
    NO_BELT,
    Chosen,
    Window,
    chosen_in,
    chosen_on_fixed,
    is_sprung,
    setting_for,
    share_missing,
    window_of,
)
from beltplan.drive.mechanics import Mechanics, frictions, mechanics_of
from beltplan.drive.operation import LEAST_TAKE_UP_PERCENT, duties_of, revved_Nm, torques_Nm, utilisations
from beltplan.drive.route import share_of_best_percent
from beltplan.drive.travel import Circuit, Travel
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.place.travel import Mover, lengths_for

SPEEDS = 11
"""Speeds from idle to maximum, each also one of those of `check`; the cruising speed besides."""


@dataclass(frozen=True, eq=False)
class _Seated:
    """How the belt sits at every place, (N): its length in mm; settings of the adjuster with it and at both ends."""

    length_mm: Floats
    setting: Floats
    short: Floats
    long: Floats


@dataclass(frozen=True, eq=False)
class _Worst:
    """The worst of every place: slip use, (conditions, N, n); whole tension of each span and pull on each hub,
    (N, n) N; shortest span, (N, n) mm; whether a span hangs slack or the spring's adjuster runs against a stop, (N).
    """

    utilisation: Floats
    span_N: Floats
    hub_N: Floats
    span_mm: Floats
    lost: Bools


@dataclass(frozen=True, eq=False)
class _Drive:
    """What slip and tension are judged by. friction: (conditions, n); torque_Nm: (d, s, n).

    duties: how many of d run steadily; after them come the same while the engine changes speed, where that is judged.
    limits, design: of each pulley's use, for real friction and for the cautious one. spans, hubs: of each span's
    tension, and of the pull on each hub where it has a limit.
    """

    mover: Mover
    mechanics: Mechanics
    friction: Floats
    rpm: Floats
    torque_Nm: Floats
    duties: int
    limits: tuple[Bound, ...]
    design: tuple[Bound, ...]
    spans: tuple[Bound, ...]
    hubs: tuple[Bound | None, ...]

    def judges(self, take_up_percent: Floats) -> Bools:
        """Where a tension can be relied on, (N): a spring that takes up next to nothing sets none."""
        if not is_sprung(self.mover.circuit):
            return np.ones(take_up_percent.shape, dtype=bool)
        return np.asarray(take_up_percent >= LEAST_TAKE_UP_PERCENT)

    def worst(self, places: Floats, seated: _Seated) -> _Worst:
        """The worst over duties and speeds; of slip also while the engine changes speed. places: (N, k, 2) mm."""
        given = self.mover.circuit
        circuit = self.mover.at(places[:, None, None])
        radius = np.array([pulley.pitch_radius_mm(self.mover.layout.belt) for pulley in given.pulleys])
        length, setting = seated.length_mm[:, None, None], seated.setting[:, None, None]
        ends = (seated.short[:, None, None], seated.long[:, None, None]) if given.adjuster else (None, None)
        rpm = np.broadcast_to(self.rpm, (len(places), *self.torque_Nm.shape[:-1]))
        tensions = balance(Seat(circuit, radius, length, setting, *ends), self.mechanics, rpm, self.torque_Nm)
        steady = np.s_[:, : self.duties]
        pull, total, tractive = (each[steady] for each in (tensions.hub_load_N, tensions.total_N, tensions.tractive_N))
        stopped = tensions.at_stop[steady].any(axis=(1, 2)) if is_sprung(given) else np.zeros(len(places), dtype=bool)
        return _Worst(
            np.asarray(utilisations(self.friction, tensions).max(axis=(2, 3))),
            np.asarray(total.max(axis=(1, 2))),
            np.asarray(np.hypot(pull[..., 0], pull[..., 1]).max(axis=(1, 2))),
            np.asarray(np.broadcast_to(tensions.loop.span, tensions.total_N.shape)[steady].min(axis=(1, 2))),
            np.asarray(stopped | ~(tractive > 0.0).all(axis=(1, 2, 3))),
        )


def drive_of(mover: Mover) -> _Drive | None:
    """What slip is judged by; None where no shaft takes torque, or the layout does not say enough."""
    layout, pulleys = mover.layout, mover.circuit.pulleys
    mechanics, engine = mechanics_of(layout.belt), layout.engine
    if mechanics is None or engine.idle_rpm is None or engine.max_rpm is None or not _tensioned(mover):
        return None
    cruise = engine.idle_rpm if engine.cruise_rpm is None else engine.cruise_rpm
    rpm = np.array(sorted({*np.linspace(engine.idle_rpm, engine.max_rpm, SPEEDS).tolist(), cruise}))
    steady = torques_Nm(layout.belt, pulleys, rpm, duties_of(layout))
    revved = revved_Nm(layout, pulleys, steady)
    torque = steady if revved is None else np.concatenate((steady, *revved))
    if not (torque[..., 1:] != 0.0).any():
        return None
    limits, design = (_limits(mover, key) for key in ("max_slip_use", "max_slip_use_design"))
    spans = tuple(
        maximum_tension(layout, mechanics, (start.name, end.name))
        for start, end in zip(pulleys, pulleys[1:] + pulleys[:1], strict=True)
    )
    hubs = tuple(map(maximum_hub_load, pulleys))
    friction = frictions(layout.belt, pulleys)
    return _Drive(mover, mechanics, friction, rpm, torque, len(steady), limits, design, spans, hubs)


def _tensioned(mover: Mover) -> bool:
    belt = mover.layout.belt
    return mover.circuit.adjuster is not None or (belt.stretch_fit is not None and belt.stiffness_N is not None)


def _limits(mover: Mover, key: str) -> tuple[Bound, ...]:
    pulleys = mover.circuit.pulleys
    return tuple(demanded(mover.layout, key, (pulley.name, pulley.role)) for pulley in pulleys)


# Every place judged by all checks that depend on it: wraps, belt, reserves, take-up, clearances, alignment.


class Tally:
    """What every place comes to, judged value by value: the worst severity, and the smallest margin with its name.

    worst: number of the name in `names`, -1 where nothing has a margin. own_margin: the smallest of what is not the
    same at every place.
    """

    def __init__(self, count: int, names: tuple[str, ...]) -> None:
        self.names = names
        self.severity = np.full(count, NONE, dtype=np.int8)
        self.margin = np.full(count, np.inf)
        self.own_margin = np.full(count, np.inf)
        self.worst = np.full(count, -1, dtype=np.int16)

    def mark(self, where: Bools | bool, severity: int) -> None:
        """Places that are at least so bad, by something that has no bound."""
        np.maximum(self.severity, np.multiply(where, severity, dtype=np.int8), out=self.severity)

    def judge(self, values: Floats, bound: Bound, name: str = "") -> None:
        """Hold values, (N) or a single one for all, against a bound; only what has a name counts for the margin."""
        np.maximum(self.severity, bound.severity(values), out=self.severity)
        if name and bound.limit:
            self.rank(bound.margin(values), name)

    def rank(self, share: Floats | float, name: str) -> None:
        """Count a distance to a limit, as a share of it, (N) or a single one for all, for the margin."""
        margin = np.broadcast_to(share, self.margin.shape)
        self.worst[margin < self.margin] = self.names.index(name)
        np.minimum(self.margin, margin, out=self.margin)
        if np.size(share) > 1:
            np.minimum(self.own_margin, margin, out=self.own_margin)


_Gaps = dict[tuple[str, Bound], Floats]
"""The smallest gap of every check and limit, mm: (N), or a single number where it is the same at every place."""
_GAP_NAMES = {CLEARANCE_CHECK: "clearance", GAP_CHECK: "span gap", RIM_CHECK: "rim gap"}
_RESERVE_NAME = "reserve of the belt"


@dataclass(frozen=True, eq=False)
class Judged:
    """Places with a path, (N) each; NaN where no belt fits and so nothing is judged.

    index: into the places asked for. belt: into the belts on offer, or NO_BELT, or UNLISTED. line_mm: length that is
    judged. shortest_mm, longest_mm: the window.
    position: of the adjuster, 0 short to 1 long. wrap_rad: (N, n). clearance_mm, strand_gap_mm, rim_gap_mm: the
    smallest. margin: the smallest share in hand of any limit on wrap or clearance; worst: which, by number;
    own_margin: the smallest of those that are not the same at every place. setting, short, long: of the adjuster,
    where the belt puts it and at both ends. slip_wet: the highest slip use when wet, steady or revving,
    where slip is judged. severity: the worst of any check.
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
    worst: Ints
    severity: Ints

    def __len__(self) -> int:
        return len(self.index)


@dataclass(frozen=True, eq=False)
class Questions:
    """What places of a layout are judged by. fixed: gaps that no place changes. names: what a margin can belong to."""

    mover: Mover
    bodies: Bodies
    belts: tuple[Belt, ...]
    wraps: tuple[Bound | None, ...]
    free: tuple[Bound, ...]
    short: tuple[Bound, ...]
    askew: tuple[Bound, ...]
    take_up: Bound
    fixed: _Gaps
    names: tuple[str, ...]

    @property
    def varying(self) -> frozenset[int]:
        """Pulleys that do not stand everywhere the same: the moved ones and the adjusted one."""
        moving = self.mover.circuit.moving
        return frozenset(self.mover.moved) | (frozenset() if moving is None else {moving})


def questions_of(mover: Mover, belts: tuple[Belt, ...]) -> Questions:
    """Gather every limit once."""
    layout, bodies = mover.layout, bodies_of(mover.layout, mover.circuit)
    pulleys, n = mover.circuit.pulleys, len(mover.circuit.pulleys)
    moving = "" if mover.circuit.moving is None else pulleys[mover.circuit.moving].name
    empty = Questions(
        mover,
        bodies,
        belts,
        tuple(minimum_wrap(layout, pulley) for pulley in pulleys),
        tuple(bodies.limit("max_free_strand_mm", *bodies.ends(i)) for i in range(n)),
        tuple(minimum_span(layout, bodies.ends(i)) for i in range(n)),
        tuple(maximum_misalignment(layout, *ends) for ends in zip(pulleys, pulleys[1:] + pulleys[:1], strict=True)),
        demanded(layout, "min_take_up_percent", (moving,)),
        {},
        (
            *(_wrap_name(p.name) for p in pulleys),
            *_GAP_NAMES.values(),
            _RESERVE_NAME,
            *(_slip_name(p.name) for p in pulleys),
        ),
    )
    return replace(empty, fixed=_smallest(empty, mover.circuit.base, fixed=True))


def _wrap_name(pulley: str) -> str:
    return f"wrap of {pulley}"


def _slip_name(pulley: str) -> str:
    return f"wet slip of {pulley}"


def _smallest(questions: Questions, path: Pieces, fixed: bool = False) -> _Gaps:
    """The smallest gaps of paths, settings (if they have an axis) put together. fixed: those that no place changes."""
    found: _Gaps = {}
    for over in measured(questions.bodies, path, questions.varying, fixed):
        least = over.gap_mm.min(axis=0) if over.gap_mm.ndim == 2 else over.gap_mm
        _keep_least(found, {(over.check, over.bound): least})
    return found


def _keep_least(found: _Gaps, more: _Gaps) -> None:
    for key, gap in more.items():
        found[key] = np.minimum(found[key], gap) if key in found else gap


def judged(questions: Questions, circuit: Circuit, index: Ints, travel: Travel) -> Judged:
    """Judge places with a sound path at the design setting, all in one circuit; index: their numbers."""
    layout = questions.mover.layout
    window = window_of(layout, circuit, travel)
    if circuit.adjuster is None:
        chosen = chosen_on_fixed(layout, questions.belts, window.shortest)
    else:
        chosen = chosen_in(layout, questions.belts, window)
    return _joined(questions, circuit, index, travel, window, chosen)


def _joined(
    questions: Questions, circuit: Circuit, index: Ints, travel: Travel, window: Window[Floats], chosen: Chosen
) -> Judged:
    fits, count = chosen.index != NO_BELT, len(index)
    own = (circuit.picked(fits), travel.where(fits), window.where(fits), chosen.where(fits))
    tally, values = _Judging(questions, *own).done()
    values |= {"margin": tally.margin, "own_margin": tally.own_margin}
    spread: dict[str, Floats] = {}
    for name, found in values.items():
        spread[name] = np.full((count, *found.shape[1:]), np.nan)
        spread[name][fits] = found
    severity, worst = np.full(count, PROBLEM, dtype=np.int8), np.full(count, -1, dtype=np.int16)
    severity[fits], worst[fits] = tally.severity, tally.worst
    spread["reserve_mm"] = np.where(chosen.index >= 0, chosen.reserve_mm, np.nan)
    lengths = {"shortest_mm": window.shortest, "longest_mm": window.longest}
    return Judged(index=index, belt=chosen.index, worst=worst, severity=severity, **lengths, **spread)


class _Judging:
    """Judges places for which a belt is chosen, question by question."""

    def __init__(
        self, questions: Questions, circuit: Circuit, travel: Travel, window: Window[Floats], chosen: Chosen
    ) -> None:
        self.questions, self.circuit, self.travel, self.window = questions, circuit, travel, window
        self.count = len(chosen.index)
        self.tally = Tally(self.count, questions.names)
        self.tally.mark(~chosen.good, CAUTION)
        if circuit.adjuster is None:
            # Only a stretch belt may do without an adjuster, as `checks.no_adjuster`.
            self.tally.mark(questions.mover.layout.belt.stretch_fit is None, PROBLEM)
        self.listed, self.reserve_mm = chosen.index >= 0, chosen.reserve_mm
        self.line_mm = lengths_for(circuit, questions.belts, chosen, travel)

    def done(self) -> tuple[Tally, dict[str, Floats]]:
        """The tally, and the values to be told."""
        adjusted, nothing = self.circuit.adjuster is not None, np.full(self.count, np.nan)
        setting = setting_for(self.circuit, self.travel, self.window, self.line_mm) if adjusted else None
        path = self.circuit.base if setting is None else self.circuit.path_at(setting)
        values = {
            "setting": nothing if setting is None else setting,
            "short": nothing if setting is None else self.travel.short,
            "long": nothing if setting is None else self.travel.long,
            "line_mm": self.line_mm,
            "slip_wet": nothing,
            "position": nothing if setting is None else self.travel.position(setting),
            "take_up_percent": nothing if setting is None else self._take_up(path, setting),
            "wrap_rad": self._wraps(path),
        }
        self._spans(path)
        if adjusted:
            self.tally.mark(~self.travel.whole, CAUTION)
            self._fitting()
            self._unset()
            self._lacking()
        return self.tally, values | self._gaps(path)

    def _take_up(self, path: Pieces, setting: Floats) -> Floats:
        circuit, moving = self.circuit, self.circuit.moving or 0
        lever = circuit.adjuster.lever_mm if circuit.adjuster else 0.0
        percent = share_of_best_percent(np.abs(circuit.slope_at(setting, path)), lever, path.wrap[moving])
        self.tally.judge(percent, self.questions.take_up)
        return percent

    def _wraps(self, path: Pieces) -> Floats:
        pulleys = self.questions.mover.circuit.pulleys
        for pulley, wrap, least in zip(pulleys, path.wrap, self.questions.wraps, strict=True):
            if least is not None:
                self.tally.judge(np.degrees(wrap), least, _wrap_name(pulley.name))
        return np.stack([np.broadcast_to(wrap, (self.count,)) for wrap in path.wrap], axis=-1)

    def _spans(self, path: Pieces) -> None:
        questions, pulleys = self.questions, self.questions.mover.circuit.pulleys
        ends = zip(pulleys, pulleys[1:] + pulleys[:1], strict=True)
        bounds = zip(questions.free, questions.short, questions.askew, strict=True)
        for span, (start, end), (free, short, askew) in zip(path.span, ends, bounds, strict=True):
            self.tally.judge(span, free)
            self.tally.judge(span, short)
            self.tally.judge(misalignment_deg(start, end, span), askew)

    def _unset(self) -> None:
        """Belts that the adjuster cannot pull up to their set tension, as `checks.reserve`."""
        pulled = self.line_mm * self.window.growth.pulled
        self.tally.mark(self.listed & (pulled > self.window.longest), PROBLEM)

    def _lacking(self) -> None:
        """A reserve that is missing counts for the margin, as `checks.comparison`."""
        share = share_missing(self.reserve_mm, self.window)
        self.tally.rank(np.where(self.listed & (share < 0.0), share, np.inf), _RESERVE_NAME)

    def _fitting(self) -> None:
        slack, fitting = self.line_mm - self.window.shortest, self.window.fitting
        self.tally.mark(self.listed & (slack < fitting), PROBLEM)
        self.tally.mark(self.listed & (slack < fitting * CAUTION_BAND), CAUTION)

    def _gaps(self, path: Pieces) -> dict[str, Floats]:
        questions = self.questions
        least = _smallest(questions, path)
        _keep_least(least, questions.fixed)
        if self.circuit.adjuster is not None:
            ends = self.circuit.path_at(self.travel.ends(self.circuit))
            _keep_least(least, _smallest(questions, ends))
        smallest = {check: np.full(self.count, np.inf) for check in _GAP_NAMES}
        for (check, bound), gap in least.items():
            self.tally.judge(gap, bound, _GAP_NAMES[check])
            np.minimum(smallest[check], gap, out=smallest[check])
        return dict(zip(("clearance_mm", "span_gap_mm", "rim_gap_mm"), smallest.values(), strict=True))


def with_slip(questions: Questions, drive: _Drive, places: Floats, given: Judged) -> Judged:
    """Judge slip and tension too, at judged places with a belt; places: (N, k, 2) mm, in their order."""
    keep = np.flatnonzero(drive.judges(given.take_up_percent))
    settings = (np.nan_to_num(values[keep]) for values in (given.setting, given.short, given.long))
    worst = drive.worst(places[keep], _Seated(given.line_mm[keep], *settings))
    tally = Tally(len(keep), questions.names)
    dry, wet, design = worst.utilisation
    for i, name in enumerate(pulley.name for pulley in questions.mover.circuit.pulleys):
        tally.judge(dry[:, i], drive.limits[i])
        tally.judge(wet[:, i], drive.limits[i], _slip_name(name))
        tally.judge(design[:, i], drive.design[i])
        tally.judge(worst.span_N[:, i], drive.spans[i])
        tally.judge(worst.span_mm[:, i], questions.short[i])
        hub = drive.hubs[i]
        if hub is not None:
            tally.judge(worst.hub_N[:, i], hub)
    # A span that hangs slack, or a loaded pulley that the belt only touches, slips at any friction.
    tally.mark(worst.lost | ~np.isfinite(worst.utilisation).all(axis=(0, 2)), PROBLEM)
    return _with_tally(given, keep, tally, wet.max(axis=-1))


def _with_tally(given: Judged, keep: Ints, tally: Tally, slip_wet: Floats) -> Judged:
    severity, worst = given.severity.copy(), given.worst.copy()
    margin, own_margin, wet = given.margin.copy(), given.own_margin.copy(), given.slip_wet.copy()
    worst[keep] = np.where(tally.margin < margin[keep], tally.worst, worst[keep])
    margin[keep] = np.minimum(margin[keep], tally.margin)
    own_margin[keep] = np.minimum(own_margin[keep], tally.margin)
    severity[keep] = np.maximum(severity[keep], tally.severity)
    wet[keep] = slip_wet
    return replace(given, severity=severity, worst=worst, margin=margin, own_margin=own_margin, slip_wet=wet)

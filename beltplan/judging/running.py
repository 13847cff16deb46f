"""Places judged by what the running drive does there: slip, tensions, hub loads, the spring, resonance, short spans."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType

import numpy as np

from beltplan.checks import clearance, resonance, shaking, slip, tension
from beltplan.checks.clearance import minimum_span
from beltplan.checks.limits import CAUTION, PROBLEM, Bound, Check, makers_bound
from beltplan.checks.resonance import apart_from_orders, exciting_Hz, resonance_band
from beltplan.checks.slip import grip_bound
from beltplan.checks.tension import at_an_end, hub_moment_Nm, maximum_tension
from beltplan.drive.balance import Seat
from beltplan.drive.fit import is_sprung
from beltplan.drive.mechanics import CONDITIONS, REAL, Condition, Mechanics, frequency_Hz, frictions, mechanics_of
from beltplan.drive.operation import MINIMUM_TAKE_UP_PERCENT, duties_of, revved_Nm, speeds_rpm, tension_band, torques_Nm
from beltplan.drive.settling import NODES, Response, Settled, response_of, settled_singly
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.judging.judge import Freed, Tally, Verdicts, wet_slip_of

_WET = CONDITIONS.index("wet")


@dataclass(frozen=True)
class _Question:
    """What is asked of places in all their states; deciding: in which of these it can come to anything, (s)."""

    ask: Callable[[Running, Settled, Tally], None]
    deciding: Callable[[Running, Response], Bools]


_Asked = tuple[float, tuple[_Question, ...]]
"""A share of the tension, and what is asked there."""


@dataclass(frozen=True, eq=False)
class Running:
    """The states, s of them, that every place is judged in: steady ones, then the engine stopped, then revving ones.

    rpm: (s, 1) of the engine. torque_Nm: (s, 1, n). steady: how many run steadily. idle: numbers of the steady ones at
    idle, one a duty. friction: (conditions, n). loaded: (n), which shafts take torque in any state, and the driver.
    """

    freed: Freed
    mechanics: Mechanics
    rpm: Floats
    torque_Nm: Floats
    steady: int
    idle: Ints
    friction: Floats
    loaded: Bools

    @property
    def carries_load(self) -> bool:
        """Whether any shaft takes torque in any state."""
        return bool(self.loaded[1:].any())

    def picked(self, among: Ints) -> Running:
        """Only some of the states: at least those at idle."""
        steady = int(np.count_nonzero(among < self.steady))
        idle = np.searchsorted(among, self.idle)
        return replace(self, rpm=self.rpm[among], torque_Nm=self.torque_Nm[among], steady=steady, idle=idle)


def running_of(freed: Freed) -> Running | None:
    """The states of a layout; None where no place sets a tension that can be computed, as `why_not_judged` says."""
    layout, pulleys, belt = freed.layout, freed.circuit.pulleys, freed.layout.belt
    mechanics, engine = mechanics_of(belt, freed.circuit.adjuster), layout.engine
    held = freed.circuit.adjuster is not None or (belt.stretch_fit is not None and belt.stiffness_N is not None)
    if mechanics is None or engine.idle_rpm is None or engine.max_rpm is None or not held:
        return None
    rpm = speeds_rpm(engine.idle_rpm, engine.cruise_rpm, engine.max_rpm)
    steady = torques_Nm(belt, pulleys, rpm, duties_of(layout))
    revved = revved_Nm(layout, pulleys, steady)
    modes = [steady, np.zeros((1, 1, len(pulleys)))] + ([] if revved is None else [*revved])
    torque = np.concatenate([mode.reshape(-1, len(pulleys)) for mode in modes])
    speeds = np.concatenate([np.tile(rpm if mode is not modes[1] else np.zeros(1), len(mode)) for mode in modes])
    idle = np.arange(len(steady)) * len(rpm)
    count = len(steady) * len(rpm)
    loaded = np.append(True, torque[:, 1:].any(axis=0))
    return Running(freed, mechanics, speeds[:, None], torque[:, None], count, idle, frictions(belt, pulleys), loaded)


def with_running(run: Running, places: Floats, given: Verdicts) -> Verdicts:
    """Judge places with a belt by tension as well, where it can be relied on; places: (N, k, 2) mm, in their order."""
    freed, keep = run.freed, np.arange(len(given))
    if is_sprung(freed.circuit):
        keep = np.flatnonzero(given.take_up_percent >= MINIMUM_TAKE_UP_PERCENT)
    ends = zip(tension_band(freed.layout, freed.circuit) or (), _AT_THE_ENDS, strict=False)
    return _with_questions(run, places, given, keep, ((1.0, (*BY_TENSION.values(),)), *ends))


def _with_questions(run: Running, places: Floats, given: Verdicts, keep: Ints, asked: tuple[_Asked, ...]) -> Verdicts:
    """Ask the places to keep at the first share of the tension, and at the others those without a caution."""
    judged, (first, *others) = given, asked
    for nodes in NODES:
        if not len(keep):
            break
        seat = _seat(run.freed, places[keep], given, keep)
        response = response_of(seat, run.mechanics, run.rpm, run.torque_Nm, first[0], nodes)
        judged = _answered(run, judged, keep, response, first[1])
        for share, questions in others:
            left = response.trusted & (judged.severity[keep] < CAUTION)
            if not left.any():
                break
            judged = _answered(run, judged, keep, end := response.at_share(share, left), questions)
            judged = _with_questions(run, places, judged, keep[left & ~end.trusted], ((share, questions),))
        keep = keep[~response.trusted]
    for share, questions in asked:
        if not len(keep):
            break
        seat = _seat(run.freed, places[keep], given, keep)
        tally = _tallied(run, settled_singly(seat, run.mechanics, run.rpm, run.torque_Nm, share), questions)
        judged = _with_tally(judged, keep, tally, np.ones(len(keep), dtype=bool))
        # What the ends of the tension's band add is a caution at most.
        keep = keep[judged.severity[keep] < CAUTION]
    return judged


def _answered(
    run: Running, judged: Verdicts, keep: Ints, response: Response, questions: tuple[_Question, ...]
) -> Verdicts:
    """Ask the layouts to be relied on in the states in which the answer can lie."""
    if not response.trusted.any():
        return judged
    among = np.any([question.deciding(run, response) for question in questions], axis=0)
    if not among.any():
        return judged
    among[[*run.idle, run.steady]] = True
    states = np.flatnonzero(among)
    tally = _tallied(run.picked(states), response.settled(states), questions)
    return _with_tally(judged, keep, tally, response.trusted)


def _seat(freed: Freed, places: Floats, given: Verdicts, keep: Ints) -> Seat:
    radius = np.array([pulley.pitch_radius_mm(freed.layout.belt) for pulley in freed.circuit.pulleys])
    setting, *ends = (np.nan_to_num(each[None, keep]) for each in (given.setting, given.short, given.long))
    if all((each == each[:, :1]).all() for each in ends):
        ends = [each[:, :1] for each in ends]  # what is laid between them is then the same for all
    short, long = (None, None) if freed.circuit.adjuster is None else ends
    return Seat(freed.at(places[None]), radius, given.line_mm[None, keep], setting, short, long)


def _tallied(run: Running, states: Settled, questions: Iterable[_Question]) -> Tally:
    tally = Tally(states.first_N.shape[1])
    for question in questions:
        question.ask(run, states, tally)
    return tally


def _with_tally(given: Verdicts, keep: Ints, tally: Tally, where: Bools) -> Verdicts:
    keep, new = keep[where], {name: getattr(given, name).copy() for name in BY_RUNNING}
    for margin, worst in (("margin", "worst"), ("own_margin", "own_worst")):
        share, name = (getattr(tally, of)[where] for of in (margin, worst))
        new[worst][keep] = np.where(share < new[margin][keep], name, new[worst][keep])
        new[margin][keep] = np.minimum(new[margin][keep], share)
    worse = tally.severity[where] > new["severity"][keep]
    new["failing"][keep] = np.where(worse, tally.failing[where], new["failing"][keep])
    new["severity"][keep] = np.maximum(new["severity"][keep], tally.severity[where])
    if "slip_wet" in tally.told:
        new["slip_wet"][keep] = tally.told["slip_wet"][where]
    return replace(given, **new)


BY_RUNNING = ("severity", "margin", "worst", "own_margin", "own_worst", "slip_wet", "failing")
"""What of a place's verdicts the running drive changes."""


# What is asked of every place, check by check, of all its states; and in which of these the answer can lie, by bounds.


def _slip(run: Running, states: Settled, tally: Tally, at_the_low_end: bool = False) -> None:
    """Slip use of every pulley, steady and revving: of both the worse, by the same limits."""
    if not run.carries_load:
        return
    highest = np.zeros(states.first_N.shape[1])
    for i, pulley in enumerate(run.freed.circuit.pulleys):
        needed = states.grip_needed(i) if run.loaded[i] else np.zeros(len(highest))
        for condition, friction, bound in _slip_bounds(run, i, at_the_low_end):
            name = wet_slip_of(pulley.name) if condition == "wet" else ""
            tally.judge(needed / friction, bound, name, f"slip of {pulley.name}")
        if not at_the_low_end:
            tally.mark(~np.isfinite(needed), PROBLEM, f"slip of {pulley.name}")
        highest = np.maximum(highest, needed / run.friction[_WET, i])
    if not at_the_low_end:
        tally.told["slip_wet"] = highest


def _slip_bounds(run: Running, index: int, at_the_low_end: bool) -> Iterator[tuple[Condition | None, float, Bound]]:
    """Every condition with a pulley's friction in it, and the bound on its grip utilisation; at the low end the worst
    that is real.
    """
    pulley = run.freed.circuit.pulleys[index]
    if at_the_low_end:
        least = min(float(run.friction[CONDITIONS.index(each), index]) for each in REAL)
        yield None, least, at_an_end(grip_bound(run.freed.layout, pulley))
        return
    for condition, friction in zip(CONDITIONS, run.friction[:, index], strict=True):
        yield condition, float(friction), grip_bound(run.freed.layout, pulley, condition)


def _slip_deciding(run: Running, response: Response, at_the_low_end: bool = False) -> Bools:
    """Of pulleys that may come near to slipping, or to use most of their grip or of what they may use of it."""
    found = np.zeros(len(run.rpm), dtype=bool)
    if not run.carries_load:
        return found
    grips = {int(i): _Grip.of(response, int(i)) for i in np.flatnonzero(run.loaded)}
    bounds, wet = {i: list(_slip_bounds(run, i, at_the_low_end)) for i in grips}, run.friction[_WET]
    most_used = np.max([grip.least / wet[i] for i, grip in grips.items()], axis=0)
    margin = {i: bound.margin for i in grips for condition, _, bound in bounds[i] if condition == "wet"}
    least_margin = np.min([margin[i](grips[i].least / wet[i]) for i in margin], axis=0, initial=np.inf)
    for i, grip in grips.items():
        near = np.any([bound.severity(grip.most / friction) > 0 for _, friction, bound in bounds[i]], axis=0)
        if i in margin:  # else it is for no number that it is asked
            near |= (grip.most / wet[i] >= most_used) | (margin[i](grip.most / wet[i]) <= least_margin)
        found |= grip.deciding[:, near].any(axis=1)
    return found


@dataclass(frozen=True)
class _Grip:
    """The friction that a pulley needs so as not to slip, in the worst state: the least and the most of any layout of
    each block, (b). deciding: which states may be the worst there, (s, b).
    """

    least: Floats
    most: Floats
    deciding: Bools

    @classmethod
    def of(cls, response: Response, index: int) -> _Grip:
        entering, leaving = response.tractive_N(index - 1), response.tractive_N(index)
        tight, slack = np.maximum(entering, leaving), np.minimum(entering, leaving)
        low, high = response.wrap(index)
        uneven, widest, narrowest = (response.most(each) for each in (high / low, high, -low))
        # The tighter the belt, the nearer to each other are the tensions beside a pulley.
        with np.errstate(divide="ignore", invalid="ignore"):
            most, least = np.where(slack > 0.0, tight / slack, np.inf)
            worst, worst_of_all = np.log(least.max(axis=0)), np.log(most.max(axis=0))
            return cls(worst / widest, worst_of_all / -narrowest, most >= np.exp(worst / uneven))


def _span_tensions(run: Running, states: Settled, tally: Tally, at_the_high_end: bool = False) -> None:
    ran = slice(run.steady + 1)
    for i in range(len(run.freed.circuit.pulleys)):
        tractive = states.tractive_N[i][ran]
        total = tractive + states.centrifugal_N[ran]
        bound = maximum_tension(run.freed.layout, run.mechanics, run.freed.circuit.ends(i))
        tally.judge(total.max(axis=0), at_an_end(bound) if at_the_high_end else bound, cause="tension of a span")
        tally.mark(np.asarray(~(tractive > 0.0).all(axis=0)), PROBLEM, "a slack span")


def _span_deciding(run: Running, response: Response) -> Bools:
    """Spans that may be slack, or too tight."""
    found, ran = np.zeros(len(run.rpm), dtype=bool), slice(run.steady + 1)
    for i in range(len(run.freed.circuit.pulleys)):
        bound = maximum_tension(run.freed.layout, run.mechanics, run.freed.circuit.ends(i))
        least, most = response.tractive_N(i)
        total = most + response.whole.centrifugal
        tightest = (least + response.whole.centrifugal)[ran].max(axis=0)
        may = ~(least > 0.0) | ((bound.severity(total) > 0) & (total >= tightest))
        found[ran] |= may[ran].any(axis=1)
    return found


def _hub_loads(run: Running, states: Settled, tally: Tally, at_the_high_end: bool = False) -> None:
    """The pull on hubs that have a limit, and its bending moment; where a span is slack, which is a problem already, it
    may be too large.
    """
    for i, cause, bound, of in _hub_bounds(run):
        highest = states.hub_load_N(i, slice(run.steady + 1)).max(axis=0)
        tally.judge(of(highest), at_an_end(bound) if at_the_high_end else bound, cause=cause)


def _hub_bounds(run: Running) -> Iterator[tuple[int, str, Bound, Callable[[Floats], Floats]]]:
    """Every limit of a maker on a hub: its pulley, what it is called, and what is held against it of a pull."""
    for i, pulley in enumerate(run.freed.circuit.pulleys):
        own = (("load", "max_hub_load_N", np.asarray), ("moment", "max_moment_Nm", partial(hub_moment_Nm, pulley)))
        for what, key, of in own:
            if (bound := makers_bound(pulley, key)) is not None:
                yield i, f"hub {what} of {pulley.name}", bound, of


def _hub_deciding(run: Running, response: Response) -> Bools:
    """Hubs that may be pulled too hard, in the states that may pull the hardest."""
    found, ran = np.zeros(len(run.rpm), dtype=bool), slice(run.steady + 1)
    for i, _, bound, of in _hub_bounds(run):
        least, most = response.hub_load_N(i)
        found[ran] |= ((bound.severity(of(most)) > 0) & (most >= least[ran].max(axis=0)))[ran].any(axis=1)
    return found


def _spring(run: Running, states: Settled, tally: Tally) -> None:
    if is_sprung(run.freed.circuit):
        tally.mark(np.asarray(states.at_stop[: run.steady + 1].any(axis=0)), PROBLEM, "the tensioner at a stop")


def _resonance(run: Running, states: Settled, tally: Tally) -> None:
    layout, pulleys = run.freed.layout, run.freed.circuit.pulleys
    orders = np.array([*exciting_Hz(layout, pulleys, run.rpm[run.idle[0]].item()).values()])
    centrifugal, mass = states.centrifugal_N[run.idle], run.mechanics.mass_kg_per_m
    for i in range(len(pulleys)):
        total = states.tractive_N[i][run.idle] + centrifugal
        own = frequency_Hz(total, mass, states.span(i, run.idle), np.sqrt(centrifugal / mass))
        apart = np.min([apart_from_orders(own, order) for order in orders[:, None]], axis=(0, 1, 3))
        near = np.asarray(apart < resonance_band(layout, run.freed.circuit.ends(i)))
        tally.mark(near, CAUTION, "resonance of a span")


def _short_spans(run: Running, states: Settled, tally: Tally) -> None:
    for i in range(len(run.freed.circuit.pulleys)):
        span = states.span(i, slice(run.steady + 1))
        shortest = span.min(axis=0) if span.ndim else span
        tally.judge(shortest, minimum_span(run.freed.layout, run.freed.circuit.ends(i)), cause="a short span")


def _short_span_deciding(run: Running, response: Response) -> Bools:
    """Every steady state where a span may become too short."""
    bounds = (minimum_span(run.freed.layout, run.freed.circuit.ends(i)) for i in range(len(run.freed.circuit.pulleys)))
    short = any(bound.severity(response.span(i)[0]).any() for i, bound in enumerate(bounds))
    return np.arange(len(run.rpm)) <= run.steady if short else _at_idle_alone(run, response)


def _at_idle_alone(run: Running, response: Response) -> Bools:
    """At idle and with the engine stopped."""
    found = np.zeros(len(run.rpm), dtype=bool)
    found[[*run.idle, run.steady]] = True
    return found


def _with_another(run: Running, states: Settled, tally: Tally) -> None:
    """Judged already: revving with steady slip, moments with hub loads."""


_WITH_ANOTHER = _Question(_with_another, _at_idle_alone)

_AT_THE_ENDS: tuple[tuple[_Question, ...], ...] = (
    (_Question(partial(_slip, at_the_low_end=True), partial(_slip_deciding, at_the_low_end=True)),),
    (
        _Question(partial(_span_tensions, at_the_high_end=True), _span_deciding),
        _Question(partial(_hub_loads, at_the_high_end=True), _hub_deciding),
    ),
)
"""What is asked besides at the low and at the high end of the tension."""

BY_TENSION: Mapping[Check, _Question] = MappingProxyType(
    {
        slip.SLIP: _Question(_slip, _slip_deciding),
        slip.SLIP_ON_REVS: _WITH_ANOTHER,
        tension.SPAN_TENSION: _Question(_span_tensions, _span_deciding),
        tension.HUB_LOAD: _Question(_hub_loads, _hub_deciding),
        tension.HUB_MOMENT: _WITH_ANOTHER,
        tension.SPRING: _Question(_spring, _at_idle_alone),
        resonance.RESONANCE: _Question(_resonance, _at_idle_alone),
        clearance.SHORT_SPAN: _Question(_short_spans, _short_span_deciding),
    }
)
"""How each check of the running drive is asked of all places."""

LEFT_TO_CHECK = (shaking.DRIVE_RESONANCE, shaking.TENSION_SWING, shaking.SWING_SLIP, shaking.ARM_TRAVEL)
"""Asked only of the places that are told in full: to shake a drive at every speed takes as long as all else does for
hundreds of places.
"""

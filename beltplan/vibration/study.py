"""A drive shaken over its whole range of speed: modes, where the firing meets them, spans that flap, what helps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from beltplan.checks.every_check import CHECKS, SHAKEN, findings_of
from beltplan.checks.limits import Finding, new_in, problems_of
from beltplan.checks.resonance import frequencies_Hz
from beltplan.checks.shaking import clear_of_rpm, slack_rpm, slack_words, swung_use, tension_left, where_most
from beltplan.drive.forced import crank_swing_rad
from beltplan.drive.inertias import could_be_one_way, inertia_kgm2
from beltplan.drive.layout import CrankSwing, Layout
from beltplan.drive.mechanics import CONDITIONS, Condition
from beltplan.drive.modes import Modes, modes_of
from beltplan.drive.operation import Operation, end_of_travel, operation_of, why_not_judged
from beltplan.drive.pulleys import WAYS_ROUND
from beltplan.drive.route import Route, routes_of
from beltplan.drive.shaking import Shaken, assumed_inertias, drive_chain, why_not_shaken
from beltplan.drive.travel import END_WORDS
from beltplan.geometry.vectors import TURN, Floats

_FLAPS = 0.08
"""Change of a span's tension, as a share of its mean, from which it flaps where it is pulled and let go at twice its
own frequency: four times a damping of 2 %, common practice, no source.
"""
HARMONICS = {1: "firing", 2: "twice the firing"}
FLAPS = "firing at twice its own"
FLAP_SOURCE = (
    "moving string (Sack 1954); pulled and let go at twice its own frequency (Mathieu) from a swing of four times its "
    "damping on, that of 2 % common practice, no source"
)
_NEAR, NEAR_PEAK, _SWINGS = 0.1, np.sqrt(0.5), 0.15
"""How near to a meeting its peak is looked for; round a peak a swing this share of it still counts; swing of a tension,
as a share of its mean, from which a speed is one to keep away from.
"""


class _Meeting(NamedTuple):
    """Where an excitation meets a frequency: in words what shakes, the engine speed, that frequency, and whether the
    span flaps by it.
    """

    by: str
    rpm: float
    hertz: float
    flaps: bool = False


class Away(NamedTuple):
    """Engine speeds to keep away from, and why; flaps: whether a span does."""

    low_rpm: float
    high_rpm: float
    because: str
    flaps: bool


class _Reason(NamedTuple):
    """What keeps away from a speed: what does it, what it meets, and whether a span flaps by it, or falls slack."""

    by: str
    met: str
    flaps: bool = False
    slack: bool = False


@dataclass(frozen=True, eq=False)
class Vibration:
    """How a drive shakes. shaken: what it does at every duty and speed, (d, s), those of its operation, so that `check`
    tells the same. held, free: its modes, engine stopped, with the crank as the engine turns it, and with the crank as
    free as its own inertia leaves it.
    """

    operation: Operation
    shaken: Shaken
    held: Modes
    free: Modes

    @property
    def route(self) -> Route:
        return self.operation.route

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        asked = (check.of_operation(self.operation) for check in CHECKS if check.name in SHAKEN)
        return tuple(finding for found in asked for finding in found)

    @cached_property
    def every_finding(self) -> tuple[Finding, ...]:
        return findings_of(self.route, self.operation)

    def worse_than(self, before: Vibration) -> list[Finding]:
        """Problems and cautions of `check` that the drive before had not, but for how it shakes."""
        new = new_in(self.every_finding, before.every_finding)
        return [each for each in new if each.severity != "note" and each.check not in SHAKEN]

    @property
    def rpm(self) -> Floats:
        return self.operation.driver_rpm

    @property
    def step_rpm(self) -> float:
        return float(np.diff(self.rpm).max())

    @property
    def firings(self) -> float:
        return self.route.layout.engine.firings

    def met_at_rpm(self, hertz: float, harmonic: int = 1) -> float | None:
        """The engine speed at which a harmonic of the firing has that frequency; None outside the range."""
        rpm = self.firing_rpm(hertz, harmonic)
        return rpm if self.rpm[0] <= rpm <= self.rpm[-1] else None

    def firing_rpm(self, hertz: float, harmonic: int = 1) -> float:
        """The same, whether the engine turns so or not."""
        return 60.0 * hertz / (self.firings * harmonic)

    @property
    def first_Hz(self) -> float:
        return float(self.held.frequency_Hz[0])

    @property
    def widest_N(self) -> float:
        """The most that the tension of any span falls, at any speed and in any duty."""
        return float(self.shaken.span_swing_N.max())

    @property
    def least_N(self) -> float:
        return float(self.shaken.least_N[self.worst])

    def meetings(self) -> Iterator[tuple[int, float, str, float]]:
        """Where the firing or twice it meets a mode: its number, its frequency, which of the two, and the speed."""
        return (each for each in self.met_at_any_rpm() if self.rpm[0] <= each[-1] <= self.rpm[-1])

    def met_at_any_rpm(self) -> Iterator[tuple[int, float, str, float]]:
        """The same, also at speeds that the engine does not reach."""
        for number, hertz in enumerate(self.held.frequency_Hz.tolist(), 1):
            for harmonic, words in HARMONICS.items():
                yield number, hertz, words, self.firing_rpm(hertz, harmonic)

    @cached_property
    def worst(self) -> tuple[int, int, int]:
        """Duty, speed and span where a tension falls nearest to nothing, as a share of its mean, as `check` judges; one
        that hangs slack as it runs before all.
        """
        left = np.where(self.shaken.mean_N > 0.0, tension_left(self.shaken), -np.inf)
        duty, speed, span = where_most(-left)
        return duty, speed, span

    @cached_property
    def slack_rpm(self) -> tuple[tuple[float, float], ...]:
        """Between which engine speeds a span falls slack, slowest first."""
        return slack_rpm(self.rpm, self.shaken.least_N)

    @property
    def slack_at(self) -> str:
        """The same in words; empty where none does."""
        return slack_words(self.slack_rpm)

    @cached_property
    def keep_away(self) -> tuple[Away, ...]:
        """Engine speeds to keep away from, those that overlap as one; slowest first."""
        # What ends at one of the speeds and begins at the next is one.
        near, ranges = 1.5 * self.step_rpm, list[tuple[float, float, list[_Reason]]]()
        for low, high, reason in sorted(self._away()):
            swing, mean, *_ = self.between_rpm(low, high)
            if (swing >= _SWINGS * mean).any():
                first, last, others = ranges.pop() if ranges and low <= ranges[-1][1] + near else (low, high, [])
                ranges.append((first, max(last, high), [*others, reason]))
        return tuple(
            Away(low, high, _because(reasons), any(each.flaps for each in reasons)) for low, high, reasons in ranges
        )

    def _away(self) -> Iterator[tuple[float, float, _Reason]]:
        """Round where the firing or twice it meets a mode, where a span flaps, or falls slack."""
        for number, _, by, rpm in self.meetings():
            yield *self._round_rpm(rpm), _Reason(by, f"mode {number}")
        for span in range(len(self.route.pulleys)):
            for each in self.span_meetings(span):
                if each.flaps:
                    flaps = f"{self.route.circuit.span_name(span)} flaps: {FLAPS}"
                    yield each.rpm, each.rpm, _Reason(flaps, f"{each.hertz:.0f} Hz", flaps=True)
        yield from ((*each, _Reason("falls slack", self.met_beside(*each), slack=True)) for each in self.slack_rpm)

    def met_beside(self, low: float, high: float) -> str:
        """The mode met nearest to a range of speeds, also by speeds that the engine does not reach, in words."""
        every = [
            (max(low - rpm, rpm - high, 0.0) / rpm, f"{by} meets mode {number} at {rpm:.0f}")
            for number, _, by, rpm in self.met_at_any_rpm()
        ]
        off, words = min(every)
        return words if off <= _NEAR else "no mode met"

    def between_rpm(self, low: float, high: float) -> tuple[Floats, ...]:
        """Swing, mean and least of every tension, N, and what is left as a share, (duty, speed, span)."""
        first, last = (int(np.abs(self.rpm - rpm).argmin()) for rpm in (low, high))
        every = (self.shaken.span_swing_N, self.shaken.mean_N, self.shaken.least_N, tension_left(self.shaken))
        return tuple(each[:, first : last + 1] for each in every)

    def grip(self, condition: Condition) -> Floats:
        """Grip used at the worst instant, (d, s, n): `swung_use`."""
        return np.asarray(swung_use(self.route, self.shaken)[CONDITIONS.index(condition)])

    @cached_property
    def span_Hz(self) -> Floats:
        """First frequency of every span as it runs in the duty of the worst moment, (s, n)."""
        return np.asarray(frequencies_Hz(self.operation)[self.worst[0]])

    def span_meetings(self, span: int) -> tuple[_Meeting, ...]:
        """Where the firing or a pulley's turning meets a span's own frequency, or the firing meets twice of it so hard
        that it flaps; in the duty of the worst moment.
        """
        duty, turning = self.worst[0], zip(self.route.pulleys, self.route.ratios.tolist(), strict=True)
        orders = [(words, harmonic * self.firings) for harmonic, words in HARMONICS.items()]
        orders += [(f"turning of {pulley.name}", ratio) for pulley, ratio in turning]
        own, turns = self.span_Hz[:, span], self.rpm / 60.0
        found = [_Meeting(by, *at) for by, order in orders for at in _crossings(self.rpm, own, order * turns - own)]
        share = self.shaken.span_swing_N[duty, :, span] / np.maximum(self.shaken.mean_N[duty, :, span], 1.0)
        for rpm, hertz in _crossings(self.rpm, own, self.firings * turns - 2.0 * own):
            if np.interp(rpm, self.rpm, share) > _FLAPS:
                found.append(_Meeting(FLAPS, rpm, hertz, flaps=True))
        return tuple(sorted(found, key=lambda each: each.rpm))

    def _round_rpm(self, rpm: float) -> tuple[float, float]:
        """From where to where the tension swings nearly as much as at its peak near a speed; that speed twice where
        that holds it not.
        """
        swing = self.shaken.span_swing_N.max(axis=(0, 2))
        near = np.flatnonzero(np.abs(self.rpm / rpm - 1.0) < _NEAR)
        peak = int(near[swing[near].argmax()]) if len(near) else 0
        if not (len(near) and near[0] < peak < near[-1]):
            return rpm, rpm
        little = np.flatnonzero(~np.pad(swing >= NEAR_PEAK * swing[peak], 1)) - 1
        low, high = int(little[little < peak].max()) + 1, int(little[little > peak].min()) - 1
        # A swing that hardly rises above what lies about it has no range.
        told = high - low < len(swing) // 4 and self.rpm[low] <= rpm <= self.rpm[high]
        return (float(self.rpm[low]), float(self.rpm[high])) if told else (rpm, rpm)


def _because(reasons: Sequence[_Reason]) -> str:
    # That a span falls slack is told beside, as what is left.
    told = [each for each in reasons if not each.slack] or reasons[:1]
    every = dict.fromkeys(each.by for each in told)
    return "; ".join(", ".join([by, *(each.met for each in told if each.by == by)]) for by in every)


def _crossings(rpm: Floats, own: Floats, apart: Floats) -> Iterator[tuple[float, float]]:
    for i in np.flatnonzero(apart[:-1] * apart[1:] < 0.0).tolist():
        share = apart[i] / (apart[i] - apart[i + 1])
        yield float(rpm[i] + share * (rpm[i + 1] - rpm[i])), float(own[i] + share * (own[i + 1] - own[i]))


def why_none(route: Route, operation: Operation | None) -> str | None:
    """Why it cannot be told how a drive shakes, in words; None where it can. operation: None where there is none."""
    if operation is None:
        return "; ".join(dict.fromkeys(filter(None, (why_not_judged(route), why_not_shaken(route)))))
    reached, moving = end_of_travel(operation), route.moving
    if moving is not None and reached is not None and operation.stopped.at_stop:
        return f"{moving.name} {END_WORDS[reached[0]]}: no spring sets the tension that the spans would shake at"
    return why_not_shaken(route)


def vibration_of(operation: Operation) -> Vibration | None:
    """Shake a drive over its whole range of speed; None where `why_none` says why."""
    shaken = None if why_none(operation.route, operation) is not None else operation.shaken
    if shaken is None:
        return None
    chain = drive_chain(operation.route, operation.mechanics, operation.stopped)
    return Vibration(operation, shaken, modes_of(chain), modes_of(chain, crank_free=True))


# What would move the first mode, each tried.

_STIFFER, _RIBS, _STRONGER, _SHIFT_MM = 1.5, 2, 1.3, 30.0


def trials_of(vibration: Vibration) -> dict[str, Vibration]:
    made = ((words, _shaken_with(layout)) for words, layout in _changes(vibration))
    return {words: after for words, after in made if after is not None} | _moved(vibration)


def _shaken_with(layout: Layout) -> Vibration | None:
    (route,) = routes_of([layout])
    operation = None if route is None else operation_of(route)
    return None if operation is None else vibration_of(operation)


def _changes(vibration: Vibration) -> Iterator[tuple[str, Layout]]:
    route, mechanics = vibration.route, vibration.operation.mechanics
    layout, belt = route.layout, route.layout.belt

    def stretched(factor: float, heavier: float) -> Layout:
        stiffness, mass = factor * mechanics.stiffness_N, heavier * mechanics.mass_kg_per_m
        return replace(layout, belt=replace(belt, stiffness_N=stiffness, mass_kg_per_m=mass))

    yield f"a belt {_STIFFER:g} times as stiff", stretched(_STIFFER, 1.0)
    if belt.profile.is_ribbed:
        more = (belt.ribs + _RIBS) / belt.ribs
        yield f"{_RIBS} ribs more on every pulley", stretched(more, more)
    energy = vibration.held.energy[1 : len(route.pulleys), 0]
    heavy = route.pulleys[1 + int(energy.argmax())]
    inertia = inertia_kgm2(heavy) or 0.0
    yield f"half the inertia at {heavy.name}", layout.with_pulley(replace(heavy, inertia_kgm2=0.5 * inertia))
    if could_be_one_way(heavy):
        yield f"a one-way pulley on {heavy.name}", layout.with_pulley(replace(heavy, one_way=True))
    moving, held = route.moving, route.circuit.adjuster
    if moving is not None and held is not None and held.spring is not None:
        effort: Any = {"torque_Nm" if held.kind == "arm" else "force_N": _STRONGER * held.spring.law[0]}
        spring: Any = replace(held.spring, **effort)
        stronger = replace(moving, adjuster=replace(held, spring=spring))
        yield f"a spring {_STRONGER:g} times as strong", layout.with_pulley(stronger)
    yield from _idling_faster(vibration)


def _idling_faster(vibration: Vibration) -> Iterator[tuple[str, Layout]]:
    """Clear of the first mode that is met at idle or just beside it, where that leaves out the worst moment."""
    layout, idle = vibration.route.layout, float(vibration.rpm[0])
    near = (rpm for *_, rpm in vibration.met_at_any_rpm() if abs(rpm / idle - 1.0) < _NEAR)
    faster = clear_of_rpm(layout, next(near, 0.0))
    worst, most = vibration.rpm[vibration.worst[1]], layout.engine.cruise_rpm or vibration.rpm[-1]
    if worst < faster < most:
        given, at_deg = layout.engine.swing_deg, np.degrees(crank_swing_rad(layout.engine, np.asarray(faster))[0])
        # The same engine: at the same speed it swings as far as before.
        same = given if given is not None and given.rpm else CrankSwing((float(at_deg),))
        engine = replace(layout.engine, idle_rpm=faster, swing_deg=same)
        yield f"idle at {faster:.0f} rpm, not {idle:.0f}", replace(layout, engine=engine)


def _moved(vibration: Vibration) -> dict[str, Vibration]:
    """The whole tensioner elsewhere: of eight ways the one that leaves the least swing of tension, of those with the
    fewest new problems.
    """
    layout = vibration.route.layout
    adjusted = layout.adjusted
    if adjusted is None or adjusted.adjuster is None or adjusted.adjuster.spring is None:
        return {}
    tried = {}
    for number, way in enumerate(WAYS_ROUND):
        turn = number * TURN / len(WAYS_ROUND)
        there = adjusted.adjuster.shifted((_SHIFT_MM * float(np.cos(turn)), _SHIFT_MM * float(np.sin(turn))))
        after = _shaken_with(layout.with_pulley(replace(adjusted, adjuster=there)))
        if after is not None and after.route.judged is not None:
            tried[f"{adjusted.name} {_SHIFT_MM:.0f} mm {way}"] = after
    rank = {words: (len(problems_of(each.worse_than(vibration))), each.widest_N) for words, each in tried.items()}
    return {words: tried[words] for words in sorted(rank, key=rank.__getitem__)[:1]}


def spread_Hz(vibration: Vibration) -> tuple[float, float] | None:
    """The first mode with every assumed inertia twice, and half; None where none is assumed."""
    assumed = assumed_inertias(vibration.route)
    if not assumed:
        return None
    route, operation = vibration.route, vibration.operation
    chain, pulleys = drive_chain(route, operation.mechanics, operation.stopped), [each.name for each in route.pulleys]
    swung = [any(name not in pulleys for name in assumed)] * (len(chain.mass) - len(pulleys))
    where = np.array([*(name in assumed for name in pulleys), *swung])
    low, high = (
        float(modes_of(replace(chain, mass=np.where(where, factor * chain.mass, chain.mass))).frequency_Hz[0])
        for factor in (2.0, 0.5)
    )
    return low, high

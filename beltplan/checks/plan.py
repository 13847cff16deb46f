"""The plan of one layout: everything that `check` answers. Reports and pictures read it, and compute nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from beltplan.checks.advice import beside_slip, with_what_is_known
from beltplan.checks.clearance import Gap, telling_gaps
from beltplan.checks.every_check import findings_of
from beltplan.checks.how_tight import belt_stands, enough_words, slacker_words, usual_words
from beltplan.checks.limits import Finding, Severity, Way
from beltplan.checks.margin import Margin, found_margins, worst_margin
from beltplan.checks.pulleys import minimum_wrap
from beltplan.drive.fit import BeltGrowth, growth_of, is_sprung
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import CONDITIONS, Condition, friction_of_arm, is_slack, source_of
from beltplan.drive.operation import (
    Again,
    Operation,
    TensionCure,
    WorstPoint,
    again_wanted,
    end_of_travel,
    operation_of,
    revving_points,
    set_N,
    tension_cures_of,
    tones_Hz,
    why_not_judged,
    worst_point,
)
from beltplan.drive.pulleys import Pulley, Turns
from beltplan.drive.route import Route, route_of
from beltplan.drive.travel import End
from beltplan.geometry.vectors import Floats

_SAME, _STEADY = 1e-6, 0.99
"""Pulls this near the greatest count as it; one that never falls below this share of it hardly changes."""


def counted(findings: Sequence[Finding], *severities: Severity) -> str:
    """How many findings there are of these severities, in words; nothing of those that there are none of."""
    counts = ((each, _count(findings, each)) for each in severities)
    return ", ".join(f"{n} {each}{'' if n == 1 else 's'}" for each, n in counts if n)


def _count(findings: Sequence[Finding], severity: Severity) -> int:
    return sum(finding.severity == severity for finding in findings)


@dataclass(frozen=True)
class RankKey:
    """What a layout is ranked by. margin: its worst margin's share, None where nothing has one."""

    problems: int
    cautions: int
    margin: float | None


@dataclass(frozen=True, eq=False)
class OnBelt:
    """A pulley on the belt: where it is, its wrap and how it turns.

    minimum_deg: the wrap that it needs. ratio: speed over the driver's. rpm: at those
    speeds of the engine ('idle', 'cruise', 'max') that the layout gives.
    """

    pulley: Pulley
    at_mm: tuple[float, float]
    wrap_deg: float
    minimum_deg: float
    ratio: float
    turns: Turns
    rpm: Mapping[str, float]

    @property
    def name(self) -> str:
        return self.pulley.name

    @property
    def over_deg(self) -> float:
        return self.wrap_deg - self.minimum_deg


@dataclass(frozen=True)
class Span:
    """The free belt between two pulleys, by their names. hertz: what it sounds at, engine stopped; None: unknown.

    low_N, high_N: its lowest tension at the low end of the tension and its highest at the high end, stopped or running.
    """

    start: str
    end: str
    length_mm: float
    hertz: float | None
    low_N: float | None
    high_N: float | None


@dataclass(frozen=True, eq=False)
class Adjusted:
    """The adjuster where the belt puts it.

    setting: deg of an arm, mm along a slide. take_up_mm: belt that it takes up for one of these; take_up_percent: of
    the best. growth: what it must follow as the belt wears and is set.
    """

    pulley: Pulley
    is_arm: bool
    sprung: bool
    setting: float
    take_up_mm: float
    take_up_percent: float
    growth: BeltGrowth


@dataclass(frozen=True, eq=False)
class SetTension:
    """The tension to be set, engine stopped, N: in every span, and for each rib of a ribbed belt.

    band_N: what the friction of a sprung adjuster leaves it between. friction: as a share of its spring, and the
    source. setting: of the adjuster then, rad or mm. end: what a sprung one runs against where its spring cannot be
    balanced, and at which setting. source: of a tension that is taken because the layout gives none.
    """

    each_N: float
    rib_N: float | None
    band_N: tuple[float, float] | None
    friction: tuple[float, str]
    setting: float
    end: tuple[End, float] | None
    source: str | None


@dataclass(frozen=True, eq=False)
class Slip:
    """How near a pulley comes to slipping: its worst point in each of `CONDITIONS`; torque_Nm: at the wet one.

    All these in steady running. revving: its worst in the wet while the engine changes speed; None: not judged. low:
    its worst in the wet, steady, at the low end of the tension; None where that has no band.
    """

    pulley: str
    index: int
    points: tuple[WorstPoint, ...]
    torque_Nm: float
    revving: WorstPoint | None
    low: WorstPoint | None

    @property
    def wet(self) -> WorstPoint:
        return self.points[CONDITIONS.index("wet")]


@dataclass(frozen=True, eq=False)
class HubLoad:
    """Pull of the belt on one hub, (2) N: engine stopped, and the greatest in running with its engine rpm.

    maximum_N: size of the greater; high_N: that at the high end of the tension. steady: whether it hardly changes with
    speed or duty.
    """

    index: int
    pulley: str
    stopped_N: Floats
    running_N: Floats
    rpm: float
    maximum_N: float
    steady: bool
    high_N: float

    def words(self, sprung: bool) -> str:
        """The most that its bracket must hold, and the greatest at the usual tension where that is less."""
        form = "up to {:.0f} N, usually {:.0f} N" if sprung else "up to {:.0f} N with a new belt, {:.0f} N run in"
        less = self.maximum_N < 0.995 * self.high_N
        return form.format(self.high_N, self.maximum_N) if less else f"{self.high_N:.0f} N"


@dataclass(frozen=True, eq=False)
class Plan:
    """The whole answer for one layout: its route, the drive in operation, and what the checks have to say of both.

    operation: None where tensions cannot be computed (`not_judged` says why); then nothing of tension, slip and pull is
    known. All else is computed once, when it is first asked for.
    """

    route: Route
    operation: Operation | None
    findings: tuple[Finding, ...]

    @property
    def layout(self) -> Layout:
        return self.route.layout

    @property
    def verdict(self) -> str:
        """What the findings come to, in a few words."""
        if self.count("problem"):
            return f"does not work as it stands: {counted(self.findings, 'problem', 'caution')}"
        if self.count("caution"):
            return f"works on paper, with {counted(self.findings, 'caution')} to look at"
        return "works on paper: nothing found against it"

    def count(self, severity: Severity) -> int:
        return _count(self.findings, severity)

    @property
    def rank_key(self) -> RankKey:
        share = None if self.margin is None else self.margin.share
        return RankKey(self.count("problem"), self.count("caution"), share)

    @cached_property
    def pulleys(self) -> tuple[OnBelt, ...]:
        route = self.route
        bounds = [minimum_wrap(self.layout, pulley) for pulley in route.pulleys]
        rows = zip(
            *(route.pulleys, route.loop.centre.tolist(), np.degrees(route.loop.wrap).tolist(), bounds),
            route.ratios.tolist(),
            strict=True,
        )
        return tuple(
            OnBelt(
                *(pulley, (x, y), wrap, bound.limit, ratio, route.layout.turns_of(pulley)),
                {name: rpm * ratio for name, rpm in self.layout.engine.speeds_rpm.items()},
            )
            for pulley, (x, y), wrap, bound, ratio in rows
        )

    @property
    def belt_speed_m_per_s(self) -> float | None:
        """How fast the belt runs at the engine's most; None where the layout does not say."""
        most = self.layout.engine.speeds_rpm.get("max")
        return None if most is None else self.route.belt_speed_m_per_s(most)

    @cached_property
    def spans(self) -> tuple[Span, ...]:
        route, unknown = self.route, (None,) * len(self.route.spans)
        tones = unknown if self.operation is None else tones_Hz(self.operation)
        low_N, high_N = (unknown, unknown) if self.operation is None else _tensions_at_the_ends_N(self.operation)
        rows = zip(route.spans, route.loop.span.tolist(), tones, low_N, high_N, strict=True)
        return tuple(Span(start.name, end.name, *numbers) for (start, end), *numbers in rows)

    @cached_property
    def adjuster(self) -> Adjusted | None:
        route, held = self.route, self.route.circuit.adjuster
        percent = route.take_up_percent
        if held is None or route.moving is None or route.setting is None or percent is None:
            return None
        sprung, growth = is_sprung(route.circuit), growth_of(self.layout.belt, route.circuit)
        setting, take_up = held.own * route.setting, abs(float(route.circuit.slope_at(route.setting))) / held.own
        return Adjusted(route.moving, held.kind == "arm", sprung, setting, take_up, percent, growth)

    @property
    def set_by_hand(self) -> bool:
        return self.adjuster is not None and not self.adjuster.sprung

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        """Every distance that the checks judge, over the whole travel."""
        return telling_gaps(self.route)

    @property
    def gap(self) -> Gap | None:
        """The smallest of them, mm."""
        return min(self.gaps, key=lambda gap: gap.value_mm, default=None)

    @property
    def wrap(self) -> OnBelt:
        """The pulley whose wrap is least over its limit, or most under it."""
        return min(self.pulleys, key=lambda row: row.over_deg)

    @property
    def alternators(self) -> tuple[OnBelt, ...]:
        return tuple(row for row in self.pulleys if row.pulley.role == "alternator")

    @cached_property
    def margin(self) -> Margin | None:
        """The worst margin, that of every problem with a number too; without a problem, of every caution."""
        worst = worst_margin(self.route, self.operation, self.gaps)
        found = found_margins(self.findings, "problem" if self.count("problem") else "caution")
        return min(filter(None, (worst, *found)), key=lambda margin: margin.share, default=None)

    @property
    def short_is_caution(self) -> bool:
        """Whether the worst margin is short and yet no problem: of what is recommended, or of a reserve."""
        return self.margin is not None and self.margin.share < 0.0 and not self.count("problem")

    @cached_property
    def not_judged(self) -> str | None:
        return why_not_judged(self.route)

    @cached_property
    def tension(self) -> SetTension | None:
        if self.operation is None:
            return None
        operation, belt, adjuster = self.operation, self.layout.belt, self.route.circuit.adjuster
        stopped, each = operation.stopped, float(operation.stopped.total_N.mean())
        given = adjuster is None or adjuster.tension_N is not None
        return SetTension(
            each,
            each / belt.ribs if belt.profile.is_ribbed else None,
            operation.spring_band_N,
            friction_of_arm(adjuster),
            float(stopped.setting),
            end_of_travel(operation) if stopped.at_stop else None,
            None if given else source_of(belt, "hand_set_N"),
        )

    @property
    def goes_slack(self) -> bool:
        return self.operation is not None and bool(is_slack(self.operation.running.tractive_N).any())

    @property
    def power_kW(self) -> float | None:
        return None if self.operation is None else float(self.operation.driver_power_kW.max())

    @cached_property
    def slip(self) -> tuple[Slip, ...]:
        """The driver and every loaded pulley; empty where nothing takes torque."""
        if self.operation is None or not self.operation.carries_load:
            return ()
        return tuple(
            _slip(self.operation, i) for i, pulley in enumerate(self.route.pulleys) if i == 0 or pulley.load is not None
        )

    @cached_property
    def dry(self) -> WorstPoint | None:
        """The highest grip utilisation of any pulley in the dry; None without loads."""
        return _highest_utilisation(self.operation, "dry")

    @cached_property
    def wet(self) -> WorstPoint | None:
        return _highest_utilisation(self.operation, "wet")

    @cached_property
    def revving(self) -> tuple[WorstPoint, ...]:
        """The worst of every pulley in each of `CONDITIONS` while the engine changes speed; empty where not judged."""
        if self.operation is None:
            return ()
        worst = (_revving(self.operation, i, each) for i in range(len(self.route.pulleys)) for each in CONDITIONS)
        return tuple(point for point in worst if point is not None)

    @property
    def revving_wet(self) -> WorstPoint | None:
        """The highest of them in the wet."""
        wet = (point for point in self.revving if point.condition == "wet")
        return max(wet, key=lambda point: point.utilisation, default=None)

    @property
    def wettest(self) -> WorstPoint | None:
        """The highest grip utilisation in the wet, in steady running or while the engine changes speed."""
        both = (point for point in (self.wet, self.revving_wet) if point is not None)
        return max(both, key=lambda point: point.utilisation, default=None)

    @cached_property
    def cures(self) -> tuple[tuple[TensionCure, bool], ...]:
        """What tension would bring the worst grip utilisation down, by condition, and whether the belt stands it."""
        if self.operation is None:
            return ()
        # Under 1 at the low end of the tension.
        usual = self.operation.preload_factor
        factors = [(cure, cure.preload_factor) for cure in tension_cures_of(self.operation)]
        return tuple((cure, each is None or belt_stands(self.route, each / usual)) for cure, each in factors)

    @cached_property
    def again(self) -> Again | None:
        """When a belt set by hand is to be set again, where a pulley slips before it is; None where no time does."""
        slip = {each.condition for each in self.findings if Way.SOONER in each.advised and each.condition}
        if self.operation is None or not slip:
            return None
        # A plan may be one at the low end itself.
        low, _ = self.operation.ends or (self.operation, None)
        again = again_wanted(low, slip)
        own_N = set_N(self.layout, self.route.circuit)
        stands = again is None or not again.is_usual or belt_stands(self.route, again.set_N / own_N)
        return again if stands else None

    @cached_property
    def usual_tension(self) -> str:
        """In words, where a belt is set by hand to less: `usual_words`."""
        return usual_words(self.route)

    @cached_property
    def hubs(self) -> tuple[HubLoad, ...]:
        operation, indices = self.operation, range(len(self.route.pulleys))
        return () if operation is None else tuple(_hub_load(operation, i) for i in indices)

    @property
    def hub(self) -> HubLoad | None:
        return max(self.hubs, key=lambda load: load.high_N, default=None)


def toward_deg(load_N: Floats) -> float:
    """The direction of a pull, (2): 0 to the right, 90 up.

    >>> toward_deg(np.array([0.0, -250.0]))
    270.0
    """
    return float(np.degrees(np.arctan2(load_N[1], load_N[0])) % 360.0)


def plan_of(layout: Layout) -> Plan:
    """Lay the belt over a layout, run the drive and ask every check. Raises NoBeltPath."""
    return plan_on(route_of(layout))


def plan_on(route: Route) -> Plan:
    """The plan of a layout whose belt is laid."""
    operation = operation_of(route)
    plan = Plan(route, operation, findings_of(route, operation))
    # Here and not where a finding is made: a cure tries hundreds of layouts, and each would be run once more.
    found = beside_slip(operation, _with_tension_that_is_stood(plan))
    usual, by_hand = plan.usual_tension, operation if plan.set_by_hand else None
    known = plan.again, usual, enough_words(by_hand, found, usual), slacker_words(by_hand, plan.findings)
    return replace(plan, findings=with_what_is_known(plan.layout, found, *known))


_A_LITTLE = 1.05
"""So much more tension is asked of the belt where no amount is known: common practice, no source."""


def _with_tension_that_is_stood(plan: Plan) -> list[Finding]:
    """Findings with more ribs in place of tension where the belt stands none that is enough in the dry and the wet."""
    asked = {each.condition for each in plan.findings if Way.TIGHTER in each.advised}
    cures = plan.cures if asked else ()
    unknown = asked.difference(cure.condition for cure, _ in cures if cure.preload_factor)
    # What is tightened for the dry is asked for more by the wet.
    ribs = set() if all(stood for _, stood in cures) else asked - unknown
    if unknown and not belt_stands(plan.route, _A_LITTLE):
        ribs |= unknown
    found = [f.by(Way.RIBS_FOR_TENSION, Way.TIGHTER) if f.condition in ribs else f for f in plan.findings]
    return found if plan.again is not None else [f.by(Way.RIBS_FOR_TENSION, Way.SOONER) for f in found]


def _tensions_at_the_ends_N(operation: Operation) -> tuple[list[float], list[float]]:
    low, high = operation.ends or (operation, operation)
    lowest = np.minimum(low.running.total_N.min(axis=(0, 1)), low.stopped.total_N)
    return lowest.tolist(), high.most_span_N.tolist()


def _slip(operation: Operation, index: int) -> Slip:
    points = tuple(worst_point(operation, operation.utilisation, index, condition) for condition in CONDITIONS)
    wet = points[CONDITIONS.index("wet")]
    torque = abs(float(operation.running.torque_Nm[wet.duty, wet.speed, index]))
    ends = operation.ends
    low = None if ends is None else worst_point(ends[0], ends[0].utilisation, index, "wet")
    return Slip(operation.route.pulleys[index].name, index, points, torque, _revving(operation, index, "wet"), low)


def _revving(operation: Operation, index: int, condition: Condition) -> WorstPoint | None:
    return max(revving_points(operation, index, condition), key=lambda point: point.utilisation, default=None)


def _highest_utilisation(operation: Operation | None, condition: Condition) -> WorstPoint | None:
    if operation is None or not operation.carries_load:
        return None
    points = (worst_point(operation, operation.utilisation, i, condition) for i in range(len(operation.route.pulleys)))
    return max(points, key=lambda point: point.utilisation)


def _hub_load(operation: Operation, index: int) -> HubLoad:
    running, stopped = operation.running.hub_load_N[..., index, :], operation.stopped.hub_load_N[index]
    size = operation.hub_size_N[..., index]
    # The first of equal ones: a pull that stays the same has no speed of its own.
    first = int(np.argmax(size >= size.max() * (1.0 - _SAME)))
    duty, speed = (int(i) for i in np.unravel_index(first, size.shape))
    return HubLoad(
        index,
        operation.route.pulleys[index].name,
        np.asarray(stopped),
        np.asarray(running[duty, speed]),
        float(operation.driver_rpm[speed]),
        float(operation.most_hub_N[index]),
        bool(size[operation.tight].min() >= _STEADY * size.max()),
        float(operation.high.most_hub_N[index]),
    )


def points_of(operation: Operation) -> tuple[tuple[int, int, Condition], ...]:
    """Duty, speed and condition of what is told in full: at the named speeds, and at each pulley's worst."""
    engine, pulleys = operation.route.layout.engine, range(len(operation.route.pulleys))
    speeds = [int(np.argmin(np.abs(operation.driver_rpm - rpm))) for rpm in engine.speeds_rpm.values()]
    told = [(d, s, condition) for s in speeds for d in range(len(operation.duties)) for condition in CONDITIONS]
    if operation.carries_load:
        used = operation.utilisation
        every = (worst_point(operation, used, i, condition) for i in pulleys for condition in CONDITIONS)
        told += [(point.duty, point.speed, point.condition) for point in every if point.utilisation > 0.0]
    return tuple(dict.fromkeys(told))

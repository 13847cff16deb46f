"""The fitter's card of a plan: planes and shims, putting the belt on, pointer, tension, and pull on the brackets."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.alignment import best_grooves, shims, tilted
from beltplan.checks.plan import Plan, SetTension
from beltplan.checks.tension import hub_moment_Nm
from beltplan.drive.belt import LBF_N
from beltplan.drive.fit import is_sprung, setting_for
from beltplan.drive.mechanics import deflection_mm, frequency_Hz, hub_load_N, source_of
from beltplan.drive.operation import HEAT_SOURCE, heat_N, operation_of, set_again_N, set_N, tension_band, why_not_judged
from beltplan.drive.pulleys import Arm, Pulley
from beltplan.drive.route import Route, route_of
from beltplan.geometry.loops import Loop
from beltplan.geometry.vectors import Floats

# The tension of every span, engine stopped: what to set by hand or what a spring gives, and how it is found out.

USUAL_PRESS_N = 98.0
LEAST_FOR_THE_EAR_MM = 150.0
"""A shorter span is so stiff that its tone says little of its tension."""
_MOST_PRESSED = 0.15
"""Share of a span by which it may give: beyond it the law of a string that is pressed a little is off by 5 %."""
_GENTLE = 16.0
"""A press of a sixteenth of the tension moves a span by one part in 64 of its length: common practice, no source."""


@dataclass(frozen=True, eq=False)
class Level:
    """A tension of every span, engine stopped, and what shows it at the longest span.

    rib_N: for each rib, None for a V-belt. deflection_mm: under the press, None where that is too strong for the span.
    tone_Hz: its tone, None where the belt's mass is not known or the span is too short for the ear. source: where the
    tension comes from.
    """

    name: str
    tension_N: float
    rib_N: float | None
    deflection_mm: float | None
    tone_Hz: float | None
    source: str

    @property
    def tension_lbf(self) -> float:
        return self.tension_N / LBF_N


@dataclass(frozen=True, eq=False)
class Tensioning:
    """The tensions of a drive, and the longest span, at which they are found out.

    levels: set by hand, those of a new belt and of a run-in one, and that under which it is set again; else what the
    spring or the belt's stretch gives, and under which a spring is tired. settled: of a drive that is not set by hand.
    short: the spans that are too short for the ear, with their lengths. press_N: across the span; gentle_N: one that
    suits it, where that is too strong. stretch_known: whether the belt's stretch as it is pressed is counted.
    """

    levels: tuple[Level, ...]
    settled: SetTension | None
    span: tuple[str, str]
    span_mm: float
    short: tuple[tuple[str, str, float], ...]
    press_N: float
    gentle_N: float | None
    stretch_known: bool


def _tensioning_of(still: Plan, press_N: float) -> Tensioning | str:
    """The tensions of a drive at rest, or in words why they are not known."""
    route, tension = still.route, still.tension
    if route.circuit.adjuster is not None and not is_sprung(route.circuit):
        if route.named_outside:
            return "the named belt does not fit"
        return _found_out(route, route.loop, _by_hand(still), None, press_N)
    if still.operation is None or tension is None:
        return str(why_not_judged(route))
    if not tension.each_N > 0.0:
        return "the spring gives no push where the belt puts it: check its torque (or force) and its rate"
    return _found_out(route, still.operation.stopped.loop, _as_it_is(still, tension), tension, press_N)


_Named = tuple[str, float, str]
"""A tension of every span: its name, N, its source."""


def _by_hand(still: Plan) -> list[_Named]:
    """The published steps; a tension of the layout's own is that of a run-in belt, and the others in its proportion. It
    is set again sooner where `check` advises that.
    """
    route, again = still.route, still.again
    belt, own = route.layout.belt, set_N(route.layout, route.circuit)
    steps = (("new belt", "hand_new_N"), ("run in", "hand_set_N"), ("set again below", "hand_again_N"))
    held = route.circuit.adjuster
    given = held is not None and held.tension_N is not None
    told = []
    for name, key in steps:
        newton, source = own * getattr(belt.profile, key) / belt.profile.hand_set_N, source_of(belt, key)
        if key == "hand_again_N" and again is not None:
            newton, source = again.at_N, _SOONER
        elif key == "hand_again_N" and own < belt.hand_set_N:
            newton = set_again_N(belt, own)
        elif given:
            by = f"in the proportion of a run-in belt to `tension_N`: {source}"
            source = "`tension_N` of the layout file" if key == "hand_set_N" else by
        told.append((name, newton, source))
    return told + _by_heat(route)


_SOONER = "slip formula of Euler and Shigley, a fifth of the grip to spare (project default): no pulley slips before"


def _by_heat(route: Route) -> list[_Named]:
    """The end of the tension to which heat or cold brings a belt that was set at another temperature."""
    heat, band = heat_N(route.layout, route.circuit), tension_band(route.layout, route.circuit)
    if not heat or band is None:
        return []
    name, factor = ("hot, new belt", band[1]) if heat > 0.0 else ("cold, as low as it gets", band[0])
    return [(name, factor * set_N(route.layout, route.circuit), HEAT_SOURCE)]


def _as_it_is(still: Plan, tension: SetTension) -> list[_Named]:
    if not is_sprung(still.route.circuit):
        return [("by its own stretch", tension.each_N, "computed from the belt's length and stiffness")]
    if tension.end is not None:
        return [("at that end", tension.each_N, "computed from the belt's stretch, not from the spring")]
    gives = [("by its spring", tension.each_N, "computed balance of spring and belt stretch")]
    if tension.band_N is not None:
        gives.append(("tired below", tension.band_N[0], tension.friction[1]))
    return gives


def _found_out(
    route: Route, loop: Loop, tensions: list[_Named], settled: SetTension | None, press_N: float
) -> Tensioning:
    belt, index = route.layout.belt, int(np.argmax(loop.span))
    lengths = loop.span.tolist()
    ends = [(start.name, end.name) for start, end in route.spans]
    # A belt that hangs slack has no tension to be found out.
    tensions = [told for told in tensions if told[1] > 0.0]
    each = np.array([newton for _, newton, _ in tensions])
    # The whole loop slides over its pulleys and shares the stretch; a spring keeps the tension.
    kept = is_sprung(route.circuit) and (settled is None or settled.end is None)
    stretch = 0.0 if kept else (belt.full_stiffness_N or 0.0) * lengths[index] / float(loop.length)
    gives = deflection_mm(np.asarray(press_N), each, np.asarray(lengths[index]), np.asarray(stretch))
    mass = belt.full_mass_kg_per_m
    heard = lengths[index] >= LEAST_FOR_THE_EAR_MM
    tones = frequency_Hz(each, mass, np.asarray(lengths[index])) if mass and heard else [None] * len(each)
    too_strong = bool((gives > _MOST_PRESSED * lengths[index]).any())
    levels = tuple(
        Level(
            *(name, newton, newton / belt.ribs if belt.profile.is_ribbed else None),
            *(None if too_strong else float(give), None if tone is None else float(tone), source),
        )
        for (name, newton, source), give, tone in zip(tensions, gives, tones, strict=True)
    )
    short = tuple((*e, mm) for e, mm in zip(ends, lengths, strict=True) if mm < LEAST_FOR_THE_EAR_MM)
    gentle = float(f"{each.min() / _GENTLE:.1g}") if too_strong else None
    known = is_sprung(route.circuit) or belt.full_stiffness_N is not None
    return Tensioning(levels, settled, ends[index], lengths[index], short, press_N, gentle, known)


# The card: what is told in the order of the work.

STEP_MM = 5.0
"""How much longer and shorter a belt the pointer is told for: a usual step of belts that are sold."""


@dataclass(frozen=True, eq=False)
class PuttingOn:
    """How the belt goes on at the short end of the adjuster's travel; pulley: which it carries.

    last_over: the pulley over which it is slipped last. needs_mm, has_mm: slack for that, and slack there (None where
    no belt is chosen). at, short: settings of the adjuster with the belt tight and at that end, deg or mm along it.
    effort: of its spring there, Nm or N; None without one.
    """

    pulley: str
    last_over: str
    needs_mm: float
    has_mm: float | None
    at: float
    short: float
    effort: float | None


@dataclass(frozen=True, eq=False)
class Pointer:
    """Where the adjuster stands with the belt tight: deg of an arm, mm along a slide.

    ends: short and long end of its usable travel. stops: of the file.
    marks: `new` and `worn`, None where it has none. radius_mm: of the
    pointer's rim, None where not given. shorter, longer: where a belt of `STEP_MM` less or more puts it. take_up_mm:
    belt for one deg or mm, where it stands.
    """

    is_arm: bool
    at: float
    ends: tuple[float, float]
    stops: tuple[float, float]
    marks: tuple[float, float] | None
    radius_mm: float | None
    shorter: float
    longer: float
    take_up_mm: float

    @property
    def unit(self) -> str:
        return "deg" if self.is_arm else "mm"

    @property
    def between(self) -> tuple[float, float]:
        return self.ends if self.marks is None else self.marks

    @property
    def past_first(self) -> float:
        """How far past the first of them, negative before it."""
        return self._onward * (self.at - self.between[0])

    @property
    def to_last(self) -> float:
        """How far short of the last of them, negative past it."""
        return self._onward * (self.between[1] - self.at)

    @property
    def _onward(self) -> float:
        return 1.0 if self.between[1] > self.between[0] else -1.0

    def along_rim_mm(self, apart: float) -> float | None:
        """A difference of two angles along the pointer's rim; None where its radius is not given."""
        return None if self.radius_mm is None else float(np.radians(apart)) * self.radius_mm


@dataclass(frozen=True, eq=False)
class HubPull:
    """What pulls on a hub, (2) N: engine stopped, and the greatest, with the engine's speed (None: stopped).

    high_end_N: size of the greatest at the high end of the tension.
    """

    pulley: Pulley
    stopped_N: Floats
    highest_N: Floats
    rpm: float | None
    high_end_N: float

    @property
    def pull_N(self) -> float:
        return float(np.hypot(*self.highest_N))

    @property
    def moments_Nm(self) -> tuple[float, float] | None:
        """Bending moments at its bearing or nose, of the greatest and at the high end; None without an overhang."""
        if self.pulley.overhang_mm is None:
            return None
        highest, high = hub_moment_Nm(self.pulley, np.array((self.pull_N, self.high_end_N))).tolist()
        return highest, high


@dataclass(frozen=True, eq=False)
class Card:
    """All that the fitter is told of one layout.

    common_plane_mm: that of the driver, into which all are brought. shims_mm: the fewest pulleys to move, by name, +
    toward the viewer. too_thin: those out of line by less than any spacer. tilted: those to be set square, for no shim
    cures their tilt. grooves: the first groove to use of wide pulleys, where another lines up better; grooved_shims_mm:
    what is then to move. putting_on, pointer: None without an adjuster, the last also where no belt fits.
    tension: None where it cannot be known, and not_known says why. hubs: empty then.
    """

    plan: Plan
    common_plane_mm: float
    shims_mm: dict[str, float]
    too_thin: tuple[str, ...]
    tilted: tuple[Pulley, ...]
    grooves: dict[str, int]
    grooved_shims_mm: dict[str, float]
    putting_on: PuttingOn | None
    pointer: Pointer | None
    tension: Tensioning | None
    not_known: str | None
    hubs: tuple[HubPull, ...]


def card_of(plan: Plan, press_N: float = USUAL_PRESS_N) -> Card:
    """The card of a plan. press_N: the force across the longest span by which its tension is found out."""
    still = at_rest(plan)
    tension = _tensioning_of(still, press_N)
    not_known = None if isinstance(tension, Tensioning) else tension
    settled, grooves, offsets = settled_at(still), best_grooves(plan.route), shims(plan.route)
    return Card(
        plan,
        plan.layout.driver.plane_mm or 0.0,
        offsets,
        tuple(name for name in shims(plan.route, 0.0) if name not in offsets),
        tuple(tilted(plan.route)),
        grooves,
        shims(_regrooved(plan.route, grooves)) if grooves else {},
        _putting_on(plan, settled),
        _pointer(plan, settled),
        tension if isinstance(tension, Tensioning) else None,
        not_known,
        () if not_known is not None else _hubs(plan, still),
    )


def _regrooved(route: Route, grooves: dict[str, int]) -> Route:
    layout, pitch = route.layout, route.layout.belt.profile.pitch_mm or 0.0
    pulleys = dict(layout.pulleys)
    for name, first in grooves.items():
        old = pulleys[name]
        plane = (old.plane_mm or 0.0) + pitch * (first - old.first_groove_used)
        pulleys[name] = replace(old, plane_mm=plane, first_groove_used=first)
    return route_of(replace(layout, pulleys=pulleys))


def at_rest(plan: Plan) -> Plan:
    """The plan with its tensions where only the engine's speeds are not given: at rest any do, for nothing asks."""
    if plan.operation is not None:
        return plan
    engine = replace(plan.layout.engine, idle_rpm=1.0, cruise_rpm=None, max_rpm=1.0)
    route = replace(plan.route, layout=replace(plan.layout, engine=engine))
    return Plan(route, operation_of(route), ())


def settled_at(plan: Plan) -> float:
    """Where the belt puts the adjuster at its tension, by a spring or by hand, rad or mm."""
    route, still = plan.route, at_rest(plan)
    if still.operation is not None and is_sprung(route.circuit):
        return float(still.operation.stopped.setting)
    if route.travel is None or route.window is None or still.adjuster is None:
        return route.setting or 0.0
    stretched = route.length_mm * (1.0 + (still.adjuster.growth.set or 0.0))
    return float(setting_for(route.circuit, route.travel, route.window, np.asarray(stretched)))


def _putting_on(plan: Plan, settled: float) -> PuttingOn | None:
    route, held = plan.route, plan.route.circuit.adjuster
    if route.window is None or route.travel is None or route.moving is None or held is None or route.last_over is None:
        return None
    short, longer = float(route.travel.short), int(route.travel.direction)
    effort = None
    if held.spring is not None:
        effort = float(held.spring_force_at(np.asarray(short), longer)) / held.spring_scale
    has = None if route.judged is None else route.length_mm - route.window.shortest
    name, last = route.moving.name, route.last_over
    return PuttingOn(name, last, route.window.fitting, has, settled * held.own, short * held.own, effort)


def _pointer(plan: Plan, settled: float) -> Pointer | None:
    route, adjuster, held = plan.route, plan.adjuster, plan.route.circuit.adjuster
    if adjuster is None or held is None or route.window is None or route.travel is None or route.judged is None:
        return None
    # Of the path as it lies at the belt's tension.
    path, scale = route.circuit.path_at(settled), held.own
    lengths, slope = float(path.length) + np.array([-STEP_MM, STEP_MM]), float(route.circuit.slope_at(settled, path))
    shorter, longer = (setting_for(route.circuit, route.travel, route.window, lengths) * scale).tolist()
    marks = held.marks_rad if isinstance(held, Arm) else None
    stops = sorted(held.travel, reverse=bool(route.travel.short > route.travel.long))
    return Pointer(
        adjuster.is_arm,
        settled * scale,
        (float(route.travel.short) * scale, float(route.travel.long) * scale),
        (stops[0] * scale, stops[1] * scale),
        None if marks is None else (marks[0] * scale, marks[1] * scale),
        *(adjuster.pulley.pointer_radius_mm, shorter, longer, abs(slope) / scale),
    )


def _hubs(plan: Plan, still: Plan) -> tuple[HubPull, ...]:
    route, told = plan.route, []
    if still.operation is not None:
        stopped_N = still.operation.stopped.hub_load_N
    else:
        stopped_N = hub_load_N(route.loop, np.full(len(route.pulleys), set_N(route.layout, route.circuit)))
    band = tension_band(route.layout, route.circuit)
    for i, (pulley, stopped) in enumerate(zip(route.pulleys, stopped_N, strict=True)):
        hub = plan.hubs[i] if plan.hubs else None
        runs_harder = hub is not None and np.hypot(*hub.running_N) > np.hypot(*stopped)
        highest, rpm = (hub.running_N, hub.rpm) if hub is not None and runs_harder else (stopped, None)
        # With the belt's stiffness unknown, in proportion to the tension.
        high_N = still.hubs[i].high_N if still.hubs else float(np.hypot(*stopped)) * (1.0 if band is None else band[1])
        told.append(HubPull(pulley, stopped, highest, rpm, high_N if hub is None else hub.high_N))
    return tuple(told)

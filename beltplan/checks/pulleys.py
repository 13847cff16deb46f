"""Pulley by pulley: wrap, grooves and size, the way it turns, speed, alignment, and how the route was read."""

from __future__ import annotations

import numpy as np

from beltplan.checks.limits import OWN, Bound, Finding, bound_for, demanded, is_overridden, judge, plain
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import frictions
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import ArmSpring, Pulley
from beltplan.drive.route import Route, belt_speed_m_per_s, ratios, turning_sense
from beltplan.geometry.vectors import Floats

WRAP_CHECK = "wrap"
WRAP_MEANING = "too little wrap for what the pulley drives: the first thing that squeals"


def wrap_findings(route: Route) -> list[Finding]:
    """Wraps below the least for the pulley's role, or close to it."""
    found: list[Finding] = []
    for pulley, wrap in zip(route.pulleys, np.degrees(route.loop.wrap), strict=True):
        bound = least_wrap(route.layout, pulley)
        if bound is not None:
            message = _advice(route.layout, pulley, float(wrap), bound)
            found += judge(WRAP_CHECK, pulley.name, float(wrap), bound, message, (pulley.name,))
    return found


def least_wrap(layout: Layout, pulley: Pulley) -> Bound | None:
    """The wrap that a pulley needs: the layout's own number, else by rating, belt side and role."""
    key = "min_wrap_deg"
    if not is_overridden(layout, key, pulley):
        if _is_big_alternator(layout, pulley):
            key = "min_wrap_big_alternator_deg"
        elif pulley.on_back and pulley.role in ("water_pump", "fan"):
            key = "min_wrap_on_back_deg"
    return bound_for(layout, key, (pulley.name,), pulley.role)


def _is_big_alternator(layout: Layout, pulley: Pulley) -> bool:
    bound = bound_for(layout, "big_alternator_A", (pulley.name,), pulley.role)
    return (
        pulley.role == "alternator"
        and pulley.rated_A is not None
        and bound is not None
        and pulley.rated_A > bound.limit
    )


def _advice(layout: Layout, pulley: Pulley, wrap: float, bound: Bound) -> str:
    why = f" for {pulley.rated_A:g} A" if _is_big_alternator(layout, pulley) and pulley.rated_A is not None else ""
    wanted = bound.limit if wrap < bound.limit or bound.caution is None else bound.caution
    short = wanted - wrap
    if short <= 0.0:
        return f"{wrap:.1f} deg of wrap{why}, little over the {wanted:g} wanted: more would be safer"
    cure = (
        "set it further into the belt, or move a neighbour away"
        if pulley.adjuster is not None and pulley.guides_only
        else "lead the belt further round it with an idler beside it, by moving a neighbour, or by another order"
    )
    return f"{wrap:.1f} deg of wrap{why}, {short:.1f} short of {wanted:g}: {cure}"


# Do the pulleys suit the belt: grooves enough, and not too small?

PULLEY_FIT_CHECK = "grooves"
PULLEY_FIT_MEANING = "fewer grooves than the belt has ribs"
SMALL_CHECK = "small_pulley"
SMALL_MEANING = "a pulley smaller than the profile allows on that side of the belt"


def groove_findings(route: Route) -> list[Finding]:
    """Pulleys with fewer grooves than the belt has ribs."""
    ribs = route.layout.belt.ribs
    return [
        Finding(
            PULLEY_FIT_CHECK,
            "problem",
            pulley.name,
            f"{pulley.grooves} grooves for {ribs} ribs: the outer ribs hang over; a wider pulley or a narrower belt",
            OWN,
            float(pulley.grooves),
            float(ribs),
            "grooves",
            pulley.grooves / ribs - 1.0,
            (pulley.name,),
        )
        for pulley in route.pulleys
        if pulley.grooves is not None and not pulley.on_back and pulley.grooves < ribs
    ]


def small_pulley_findings(route: Route) -> list[Finding]:
    """Pulleys that bend the belt more sharply than its profile allows."""
    return [finding for pulley in route.pulleys for finding in _small(route, pulley)]


def _small(route: Route, pulley: Pulley) -> list[Finding]:
    bound = _least_diameter(route, pulley)
    if bound is None:
        return []
    diameter = pulley.line_diameter_mm(route.layout.belt)
    side = "back" if pulley.on_back else "ribs" if route.layout.belt.profile.is_ribbed else "inner side"
    small = "too small" if diameter < bound.limit else "small"
    message = (
        f"{diameter:.1f} mm is {small} for {route.layout.belt.profile.name} bent over its {side}: "
        "a larger one lets the belt live longer"
    )
    return judge(SMALL_CHECK, pulley.name, diameter, bound, message, (pulley.name,))


def _least_diameter(route: Route, pulley: Pulley) -> Bound | None:
    profile = route.layout.belt.profile
    key, end = ("min_back_diameter_mm", "back") if pulley.on_back else ("min_diameter_mm", "grooved")
    least = profile.back_least_mm if pulley.on_back else profile.grooved_least_mm
    caution = profile.back_caution_mm if pulley.on_back else profile.grooved_caution_mm
    default = None
    if least is not None:
        sources = profile.sources
        default = Bound("lower", least, "mm", sources[f"{end}_least_mm"], caution, sources[f"{end}_caution_mm"])
    return bound_for(route.layout, key, (pulley.name,), pulley.role, default)


# Does everything turn the way it must?

TURNING_CHECK = "turns"
TURNING_MEANING = "a pulley that turns against its `turns`, or an accessory on the belt's back with none stated"


def turning_findings(route: Route) -> list[Finding]:
    """Pulleys that turn the wrong way, and accessories on the back of which nobody said which way is right."""
    return [finding for pulley in route.pulleys for finding in _turning_of(route, pulley)]


def _turning_of(route: Route, pulley: Pulley) -> list[Finding]:
    turns = turning_sense(route, pulley)
    if pulley.turns not in (None, "either", turns):
        message = f"turns {turns} but must turn {pulley.turns}: run it on the other side of the belt"
        return [plain(TURNING_CHECK, "problem", pulley.name, message, OWN, (pulley.name,))]
    if pulley.on_back and pulley.turns is None and not (pulley.guides_only or pulley.drives):
        message = (
            f"on the back of the belt it turns {turns}, against the belt's other pulleys: "
            "make sure that it may, and say so with `turns`"
        )
        return [plain(TURNING_CHECK, "caution", pulley.name, message, PRACTICE, (pulley.name,))]
    return []


# Does anything turn too fast or too slowly?

SPEED_CHECK = "rpm"
SPEED_MEANING = "a pulley over its max_rpm at the engine's highest speed, or under its min_rpm at idle"
BELT_CHECK = "belt_speed"
BELT_MEANING = "belt speed over what the profile is made for"


def rpm_findings(route: Route) -> list[Finding]:
    """Shaft speeds against what each pulley's maker allows and needs."""
    return [
        finding
        for pulley, ratio in zip(route.pulleys, np.asarray(ratios(route)), strict=True)
        for finding in _too_fast(route, pulley, float(ratio)) + _too_slow(route, pulley, float(ratio))
    ]


def most_rpm(pulley: Pulley) -> Bound | None:
    """What a pulley's maker allows at the engine's highest speed; None where it is not given."""
    return None if pulley.max_rpm is None else Bound("upper", pulley.max_rpm, "rpm", OWN)


def least_rpm(pulley: Pulley) -> Bound | None:
    """What a pulley needs at idle; None where it is not given."""
    return None if pulley.min_rpm is None else Bound("lower", pulley.min_rpm, "rpm", OWN)


def _too_fast(route: Route, pulley: Pulley, ratio: float) -> list[Finding]:
    bound = most_rpm(pulley)
    if bound is None:
        return []
    engine = route.layout.engine.max_rpm
    if engine is None:
        return [_not_judged(pulley, "max_rpm", "engine.max_rpm")]
    rpm = ratio * engine
    message = f"{rpm:.0f} rpm at the engine's {engine:g}, {bound.limit:g} allowed: a larger pulley slows it"
    return judge(SPEED_CHECK, pulley.name, rpm, bound, message, (pulley.name,))


def _too_slow(route: Route, pulley: Pulley, ratio: float) -> list[Finding]:
    bound = least_rpm(pulley)
    if bound is None:
        return []
    engine = route.layout.engine.idle_rpm
    if engine is None:
        return [_not_judged(pulley, "min_rpm", "engine.idle_rpm")]
    rpm = ratio * engine
    message = f"{rpm:.0f} rpm at {engine:g} idle, {bound.limit:g} needed: a smaller pulley speeds it up"
    return judge(SPEED_CHECK, pulley.name, rpm, bound, message, (pulley.name,))


def _not_judged(pulley: Pulley, key: str, missing: str) -> Finding:
    return plain(SPEED_CHECK, "note", pulley.name, f"{key} not judged: {missing} is not given", OWN, (pulley.name,))


def most_belt_speed(layout: Layout) -> Bound:
    """How fast the belt may run."""
    profile, driver = layout.belt.profile, layout.driver
    default = Bound("upper", profile.top_speed_m_per_s, "m/s", profile.sources["top_speed_m_per_s"])
    return bound_for(layout, "max_belt_speed_m_per_s", (driver.name,), driver.role, default) or default


def belt_speed_findings(route: Route) -> list[Finding]:
    """Belt speed at the engine's highest speed against the profile's."""
    engine, profile = route.layout.engine.max_rpm, route.layout.belt.profile
    if engine is None:
        return [plain(BELT_CHECK, "note", "belt", "speeds not judged: engine.max_rpm is not given", OWN)]
    bound = most_belt_speed(route.layout)
    speed = belt_speed_m_per_s(route, engine)
    message = (
        f"{speed:.0f} m/s at {engine:g} rpm, {bound.limit:g} is the most for {profile.name}: a smaller driving pulley"
    )
    return judge(BELT_CHECK, "belt", speed, bound, message)


# Do the pulleys stand in one plane, for every span?

ALIGNMENT_CHECK = "misalignment"
ALIGNMENT_MEANING = "a span that runs askew between two pulleys out of line fore and aft"


def alignment_findings(route: Route) -> list[Finding]:
    """Spans whose ends stand too far out of one plane for their length.

    Source: angle = atan(|difference of plane| / span length), the grooved limit if either end is grooved.
    """
    unmeasured = tuple(pulley.name for pulley in route.pulleys if pulley.plane_mm is None)
    if len(unmeasured) == len(route.pulleys):
        return [plain(ALIGNMENT_CHECK, "note", "belt", "alignment not judged: no `plane` is given for any pulley", OWN)]
    message = f"no `plane` is given for {', '.join(unmeasured)}: taken as 0, not as measured"
    note = [plain(ALIGNMENT_CHECK, "note", "belt", message, OWN, unmeasured)] if unmeasured else []
    spans = zip(route.spans, route.loop.span, strict=True)
    return note + [finding for (start, end), span in spans for finding in _alignment_of(route, start, end, float(span))]


def _offset_mm(start: Pulley, end: Pulley) -> float:
    """How far the ends of a span stand out of one plane."""
    return abs((end.plane_mm or 0.0) - (start.plane_mm or 0.0))


def misalignment_deg(start: Pulley, end: Pulley, span_mm: Floats) -> Floats:
    """How far a span runs askew, for spans of any length, (...); no leading axes where it is in line for all."""
    offset = _offset_mm(start, end)
    return np.asarray(np.degrees(np.arctan2(offset, span_mm))) if offset else np.zeros(())


def most_misalignment(layout: Layout, start: Pulley, end: Pulley) -> Bound:
    """How far askew a span may run, by its ends."""
    smooth = start.on_back and end.on_back
    return demanded(layout, "max_misalignment_smooth_deg" if smooth else "max_misalignment_deg", (start.name, end.name))


def _alignment_of(route: Route, start: Pulley, end: Pulley, span: float) -> list[Finding]:
    offset, angle = _offset_mm(start, end), float(misalignment_deg(start, end, np.asarray(span)))
    message = (
        f"{offset:.1f} mm out of line over {span:.0f} mm of span is {angle:.2f} deg: "
        "shim or machine one of the two into line"
    )
    bound = most_misalignment(route.layout, start, end)
    return judge(ALIGNMENT_CHECK, f"{start.name} to {end.name}", angle, bound, message, (start.name, end.name))


# What the user should know of how the route was read.

DIRECTION_CHECK = "direction"
DIRECTION_MEANING = "both directions of the listed route give a sound loop"
UNROUTED_CHECK = "not_on_belt"
UNROUTED_MEANING = "a pulley of the file that the route leaves out"


OPEN_SIDE_CHECK = "open_side"
OPEN_SIDE_MEANING = "a pulley that either side of the belt may touch: it is judged on the back"


def direction_findings(route: Route) -> list[Finding]:
    """A note where the listed order alone decides which way the belt travels."""
    if not route.both_ways:
        return []
    message = "the route is sound either way round: the listed order is taken as the belt's travel"
    return [plain(DIRECTION_CHECK, "note", "belt", message, OWN)]


def open_side_findings(route: Route) -> list[Finding]:
    """A note on every pulley whose side the layout leaves open."""
    message = "either side of the belt may touch it: judged here on the back; `beltplan route` tries both"
    return [
        plain(OPEN_SIDE_CHECK, "note", pulley.name, message, OWN, (pulley.name,))
        for pulley in route.pulleys
        if pulley.side_open
    ]


def unrouted_findings(route: Route) -> list[Finding]:
    """Pulleys that the belt does not go round: forgotten, or meant."""
    return [
        plain(
            UNROUTED_CHECK,
            "note" if pulley.guides_only else "caution",
            pulley.name,
            "not on the route, so nothing drives it: it is only kept clear of",
            OWN,
            (pulley.name,),
        )
        for pulley in route.layout.unrouted
        if pulley.at_mm is not None
    ]


# Can a value of the file be meant as it stands?

DOUBT_CHECK = "doubtful_value"
DOUBT_MEANING = "a value that can hardly be meant as it stands: a question to whoever wrote it"
_SIZES = "idler_sizes"


def size_findings(route: Route) -> list[Finding]:
    """Pulleys, sizes to be had of them, and idlers of sizes that look like the wrong unit."""
    layout = route.layout
    found = [finding for size in layout.idler_sizes_mm for finding in _size(layout, _SIZES, size)]
    for pulley in layout.pulleys.values():
        for size in (pulley.diameter_mm, *pulley.diameters_mm):
            found += _size(layout, pulley.name, size)
    return found


def _size(layout: Layout, name: str, size_mm: float) -> list[Finding]:
    parts = () if name == _SIZES else (name,)
    inches = size_mm / MM_PER_INCH
    if size_mm < demanded(layout, "min_likely_diameter_mm", parts).limit:
        key, doubt = "min_likely_diameter_mm", f"are these inches? Then write `{size_mm:g} in`, or `units: in`"
    else:
        key, doubt = (
            "max_likely_diameter_mm",
            f"is it in inches? If {inches:.4g} mm is meant, write `{inches:.4g} mm`",
        )
    message = f"a diameter of {size_mm:g} mm ({inches:.4g} in): {doubt}"
    return judge(DOUBT_CHECK, name, size_mm, demanded(layout, key, parts), message, parts)


def friction_findings(route: Route) -> list[Finding]:
    """Friction that is said to be greater wet, or by design, than dry."""
    dry, wet, design = frictions(route.layout.belt, route.pulleys).max(axis=-1)
    words = []
    if wet > dry:
        words.append(f"friction {wet:.4g} wet is over {dry:.4g} dry, but water takes grip away")
    if design > dry:
        words.append(f"design friction {design:.4g} is over {dry:.4g} dry, but it is the cautious one")
    if not words:
        return []
    message = f"{'; '.join(words)}: is `belt.friction` the wrong way round, or given only in part?"
    return [plain(DOUBT_CHECK, "caution", "belt", message, OWN)]


def spring_place_findings(route: Route) -> list[Finding]:
    """A spring's own angle or place far outside of the travel: its rate is then counted over all the way between."""
    pulley = route.moving
    if pulley is None or pulley.adjuster is None or pulley.adjuster.spring is None:
        return []
    spring = pulley.adjuster.spring
    if isinstance(spring, ArmSpring):
        at, rate, ends = spring.at_deg, spring.rate_Nm_per_deg, np.degrees(pulley.adjuster.travel)
        key, push, question = "deg", "Nm", "the arm's angle, counted counter-clockwise from the right"
    else:
        at, rate, ends = spring.at_mm, spring.rate_N_per_mm, np.array(pulley.adjuster.travel)
        key, push, question = "mm", "N", "counted from the slide's `from`"
    low, high = float(ends.min()), float(ends.max())
    outside = max(low - at, at - high, 0.0)
    message = (
        f"spring.at_{key} {at:g} lies {outside:.0f} {key} outside the travel, {low:g} to {high:g}: over that way its "
        f"rate alone makes {abs(rate) * outside:.3g} {push}. Is it {question}?"
    )
    bound = demanded(route.layout, f"max_spring_outside_{key}", (pulley.name,))
    return judge(DOUBT_CHECK, pulley.name, outside, bound, message, (pulley.name,))

"""Pulley by pulley: wrap, grooves and size, the way it turns, speed, and how the route was read."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from beltplan.checks.limits import (
    FIRST,
    NOT_MEASURED,
    Bound,
    Check,
    Finding,
    Severity,
    Way,
    bound_for,
    demanded,
    makers_bound,
)
from beltplan.drive.layout import Layout
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Pulley, Role
from beltplan.drive.route import Route


def _wrap_findings(route: Route) -> list[Finding]:
    found: list[Finding] = []
    for pulley, wrap in zip(route.pulleys, np.degrees(route.loop.wrap).tolist(), strict=True):
        bound = minimum_wrap(route.layout, pulley)
        what = "deg of wrap"
        what += f" for {pulley.rated_A:g} A" if _is_big_alternator(route.layout, pulley) else ""
        what += " on the belt's back" * (_wrap_key(route.layout, pulley) == "min_wrap_on_back_deg")
        more = "" if _sets_itself(pulley) else "more wrap: " if wrap < bound.limit else "more would be safer: "
        told = replace(bound, caution=bound.ample)  # what is recommended, also where it is a tenth over
        found += WRAP.judge(pulley.name, wrap, bound, told.words(wrap, what), f"{more}{way_to_wrap(pulley)}")
    return found


def way_to_wrap(pulley: Pulley) -> str:
    """What leads the belt farther round a pulley, in words."""
    own = "set it deeper into the belt, or move a neighbour away"
    return own if _sets_itself(pulley) else "add an idler, move a neighbour or change the order"


def _sets_itself(pulley: Pulley) -> bool:
    return pulley.adjuster is not None and pulley.guides_only


AT_MEASURING = "belt at measuring tension"
"""Of a wrap: with which belt it is told."""


def minimum_wrap(layout: Layout, pulley: Pulley) -> Bound:
    """The wrap that a pulley needs: the layout's own number, else by rating, belt side and role."""
    return demanded(layout, _wrap_key(layout, pulley), (pulley.name,), pulley.role)


def replaced_wrap(layout: Layout, pulley: Pulley) -> str:
    """Which other, stricter minimum a `min_wrap_deg` of the layout's own replaces, in words; '' where none."""
    own, key = minimum_wrap(layout, pulley), _wrap_key(replace(layout, limits={}), pulley)
    usual = demanded(layout, key, (pulley.name,), pulley.role)
    if _wrap_key(layout, pulley) == key or own.limit >= usual.limit:
        return ""
    return f"your `min_wrap_deg` of {own.limit:g} replaces the {usual.limit:g} deg of `{key}`"


def _wrap_key(layout: Layout, pulley: Pulley) -> str:
    own = layout.limits.get("min_wrap_deg", {})
    if any(name in own for name in (pulley.name, pulley.role, "")):
        return "min_wrap_deg"
    if _is_big_alternator(layout, pulley):
        return "min_wrap_big_alternator_deg"
    driven_by_the_back = pulley.on_back and pulley.role in ("water_pump", "fan")
    return "min_wrap_on_back_deg" if driven_by_the_back else "min_wrap_deg"


def _is_big_alternator(layout: Layout, pulley: Pulley) -> bool:
    if pulley.role != "alternator" or pulley.rated_A is None:
        return False
    bound = bound_for(layout, "big_alternator_A", (pulley.name,), pulley.role)
    return bound is not None and pulley.rated_A > bound.limit


WRAP = Check(
    "wrap",
    "too little wrap for what the pulley drives: the first thing that squeals",
    _wrap_findings,
    limits=("min_wrap_deg", "min_wrap_on_back_deg", "min_wrap_big_alternator_deg", "big_alternator_A"),
)


def with_one_size(findings: list[Finding]) -> list[Finding]:
    """Findings that ask for no larger and smaller pulley in one place: each limit is missed more the other way."""
    sizes = (Way.LARGER, Way.SMALLER)
    larger, smaller = ({each.subject for each in findings if way in each.advised} for way in sizes)
    slower = {each.subject for each in findings if each.check == RPM.name and Way.LARGER in each.advised}
    return [
        replace(each, advised=(_NO_SIZE[each.subject in slower],))
        if each.subject in larger & smaller and each.advised[0] in sizes
        else each
        for each in findings
    ]


_NO_SIZE = (
    "no diameter serves all of these: a larger driving pulley, or a higher idle",
    "no diameter serves all of these: a higher idle, a lower top speed of the engine, or a unit for these speeds",
)


# Do the pulleys suit the belt: grooves enough, and not too small?


def _groove_findings(route: Route) -> list[Finding]:
    found, ribs = [], route.layout.belt.ribs
    for pulley in route.pulleys:
        has = pulley.usable_grooves
        if has is not None and not pulley.on_back and has < ribs:
            advice = "fit a wider pulley or a narrower belt"
            numbers = (float(has), float(ribs), "grooves", has / ribs - 1.0)
            wrong = f"{has} grooves for {ribs} ribs, so the outer ribs hang over"
            found.append(GROOVES.find("problem", pulley.name, wrong, advice, numbers=numbers))
    return found


ROOM = "every grooved pulley has room for"


def room_words(layout: Layout) -> str:
    """For how many more ribs the pulleys have room, in words; empty where they have none, or it is not known."""
    ribs = room_for_ribs(layout)
    return f"{ROOM} {ribs}{layout.belt.profile.name}" if ribs else ""


def room_for_ribs(layout: Layout) -> int:
    """More ribs than the belt has, for which every pulley that is known by its grooves has room; 0 where none are."""
    known = [p.usable_grooves for p in layout.routed if not p.on_back and p.usable_grooves is not None]
    room = min(known) if len(known) > 1 and layout.belt.profile.is_ribbed else 0
    return room if room > layout.belt.ribs else 0


GROOVES = Check("grooves", "fewer grooves than the belt has ribs", _groove_findings)


def _small_pulley_findings(route: Route) -> list[Finding]:
    found, profile = list[Finding](), route.layout.belt.profile
    for pulley in route.pulleys:
        bound, diameter = minimum_diameter(route.layout, pulley), pulley.line_diameter_mm(route.layout.belt)
        side = "back" if pulley.on_back else "ribs" if profile.is_ribbed else "inner side"
        wrong = f"{bound.words(diameter, 'mm')} for {profile.name} bent over its {side}"
        found += SMALL_PULLEY.judge(pulley.name, diameter, bound, wrong, Way.LARGER, " lets the belt live longer")
    return found


_BENT_BACK = 4.0 / 3.0
"""How much larger than its smallest grooved pulley one is to be that bends a belt over its back."""
_BENT = f"a third over the smallest grooved pulley of the profile: {PRACTICE}"


def minimum_diameter(layout: Layout, pulley: Pulley) -> Bound:
    """The line diameter over which the belt bends well enough, by its side: over the back, where the profile says
    nothing, what is recommended.
    """
    profile = layout.belt.profile
    key, end = ("min_back_diameter_mm", "back") if pulley.on_back else ("min_diameter_mm", "grooved")
    least = profile.back_least_mm if pulley.on_back else profile.grooved_least_mm
    caution = profile.back_caution_mm if pulley.on_back else profile.grooved_caution_mm
    default, sources, who = None, profile.sources, (pulley.name,)
    if least is not None:
        default = Bound("lower", least, "mm", sources[f"{end}_least_mm"], caution, sources[f"{end}_caution_mm"])
    recommended = Bound("lower", float(round(_BENT_BACK * profile.grooved_least_mm)), "mm", _BENT, only_caution=True)
    return bound_for(layout, key, who, pulley.role, default) or recommended


SMALL_PULLEY = Check(
    "small_pulley",
    "a pulley smaller than the profile allows on that side of the belt",
    _small_pulley_findings,
    limits=("min_diameter_mm", "min_back_diameter_mm"),
)

# Does everything turn the way it must?


def _turning_findings(route: Route) -> list[Finding]:
    found, senses = list[Finding](), {pulley.name: route.layout.turns_of(pulley) for pulley in route.pulleys}
    for pulley in route.pulleys:
        if pulley.on_back and pulley.turns is None and not (pulley.guides_only or pulley.drives):
            wrong = f"it runs on the back, so it turns {senses[pulley.name]}"
            advice = f"make sure that it may, then write `turns: {senses[pulley.name]}`"
            found.append(TURNS.find("caution", pulley.name, wrong, advice, source=PRACTICE))
    said = [pulley for pulley in route.pulleys if pulley.turns not in (None, "either")]
    against = [pulley for pulley in said if pulley.turns != senses[pulley.name]]
    if len(against) == len(said) > 1:
        wrong = f"none of {', '.join(pulley.name for pulley in against)} turns as its `turns` says"
        other = "clockwise" if route.layout.rotation_sense > 0 else "counterclockwise"
        advice = f"is `rotation` right, seen from the front? If not, write `rotation: {other}`"
        numbers = (None, None, "", FIRST)
        return [*found, TURNS.find("problem", "rotation", wrong, advice, parts=(), numbers=numbers)]
    advice = "is its `turns` right? Then run it on the other side of the belt"
    return found + [
        TURNS.find("problem", pulley.name, f"turns {senses[pulley.name]} but must turn {pulley.turns}", advice)
        for pulley in against
    ]


TURNS = Check(
    "turns",
    "a pulley that turns against its `turns`, or an accessory on the belt's back with none stated",
    _turning_findings,
)

# Does anything turn too fast or too slowly?


def _rpm_findings(route: Route) -> list[Finding]:
    engine, found = route.layout.engine, []
    ends = (
        ("max", engine.max_rpm, "max_rpm", "rpm at {:g} of the engine", (Way.LARGER, " slows it")),
        ("idle", engine.idle_rpm, "min_rpm", "rpm at {:g} idle", (Way.SMALLER, " speeds it up")),
    )
    for pulley, ratio in zip(route.pulleys, route.ratios.tolist(), strict=True):
        for name, rpm, key, at, advice in ends:
            bound = makers_bound(pulley, key)
            if bound is not None and rpm is not None:
                wrong = bound.words(ratio * rpm, at.format(rpm), decimals=0)
                found += RPM.judge(pulley.name, ratio * rpm, bound, wrong, *advice)
            elif bound is not None:
                found.append(RPM.find("note", pulley.name, f"{key} not judged", f"give `engine.{name}_rpm`"))
    return found


RPM = Check(
    "rpm", "a pulley over its max_rpm at the engine's highest speed, or under its min_rpm at idle", _rpm_findings
)


def _belt_speed_findings(route: Route) -> list[Finding]:
    engine, profile = route.layout.engine.max_rpm, route.layout.belt.profile
    if engine is None:
        return [BELT_SPEED.find("note", "belt", "speeds not judged", "give `engine.max_rpm`")]
    bound, speed = maximum_belt_speed(route.layout), route.belt_speed_m_per_s(engine)
    wrong = f"{bound.words(speed, f'm/s at {engine:g} rpm', decimals=0)} for {profile.name}"
    return BELT_SPEED.judge("belt", speed, bound, wrong, f"a smaller {route.pulleys[0].name} pulley slows the belt")


def maximum_belt_speed(layout: Layout) -> Bound:
    """How fast the belt may run."""
    profile, driver = layout.belt.profile, layout.driver
    default = Bound("upper", profile.top_speed_m_per_s, "m/s", profile.sources["top_speed_m_per_s"])
    return bound_for(layout, "max_belt_speed_m_per_s", (driver.name,), driver.role, default) or default


BELT_SPEED = Check(
    "belt_speed",
    "belt speed over what the profile is made for",
    _belt_speed_findings,
    limits=("max_belt_speed_m_per_s",),
)

# Does each pulley's face suit the side of the belt that touches it?

_GROOVED_ROLES: tuple[Role, ...] = (
    *("crankshaft", "alternator", "steering_pump", "hydraulic_pump", "air_conditioning", "air_compressor"),
    *("vacuum_pump", "supercharger"),
)
"""Roles whose pulleys are grooved nearly always: common practice, no source."""


def _side_findings(route: Route) -> list[Finding]:
    found, belt = [], route.layout.belt
    for pulley in route.pulleys:
        name, role, grooves = pulley.name, pulley.role, pulley.grooves
        if pulley.on_back and grooves is not None:
            grip = "" if pulley.guides_only else ", which cannot grip"
            wrong = f"its {grooves} grooves run on the belt's back{grip}"
            advice = "write `belt_side: ribbed`, or take a smooth pulley and leave `grooves` out"
            found.append(SIDE.find("caution" if pulley.guides_only else "problem", name, wrong, advice))
        elif pulley.on_back and role in _GROOVED_ROLES and not pulley.side_open:
            wrong = f"it runs on the belt's back, and pulleys of the role {role} are nearly always grooved"
            found.append(SIDE.find("caution", name, wrong, "is this one smooth? If not, write `belt_side: ribbed`"))
        elif not pulley.on_back and grooves is None and role == "tensioner" and belt.profile.is_ribbed:
            wrong = "it runs on the ribs, and most tensioners are smooth and run on the belt's back"
            advice = f"is it grooved? Then write `grooves: {belt.ribs}`. If it is smooth, write `belt_side: back`"
            found.append(SIDE.find("caution", name, wrong, advice))
    return found


SIDE = Check(
    "wrong_side",
    "a grooved pulley on the belt's back, or a side of the belt that the pulley's role makes unlikely: a question",
    _side_findings,
    source=PRACTICE,
)

# What the user should know of how the route was read.


def _direction_findings(route: Route) -> list[Finding]:
    message = "the belt could run either way round: the listed order is taken as its travel"
    return [DIRECTION.find("note", "belt", message)] if route.both_ways else []


DIRECTION = Check("direction", "both directions of the listed route give a sound loop", _direction_findings)


def _open_side_findings(route: Route) -> list[Finding]:
    wrong, advice = "either side of the belt may touch it; judged here on the back", "`beltplan route` tries both"
    return [OPEN_SIDE.find("note", pulley.name, wrong, advice) for pulley in route.pulleys if pulley.side_open]


OPEN_SIDE = Check(
    "open_side", "a pulley that either side of the belt may touch: it is judged on the back", _open_side_findings
)


def _unrouted_findings(route: Route) -> list[Finding]:
    found = []
    for pulley in route.layout.unrouted:
        wrong, meant = "not on this belt", pulley.optional
        advice = "was it forgotten in `route`?" + " If not, write `optional: true`" * (pulley.role == "idler")
        # A variant leaves one out on purpose, as a rule: it explains no problems.
        first = (None, None, "", NOT_MEASURED if meant or route.layout.variant else FIRST)
        severity: Severity = "note" if meant else "caution"
        found.append(NOT_ON_BELT.find(severity, pulley.name, wrong, "" if meant else advice, numbers=first))
    return found


NOT_ON_BELT = Check("not_on_belt", "a pulley of the file that the route leaves out", _unrouted_findings)

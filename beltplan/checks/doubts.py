"""Can a value of the file be meant as it stands? Each question says what it would be in the unit that may be meant."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from statistics import median_low

import numpy as np

from beltplan.checks.limits import (
    FIRST,
    LIMIT_KEYS,
    LIMITS,
    USUALLY_SLOW,
    Bound,
    Check,
    Finding,
    all_of,
    bound_for,
    demanded,
)
from beltplan.checks.pulleys import ROOM, minimum_diameter, replaced_wrap, room_for_ribs
from beltplan.drive.belt import LBF_N, MM_PER_INCH, MM_PER_UNIT, format_designation
from beltplan.drive.fit import setting_words
from beltplan.drive.layout import Circle, Layout, Obstacle
from beltplan.drive.loads import usual_loads
from beltplan.drive.mechanics import frictions, source_of
from beltplan.drive.own_units import own_unit_value
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Arm, Pulley, WrenchReadings, stops_of
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit, Travel, place_of
from beltplan.geometry.vectors import Bools


def _doubt_findings(route: Route) -> list[Finding]:
    """Values that look like another unit, frictions the wrong way round, springs given far off their travel."""
    layout = route.layout
    if doubtful_file(layout) is not None:
        return shape_doubts(layout)
    return [
        *(*_contradicted(layout), *shape_doubts(layout), *_asked(layout, _beside_the_shape(layout))),
        *(*_halved(layout), *_low_tension(layout), *_fans(layout), *_over_rated(layout), *_strayed(layout)),
        *(*_unheld(layout), *_narrower(layout), *_two_faces(layout), *_past_at_idle(route), *_friction(route)),
        *(spring_place(layout) or _spring_spent(route)),
        *(*_own_limits(layout), *_own_wraps(layout), *_spring_readings(route)),
    ]


def asked_first(
    subject: str,
    wrong: str,
    advice: str,
    keys: tuple[str, ...] = (),
    parts: tuple[str, ...] | None = None,
    source: str = PRACTICE,
) -> Finding:
    """A question that no bound decides, and that stands before all other findings. keys: of the value asked after."""
    numbers = (None, None, "", FIRST)
    found = DOUBT.find("caution", subject, wrong, advice, parts=parts, source=source, numbers=numbers)
    return replace(found, keys=keys)


def _contradicted(layout: Layout) -> list[Finding]:
    advice = f"before you cut metal, measure again {layout.in_doubt}"
    return [asked_first("places", "in doubt", advice, parts=(), source="")] if layout.in_doubt else []


def shape_doubts(layout: Layout) -> list[Finding]:
    """Sizes and places that look like another unit, which may be why a belt cannot be laid."""
    # Where the whole file is in doubt, nothing else is asked.
    doubt = doubtful_file(layout)
    whole = [] if doubt is None else [asked_first("units", *doubt, parts=(), source="")]
    return whole or [*_asked(layout, _sizes(layout)), *_asked(layout, _arms(layout)), *_far_off(layout)]


# A whole file in another unit.

_LIKELY_LARGEST_MM = 500.0
"""The largest pulley of a drive is hardly larger (common practice, no source)."""
_ALL_SMALL = 3.0
"""Where every pulley is under so many times the least likely size, all are too small (common practice, no source)."""
_OTHER_UNITS = (
    (MM_PER_INCH, 50.0, "under", "is the file in inches? Then write `units: in`"),
    (10.0, 80.0, "under", "is the file in centimetres? Then write every length ten times as large"),
    (1.0 / MM_PER_INCH, 80.0, "over", "are these mm? Then write `units: mm`"),
    (0.1, 80.0, "over", "is there a digit too many in every length? Then write every length a tenth as large"),
)
"""How many mm one of the file may be, and from which size on the largest pulley is a likely one then, mm:
in inches from less on, for nothing is so small in mm (common practice, no source)."""


def doubtful_file(layout: Layout) -> tuple[str, str] | None:
    """What makes one ask whether a whole file is in another unit, and the question; None where it need not be asked.

    It is asked where all pulleys are too small, also for the belt's profile, or too large, and the largest one would be
    likely in another unit.
    """
    pulleys = layout.pulleys.values()
    sizes = [p.diameter_mm for p in pulleys if not layout.has_own_unit("pulleys", p.name, p.size_key)]
    if not sizes:
        return None
    least = min(_ALL_SMALL * demanded(layout, "min_likely_diameter_mm").limit, layout.belt.profile.grooved_least_mm)
    most = demanded(layout, "max_likely_diameter_mm").limit
    for factor, likely, side, question in _OTHER_UNITS:
        odd = max(sizes) < least if side == "under" else min(sizes) > most
        if odd and likely <= max(sizes) * factor <= _LIKELY_LARGEST_MM:
            bound, more = (max(sizes), "less") if side == "under" else (min(sizes), "more")
            then = f"The largest would be {max(sizes) * factor:.4g} mm"
            return f"All pulleys are {bound:.6g} mm or {more}", f"{question}. {then}"
    return None


# One value in another unit.

_DOUBTED: Mapping[str, tuple[str, str, str]] = {
    "diameter_mm": ("a diameter of {}", "in", "inches"),
    "arm_mm": ("an arm of {}", "in", "inches"),
    "plane_mm": ("a plane of {}", "in", "inches"),
    "hole_mm": ("a hole of {}", "in", "inches"),
    "length_mm": ("a length of {}", "in", "inches"),
    "overhang_mm": ("an overhang of {}", "in", "inches"),
    "movable_mm": ("`movable_mm` lets it be moved by {}", "in", "inches"),
    "current_A": ("`{key}` of {}", "W", "watts"),
    "pressure_bar": ("a pressure of {}", "psi", "psi"),
    "displacement_cm3": ("{} a turn", "in3", "cubic inches"),
    "power_kW": ("a load of {}", "W", "watts"),
    "voltage_V": ("a voltage of {}", "", ""),
    "idle_rpm": ("an idle of {}", "", ""),
}
"""What is asked after, by what stands behind `min_likely_` and `max_likely_` among the limits: how it is told, and the
unit that may be meant, as it is written and as it is called; none where a digit is the likelier slip."""
_OF_LOADS = ("current_A", "voltage_V", "pressure_bar", "displacement_cm3", "power_kW")
_IN_FILE_UNITS = ("diameter_mm", "arm_mm", "plane_mm", "hole_mm")
"""Those whose bare numbers are in the file's units."""
_ALIKE = 2.5
"""A diameter within so many times the usual one of its file was not typed in another unit (common practice, no source).
"""
_LEAST_MOVED_MM = 10.0
"""By less hardly anyone who writes a file in inches lets a pulley be moved (common practice, no source)."""
_VOLTS = 14.0
"""Of most vehicles with the engine running: common practice, no source."""

_Values = Iterator[tuple[tuple[str, ...], str, float | None]]
"""Values by their keys in the layout file, with what is asked after."""


def _sizes(layout: Layout) -> _Values:
    yield from ((("idler_sizes",), "diameter_mm", size) for size in layout.idler_sizes_mm)
    usual = median_low(p.diameter_mm for p in layout.pulleys.values())
    for p in layout.pulleys.values():
        sizes = [(p.size_key, p.diameter_mm), *(("diameters", size) for size in p.diameters_mm)]
        odd = [(key, size) for key, size in sizes if not usual / _ALIKE <= size <= usual * _ALIKE]
        yield from ((("pulleys", p.name, key), "diameter_mm", size) for key, size in odd)


def _arms(layout: Layout) -> _Values:
    arms = ((p.name, p.adjuster) for p in layout.pulleys.values() if isinstance(p.adjuster, Arm))
    return ((("pulleys", name, "arm", "length"), "arm_mm", arm.length_mm) for name, arm in arms)


def _beside_the_shape(layout: Layout) -> _Values:
    yield ("belt", "length_mm"), "length_mm", layout.belt.length_mm
    yield ("engine", "idle_rpm"), "idle_rpm", layout.engine.idle_rpm
    planes = {p.name: p.plane_mm for p in layout.pulleys.values() if p.plane_mm is not None}
    most, usual = demanded(layout, "max_likely_plane_mm").limit, median_low(planes.values() or [0.0])
    odd = {name: plane for name, plane in planes.items() if abs(plane - usual) > most}
    yield from ((("pulleys", name, "plane"), "plane_mm", abs(plane)) for name, plane in odd.items())
    for p in layout.pulleys.values():
        load, keys = p.own_load, ("pulleys", p.name)
        yield from (((*keys, "mount"), "hole_mm", hole.diameter_mm) for hole in (p.mount.holes if p.mount else ()))
        yield (*keys, "overhang_mm"), "overhang_mm", p.overhang_mm or None
        yield (*keys, "movable_mm"), "movable_mm", p.movable_mm or None
        yield (*keys, "rated_A"), "current_A", p.rated_A
        yield from (((*keys, "load", what), what, getattr(load, what, None)) for what in _OF_LOADS)


def _asked(layout: Layout, values: _Values) -> Iterator[Finding]:
    for keys, what, value in values:
        parts = keys[1:2] if keys[0] == "pulleys" else ()
        name = (*parts, keys[0])[0]
        role = layout.pulleys[name].role if parts else ""
        for key in (f"min_likely_{what}", f"max_likely_{what}"):
            if value is not None and (bound := bound_for(layout, key, parts, role)) is not None:
                bare_inches = layout.units == "in" and not layout.has_own_unit(*keys)
                if what == "movable_mm" and bare_inches and key not in layout.limits:
                    bound = replace(bound, limit=_LEAST_MOVED_MM)
                shown = f"{value:.6g} {bound.unit}" + f" ({value / MM_PER_INCH:.4g} in)" * (bound.unit == "mm")
                wrong = _DOUBTED[what][0].format(shown, key=keys[-1])
                advice = _question(layout, keys, what, value, bound)
                judged = DOUBT.judge(name, value, bound, wrong, advice, parts=parts)
                # What an answer to these may make void stands behind them.
                yield from (replace(each, keys=keys, margin=FIRST) for each in judged)


def _question(layout: Layout, keys: tuple[str, ...], what: str, value: float, bound: Bound) -> str:
    _, unit, called = _DOUBTED[what]
    too_large = bound.kind == "upper"
    digit = f"has it a digit too {'many' if too_large else 'few'}?"
    if bound.unit == "kW" and value <= LIMITS["max_likely_power_kW", ""].limit:
        usual = usual_loads().get(layout.pulleys[keys[1]].role)
        return digit if usual is None else f"{digit} The usual one is {usual.words}"
    if not unit or layout.has_own_unit(*keys):
        return digit
    if what == "length_mm" and not too_large:
        # A designation holds its length in mm and no unit.
        belt = format_designation(replace(layout.belt, length_mm=round(MM_PER_INCH * value, 1)))
        return f"is it in inches? Then write `belt: {belt}`, or `length_mm: {value:g} in`. Or {digit}"
    if what == "movable_mm" and layout.units == "in":
        return f"is it in inches? Then write `{value:g} in`, else `{value:g} mm`"
    if what in _IN_FILE_UNITS and too_large and layout.units == "in":
        return f"is it in mm? Then write `{value / MM_PER_INCH:.4g} mm`. Or {digit}"
    if what in _IN_FILE_UNITS and too_large != (layout.units == "in"):
        return digit
    if bound.unit == "A":
        return f"is it in {called}? {value:g} W at {_VOLTS:g} V are {value / _VOLTS:.3g} A. Or {digit}"
    meant = own_unit_value(f"{value!r} {unit}", bound.unit)
    told = "" if layout.units == unit else f", which is {meant:.4g} {bound.unit}"
    return f"is it in {called}? Then write `{value:g} {unit}`{told}. Or {digit}"


def _far_off(layout: Layout) -> Iterator[Finding]:
    places = {pulley.name: place_of(pulley) for pulley in layout.placed}
    things = {name: (place,) for name, place in places.items()} | {o.name: _points(o) for o in layout.obstacles}
    for name, points in things.items():
        others = [other for each, other in places.items() if each != name]
        near = min((math.dist(point, other) for point in points for other in others), default=0.0)
        inches = near / MM_PER_INCH
        wrong = f"{near:.0f} mm ({inches:.0f} in) from the nearest {'other ' * (name in places)}pulley"
        keys = ("pulleys", name, "at") if name in places else ("obstacles", name)
        advice = f"has its place a digit too many{', or another unit' * (not layout.has_own_unit(*keys))}?"
        if layout.units == "in" and not layout.has_own_unit(*keys):
            advice = f"is its place in mm? In mm it is {inches:.0f} mm ({inches / MM_PER_INCH:.1f} in) away"
        odd = DOUBT.judge(name, near, demanded(layout, "max_likely_apart_mm", (name,)), wrong, advice)
        yield from (replace(each, keys=keys) for each in odd)


def _points(obstacle: Obstacle) -> tuple[tuple[float, float], ...]:
    return (obstacle.at_mm,) if isinstance(obstacle, Circle) else obstacle.corners_mm


_LOW, _SET = 1.0 / 3.0, 0.6
"""A set tension under this share of the usual one, and over the other in lbf (common practice, no source)."""


def low_tension_asked(layout: Layout) -> list[Finding]:
    """A tension set by hand that the belt can hardly do with, and that would be usual in lbf."""
    by_hand, usual = hand_tension(layout), layout.belt.hand_set_N
    if by_hand is None:
        return []
    name, given, _ = by_hand
    keys = ("pulleys", name, "tension_N")
    if layout.has_own_unit(*keys) or not _SET / LBF_N <= given / usual <= _LOW:
        return []
    wrong = f"`tension_N` of {given:.6g} N is {100.0 * given / usual:.0f} % of the {usual:.0f} N usual for the belt"
    advice = f"is it in lbf? Then write `{given:.6g} lbf`"
    return [asked_first(name, wrong, advice, keys)]


def hand_tension(layout: Layout) -> tuple[str, float, Bound] | None:
    """What a belt is set to by hand, by whose adjuster, and the least at which a used one is not set again."""
    held, belt = layout.adjusted, layout.belt
    given = None if held is None or held.adjuster is None else held.adjuster.tension_N
    if held is None or given is None:
        return None
    least = belt.profile.hand_again_N * belt.ribs
    return held.name, given, Bound("lower", least, "N", source_of(belt, "hand_again_N"), only_caution=True)


def _low_tension(layout: Layout) -> list[Finding]:
    """A tension set by hand at which a used belt would be set again."""
    by_hand = hand_tension(layout)
    if by_hand is None or by_hand[1] >= _AS_PUBLISHED * by_hand[2].limit:
        return []
    name, given, bound = by_hand
    wrong = f"`tension_N` of {given:.4g} N is under the {bound.limit:.0f} N at which a used belt is usually set again"
    found = DOUBT.judge(name, given, bound, wrong, f"the usual tension, run in, is {layout.belt.hand_set_N:.0f} N")
    return [replace(each, keys=("pulleys", name, "tension_N")) for each in found]


_AS_PUBLISHED = 0.99
"""What is published in whole N a rib is no sharper: 15 lbf are 66.7 N."""


def _halved(layout: Layout) -> list[Finding]:
    """Pulleys that would turn unlikely fast for their role, and likely at twice the size: is it the radius?"""
    belt, driver = layout.belt, layout.driver
    rest = [p for p in layout.routed if not p.guides_only and p is not driver]
    driven = [(p, driver.pitch_radius_mm(belt) / p.pitch_radius_mm(belt)) for p in rest]
    slow = [p for p, ratio in driven if ratio < 1.0 and p.role in USUALLY_SLOW]
    charging = [p for p, ratio in driven if ratio < _BELOW and p.role == "alternator"]
    if len(slow) > 1 and charging and len(slow) + len(charging) == len(driven):
        wrong = f"smaller than all of {', '.join(p.name for p in slow)}, which it drives"
        return [asked_first(driver.name, wrong, _radius(layout, driver))]
    found = []
    for p, ratio in driven:
        bound = bound_for(layout, "max_likely_ratio", (p.name,), p.role)
        if bound is not None and bound.limit < ratio <= 2.0 * bound.limit:
            wrong = f"it would turn {ratio:.2f} times as fast as {driver.name}"
            found += DOUBT.judge(p.name, ratio, bound, wrong, _radius(layout, p), parts=(p.name,))
    return [replace(each, margin=FIRST) for each in found]


_BELOW = 2.0
"""A crank that turns every accessory slower than itself, and no alternator twice as fast, may be typed by its radius:
common practice, no source."""


def _radius(layout: Layout, pulley: Pulley) -> str:
    typed, least = pulley.diameter_mm / MM_PER_UNIT[layout.units], minimum_diameter(layout, pulley)
    if 2.0 * pulley.diameter_mm < least.limit:
        return f"has {typed:.6g} a digit too few? Then write `{pulley.size_key}: {10.0 * typed:.6g}`"
    return f"is {typed:.6g} its radius? Then write `{pulley.size_key}: {2.0 * typed:.6g}`"


_FANS_MM, _USUAL_FANS_MM = (150.0, 2000.0), (250.0, 1000.0)
"""From the smallest to the largest: of all fans, and of most (common practice, no source)."""


def _fans(layout: Layout) -> Iterator[Finding]:
    """Fans that are taken to be typed in another unit."""
    least, most = _USUAL_FANS_MM
    for p in layout.pulleys.values():
        size_mm = None if p.usual_load is None else p.usual_load.fan_mm
        if size_mm is None or _FANS_MM[0] <= size_mm <= _FANS_MM[1]:
            continue
        typed, keys = size_mm / MM_PER_UNIT[layout.units], ("pulleys", p.name, "load", "fan_diameter")
        advice = f"has it a digit too {'few' if size_mm < least else 'many'}?"
        ways = [("mm", typed, f"{typed:.6g} mm")]
        if layout.units == "mm":
            ways = [("cm", 10.0 * typed, f"{10.0 * typed:.6g}"), ("inches", MM_PER_INCH * typed, f"{typed:.6g} in")]
        likely = {unit: f"`fan_diameter: {text}`" for unit, mm, text in ways if least <= mm <= most}
        if likely and not layout.has_own_unit(*keys):
            advice = f"is it in {' or '.join(likely)}? Then write {' or '.join(likely.values())}"
        yield asked_first(p.name, f"a fan of {size_mm:.6g} mm", advice, keys)


_TIMES_RATED = 2.0
"""No alternator is asked for so many times what it is rated (common practice, no source)."""


def _over_rated(layout: Layout) -> Iterator[Finding]:
    """A current so far over the alternator's rated one that a digit of one of them is wrong."""
    for p in layout.pulleys.values():
        asked_A = getattr(p.own_load, "current_A", None)
        if asked_A and p.rated_A and asked_A >= _TIMES_RATED * p.rated_A:
            wrong = f"`current_A` of {asked_A:.4g} A, but `rated_A` of {p.rated_A:.4g} A"
            advice = "has it a digit too many, or `rated_A` one too few?"
            yield asked_first(p.name, wrong, advice, ("pulleys", p.name, "load", "current_A"))


def _unheld(layout: Layout) -> Iterator[Finding]:
    held = layout.adjusted
    for p in layout.routed:
        if p.role == "tensioner" and p.adjuster is None:
            rest = f", and {held.name} a fixed place: one pulley moves" if held else ""
            advice = f"is it an idler? Then write `role: idler`. Else give it `arm` or `slide` in place of `at`{rest}"
            yield asked_first(p.name, "a tensioner with a fixed place", advice, ("pulleys", p.name, "role"))


_FACES_APART_MM, _OF_ONE_FACE_MM = 50.0, 10.0
"""Planes so far apart, in two heaps that are each no wider, are counted from two faces: common practice, no source."""


def _two_faces(layout: Layout) -> Iterator[Finding]:
    """Planes in two heaps of two or more; one that lies alone is asked after by itself."""
    planes = sorted((p.plane_mm, p.name) for p in layout.routed if p.plane_mm is not None)
    for i in range(2, len(planes) - 1):
        behind, before = planes[:i], planes[i:]
        apart = before[0][0] - behind[-1][0]
        if apart > _FACES_APART_MM and all(heap[-1][0] - heap[0][0] <= _OF_ONE_FACE_MM for heap in (behind, before)):
            fewer, way = (before, "before") if len(before) <= len(behind) else (behind, "behind")
            names = tuple(name for _, name in fewer)
            wrong = f"{all_of(names)} stand {apart:.0f} mm {way} all the others"
            yield asked_first("planes", wrong, "are all planes counted from one face?", parts=names)


def _narrower(layout: Layout) -> list[Finding]:
    """Fewer ribs than every pulley that is known by its grooves has for them."""
    belt, room = layout.belt, room_for_ribs(layout)
    wrong = f"{belt.ribs} ribs, but {ROOM} {room}"
    return [DOUBT.find("note", "belt", wrong, f"is {room}{belt.profile.name} meant?")] if room else []


def _past_at_idle(route: Route) -> list[Finding]:
    """One pulley that would turn faster than its maximum at idle already; of more than one, the idle is wrong."""
    idle, found = route.layout.engine.idle_rpm or 0.0, list[Finding]()
    for p, ratio in zip(route.pulleys, route.ratios.tolist(), strict=True):
        likely = bound_for(route.layout, "max_likely_ratio", (p.name,), p.role)
        if p.max_rpm is not None and p.max_rpm < idle * ratio and (likely is None or ratio <= likely.limit):
            wrong = f"`max_rpm` of {p.max_rpm:g}, but it turns at {idle * ratio:.0f} rpm at idle"
            found.append(asked_first(p.name, wrong, "has it a digit too few?", ("pulleys", p.name, "max_rpm")))
    return found if len(found) == 1 else []


# Loads and keys under another pulley than they belong to.

_CHARGING = ("alternator", "other")
_PUMPING = ("hydraulic_pump", "steering_pump", "water_pump", "vacuum_pump", "supercharger", "other")
_BELONGS = {"rated_A": _CHARGING, "current_A": _CHARGING, "pressure_bar": _PUMPING}
"""Roles that may have a key."""


def _strayed(layout: Layout) -> Iterator[Finding]:
    for pulley in layout.pulleys.values():
        for key, roles in _BELONGS.items():
            value = getattr(pulley if key == "rated_A" else pulley.own_load, key, None)
            if value is not None and pulley.role not in roles:
                homes = [f"`{each.name}`" for each in layout.pulleys.values() if each.role in roles[:-1]]
                advice = f"does that belong under {' or '.join(homes) or f'an {roles[0]}'}?"
                wrong = f"`{key}` of {value:.4g}, but its role is {pulley.role}"
                yield asked_first(pulley.name, wrong, advice)


# Frictions and springs.


def _friction(route: Route) -> list[Finding]:
    dry, wet, design = frictions(route.layout.belt, route.pulleys).max(axis=-1)
    words = []
    if wet > dry:
        words.append(f"friction {wet:.4g} wet is over {dry:.4g} dry, but water takes grip away")
    if design > dry:
        words.append(f"design friction {design:.4g} is over {dry:.4g} dry, but it should be the lowest")
    advice = "is `belt.friction` the wrong way round, or given only in part?"
    return [DOUBT.find("caution", "belt", "; ".join(words), advice)] if words else []


def spring_place(layout: Layout) -> list[Finding]:
    """A spring given far off its travel: its rate is counted over all the way from its own angle or place to there."""
    pulley = layout.adjusted
    if pulley is None or pulley.adjuster is None or pulley.adjuster.spring is None:
        return []
    held, (_, at, rate) = pulley.adjuster, pulley.adjuster.spring.law
    low, high = stops_of(held)
    key, push, question = held.unit, "N", "counted from the slide's `from`"
    if held.kind == "arm":
        push, question = "Nm", "the arm's angle, counted counterclockwise from the right"
    outside = max(low - at, at - high, 0.0)
    wrong = (
        f"`spring.at_{key}` {at:g} lies {outside:.0f} {key} outside the travel, {low:g} to {high:g}. Over that way its "
        f"rate alone makes {abs(rate) * outside:.3g} {push}"
    )
    if outside > 0.0 and held.kind == "arm" and low <= -at <= high:
        return [DOUBT.find("caution", pulley.name, wrong, f"is its sign wrong? {-at:g} lies within")]
    bound = demanded(layout, f"max_spring_outside_{key}", (pulley.name,))
    return DOUBT.judge(pulley.name, outside, bound, wrong, f"is it {question}?")


def _spring_spent(route: Route) -> list[Finding]:
    """A spring with nothing left at the long end of the usable travel, by its own rate."""
    pulley, travel = route.moving, route.travel
    held = None if pulley is None else pulley.adjuster
    if pulley is None or travel is None or held is None or held.spring is None:
        return []
    if held.spring_force_at(travel.long, travel.direction) > 0.0:
        return []
    wrong = f"nothing is left of its spring at {setting_words(route.circuit, float(travel.long))}, within its travel"
    advice = "are the points of its torque or force where they belong, and has its rate a digit too many?"
    return [asked_first(pulley.name, wrong, advice, ("pulleys", pulley.name, "spring"))]


def _own_limits(layout: Layout) -> Iterator[Finding]:
    """Least values of the user's own, by name, about a tenth of the usual; not those that only bound doubts."""
    for key, name, value in ((key, *own) for key, by_name in layout.limits.items() for own in by_name.items()):
        role = layout.pulleys[name].role if name in layout.pulleys else name
        usual = LIMITS.get((key, role)) or LIMITS.get((key, ""))
        if usual and usual.kind == "lower" and not usual.only_caution and value <= _A_TENTH * usual.limit:
            advice = f"has it a digit too few? The usual one is {usual.limit:g} {usual.unit}"
            own = (name,) if name else ()
            yield asked_first(name or "limits", f"`{key}` of {value:g}", advice, ("limits", key, *own), own)


_A_TENTH = 0.15
"""A limit is asked after where it is no more than such a share of the usual one: common practice, no source."""


def _own_wraps(layout: Layout) -> Iterator[Finding]:
    """Least wraps of the user's own that replace a stricter minimum by another name."""
    wraps = ((p.name, replaced_wrap(layout, p)) for p in layout.routed if "min_wrap_deg" in layout.limits)
    yield from (DOUBT.find("note", name, words) for name, words in wraps if words)


def _spring_readings(route: Route) -> list[Finding]:
    pulley, read = route.moving, _readings_of(route.circuit)
    if pulley is None or read is None:
        return []
    off = 100.0 * read.off_Nm / read.torque_Nm
    wrong = f"its `spring.readings` lie up to {read.off_Nm:.2f} Nm off one line, {off:.0f} % of its torque"
    bound = demanded(route.layout, "max_spring_off_line_percent", (pulley.name,))
    return DOUBT.judge(pulley.name, off, bound, wrong, "read them again: was the tool square to the arm?")


def _readings_of(circuit: Circuit) -> WrenchReadings | None:
    spring = None if circuit.adjuster is None else circuit.adjuster.spring
    return None if spring is None else spring.readings


DOUBT = Check(
    "doubtful_value",
    "a value that can hardly be meant as it stands: a question to whoever wrote it",
    _doubt_findings,
    limits=(
        *(key for key in LIMIT_KEYS if "_likely_" in key),
        *("max_spring_outside_deg", "max_spring_outside_mm", "max_spring_off_line_percent"),
    ),
)


def _rising_findings(route: Route) -> list[Finding]:
    """A spring that would have to push the other way, or by its readings seems to: other pulleys decide which way."""
    if route.moving is None or route.travel is None:
        return []
    if pushes_back(route.layout, route.travel):
        wrong = "on this path its spring would have to push the other way, and so slackens the belt"
        advice = "another order, or mount it the other way round"
        return [RISING_SPRING.find("problem", route.moving.name, wrong, advice)]
    if not rises(route.circuit, route.travel):
        return []
    wrong = "its `spring.readings` rise toward longer path, where a spring falls"
    question = "were the angles counted clockwise, or the rows mixed up?"
    return [RISING_SPRING.find("caution", route.moving.name, wrong, question)]


def rises(circuit: Circuit, travel: Travel) -> Bools:
    """Where the readings of the adjuster's spring rise toward longer path, (...)."""
    read = _readings_of(circuit)
    return np.asarray(read is not None and read.slope_Nm_per_deg * travel.direction > 0.0)


def pushes_back(layout: Layout, travel: Travel) -> Bools:
    """Where the adjuster's spring is known to push toward shorter path, (...)."""
    return np.asarray(layout.pushes * travel.direction < 0.0)


RISING_SPRING = Check(
    "rising_spring",
    "a spring that would have to push toward shorter path, or readings of it that rise toward longer",
    _rising_findings,
)

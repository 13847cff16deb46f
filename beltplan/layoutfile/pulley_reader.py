"""The pulleys of a layout file, with their adjusters, springs and loads."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from itertools import pairwise
from typing import Any

from beltplan.drive.belt import Belt
from beltplan.drive.loads import (
    ALTERNATOR_EFFICIENCY,
    PUMP_EFFICIENCY,
    USUAL,
    AlternatorLoad,
    Assumable,
    Load,
    PowerLoad,
    PumpLoad,
    TableLoad,
    TorqueLoad,
    UsualLoad,
    default_output,
    fan_load,
    usual_loads,
)
from beltplan.drive.pulleys import (
    GUIDING_ROLES,
    Adjuster,
    Arm,
    ArmSpring,
    Pulley,
    Side,
    Slide,
    SlideSpring,
    WrenchReadings,
)
from beltplan.faults import did_you_mean
from beltplan.layoutfile.document import Node, Scalar, Sequence, Table, kind_of
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.mount_reader import read_mount
from beltplan.layoutfile.schema import EITHER_SIDE, LOADS, PLACES, SIZES, SPRINGS, key_at, names_under, written_as
from beltplan.layoutfile.section import Section, read_uncertainty, rising
from beltplan.layoutfile.values import Misread, row

_ANY_SPEED_RPM = 1.0
"""Speed that a constant power is noted at: it is the same at every speed."""

_Curve = tuple[tuple[float, ...], tuple[float, ...]]


def _read_load(pulley: Section, role: str | None, rated_A: float | None) -> Load | UsualLoad | None:
    node = pulley.node("load")
    if isinstance(node, Scalar):
        return _usual(pulley, node, role, rated_A)
    each = node.items if isinstance(node, Sequence) else ()
    if sum(isinstance(one, Table) and any(map(one.node, LOADS)) for one in each) > 1:
        pulley.refuse("load", f"{len(each)} loads", "one load a pulley: add them up in one `power_kW` or `table`")
        return None
    load = pulley.mapping("load")
    return None if load is None else _stated(pulley, load, role, rated_A)


def _usual(pulley: Section, node: Scalar, role: str | None, rated_A: float | None) -> UsualLoad | None:
    usual, roles = usual_loads(rated_A or 1.0), ", ".join(usual_loads())
    if node.text != USUAL:
        allowed = f"{USUAL}, or a mapping: {written_as('pulleys.NAME.load')}"
        pulley.refuse("load", kind_of(node) + did_you_mean(node.text, (USUAL,)), allowed)
    elif role == "alternator" and rated_A is None and not pulley.has("rated_A"):
        pulley.refuse("load", f"{USUAL}, for an alternator without rated_A", "rated_A beside it, or a load of your own")
    elif role is not None and role in usual:
        return usual[role]
    elif role is not None:
        allowed = f"a load of your own: {', '.join(LOADS)}; {USUAL} is known for {roles}"
        pulley.refuse("load", f"{USUAL}, but the role {role} has no usual load", allowed)
    return None


def _stated(pulley: Section, load: Section, role: str | None, rated_A: float | None) -> Load | UsualLoad | None:
    """rated_A: of the pulley's alternator, which sets its output curve where the load gives none. Without either the
    current is taken as it stands: it may be what a clamp meter reads.
    """
    form = load.one_of(LOADS)
    if form == "current_A" and load.names == (form,) and role not in (None, "alternator", "other"):
        others = ", ".join(other for other in LOADS if other != form)
        load.refuse(form, f"{form} for {role}: does it belong under the alternator?", others)
    elif form is not None:
        return _load_of(load, form, rated_A)
    if not load.names:
        pulley.refuse("load", f"a load without any of {', '.join(LOADS)}", written_as(load.form))
    return None


def _load_of(load: Section, form: str, rated_A: float | None) -> Load | UsualLoad | None:
    own = (form, *LOADS[form])
    curves = ("output", "table")
    read: dict[str, Any] = {key: read_curve(load, key) if key in curves else load.value(key) for key in own}
    efficiency, at, grows = (read.get(key) for key in ("efficiency", "at_rpm", "grows"))
    if grows not in (None, "constant") and not load.has("at_rpm"):
        load.missing("at_rpm", f"the shaft speed of that power, since it grows ({grows})")
    if any(read[key] is None for key in own if key == form or load.spec(key).needed):
        return None
    assumed: tuple[Assumable, ...] = () if efficiency else ("efficiency",)
    if form == "current_A":
        rpm, most = read["output"] or ((), ())
        if rated_A is not None and not read["output"]:
            (rpm, most), assumed = default_output(rated_A), (*assumed, "output")
        efficiency = efficiency or ALTERNATOR_EFFICIENCY
        return AlternatorLoad(read[form], read["voltage_V"], efficiency, rpm, most, assumed)
    if form == "pressure_bar":
        return PumpLoad(read[form], read["displacement_cm3"], efficiency or PUMP_EFFICIENCY, assumed)
    if form == "power_kW":
        return PowerLoad(read[form], at or _ANY_SPEED_RPM, grows or "constant")
    if form == "table":
        return TableLoad(*read[form])
    return fan_load(read[form]) if form == "fan_diameter" else TorqueLoad(read[form])


def read_curve(load: Section, key: str) -> _Curve | None:
    """Speeds, rising, and a value at each."""
    section = load.mapping(key)
    if section is None:
        return None
    value = names_under(section.form)[1]
    rpm, at_rpm = section.value("rpm"), section.value(value)
    if rpm is None or at_rpm is None:
        return None
    if len(rpm) != len(at_rpm):
        section.refuse(value, f"{len(at_rpm)} values for {len(rpm)} speeds", "one value for each speed of `rpm`")
    for place, (slower, faster) in enumerate(pairwise(rpm), start=2):
        if not slower < faster:
            section.refuse("rpm", f"{faster:g} after {slower:g} (entry {place})", "speeds that rise")
    return rpm, at_rpm


# The arm or slide of a pulley, and its spring.

_LEAST_ARM_TRAVEL_DEG = 0.1
_LEAST_SLIDE_TRAVEL_MM = 0.1
_LEAST_READ_DEG = 2.0
"""Angles of a spring's readings that lie nearer than this tell no slope (common practice, no source)."""
_A_READING = "[deg, Nm turned against the spring, Nm turned with it]"
_WHOLE_TURN_DEG = 360.0
_HALF_TURN_DEG = 180.0
_ROUNDING_DEG = 1e-9

_Stops = tuple[float, float]


def _arm(pulley: Section, tension_N: float | None) -> Arm | None:
    arm = pulley.mapping("arm")
    travel = None if arm is None else _stops(arm)
    spring = _arm_spring(pulley, travel)
    if arm is None:
        return None
    pivot, length, inertia = arm.given("pivot", "length", "inertia_kgm2").values()
    at, marks = _within(arm, "at_deg", travel), _marks(arm, travel)
    if pivot is None or length is None or travel is None:
        return None
    stops = (math.radians(travel[0]), math.radians(travel[1]))
    return Arm(pivot, length, stops, None if at is None else math.radians(at), marks, spring, tension_N, inertia)


def _stops(arm: Section) -> _Stops | None:
    stops: _Stops | None = arm.value("stops")
    if stops is None or _LEAST_ARM_TRAVEL_DEG <= abs(stops[1] - stops[0]) <= _WHOLE_TURN_DEG:
        return stops
    allowed = f"two angles {_LEAST_ARM_TRAVEL_DEG:g} to {_WHOLE_TURN_DEG:g} deg apart"
    arm.refuse("stops", f"[{stops[0]:g}, {stops[1]:g}]", allowed)
    return None


def _marks(arm: Section, travel: _Stops | None) -> tuple[float, float] | None:
    section = arm.mapping("marks")
    if section is None:
        return None
    new, worn = _within(section, "new", travel), _within(section, "worn", travel)
    if new is None or worn is None:
        return None
    if new == worn:
        section.refuse("worn", f"{worn:g}, the same as new", "two different angles")
    return math.radians(new), math.radians(worn)


def _within(section: Section, key: str, travel: _Stops | None) -> float | None:
    angle: float | None = section.value(key)
    if angle is None or travel is None:
        return angle
    inside = into_travel(angle, travel)
    if inside is None:
        stops = f"{travel[0]:g} to {travel[1]:g} deg"
        allowed = f"an angle within the stops, counter-clockwise from x to the right{_hint(travel)}"
        section.refuse(key, f"{angle:g}, and `stops` {stops}: one is wrong", allowed)
    return inside


def _hint(travel: _Stops) -> str:
    low, high = sorted(travel)
    if high - low <= _HALF_TURN_DEG:
        return ""
    return f" (the arm sweeps {high - low:g} deg there; to pass 0 write [{high - _WHOLE_TURN_DEG:g}, {low:g}])"


def into_travel(angle_deg: float, travel_deg: _Stops) -> float | None:
    """The same angle within the travel, whole turns added or taken off; None where there is none."""
    low, high = sorted(travel_deg)
    turned = angle_deg + _whole_turns(angle_deg, travel_deg)
    return min(max(turned, low), high) if low - _ROUNDING_DEG <= turned <= high + _ROUNDING_DEG else None


def _whole_turns(angle_deg: float, travel_deg: _Stops | None) -> float:
    """Whole turns that bring an angle nearest to the middle of the travel: a free arm's angle may lie outside it."""
    middle_deg = angle_deg if travel_deg is None else 0.5 * sum(travel_deg)
    return _WHOLE_TURN_DEG * round((middle_deg - angle_deg) / _WHOLE_TURN_DEG)


def _slide(pulley: Section, tension_N: float | None) -> Slide | None:
    spring = pulley.mapping("spring", ("force_N", *SPRINGS["force_N"]))
    numbers = None if spring is None else _spring_numbers(spring, "force_N")
    slide = pulley.mapping("slide")
    start, end, at, mass = (None,) * 4 if slide is None else slide.given("from", "to", "at", "mass_kg").values()
    if slide is None or start is None or end is None:
        return None
    if math.dist(start, end) < _LEAST_SLIDE_TRAVEL_MM:
        slide.refuse("to", "the same point as `from`", f"a point at least {_LEAST_SLIDE_TRAVEL_MM:g} mm away")
        return None
    return Slide(start, end, at, None if numbers is None else SlideSpring(*numbers), tension_N, mass)


def _arm_spring(pulley: Section, travel: _Stops | None) -> ArmSpring | None:
    stated = ("torque_Nm", *SPRINGS["torque_Nm"])
    spring = pulley.mapping("spring", (*stated, "readings"))
    if spring is None:
        return None
    if not spring.has("readings"):
        numbers = _spring_numbers(spring, "torque_Nm")
        if numbers is None:
            return None
        torque, at, rate = numbers
        return ArmSpring(torque, at + _whole_turns(at, travel), rate)
    if beside := ", ".join(filter(spring.has, stated)):
        spring.refuse("readings", f"readings beside {beside}", "one of the two; `readings: null` takes them out")
    rows = spring.each("readings", _wrench_reading)
    if rows is None:
        return None
    # Read past 0 or not, an angle is one of the arm's: rows of 358 and 2 deg lie 4 deg apart.
    rows = tuple((angle + _whole_turns(angle, travel), up, down) for angle, up, down in rows)
    angles = [angle for angle, _, _ in rows]
    if max(angles) - min(angles) < _LEAST_READ_DEG:
        got = f"readings at one angle, {min(angles):g} deg"
        allowed = f"readings at two or more angles, {_LEAST_READ_DEG:g} deg or more from first to last"
        spring.refuse("readings", got, allowed)
        return None
    read = WrenchReadings(rows)
    return ArmSpring(read.torque_Nm, read.middle_deg, abs(read.slope_Nm_per_deg), read)


def _wrench_reading(node: Node, _: Key) -> tuple[float, float, float]:
    """Angle, torque against the spring, torque with it. Raises Misread."""
    keys = tuple(key_at(f"pulleys.NAME.spring.{key}") for key in ("at_deg", "torque_Nm", "torque_Nm"))
    angle, up, down = row(node, keys, _A_READING)
    if not up > 0.0 or up < down:
        got = f"{up:g} Nm against the spring, below {down:g} Nm with it" if up < down else "no torque"
        raise Misread(got, f"{_A_READING}: friction adds to the first torque and takes from the second")
    return angle, up, down


def _spring_numbers(spring: Section, form: str) -> tuple[float, float, float] | None:
    first, at, rate = (spring.value(key) for key in (form, *SPRINGS[form]))
    return None if first is None or at is None or rate is None else (first, at, abs(rate))


# The pulleys of a layout file.

_RENAMED = {"at": "at_mm", "flange_height": "flange_mm"}
_FIELDS = frozenset(field.name for field in fields(Pulley))


def read_pulley(name: str, section: Section, belt: Belt | None) -> Pulley | None:
    """One pulley, None where its role or its size is wrong; what else is wrong is noted all the same."""
    read = section.given()
    touching: Any = read["belt_side"] or "ribbed"
    # A smooth idler runs on the back as a rule (common practice, no source): so it is judged where its side is open.
    side: Side = "back" if touching == EITHER_SIDE else touching
    for wrong, key, got, allowed in _misfits(section, read, side):
        if wrong:
            section.refuse(key, got, allowed)
    adjuster = next((arm(section, read["tension_N"]) for key, arm in _ADJUSTERS.items() if section.has(key)), None)
    load = _read_load(section, read["role"], read["rated_A"])
    plane = _read_plane(section, read["first_groove_used"], side == "back", read["grooves"], belt)
    uncertainty, mount = read_uncertainty(section), read_mount(section)
    size = read["diameter" if section.has("diameter") else "rim_diameter"]
    if read["role"] is None or size is None:
        return None
    given = {_RENAMED.get(key, key): value for key, value in read.items() if value is not None}
    given = {field: value for field, value in given.items() if field in _FIELDS} | plane | {"belt_side": side}
    pulley = Pulley(
        name=name,
        diameter_mm=size,
        reading="rim" if section.has("rim_diameter") else "line",
        adjuster=adjuster,
        side_open=touching == EITHER_SIDE,
        uncertainty=uncertainty,
        diameters_mm=rising(read["diameters"]),
        mount=mount,
        load=load.load if isinstance(load, UsualLoad) else load,
        usual_load=load if isinstance(load, UsualLoad) else None,
        **given,
    )
    _check_size(section, pulley, belt)
    return pulley


_ADJUSTERS: Mapping[str, Callable[[Section, float | None], Adjuster | None]] = {"arm": _arm, "slide": _slide}
ADJUSTERS = tuple(_ADJUSTERS)


# Where a pulley's belt runs fore and aft: its plane as measured, or a stack of parts that leads to it.


def _read_plane(
    pulley: Section, first: int | None, on_back: bool, grooves: int | None, belt: Belt | None
) -> dict[str, Any]:
    """The plane of the belt's middle and what stands behind it, by the fields of `Pulley`."""
    _check_first_groove(pulley, first, on_back, grooves, belt)
    first = first or 1
    if not isinstance(pulley.node("plane"), Table):
        return {"plane_mm": pulley.value("plane"), "first_groove_used": first}
    plane = pulley.mapping("plane")
    by_grooves = plane is not None and _groove_given(pulley, plane, on_back, grooves, belt)
    total = None if plane is None else _added_up(plane)
    if plane is None or belt is None or total is None or not by_grooves:
        return {"first_groove_used": first}
    pitch, middle = belt.profile.pitch_mm or 0.0, plane.value("to") == "middle"
    if on_back:
        return {"plane_mm": total}
    # Grooves are counted from the engine, the way the stack grows.
    groove = total + (plane.value("face_to_first_groove") or 0.0) - (0.5 * ((grooves or 1) - 1) * pitch) * middle
    used = groove + (first - 1 + 0.5 * (belt.ribs - 1)) * pitch
    return {"plane_mm": used, "first_groove_used": first, "plane_by_grooves": True}


def _check_first_groove(
    pulley: Section, first: int | None, on_back: bool, grooves: int | None, belt: Belt | None
) -> None:
    profile, key = None if belt is None else belt.profile, "first_groove_used"
    if first is None:
        return
    if on_back:
        pulley.refuse(key, f"{first} on the back of the belt", "none: the back runs on a smooth face")
    elif profile is not None and not profile.is_ribbed:
        pulley.refuse(key, f"{first} for {profile.name}, whose grooves have no known pitch", "only for ribbed belts")
    elif not pulley.has("grooves"):
        pulley.refuse(key, f"{first} without `grooves`", "`grooves` beside it: how many the pulley has")
    elif grooves is not None and first > grooves:
        pulley.refuse(key, f"{first} of {grooves} grooves", f"1 to {grooves}, counted from the engine")


def _added_up(plane: Section) -> float | None:
    """The sum of a stack, mm; None where anything in it is wrong."""
    stack = plane.own_names("stack")
    names = tuple(stack.table.entries) if stack and stack.names else ()
    read = [stack.value(name, "NAME") if stack and stack.takes_name(name) else None for name in names]
    good = [each for each in read if each is not None]
    return sum(good) if read and len(good) == len(read) else None


def _groove_given(pulley: Section, plane: Section, on_back: bool, grooves: int | None, belt: Belt | None) -> bool:
    """Whether it is said where the grooves, or the middle of a smooth face, lie at the end of the stack."""
    to, face = plane.value("to"), "face_to_first_groove"
    ribbed = belt is not None and belt.profile.is_ribbed
    ahead = plane.value(face)
    if plane.has(face) and to not in (None, "face"):
        plane.refuse(face, f"{face} beside `to: {to}`", "only with `to: face`")
    elif on_back and to not in (None, "middle"):
        plane.refuse("to", f"{to} on the back of the belt", "middle: a smooth face has no grooves")
    elif to == "face" and not plane.has(face):
        plane.missing(face, "from that face to the middle of the first groove, the one nearest to the engine")
    elif to == "middle" and ribbed and not (on_back or pulley.has("grooves")):
        allowed = "`grooves` of the pulley: they tell where the belt's middle lies"
        plane.refuse("to", "middle without `grooves`", allowed)
    elif to == "middle" and belt is not None and not ribbed and grooves not in (None, 1):
        plane.refuse("to", "middle of several grooves whose pitch is not known", "first_groove")
    else:
        return to is not None and (to != "face" or ahead is not None)
    return False


def _misfits(section: Section, read: Mapping[str, Any], side: Side) -> Iterator[tuple[bool, str, str, str]]:
    """Whether values do not go together, the key, what was got and what is allowed."""
    sizes = "diameter (effective; of a smooth one its outside), or rim_diameter (over the rib tips)"
    section.one_of(SIZES, "one of the two", sizes)
    section.one_of(PLACES, wanted=f"one of {', '.join(PLACES)}")
    carried, has, role, grooves = any(map(section.has, ADJUSTERS)), section.has, read["role"], read["grooves"]
    both = carried and has("spring") and has("tension_N")
    yield both, "tension_N", "a set tension beside a spring", "one of the two: the spring sets the tension"
    allowed = "no grooves on the back. Which is wrong? On its ribs: take out `belt_side: back`; else take out `grooves`"
    yield grooves is not None and side == "back", "grooves", f"{grooves} on the back of the belt", allowed
    least, most = read["min_rpm"] or 0.0, read["max_rpm"] or math.inf
    yield least > most, "min_rpm", f"{least:g}", f"at most max_rpm, {most:g} rpm"
    either = read["belt_side"] == EITHER_SIDE and role not in (None, *GUIDING_ROLES)
    allowed = f"ribbed or back; {EITHER_SIDE} only for {' or '.join(GUIDING_ROLES)}"
    yield either, "belt_side", f"{EITHER_SIDE} for {role}", allowed
    moves = read["optional"] and role is not None and (role != "idler" or carried)
    yield bool(moves), "optional", f"true for {role}", "true only for an idler without arm or slide"


def _check_size(section: Section, pulley: Pulley, belt: Belt | None) -> None:
    if belt is None or (pulley.on_back and not pulley.side_open):
        return
    least = max(0.0, belt.profile.rim_minus_line_mm)
    if pulley.reading == "rim" and not pulley.diameter_mm > least:
        section.refuse("rim_diameter", f"{pulley.diameter_mm:g} mm", f"above {least:g} mm, the rim over the datum line")

"""The pulleys of a layout file, with their adjusters, springs and loads."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from itertools import pairwise
from types import MappingProxyType
from typing import Any, cast

from beltplan.drive.belt import Belt
from beltplan.drive.loads import (
    ALTERNATOR_EFFICIENCY,
    PUMP_EFFICIENCY,
    USUAL,
    AlternatorLoad,
    Assumable,
    Growth,
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
    Role,
    Side,
    Slide,
    SlideSpring,
    WrenchReadings,
)
from beltplan.faults import did_you_mean
from beltplan.layoutfile.document import Node, Scalar, Sequence, kind_of
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.mount_reader import read_mount
from beltplan.layoutfile.plane_reader import read_plane
from beltplan.layoutfile.schema import EITHER_SIDE, LOADS, PLACES, SIZES, SPRINGS, key_at, names_under, written_as
from beltplan.layoutfile.section import Section, read_sizes, read_uncertainty
from beltplan.layoutfile.values import Misread, number

_ANY_SPEED_RPM = 1.0
"""Speed that a constant power is noted at: it is the same at every speed."""

ADJUSTERS = ("arm", "slide")

_Curve = tuple[tuple[float, ...], tuple[float, ...]]


def _read_load(pulley: Section, role: str | None, rated_A: float | None) -> Load | UsualLoad | None:
    """The pulley's load; None where it has none or it is wrong."""
    node = pulley.node("load")
    if isinstance(node, Scalar):
        return _usual(pulley, node, role, rated_A)
    load = pulley.mapping("load")
    return None if load is None else _stated(pulley, load, rated_A)


def _usual(pulley: Section, node: Scalar, role: str | None, rated_A: float | None) -> UsualLoad | None:
    usual, roles = usual_loads(rated_A or 1.0), ", ".join(usual_loads())
    if node.text != USUAL:
        hint = did_you_mean(node.text, (USUAL,))
        pulley.refuse("load", kind_of(node) + hint, f"{USUAL}, or a mapping: {written_as('pulleys.NAME.load')}")
    elif role == "alternator" and rated_A is None and not pulley.has("rated_A"):
        pulley.refuse("load", f"{USUAL}, for an alternator without rated_A", "rated_A beside it, or a load of your own")
    elif role is not None and role in usual:
        return usual[role]
    elif role is not None:
        allowed = f"a load of your own: {', '.join(LOADS)}; {USUAL} is known for {roles}"
        pulley.refuse("load", f"{USUAL}, but the role {role} has no usual load", allowed)
    return None


def _stated(pulley: Section, load: Section, rated_A: float | None) -> Load | UsualLoad | None:
    """rated_A: of the pulley's alternator, which sets its output curve where the load gives none. Without either the
    current is taken as it stands: it may be what a clamp meter reads.
    """
    form = load.one_of(LOADS)
    if form is not None:
        _refuse_foreign(load, form)
        return _alternator(load, rated_A) if form == "current_A" else _READERS[form](load)
    if not any(map(load.has, LOADS)) and all(name in names_under(load.form) for name in load.table.entries):
        pulley.refuse("load", f"a load without any of {', '.join(LOADS)}", written_as(load.form))
    return None


def check_overhangs(pulleys: Mapping[str, Section], route: tuple[str, ...]) -> None:
    """Note an overhang of a pulley that no belt pulls."""
    for name, pulley in pulleys.items():
        if pulley.has("overhang_mm") and name not in route:
            pulley.refuse("overhang_mm", "an overhang where no belt runs", "that of a pulley on the route")


def check_driver_load(pulleys: Mapping[str, Section], driver: str | None) -> None:
    """Note a load on the driver."""
    if driver is not None and pulleys[driver].has("load"):
        pulleys[driver].refuse("load", "a load on the driver", "loads on driven pulleys: the driver drives the belt")


def _refuse_foreign(load: Section, form: str) -> None:
    own = (form, *LOADS[form])
    for key in load.names:
        if key in names_under(load.form) and key not in own:
            load.refuse(key, f"{key} beside {form}", ", ".join(own))


def _alternator(load: Section, rated_A: float | None) -> AlternatorLoad | None:
    current, voltage = load.number("current_A"), load.number("voltage_V")
    efficiency, curve = _efficiency(load, ALTERNATOR_EFFICIENCY), read_curve(load, "output", "A")
    if current is None or voltage is None:
        return None
    assumed = _left_out(load, "efficiency") if rated_A is None else _left_out(load, "efficiency", "output")
    output = curve or (default_output(rated_A) if rated_A is not None else ((), ()))
    return AlternatorLoad(current, voltage, efficiency, *output, assumed)


def _pump(load: Section) -> PumpLoad | None:
    pressure, displacement = load.number("pressure_bar"), load.number("displacement_cm3")
    efficiency = _efficiency(load, PUMP_EFFICIENCY)
    if pressure is None or displacement is None:
        return None
    return PumpLoad(pressure, displacement, efficiency, _left_out(load, "efficiency"))


def _left_out(load: Section, *keys: Assumable) -> tuple[Assumable, ...]:
    return tuple(key for key in keys if not load.has(key))


def _torque(load: Section) -> TorqueLoad | None:
    torque = load.number("torque_Nm")
    return None if torque is None else TorqueLoad(torque)


def _power(load: Section) -> PowerLoad | None:
    power, at, grows = load.number("power_kW"), load.number("at_rpm"), load.choice("grows") or "constant"
    if grows != "constant" and not load.has("at_rpm"):
        load.missing("at_rpm", f"the shaft speed of that power, since it grows ({grows})")
    return None if power is None else PowerLoad(power, at or _ANY_SPEED_RPM, cast(Growth, grows))


def _fan(load: Section) -> UsualLoad | None:
    diameter = load.number("fan_diameter")
    return None if diameter is None else fan_load(diameter)


def _table(load: Section) -> TableLoad | None:
    curve = read_curve(load, "table", "torque_Nm")
    return None if curve is None else TableLoad(*curve)


_READERS: Mapping[str, Callable[[Section], Load | UsualLoad | None]] = MappingProxyType(
    {"pressure_bar": _pump, "torque_Nm": _torque, "power_kW": _power, "fan_diameter": _fan, "table": _table}
)


def _efficiency(load: Section, default: float) -> float:
    given = load.number("efficiency")
    return default if given is None else given


def read_curve(load: Section, key: str, value: str) -> _Curve | None:
    """Speeds, rising, and a value at each."""
    section = load.mapping(key)
    if section is None:
        return None
    rpm, at_rpm = section.numbers("rpm"), section.numbers(value)
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


def _read_adjuster(pulley: Section) -> Adjuster | None:
    """The pulley's arm or slide with its spring; None where it has none or it is wrong."""
    if pulley.has("arm"):
        return _arm(pulley)
    if pulley.has("slide"):
        return _slide(pulley)
    for key, what in (("spring", "a spring"), ("tension_N", "a set tension")):
        if pulley.has(key):
            pulley.refuse(key, f"{what} without an arm or slide", f"{what} beside `arm` or `slide`")
    return None


def _pointer_radius(pulley: Section) -> float | None:
    if pulley.has("pointer_radius_mm") and not pulley.has("arm"):
        pulley.refuse("pointer_radius_mm", "the radius of a pointer without an arm", "a pointer's radius beside `arm`")
    return pulley.number("pointer_radius_mm")


def _arm(pulley: Section) -> Arm | None:
    arm = pulley.mapping("arm")
    travel = None if arm is None else _stops(arm)
    spring = _arm_spring(pulley, travel)
    if arm is None:
        return None
    pivot, length = arm.two_numbers("pivot"), arm.number("length")
    at, marks = _within(arm, "at_deg", travel), _marks(arm, travel)
    tension = _set_tension(pulley)
    if pivot is None or length is None or travel is None:
        return None
    stops = (math.radians(travel[0]), math.radians(travel[1]))
    inertia = arm.number("inertia_kgm2")
    return Arm(pivot, length, stops, None if at is None else math.radians(at), marks, spring, tension, inertia)


def _stops(arm: Section) -> _Stops | None:
    stops = arm.two_numbers("stops")
    if stops is None:
        return None
    apart = abs(stops[1] - stops[0])
    if _LEAST_ARM_TRAVEL_DEG <= apart <= _WHOLE_TURN_DEG:
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
    angle = section.number(key)
    if angle is None or travel is None:
        return angle
    inside = into_travel(angle, travel)
    if inside is None:
        section.refuse(
            key, f"{angle:g}", f"an angle within the stops, {travel[0]:g} to {travel[1]:g} deg{_hint(travel)}"
        )
    return inside


def _hint(travel: _Stops) -> str:
    low, high = sorted(travel)
    if high - low <= _HALF_TURN_DEG:
        return ""
    return f" (the arm sweeps {high - low:g} deg there; to pass 0 write [{high - _WHOLE_TURN_DEG:g}, {low:g}])"


def into_travel(angle_deg: float, travel_deg: _Stops) -> float | None:
    """The same angle within the travel, whole turns added or taken off; None where there is none."""
    low, high = min(travel_deg), max(travel_deg)
    for turned in (angle_deg, angle_deg + _whole_turns(angle_deg, travel_deg)):
        if low - _ROUNDING_DEG <= turned <= high + _ROUNDING_DEG:
            return min(max(turned, low), high)
    return None


def _whole_turns(angle_deg: float, travel_deg: _Stops | None) -> float:
    """Whole turns that bring an angle nearest to the middle of the travel: a free arm's angle may lie outside it."""
    middle_deg = angle_deg if travel_deg is None else 0.5 * sum(travel_deg)
    return _WHOLE_TURN_DEG * round((middle_deg - angle_deg) / _WHOLE_TURN_DEG)


def _slide(pulley: Section) -> Slide | None:
    spring = _slide_spring(pulley)
    slide = pulley.mapping("slide")
    if slide is None:
        return None
    start, end, at = slide.two_numbers("from"), slide.two_numbers("to"), slide.number("at")
    tension = _set_tension(pulley)
    if start is None or end is None:
        return None
    if math.dist(start, end) < _LEAST_SLIDE_TRAVEL_MM:
        slide.refuse("to", "the same point as `from`", f"a point at least {_LEAST_SLIDE_TRAVEL_MM:g} mm away")
        return None
    return Slide(start, end, at, spring, tension, slide.number("mass_kg"))


def _set_tension(pulley: Section) -> float | None:
    tension = pulley.number("tension_N")
    if tension is not None and pulley.has("spring"):
        pulley.refuse("tension_N", "a set tension beside a spring", "one of the two: the spring sets the tension")
    return tension


def _slide_spring(pulley: Section) -> SlideSpring | None:
    spring = pulley.mapping("spring", ("force_N", *SPRINGS["force_N"]))
    numbers = None if spring is None else _spring_numbers(spring, "force_N")
    return None if numbers is None else SlideSpring(*numbers)


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
        got = f"readings at one angle, {min(angles):g} deg" if len(rows) > 1 else "a reading at one angle only"
        allowed = f"readings at two or more angles, {_LEAST_READ_DEG:g} deg or more from first to last"
        spring.refuse("readings", got, allowed)
        return None
    read = WrenchReadings(rows)
    return ArmSpring(read.torque_Nm, read.middle_deg, abs(read.slope_Nm_per_deg), read)


def _wrench_reading(node: Node, _: Key) -> tuple[float, float, float]:
    """Angle, torque against the spring, torque with it. Raises Misread."""
    if not isinstance(node, Sequence) or len(node.items) != 3:
        raise Misread(f"a list of {len(node.items)}" if isinstance(node, Sequence) else kind_of(node), _A_READING)
    keys = (key_at(f"pulleys.NAME.spring.{key}") for key in ("at_deg", "torque_Nm", "torque_Nm"))
    angle, up, down = (number(item, key) for item, key in zip(node.items, keys, strict=True))
    if not up > 0.0 or up < down:
        got = f"{up:g} Nm against the spring, below {down:g} Nm with it" if up < down else "no torque"
        raise Misread(got, f"{_A_READING}: friction adds to the first torque and takes from the second")
    return angle, up, down


def _spring_numbers(spring: Section, form: str) -> tuple[float, float, float] | None:
    first, at, rate = (spring.number(key) for key in (form, *SPRINGS[form]))
    return None if first is None or at is None or rate is None else (first, at, abs(rate))


# The pulleys of a layout file.


def read_pulley(name: str, section: Section, belt: Belt | None) -> Pulley | None:
    """One pulley, None where its role or its size is wrong; what else is wrong is noted all the same."""
    diameter_mm, at_mm = _diameter(section), _place(section)
    adjuster, role = _read_adjuster(section), section.choice("role")
    side, side_open, optional = _choices(section, role)
    flange, grooves = section.number("flange_height"), _grooves(section, side)
    plane = read_plane(section, side == "back", grooves, belt)
    drives, shaft, uncertainty = section.flag("drives") or False, _shaft(section, role), read_uncertainty(section)
    movable, sizes = section.number("movable_mm") or 0.0, read_sizes(section, "diameters")
    mount = read_mount(section)
    if role is None or diameter_mm is None:
        return None
    pulley = Pulley(
        name,
        cast(Role, role),
        diameter_mm,
        "rim" if section.has("rim_diameter") else "line",
        at_mm,
        adjuster,
        side,
        grooves=grooves,
        tilt_deg=section.two_numbers("tilt_deg") or (0.0, 0.0),
        flange_mm=flange,
        drives=drives,
        side_open=side_open,
        optional=optional,
        uncertainty=uncertainty,
        movable_mm=movable,
        diameters_mm=sizes,
        mount=mount,
    )
    _check_size(section, pulley, belt)
    return replace(pulley, **plane, **shaft)


def _shaft(section: Section, role: str | None) -> dict[str, Any]:
    """What is said of the shaft behind the pulley, by the fields of `Pulley`."""
    max_rpm, min_rpm = _speeds(section)
    rated = section.number("rated_A")
    load = _read_load(section, role, rated)
    usual = load if isinstance(load, UsualLoad) else None
    return {
        "turns": section.choice("turns"),
        "max_rpm": max_rpm,
        "min_rpm": min_rpm,
        "rated_A": rated,
        "inertia_kgm2": section.number("inertia_kgm2"),
        "max_hub_load_N": section.number("max_hub_load_N"),
        "overhang_mm": section.number("overhang_mm"),
        "max_moment_Nm": _highest_moment(section),
        "pointer_radius_mm": _pointer_radius(section),
        "one_way": section.flag("one_way") or False,
        "load": load if usual is None else usual.load,
        "usual_load": usual,
    }


def _highest_moment(section: Section) -> float | None:
    if section.has("max_moment_Nm") and not section.has("overhang_mm"):
        section.refuse("max_moment_Nm", "a bending moment without `overhang_mm`", "both: how far out the belt pulls")
    return section.number("max_moment_Nm")


def _diameter(section: Section) -> float | None:
    over_line, over_rim = section.number("diameter"), section.number("rim_diameter")
    section.one_of(SIZES, "one of the two")
    if not any(map(section.has, SIZES)):
        section.missing("diameter", "diameter (effective), or rim_diameter (over the rib tips)")
    return over_line if section.has("diameter") else over_rim


def _place(section: Section) -> tuple[float, float] | None:
    section.one_of(PLACES)
    if not any(map(section.has, PLACES)):
        section.missing("at", f"one of {', '.join(PLACES)}")
    return section.two_numbers("at")


def _speeds(section: Section) -> tuple[float | None, float | None]:
    most, least = section.number("max_rpm"), section.number("min_rpm")
    if most is not None and least is not None and least > most:
        section.refuse("min_rpm", f"{least:g}", f"at most max_rpm, {most:g} rpm")
    return most, least


def _grooves(section: Section, side: str) -> int | None:
    grooves = section.whole_number("grooves")
    if grooves is not None and side == "back":
        section.refuse("grooves", f"{grooves} on the back of the belt", "no grooves: the back runs on a smooth face")
    return grooves


def _choices(section: Section, role: str | None) -> tuple[Side, bool, bool]:
    """The side of the belt, whether it is left open, and whether the pulley may be left out; each where it makes sense.

    A smooth idler runs on the back as a rule (common practice, no source): so it is judged where its side is left open.
    """
    written = section.choice("belt_side") or "ribbed"
    side_open, optional = written == EITHER_SIDE, section.flag("optional") or False
    if side_open and role is not None and role not in GUIDING_ROLES:
        allowed = f"ribbed or back; {EITHER_SIDE} only for {' or '.join(GUIDING_ROLES)}"
        section.refuse("belt_side", f"{EITHER_SIDE} for {role}", allowed)
    if optional and role is not None and (role != "idler" or section.has("arm") or section.has("slide")):
        section.refuse("optional", f"true for {role}", "true only for an idler without arm or slide")
    return "back" if side_open else cast(Side, written), side_open, optional


def _check_size(section: Section, pulley: Pulley, belt: Belt | None) -> None:
    if belt is None or (pulley.on_back and not pulley.side_open):
        return
    least = max(0.0, belt.profile.rim_minus_line_mm)
    if pulley.reading == "rim" and not pulley.diameter_mm > least:
        section.refuse("rim_diameter", f"{pulley.diameter_mm:g} mm", f"above {least:g} mm, the rim over the datum line")

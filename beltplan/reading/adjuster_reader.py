"""The arm or slide of a pulley, and its spring."""

from __future__ import annotations

import math

from beltplan.belts.adjusters import Adjuster, Arm, ArmSpring, Slide, SlideSpring
from beltplan.reading.section import Section

LEAST_ARM_TRAVEL_DEG = 0.1
LEAST_SLIDE_TRAVEL_MM = 0.1
WHOLE_TURN_DEG = 360.0
HALF_TURN_DEG = 180.0
ROUNDING_DEG = 1e-9

Stops = tuple[float, float]

_ARM_SPRING = ("torque_Nm", "at_deg", "rate_Nm_per_deg")
_SLIDE_SPRING = ("force_N", "at_mm", "rate_N_per_mm")


def read_adjuster(pulley: Section) -> Adjuster | None:
    """The pulley's arm or slide with its spring; None where it has none or it is wrong."""
    if pulley.has("arm"):
        return _arm(pulley)
    if pulley.has("slide"):
        return _slide(pulley)
    for key, what in (("spring", "a spring"), ("tension_N", "a set tension")):
        if pulley.has(key):
            pulley.refuse(key, f"{what} without an arm or slide", f"{what} beside `arm` or `slide`")
    return None


def _arm(pulley: Section) -> Arm | None:
    spring_numbers = _spring_numbers(pulley, _ARM_SPRING)
    arm = pulley.mapping("arm")
    if arm is None:
        return None
    pivot, length, travel = arm.two_numbers("pivot"), arm.number("length"), _stops(arm)
    at, marks = _within(arm, "at_deg", travel), _marks(arm, travel)
    tension = _set_tension(pulley)
    if pivot is None or length is None or travel is None:
        return None
    spring = None
    if spring_numbers is not None:
        torque, angle, rate = spring_numbers
        spring = ArmSpring(torque, angle + _whole_turns(angle, travel), abs(rate))
    stops = (math.radians(travel[0]), math.radians(travel[1]))
    return Arm(pivot, length, stops, None if at is None else math.radians(at), marks, spring, tension)


def _stops(arm: Section) -> Stops | None:
    stops = arm.two_numbers("stops")
    if stops is None:
        return None
    apart = abs(stops[1] - stops[0])
    if LEAST_ARM_TRAVEL_DEG <= apart <= WHOLE_TURN_DEG:
        return stops
    allowed = f"two angles {LEAST_ARM_TRAVEL_DEG:g} to {WHOLE_TURN_DEG:g} deg apart"
    arm.refuse("stops", f"[{stops[0]:g}, {stops[1]:g}]", allowed)
    return None


def _marks(arm: Section, travel: Stops | None) -> tuple[float, float] | None:
    section = arm.mapping("marks")
    if section is None:
        return None
    new, worn = _within(section, "new", travel), _within(section, "worn", travel)
    if new is None or worn is None:
        return None
    if new == worn:
        section.refuse("worn", f"{worn:g}, the same as new", "two different angles")
    return math.radians(new), math.radians(worn)


def _within(section: Section, key: str, travel: Stops | None) -> float | None:
    angle = section.number(key)
    if angle is None or travel is None:
        return angle
    inside = into_travel(angle, travel)
    if inside is None:
        section.refuse(
            key, f"{angle:g}", f"an angle within the stops, {travel[0]:g} to {travel[1]:g} deg{_hint(travel)}"
        )
    return inside


def _hint(travel: Stops) -> str:
    low, high = sorted(travel)
    if high - low <= HALF_TURN_DEG:
        return ""
    return f" (the arm sweeps {high - low:g} deg there; to pass 0 write [{high - WHOLE_TURN_DEG:g}, {low:g}])"


def into_travel(angle_deg: float, travel_deg: Stops) -> float | None:
    """The same angle within the travel, whole turns added or taken off; None where there is none."""
    low, high = min(travel_deg), max(travel_deg)
    for turned in (angle_deg, angle_deg + _whole_turns(angle_deg, travel_deg)):
        if low - ROUNDING_DEG <= turned <= high + ROUNDING_DEG:
            return min(max(turned, low), high)
    return None


def _whole_turns(angle_deg: float, travel_deg: Stops) -> float:
    """Whole turns that bring an angle nearest to the middle of the travel: a free arm's angle may lie outside it."""
    return WHOLE_TURN_DEG * round((0.5 * sum(travel_deg) - angle_deg) / WHOLE_TURN_DEG)


def _slide(pulley: Section) -> Slide | None:
    spring_numbers = _spring_numbers(pulley, _SLIDE_SPRING)
    slide = pulley.mapping("slide")
    if slide is None:
        return None
    start, end, at = slide.two_numbers("from"), slide.two_numbers("to"), slide.number("at")
    tension = _set_tension(pulley)
    if start is None or end is None:
        return None
    if math.dist(start, end) < LEAST_SLIDE_TRAVEL_MM:
        slide.refuse("to", "the same point as `from`", f"a point at least {LEAST_SLIDE_TRAVEL_MM:g} mm away")
        return None
    spring = None
    if spring_numbers is not None:
        force, place, rate = spring_numbers
        spring = SlideSpring(force, place, abs(rate))
    return Slide(start, end, at, spring, tension)


def _set_tension(pulley: Section) -> float | None:
    tension = pulley.number("tension_N")
    if tension is not None and pulley.has("spring"):
        pulley.refuse("tension_N", "a set tension beside a spring", "one of the two: the spring sets the tension")
    return tension


def _spring_numbers(pulley: Section, keys: tuple[str, str, str]) -> tuple[float, float, float] | None:
    spring = pulley.mapping("spring", keys)
    if spring is None:
        return None
    first, at, rate = (spring.number(key) for key in keys)
    return None if first is None or at is None or rate is None else (first, at, rate)

"""Drives whose geometry is known in closed form, for the checks. All invented.

Every formula here is plane geometry and stands beside the drive it belongs to; none is taken from the package.
"""

import math
from dataclasses import replace
from typing import Any

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Layout
from beltplan.drive.operation import operation_of
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley, Slide
from beltplan.drive.route import Route, route_of

BACK_MM = 2.2
"""Height of the back of a PK belt over its effective line, derived from the groove and from memory."""
UNDER_MM = 4.5 - BACK_MM
"""What lies below the line: 4.5 mm of belt height, from memory, medium confidence."""
RIM_UNDER_MM = 0.385 / 2.0
"""Rim radius under the effective radius of a PK pulley, derived from the groove of ISO 9982:2021 table 2."""
SPRING = ArmSpring(20.0, 0.0, 0.3)


def pulley(name: str, role: str, x: float, y: float, diameter: float = 100.0, **more: Any) -> Pulley:
    """A fixed pulley."""
    return Pulley(**{"name": name, "role": role, "diameter_mm": diameter, "at_mm": (x, y), **more})


def layout(*pulleys: Pulley, beside: tuple[Pulley, ...] = (), **more: Any) -> Layout:
    """A layout in the listed order, the first pulley driving; `beside` are off the belt."""
    named = {p.name: replace(p, drives=i == 0) for i, p in enumerate((*pulleys, *beside))}
    values: dict[str, Any] = {"title": "invented", "belt": parse_designation("6PK"), "pulleys": named}
    return Layout(**{**values, "route": tuple(p.name for p in pulleys), **more})


def two(distance: float = 300.0, d1: float = 100.0, d2: float = 100.0, **more: Any) -> Layout:
    """Two pulleys: span sqrt(D^2 - (R - r)^2), wraps pi +- 2 asin((R - r) / D)."""
    return layout(pulley("crank", "crankshaft", 0, 0, d1), pulley("far", "alternator", distance, 0, d2), **more)


def triangle(apex_wrap_deg: float, apex: Pulley, **more: Any) -> Layout:
    """Three equal ribbed pulleys: the wrap on each is the outer angle of its corner, so the apex has the one asked.

    The apex stands at the origin and drives; the others stand 800 mm from it.
    """
    half = math.radians(180.0 - apex_wrap_deg) / 2.0
    x, y = 800.0 * math.cos(half), 800.0 * math.sin(half)
    others = (pulley("above", "idler", x, y), pulley("below", "idler", x, -y))
    return layout(replace(apex, at_mm=(0.0, 0.0), diameter_mm=100.0), *others, **more)


def sagging(back_wrap_deg: float, back: Pulley, half_distance: float = 300.0, **more: Any) -> Layout:
    """Pulleys of 100 mm on the ribs at a triangle's corners, and one on the back that presses the upper span down.

    With phi half the wrap on the back, r and q the radii of the line: the span to it leaves at phi under level, so
    half = (r + q) sin phi + L cos phi, and its centre is at y = (r + q) cos phi - L sin phi.
    """
    phi = math.radians(back_wrap_deg) / 2.0
    r, q = 50.0, back.diameter_mm / 2.0 + BACK_MM
    span = (half_distance - (r + q) * math.sin(phi)) / math.cos(phi)
    y = (r + q) * math.cos(phi) - span * math.sin(phi)
    middle = replace(back, at_mm=(half_distance, y), belt_side="back")
    return layout(
        pulley("crank", "crankshaft", 0, 0),
        middle,
        pulley("far", "alternator", 2 * half_distance, 0),
        pulley("low", "idler", half_distance, -900.0),
        **more,
    )


def sliding(start: tuple[float, float] = (300.0, 0.0), end: tuple[float, float] = (360.0, 0.0), **more: Any) -> Layout:
    """Two pulleys of 100 mm, the second on a slide. Path 2 x distance + 100 pi."""
    slide = Slide(start, end, **{key: more.pop(key) for key in ("at", "spring", "tension_N") if key in more})
    moved = Pulley("far", "alternator", 100.0, adjuster=slide)
    return layout(pulley("crank", "crankshaft", 0, 0), moved, **more)


def swinging(towards_deg: float, **more: Any) -> Layout:
    """Two pulleys of 100 mm 300 mm apart, the second on an arm of 60 mm that moves it at an angle to the spans."""
    at = math.radians(towards_deg) - math.pi / 2.0
    pivot = (300.0 - 60.0 * math.cos(at), -60.0 * math.sin(at))
    arm = Arm(pivot, 60.0, (at - 0.02, at + 0.02), at, spring=SPRING)
    moved = Pulley("far", "tensioner", 100.0, adjuster=arm)
    return layout(pulley("crank", "crankshaft", 0, 0), moved, **more)


def belt_of(length_mm: float, given: Layout, **more: Any) -> Layout:
    """The same layout with a belt of that length named."""
    return replace(given, belt=replace(given.belt, length_mm=length_mm, **more))


def route(given: Layout) -> Route:
    """The route of a layout."""
    return route_of(given)


def found(given: Layout, check: str, subject: str | None = None) -> list[Finding]:
    """What one check finds in a layout, worst first."""
    laid = route_of(given)
    findings = findings_of(laid, operation_of(laid))
    return [f for f in findings if f.check == check and subject in (None, f.subject)]


def severity(given: Layout, check: str, subject: str | None = None) -> str | None:
    """The severity of the only such finding, None where there is none."""
    findings = found(given, check, subject)
    assert len(findings) <= 1, findings
    return findings[0].severity if findings else None

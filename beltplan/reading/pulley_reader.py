"""The pulleys of a layout file."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

from beltplan.belts.belt import Belt
from beltplan.belts.pulleys import GUIDING_ROLES, Pulley, Role, Side
from beltplan.reading.adjuster_reader import read_adjuster
from beltplan.reading.load_reader import read_load
from beltplan.reading.pulley_keys import EITHER_SIDE
from beltplan.reading.section import Section
from beltplan.reading.size_reader import read_sizes
from beltplan.reading.uncertainty_reader import read_uncertainty

PLACES = ("at", "arm", "slide")


def read_pulley(name: str, section: Section, belt: Belt | None) -> Pulley | None:
    """One pulley, None where its role or its size is wrong; what else is wrong is noted all the same."""
    diameter_mm, at_mm = _diameter(section), _place(section)
    adjuster, role = read_adjuster(section), section.choice("role")
    side, side_open, optional = _choices(section, role)
    plane, flange, grooves = section.number("plane"), section.number("flange_height"), _grooves(section, side)
    drives, shaft, uncertainty = section.flag("drives") or False, _shaft(section), read_uncertainty(section)
    movable, sizes = section.number("movable_mm") or 0.0, read_sizes(section, "diameters")
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
        plane_mm=plane,
        flange_mm=flange,
        drives=drives,
        side_open=side_open,
        optional=optional,
        uncertainty=uncertainty,
        movable_mm=movable,
        diameters_mm=sizes,
    )
    _check_size(section, pulley, belt)
    return replace(pulley, **shaft)


def _shaft(section: Section) -> dict[str, Any]:
    """What is said of the shaft behind the pulley, by the fields of `Pulley`."""
    max_rpm, min_rpm = _speeds(section)
    rated = section.number("rated_A")
    return {
        "turns": section.choice("turns"),
        "max_rpm": max_rpm,
        "min_rpm": min_rpm,
        "rated_A": rated,
        "inertia_kgm2": section.number("inertia_kgm2"),
        "max_hub_load_N": section.number("max_hub_load_N"),
        "one_way": section.flag("one_way") or False,
        "load": read_load(section, rated),
    }


def _diameter(section: Section) -> float | None:
    over_line, over_rim = section.number("diameter"), section.number("rim_diameter")
    if section.has("diameter") and section.has("rim_diameter"):
        section.refuse("rim_diameter", "both diameter and rim_diameter", "one of the two")
    elif not section.has("diameter") and not section.has("rim_diameter"):
        section.missing("diameter", "diameter (effective), or rim_diameter (over the rib tips)")
    return over_line if section.has("diameter") else over_rim


def _place(section: Section) -> tuple[float, float] | None:
    given = [key for key in PLACES if section.has(key)]
    if not given:
        section.missing("at", "one of at, arm, slide")
    for key in given[1:]:
        section.refuse(key, f"both {given[0]} and {key}", "one of at, arm, slide")
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

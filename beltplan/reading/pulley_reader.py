"""The pulleys of a layout file."""

from __future__ import annotations

from typing import cast

from beltplan.belts.belt import Belt
from beltplan.belts.pulleys import Pulley, Role, Side, Turns
from beltplan.reading.adjuster_reader import read_adjuster
from beltplan.reading.load_reader import read_load
from beltplan.reading.section import Section
from beltplan.reading.uncertainty_reader import read_uncertainty

PLACES = ("at", "arm", "slide")


def read_pulley(name: str, section: Section, belt: Belt | None) -> Pulley | None:
    """One pulley, None where its role or its size is wrong; what else is wrong is noted all the same."""
    diameter_mm, at_mm = _diameter(section), _place(section)
    adjuster = read_adjuster(section)
    role, side = section.choice("role"), section.choice("belt_side") or "ribbed"
    max_rpm, min_rpm = _speeds(section)
    plane, flange = section.number("plane"), section.number("flange_height")
    rated, inertia, hub_load = (section.number(key) for key in ("rated_A", "inertia_kgm2", "max_hub_load_N"))
    grooves, turns = _grooves(section, side), section.choice("turns")
    drives, one_way = section.flag("drives") or False, section.flag("one_way") or False
    load, uncertainty = read_load(section, rated), read_uncertainty(section)
    if role is None or diameter_mm is None:
        return None
    pulley = Pulley(
        name,
        cast(Role, role),
        diameter_mm,
        "rim" if section.has("rim_diameter") else "line",
        at_mm,
        adjuster,
        cast(Side, side),
        grooves=grooves,
        plane_mm=plane,
        turns=cast(Turns | None, turns),
        max_rpm=max_rpm,
        min_rpm=min_rpm,
        rated_A=rated,
        flange_mm=flange,
        drives=drives,
        inertia_kgm2=inertia,
        load=load,
        one_way=one_way,
        max_hub_load_N=hub_load,
        uncertainty=uncertainty,
    )
    _check_size(section, pulley, belt)
    return pulley


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


def _check_size(section: Section, pulley: Pulley, belt: Belt | None) -> None:
    if belt is None or pulley.on_back:
        return
    least = max(0.0, belt.profile.rim_minus_line_mm)
    if pulley.reading == "rim" and not pulley.diameter_mm > least:
        section.refuse("rim_diameter", f"{pulley.diameter_mm:g} mm", f"above {least:g} mm, the rim over the datum line")

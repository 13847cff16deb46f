"""Values that carry a unit of their own, such as 1230 psi or 33 ft-lb, in capitals or not, in the unit of their key."""

from __future__ import annotations

import re
from typing import NamedTuple

from beltplan.drive.belt import LBF_N, MM_PER_INCH

_LB_KG, _FOOT_M, _GRAVITY = 0.45359237, 0.3048, 9.80665
"""By definition: international pound and foot (agreement of 1959), standard gravity (CGPM 1901)."""
FTLB_NM = LBF_N * _FOOT_M
_PSI_BAR = LBF_N / MM_PER_INCH**2 * 10.0
"""One N/mm2 is 10 bar."""
_HP_KW, _PS_KW = 550.0 * FTLB_NM / 1000.0, 75.0 * _GRAVITY / 1000.0
"""Mechanical horsepower, 550 ft lbf/s, and metric, 75 kgf m/s, by definition."""
_POUNDS_FORCE = "lbf?|lbs"
_FOOT_POUNDS = "ft[- ]?(?:lbf?|lbs)|lbf?[- ]?ft"


class _Unit(NamedTuple):
    """A unit that may be written: its usual word, a pattern of all its spellings, and its size in the key's unit."""

    word: str
    pattern: str
    size: float


_UNITS: dict[str, tuple[_Unit, ...]] = {
    "mm": (_Unit("in", "in|inch", MM_PER_INCH),),
    "bar": (_Unit("psi", "psi", _PSI_BAR), _Unit("kPa", "kPa", 0.01), _Unit("MPa", "MPa", 10.0)),
    "Nm": (_Unit("ft-lb", _FOOT_POUNDS, FTLB_NM), _Unit("in-lb", "in[- ]?(?:lbf?|lbs)|lbf?[- ]?in", FTLB_NM / 12.0)),
    "Nm/deg": (_Unit("ft-lb/deg", f"(?:{_FOOT_POUNDS})/deg", FTLB_NM),),
    "N": (_Unit("lbf", _POUNDS_FORCE, LBF_N), _Unit("kgf", "kgf?", _GRAVITY), _Unit("kN", "kN", 1000.0)),
    "N/mm": (_Unit("lbf/in", f"(?:{_POUNDS_FORCE})/in", LBF_N / MM_PER_INCH),),
    "kW": (_Unit("hp", "hp|horsepower", _HP_KW), _Unit("W", "W|watts?", 0.001), _Unit("PS", "PS", _PS_KW)),
    "cm3": (_Unit("in3", "in3|cu[. ]?in", MM_PER_INCH**3 / 1000.0), _Unit("cc", "cc|ml", 1.0), _Unit("l", "l", 1000.0)),
    "kg": (_Unit("lb", "lbs?", _LB_KG),),
    "kg/m": (_Unit("lb/ft", "lbs?/ft", _LB_KG / _FOOT_M),),
    "kg m2": (
        _Unit("lb-in2", "lbs?[- ]?in2", _LB_KG * (MM_PER_INCH / 1000.0) ** 2),
        _Unit("lb-ft2", "lbs?[- ]?ft2", _LB_KG * _FOOT_M**2),
        _Unit("kg-cm2", "kg[- ]?cm2", 1e-4),
    ),
    "deg": (_Unit("\u00b0", "\u00b0", 1.0),),
    "K": (_Unit("\u00b0F", "\u00b0?F", 5.0 / 9.0), _Unit("\u00b0C", "\u00b0?C", 1.0)),
    **dict.fromkeys(("rpm", "A", "V"), ()),
}
_LONGEST, _WAYS = 40, re.ASCII | re.IGNORECASE
_NUMBER = r"(?P<number>[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"


def units_of(unit: str) -> tuple[str, ...]:
    """Usual words for the units in which a value of a key in that unit may be written; none where nothing may be."""
    return (unit, *(each.word for each in _UNITS.get(unit, ()))) if unit in _UNITS else ()


def spellings_of(unit: str) -> str:
    """A pattern of all units in which a value of a key in that unit may be written."""
    return "|".join((re.escape(unit), *(each.pattern for each in _UNITS[unit])))


def own_unit_value(text: str, unit: str) -> float | None:
    """A number with a unit behind it, in the unit of its key; None where it is nothing of the kind."""
    if len(text) > _LONGEST:
        return None
    text = text.replace("\u00b7", "")  # N·m
    for each in (_Unit(unit, re.escape(unit), 1.0), *_UNITS.get(unit, ())):
        if unit in _UNITS and (match := re.fullmatch(rf"\s*{_NUMBER}\s*(?:{each.pattern})\s*", text, _WAYS)):
            return float(match["number"]) * each.size
    return None


def unit_in_name(name: str, known: str, unit: str) -> str | None:
    """The unit that a key names in another one than its own: psi of pressure_psi or psi, beside pressure_bar."""
    stem = known.removesuffix(unit)
    suffix = name.removeprefix(stem).replace("_", "-")
    if stem == known or (unit == "mm" and not name.startswith(stem)):
        return None
    return next((each.word for each in _UNITS.get(unit, ()) if re.fullmatch(each.pattern, suffix, _WAYS)), None)

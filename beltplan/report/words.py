"""Words that stand in more than one place, and JSON with one line a key."""

from __future__ import annotations

import json
import math
import os
import re
from datetime import UTC, datetime
from string import ascii_uppercase
from typing import Any

from beltplan import __version__
from beltplan.checks.limits import OWN
from beltplan.drive.belt import Belt
from beltplan.drive.layout import Layout
from beltplan.faults import printable

SAFETY = (
    "Rotating belts and sprung arms injure: engine off, key out, battery disconnected while measuring or fitting; "
    "guards and covers back on. Figures are planning aids from the measurements given, never an approval; friction, "
    "wear and weather vary. The makers' limits, local codes, and for brackets and fasteners a licensed engineer's "
    "judgement, come first."
)

SAFETY_IN_SHORT = "Engine off; clear of sprung arms. A planning aid: makers' data and local codes come first."


# The same on a picture, in the room that there is.

_OFF = "engine off, battery disconnected, guards back on."
PICTURE_SAFETY = f"Planning aid from the measurements given, never an approval; {_OFF}"
PRINT_SAFETY = f"{PICTURE_SAFETY} Makers' data and local codes come first."
SLIP_SAFETY = (
    "Friction varies by a factor of two with wear, water and dust. Brackets and bolts are for a qualified person. "
    f"Keep clear of a sprung arm. A planning aid, never an approval; {_OFF}"
)
MEASURED_SAFETY = (
    "A planning aid from the readings given, never an approval. Engine off, key out, battery disconnected while "
    "measuring; keep clear of a sprung arm; guards back on."
)
TOLERANCE_SAFETY = (
    "A planning aid from the measurements and errors given, never an approval; engine off, battery disconnected, "
    "keep clear of a sprung arm, guards back on."
)


def source_words(*paths: str, variant: str | None = None) -> str:
    """What tells one print from another: which files, each with the day of its last change, and the version."""
    files = ", ".join(dict.fromkeys(map(_dated, paths)))
    told = (files, "" if variant is None else f"variant {variant}", f"beltplan {__version__}")
    return "; ".join(each for each in told if each)


def _dated(path: str) -> str:
    """A file's name and day, or the day of SOURCE_DATE_EPOCH (reproducible-builds.org), so that prints can be alike."""
    name, given = printable(os.path.basename(path)) or "layout", os.environ.get("SOURCE_DATE_EPOCH", "")
    try:
        changed = os.stat(path).st_mtime
        day = datetime.fromtimestamp(int(given), UTC) if given.isdecimal() else datetime.fromtimestamp(changed)
    except (OSError, OverflowError, ValueError):  # no such file any more, or a day beyond the calendar
        return name
    return f"{name} of {day:%Y-%m-%d}"


def letters(number: int) -> str:
    """The sign of that number, from 0 on: A, B, ... Z, AA, BB, ...

    >>> [letters(number) for number in (0, 25, 26, 27)]
    ['A', 'Z', 'AA', 'BB']
    """
    return ascii_uppercase[number % 26] * (1 + number // 26)


# A number is never torn from its unit at the end of a line, nor whole inches from their fraction, nor a command in two.

KEPT = "\N{NO-BREAK SPACE}"
"""Before a unit: a line is not broken there, and a length stays in that unit."""
_NUMBER_AND_UNIT = re.compile(
    r"(?<=\d) (?=(?:mm|in|deg|rpm|N|Nm|Hz|kW|%|m/s|lbf|A|V|K|bar|\d+/\d+)\b|%)|(?<=`beltplan) "
)


def unbroken(text: str) -> str:
    return _NUMBER_AND_UNIT.sub(KEPT, text)


def role_words(role: str) -> str:
    return role.replace("_", " ")


def pitch_line_source(belt: Belt) -> str:
    measured = belt.profile.is_automotive and belt.cord_below_back_mm is not None
    return OWN if measured else belt.profile.sources["pitch_line_mm"]


def head_of(layout: Layout, verdict: str | None = None) -> dict[str, str | None]:
    told = {} if verdict is None else {"verdict": verdict}
    return {"title": layout.title, "variant": layout.variant, **told, "units": "mm"}


def fields_of(value: object, *names: str) -> dict[str, Any]:
    return {name: getattr(value, name) for name in names}


def finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


# The numbers of a JSON result, rounded once, at the edge: no digit stands there that means nothing.

_DECIMALS = {"mm": 6, "deg": 6, "mm2": 12}
"""Of a length, an angle, and the square of a length: a nanometre and its square."""
_DIGITS = 9
"""Of any other number, significant ones; none beyond as many decimals, so that noise about nothing is nothing."""


def rounded_numbers(value: Any, unit: str = "") -> Any:
    """Plain values with every number rounded as its unit says.

    The unit ends the number's key, or a key round it; else it is the `unit` of its object. Whole numbers stay whole.

    >>> rounded_numbers({"x_mm": 1.23456789012, "torque_Nm": 12.3456789012, "cells": 3})
    {'x_mm': 1.234568, 'torque_Nm': 12.3456789, 'cells': 3}
    """
    if isinstance(value, dict):
        own = value.get("unit") or unit
        ends = {key: next((unit for unit in _DECIMALS if key.endswith(f"_{unit}")), own) for key in value}
        return {key: rounded_numbers(each, ends[key]) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [rounded_numbers(each, unit) for each in value]
    return _rounded(float(value), unit) if isinstance(value, float) else value


def _rounded(value: float, unit: str) -> float:
    rounded = round(value, _DECIMALS[unit]) if unit in _DECIMALS else round(float(f"{value:.{_DIGITS}g}"), _DIGITS)
    return rounded + 0.0  # no minus before a zero


# JSON with one line a key and one line an entry of a list.


def json_text(result: dict[str, Any]) -> str:
    """A result as JSON text in plain ASCII, its numbers rounded; raises ValueError for a number that is not finite."""
    return json_lines(rounded_numbers(result))


def json_lines(result: dict[str, Any]) -> str:
    """The same with every number as it is; written several times faster than with full indenting."""
    return "{\n" + ",\n".join(f"  {_compact(key)}: {_value(value)}" for key, value in result.items()) + "\n}"


def _value(value: Any) -> str:
    if not isinstance(value, list) or not value:
        return _compact(value)
    return "[\n" + ",\n".join(f"    {_compact(entry)}" for entry in value) + "\n  ]"


def _compact(value: Any) -> str:
    return json.dumps(value, allow_nan=False)

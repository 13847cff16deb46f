"""The numbers of a JSON result, rounded once, at the edge: no digit stands there that means nothing.

Computing leaves noise in the last digits, which differs from machine to machine.
"""

from __future__ import annotations

from typing import Any

DECIMALS = {"mm": 6, "deg": 6, "mm2": 12}
"""Of a length, an angle, and the square of a length: a nanometre and its square."""
DIGITS = 9
"""Of any other number, significant ones; none beyond as many decimals, so that noise about nothing is nothing."""


def rounded_numbers(value: Any, unit: str = "") -> Any:
    """Plain values with every number rounded as its unit says.

    The unit ends the number's key, or a key round it; else it is the `unit` of its object. Whole numbers stay whole.
    """
    if isinstance(value, dict):
        own = value.get("unit") or unit
        return {key: rounded_numbers(each, _unit_of(key) or own) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [rounded_numbers(each, unit) for each in value]
    return _rounded(float(value), unit) if isinstance(value, float) else value


def _unit_of(key: str) -> str:
    return next((unit for unit in DECIMALS if key.endswith(f"_{unit}")), "")


def _rounded(value: float, unit: str) -> float:
    rounded = round(value, DECIMALS[unit]) if unit in DECIMALS else round(float(f"{value:.{DIGITS}g}"), DIGITS)
    return rounded + 0.0  # no minus before a zero

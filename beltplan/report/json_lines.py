"""JSON with one line a key and one line an entry of a list."""

from __future__ import annotations

import json
from typing import Any

from beltplan.report.json_numbers import rounded_numbers


def json_text(result: dict[str, Any]) -> str:
    """A result as JSON text in plain ASCII, its numbers rounded; raises ValueError for a number that is not finite."""
    return json_lines(rounded_numbers(result))


def json_lines(result: dict[str, Any]) -> str:
    """The same with every number as it is.

    As good to read as full indenting, and written several times faster.
    """
    return "{\n" + ",\n".join(f"  {_compact(key)}: {_value(value)}" for key, value in result.items()) + "\n}"


def _value(value: Any) -> str:
    if not isinstance(value, list) or not value:
        return _compact(value)
    return "[\n" + ",\n".join(f"    {_compact(entry)}" for entry in value) + "\n  ]"


def _compact(value: Any) -> str:
    return json.dumps(value, allow_nan=False)

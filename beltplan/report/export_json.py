"""An export as JSON: fixed keys, unknown values null, every number finite; mm and degrees."""

from __future__ import annotations

from typing import Any

from beltplan.report.export_content import FRAME, Content
from beltplan.report.export_layers import DRAWN_LAYERS, NAMES, NOTES
from beltplan.report.export_numbers import counts_of, rounded, rows_of
from beltplan.report.json_lines import json_lines
from beltplan.report.words import CAUTION

Object = dict[str, Any]


def export_json(content: Content) -> str:
    """The parts, and what must be known of them, as one JSON object in plain ASCII.

    Raises ValueError for a number that is not finite.
    """
    text = json_lines(
        {
            "title": content.title,
            "variant": content.variant,
            "verdict": content.verdict,
            "problems": content.problems,
            "units": "mm",
            "angles": "deg",
            "frame": FRAME,
            "belt": content.designation,
            "path_mm": rounded(content.path_mm),
            "layers": _layers(content),
            "parts": [row for part in content.parts for row in rows_of(part)],
            "caution": CAUTION,
        }
    )
    return text + "\n"


def _layers(content: Content) -> list[Object]:
    counts = counts_of(content.parts)
    return [
        {"name": layer.name, "meaning": layer.meaning, "parts": count, "length_mm": rounded(length)}
        for layer in DRAWN_LAYERS
        if layer.name not in (NAMES, NOTES)
        for count, length in [counts[layer.name]]
    ]

"""Numbered marks for findings: a dark octagon for a problem, a light diamond for a caution."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.checks.finding import Finding, Severity
from beltplan.geometry.vectors import Floats, from_angle
from beltplan.plots.palette import CAUTION, INK, PAPER, PROBLEM
from beltplan.plots.scene import Item, Label, Pen, Point, Shape

MARK_PT = 18.5
"""Room that one mark needs, either way."""
NUMBER_PT = 8.0
_CORNERS = {"problem": 8, "caution": 4}


@dataclass(frozen=True)
class Mark:
    """A finding with the number by which the picture calls it."""

    number: int
    finding: Finding


def marks_of(findings: tuple[Finding, ...]) -> tuple[Mark, ...]:
    """Problems, then cautions, numbered from 1; notes have no mark."""
    marked = [f for severity in ("problem", "caution") for f in findings if f.severity == severity]
    return tuple(Mark(number, finding) for number, finding in enumerate(marked, 1))


def marks_at(marks: tuple[Mark, ...], part: str) -> tuple[Mark, ...]:
    """The marks that belong to a pulley, strand or obstacle."""
    return tuple(mark for mark in marks if part in mark.finding.parts)


def mark_items(mark: Mark, centre: Point, unit_pt: float, name: str = "") -> list[Item]:
    """One mark, centred on a point."""
    return [
        mark_shape(mark.finding.severity, centre, unit_pt, name),
        Label(
            str(mark.number),
            (centre[0], centre[1] - 0.36 * NUMBER_PT / unit_pt),
            NUMBER_PT,
            PAPER if mark.finding.severity == "problem" else INK,
            True,
            "center",
            name,
        ),
    ]


def mark_shape(severity: Severity, centre: Point | Floats, unit_pt: float, name: str = "") -> Shape:
    """The bare shape of a mark."""
    count = _CORNERS[severity]
    turn = np.pi / count if count == 8 else 0.0
    size = (7.6 if count == 8 else 9.2) / unit_pt
    corners = np.array(centre) + size * from_angle(turn + np.arange(count) * 2.0 * np.pi / count)
    return Shape((corners,), PROBLEM if severity == "problem" else CAUTION, Pen(INK, 0.8), name=name)

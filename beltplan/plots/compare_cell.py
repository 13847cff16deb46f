"""What stands over and under the drawing of one column of a comparison: rank, name, verdict; what was found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.checks.finding import Finding
from beltplan.plots.compare_routing import CELL_PT
from beltplan.plots.findings_list import findings_height_pt, findings_items
from beltplan.plots.marks import Mark, marks_of
from beltplan.plots.palette import INK, PAPER
from beltplan.plots.scene import Item, Label, Shape, circle
from beltplan.plots.sheet import Paragraph, column, height_pt
from beltplan.studies.compare import Column

BADGE_PT, BESIDE_PT = 24.0, 31.0
NAME_PT, VERDICT_PT, RANK_PT, TEXT_PT = 13.0, 10.5, 11.0, 9.5


@dataclass(frozen=True)
class Heading:
    """What stands over a drawing."""

    rank: int
    name: str
    verdict: str

    @property
    def height_pt(self) -> float:
        """Height that it takes."""
        return max(height_pt(self.paragraphs, CELL_PT - BESIDE_PT), BADGE_PT)

    @property
    def paragraphs(self) -> tuple[Paragraph, ...]:
        """Name and verdict, beside the rank."""
        return (
            Paragraph(self.name, NAME_PT, INK, True, name="column"),
            Paragraph(self.verdict, VERDICT_PT, INK, before_pt=1.0, name="verdict"),
        )

    def items(self, left: float, top: float, unit_pt: float) -> list[Item]:
        """The heading from a top left corner: the rank in a disc, name and verdict beside it."""
        pt = 1.0 / unit_pt
        x, y = left + 0.5 * BADGE_PT * pt, top - 0.5 * BADGE_PT * pt
        disc = Shape((circle(np.array((x, y)), 0.5 * BADGE_PT * pt),), INK, name="rank")
        number = Label(str(self.rank), (x, y - 0.36 * RANK_PT * pt), RANK_PT, PAPER, True, "center", "rank")
        return [disc, number, *column(self.paragraphs, left + BESIDE_PT * pt, top, CELL_PT - BESIDE_PT, unit_pt)]


def found_height_pt(shown: Column) -> float:
    """Height of what is listed under a drawing."""
    if shown.judged is None:
        return height_pt(_refusal(shown), CELL_PT)
    return findings_height_pt(*_listed(shown.judged.findings), CELL_PT)


def found_items(shown: Column, left: float, top: float, unit_pt: float) -> list[Item]:
    """Problems and cautions, numbered as in the drawing; or why there is no path."""
    if shown.judged is None:
        return [*column(_refusal(shown), left, top, CELL_PT, unit_pt)]
    return findings_items(*_listed(shown.judged.findings), left, top, CELL_PT, unit_pt)


def _listed(findings: tuple[Finding, ...]) -> tuple[tuple[Finding, ...], tuple[Mark, ...]]:
    return tuple(finding for finding in findings if finding.severity != "note"), marks_of(findings)


def _refusal(shown: Column) -> tuple[Paragraph, ...]:
    return tuple(
        Paragraph(
            f"{', '.join(fault.pulleys)}: {fault.got}; wanted: {fault.allowed}",
            TEXT_PT,
            INK,
            before_pt=3.0,
            name="refusal",
        )
        for fault in shown.refusal
    )

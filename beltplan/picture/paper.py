"""Sizes of paper."""

from __future__ import annotations

from dataclasses import dataclass

from beltplan.drive.belt import MM_PER_INCH

POINTS_PER_INCH = 72.0
MM_PT = POINTS_PER_INCH / MM_PER_INCH
"""Points of one mm."""


@dataclass(frozen=True)
class Paper:
    """A size of paper, upright."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def inches(self) -> str:
        return f"{self.width_mm / MM_PER_INCH:g}x{self.height_mm / MM_PER_INCH:g}"

    def sizes_mm(self) -> tuple[tuple[float, float], tuple[float, float]]:
        return (self.width_mm, self.height_mm), (self.height_mm, self.width_mm)


# Source of A0 to A4: ISO 216:2007. Of letter and tabloid: sizes A and B of ASME Y14.1, 8.5 x 11 and 11 x 17 in.
# Of legal, 8.5 x 14 in: na_legal in PWG 5101.1, from memory, high confidence.
PAPERS = (
    Paper("A4", 210.0, 297.0),
    Paper("A3", 297.0, 420.0),
    Paper("A2", 420.0, 594.0),
    Paper("A1", 594.0, 841.0),
    Paper("A0", 841.0, 1189.0),
    Paper("letter", 8.5 * MM_PER_INCH, 11.0 * MM_PER_INCH),
    Paper("legal", 8.5 * MM_PER_INCH, 14.0 * MM_PER_INCH),
    Paper("tabloid", 11.0 * MM_PER_INCH, 17.0 * MM_PER_INCH),
)
PAPER_NAMES = tuple(paper.name for paper in PAPERS)


def paper_named(name: str) -> Paper | None:
    """The paper of a name, or of a width and height in inches.

    >>> paper_named("a3").name, paper_named("11x17").name, paper_named("A9")
    ('A3', 'tabloid', None)
    """
    said = name.strip().lower()
    return next((paper for paper in PAPERS if said in (paper.name.lower(), paper.inches)), None)

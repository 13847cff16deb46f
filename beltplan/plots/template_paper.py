"""Papers that a template can be printed on, and how much of a sheet is left for the drawing."""

from __future__ import annotations

from dataclasses import dataclass

from beltplan.belts.designations import MM_PER_INCH

MARGIN_MM = 10.0
"""Left blank at every edge: printers cannot print up to it. Common practice, no source."""
STRIP_MM = 46.0
"""Height kept at the foot of every sheet for title, check scales and cautions."""
SIDE_MM = 12.0
"""Width kept at the right of every sheet for the upright check scale."""


@dataclass(frozen=True)
class Paper:
    """A size of paper, upright."""

    name: str
    width_mm: float
    height_mm: float


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
    """The paper of a name in capitals or not, None where there is none."""
    return next((paper for paper in PAPERS if paper.name.lower() == name.strip().lower()), None)


@dataclass(frozen=True)
class Sheet:
    """A paper laid upright or across."""

    paper: Paper
    across: bool

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height."""
        width, height = self.paper.width_mm, self.paper.height_mm
        return (height, width) if self.across else (width, height)

    @property
    def window_mm(self) -> tuple[float, float]:
        """Width and height of the part that shows the drawing."""
        width, height = self.size_mm
        return width - 2.0 * MARGIN_MM - SIDE_MM, height - 2.0 * MARGIN_MM - STRIP_MM

    @property
    def words(self) -> str:
        """Its name and how it lies."""
        return f"{self.paper.name} {'landscape' if self.across else 'portrait'}"

"""A drawing at full scale over sheets of paper: how many sheets, which part on each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.picture.paper import Paper
from beltplan.picture.scene import Box

MARGIN_MM = 10.0
"""Left blank at every edge: printers cannot print up to it. Common practice, no source."""
STRIP_MM = 52.0
"""Height kept at the foot of every sheet for title, check scales and cautions."""
SIDE_MM = 12.0
"""Width kept at the right of every sheet for the upright check scale."""


@dataclass(frozen=True)
class Sheet:
    """A paper laid upright or across."""

    paper: Paper
    across: bool

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height."""
        return self.paper.sizes_mm()[self.across]

    @property
    def window_mm(self) -> tuple[float, float]:
        """Width and height of the part that shows the drawing."""
        width, height = self.size_mm
        return width - 2.0 * MARGIN_MM - SIDE_MM, height - 2.0 * MARGIN_MM - STRIP_MM

    @property
    def words(self) -> str:
        """Its name and how it lies."""
        return f"{self.paper.name} {'landscape' if self.across else 'portrait'}"


# A drawing at full scale laid over sheets of paper: how many, which part on each, which can be left out.

OVERLAP_MM = 15.0
"""What two neighbouring sheets both show: a centre's cross is whole on one of them wherever it stands."""
CLEAR_MM = 12.0
"""A seam so far from every centre is far enough."""
_PLACES_TRIED = 61

Page = tuple[int, int]
"""Row and column, from 0 at the top left."""


@dataclass(frozen=True)
class Tiling:
    """Sheets over a drawing. left_mm, top_mm: corner of the first sheet's window, in the layout's frame."""

    sheet: Sheet
    rows: int
    columns: int
    left_mm: float
    top_mm: float

    @property
    def step_mm(self) -> tuple[float, float]:
        """From one sheet to the next, across and down."""
        width, height = self.sheet.window_mm
        return width - OVERLAP_MM, height - OVERLAP_MM

    @property
    def pages(self) -> tuple[Page, ...]:
        """Every sheet, row by row from the top."""
        return tuple((row, column) for row in range(self.rows) for column in range(self.columns))

    @property
    def whole(self) -> Box:
        """All that the sheets show."""
        right, bottom = self._corner(self.rows, self.columns)
        return (self.left_mm, bottom - OVERLAP_MM, right + OVERLAP_MM, self.top_mm)

    def window(self, page: Page) -> Box:
        """What a sheet shows, in the layout's frame."""
        left, top = self._corner(*page)
        width, height = self.sheet.window_mm
        return (left, top - height, left + width, top)

    def cell(self, page: Page) -> Box:
        """What is seen of a sheet when all are laid together, each over those before it."""
        left, bottom, right, top = self.window(page)
        row, column = page
        right -= OVERLAP_MM if column + 1 < self.columns else 0.0
        bottom += OVERLAP_MM if row + 1 < self.rows else 0.0
        return (left, bottom, right, top)

    def neighbours(self, page: Page) -> tuple[Page, ...]:
        """The sheets that share an edge with a sheet."""
        row, column = page
        beside = ((row - 1, column), (row, column - 1), (row, column + 1), (row + 1, column))
        return tuple((r, c) for r, c in beside if 0 <= r < self.rows and 0 <= c < self.columns)

    def _corner(self, row: int, column: int) -> tuple[float, float]:
        across, down = self.step_mm
        return self.left_mm + column * across, self.top_mm - row * down


def tiling_of(paper: Paper, box: Box, centres: Floats) -> Tiling:
    """Sheets over a box, upright or across, whichever needs fewer; upright where both need the same.

    centres: (n, 2) mm, kept away from the seams as far as the room left over allows.
    """
    sheets = (Sheet(paper, False), Sheet(paper, True))
    sheet = min(sheets, key=lambda each: sheets_needed(each, box)[0] * sheets_needed(each, box)[1])
    rows, columns = sheets_needed(sheet, box)
    width, height = sheet.window_mm
    left = _start(box[0], box[2], columns, width, centres[:, 0])
    # Down is along -y.
    top = -_start(-box[3], -box[1], rows, height, -centres[:, 1])
    return Tiling(sheet, rows, columns, left, top)


def sheets_needed(sheet: Sheet, box: Box) -> tuple[int, int]:
    """Rows and columns of sheets over a box."""
    width, height = sheet.window_mm
    return _count(box[3] - box[1], height), _count(box[2] - box[0], width)


def _count(size: float, window: float) -> int:
    return max(1, int(np.ceil((size - OVERLAP_MM) / (window - OVERLAP_MM) - 1e-9)))


def _start(low: float, high: float, count: int, window: float, centres: Floats) -> float:
    step = window - OVERLAP_MM
    slack = count * step + OVERLAP_MM - (high - low)
    starts = low - slack * np.linspace(0.0, 1.0, _PLACES_TRIED)
    # Both ends of every overlap: the edge of the sheet on top, and that of the one below.
    edges = step * np.arange(1, count)[:, None] + np.array((0.0, OVERLAP_MM))
    gaps = np.abs(starts[:, None, None] + edges.ravel()[:, None] - centres)
    nearest = np.minimum(gaps.min(axis=(1, 2), initial=np.inf), CLEAR_MM)
    # Of equals the one that has the drawing in the middle.
    off_middle = np.abs(starts - (low - 0.5 * slack))
    return float(starts[np.lexsort((off_middle, -np.round(nearest, 3)))[0]])


def pages_kept(tiling: Tiling, has_something: Callable[[Page], bool]) -> tuple[Page, ...]:
    """The sheets to print: those with something on them, and of the others those that hold the rest together.

    An empty sheet is left out where it lies at the edge and the others still join along whole edges without it.
    """
    kept = set(tiling.pages)
    empty = [page for page in tiling.pages if not has_something(page)]
    changed = True
    while changed:
        changed = False
        for page in [page for page in empty if page in kept]:
            beside = [other for other in tiling.neighbours(page) if other in kept]
            if len(kept) > 1 and len(beside) < 4 and _joined(tiling, kept - {page}):
                kept.remove(page)
                changed = True
    return tuple(page for page in tiling.pages if page in kept)


def _joined(tiling: Tiling, pages: set[Page]) -> bool:
    reached: set[Page] = set()
    waiting = [min(pages)]
    while waiting:
        page = waiting.pop()
        if page not in reached:
            reached.add(page)
            waiting += [other for other in tiling.neighbours(page) if other in pages]
    return reached == pages

"""A drawing at full scale over sheets of paper: how many sheets, which part on each."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.picture.paper import Paper
from beltplan.picture.scene import Box

MARGIN_MM = 6.0
"""Left blank at every edge: most printers reach to 5 mm from it. Common practice, no source."""
STRIP_MM = 11.5
"""Height kept at the foot of every sheet but the first."""


@dataclass(frozen=True)
class Sheet:
    """A paper laid upright or across. strip_mm: height kept at the foot of the first sheet."""

    paper: Paper
    across: bool
    strip_mm: float

    @property
    def size_mm(self) -> tuple[float, float]:
        return self.paper.sizes_mm()[self.across]

    @property
    def window_mm(self) -> tuple[float, float]:
        """Width and height of the part that shows the drawing, on every sheet but the first."""
        width, height = self.size_mm
        return width - 2.0 * MARGIN_MM, height - 2.0 * MARGIN_MM - STRIP_MM

    @property
    def first_mm(self) -> float:
        """Height of that part on the first sheet."""
        return self.window_mm[1] + STRIP_MM - self.strip_mm

    @property
    def words(self) -> str:
        return f"{self.paper.name} {'landscape' if self.across else 'portrait'}"


# A drawing at full scale laid over sheets of paper: how many, which part on each, which can be left out.

OVERLAP_MM = 15.0
"""What two neighbouring sheets both show: a centre's cross is whole on one of them wherever it stands."""
CLEAR_MM = 12.0
"""A seam so far from every centre is far enough."""
_PLACES_TRIED = 61
_TOP_SHARE = 0.5
"""Of the first row's height, what may stay blank above the drawing: so the first sheet printed is one of that row."""

Page = tuple[int, int]
"""Row and column, from 0 at the top left."""


@dataclass(frozen=True)
class Tiling:
    """Sheets over a drawing. left_mm, top_mm: corner of the first sheet's window, in the layout's frame.

    first: the sheet with the high strip, in the top row. The others of that row show more than the row is high.
    """

    sheet: Sheet
    rows: int
    columns: int
    left_mm: float
    top_mm: float
    first: Page = (0, 0)

    @property
    def pages(self) -> tuple[Page, ...]:
        return tuple((row, column) for row in range(self.rows) for column in range(self.columns))

    @property
    def whole(self) -> Box:
        """All that the sheets show when they are laid together."""
        right, bottom = self._corner(self.rows, self.columns)
        return (self.left_mm, bottom - OVERLAP_MM, right + OVERLAP_MM, self.top_mm)

    def window(self, page: Page) -> Box:
        left, top = self._corner(*page)
        width, height = self.sheet.window_mm
        return (left, top - (self.sheet.first_mm if page == self.first else height), left + width, top)

    def cell(self, page: Page) -> Box:
        """What is seen of a sheet when all are laid together, each over those before it."""
        (row, column), (_, low, far, _) = page, self.whole
        left, top = self._corner(row, column)
        right, bottom = self._corner(row + 1, column + 1)
        return (left, bottom if row + 1 < self.rows else low, right if column + 1 < self.columns else far, top)

    def neighbours(self, page: Page) -> tuple[Page, ...]:
        row, column = page
        beside = ((row - 1, column), (row, column - 1), (row, column + 1), (row + 1, column))
        return tuple((r, c) for r, c in beside if 0 <= r < self.rows and 0 <= c < self.columns)

    def _corner(self, row: int, column: int) -> tuple[float, float]:
        width, height = self.sheet.window_mm
        down = row * (height - OVERLAP_MM) - (height - self.sheet.first_mm if row else 0.0)
        return self.left_mm + column * (width - OVERLAP_MM), self.top_mm - down


def tiling_of(sheets: Sequence[Sheet], box: Box, centres: Floats) -> Tiling:
    """Sheets over a box, of the kind that needs the fewest; the first of equals.

    centres: (n, 2) mm, kept away from the seams as far as the room left over allows.
    """
    sheet = min(sheets, key=lambda each: math.prod(sheets_needed(each, box)))
    rows, columns = sheets_needed(sheet, box)
    (width, height), first = sheet.window_mm, sheet.first_mm
    left = _start(box[0], box[2], (width,) * columns, centres[:, 0])
    # Down is along -y.
    top = -_start(-box[3], -box[1], (first, *(height,) * (rows - 1)), -centres[:, 1], _TOP_SHARE * first)
    return Tiling(sheet, rows, columns, left, top)


def sheets_needed(sheet: Sheet, box: Box) -> tuple[int, int]:
    width, height = sheet.window_mm
    return _count(box[3] - box[1], sheet.first_mm, height), _count(box[2] - box[0], width, width)


def _count(size: float, first: float, window: float) -> int:
    return 1 + max(0, int(np.ceil((size - first) / (window - OVERLAP_MM) - 1e-9)))


def _start(low: float, high: float, windows: tuple[float, ...], centres: Floats, most: float = np.inf) -> float:
    # Where the first window begins: no further before the drawing than `most`.
    ends = np.cumsum(np.subtract(windows, OVERLAP_MM))
    slack = ends[-1] + OVERLAP_MM - (high - low)
    starts = low - min(slack, most) * np.linspace(0.0, 1.0, _PLACES_TRIED)
    # Both ends of every overlap: the edge of the sheet on top, and that of the one below.
    edges = ends[:-1, None] + np.array((0.0, OVERLAP_MM))
    gaps = np.abs(starts[:, None, None] + edges.ravel()[:, None] - centres)
    nearest = np.minimum(gaps.min(axis=(1, 2), initial=np.inf), CLEAR_MM)
    # Of equals the one that has the drawing in the middle.
    off_middle = np.abs(starts - (low - 0.5 * slack))
    return float(starts[np.lexsort((off_middle, -np.round(nearest, 3)))[0]])


def pages_kept(tiling: Tiling, has_something: Callable[[Page], bool]) -> tuple[Page, ...]:
    """The sheets to print: those with something on them, and of the others only what joins these along whole edges."""
    drawn = {page for page in tiling.pages if has_something(page)} or {tiling.pages[0]}
    kept = set(tiling.pages)
    for page in tiling.pages:
        if page not in drawn and drawn <= _joined(tiling, kept - {page}, min(drawn)):
            kept.remove(page)
    return tuple(sorted(kept))


def _joined(tiling: Tiling, pages: set[Page], start: Page) -> set[Page]:
    reached, waiting = set[Page](), [start]
    while waiting:
        page = waiting.pop()
        if page not in reached:
            reached.add(page)
            waiting += [other for other in tiling.neighbours(page) if other in pages]
    return reached

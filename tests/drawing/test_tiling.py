"""Sheets over a drawing: everything is on one of them, centres are whole, nothing needless is printed."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drawing.paper import (
    CLEAR_MM,
    MARGIN_MM,
    OVERLAP_MM,
    STRIP_MM,
    Page,
    Sheet,
    Tiling,
    pages_kept,
    sheets_needed,
    tiling_of,
)
from beltplan.drawing.strokes import CROSS_MM
from beltplan.geometry.vectors import Floats
from beltplan.picture.paper import PAPERS, Paper, paper_named
from beltplan.picture.scene import Box
from tests.for_each import for_each

PLACE = st.floats(-2000.0, 2000.0)
SIZE = st.floats(10.0, 1500.0)
PAPER = st.sampled_from(PAPERS)
SHARES = st.lists(st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)), min_size=1, max_size=12)
SHEET = Sheet(PAPERS[0], False, 50.0)
Made = tuple[Tiling, Box, Floats]


@st.composite
def tiled(draw: st.DrawFn) -> Made:
    x, y, width, height = draw(PLACE), draw(PLACE), draw(SIZE), draw(SIZE)
    box = (x, y, x + width, y + height)
    # As drawn: a cross and its arms lie inside the box.
    room = np.array((width, height)) - 2.0 * CROSS_MM
    centres = np.array((x, y)) + CROSS_MM + np.maximum(room, 0.0) * np.array(draw(SHARES))
    paper, strip_mm = draw(PAPER), draw(st.floats(STRIP_MM, 80.0))
    return tiling_of([Sheet(paper, across, strip_mm) for across in (False, True)], box, centres), box, centres


@given(tiled())
def test_cells_cover_the_box_once_and_lie_in_their_windows(made: Made) -> None:
    """Against areas of shapely."""
    tiling, box, _ = made
    cells = [shapely.box(*tiling.cell(page)) for page in tiling.pages]
    union = shapely.union_all(cells)
    assert union.area == pytest.approx(sum(cell.area for cell in cells), rel=1e-9)
    assert union.area == pytest.approx(shapely.box(*tiling.whole).area, rel=1e-9)
    assert union.buffer(1e-6).covers(shapely.box(*box))
    for page, cell in zip(tiling.pages, cells, strict=True):
        assert shapely.box(*tiling.window(page)).buffer(1e-6).covers(cell)


@given(tiled())
def test_every_cross_is_whole_on_a_sheet(made: Made) -> None:
    tiling, box, centres = made
    if min(box[2] - box[0], box[3] - box[1]) < 2.0 * CROSS_MM:
        return
    for x, y in centres:
        cross = shapely.box(x - CROSS_MM, y - CROSS_MM, x + CROSS_MM, y + CROSS_MM)
        assert any(shapely.box(*tiling.window(page)).buffer(1e-6).covers(cross) for page in tiling.pages)


@given(tiled())
def test_neighbours_share_the_overlap(made: Made) -> None:
    tiling, _, _ = made
    """The whole edge of the one; the other sheets of the first row reach lower than its first."""
    for page in tiling.pages:
        for other in tiling.neighbours(page):
            windows = [shapely.box(*tiling.window(each)) for each in (page, other)]
            left, bottom, right, top = windows[0].intersection(windows[1]).bounds
            width, height = right - left, top - bottom
            if page[1] == other[1]:
                assert width == pytest.approx(tiling.sheet.window_mm[0]) and height > OVERLAP_MM - 1e-6
            else:
                cells = [tiling.cell(each) for each in (page, other)]
                assert width == pytest.approx(OVERLAP_MM) and height > cells[0][3] - cells[0][1] - 1e-6


@given(tiled())
def test_a_sheet_but_the_first_shows_nearly_nine_tenths_of_its_paper(made: Made) -> None:
    tiling, _, _ = made
    paper = math.prod(tiling.sheet.size_mm)
    for page in tiling.pages:
        left, bottom, right, top = tiling.window(page)
        assert (right - left) * (top - bottom) / paper > (0.85 if page != tiling.first else 0.5)


@given(tiled())
def test_the_top_row_holds_the_top_of_the_drawing(made: Made) -> None:
    """So that the first sheet printed is one of that row, whose strip is high."""
    tiling, box, _ = made
    assert tiling.cell((0, 0))[1] < box[3] <= tiling.top_mm + 1e-6


@given(tiled())
def test_one_row_or_column_less_would_not_do_nor_the_sheet_laid_the_other_way(made: Made) -> None:
    tiling, box, _ = made
    width, height = tiling.sheet.window_mm
    if tiling.columns > 1:
        assert (tiling.columns - 1) * (width - OVERLAP_MM) + OVERLAP_MM < box[2] - box[0] + 1e-6
    if tiling.rows > 1:
        assert tiling.sheet.first_mm + (tiling.rows - 2) * (height - OVERLAP_MM) < box[3] - box[1] + 1e-6
    rows, columns = sheets_needed(Sheet(tiling.sheet.paper, not tiling.sheet.across, tiling.sheet.strip_mm), box)
    assert tiling.rows * tiling.columns <= rows * columns


@given(tiled(), PLACE, PLACE)
def test_a_shifted_drawing_has_its_sheets_shifted(made: Made, x: float, y: float) -> None:
    tiling, box, centres = made
    by = np.array((x, y))
    other = replace(tiling.sheet, across=not tiling.sheet.across)
    moved = tiling_of((tiling.sheet, other), (box[0] + x, box[1] + y, box[2] + x, box[3] + y), centres + by)
    assert abs(moved.rows - tiling.rows) + abs(moved.columns - tiling.columns) <= 1  # rounding at a whole sheet
    if moved.rows == tiling.rows and moved.columns == tiling.columns:
        # The grid moves along; where rounding prefers another start, it still lies within the room left over.
        slack = np.array(tiling.whole[2:]) - np.array(tiling.whole[:2]) - (box[2] - box[0], box[3] - box[1])
        off = np.array((moved.left_mm - tiling.left_mm, moved.top_mm - tiling.top_mm)) - by
        assert (np.abs(off) <= slack + 1e-6).all()


def test_seams_keep_off_centres_where_there_is_room() -> None:
    """A centre right where the middle seam of two upright A4 sheets would lie."""
    width, _ = SHEET.window_mm
    box = (0.0, 0.0, 1.6 * width, 150.0)
    middle = 0.8 * width + 0.5 * OVERLAP_MM
    tiling = tiling_of([SHEET], box, np.array([(middle, 75.0)]))
    seam = tiling.window((0, 1))[0]
    assert tiling.columns == 2
    assert min(abs(seam - middle), abs(seam + OVERLAP_MM - middle)) >= CLEAR_MM - 1e-3


@pytest.mark.parametrize(("share", "sheets"), [(0.99, 1), (1.01, 2)])
def test_window_is_the_limit_of_one_sheet(share: float, sheets: int) -> None:
    width, height = 210.0 - 2 * MARGIN_MM, 297.0 - 2 * MARGIN_MM - 50.0
    assert SHEET.window_mm[0] == width and SHEET.first_mm == height
    assert sheets_needed(SHEET, (0.0, 0.0, share * width, 0.99 * height)) == (1, sheets)
    assert sheets_needed(SHEET, (0.0, 0.0, 0.99 * width, share * height)) == (sheets, 1)


def grid(rows: int, columns: int) -> Tiling:
    return Tiling(SHEET, rows, columns, 0.0, 0.0)


@for_each(
    ("xx|xx", "xx|xx"),
    (".x|xx", ".x|xx"),  # a corner
    ("xxx|x.x|xxx", "xxx|x.x|xxx"),  # a hole: the others hold each other
    ("xx.|.xx", "xx.|.xx"),
    ("x.|.x", "x.|xx"),  # sheets that touch at a corner alone are joined by one of the others
    ("x..|...|..x", None),
    ("...|.x.|...", "...|.x.|..."),
    ("..|..", None),
)
def test_which_sheets_are_left_out(drawn: str, kept: str | None) -> None:
    rows = drawn.split("|")
    tiling = grid(len(rows), len(rows[0]))
    wanted = {(r, c) for r, c in tiling.pages if rows[r][c] == "x"}
    pages = pages_kept(tiling, lambda page: page in wanted)
    assert wanted <= set(pages) and pages == tuple(sorted(pages)) and joined(pages)
    if kept is not None:
        shown = "|".join(
            "".join("x" if (r, c) in pages else "." for c in range(len(rows[0]))) for r in range(len(rows))
        )
        assert shown == kept


@given(st.lists(st.lists(st.booleans(), min_size=4, max_size=4), min_size=1, max_size=4))
def test_kept_sheets_hold_all_that_is_drawn_and_join_along_edges(cells: list[list[bool]]) -> None:
    tiling = grid(len(cells), 4)
    pages = pages_kept(tiling, lambda page: cells[page[0]][page[1]])
    assert {page for page in tiling.pages if cells[page[0]][page[1]]} <= set(pages)
    assert len(pages) >= 1 and joined(pages)


def joined(pages: tuple[Page, ...]) -> bool:
    """Against shapely: squares that share edges make one area; those that share corners alone do not."""
    union = shapely.union_all([shapely.box(c, -r, c + 1, 1 - r) for r, c in pages])
    return bool(union.buffer(-1e-3).geom_type == "Polygon")


@for_each("A4", "a4", " Letter ", "TABLOID")
def test_papers_are_found_whatever_the_case(name: str) -> None:
    paper = paper_named(name)
    assert paper is not None and paper.name.lower() == name.strip().lower()


@for_each("", "B5", "A", "A44")
def test_other_names_are_no_paper(name: str) -> None:
    assert paper_named(name) is None


def test_upright_where_both_ways_need_the_same() -> None:
    square = [Sheet(Paper("square", 300.0, 300.0), across, 50.0) for across in (False, True)]
    assert not tiling_of(square, (0.0, 0.0, 50.0, 50.0), np.array([(25.0, 25.0)])).sheet.across


@given(SIZE, PAPER)
def test_a_drawing_without_centres_stands_in_the_middle_of_its_sheets(width: float, paper: Paper) -> None:
    tiling = tiling_of([Sheet(paper, False, 50.0)], (0.0, 0.0, width, 100.0), np.zeros((0, 2)))
    left, _, right, _ = tiling.whole
    assert -left == pytest.approx(right - width, abs=1e-6 * right)

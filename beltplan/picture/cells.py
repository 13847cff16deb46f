"""Layouts side by side in one picture: the drawings at one scale, what stands over and under each, and their table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from string import ascii_uppercase

import numpy as np

from beltplan.checks.comparison import Column, Comparison
from beltplan.checks.limits import Finding
from beltplan.picture.legend import mark_entries, routing_entries, scale_bar, sign_entry
from beltplan.picture.page import MARGIN_PT, Entry, Page, Paragraph, column, extent, height_pt, marks_of
from beltplan.picture.painter import paint
from beltplan.picture.routing import drawing_items, geometry_box
from beltplan.picture.scene import (
    INK,
    PAPER,
    SOFT_INK,
    Box,
    Item,
    Label,
    Scene,
    Shape,
    circle,
    moved,
    one_line,
    wrapped,
)
from beltplan.picture.unlaid import centre_of, path_findings, placed, unlaid_box, unlaid_entries, unlaid_items
from beltplan.report.columns import Columns
from beltplan.report.findings_text import in_units_of
from beltplan.report.rows import SideBySide
from beltplan.report.words import PICTURE_SAFETY

CELL_PT = 420.0
"""Width of a column's drawing."""
_LABEL_ROOM_PT = 62.0
"""Kept free on either side of the geometry, for labels that stand outside it."""
_TALLEST_PT = 330.0


def _one_scale_pt(columns: tuple[Column, ...]) -> float:
    """Points on paper for one mm: the one scale at which every drawing fits its cell."""
    wide = CELL_PT - 2.0 * _LABEL_ROOM_PT
    boxes = [_column_box(column) for column in columns]
    return min(min(wide / (box[2] - box[0]), _TALLEST_PT / (box[3] - box[1])) for box in boxes)


def _column_box(column: Column) -> Box:
    """The box round pulleys, belt and obstacles of a column, mm of its layout."""
    return unlaid_box(column.layout) if column.judged is None else geometry_box(column.judged.route)


def _signs_of(columns: tuple[Column, ...]) -> dict[str, str]:
    """A letter for every name that stands in any of the drawings: numbers are ranks and findings there."""
    names = dict.fromkeys(name for column in columns for name in parts_of(column))
    return {name: ascii_uppercase[i % 26] * (1 + i // 26) for i, name in enumerate(names)}


def parts_of(column: Column) -> dict[str, str]:
    """What is drawn of a column: names, and what each is."""
    pulleys = {pulley.name: pulley.role.replace("_", " ") for pulley in placed(column.layout)}
    return pulleys | {obstacle.name: "obstacle" for obstacle in column.layout.obstacles}


def _column_items(column: Column, signs: Mapping[str, str], unit_pt: float) -> list[Item]:
    """The drawing, in mm of the column's layout, with signs for its names and marks for its findings."""
    box = _column_box(column)
    middle, half = 0.5 * (box[0] + box[2]), 0.5 * CELL_PT / unit_pt
    edges = (middle - half, middle + half)
    if column.judged is None:
        return unlaid_items(column.layout, column.refusal, unit_pt, edges, signs)
    return drawing_items(column.judged.route, marks_of(column.judged.findings), unit_pt, edges, signs=signs)


def _level_of(column: Column) -> float:
    """Height at which the driver stands in its layout, mm: drawings side by side stand level by it."""
    return centre_of(column.layout.driver)[1]


def _reach_of(column: Column, items: list[Item], unit_pt: float) -> tuple[float, float]:
    """How far a drawing reaches over and under its driver's centre, mm."""
    drawn, level = extent(items, unit_pt), _level_of(column)
    return drawn[3] - level, level - drawn[1]


# What stands over and under the drawing of one column of a comparison: rank, name, verdict; what was found.

_BADGE_PT, _BESIDE_PT = 24.0, 31.0
_CELL_NAME_PT, _VERDICT_PT, _RANK_PT, _CELL_TEXT_PT = 13.0, 10.5, 11.0, 9.5


@dataclass(frozen=True)
class _Heading:
    """What stands over a drawing."""

    rank: int
    name: str
    verdict: str

    @property
    def height_pt(self) -> float:
        """Height that it takes."""
        return max(height_pt(self.paragraphs, CELL_PT - _BESIDE_PT), _BADGE_PT)

    @property
    def paragraphs(self) -> tuple[Paragraph, ...]:
        """Name and verdict, beside the rank."""
        return (
            Paragraph(self.name, _CELL_NAME_PT, INK, True, name="column"),
            Paragraph(self.verdict, _VERDICT_PT, INK, before_pt=1.0, name="verdict"),
        )

    def items(self, left: float, top: float, unit_pt: float) -> list[Item]:
        """The heading from a top left corner: the rank in a disc, name and verdict beside it."""
        pt = 1.0 / unit_pt
        x, y = left + 0.5 * _BADGE_PT * pt, top - 0.5 * _BADGE_PT * pt
        disc = Shape((circle(np.array((x, y)), 0.5 * _BADGE_PT * pt),), INK, name="rank")
        number = Label(str(self.rank), (x, y - 0.36 * _RANK_PT * pt), _RANK_PT, PAPER, True, "center", "rank")
        return [disc, number, *column(self.paragraphs, left + _BESIDE_PT * pt, top, CELL_PT - _BESIDE_PT, unit_pt)]


def _findings_of(shown: Column) -> tuple[Finding, ...]:
    judged = shown.judged
    return in_units_of(shown.layout, path_findings(shown.refusal) if judged is None else judged.findings)


def _found(shown: Column, page: Page) -> None:
    """Problems and cautions under a drawing, numbered as in it; or why there is no path."""
    findings = _findings_of(shown)
    page.findings(tuple(finding for finding in findings if finding.severity != "note"), marks_of(findings))


# The table under the drawings of a comparison, in blocks of as many columns as the sheet takes.

_LABEL_PT, _LEAST_PT, _WIDEST_PT, _GAP_PT = 150.0, 125.0, 390.0, 10.0
_TABLE_TEXT_PT, _LINE_PT, _BETWEEN_PT = 9.5, 12.5, 2.5
_BLOCK_PT = 12.0


def _set_table(table: Columns, page: Page) -> None:
    for block in table.blocks(max(1, int((page.width_pt - _LABEL_PT) // _LEAST_PT))):
        page.skip(_BLOCK_PT)
        each_pt = min(_WIDEST_PT, (page.width_pt - _LABEL_PT) / len(block.heads))
        _set_row(page, "", block.heads, each_pt, head=True)
        page.rule(_LABEL_PT + each_pt * len(block.heads))
        page.skip(_BETWEEN_PT)
        for label, cells in block.rows:
            _set_row(page, label, cells, each_pt)
            page.skip(_BETWEEN_PT)
        page.rule(_LABEL_PT + each_pt * len(block.heads))


def _set_row(page: Page, label: str, cells: tuple[str, ...], each_pt: float, head: bool = False) -> None:
    # Words that say more of the row above stand further in.
    inset = 10.0 if label.startswith(" ") else 0.0
    labels = wrapped(label.strip(), _LABEL_PT - _GAP_PT - inset, _TABLE_TEXT_PT)
    lines = [wrapped(cell, each_pt - _GAP_PT, _TABLE_TEXT_PT, head) for cell in cells]
    _set(page, labels, inset, False, SOFT_INK, "row")
    for i, words in enumerate(lines):
        _set(page, words, _LABEL_PT + i * each_pt, head, INK, "head" if head else "cell")
    page.skip(_LINE_PT * max(len(labels), *map(len, lines)))


def _set(page: Page, lines: tuple[str, ...], x_pt: float, bold: bool, colour: str, name: str) -> None:
    pt = 1.0 / page.unit_pt
    page.items += [
        Label(
            text, (page.left + x_pt * pt, page.y - (_LINE_PT * (i + 1) - 3.0) * pt), _TABLE_TEXT_PT, colour, bold,
            name=name,
        )
        for i, text in enumerate(lines)
        if text
    ]  # fmt: skip


# The whole sheet of a comparison: head, the drawings at one scale in rows, legend, table, rule, caution.

_GUTTER_PT, _AIR_PT = 26.0, 12.0
MOST_DRAWN = 24
"""Columns in one picture: the best by rank, in the order given."""
_FRAME_NOTE = "Seen from the front: x right, y up. All drawn to one scale. Degrees at a pulley: its wrap."


def compare_scene(shown: SideBySide) -> Scene:
    """Layouts side by side as a scene, in mm of the layouts."""
    comparison = shown.comparison
    which = tuple(sorted(comparison.order[:MOST_DRAWN]))
    columns = tuple(comparison.columns[i] for i in which)
    headings = tuple(_Heading(comparison.ranks[i], comparison.columns[i].name, shown.verdicts[i]) for i in which)
    across = grid_width(len(columns))
    width, unit_pt = across * (CELL_PT + _GUTTER_PT) - _GUTTER_PT, _one_scale_pt(columns)
    page, signs = Page(0.0, 0.0, width, unit_pt), _signs_of(columns)
    page.text(*_head(comparison, len(columns), shown.said))
    page.skip(6.0)
    page.rule()
    page.legend(_keys(columns, signs))
    for i in range(0, len(columns), across):
        _set_drawings(page, columns[i : i + across], headings[i : i + across], signs)
    _foot(page, columns, shown.table.only(which), shown.note)
    margin = MARGIN_PT / unit_pt
    return Scene((-margin, page.y - margin, width / unit_pt + margin, margin), unit_pt, tuple(page.items))


def grid_width(count: int) -> int:
    """How many drawings stand side by side: up to three, four as two and two."""
    return min(count, 2 if count == 4 else 3)


def _head(comparison: Comparison, drawn: int, said: str) -> tuple[Paragraph, ...]:
    titles = dict.fromkeys(each.layout.title for each in comparison.columns)
    most = len(comparison.columns)
    left_out = f"; the best {drawn} of {most} are drawn" if drawn < most else ""
    return (
        Paragraph("; ".join(titles), 17.0, INK, True, name="title"),
        Paragraph(f"{said}{left_out}.", 9.5, SOFT_INK, before_pt=2.0, name="rule"),
    )


def _keys(columns: tuple[Column, ...], signs: Mapping[str, str]) -> list[Entry]:
    """What the letters in all the drawings stand for."""
    entries = []
    for name, sign in signs.items():
        what = dict.fromkeys(parts_of(each)[name] for each in columns if name in parts_of(each))
        told = what.keys() == {name.replace("_", " ")}
        entries.append(sign_entry(sign, one_line(name) if told else f"{one_line(name)}: {', '.join(what)}"))
    return entries


def _set_drawings(
    page: Page, columns: tuple[Column, ...], headings: tuple[_Heading, ...], signs: Mapping[str, str]
) -> None:
    """Cells side by side, their drivers level."""
    unit_pt, pt = page.unit_pt, 1.0 / page.unit_pt
    drawings = [_column_items(each, signs, unit_pt) for each in columns]
    over, under = np.max([_reach_of(c, d, unit_pt) for c, d in zip(columns, drawings, strict=True)], axis=0)
    first = page.y - _AIR_PT * pt
    level = first - max(heading.height_pt for heading in headings) * pt - _AIR_PT * pt - float(over)
    below = level - float(under) - 0.5 * _AIR_PT * pt
    ends = []
    for i, (each, heading, drawing) in enumerate(zip(columns, headings, drawings, strict=True)):
        left, box = page.left + i * (CELL_PT + _GUTTER_PT) * pt, _column_box(each)
        found = Page(left, below, CELL_PT, unit_pt)
        _found(each, found)
        middle = left + 0.5 * CELL_PT * pt
        page.items += heading.items(left, first, unit_pt)
        page.items += moved(drawing, middle - 0.5 * (box[0] + box[2]), level - _level_of(each))
        page.items += found.items
        ends.append(found.y)
    page.y = min(ends) - _AIR_PT * pt


def _foot(page: Page, columns: tuple[Column, ...], table: Columns, note: str) -> None:
    page.rule()
    page.skip(4.0)
    page.legend(_entries(columns, page.unit_pt))
    page.skip(4.0)
    page.rule()
    _set_table(table, page)
    page.text(
        Paragraph(note, 9.0, SOFT_INK, before_pt=5.0, name="note"),
        Paragraph(_FRAME_NOTE, 9.0, SOFT_INK),
        Paragraph(PICTURE_SAFETY, 10.0, INK, True, 3.0, "caution"),
    )


def _entries(columns: tuple[Column, ...], unit_pt: float) -> list[Entry]:
    """What the legend holds: everything that any of the drawings does, each kind once."""
    every = {entry.text: entry for entry in [scale_bar(unit_pt, columns[0].layout.units)]}
    for each in columns:
        own = (
            unlaid_entries(each.layout, each.refusal)
            if each.judged is None
            else routing_entries(each.judged.route, (), unit_pt)
        )
        every |= {entry.text: entry for entry in own}
    return [*every.values(), *mark_entries(tuple(mark for each in columns for mark in marks_of(_findings_of(each))))]


# The same as a picture file.


def draw_side_by_side(shown: SideBySide, path: str) -> None:
    """Write the picture; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    paint(compare_scene(shown), path)

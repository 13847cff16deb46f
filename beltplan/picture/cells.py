"""Layouts side by side in one picture: the drawings at one scale, what stands over and under each, and their table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from beltplan.checks.comparison import Column
from beltplan.checks.limits import Finding
from beltplan.drive.layout import Layout
from beltplan.drive.travel import place_of
from beltplan.geometry.vectors import Floats
from beltplan.picture import pens
from beltplan.picture.legend import disc_entry, mark_entries, routing_entries, scale_bar, sign_entry
from beltplan.picture.page import (
    INSIDE_PT,
    MIDDLE_EM,
    Beside,
    Block,
    Entry,
    Figure,
    Gap,
    Led,
    Legend,
    Mark,
    Paragraph,
    Rule,
    Table,
    findings_blocks,
    legend,
    marked,
    page_of,
)
from beltplan.picture.routing import Wanted, closing_blocks, drawing_items, edges_of, verdict_block
from beltplan.picture.scene import Box, Item, Label, Scene, Shape, View, circle, extent, one_line, seen_box
from beltplan.picture.strokes import Drawn
from beltplan.picture.unlaid import path_findings, placed, unlaid_box, unlaid_entries, unlaid_items
from beltplan.report.answer import in_units_of
from beltplan.report.rows import SideBySide
from beltplan.report.screen import Columns
from beltplan.report.words import letters, role_words

MOST_DRAWN = 24
"""Columns in one picture: the best by rank, in the order given."""
GUTTER_PT = 24.0
_LABEL_ROOM_PT, _TALLEST_PT = 48.0, 330.0
"""Kept free on either side of the geometry, for labels that stand outside it; most height that it takes."""
_BADGE_PT, _BESIDE_PT, _RANK_PT = 24.0, 31.0, 11.0
MOST_COLUMNS = 5
"""In one table: more go on in another under it."""
_LABEL_SHARE, _WIDEST_SHARE = 0.2, 0.4
"""Width of a table's labels, and of its widest column, as shares of the page."""
_FRAME_NOTE = "Seen from the front: x right, y up. All drawn to one scale. Degrees at a pulley: its wrap."


def compare_scene(shown: SideBySide) -> Scene:
    comparison = shown.comparison
    which = tuple(sorted(comparison.order[:MOST_DRAWN]))
    columns = tuple(comparison.columns[i] for i in which)
    across = grid_width(len(columns))
    cells = _cells_of(columns, (INSIDE_PT - (across - 1) * GUTTER_PT) / across)
    headings = [
        _heading(comparison.ranks[i], column, shown.verdicts[i]) for i, column in zip(which, columns, strict=True)
    ]
    rows = [_row(cells[i : i + across], headings[i : i + across], across) for i in range(0, len(cells), across)]
    titles = dict.fromkeys(each.layout.title for each in comparison.columns)
    most = len(comparison.columns)
    left_out = f"; the best {len(columns)} of {most} are drawn" if len(columns) < most else ""
    blocks: list[Block] = [
        Paragraph("; ".join(titles), 17.0, pens.INK, True, name="title"),
        Paragraph(f"{shown.said}{left_out}.", 11.0, pens.INK, True, 2.0, "answer"),
        Rule(6.0),
        Legend(tuple(_key(sign, name, columns) for name, sign in _signs_of(columns).items())),
        *(block for row in rows for block in row),
        *legend(_entries(cells)),
        *_tables(shown.table.only(which)),
        Paragraph(shown.note, 9.0, pens.SOFT_INK, before_pt=3.0, name="note"),
        *closing_blocks(_FRAME_NOTE),
    ]
    return page_of(blocks, "; ".join(titles), f"{shown.said}.", cells[0].view.pt_per_mm)


def grid_width(count: int) -> int:
    """How many drawings stand side by side: two, so that a page of 800 pixels can be read."""
    return min(count, 2)


# The drawings: one scale, one sign for a name, one number for a finding, and what differs from the first.


@dataclass(frozen=True, eq=False)
class _Cell:
    """A column as it is drawn. level: height of its driver, points; marks: of its findings."""

    column: Column
    view: View
    marks: tuple[Mark, ...]
    items: list[Item]
    level: float
    changed: frozenset[str]

    @property
    def box(self) -> Box:
        return seen_box(_column_box(self.column), self.view)


def _cells_of(columns: tuple[Column, ...], width: float) -> list[_Cell]:
    boxes, signs = [_column_box(column) for column in columns], _signs_of(columns)
    wide = width - 2.0 * _LABEL_ROOM_PT
    view = View(min(min(wide / (box[2] - box[0]), _TALLEST_PT / (box[3] - box[1])) for box in boxes))
    return [
        _cell(*each, view, width, signs, columns[0].layout) for each in zip(columns, _marks_of(columns), strict=True)
    ]


def _cell(
    column: Column, marks: tuple[Mark, ...], view: View, width: float, signs: Mapping[str, str], first: Layout
) -> _Cell:
    box = seen_box(_column_box(column), view)
    changed = _changed(column.layout, first)
    before = (first.pulleys[name] for name in sorted(changed) if name in first.pulleys)
    rings = tuple(circle(view.at(place_of(old)), view.pt_per_mm * old.rim_radius_mm(first.belt)) for old in before)
    ghosts = [Shape((ring,), pen=pens.BEFORE, name="before") for ring in rings]
    if column.judged is None:
        items = unlaid_items(column.layout, column.refusal, marks, view, edges_of(box, width), signs)
    else:
        wanted = Wanted(edges_of(box, width), marks, rings, signs, changed)
        items = drawing_items(Drawn(column.judged.route, view), wanted)
    level = float(view.at(place_of(column.layout.driver))[1])
    return _Cell(column, view, marks, [*ghosts, *items], level, changed)


def _changed(layout: Layout, first: Layout) -> frozenset[str]:
    """Pulleys that are not as in the first drawing; none where most are: then it is another drive."""
    differ = frozenset(name for name, own in layout.pulleys.items() if own != first.pulleys.get(name))
    return differ if 2 * len(differ) <= len(layout.pulleys) else frozenset()


def _marks_of(columns: tuple[Column, ...]) -> list[tuple[Mark, ...]]:
    """The marks of every column: a finding keeps its number from drawing to drawing."""
    told = [_told(column) for column in columns]
    kinds = dict.fromkeys(map(_kind, marked(finding for own in told for finding in own)))
    numbers = {kind: number for number, kind in enumerate(kinds, 1)}
    every = ([Mark(numbers[_kind(finding)], finding) for finding in marked(own)] for own in told)
    return [tuple(sorted(own, key=lambda mark: mark.number)) for own in every]


def _kind(finding: Finding) -> tuple[object, ...]:
    return finding.check, finding.subject, finding.parts


def _told(column: Column) -> tuple[Finding, ...]:
    """What is found, in the units of the file; or why there is no path."""
    judged = column.judged
    return in_units_of(column.layout, path_findings(column.refusal) if judged is None else judged.findings)


def _column_box(column: Column) -> Box:
    """The box round pulleys, belt and obstacles of a column, mm of its layout."""
    return unlaid_box(column.layout) if column.judged is None else Drawn(column.judged.route).box


def _signs_of(columns: tuple[Column, ...]) -> dict[str, str]:
    """A letter for every name that stands in any of the drawings: numbers are ranks and findings there."""
    names = dict.fromkeys(name for column in columns for name in parts_of(column))
    return {name: letters(number) for number, name in enumerate(names)}


def parts_of(column: Column) -> dict[str, str]:
    """What is drawn of a column: names, and what each is."""
    pulleys = {pulley.name: role_words(pulley.role) for pulley in placed(column.layout)}
    return pulleys | {obstacle.name: "obstacle" for obstacle in column.layout.obstacles}


# What stands round the drawings.


def _row(cells: list[_Cell], headings: list[Block], across: int) -> list[Block]:
    """Cells side by side, their drivers level."""
    reaches = [extent(cell.items) for cell in cells]
    under = min(reach[1] - cell.level for reach, cell in zip(reaches, cells, strict=True))
    over = max(reach[3] - cell.level for reach, cell in zip(reaches, cells, strict=True))
    figures = [
        Figure(cell.items, (cell.box[0], cell.level + under, cell.box[2], cell.level + over), 10.0) for cell in cells
    ]
    found = [tuple(findings_blocks((), cell.marks)) for cell in cells]
    return [
        Gap(12.0),
        Beside(tuple((each,) for each in headings), GUTTER_PT, across),
        Beside(tuple((each,) for each in figures), GUTTER_PT, across),
        Beside(tuple(found), GUTTER_PT, across),
        Gap(12.0),
    ]


def _heading(rank: int, column: Column, verdict: str) -> Block:
    """Rank, name and verdict of a column."""
    findings = () if column.judged is None else column.judged.findings
    words = (Paragraph(column.name, 13.0, pens.INK, True, name="column"), verdict_block(verdict, findings, 10.0))

    def badge(at: Floats) -> list[Item]:
        x, y = at[0] + 0.5 * _BADGE_PT, at[1]
        number = Label(str(rank), (x, y - MIDDLE_EM * _RANK_PT), _RANK_PT, pens.PAPER, True, "center", "rank")
        return [Shape((circle((x, y), 0.5 * _BADGE_PT),), pens.INK, name="rank"), number]

    return Led(badge, words, _BESIDE_PT, _BADGE_PT)


def _key(sign: str, name: str, columns: tuple[Column, ...]) -> Entry:
    """What a letter in all the drawings stands for."""
    what = dict.fromkeys(parts_of(each)[name] for each in columns if name in parts_of(each))
    told = what.keys() == {role_words(name)}
    return sign_entry(sign, one_line(name) if told else f"{one_line(name)}: {', '.join(what)}")


def _tables(table: Columns) -> list[Block]:
    """The table in as few blocks as hold all columns."""
    made: list[Block] = []
    for block in table.blocks(MOST_COLUMNS):
        share = min((1.0 - _LABEL_SHARE) / len(block.heads), _WIDEST_SHARE)
        shares = (_LABEL_SHARE, *(share for _ in block.heads))
        rows = tuple((label, *cells) for label, cells in block.rows)
        made += [Gap(6.0), Table(("", *block.heads), rows, shares)]
    return made


def _entries(cells: list[_Cell]) -> list[Entry]:
    """What the legend holds: everything that any of the drawings does, each kind once."""
    every = {entry.text: entry for entry in [scale_bar(cells[0].view.pt_per_mm, cells[0].column.layout.units)]}
    for cell in cells:
        column = cell.column
        laid = None if column.judged is None else Drawn(column.judged.route, cell.view)
        own = unlaid_entries(column.layout, column.refusal) if laid is None else routing_entries(laid)[1:]
        every |= {entry.text: entry for entry in own}
    changed = [disc_entry("differs from the first", pens.RIM, pens.CHANGED)] if any(c.changed for c in cells) else []
    has_ghosts = any(item.name == "before" for cell in cells for item in cell.items)
    ghosts = [disc_entry("as in the first", pens.BEFORE, "")] if has_ghosts else []
    return [*every.values(), *changed, *ghosts, *mark_entries(mark for cell in cells for mark in cell.marks)]

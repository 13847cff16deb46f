"""Layouts side by side in one picture: the drawings at one scale, what stands over and under each, and their table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from beltplan.checks.comparison import Column, Comparison, about
from beltplan.checks.limits import Finding
from beltplan.drive.layout import Layout
from beltplan.drive.travel import place_of
from beltplan.geometry.vectors import Floats
from beltplan.picture import page, pens, scene
from beltplan.picture.legend import disc_entry, mark_entries, routing_entries, scale_bar, sign_entry
from beltplan.picture.routing import Wanted, closing_blocks, drawing_items, edges_of, scale_pt, verdict_block
from beltplan.picture.scene import Box, Item, Label, Scene, Shape, View
from beltplan.picture.strokes import Drawn
from beltplan.picture.unlaid import path_findings, unlaid_box, unlaid_entries, unlaid_items
from beltplan.report.answer import in_units_of
from beltplan.report.rows import SideBySide
from beltplan.report.screen import Columns
from beltplan.report.words import letters, role_words

MOST_DRAWN = 6
"""Columns in one picture where no number is asked for: the best by rank, in the order given."""
ACROSS = 2
"""Drawings side by side: a page of 800 pixels can be read."""
GUTTER_PT = 24.0
_LABEL_ROOM_PT, _TALLEST_PT = 48.0, 330.0
"""Kept free on either side of the geometry, for labels that stand outside it; most height that it takes."""
_BADGE_PT, _BESIDE_PT, _RANK_PT = 24.0, 31.0, 11.0
_NAME_PT, _LONG_NAME_PT = 13.0, 10.5
"""Letters of a column's name, and of one that takes more than a line."""
MOST_COLUMNS = 5
"""In one table: more go on in another under it."""
_MOST_MARKS = 10
"""Findings that can be told apart in a drawing beside another."""
_FEW = " Of so many findings the problems alone are numbered; `beltplan check` tells the cautions."
_LABEL_SHARE, _WIDEST_SHARE = 0.2, 0.4
"""Width of a table's labels, and of its widest column, as shares of the page."""
_FRAME_NOTE = "Seen from the front: x right, y up. All drawn to one scale. Degrees at a pulley: its wrap."


def compare_scene(shown: SideBySide, most_drawn: int = MOST_DRAWN) -> Scene:
    comparison = shown.comparison
    which = tuple(sorted(comparison.order[:most_drawn]))
    columns = tuple(comparison.columns[i] for i in which)
    across = min(len(columns), ACROSS)
    drawn = replace(comparison, columns=columns)
    few = _is_crowded(drawn)
    shared, marks = _marks_of(drawn, few)
    cells = _cells_of(columns, marks, (page.INSIDE_PT - (across - 1) * GUTTER_PT) / across)
    badges = shown.badges or tuple(map(str, comparison.ranks))
    headings = [
        _heading(badges[i], shown.names[i], column, shown.verdicts[i]) for i, column in zip(which, columns, strict=True)
    ]
    rows = [_row(cells[i : i + across], headings[i : i + across], across) for i in range(0, len(cells), across)]
    titles = dict.fromkeys(each.layout.title for each in comparison.columns)
    most = len(comparison.columns)
    left_out = f"; the best {len(columns)} of {most} are drawn" if len(columns) < most else ""
    blocks: list[page.Block] = [
        page.Paragraph(f"{shown.said}{left_out}.", 11.0, pens.INK, True, 2.0, "answer"),
        *([page.Paragraph(shown.to_do, 10.5, pens.INK, before_pt=2.0, name="to do")] if shown.to_do else []),
        page.Rule(6.0),
        page.Legend(tuple(_key(sign, name, columns) for name, sign in _signs_of(columns).items())),
        *(block for row in rows for block in row),
        *_shared_blocks(shared, columns),
        *page.legend(_entries(cells)),
        *_tables(shown.table.only(which)),
        page.Paragraph(f"{shown.note}{_FEW if few else ''}", 9.0, pens.SOFT_INK, before_pt=3.0, name="note"),
        *closing_blocks(_FRAME_NOTE),
    ]
    return page.page_of("; ".join(titles), blocks, f"{shown.said}.", cells[0].view.pt_per_mm)


# The drawings: one scale, one sign for a name, one number for a finding, and what differs from the first.


@dataclass(frozen=True, eq=False)
class _Cell:
    """A column as it is drawn. level: height of its driver, points; marks: of its findings; own: those no other has."""

    column: Column
    view: View
    marks: tuple[page.Mark, ...]
    own: tuple[page.Mark, ...]
    items: list[Item]
    level: float
    changed: frozenset[str]
    box: Box


def _cells_of(columns: tuple[Column, ...], marks: list[_Marks], width: float) -> list[_Cell]:
    signs, wide = _signs_of(columns), width - 2.0 * _LABEL_ROOM_PT
    view = View(min(scale_pt(_column_box(column), wide, _TALLEST_PT) for column in columns))
    return [_cell(*each, view, width, signs, columns[0].layout) for each in zip(columns, marks, strict=True)]


def _cell(column: Column, numbered: _Marks, view: View, width: float, signs: Mapping[str, str], first: Layout) -> _Cell:
    own, shared = numbered
    marks = (*own, *shared)
    box = scene.seen_box(_column_box(column), view)
    changed = _changed(column.layout, first)
    before = (first.pulleys[name] for name in sorted(changed) if name in first.pulleys)
    rings = tuple(
        scene.circle(view.at(place_of(old)), view.pt_per_mm * old.rim_radius_mm(first.belt)) for old in before
    )
    ghosts = [Shape((ring,), pen=pens.BEFORE, name="before") for ring in rings]
    if column.plan is None:
        items = unlaid_items(column.layout, column.refusal, marks, view, edges_of(box, width), signs)
    else:
        wanted = Wanted(edges_of(box, width), marks, rings, signs, changed)
        items = drawing_items(Drawn(column.plan.route, view), wanted)
    level = float(view.at(place_of(column.layout.driver))[1])
    return _Cell(column, view, marks, own, [*ghosts, *items], level, changed, box)


def _changed(layout: Layout, first: Layout) -> frozenset[str]:
    """Pulleys that are not as in the first drawing; none where most are: then it is another drive."""
    differ = frozenset(name for name, own in layout.pulleys.items() if own != first.pulleys.get(name))
    return differ if 2 * len(differ) <= len(layout.pulleys) else frozenset()


_Marks = tuple[tuple[page.Mark, ...], tuple[page.Mark, ...]]
"""Of one drawing: what it has alone, or why there is no path; and what every drawing has."""


def _is_crowded(comparison: Comparison) -> bool:
    """Whether problems alone are marked: each drawing has some, and one more findings than can be told apart."""
    plans = [column.plan for column in comparison.columns]
    counts = [(each.count("problem"), each.count("caution")) for each in plans if each is not None]
    return all(problems for problems, _ in counts) and max(map(sum, counts), default=0) > _MOST_MARKS


def _marks_of(comparison: Comparison, only_problems: bool) -> tuple[tuple[page.Mark, ...], list[_Marks]]:
    """What every drawing has, as it is listed once, and the marks of each: numbered from 1 on, the shared ones last."""

    def told(findings: Sequence[Finding]) -> tuple[Finding, ...]:
        return tuple(each for each in findings if each.severity == "problem" or not only_problems)

    columns, shared = comparison.columns, told(comparison.shared)
    found = [path_findings(each.refusal) if each.plan is None else told(comparison.own(each)) for each in columns]
    own = [page.marks_of(in_units_of(*each)) for each in zip((each.layout for each in columns), found, strict=True)]
    worded = in_units_of(columns[0].layout, shared)
    after = max(map(len, own))
    listed = tuple(replace(mark, number=after + mark.number) for mark in page.marks_of(worded))
    number = {id(mark.finding): mark.number for mark in listed}
    numbers = {about(raw): number[id(each)] for raw, each in zip(shared, worded, strict=True) if id(each) in number}
    common = [
        tuple(page.Mark(numbers[about(f)], f) for f in each.findings if about(f) in numbers) if each is not None else ()
        for each in (column.plan for column in columns)
    ]
    return listed, list(zip(own, common, strict=True))


def _column_box(column: Column) -> Box:
    """The box round pulleys, belt and obstacles of a column, mm of its layout."""
    return unlaid_box(column.layout) if column.plan is None else Drawn(column.plan.route).box


def _signs_of(columns: tuple[Column, ...]) -> dict[str, str]:
    names = dict.fromkeys(name for column in columns for name in parts_of(column))
    return {name: letters(number) for number, name in enumerate(names)}


def parts_of(column: Column) -> dict[str, str]:
    pulleys = {pulley.name: role_words(pulley.role) for pulley in column.layout.placed}
    return pulleys | {obstacle.name: "obstacle" for obstacle in column.layout.obstacles}


# What stands round the drawings.


def _row(cells: list[_Cell], headings: list[page.Block], across: int) -> list[page.Block]:
    """Cells side by side, their drivers level."""
    reaches = [scene.extent(cell.items) for cell in cells]
    under = min(reach[1] - cell.level for reach, cell in zip(reaches, cells, strict=True))
    over = max(reach[3] - cell.level for reach, cell in zip(reaches, cells, strict=True))
    figures = [
        page.Figure(cell.items, (cell.box[0], cell.level + under, cell.box[2], cell.level + over), 10.0)
        for cell in cells
    ]
    found = [tuple(page.findings_blocks((), cell.own)) for cell in cells]
    if len(cells) < across:
        # What is found stands in the room beside the last drawing.
        beside = ((headings[0], figures[0]), (page.Gap(_BADGE_PT), *found[0]))
        return [page.Gap(12.0), page.Beside(beside, GUTTER_PT, across), page.Gap(12.0)]
    return [
        page.Gap(12.0),
        page.Beside(tuple((each,) for each in headings), GUTTER_PT, across),
        page.Beside(tuple((each,) for each in figures), GUTTER_PT, across),
        page.Beside(tuple(found), GUTTER_PT, across),
        page.Gap(12.0),
    ]


def _shared_blocks(shared: tuple[page.Mark, ...], columns: tuple[Column, ...]) -> list[page.Block]:
    if not shared:
        return []
    every = "In both drawings:" if len(columns) == 2 else "In every drawing:"
    told = "In every drawing that has a belt path:" if any(column.refusal for column in columns) else every
    return [
        page.Paragraph(told, 10.0, pens.INK, True, name="shared"),
        *page.findings_blocks((), shared),
        page.Gap(12.0),
    ]


def _heading(badge: str, name: str, column: Column, verdict: str) -> page.Block:
    findings = () if column.plan is None else column.plan.findings
    one_line_pt = (page.INSIDE_PT - GUTTER_PT) / 2 - _BESIDE_PT
    size = _NAME_PT if scene.text_width_pt(name, _NAME_PT, True) <= one_line_pt else _LONG_NAME_PT
    words = (page.Paragraph(name, size, pens.INK, True, name="column"), verdict_block(verdict, findings, 10.0))

    def disc(at: Floats) -> list[Item]:
        x, y = at[0] + 0.5 * _BADGE_PT, at[1]
        number = Label(badge, (x, y - page.MIDDLE_EM * _RANK_PT), _RANK_PT, pens.PAPER, True, "center", "rank")
        return [Shape((scene.circle((x, y), 0.5 * _BADGE_PT),), pens.INK, name="rank"), number]

    return page.Led(disc, words, _BESIDE_PT, _BADGE_PT)


def _key(sign: str, name: str, columns: tuple[Column, ...]) -> page.Entry:
    what = dict.fromkeys(parts_of(each)[name] for each in columns if name in parts_of(each))
    told = what.keys() == {role_words(name)}
    return sign_entry(sign, scene.one_line(name) + ("" if told else f": {', '.join(what)}"))


def _tables(table: Columns) -> list[page.Block]:
    made: list[page.Block] = []
    for block in table.blocks(MOST_COLUMNS):
        share = min((1.0 - _LABEL_SHARE) / len(block.heads), _WIDEST_SHARE)
        shares = (_LABEL_SHARE, *(share for _ in block.heads))
        rows = tuple((label, *cells) for label, cells in block.rows)
        made += [page.Gap(6.0), page.Table(("", *block.heads), rows, shares)]
    return made


def _entries(cells: list[_Cell]) -> list[page.Entry]:
    laid = [Drawn(column.plan.route, cell.view) for cell in cells if (column := cell.column).plan is not None]
    unlaid = (unlaid_entries(cell.column.layout, cell.column.refusal) for cell in cells if cell.column.plan is None)
    entries = routing_entries(*laid) if laid else [scale_bar(cells[0].view.pt_per_mm, cells[0].column.layout.units)]
    every = {entry.text: entry for entry in (*entries, *chain.from_iterable(unlaid))}
    changed = [disc_entry("differs from the first", pens.RIM, pens.CHANGED)] if any(c.changed for c in cells) else []
    has_ghosts = any(item.name == "before" for cell in cells for item in cell.items)
    ghosts = [disc_entry("as in the first", pens.BEFORE, "")] if has_ghosts else []
    return [*every.values(), *changed, *ghosts, *mark_entries(mark for cell in cells for mark in cell.marks)]

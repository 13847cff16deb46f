"""The whole sheet of a comparison: head, the drawings at one scale in rows, legend, table, rule, caution."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from beltplan.plots.compare_cell import Heading, found_height_pt, found_items
from beltplan.plots.compare_routing import (
    CELL_PT,
    column_box,
    column_items,
    level_of,
    one_scale_pt,
    parts_of,
    reach_of,
    signs_of,
)
from beltplan.plots.compare_table import Table, table_items
from beltplan.plots.legend import (
    Entry,
    legend_height_pt,
    legend_items,
    mark_entries,
    routing_entries,
    scale_bar,
    sign_entry,
)
from beltplan.plots.lettering import one_line
from beltplan.plots.marks import marks_of
from beltplan.plots.palette import INK, SOFT_INK
from beltplan.plots.scene import Item, Scene, moved
from beltplan.plots.sheet import Paragraph, column, height_pt, rule
from beltplan.studies.compare import Column, Comparison
from beltplan.studies.ranking import RULE

MARGIN_PT, GUTTER_PT, AIR_PT = 28.0, 26.0, 12.0
MOST_DRAWN = 24
"""Columns in one picture: the best by rank, in the order given."""
FRAME_NOTE = "Seen from the front: x right, y up. All drawn to one scale. Degrees at a pulley: its wrap."
CAUTION = (
    "Planning aid from the measurements given, never an approval; engine off, battery disconnected, guards back on."
)


def compare_scene(
    comparison: Comparison, verdicts: tuple[str, ...], table: Table, said: str = f"Ranked by {RULE}"
) -> Scene:
    """A comparison as a scene, in mm of its layouts.

    verdicts, table: of every column, in their order. said: what stands under the title.
    """
    which = tuple(sorted(comparison.order[:MOST_DRAWN]))
    columns = tuple(comparison.columns[i] for i in which)
    headings = tuple(Heading(comparison.ranks[i], comparison.columns[i].name, verdicts[i]) for i in which)
    across = grid_width(len(columns))
    width, unit_pt = across * (CELL_PT + GUTTER_PT) - GUTTER_PT, one_scale_pt(columns)
    items, y = _head(comparison, len(columns), said, width, unit_pt)
    signs = signs_of(columns)
    keys, y = _keys(columns, signs, y, width, unit_pt)
    items += keys
    for i in range(0, len(columns), across):
        drawn, y = _row_of(columns[i : i + across], headings[i : i + across], signs, y, unit_pt)
        items += drawn
    foot, bottom = _foot(columns, table.only(which), y, width, unit_pt)
    margin, pt = MARGIN_PT / unit_pt, 1.0 / unit_pt
    return Scene((-margin, bottom - margin, width * pt + margin, margin), unit_pt, (*items, *foot))


def grid_width(count: int) -> int:
    """How many drawings stand side by side: up to three, four as two and two."""
    return min(count, 2 if count == 4 else 3)


def _head(comparison: Comparison, drawn: int, said: str, width: float, unit_pt: float) -> tuple[list[Item], float]:
    titles = dict.fromkeys(each.layout.title for each in comparison.columns)
    most = len(comparison.columns)
    left_out = f"; the best {drawn} of {most} are drawn" if drawn < most else ""
    paragraphs = (
        Paragraph("; ".join(titles), 17.0, INK, True, name="title"),
        Paragraph(f"{said}{left_out}.", 9.5, SOFT_INK, before_pt=2.0, name="rule"),
    )
    end = -(height_pt(paragraphs, width) + 6.0) / unit_pt
    return [*column(paragraphs, 0.0, 0.0, width, unit_pt), rule(0.0, end, width / unit_pt)], end


def _keys(
    columns: tuple[Column, ...], signs: Mapping[str, str], top: float, width: float, unit_pt: float
) -> tuple[list[Item], float]:
    """What the letters in all the drawings stand for."""
    entries = []
    for name, sign in signs.items():
        what = dict.fromkeys(parts_of(each)[name] for each in columns if name in parts_of(each))
        told = what.keys() == {name.replace("_", " ")}
        entries.append(sign_entry(sign, one_line(name) if told else f"{one_line(name)}: {', '.join(what)}"))
    return legend_items(entries, 0.0, top, width, unit_pt), top - legend_height_pt(entries, width) / unit_pt


def _row_of(
    columns: tuple[Column, ...], headings: tuple[Heading, ...], signs: Mapping[str, str], top: float, unit_pt: float
) -> tuple[list[Item], float]:
    """Cells side by side, their drivers level."""
    pt = 1.0 / unit_pt
    drawings = [column_items(each, signs, unit_pt) for each in columns]
    over, under = np.max([reach_of(c, d, unit_pt) for c, d in zip(columns, drawings, strict=True)], axis=0)
    first = top - AIR_PT * pt
    level = first - max(heading.height_pt for heading in headings) * pt - AIR_PT * pt - float(over)
    below = level - float(under) - 0.5 * AIR_PT * pt
    items: list[Item] = []
    for i, (each, heading, drawing) in enumerate(zip(columns, headings, drawings, strict=True)):
        left, box = i * (CELL_PT + GUTTER_PT) * pt, column_box(each)
        middle = left + 0.5 * CELL_PT * pt
        items += heading.items(left, first, unit_pt)
        items += moved(drawing, middle - 0.5 * (box[0] + box[2]), level - level_of(each))
        items += found_items(each, left, below, unit_pt)
    return items, below - (max(map(found_height_pt, columns)) + AIR_PT) * pt


def _foot(
    columns: tuple[Column, ...], table: Table, top: float, width: float, unit_pt: float
) -> tuple[list[Item], float]:
    pt = 1.0 / unit_pt
    entries = _entries(columns, unit_pt)
    y = top
    items: list[Item] = [rule(0.0, y, width * pt)]
    items += legend_items(entries, 0.0, y - 4.0 * pt, width, unit_pt)
    y -= (legend_height_pt(entries, width) + 8.0) * pt
    items.append(rule(0.0, y, width * pt))
    rows, y = table_items(table, 0.0, y, width, unit_pt)
    closing = (
        Paragraph(table.note, 9.0, SOFT_INK, before_pt=5.0, name="note"),
        Paragraph(FRAME_NOTE, 9.0, SOFT_INK),
        Paragraph(CAUTION, 10.0, INK, True, 3.0, "caution"),
    )
    return [*items, *rows, *column(closing, 0.0, y, width, unit_pt)], y - height_pt(closing, width) * pt


def _entries(columns: tuple[Column, ...], unit_pt: float) -> list[Entry]:
    """What the legend holds: everything that any of the drawings does, each kind once."""
    every = {entry.text: entry for entry in [scale_bar(unit_pt)]}
    for each in columns:
        if each.judged is not None:
            every |= {entry.text: entry for entry in routing_entries(each.judged.route, (), unit_pt)}
    found = [marks_of(each.judged.findings) for each in columns if each.judged is not None]
    return [*every.values(), *mark_entries(tuple(mark for marks in found for mark in marks))]

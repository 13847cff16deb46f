"""Elements of the page: text in mm and inches beside each other, and the blocks of a report, with heads, in both."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import zip_longest
from typing import get_args
from xml.etree.ElementTree import Element

from beltplan.drive.layout import Units
from beltplan.report.screen import Block, Column, Columns, Paragraph, Table, in_units, length_text, told_columns
from beltplan.report.words import unbroken

Child = str | Element | None


def element(tag: str, *children: Child, **attributes: object) -> Element:
    """An element with text and elements in it. Attributes: `class_` for class, `_` for a dash; None is left out."""
    given = {key.removesuffix("_").replace("_", "-"): str(v) for key, v in attributes.items() if v is not None}
    made = Element(tag, given)
    last: Element | None = None
    for child in children:
        if isinstance(child, Element):
            made.append(child)
            last = child
        elif child and last is None:
            made.text = (made.text or "") + child
        elif child and last is not None:
            last.tail = (last.tail or "") + child
    return made


def either(mm: str, inches: str) -> list[Child]:
    """A text in both units, of which the reader sees one; alone where they are the same."""
    return _coded(mm) if mm == inches else [*elements_of_length("span", mm, inches)]


def elements_of_length(tag: str, mm: str, inches: str, **attributes: object) -> list[Element]:
    shown = {None: mm} if mm == inches else {"mm": mm, "in": inches}
    return [element(tag, *_coded(text), **attributes, class_=units) for units, text in shown.items()]


def lengths(*mm: float) -> tuple[str, str]:
    first, second = (", ".join(length_text(each, 1, units) for each in mm) for units in get_args(Units))
    return f"{first} mm", f"{second} in"


def _coded(text: str) -> list[Child]:
    return [element("code", part) if i % 2 else part for i, part in enumerate(unbroken(text).split("`"))]


def told(text: str) -> list[Child]:
    return either(text, in_units(text, "in"))


# Blocks of a report: what a screen shows.


def elements_of(blocks: Iterable[Block], caption: str) -> list[Element]:
    """The blocks one after the other, empty lines left out. caption: of their tables."""
    return [_element(block, caption) for block in blocks if block != ""]


def _element(block: Block, caption: str) -> Element:
    if isinstance(block, Table):
        return table_of(block, caption)
    if isinstance(block, Columns):
        return side_by_side(block, block, caption)
    if isinstance(block, Paragraph):
        lead = block.first.strip()
        return element("p", element("b", f"{lead} ") if lead else None, *told(block.text))
    return element("h3", block) if block.isupper() else element("p", *told(block))


def table_of(table: Table, caption: str) -> Element:
    """A table with a head over every column; each row is headed by the first of its columns of words."""
    head = next((i for i, column in enumerate(table.columns) if column.left), 0)
    columns = zip(_paired(table, "mm"), _paired(table, "in"), strict=True)
    cells = [_column(*pair, number == head) for number, pair in enumerate(columns)]
    return _table(caption, [[cell for column in cells for cell in column[row]] for row in range(len(table.rows) + 1)])


def _paired(table: Table, units: str) -> list[list[tuple[Column, list[str]]]]:
    shown: list[list[tuple[Column, list[str]]]] = []
    for column, cells in told_columns(table, "in" if units == "in" else "mm"):
        if column.scale != 1.0:
            shown[-1].append((column, cells))
        else:
            shown.append([(column, cells)])
    return shown


def _column(
    mm: list[tuple[Column, list[str]]], inches: list[tuple[Column, list[str]]], is_head: bool
) -> list[list[Element]]:
    column, cells = mm[0]
    side = "left" if column.left else None
    rows = [
        [_told(row, is_head, either(one, other), side)]
        for row, (one, other) in enumerate(zip(cells, inches[0][1], strict=True))
    ]
    for _, pounds in inches[1:]:
        for row, pound in enumerate(pounds):
            rows[row].append(_told(row, False, [pound], "in"))
    return rows


def _told(row: int, is_head: bool, words: list[Child], class_: str | None) -> Element:
    tag, scope = ("th", "col") if row == 0 else ("th", "row") if is_head else ("td", None)
    return element(tag, *words, class_=class_, scope=scope)


def _table(caption: str, rows: list[list[Element]]) -> Element:
    body = [element("tr", *row) for row in rows]
    whole = element("table", element("caption", caption), element("thead", body[0]), element("tbody", *body[1:]))
    return element("div", whole, class_="wide")


def side_by_side(mm: Columns, inches: Columns, caption: str) -> Element:
    head = [element("td"), *(element("th", name, scope="col") for name in mm.heads)]
    rows = [
        [
            element("th", *either(label, other), scope="row", class_="left"),
            *(element("td", *either(*pair)) for pair in zip_longest(cells, others)),
        ]
        for (label, cells), (other, others) in zip(mm.rows, inches.rows, strict=True)
    ]
    return _table(caption, [head, *rows])

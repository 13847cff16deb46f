"""The strip at the foot of every sheet of a template: on the first all that is to be known, elsewhere three lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from beltplan.checks.plan import Plan
from beltplan.drawing.control import Control, checked_words, control_words, loud_words, told
from beltplan.drawing.marks import cut_edges, page_words
from beltplan.drawing.paper import MARGIN_MM, Page, Tiling
from beltplan.drawing.strokes import DOT_MM, PENS, TRIANGLE_MM, Drawing
from beltplan.drive.layout import Units
from beltplan.geometry.loops import arc
from beltplan.geometry.vectors import TURN, Floats
from beltplan.picture import pens, scene
from beltplan.picture.legend import line_symbol
from beltplan.picture.page import Beside, Block, Entry, Gap, Laid, Led, Legend, Paragraph, Symbol, Table, stacked
from beltplan.picture.paper import MM_PT, Paper
from beltplan.picture.routing import belt_words
from beltplan.report.words import PRINT_SAFETY

_PRINT_WORDS = 'Print at 100 % (no "fit to page"); measure the check scales first, both ways.'
_JOIN_WORDS = (
    "Cut off the left and the top along the line. Row by row, lay every sheet over those before it: its cut edge on "
    "their dotted line, equal letters meeting. Tape."
)
_ONE_SHEET_WORDS = "One sheet holds all of it."
_FRAME_WORDS = "Seen from the front; x right, y up, from the layout's origin."
_FACE_WORDS = "this face toward you, this way up"
_LOUD_PT, _TITLE_PT, _STRONG_PT, _TEXT_PT, _SMALL_PT = 12.5, 10.0, 8.5, 7.0, 6.5
_LINE_EM = 1.2
_MAP_PT = np.array((72.0, 40.0))
_GAP_PT = 6.0
_SHARES = (0.44, 0.28, 0.28)


@dataclass(frozen=True, eq=False)
class Heading:
    """What the sheets say. source: file and day."""

    plan: Plan
    source: str

    @property
    def colour(self) -> str:
        return pens.PROBLEM if self.plan.count("problem") or self.again else pens.INK

    @property
    def again(self) -> str:
        return f"Measure again {self.plan.layout.in_doubt}" if self.plan.layout.in_doubt else ""


@dataclass(frozen=True)
class _Ends:
    """A line of words flush left and one flush right. The left one is cut where both do not fit, but not its tail."""

    left: scene.Label
    right: str = ""
    tail: str = ""
    up: bool = False
    """Whether the right words are bold, with an arrow before them that points up."""

    def laid(self, left: float, top: float, width: float) -> Laid:
        own, y = self.left, top - _LINE_EM * self.left.size_pt
        base, beside = y + 0.3 * own.size_pt, scene.text_width_pt(self.right, _TEXT_PT, self.up) + 14.0 * self.up
        room = width - beside - _GAP_PT * bool(self.right)
        text = scene.cut_to(own.text, room, own.size_pt, own.bold, self.tail)
        items: list[scene.Item] = [replace(own, text=text, at=(left, base))]
        if self.right:
            name = "face" if self.up else "right"
            items.append(scene.Label(self.right, (left + width, base), _TEXT_PT, pens.INK, self.up, "right", name))
        if self.up:
            tip = np.array((left + width - beside + 5.0, base + 7.5))
            items.append(scene.Stroke(np.stack((tip - (0.0, 10.0), tip - (0.0, 4.0))), pens.PRINT_BELT_LINE, "way up"))
            items.append(scene.Shape((scene.arrow_head(tip, np.array((0.0, 1.0)), 6.0),), pens.INK, name="way up"))
        return items, y


def strip_mm(heading: Heading, drawing: Drawing, paper: Paper, across: bool) -> float:
    width = (paper.sizes_mm()[across][0] - 2.0 * MARGIN_MM) * MM_PT
    return -stacked(_first(heading, drawing, "", _JOIN_WORDS, lambda _: []), 0.0, 0.0, width)[1] / MM_PT


def strip_items(
    heading: Heading, drawing: Drawing, controls: Sequence[Control], tiling: Tiling, pages: tuple[Page, ...], page: Page
) -> list[scene.Item]:
    (left, bottom, right, _), (row, column) = tiling.window(page), page
    number = f"sheet {page_words(page)} ({pages.index(page) + 1} of {len(pages)})"
    place = f"{number}, row {row + 1} of {tiling.rows}, column {column + 1} of {tiling.columns}"
    if page == pages[0]:
        joining = _JOIN_WORDS if len(pages) > 1 else _ONE_SHEET_WORDS
        blocks = _first(heading, drawing, place, joining, partial(_map_items, drawing, tiling, pages, page))
    else:
        measured = control_words(controls, heading.plan.layout.units)
        head, *length = [heading.again] if heading.again else measured.rsplit(" ", 2)
        control = _left(head, _TEXT_PT, "control", True)
        cut_at = " and ".join(cut_edges(pages, page))
        cut_off = f"cut off {cut_at}" if cut_at else ""
        tail, source = " ".join(("", *length)), f"{heading.source}; {place}"
        blocks = [_loud(heading), _Ends(control, cut_off, tail), _title(heading, _TEXT_PT, source)]
    return stacked(blocks, left * MM_PT, bottom * MM_PT, (right - left) * MM_PT)[0]


def _first(heading: Heading, drawing: Drawing, place: str, joining: str, small_map: Symbol) -> list[Block]:
    control = control_words(drawing.controls(), heading.plan.layout.units)
    texts = [
        Paragraph(checked_words(heading.plan.findings), _STRONG_PT, heading.colour, True, name="checked"),
        *([Paragraph(control, _TEXT_PT, pens.INK, True, name="control")] if control else []),
        Paragraph(f"{belt_words(heading.plan.route)}. {_FRAME_WORDS}", _TEXT_PT, pens.SOFT_INK, name="belt"),
        Paragraph(PRINT_SAFETY, _TEXT_PT, pens.INK, True, name="caution"),
    ]
    beside = (Paragraph(joining, _SMALL_PT, pens.INK, name="joining"), Legend(_entries(drawing), _SMALL_PT))
    return [
        _loud(heading),
        *([Paragraph(heading.again, _STRONG_PT, heading.colour, True, name="doubt")] if heading.again else []),
        _title(heading, _TITLE_PT),
        _Ends(_left(heading.source, _TEXT_PT, "source", False), tail=f"; {place}"),
        _Ends(_left(_PRINT_WORDS, _STRONG_PT, "print", True)),
        *texts,
        *_table(drawing, heading.plan.layout.units),
        Gap(3.0),
        Led(small_map, beside, float(_MAP_PT[0]) + _GAP_PT, float(_MAP_PT[1])),
    ]


def _left(text: str, size_pt: float, name: str, bold: bool, colour: str = pens.INK) -> scene.Label:
    return scene.Label(text, (0.0, 0.0), size_pt, colour, bold, name=name)


def _loud(heading: Heading) -> Block:
    return _Ends(_left(loud_words(heading.plan), _LOUD_PT, "loud", True, heading.colour), _FACE_WORDS, up=True)


def _title(heading: Heading, size_pt: float, beside: str = "") -> Block:
    # A long title is cut, but not the variant: it is what tells two prints apart.
    tail = f" {scene.one_line(f'(variant: {heading.plan.layout.variant})')}" if heading.plan.layout.variant else ""
    left = _left(heading.plan.layout.title, size_pt, "title", size_pt == _TITLE_PT)
    return _Ends(left, beside, tail)


def _table(drawing: Drawing, units: Units) -> list[Block]:
    if not drawing.others:
        return []
    head = ("not drawn", f"x, {units}", f"y, {units}")
    rows = [(spot.name, *(told(each, units) for each in spot.at_mm)) for spot in drawing.others]
    half = -(-len(rows) // 2)
    tables = (Table(head, tuple(part), _SHARES, frozenset({1, 2})) for part in (rows[:half], rows[half:]) if part)
    return [Beside(tuple((table,) for table in tables), of=2)]


def _map_items(
    drawing: Drawing, tiling: Tiling, pages: tuple[Page, ...], page: Page, at: Floats
) -> Sequence[scene.Item]:
    """A small map of the sheets with the belt's path: this one framed twice, those left out crossed through."""
    left, bottom, right, top = tiling.whole
    scale = float((_MAP_PT / (right - left, top - bottom)).min())
    origin = at + np.array((0.0, 0.5 * _MAP_PT[1])) - scale * np.array((left, top))
    names = ("belt_line ", "pulleys ") if drawing.only is not None else ("belt_line ",)
    lines = [stroke.points for stroke in drawing.strokes if stroke.name.startswith(names)]
    items: list[scene.Item] = [scene.Stroke(origin + scale * points, pens.PRINT_FRAME, "map line") for points in lines]
    for each in tiling.pages:
        ring = origin + scale * scene.rectangle(tiling.cell(each))
        items.append(scene.Shape((ring,), pen=pens.PRINT_FRAME, name=f"map {page_words(each)}"))
        if each not in pages:
            items += [scene.Stroke(ring[[i, i + 2]], pens.PRINT_FRAME, "map left out") for i in (0, 1)]
    here = origin + scale * scene.rectangle(tiling.cell(page))
    return [*items, scene.Shape((here,), pen=pens.PRINT_BELT_LINE, name="map here")]


def _entries(drawing: Drawing) -> tuple[Entry, ...]:
    held: set[str] = {stroke.name.split(" ")[0] for stroke in drawing.shown}
    held |= {spot.layer for spot in drawing.own}
    slots, holes = ({name for name in drawing.drilled if word in name} for word in (" slot ", " hole "))
    lines = (
        ("belt_line", "belt line", pens.PRINT_BELT_LINE),
        ("belt_edges", "belt faces", pens.PRINT_BELT_FACE),
        ("pulleys", "rims", pens.PRINT_RIM),
        ("adjuster", "adjuster: stops, travel", pens.PRINT_ADJUSTER),
        ("obstacles", "obstacles", pens.PRINT_OBSTACLE),
        ("control", "to be measured", pens.PRINT_CONTROL),
    )
    every = (
        *((layer in held, words, line_symbol(pen, 10.0)) for layer, words, pen in lines),
        ("centres" in held, "centre; dot: punch here", _punched),
        ("marks" in held, "mark, no pulley: punch it only where you need it", _punched),
        ("datum" in held, "datum point: lay the print on it, do not punch", _datum),
        (bool(holes), "bolt hole, diameter written: punch its dot", _hole),
        (bool(slots), "slot: a dot at both ends", _slot),
    )
    return tuple(Entry(words, symbol, 20.0) for is_there, words, symbol in every if is_there)


def _punched(at: Floats) -> list[scene.Item]:
    return [
        *scene.cross(at, 4.5, pens.PRINT_CROSS, "legend"),
        scene.Shape((scene.circle(at, DOT_MM * MM_PT),), pens.INK, name="legend"),
    ]


def _datum(at: Floats) -> list[scene.Item]:
    return [*_punched(at), scene.Stroke(at + MM_PT * TRIANGLE_MM, pens.PRINT_CROSS, "legend")]


def _hole(at: Floats) -> list[scene.Item]:
    return [*_punched(at), scene.Shape((scene.circle(at, 3.0),), pen=PENS["holes"], name="legend")]


def _slot(at: Floats) -> list[scene.Item]:
    ends = [at + np.array((side, 0.0)) for side in (-5.0, 5.0)]
    sides = [arc(end, 3.0, side * 0.25 * TURN, 0.5 * TURN) for end, side in zip(ends, (1.0, -1.0), strict=True)]
    around = scene.Shape((np.concatenate(sides),), pen=PENS["holes"], name="legend")
    return [around, *(item for end in ends for item in _punched(end))]

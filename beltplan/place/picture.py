"""The picture of a map of places: head, map under the routing, legend, caution."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.drive.belt import format_designation
from beltplan.drive.fit import UNLISTED
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats, Ints
from beltplan.picture.chart import chain_length, contour_chains, outline_chains
from beltplan.picture.labels import Anchor, Block, Line, Writer, areas_of
from beltplan.picture.legend import line_symbol, routing_entries
from beltplan.picture.page import Entry, Page, Paragraph, edges_of, page_round
from beltplan.picture.painter import paint
from beltplan.picture.routing import closing_words, drawing_items, geometry_box, keep_out_of, scale_pt
from beltplan.picture.scene import (
    BELT_CLASSES,
    CAUTION_FREE_EDGE,
    EQUAL_MARGIN,
    INK,
    OUTLINE,
    PAPER,
    PATH_BUT_PROBLEM,
    PLACE_EDGE,
    SOFT_INK,
    Box,
    Item,
    Label,
    Pen,
    Point,
    Raster,
    Scene,
    Shape,
    Stroke,
    box_round,
    circle,
    rectangle,
)
from beltplan.place.study import CAUTION, NO_PATH, SOUND, PlaceMap

_LEVELS_PERCENT = (2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100)
_MOST_LEVELS = 4
_SHORTEST_PT = 36.0
"""A line of equal margin shorter than this is left out."""


@dataclass(frozen=True)
class _BeltClass:
    """Belts that share a colour. first, last: designations, the same where the class is one belt."""

    first: str
    last: str
    colour: str

    @property
    def words(self) -> str:
        """What the legend says."""
        return self.first if self.first == self.last else f"{self.first} to {self.last}"


@dataclass(frozen=True)
class _Layers:
    """The layers. lines: chains of equal margin with their level in %; classes: in order of length.

    regions: outlines of the places without a problem.
    """

    items: tuple[Item, ...]
    classes: tuple[_BeltClass, ...]
    lines: tuple[tuple[int, Floats], ...]
    regions: tuple[Floats, ...]


def layers_of(found: PlaceMap, view: Box, unit_pt: float) -> _Layers:
    """The map, back to front: colours (no more than in `view`, mm), edges of the regions, lines of equal margin."""
    classes, numbers = _classes(found)
    colours = (PATH_BUT_PROBLEM, *(own.colour for own in classes))
    works, free = (_outlines(found, state) for state in (CAUTION, SOUND))
    lines = _lines(found, unit_pt)
    strokes = [Stroke(chain, EQUAL_MARGIN, f"margin {level} %") for level, chain in lines]
    strokes += [Stroke(chain, PLACE_EDGE, "no problem") for chain in works]
    strokes += [Stroke(chain, CAUTION_FREE_EDGE, "no caution") for chain in free]
    return _Layers((_raster(found, numbers, colours, view), *strokes), classes, lines, works)


def _outlines(found: PlaceMap, state: int) -> tuple[Floats, ...]:
    if min(found.states.shape) < 2:
        return ()
    return tuple(outline_chains(found.grid.x_mm, found.grid.y_mm, found.states >= state))


def _raster(found: PlaceMap, numbers: Ints, colours: tuple[str, ...], view: Box) -> Raster:
    x, y, half = found.grid.x_mm, found.grid.y_mm, 0.5 * found.grid.step_mm
    columns = np.flatnonzero((x - half >= view[0]) & (x + half <= view[2]))
    rows = np.flatnonzero((y - half >= view[1]) & (y + half <= view[3]))
    if not len(columns) or not len(rows):
        return Raster((view[0], view[1], view[0], view[1]), np.full((1, 1), -1), colours, "map")
    x, y = x[columns], y[rows]
    box = (float(x[0]) - half, float(y[0]) - half, float(x[-1]) + half, float(y[-1]) + half)
    return Raster(box, numbers[np.ix_(rows, columns)], colours, "map")


def _reach_of(found: PlaceMap) -> Box | None:
    """The box round every place without a problem; None where there is none."""
    rows, columns = np.nonzero(found.states >= CAUTION)
    if not len(rows):
        return None
    x, y, half = found.grid.x_mm[columns], found.grid.y_mm[rows], found.grid.step_mm
    return (float(x.min()) - half, float(y.min()) - half, float(x.max()) + half, float(y.max()) + half)


def _classes(found: PlaceMap) -> tuple[tuple[_BeltClass, ...], Ints]:
    """The belts by colour, and the colour's number at every place: 0 for a path with a problem, -1 for no path."""
    works = found.states >= CAUTION
    belt = np.nan_to_num(found.field("belt"), nan=-1.0).astype(int)
    numbers = np.where(found.states > NO_PATH, 0, -1)
    held = _groups(belt[works])
    classes: list[_BeltClass] = []
    for own in held:
        colour = BELT_CLASSES[round(len(classes) * (len(BELT_CLASSES) - 1) / max(1, len(held) - 1))]
        classes.append(_BeltClass(_belt_words(found, own[0]), _belt_words(found, own[-1]), colour))
        numbers[works & np.isin(belt, own)] = len(classes)
    return tuple(classes), numbers


def _groups(belt: Ints) -> list[Ints]:
    """Belts that share a colour, shorter first; before them what no list holds, which shares with none."""
    every = np.unique(belt)
    listed, unlisted = every[every >= 0], every[every == UNLISTED]
    groups = np.array_split(listed, len(BELT_CLASSES) - len(unlisted))
    return [group for group in (unlisted, *groups) if len(group)]


def _belt_words(found: PlaceMap, belt: int) -> str:
    return "none listed: ask a supplier" if belt == UNLISTED else format_designation(found.judged.belts[belt])


def _lines(found: PlaceMap, unit_pt: float) -> tuple[tuple[int, Floats], ...]:
    share = 100.0 * np.where(found.states >= CAUTION, found.field("own_margin"), np.nan)
    every = [(level, contour_chains(found.grid.x_mm, found.grid.y_mm, share, level)) for level in _LEVELS_PERCENT]
    held = [(level, chains) for level, chains in every if chains]
    step = -(-len(held) // _MOST_LEVELS) if held else 1
    return tuple(
        (level, chain)
        for level, chains in held[::-1][::step][::-1]
        for chain in chains
        if chain_length(chain) * unit_pt > _SHORTEST_PT
    )


# The whole sheet of a map of places: head, map under the routing, legend, caution.

_MARK_PT = 6.0
_LEVEL_PT = 8.0

_Marked = tuple[str, Point]
"""A place by its name on the picture: 'now' or 'best'."""


def place_scene(
    route: Route, found: PlaceMap | None, marked: tuple[_Marked, ...], moved: tuple[str, ...], words: tuple[str, ...]
) -> Scene:
    """A map under a routing as a scene in mm of the layout.

    found: None for a picture without a map. moved: the pulleys that are moved, drawn so that the map shows through.
    words: lines for the head, the title first.
    """
    box = _view(route, found, marked)
    unit_pt = scale_pt(box)
    edges = edges_of(box, unit_pt)
    layers = None if found is None else layers_of(found, box, unit_pt)
    drawing = _drawing(route, layers, marked, moved, unit_pt, edges)
    title, *others = words
    head = (
        Paragraph(title, 17.0, INK, True, name="title"),
        *(Paragraph(text, 10.5, SOFT_INK, before_pt=2.0, name="words") for text in others),
    )

    def foot(page: Page) -> None:
        for entries in (_map_entries(layers), routing_entries(route, (), unit_pt)):
            page.rule()
            page.skip(4.0)
            page.legend(entries)
            page.skip(4.0)
        page.rule()
        page.text(*closing_words())

    return page_round(drawing, head, foot, edges, unit_pt)


def _view(route: Route, found: PlaceMap | None, marked: tuple[_Marked, ...]) -> Box:
    """The box of the drawing: the geometry, the places without a problem, and the marked ones; mm."""
    boxes = [geometry_box(route), *((x, y, x, y) for _, (x, y) in marked)]
    reach = None if found is None else _reach_of(found)
    return box_round(np.array(boxes if reach is None else [*boxes, reach]).reshape(-1, 2))


def _drawing(
    route: Route,
    layers: _Layers | None,
    marked: tuple[_Marked, ...],
    moved: tuple[str, ...],
    unit_pt: float,
    edges: tuple[float, float],
) -> list[Item]:
    kept_clear = (*_spots(marked, unit_pt), *(() if layers is None else layers.regions))
    routing = [_see_through(item, moved) for item in drawing_items(route, (), unit_pt, edges, kept_clear)]
    labels = [item for item in routing if isinstance(item, Label)]
    marks = [item for name, at in marked for item in _mark_of(name, np.array(at), 1.0 / unit_pt)]
    writer = _writer(route, labels, kept_clear, unit_pt, edges)
    for name, at in marked:
        block = Block((Line(name, 10.0, INK, True, f"mark {name}"),), name=name)
        writer.beside(block, (Anchor(at, (_MARK_PT + 2.0) / unit_pt, 0.25 * np.pi),))
    under: list[Item] = [] if layers is None else [*layers.items]
    return [*under, *routing, *marks, *writer.items, *_levels(writer, layers)]


def _see_through(item: Item, moved: tuple[str, ...]) -> Item:
    if isinstance(item, Shape) and item.name in {f"rim {name}" for name in moved}:
        return replace(item, fill="")
    return item


def _spots(marked: tuple[_Marked, ...], unit_pt: float) -> tuple[Floats, ...]:
    """What the marks cover, as outlines."""
    reach = 2.0 * _MARK_PT / unit_pt
    return tuple(rectangle((x - reach, y - reach, x + reach, y + reach)) for _, (x, y) in marked)


def _writer(
    route: Route, labels: list[Label], kept_clear: tuple[Floats, ...], unit_pt: float, edges: tuple[float, float]
) -> Writer:
    keep_out = keep_out_of(route, unit_pt, edges)
    keep_out = replace(keep_out, areas=keep_out.areas + areas_of(kept_clear))
    for label in labels:
        keep_out = keep_out.with_box(label.box(unit_pt))
    return Writer(keep_out, unit_pt)


def _levels(writer: Writer, layers: _Layers | None) -> list[Item]:
    """The level of every line of equal margin, on the line, where nothing else is written."""
    items: list[Item] = []
    pt = 1.0 / writer.unit_pt
    for level, chain in () if layers is None else layers.lines:
        for point in chain[:: max(1, len(chain) // 24)]:
            at = (float(point[0]), float(point[1]) - 0.36 * _LEVEL_PT * pt)
            label = Label(f"{level} %", at, _LEVEL_PT, INK, False, "center", "level")
            box = label.box(writer.unit_pt)
            if not _over(box, writer.keep_out.boxes, 6.0 * pt) and not _on_belt(writer, point, box):
                items += [Shape((rectangle(box),), PAPER, name="level"), label]
                writer.keep_out = writer.keep_out.with_box(box)
                break
    return items


def _over(box: Box, boxes: Floats, gap: float) -> bool:
    apart = (boxes[:, 0] > box[2] + gap) | (boxes[:, 2] < box[0] - gap)
    apart |= (boxes[:, 1] > box[3] + gap) | (boxes[:, 3] < box[1] - gap)
    return bool((~apart).any())


def _on_belt(writer: Writer, point: Floats, box: Box) -> bool:
    keep_out, reach = writer.keep_out, 0.6 * (box[2] - box[0])
    step = keep_out.end - keep_out.start
    share = np.clip(((point - keep_out.start) * step).sum(axis=1) / (step * step).sum(axis=1), 0.0, 1.0)
    near = np.hypot(*(point - keep_out.start - share[:, None] * step).T)
    rims = np.abs(np.hypot(*(point - keep_out.centre).T) - keep_out.radius)
    return bool((near < keep_out.half + reach).any() or (rims < reach).any())


def _mark_of(name: str, at: Floats, pt: float) -> list[Item]:
    """A cross for the present place, a star for the best."""
    if name != "best":
        arms = _MARK_PT * pt * np.array([[(-1.0, -1.0), (1.0, 1.0)], [(-1.0, 1.0), (1.0, -1.0)]])
        crossed = [Stroke(at + arm, Pen(colour, width), f"mark {name}") for colour, width in _CROSS for arm in arms]
        return [*crossed]
    turn = 0.5 * np.pi + np.arange(10) * 0.2 * np.pi
    size = _MARK_PT * 1.35 * pt * np.where(np.arange(10) % 2, 0.45, 1.0)
    star = at + size[:, None] * np.stack((np.cos(turn), np.sin(turn)), axis=-1)
    halo = Shape((circle(at, 1.9 * _MARK_PT * pt),), PAPER, Pen(INK, 0.8), name="halo best")
    return [halo, Shape((star,), INK, name="mark best")]


_CROSS = ((PAPER, 5.0), (INK, 2.2))
"""White under black, to be seen on any ground."""


def _map_entries(layers: _Layers | None) -> list[Entry]:
    if layers is None:
        return [_mark_entry("now", "now"), _mark_entry("best", "best pair of places")]
    entries = [_swatch(own.words, own.colour) for own in layers.classes]
    entries.append(_swatch("belt path, but a problem", PATH_BUT_PROBLEM))
    lines = [
        ("edge of the places without a problem", PLACE_EDGE),
        ("edge of the places without a caution", CAUTION_FREE_EDGE),
        *([("worst margin of those that the place changes, % of its limit", EQUAL_MARGIN)] if layers.lines else []),
    ]
    entries += [Entry(words, line_symbol(pen, 12.0), 24.0) for words, pen in lines]
    return [*entries, _mark_entry("now", "now"), _mark_entry("best", "best place")]


def _swatch(text: str, colour: str) -> Entry:
    def symbol(at: Floats, pt: float) -> list[Item]:
        x, y = float(at[0]), float(at[1])
        box = (x - 11.0 * pt, y - 6.0 * pt, x + 11.0 * pt, y + 6.0 * pt)
        return [Shape((rectangle(box),), colour, OUTLINE, name="swatch")]

    return Entry(text, symbol, 22.0)


def _mark_entry(name: str, text: str) -> Entry:
    return Entry(text, lambda at, pt: _mark_of(name, at, 0.8 * pt), 20.0)


# A map of places, or the best pair of places, as a picture file.


def draw_places(
    route: Route,
    found: PlaceMap | None,
    marked: tuple[_Marked, ...],
    moved: tuple[str, ...],
    words: tuple[str, ...],
    path: str,
) -> None:
    """Write the picture of a map; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    paint(place_scene(route, found, marked, moved, words), path)

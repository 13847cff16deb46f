"""The picture of a map of places: head, map under the routing, legend, caution."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.drive.belt import format_designation
from beltplan.drive.fit import UNLISTED
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats, Ints
from beltplan.picture import pens
from beltplan.picture.chart import chain_length, contour_chains, outline_chains
from beltplan.picture.labels import Anchor, Block, Line, Writer, areas_of
from beltplan.picture.legend import line_symbol, routing_entries, swatch
from beltplan.picture.page import Block as PageBlock
from beltplan.picture.page import Entry, Paragraph, figure, legend, page_of
from beltplan.picture.pens import Pen
from beltplan.picture.routing import (
    Wanted,
    closing_blocks,
    drawing_items,
    edges_of,
    foot,
    geometry_box,
    keep_out_of,
    scale_pt,
)
from beltplan.picture.scene import (
    Box,
    Item,
    Label,
    Point,
    Raster,
    Scene,
    Shape,
    Stroke,
    View,
    box_about,
    box_round,
    circle,
    rectangle,
    seen_box,
)
from beltplan.picture.strokes import Drawn
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
    """The map on paper. lines: chains of equal margin with their level in %; classes: in order of length.

    regions: outlines of the places without a problem.
    """

    items: tuple[Item, ...]
    classes: tuple[_BeltClass, ...]
    lines: tuple[tuple[int, Floats], ...]
    regions: tuple[Floats, ...]


def layers_of(found: PlaceMap, around: Box, view: View) -> _Layers:
    """The map, back to front: colours (no more than in a box, mm), edges of the regions, lines of equal margin."""
    classes, numbers = _classes(found)
    colours = (pens.PATH_BUT_PROBLEM, *(own.colour for own in classes))
    works, free = (tuple(map(view.at, _outlines(found, state))) for state in (CAUTION, SOUND))
    every = ((level, view.at(chain)) for level, chain in _lines(found))
    lines = tuple((level, chain) for level, chain in every if chain_length(chain) > _SHORTEST_PT)
    strokes = [Stroke(chain, pens.EQUAL_MARGIN, f"margin {level} %") for level, chain in lines]
    strokes += [Stroke(chain, pens.PLACE_EDGE, "no problem") for chain in works]
    strokes += [Stroke(chain, pens.CAUTION_FREE_EDGE, "no caution") for chain in free]
    raster = _raster(found, numbers, colours, around).seen(view)
    return _Layers((raster, *strokes), classes, lines, works)


def _outlines(found: PlaceMap, state: int) -> tuple[Floats, ...]:
    if min(found.states.shape) < 2:
        return ()
    return tuple(outline_chains(found.grid.x_mm, found.grid.y_mm, found.states >= state))


def _raster(found: PlaceMap, numbers: Ints, colours: tuple[str, ...], around: Box) -> Raster:
    x, y, half = found.grid.x_mm, found.grid.y_mm, 0.5 * found.grid.step_mm
    columns = np.flatnonzero((x - half >= around[0]) & (x + half <= around[2]))
    rows = np.flatnonzero((y - half >= around[1]) & (y + half <= around[3]))
    if not len(columns) or not len(rows):
        return Raster((around[0], around[1], around[0], around[1]), np.full((1, 1), -1), colours, "map")
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
        colour = pens.BELT_CLASSES[round(len(classes) * (len(pens.BELT_CLASSES) - 1) / max(1, len(held) - 1))]
        classes.append(_BeltClass(_belt_words(found, own[0]), _belt_words(found, own[-1]), colour))
        numbers[works & np.isin(belt, own)] = len(classes)
    return tuple(classes), numbers


def _groups(belt: Ints) -> list[Ints]:
    """Belts that share a colour, shorter first; before them what no list holds, which shares with none."""
    every = np.unique(belt)
    listed, unlisted = every[every >= 0], every[every == UNLISTED]
    groups = np.array_split(listed, len(pens.BELT_CLASSES) - len(unlisted))
    return [group for group in (unlisted, *groups) if len(group)]


def _belt_words(found: PlaceMap, belt: int) -> str:
    return "none listed: ask a supplier" if belt == UNLISTED else format_designation(found.judged.belts[belt])


def _lines(found: PlaceMap) -> list[tuple[int, Floats]]:
    """Where the worst margin crosses a few levels: the level in %, and the chain, mm."""
    share = 100.0 * np.where(found.states >= CAUTION, found.field("own_margin"), np.nan)
    every = [(level, contour_chains(found.grid.x_mm, found.grid.y_mm, share, level)) for level in _LEVELS_PERCENT]
    held = [(level, chains) for level, chains in every if chains]
    step = -(-len(held) // _MOST_LEVELS) if held else 1
    return [(level, chain) for level, chains in held[::-1][::step][::-1] for chain in chains]


# The whole sheet of a map of places: head, map under the routing, legend, caution.

_MARK_PT = 6.0
_LEVEL_PT = 8.0

_Marked = tuple[str, Point]
"""A place by its name on the picture: 'now' or 'best'."""


def place_scene(
    route: Route, found: PlaceMap | None, marked: tuple[_Marked, ...], moved: tuple[str, ...], words: tuple[str, ...]
) -> Scene:
    """A map under a routing.

    found: None for a picture without a map. moved: the pulleys that are moved, drawn so that the map shows through.
    words: lines for the head, the title first.
    """
    box = _view(route, found, marked)
    drawn = Drawn(route, View(scale_pt(box)))
    around = seen_box(box, drawn.view)
    layers = None if found is None else layers_of(found, box, drawn.view)
    spots = tuple((name, (float(x), float(y))) for name, at in marked for x, y in [drawn.view.at(at)])
    title, *told = words
    told.sort(key=lambda text: not text.startswith("Best"))
    blocks: list[PageBlock] = [
        Paragraph(title, 17.0, pens.INK, True, name="title"),
        *(Paragraph(text, 10.5, pens.SOFT_INK if i else pens.INK, i == 0, 2.0, "words") for i, text in enumerate(told)),
        figure(_drawing(drawn, layers, spots, moved, edges_of(around)), around),
        *legend(_map_entries(layers)),
        *legend(routing_entries(drawn)),
        *closing_blocks(),
        foot(layout=route.layout),
    ]
    return page_of(blocks, title, ". ".join(told), drawn.view.pt_per_mm)


def _view(route: Route, found: PlaceMap | None, marked: tuple[_Marked, ...]) -> Box:
    """The box of the drawing: the geometry, the places without a problem, and the marked ones; mm."""
    boxes = [geometry_box(route), *((x, y, x, y) for _, (x, y) in marked)]
    reach = None if found is None else _reach_of(found)
    return box_round(np.array(boxes if reach is None else [*boxes, reach]).reshape(-1, 2))


def _drawing(
    drawn: Drawn, layers: _Layers | None, spots: tuple[_Marked, ...], moved: tuple[str, ...], edges: Point
) -> list[Item]:
    """The map, the routing over it, the marks, and their words. spots: the marked places on paper."""
    covered = tuple(rectangle(box_about(at, 4.0 * _MARK_PT, 4.0 * _MARK_PT)) for _, at in spots)
    kept_clear = (*covered, *(() if layers is None else layers.regions))
    rims = {f"rim {name}" for name in moved}
    routing = [
        replace(item, fill="") if isinstance(item, Shape) and item.name in rims else item
        for item in drawing_items(drawn, Wanted(edges, kept_clear=kept_clear))
    ]
    keep_out = keep_out_of(drawn, edges)
    keep_out = replace(keep_out, areas=keep_out.areas + areas_of(kept_clear))
    for item in routing:
        keep_out = keep_out.with_box(item.box) if isinstance(item, Label) else keep_out
    writer = Writer(keep_out)
    for name, at in spots:
        block = Block((Line(name, 10.0, pens.INK, True, f"mark {name}"),), name=name)
        writer.beside(block, Anchor(at, _MARK_PT + 2.0, 0.25 * np.pi))
    _write_levels(writer, () if layers is None else layers.lines)
    marks = [item for name, at in spots for item in _mark_of(name, np.array(at))]
    return [*(() if layers is None else layers.items), *routing, *marks, *writer.items]


def _write_levels(writer: Writer, lines: tuple[tuple[int, Floats], ...]) -> None:
    """The level of every line of equal margin, on the line, where nothing else is written."""
    # Over the regions, which other words keep clear of.
    writer.keep_out = replace(writer.keep_out, areas=())
    everything = np.ones(len(writer.keep_out.half), dtype=bool)
    for level, chain in lines:
        block = Block((Line(f"{level} %", _LEVEL_PT, pens.INK, name="level"),))
        writer.on_line(block, chain[:: max(1, len(chain) // 24)], everything)


def _mark_of(name: str, at: Floats, size: float = _MARK_PT) -> list[Item]:
    """A cross for the present place, a star for the best."""
    if name != "best":
        # White under black, to be seen on any ground.
        arms = size * np.array([[(-1.0, -1.0), (1.0, 1.0)], [(-1.0, 1.0), (1.0, -1.0)]])
        widths = ((pens.PAPER, 5.0), (pens.INK, 2.2))
        return [Stroke(at + arm, Pen(colour, width), f"mark {name}") for colour, width in widths for arm in arms]
    turn = 0.5 * np.pi + np.arange(10) * 0.2 * np.pi
    reach = size * 1.35 * np.where(np.arange(10) % 2, 0.45, 1.0)
    star = at + reach[:, None] * np.stack((np.cos(turn), np.sin(turn)), axis=-1)
    halo = Shape((circle(at, 1.9 * size),), pens.PAPER, Pen(pens.INK, 0.8), name="halo best")
    return [halo, Shape((star,), pens.INK, name="mark best")]


def _map_entries(layers: _Layers | None) -> list[Entry]:
    now = _mark_entry("now", "now")
    if layers is None:
        return [now, _mark_entry("best", "best pair of places")]
    entries = [swatch(own.words, own.colour) for own in layers.classes]
    entries.append(swatch("belt path, but a problem", pens.PATH_BUT_PROBLEM))
    margin = "worst margin of those that the place changes, % of its limit"
    lines = [
        ("edge of the places without a problem", pens.PLACE_EDGE),
        ("edge of the places without a caution", pens.CAUTION_FREE_EDGE),
        *([(margin, pens.EQUAL_MARGIN)] if layers.lines else []),
    ]
    entries += [Entry(words, line_symbol(pen, 12.0), 24.0) for words, pen in lines]
    return [*entries, now, _mark_entry("best", "best place")]


def _mark_entry(name: str, text: str) -> Entry:
    return Entry(text, lambda at: _mark_of(name, at, 0.8 * _MARK_PT), 20.0)

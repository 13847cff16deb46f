"""The picture of a map of places: head, map under the routing, axes in both units, legend, caution."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations

import numpy as np

from beltplan.checks.plan import Plan
from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.layout import Units
from beltplan.geometry.loops import outline
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.judging.judge import Words
from beltplan.judging.stages import CAUTION, NO_BELT_FITS, NO_PATH, SOUND, STATES
from beltplan.picture import pens
from beltplan.picture.chart import chain_length, contour_chains, outline_chains, rule_axes
from beltplan.picture.labels import Anchor, LabelBlock, Line, Writer, areas_of
from beltplan.picture.legend import disc_entry, line_symbol, routing_entries, swatch
from beltplan.picture.page import INSIDE_PT, Block, Entry, Figure, Paragraph, legend, page_of
from beltplan.picture.pens import Pen
from beltplan.picture.routing import Wanted, bare_items, closing_blocks, edges_of, labels_of, scale_pt
from beltplan.picture.scene import (
    Box,
    Chart,
    Item,
    Point,
    Raster,
    Scene,
    Shape,
    Stroke,
    View,
    box_about,
    box_round,
    circle,
    extent,
    grown,
    rectangle,
    seen_box,
)
from beltplan.picture.strokes import Drawn, bolt_holes
from beltplan.place.advice import Proof
from beltplan.place.pair import PairSearch, Search
from beltplan.place.study import MARGIN_STEPS, Grid, PlaceMap, Shaded

_STEPS = (1, 2, 5, 10, 20, 25, 50, 100, 200, 250, 500, 1000)
_MOST_LINES = 6
_SHORTEST_PT = 36.0
"""A line of equal length shorter than this is left out."""
_ALONE = 1.5
"""An outline less than so many steps wide is that of a single place."""


@dataclass(frozen=True)
class _Layers:
    """The map on paper. lines: chains of equal belt length with it, mm; failing: what fails, by its pattern.

    regions: outlines of the places without a problem. alone: whether one goes round a single place, good or not.
    """

    items: tuple[Item, ...]
    lines: tuple[tuple[int, Floats], ...] = ()
    regions: tuple[Floats, ...] = ()
    failing: _Failing | None = None
    alone: bool = False


def layers_of(found: Search, around: Box, view: View) -> _Layers:
    """The map, back to front: what fails as a pattern (no more than in a box, mm), margins, edges, belt lengths."""
    shaded, reached = found.shaded, found.shaded.reached
    rasters = [] if reached is None else [Raster(reached.box, reached.classes, pens.MARGINS, "map").seen(view)]
    outlines = _outlines(shaded.grid, shaded.classes >= 0)
    works, widest = tuple(map(view.at, outlines)), _ALONE * shaded.grid.step_mm
    alone = any(np.ptp(outline, axis=0).max() < widest for outline in outlines)
    edges = [Stroke(chain, pens.PLACE_EDGE, "no problem") for chain in works]
    if isinstance(found, PairSearch):
        return _Layers((*rasters, *edges), (), works, alone=alone)
    failing = failing_of(found, around, view)
    free = tuple(map(view.at, _outlines(found.grid, found.states >= SOUND)))
    every = ((level, view.at(chain)) for level, chain in _lines(found))
    lines = tuple((level, chain) for level, chain in every if chain_length(chain) > _SHORTEST_PT)
    strokes = [Stroke(chain, pens.EQUAL_LENGTH, f"length {level} {found.layout.units}") for level, chain in lines]
    strokes += [Stroke(chain, pens.CAUTION_FREE_EDGE, "no caution") for chain in free]
    return _Layers((failing.raster, *rasters, *edges, *strokes), lines, works, failing, alone)


def _outlines(grid: Grid, inside: Bools) -> list[Floats]:
    return outline_chains(grid.x_mm, grid.y_mm, inside) if min(grid.shape) > 1 else []


def _lines(found: PlaceMap) -> list[tuple[int, Floats]]:
    """Where the path at the middle of the travel is a few round lengths, in the layout's units, where it works."""
    unit_mm = MM_PER_UNIT[found.layout.units]
    middle = 0.5 * (found.field("shortest_mm") + found.field("longest_mm")) / unit_mm
    length = np.where(found.states >= CAUTION, middle, np.nan)
    if not np.isfinite(length).any():
        return []
    low, high = float(np.nanmin(length)), float(np.nanmax(length))
    step = next((step for step in _STEPS if (high - low) / step <= _MOST_LINES), _STEPS[-1])
    levels = range(step * int(np.ceil(low / step)), int(high) + 1, step)
    x, y = found.grid.x_mm, found.grid.y_mm
    return [(level, chain) for level in levels for chain in contour_chains(x, y, length, level)]


# What fails where no place is good, as patterns that grey prints and a copier keep apart.

_DOT_PT = 1.2
"""Side of the dots of which patterns are made."""
_LEAST_SHARE = 0.02
"""What fewer places fail by has no pattern of its own."""
_PATTERNS: tuple[Callable[[Ints, Ints], Bools], ...] = (
    lambda row, column: (row - column) % 7 == 0,
    lambda row, column: (row % 5 == 0) & (column % 5 == 0),
    lambda row, column: row % 6 == 0,
    lambda row, column: column % 6 == 0,
    lambda row, column: (row % 8 == 0) | (column % 8 == 0),
)
"""Whether a dot is dark, by its row and column: the most places first."""


@dataclass(frozen=True, eq=False)
class _Failing:
    """What fails on paper. cells: number of the pattern of every dot of the raster, -1 where nothing fails.

    named: what each pattern stands for; the number behind the last pattern is that of all other problems.
    """

    raster: Raster
    cells: Ints
    named: tuple[tuple[int, str], ...]


def failing_of(found: PlaceMap, around: Box, view: View) -> _Failing:
    """What fails at every place within a box, mm, the dots over the grid's cells."""
    left, bottom, right, top = (
        edge(first, second) for edge, first, second in zip((max, max, min, min), found.shaded.box, around, strict=True)
    )
    size = _DOT_PT / view.pt_per_mm
    columns, rows = (max(1, int((high - low) / size)) for low, high in ((left, right), (bottom, top)))
    x, y = left + (np.arange(columns) + 0.5) * size, bottom + (np.arange(rows) + 0.5) * size
    row, column = (
        np.clip(np.rint((at - low) / found.grid.step_mm).astype(int), 0, count - 1)
        for at, low, count in zip((y, x), found.grid.low[::-1], found.grid.shape, strict=True)
    )
    causes = causes_of(found)[np.ix_(row, column)]
    fails, counted = causes != "", Counter(causes.ravel().tolist()).most_common(len(_PATTERNS) + 1)
    shown = [cause for cause, count in counted if cause and count > _LEAST_SHARE * fails.sum()][: len(_PATTERNS)]
    cells = np.where(fails, len(_PATTERNS), -1)
    for number, cause in enumerate(shown):
        cells[causes == cause] = number
    named = [*enumerate(shown), *([(len(_PATTERNS), "other problems")] if (cells == len(_PATTERNS)).any() else [])]
    box = seen_box((left, bottom, left + columns * size, bottom + rows * size), view)
    return _Failing(_painted(box, cells), cells, tuple(named))


def causes_of(found: PlaceMap) -> Words:
    """What a place that is not good fails by, (rows, columns), '' where it is good or has no belt path."""
    states, own = found.states, found.judged.failing[:-1].reshape(found.grid.shape)
    anywhere = ", ".join(found.judged.standing) or "a problem at every place"
    causes = np.where(own == "", anywhere, own)
    causes[states == NO_BELT_FITS] = STATES[NO_BELT_FITS]
    causes[(states == NO_PATH) | (states >= CAUTION)] = ""
    return causes


def _painted(box: Box, cells: Ints) -> Raster:
    row, column = np.arange(cells.shape[0])[:, None], np.arange(cells.shape[1])
    dark = np.zeros(cells.shape, dtype=bool)
    for number, pattern in enumerate(_PATTERNS):
        dark |= (cells == number) & pattern(row, column)
    return Raster(box, np.where(cells < 0, -1, dark), (pens.PATH_BUT_PROBLEM, pens.PATTERN), "failing")


def _pattern_entry(number: int, words: str) -> Entry:

    def symbol(at: Floats) -> list[Raster | Shape]:
        box = box_about(at, 20 * _DOT_PT, 11 * _DOT_PT)
        return [_painted(box, np.full((11, 20), number)), Shape((rectangle(box),), pen=pens.OUTLINE, name="swatch")]

    return Entry(words, symbol, 24.0)


# The whole sheet of a map of places: head, map under the routing, legend, caution.

_MARK_PT, _LEAST_MARK_PT, _MARKS_APART = 6.0, 3.0, 3.4
_LEVEL_PT = 8.0
_AXIS_PT, _AXIS_ROOM_PT = 46.0, 38.0
"""What an axis leaves free at either side, and over and under the drawing, for its words."""
_LABEL_ROOM_PT = 95.0


@dataclass(frozen=True, eq=False)
class Shown:
    """What a picture of places shows. here: the plan under the map; best: the best place, None where there is none, and
    where it is the present one. words: lines for the head, the title first.
    """

    found: Search
    here: Plan
    words: Sequence[str]
    best: Proof | None = None

    @property
    def marked(self) -> list[tuple[str, Point]]:
        best = () if self.best is None else self.best.place.at_mm
        return [("now", at) for at in self.found.present.at_mm] + [("best", at) for at in best]


def place_scene(shown: Shown) -> Scene:
    places = _places_box(shown)
    rims = (shown.here.layout.pulleys[name].rim_radius_mm(shown.here.layout.belt) for name in shown.found.names)
    # So far round the places lies what decides them.
    also = grown(places, 2.0 * max(rims))
    box = box_round(np.reshape((Drawn(shown.here.route, also=also).box, places), (-1, 2)))
    view = View(scale_pt(box, INSIDE_PT - 2.0 * (_AXIS_PT + _LABEL_ROOM_PT)))
    drawn = Drawn(shown.here.route, view, also)
    around = seen_box(box, drawn.view)
    edges = edges_of(around, INSIDE_PT - 2.0 * _AXIS_PT)
    layers = layers_of(shown.found, box, drawn.view)
    title, *told = shown.words
    blocks: list[Block] = [
        *(Paragraph(text, 10.5, pens.SOFT_INK if i else pens.INK, i == 0, 2.0, "words") for i, text in enumerate(told)),
        _in_axes(_drawing(shown, drawn, layers, edges), drawn.view, edges, shown.here.layout.units),
        *legend(_map_entries(shown, layers)),
        *legend(routing_entries(drawn)),
        *closing_blocks(),
    ]
    return page_of(title, blocks, ". ".join(told), drawn.view.pt_per_mm)


def _places_box(shown: Shown) -> Box:
    """The box round the places without a problem, else round those with a path, and the marked ones; mm."""
    found, reached = shown.found, shown.found.shaded.reached
    if reached is None and isinstance(found, PlaceMap):
        reached = Shaded(found.grid, np.where(found.states > NO_PATH, 0, -1)).reached
    corners = [at for _, at in shown.marked] + ([] if reached is None else [reached.box[:2], reached.box[2:]])
    return box_round(np.array(corners))


def _in_axes(items: list[Item], view: View, edges: Point, units: Units) -> Figure:
    """The drawing in a frame with the file's units below and at the left, the others above and at the right."""
    _, low, _, high = extent(items)
    frame = (edges[0], low - 6.0, edges[1], high + 6.0)
    axes = Chart(frame, partial(rule_axes, seen_box(frame, view.back), units), "axes")
    room = (frame[0], frame[1] - _AXIS_ROOM_PT, frame[2], frame[3] + _AXIS_ROOM_PT)
    return Figure((axes, *items), room, 4.0)


def _drawing(shown: Shown, drawn: Drawn, layers: _Layers, edges: Point) -> list[Item]:
    spots = [(name, drawn.view.at(at)) for name, at in shown.marked]
    size = _mark_size_pt([at for _, at in spots])
    covered = tuple(rectangle(box_about(at, 4.0 * size, 4.0 * size)) for _, at in spots)
    ghost = _ghost(shown, drawn.view)
    rims = tuple(item.rings[0] for item in ghost if item.name == "best rim")
    kept_clear = (*covered, *layers.regions, *rims)
    hollow = frozenset(shown.found.names)
    writer = labels_of(drawn, Wanted(edges, kept_clear=kept_clear, hollow=hollow, findings=shown.here.findings))
    for name, at in spots:
        block = LabelBlock((Line(name, 10.0, pens.INK, True, f"mark {name}"),), name=name)
        writer.beside(block, Anchor(at, size + 2.0, 0.25 * np.pi))
    # Over the regions, which other words keep clear of.
    writer.keep_out = replace(writer.keep_out, areas=areas_of(covered))
    _write_lengths(writer, layers.lines, shown.here.layout.units)
    marks = [item for name, at in reversed(spots) for item in _mark_of(name, at, size)]
    return [*layers.items, *ghost, *bare_items(drawn, hollow=hollow), *marks, *writer.items]


def _mark_size_pt(spots: Sequence[Floats]) -> float:
    """So small that the star's disc leaves the cross of a place close by to be seen, as far as a mark may shrink: what
    is nearer still has a cross that is open in the middle, round the star.
    """
    apart = min((float(np.hypot(*(a - b))) for a, b in combinations(spots, 2)), default=np.inf)
    return float(np.clip(apart / _MARKS_APART, _LEAST_MARK_PT, _MARK_PT))


def _ghost(shown: Shown, view: View) -> list[Shape]:
    """The belt of the best place with the pulleys that stand elsewhere there, and the holes that they are bolted to."""
    if shown.best is None:
        return []
    route = shown.best.plan.route
    drawn = Drawn(route, view)
    moved = [i for i, pulley in enumerate(route.pulleys) if pulley.name in shown.found.names or pulley.adjuster]
    rims = [circle(drawn.loop.centre[i], float(drawn.rim[i])) for i in moved]
    mounts = [pulley.mounted for pulley in route.layout.pulleys.values() if pulley.name in shown.found.names]
    holes = [view.at(hole) for hole in bolt_holes(mounts)]
    return [
        Shape((outline(drawn.loop),), pen=pens.BEST_BELT, name="best belt"),
        *(Shape((rim,), pen=pens.BEST_BELT, name="best rim") for rim in rims),
        *(Shape((hole,), pens.PAPER, pens.BEST_BELT, name="best bolt hole") for hole in holes),
    ]


def _write_lengths(writer: Writer, lines: tuple[tuple[int, Floats], ...], units: Units) -> None:
    """The length of every line, on the line, where nothing else is written."""
    everything = np.ones(len(writer.keep_out.half), dtype=bool)
    for level, chain in lines:
        block = LabelBlock((Line(f"{level} {units}", _LEVEL_PT, pens.INK, name="length"),))
        writer.on_line(block, chain[:: max(1, len(chain) // 24)], everything)


def _mark_of(name: str, at: Floats, size: float = _MARK_PT) -> list[Item]:
    if name != "best" and size <= _LEAST_MARK_PT:
        ways = [np.array(way) for way in ((-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (1.0, -1.0))]
        return [Stroke(at + size * np.array([way, 2.2 * way]), Pen(pens.INK, 1.3), f"mark {name}") for way in ways]
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


def _map_entries(shown: Shown, layers: _Layers) -> list[Entry]:
    pair = isinstance(shown.found, PairSearch)
    classes = np.unique(shown.found.shaded.classes).tolist()
    entries = [swatch(_class_words(number), pens.MARGINS[number]) for number in classes if number >= 0]
    if entries:
        whose = f"of the best pair with {shown.found.names[0]} there" if pair else "that a move changes"
        entries.insert(0, Entry(f"Tightest margin {whose}, inside its limit by:", lambda at: [], 0.0))
    if layers.failing is not None and layers.failing.named:
        entries.append(Entry("A problem, the worst by:", lambda at: [], 0.0))
        entries += [_pattern_entry(number, words) for number, words in layers.failing.named]
        entries.append(swatch("no belt path", pens.PAPER))
    drawn = {item.name for item in layers.items}
    belts = () if isinstance(shown.found, PairSearch) else shown.found.best_by_belt
    ragged = ", ragged where the belt's length changes" * (len(belts) > 1)
    lines = [
        (
            f"edge of the places without a problem{ragged}{'; a small ring: one place alone' * layers.alone}",
            pens.PLACE_EDGE,
            bool(layers.regions),
        ),
        ("edge of the places without a caution", pens.CAUTION_FREE_EDGE, "no caution" in drawn),
        ("path at the middle of the travel", pens.EQUAL_LENGTH, bool(layers.lines)),
        ("belt and pulleys at the best place", pens.BEST_BELT, shown.best is not None),
    ]
    entries += [Entry(words, line_symbol(pen, 12.0), 24.0) for words, pen, held in lines if held]
    entries.append(disc_entry("moved pulley and its spans, as now", pens.RIM, ""))
    places = "best pair of places" if pair else "best place"
    marks = [("now", "now"), *([("best", places)] if shown.best else [])]
    symbol = partial(_mark_of, size=0.8 * _MARK_PT)
    return [*entries, *(Entry(words, partial(symbol, name), 20.0) for name, words in marks)]


def _class_words(number: int) -> str:
    ends = [f"{100.0 * step:g} %" for step in MARGIN_STEPS]
    if number < 2:
        return f"under {ends[1]}" if number else "short of it, a caution"
    return f"{ends[number - 1]} or more" if number == len(ends) else f"{ends[number - 1]} to {ends[number]}"

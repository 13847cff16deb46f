"""The picture of a belt routing: head, drawing with its labels, legend, pulleys, findings, caution."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from beltplan.checks.belt import good_words
from beltplan.checks.lengths import lengths_words
from beltplan.checks.limits import SEVERITIES, Finding, against, begun
from beltplan.checks.plan import Plan
from beltplan.checks.pulleys import WRAP
from beltplan.drive.belt import MM_PER_INCH, format_designation, length_words
from beltplan.drive.layout import Circle, Layout, Obstacle
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit
from beltplan.geometry.loops import Loop
from beltplan.geometry.vectors import TURN, Floats
from beltplan.picture import labels, page, pens, strokes
from beltplan.picture.framing import Outside, obstacle_outline
from beltplan.picture.labels import ALONG, Anchor, KeepOut, LabelBlock, Line, Writer
from beltplan.picture.legend import ORIGIN, routing_entries
from beltplan.picture.scene import Box, Item, Label, Point, Scene, View, wrapped
from beltplan.report.answer import in_units_of, title_words
from beltplan.report.check_text import not_judged_words
from beltplan.report.screen import in_units, length_text
from beltplan.report.words import PICTURE_SAFETY, role_words


def keep_out_of(drawn: strokes.Drawn, edges: Point) -> KeepOut:
    """Pulleys, belt, adjuster and obstacles of a routing; spans first, in the route's order. edges: of the labels."""
    loop, count = drawn.loop, len(drawn.route.pulleys)
    discs = [(*drawn.loop.centre[i], drawn.reach(i)) for i in range(count)]
    layout = drawn.layout
    discs += [(*at, radius) for at, radius in strokes.spare_discs(layout, drawn.view).values()]
    pivots = [] if drawn.pivot is None else [drawn.pivot]
    discs += [(*pivot, 6.0) for pivot in pivots]
    areas = labels.areas_of(map(drawn.view.at, strokes.fixed_outlines(layout)))
    half = max(*drawn.band, 0.45 * drawn.arrow)
    spans = np.stack((loop.start, loop.end), axis=1)
    keep_out = KeepOut(np.array(discs), spans, np.full(count, half), *edges, areas)
    return keep_out.with_strips(np.array([(pivot, drawn.moving_at) for pivot in pivots]).reshape(-1, 2, 2), 2.5)


# The labels of a routing: what stands at every pulley, span and obstacle, and where there is room for it.

_NAME_PT, _TEXT_PT = 11.0, 9.0
_OBSTACLE_PT = 9.5
_STOP_PT = 8.0
_LABEL_WIDTH_PT = 150.0
_INSIDE_SHARE = 0.78
"""A label stands inside a pulley where it fits in this share of the rim, below the hub."""
_HUB_PT = 5.0
_ARROWS = (
    "\N{RIGHTWARDS ARROW}\N{NORTH EAST ARROW}\N{UPWARDS ARROW}\N{NORTH WEST ARROW}"
    "\N{LEFTWARDS ARROW}\N{SOUTH WEST ARROW}\N{DOWNWARDS ARROW}\N{SOUTH EAST ARROW}"
)
"""Counter-clockwise from the right."""
_CLEAR_OF_MARK_PT = 6.0
"""From a mark: no leader's end stands on its cross."""
_SPAN_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)
_MARK_LED_PT = 24.0
"""A mark that would need a longer leader stands on its span: the line would look like a part of the drawing."""


@dataclass(frozen=True, eq=False)
class Wanted:
    """What a drawing of a routing holds beside its route.

    edges: left and right, that no label passes. kept_clear: outlines of other things drawn, that no label shall cover.
    signs: short signs by name of pulley or obstacle, that a key explains. changed: pulleys to be told from the others.
    hollow: pulleys drawn, with their spans, as outlines only.
    """

    edges: Point
    marks: tuple[page.Mark, ...] = ()
    kept_clear: tuple[Floats, ...] = ()
    signs: Mapping[str, str] = field(default_factory=dict)
    changed: frozenset[str] = frozenset()
    hollow: frozenset[str] = frozenset()
    findings: Sequence[Finding] = ()
    """Those that have no mark here."""


def edges_of(box: Box, width: float = page.INSIDE_PT) -> Point:
    """Left and right edge of what is so wide, about the middle of a box."""
    middle = 0.5 * (box[0] + box[2])
    return middle - 0.5 * width, middle + 0.5 * width


def drawing_items(drawn: strokes.Drawn, wanted: Wanted) -> list[Item]:
    return [*bare_items(drawn, wanted.changed, wanted.hollow), *labels_of(drawn, wanted).items]


def labels_of(drawn: strokes.Drawn, wanted: Wanted) -> Writer:
    """Every label block with its leader line, and who wrote them: more can be written clear of these."""
    writer = _RoutingWriter(drawn, wanted)
    writer.write()
    return writer


def bare_items(
    drawn: strokes.Drawn, changed: frozenset[str] = frozenset(), hollow: frozenset[str] = frozenset()
) -> list[Item]:
    """The drawing without a word on it, back to front. changed, hollow: as `Wanted` has them."""
    layout, names = drawn.layout, [pulley.name for pulley in drawn.route.pulleys]
    fills = ["" if name in hollow else pens.CHANGED if name in changed else pens.METAL for name in names]
    return [
        *strokes.obstacle_items(layout, drawn.view),
        *strokes.items_behind(drawn),
        *strokes.spare_items(layout, drawn.view),
        *(item for index, fill in enumerate(fills) for item in strokes.pulley_items(drawn, index, fill)),
        *strokes.items_before(drawn.route.circuit.adjuster, drawn.view),
        *strokes.belt_items(drawn, hollow),
    ]


class PartWriter(Writer):
    def __init__(self, keep_out: KeepOut, view: View, marks: tuple[page.Mark, ...], signs: Mapping[str, str]) -> None:
        super().__init__(keep_out)
        self.view, self.marks, self.signs = view, marks, signs

    def lines(self, name: str, words: Sequence[str] = (), size_pt: float = _NAME_PT) -> list[Line]:
        if name in self.signs:
            return [Line(self.signs[name], _NAME_PT, pens.INK, True, f"name {name}")]
        more = (Line(each, _TEXT_PT, pens.SOFT_INK) for each in words)
        return [*labels.name_lines(name, size_pt, _LABEL_WIDTH_PT), *more]

    def block(self, name: str, lines: Sequence[Line] = ()) -> LabelBlock:
        return LabelBlock(tuple(lines), page.marks_at(self.marks, name), f"mark {name}")

    def pulley_apart(self, pulley: Pulley, centre: Floats, radius: float, middle: Floats, *more: str) -> None:
        block = self.block(pulley.name, self.lines(pulley.name, (*_role_lines(pulley), *more)))
        self.beside(block, Anchor.away(centre, radius, middle))

    def fixed(self, layout: Layout, middle: Floats) -> None:
        for name, (at, radius) in strokes.spare_discs(layout, self.view).items():
            self.pulley_apart(layout.pulleys[name], at, radius, middle, "not on this belt")
        for part in layout.obstacles:
            self.obstacle(part)

    def points(self, layout: Layout) -> None:
        """Marks, before all else: a leader from so small a thing, across a belt, would look like a part of it."""
        for mark in layout.marks:
            if not self.signs or mark.name in self.signs:
                self.obstacle(Circle(mark.name, mark.at_mm, 2.0 * _CLEAR_OF_MARK_PT / self.view.pt_per_mm))

    def obstacle(self, obstacle: Obstacle) -> None:
        block = self.block(obstacle.name, self.lines(obstacle.name, size_pt=_OBSTACLE_PT))
        outline = self.view.at(obstacle_outline(obstacle))
        if isinstance(obstacle, Circle):
            radius = self.view.pt_per_mm * 0.5 * obstacle.diameter_mm
            self.beside(block, Anchor(self.view.at(obstacle.at_mm), radius, 0.5 * np.pi))
            return
        box = block.at(outline.mean(axis=0))
        # Well inside its own outline and free of all else but areas.
        free = not labels.hits(replace(self.keep_out, areas=()), np.array([box]), 2.0)[0]
        if free and labels.lies_inside(box, outline, 3.0):
            self.put(block, box, plate=True)
            return
        self.beside(block, *labels.edge_anchors(outline))

    def outside(self, parts: Sequence[Outside], box: Box) -> None:
        for part in (each for each in parts if not self.signs or each.name in self.signs):
            at = self.view.at(part.at_mm)
            edge = np.clip(at, box[:2], box[2:])
            anchor = Anchor.away(edge, 0.0, 2.0 * edge - at)
            first, *more = self.lines(part.name, wrapped(part.words, _LABEL_WIDTH_PT, _TEXT_PT), _OBSTACLE_PT)
            arrow = _ARROWS[round(anchor.toward_rad / TURN * len(_ARROWS)) % len(_ARROWS)]
            block = self.block(part.name, (replace(first, text=f"{arrow} {first.text}"), *more))
            self.put(block, labels.place(self.keep_out, (anchor,), block.width_pt, block.height_pt)[0])

    def free_spans(self, circuit: Circuit, loop: Loop) -> None:
        """The marks of every span, outside the belt or else on it."""
        for index in np.flatnonzero(np.isfinite(loop.span)).tolist():
            if (block := self.block(circuit.span_name(index))).marks:
                self._free_span(block, loop, index, circuit.turning)

    def _free_span(self, block: LabelBlock, loop: Loop, index: int, turning: float) -> None:
        start, along, out = loop.start[index], loop.end[index] - loop.start[index], loop.direction[index] * turning
        half, toward = float(self.keep_out.half[index]), float(np.arctan2(-out[0], out[1]))
        anchors = [Anchor(point, half, toward) for point in start + np.outer(_SPAN_SHARES, along)]
        points, others = start + np.outer(ALONG, along), np.arange(len(self.keep_out.half)) != index
        if not self.beside(block, *anchors, longest_pt=_MARK_LED_PT) and not self.on_line(block, points, others, False):
            self.beside(block, *anchors)


class _RoutingWriter(PartWriter):
    def __init__(self, drawn: strokes.Drawn, wanted: Wanted) -> None:
        keep_out = keep_out_of(drawn, wanted.edges)
        discs = np.concatenate((keep_out.discs, drawn.stops))
        keep_out = replace(keep_out, discs=discs, areas=keep_out.areas + labels.areas_of(wanted.kept_clear))
        super().__init__(keep_out, drawn.view, wanted.marks, wanted.signs)
        self.drawn, self.route = drawn, drawn.route
        found = (*(mark.finding for mark in wanted.marks), *wanted.findings)
        wraps = (each for each in found if each.check == WRAP.name and each.severity == "problem")
        self.short = {each.subject: each.limit for each in wraps if each.limit}

    def write(self) -> None:
        loop, (layout, outside) = self.drawn.loop, self.drawn.framed
        self.points(layout)
        for index in sorted(range(len(self.route.pulleys)), key=lambda i: -float(self.drawn.rim[i])):
            self.pulley(index)
        self.fixed(layout, loop.centre.mean(axis=0))
        self.free_spans(self.route.circuit, loop)
        self.stops()
        self.outside(outside, self.drawn.box)

    def _wrap(self, index: int) -> Line:
        """The wrap; where it is too little, of how much, in the problem's colour."""
        pulley, degrees = self.route.pulleys[index].name, float(np.degrees(self.route.loop.wrap[index]))
        lead, short = "" if pulley in self.signs else "wrap ", self.short.get(pulley)
        if short is None:
            return Line(f"{lead}{degrees:.0f}\N{DEGREE SIGN}", _TEXT_PT, pens.WRAP, True, f"wrap {pulley}")
        shown, _, limit = against(degrees, short, 0)
        return Line(f"{lead}{shown} of {limit}\N{DEGREE SIGN}", _TEXT_PT, pens.PROBLEM, True, f"wrap {pulley}")

    def pulley(self, index: int) -> None:
        pulley, name = self.route.pulleys[index], self.route.pulleys[index].name
        head, tail = self.lines(name, _role_lines(pulley)), [self._wrap(index)]
        if name in self.signs and self._put_inside(LabelBlock(tuple(head)), index):
            head = []
        block = self.block(name, [*head, *tail])
        if head and self._put_inside(block, index):
            return
        toward = strokes.contact_middle_rad(self.drawn.loop, index) + (np.pi if pulley.on_back else 0.0)
        self.beside(block, Anchor(self.drawn.loop.centre[index], self.drawn.reach(index), toward))

    def _put_inside(self, block: LabelBlock, index: int) -> bool:
        """Write a block inside a pulley, under its hub. Returns whether there was room."""
        box = block.at(self.drawn.loop.centre[index] - (0.0, _HUB_PT + 0.5 * block.height_pt))
        corner = np.hypot(0.5 * block.width_pt, _HUB_PT + block.height_pt)
        # On the adjusted pulley the line of travel stands where the words would.
        if index == self.route.circuit.moving or corner > _INSIDE_SHARE * self.drawn.rim[index]:
            return False
        keep_out = replace(self.keep_out, discs=np.delete(self.keep_out.discs, index, axis=0))
        if labels.hits(keep_out, np.array([box]), 2.0)[0]:
            return False
        self.put(block, box)
        return True

    def stops(self) -> None:
        """Which stop is which; beside signs that a key explains, the legend tells it by their dashes."""
        for stop, word in zip(self.drawn.stops, () if self.signs else self.route.stop_names, strict=False):
            line = Line(f"{word} stop", _STOP_PT, pens.ADJUSTER, name="stop")
            self.beside(LabelBlock((line,)), Anchor.away(stop[:2], float(stop[2]), self.drawn.moving_at))


def _role_lines(pulley: Pulley) -> tuple[str, ...]:
    role = role_words(pulley.role)
    said = [] if role == role_words(pulley.name) else [role]
    return (", ".join([*said, *(["DRIVER"] if pulley.drives else [])]),) if said or pulley.drives else ()


# The whole sheet of a belt routing: head, drawing, legend, pulleys, findings, caution.

_LABEL_ROOM_PT = 105.0
"""Kept free on either side of the geometry, for labels that stand outside it."""
_TALLEST_PT = 500.0
"""Most height that the geometry takes."""
_FRAME_NOTE = "Seen from the front, facing the pulleys: x right, y up. Drawn to scale."


def routing_scene(plan: Plan) -> Scene:
    findings = in_units_of(plan.layout, plan.findings)
    marks, drawn = page.marks_of(findings), strokes.Drawn(plan.route, View(scale_pt(strokes.Drawn(plan.route).box)))
    around = drawn.box
    drawing = drawing_items(drawn, Wanted(edges_of(around), marks))
    x, y = drawn.view.origin
    origin = strokes.origin_items((x, y)) if around[0] <= x <= around[2] and around[1] <= y <= around[3] else []
    # Findings on the belt as a whole have no place in the drawing: their marks stand after the belt's own line.
    placed = {item.text for item in drawing if isinstance(item, Label) and item.name.startswith("mark ")}
    loose = tuple(mark for mark in marks if str(mark.number) not in placed)
    verdict = "; ".join(filter(None, (plan.verdict, not_judged_words(plan))))
    blocks: list[page.Block] = [
        verdict_block(verdict, plan.findings),
        page.Paragraph(belt_words(plan.route), 10.5, pens.SOFT_INK, before_pt=2.0, name="belt", marks=loose),
        page.Paragraph(path_words(plan), 10.5, pens.SOFT_INK, name="path"),
        page.figure([*drawing, *origin], around),
        *page.legend([*routing_entries(drawn, marks=marks), *([ORIGIN] if origin else [])]),
        page.Rule(0.0, 3.0),
        _pulley_table(plan),
        page.Gap(4.0),
        *page.findings_blocks(findings, marks),
        *closing_blocks(),
    ]
    about = f"{verdict}. {belt_words(plan.route)}. {path_words(plan)}."
    return page.page_of(title_words(plan.layout), blocks, about, drawn.view.pt_per_mm)


def verdict_block(verdict: str, findings: Sequence[Finding], size_pt: float = 12.0) -> page.Block:
    words = page.Paragraph(verdict, size_pt, pens.INK, True, 2.0, "verdict")
    worst = next((s for s in SEVERITIES[:2] if any(f.severity == s for f in findings)), None)
    if worst is None:
        return words
    beside = np.array((0.5 * page.MARK_PT, -1.0))
    return page.Led(lambda at: page.mark_items(worst, at + beside, "verdict mark"), (words,), page.MARK_PT + 3.0)


def _pulley_table(plan: Plan) -> page.Table:
    units, belt = plan.layout.units, plan.layout.belt
    length = partial(length_text, decimals=1, units=units)
    rows = tuple(
        (
            row.name,
            role_words(row.pulley.role),
            length(row.pulley.line_diameter_mm(belt)),
            *map(length, row.at_mm),
            f"{row.wrap_deg:.1f}",
            f"{row.minimum_deg:g}",
            f"{row.ratio:.2f}",
        )
        for row in plan.pulleys
    )
    under = frozenset((i, 5) for i, row in enumerate(plan.pulleys) if row.over_deg < 0.0)
    head = ("pulley", "role", *(f"{each}, {units}" for each in ("diameter", "x", "y")), "wrap, deg", "min", "ratio")
    shares = (0.21, 0.17, 0.13, 0.11, 0.11, 0.11, 0.07, 0.08)
    return page.Table(head, rows, shares, frozenset(range(2, 8)), under, ("pulley head", "pulley row", "pulley cell"))


def scale_pt(box: Box, wide: float = page.INSIDE_PT - 2.0 * _LABEL_ROOM_PT, tall: float = _TALLEST_PT) -> float:
    """Points on paper for one mm, so that the geometry fits a width and a height; labels stand beside it."""
    return min(wide / (box[2] - box[0]), tall / (box[3] - box[1]))


def belt_words(route: Route) -> str:
    line = route.layout.belt.profile.line_name
    length = f"{round(route.length_mm, 1):.10g} mm ({route.length_mm / MM_PER_INCH:.2f} in)"
    if route.designation is None:
        return f"Belt {format_designation(route.layout.belt)}: no stock length fits; drawn with {length} {line} length"
    nearer = "" if route.travel is None else ", drawn at the nearer end of the travel"
    outside = f"; it does not fit{nearer}" if route.named_outside else ""
    return f"Belt {route.designation}: {length} {line} length{outside}"


def path_words(plan: Plan, moving: bool = False) -> str:
    """Which lengths will do. moving: while a hand moves, those that fit: to judge them runs the drive several times."""
    route, belt = plan.route, plan.layout.belt
    if route.acceptable_mm is not None:
        words = good_words(route, belt.kind_words, "fits", inches=True) if moving else lengths_words(plan)
        return in_units(begun(words), plan.layout.units)
    if route.window is not None:
        shortest, longest = route.window.shortest, route.window.longest
        return f"Path {length_words(belt.profile, shortest, longest, inches=True)} over the adjuster's travel"
    needed = route.needed_mm
    return "" if needed is None else f"Path {length_words(belt.profile, needed, inches=True)}, no adjuster"


def closing_blocks(note: str = _FRAME_NOTE) -> list[page.Block]:
    return [
        page.Paragraph(note, 9.0, pens.SOFT_INK, before_pt=6.0),
        page.Paragraph(PICTURE_SAFETY, 10.0, pens.INK, True, 2.0, "caution"),
    ]

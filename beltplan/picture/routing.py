"""The picture of a belt routing: head, drawing with its labels, legend, findings, caution."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from beltplan.checks.clearance import span_name
from beltplan.checks.plan import Plan
from beltplan.drive.belt import MM_PER_INCH, Belt, format_designation, length_words
from beltplan.drive.layout import Circle, Layout, Obstacle
from beltplan.drive.pulleys import Arm, Pulley
from beltplan.drive.route import Route
from beltplan.geometry.loops import Loop
from beltplan.geometry.vectors import Floats
from beltplan.picture.labels import Anchor, Block, KeepOut, Line, Writer, areas_of, hits, lies_inside
from beltplan.picture.legend import routing_entries
from beltplan.picture.page import (
    MARGIN_PT,
    WIDTH_PT,
    Mark,
    Page,
    Paragraph,
    edges_of,
    marks_after,
    marks_at,
    marks_of,
    page_round,
)
from beltplan.picture.painter import paint
from beltplan.picture.scene import (
    ADJUSTER,
    INK,
    PAPER,
    SOFT_INK,
    WRAP,
    Box,
    Item,
    Label,
    Point,
    Scene,
    Shape,
    box_round,
    rectangle,
    wrapped,
)
from beltplan.picture.strokes import (
    arrow_mm,
    belt_items,
    contact_angles,
    items_before,
    items_behind,
    obstacle_items,
    obstacle_outline,
    pulley_items,
    reach_mm,
    spare_items,
    stop_words,
)
from beltplan.report.findings_text import in_units_of
from beltplan.report.words import PICTURE_SAFETY


def outer_radius_mm(route: Route, index: int, unit_pt: float) -> float:
    """Radius of a pulley with the belt on it, as drawn."""
    outer, inner = reach_mm(route, unit_pt)
    over = inner if route.pulleys[index].on_back else outer
    return max(float(route.circuit.rim[index]), float(route.loop.radius[index]) + over) + 1.0 / unit_pt


def keep_out_of(route: Route, unit_pt: float, edges: tuple[float, float]) -> KeepOut:
    """Pulleys, belt, adjuster and obstacles of a routing; spans first, in the route's order."""
    loop, layout = route.loop, route.layout
    spare = [pulley for pulley in layout.unrouted if pulley.at_mm is not None]
    radius = [outer_radius_mm(route, i, unit_pt) for i in range(len(route.pulleys))]
    radius += [pulley.rim_radius_mm(layout.belt) for pulley in spare]
    beside = np.array([pulley.at_mm for pulley in spare], dtype=float).reshape(-1, 2)
    half = max(*reach_mm(route, unit_pt), 0.45 * arrow_mm(route, unit_pt))
    arm, pivot = _arm(route, unit_pt)
    return KeepOut(
        np.concatenate((loop.centre, beside, pivot[:, :2])),
        np.append(np.array(radius), pivot[:, 2]),
        np.concatenate((loop.start, arm[:, 0])),
        np.concatenate((loop.end, arm[:, 1])),
        np.append(np.full(len(loop.start), half), np.full(len(arm), 2.5 / unit_pt)),
        *edges,
        areas_of(obstacle_outline(obstacle) for obstacle in layout.obstacles),
        _soft_of(route),
    )


def _arm(route: Route, unit_pt: float) -> tuple[Floats, Floats]:
    moving, index = route.moving, route.circuit.moving
    if moving is None or index is None or not isinstance(moving.adjuster, Arm):
        return np.zeros((0, 2, 2)), np.zeros((0, 3))
    pivot = np.array(moving.adjuster.pivot_mm)
    return np.stack((pivot, route.loop.centre[index]))[None], np.array([[*pivot, 6.0 / unit_pt]])


def _soft_of(route: Route) -> Floats:
    """The adjusted pulley at both stops: x, y, radius, (2, 3); empty without an adjuster."""
    if route.moving is None or route.moving.adjuster is None:
        return np.zeros((0, 3))
    centres = route.moving.adjuster.centre_at(np.array(route.moving.adjuster.travel))
    radius = np.full(2, route.moving.rim_radius_mm(route.layout.belt))
    return np.concatenate((centres, radius[:, None]), axis=1)


# The labels of a routing: what stands at every pulley, span and obstacle, and where there is room for it.

_NAME_PT, _TEXT_PT = 11.0, 9.0
_OBSTACLE_PT = 9.5
_STOP_PT = 8.0
_LABEL_WIDTH_PT = 150.0
_INSIDE_SHARE = 0.78
"""A label stands inside a pulley where it fits in this share of the rim, below the hub."""
_HUB_PT = 5.0
_SPAN_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)


def _label_items(
    route: Route,
    marks: tuple[Mark, ...],
    unit_pt: float,
    edges: tuple[float, float],
    kept_clear: tuple[Floats, ...] = (),
    signs: Mapping[str, str] = MappingProxyType({}),
) -> list[Item]:
    """Every label block with its leader line. edges: left and right edge of the sheet, mm.

    kept_clear: outlines of other things drawn, each (n, 2) mm, that no label shall cover. signs: short signs by name
    of pulley or obstacle, that a key explains; names and roles are written where there are none.
    """
    keep_out = keep_out_of(route, unit_pt, edges)
    writer = RoutingWriter(replace(keep_out, areas=keep_out.areas + areas_of(kept_clear)), unit_pt, signs)
    order = sorted(range(len(route.pulleys)), key=lambda i: -float(route.circuit.rim[i]))
    for index in order:
        writer.pulley(route, index, marks)
    for pulley in route.layout.unrouted:
        writer.spare(pulley, route.layout.belt, route.loop.centre.mean(axis=0), marks)
    for obstacle in route.layout.obstacles:
        writer.obstacle(obstacle, marks)
    for index in range(len(route.pulleys)):
        writer.free_span(span_name(route, index), route.loop, index, route.circuit.turning, marks)
    writer.stops(route)
    return writer.items


def sign_line(name: str, sign: str) -> Line:
    """The sign that stands for a name."""
    return Line(sign, _NAME_PT, INK, True, f"name {name}")


def _name_lines(name: str, size_pt: float = _NAME_PT) -> list[Line]:
    return [Line(text, size_pt, INK, True, f"name {name}") for text in wrapped(name, _LABEL_WIDTH_PT, size_pt, True)]


class RoutingWriter(Writer):
    """Writes what belongs to pulleys, spans and obstacles."""

    def __init__(self, keep_out: KeepOut, unit_pt: float, signs: Mapping[str, str]) -> None:
        super().__init__(keep_out, unit_pt)
        self.signs = signs

    def _lines(self, name: str, *more: str, size_pt: float = _NAME_PT) -> list[Line]:
        """A name with what is said of it, or the sign that stands for both."""
        if name in self.signs:
            return [sign_line(name, self.signs[name])]
        return [*_name_lines(name, size_pt), *(Line(words, _TEXT_PT, SOFT_INK) for words in more)]

    def block(self, pulley: Pulley, marks: tuple[Mark, ...], *more: str) -> Block:
        """What is written at any pulley: name, role, what more is said of it, marks."""
        lines = self._lines(pulley.name, pulley.role.replace("_", " ") + (", DRIVER" if pulley.drives else ""), *more)
        return Block(tuple(lines), marks_at(marks, pulley.name), f"mark {pulley.name}")

    def pulley_block(self, route: Route, index: int, marks: tuple[Mark, ...]) -> Block:
        """What is written at a pulley on the belt: wrap and place of the adjuster as well."""
        pulley, in_full = route.pulleys[index], route.pulleys[index].name not in self.signs
        wrap = f"{np.degrees(route.loop.wrap[index]):.0f}\N{DEGREE SIGN}"
        lines = [Line(f"wrap {wrap}" if in_full else wrap, _TEXT_PT, WRAP, True, f"wrap {pulley.name}")]
        if in_full and pulley is route.moving and route.position is not None:
            lines.append(Line(f"at {round(100.0 * route.position)} % of travel", _TEXT_PT, SOFT_INK))
        block = self.block(pulley, marks)
        return replace(block, lines=(*block.lines, *lines))

    def pulley(self, route: Route, index: int, marks: tuple[Mark, ...]) -> None:
        block = self.pulley_block(route, index, marks)
        centre, rim = route.loop.centre[index], float(route.circuit.rim[index])
        box = self._under_hub(block, (float(centre[0]), float(centre[1])), rim)
        # On the adjusted pulley the line of travel stands where the words would.
        if box is not None and index != route.circuit.moving and self._is_free(box, index):
            self.put(block, box, "center")
            return
        first, sweep = contact_angles(route, index)
        toward = first + 0.5 * sweep + (np.pi if route.pulleys[index].on_back else 0.0)
        reach = outer_radius_mm(route, index, self.unit_pt)
        self.beside(block, (Anchor((float(centre[0]), float(centre[1])), reach, float(toward)),))

    def spare(self, pulley: Pulley, belt: Belt, middle: Floats, marks: tuple[Mark, ...]) -> None:
        """A pulley that the belt does not go round. middle: of the others."""
        if pulley.at_mm is not None:
            block = self.block(pulley, marks, "not on this belt")
            self.outward(block, pulley.at_mm, pulley.rim_radius_mm(belt), middle)

    def outward(self, block: Block, centre: Point, radius: float, middle: Floats) -> None:
        """A block beside a disc, on the side away from the middle of all."""
        away = np.asarray(centre) - middle
        self.beside(block, (Anchor(centre, radius, float(np.arctan2(away[1], away[0]))),))

    def obstacle(self, obstacle: Obstacle, marks: tuple[Mark, ...]) -> None:
        lines = self._lines(obstacle.name, size_pt=_OBSTACLE_PT)
        block = Block(tuple(lines), marks_at(marks, obstacle.name), f"mark {obstacle.name}")
        if isinstance(obstacle, Circle):
            self.beside(block, (Anchor(obstacle.at_mm, obstacle.diameter_mm / 2.0, 0.5 * np.pi),))
            return
        outline = obstacle_outline(obstacle)
        box = self._around(block, outline.mean(axis=0))
        if self._fills(box, outline):
            self._plate(box)
            self.put(block, box, "center")
            return
        edges = 0.5 * (outline + np.roll(outline, -1, axis=0))
        away = edges - outline.mean(axis=0)
        self.beside(
            block,
            tuple(
                Anchor((float(x), float(y)), 0.0, float(np.arctan2(v, u)))
                for (x, y), (u, v) in zip(edges, away, strict=True)
            ),
        )

    def free_span(self, name: str, loop: Loop, index: int, turning: float, marks: tuple[Mark, ...]) -> None:
        """The marks of a span, outside the belt. turning: of the whole loop."""
        block = Block((), marks_at(marks, name), f"mark {name}")
        if not block.marks:
            return
        out = loop.direction[index] * turning
        toward = float(np.arctan2(-out[0], out[1]))
        half = float(self.keep_out.half[index])
        points = loop.start[index] + np.outer(_SPAN_SHARES, loop.end[index] - loop.start[index])
        self.beside(block, tuple(Anchor((float(x), float(y)), half, toward) for x, y in points))

    def stops(self, route: Route) -> None:
        """Which stop is which, where there is room for the words."""
        for (x, y, radius), word in zip(_soft_of(route), stop_words(route), strict=False):
            away = np.array((x, y)) - route.loop.centre[route.circuit.moving or 0]
            anchor = Anchor((float(x), float(y)), float(radius), float(np.arctan2(away[1], away[0])))
            self.beside(Block((Line(f"{word} stop", _STOP_PT, ADJUSTER, name="stop"),)), (anchor,), near=True)

    def _under_hub(self, block: Block, centre: tuple[float, float], rim: float) -> Box | None:
        width, height = block.width_pt / self.unit_pt, block.height_pt / self.unit_pt
        top = _HUB_PT / self.unit_pt
        if np.hypot(0.5 * width, top + height) > _INSIDE_SHARE * rim:
            return None
        x, y = centre
        return (x - 0.5 * width, y - top - height, x + 0.5 * width, y - top)

    def _is_free(self, box: Box, index: int) -> bool:
        others = np.arange(len(self.keep_out.radius)) != index
        keep_out = replace(self.keep_out, centre=self.keep_out.centre[others], radius=self.keep_out.radius[others])
        return not hits(keep_out, np.array([box]), 2.0 / self.unit_pt)[0]

    def _around(self, block: Block, middle: Floats) -> Box:
        width, height = block.width_pt / self.unit_pt, block.height_pt / self.unit_pt
        x, y = float(middle[0]), float(middle[1])
        return (x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height)

    def _fills(self, box: Box, outline: Floats) -> bool:
        # Well inside its own outline and free of all else but areas.
        others = replace(self.keep_out, areas=())
        free = not hits(others, np.array([box]), 2.0 / self.unit_pt)[0]
        return free and lies_inside(box, outline, 3.0 / self.unit_pt)

    def _plate(self, box: Box) -> None:
        self.items.append(Shape((rectangle(box),), PAPER))


# The whole sheet of a belt routing: head, drawing, legend, findings, caution.

_LABEL_ROOM_PT = 105.0
"""Kept free on either side of the geometry, for labels that stand outside it."""
_TALLEST_PT = 500.0
"""Most height that the geometry takes."""
FRAME_NOTE = "Seen from the front, facing the pulleys: x right, y up. Drawn to scale."


def routing_scene(plan: Plan) -> Scene:
    """A belt routing with its findings as a scene in mm of the layout."""
    findings = in_units_of(plan.layout, plan.findings)
    box, marks = geometry_box(plan.route), marks_of(findings)
    unit_pt = scale_pt(box)
    edges = edges_of(box, unit_pt)
    drawing = drawing_items(plan.route, marks, unit_pt, edges)

    def foot(page: Page) -> None:
        _mark_loose(page, marks, drawing)
        page.rule()
        page.skip(4.0)
        page.legend(routing_entries(plan.route, marks, unit_pt))
        page.skip(4.0)
        page.rule()
        page.skip(6.0)
        page.findings(findings, marks)
        page.text(*closing_words())

    return page_round(drawing, _head(plan), foot, edges, unit_pt)


def drawing_items(
    route: Route,
    marks: tuple[Mark, ...],
    unit_pt: float,
    edges: tuple[float, float],
    kept_clear: tuple[Floats, ...] = (),
    signs: Mapping[str, str] = MappingProxyType({}),
) -> list[Item]:
    """The drawing itself with its labels, back to front. edges, kept_clear, signs: as in `_label_items`."""
    return [*bare_items(route, unit_pt), *_label_items(route, marks, unit_pt, edges, kept_clear, signs)]


def bare_items(route: Route, unit_pt: float) -> list[Item]:
    """The drawing without a word on it, back to front."""
    layout = route.layout
    return [
        *(item for obstacle in layout.obstacles for item in obstacle_items(obstacle)),
        *items_behind(route),
        *(item for pulley in layout.unrouted for item in spare_items(pulley, layout.belt, unit_pt)),
        *(item for index in range(len(route.pulleys)) for item in pulley_items(route, index, unit_pt)),
        *items_before(route.circuit.adjuster, unit_pt),
        *belt_items(route, unit_pt),
    ]


def geometry_box(route: Route) -> Box:
    """The box round all pulleys (at both stops too), the belt and the obstacles, mm."""
    reach = route.layout.belt.profile.thickness_mm
    discs = [np.column_stack((route.loop.centre, route.circuit.rim + reach)), _soft_of(route)]
    spare = [(*p.at_mm, p.rim_radius_mm(route.layout.belt)) for p in route.layout.unrouted if p.at_mm is not None]
    every = np.concatenate((*discs, np.array(spare, dtype=float).reshape(-1, 3)))
    corners = [every[:, :2] - every[:, 2:], every[:, :2] + every[:, 2:]]
    points = np.concatenate([*corners, *(obstacle_outline(o) for o in route.layout.obstacles)])
    return box_round(points)


def scale_pt(box: Box) -> float:
    """Points on paper for one mm, so that the geometry and the labels beside it fit the sheet."""
    wide = WIDTH_PT - 2.0 * (MARGIN_PT + _LABEL_ROOM_PT)
    return min(wide / (box[2] - box[0]), _TALLEST_PT / (box[3] - box[1]))


def belt_words(route: Route) -> str:
    """The belt that is drawn: designation, length in mm and inches, and how it comes to be the one."""
    line = route.layout.belt.profile.line_name
    length = f"{round(route.length_mm, 1):.10g} mm ({route.length_mm / MM_PER_INCH:.2f} in)"
    if route.designation is None:
        return f"Belt {format_designation(route.layout.belt)}: no stock length fits; drawn with {length} {line} length"
    words = f"Belt {route.designation}: {length} {line} length"
    if not route.named_outside:
        return words
    return words + (
        "; it does not fit" if route.travel is None else "; it does not fit, drawn at the nearer end of the travel"
    )


def path_words(route: Route) -> str:
    """Every belt that would do; where none would, the path that the drive offers."""
    belt = route.layout.belt
    if route.acceptable_mm is not None:
        return f"Any {belt.kind_words} from {length_words(belt.profile, *route.acceptable_mm, inches=True)} will do"
    if route.window is not None:
        shortest, longest = route.window.shortest, route.window.longest
        return f"Path {length_words(belt.profile, shortest, longest, inches=True)} over the adjuster's travel"
    needed = route.needed_mm
    return "" if needed is None else f"Path {length_words(belt.profile, needed, inches=True)}, no adjuster"


def _head(plan: Plan) -> tuple[Paragraph, ...]:
    return (
        Paragraph(title_words(plan.layout), 17.0, INK, True, name="title"),
        Paragraph(plan.verdict, 12.0, INK, True, 2.0, "verdict"),
        Paragraph(belt_words(plan.route), 10.5, SOFT_INK, before_pt=2.0, name="belt"),
        Paragraph(path_words(plan.route), 10.5, SOFT_INK, name="path"),
    )


def title_words(layout: Layout) -> str:
    """Title and variant of a layout."""
    return layout.title + ("" if layout.variant is None else f" - {layout.variant}")


def _mark_loose(page: Page, marks: tuple[Mark, ...], drawing: list[Item]) -> None:
    # Findings on the belt as a whole have no place in the drawing: their marks stand after the belt's own line.
    placed = {item.text for item in drawing if isinstance(item, Label) and item.name.startswith("mark ")}
    loose = [mark for mark in marks if str(mark.number) not in placed]
    line = next(item for item in reversed(page.items) if isinstance(item, Label) and item.name == "belt")
    page.items += marks_after(line, loose, page.unit_pt, "mark belt")


def closing_words(note: str = FRAME_NOTE) -> tuple[Paragraph, ...]:
    """How a drawing is meant, and the caution."""
    return (
        Paragraph(note, 9.0, SOFT_INK, before_pt=6.0),
        Paragraph(PICTURE_SAFETY, 10.0, INK, True, 2.0, "caution"),
    )


# A belt routing as a picture file.


def draw_routing(plan: Plan, path: str) -> None:
    """Write the picture of a routing; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    paint(routing_scene(plan), path)

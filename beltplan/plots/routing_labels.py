"""The labels of a routing: what stands at every pulley, strand and obstacle, and where there is room for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from beltplan.belts.layout import Circle, Obstacle
from beltplan.belts.pulleys import Pulley
from beltplan.belts.route import Route
from beltplan.checks.clearance import strand_name
from beltplan.geometry.vectors import Floats
from beltplan.plots.adjuster_strokes import stop_words
from beltplan.plots.blocks import Block, Line
from beltplan.plots.lettering import wrapped
from beltplan.plots.marks import Mark, marks_at
from beltplan.plots.palette import ADJUSTER, INK, PAPER, SOFT_INK, WRAP
from beltplan.plots.placing import Anchor, Ground, hits, inside_area, touches_outline
from beltplan.plots.pulley_strokes import contact_angles, obstacle_outline
from beltplan.plots.routing_ground import ground_of, outer_radius_mm, soft_of
from beltplan.plots.scene import Box, Item, Shape, rectangle
from beltplan.plots.writer import Writer

NAME_PT, TEXT_PT = 11.0, 9.0
OBSTACLE_PT = 9.5
STOP_PT = 8.0
LABEL_WIDTH_PT = 150.0
INSIDE_SHARE = 0.78
"""A label stands inside a pulley where it fits in this share of the rim, below the hub."""
HUB_PT = 5.0
STRAND_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)


def label_items(
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
    ground = ground_of(route, unit_pt, edges)
    writer = _RoutingWriter(replace(ground, areas=ground.areas + kept_clear), unit_pt, signs)
    order = sorted(range(len(route.pulleys)), key=lambda i: -float(route.circuit.rim[i]))
    for index in order:
        writer.pulley(route, index, marks)
    for pulley in route.layout.unrouted:
        writer.spare(route, pulley, marks)
    for obstacle in route.layout.obstacles:
        writer.obstacle(obstacle, marks)
    for index in range(len(route.pulleys)):
        writer.strand(route, index, marks)
    writer.stops(route)
    return writer.items


def sign_line(name: str, sign: str) -> Line:
    """The sign that stands for a name."""
    return Line(sign, NAME_PT, INK, True, f"name {name}")


def _name_lines(name: str, size_pt: float = NAME_PT) -> list[Line]:
    return [Line(text, size_pt, INK, True, f"name {name}") for text in wrapped(name, LABEL_WIDTH_PT, size_pt, True)]


class _RoutingWriter(Writer):
    """Writes what belongs to pulleys, strands and obstacles."""

    def __init__(self, ground: Ground, unit_pt: float, signs: Mapping[str, str]) -> None:
        super().__init__(ground, unit_pt)
        self.signs = signs

    def _lines(self, name: str, *more: str, size_pt: float = NAME_PT) -> list[Line]:
        """A name with what is said of it, or the sign that stands for both."""
        if name in self.signs:
            return [sign_line(name, self.signs[name])]
        return [*_name_lines(name, size_pt), *(Line(words, TEXT_PT, SOFT_INK) for words in more)]

    def pulley_block(self, route: Route, index: int, marks: tuple[Mark, ...]) -> Block:
        """What is written at a pulley on the belt: name, role, wrap, place of the adjuster, marks."""
        pulley = route.pulleys[index]
        wrap = f"{np.degrees(route.loop.wrap[index]):.0f}\N{DEGREE SIGN}"
        lines = self._lines(pulley.name, pulley.role.replace("_", " ") + (", DRIVER" if pulley.drives else ""))
        in_full = pulley.name not in self.signs
        lines.append(Line(f"wrap {wrap}" if in_full else wrap, TEXT_PT, WRAP, True, f"wrap {pulley.name}"))
        if in_full and pulley is route.moving and route.position is not None:
            lines.append(Line(f"at {round(100.0 * route.position)} % of travel", TEXT_PT, SOFT_INK))
        return Block(tuple(lines), marks_at(marks, pulley.name), f"mark {pulley.name}")

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

    def spare(self, route: Route, pulley: Pulley, marks: tuple[Mark, ...]) -> None:
        if pulley.at_mm is None:
            return
        lines = self._lines(pulley.name, pulley.role.replace("_", " "), "not on this belt")
        block = Block(tuple(lines), marks_at(marks, pulley.name), f"mark {pulley.name}")
        away = np.array(pulley.at_mm) - route.loop.centre.mean(axis=0)
        radius = pulley.rim_radius_mm(route.layout.belt)
        self.beside(block, (Anchor(pulley.at_mm, radius, float(np.arctan2(away[1], away[0]))),))

    def obstacle(self, obstacle: Obstacle, marks: tuple[Mark, ...]) -> None:
        lines = self._lines(obstacle.name, size_pt=OBSTACLE_PT)
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

    def strand(self, route: Route, index: int, marks: tuple[Mark, ...]) -> None:
        name, loop = strand_name(route, index), route.loop
        block = Block((), marks_at(marks, name), f"mark {name}")
        if not block.marks:
            return
        out = loop.direction[index] * route.circuit.turning
        toward = float(np.arctan2(-out[0], out[1]))
        half = float(self.ground.half[index])
        points = loop.start[index] + np.outer(STRAND_SHARES, loop.end[index] - loop.start[index])
        self.beside(block, tuple(Anchor((float(x), float(y)), half, toward) for x, y in points))

    def stops(self, route: Route) -> None:
        """Which stop is which, where there is room for the words."""
        for (x, y, radius), word in zip(soft_of(route), stop_words(route), strict=False):
            away = np.array((x, y)) - route.loop.centre[route.circuit.moving or 0]
            anchor = Anchor((float(x), float(y)), float(radius), float(np.arctan2(away[1], away[0])))
            self.beside(Block((Line(f"{word} stop", STOP_PT, ADJUSTER, name="stop"),)), (anchor,), near=True)

    def _under_hub(self, block: Block, centre: tuple[float, float], rim: float) -> Box | None:
        width, height = block.width_pt / self.unit_pt, block.height_pt / self.unit_pt
        top = HUB_PT / self.unit_pt
        if np.hypot(0.5 * width, top + height) > INSIDE_SHARE * rim:
            return None
        x, y = centre
        return (x - 0.5 * width, y - top - height, x + 0.5 * width, y - top)

    def _is_free(self, box: Box, index: int) -> bool:
        others = np.arange(len(self.ground.radius)) != index
        ground = replace(self.ground, centre=self.ground.centre[others], radius=self.ground.radius[others])
        return not hits(ground, np.array([box]), 2.0 / self.unit_pt)[0]

    def _around(self, block: Block, middle: Floats) -> Box:
        width, height = block.width_pt / self.unit_pt, block.height_pt / self.unit_pt
        x, y = float(middle[0]), float(middle[1])
        return (x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height)

    def _fills(self, box: Box, outline: Floats) -> bool:
        # Inside its own outline and free of all else: no edge of any area touches it, and its middle is inside.
        own = np.array([box])
        ground = replace(self.ground, areas=())
        return bool(
            not touches_outline(own, outline, 3.0 / self.unit_pt)[0]
            and inside_area(own[:, :2], outline)[0]
            and not hits(ground, own, 2.0 / self.unit_pt)[0]
        )

    def _plate(self, box: Box) -> None:
        self.items.append(Shape((rectangle(box),), PAPER))

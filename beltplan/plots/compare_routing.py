"""The drawing of one column of a comparison: the routing, or the pulleys alone where there is no belt path."""

from __future__ import annotations

from collections.abc import Mapping
from string import ascii_uppercase

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley
from beltplan.geometry.vectors import Floats
from beltplan.plots.blocks import Block
from beltplan.plots.marks import marks_of
from beltplan.plots.palette import METAL, RIM
from beltplan.plots.placing import Anchor, Ground
from beltplan.plots.pulley_strokes import obstacle_items, obstacle_outline
from beltplan.plots.routing_labels import sign_line
from beltplan.plots.routing_scene import drawing_items, geometry_box
from beltplan.plots.scene import Box, Item, Shape, circle
from beltplan.plots.sheet import extent
from beltplan.plots.writer import Writer
from beltplan.studies.compare import Column

CELL_PT = 420.0
"""Width of a column's drawing."""
LABEL_ROOM_PT = 62.0
"""Kept free on either side of the geometry, for labels that stand outside it."""
TALLEST_PT = 330.0


def one_scale_pt(columns: tuple[Column, ...]) -> float:
    """Points on paper for one mm: the one scale at which every drawing fits its cell."""
    wide = CELL_PT - 2.0 * LABEL_ROOM_PT
    boxes = [column_box(column) for column in columns]
    return min(min(wide / (box[2] - box[0]), TALLEST_PT / (box[3] - box[1])) for box in boxes)


def column_box(column: Column) -> Box:
    """The box round pulleys, belt and obstacles of a column, mm of its layout."""
    if column.judged is not None:
        return geometry_box(column.judged.route)
    discs = _discs(column.layout)
    corners = [discs[:, :2] - discs[:, 2:], discs[:, :2] + discs[:, 2:]]
    points = np.concatenate([*corners, *(obstacle_outline(obstacle) for obstacle in column.layout.obstacles)])
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return (float(x0), float(y0), float(x1), float(y1))


def signs_of(columns: tuple[Column, ...]) -> dict[str, str]:
    """A letter for every name that stands in any of the drawings: numbers are ranks and findings there."""
    names = dict.fromkeys(name for column in columns for name in parts_of(column))
    return {name: ascii_uppercase[i % 26] * (1 + i // 26) for i, name in enumerate(names)}


def parts_of(column: Column) -> dict[str, str]:
    """What is drawn of a column: names, and what each is."""
    pulleys = {pulley.name: pulley.role.replace("_", " ") for pulley in _placed(column.layout)}
    return pulleys | {obstacle.name: "obstacle" for obstacle in column.layout.obstacles}


def column_items(column: Column, signs: Mapping[str, str], unit_pt: float) -> list[Item]:
    """The drawing, in mm of the column's layout, with signs for its names and marks for its findings."""
    box = column_box(column)
    middle, half = 0.5 * (box[0] + box[2]), 0.5 * CELL_PT / unit_pt
    edges = (middle - half, middle + half)
    if column.judged is None:
        return _bare_items(column.layout, signs, unit_pt, edges)
    return drawing_items(column.judged.route, marks_of(column.judged.findings), unit_pt, edges, signs=signs)


def level_of(column: Column) -> float:
    """Height at which the driver stands in its layout, mm: drawings side by side stand level by it."""
    return _centre(column.layout.driver)[1]


def reach_of(column: Column, items: list[Item], unit_pt: float) -> tuple[float, float]:
    """How far a drawing reaches over and under its driver's centre, mm."""
    drawn, level = extent(items, unit_pt), level_of(column)
    return drawn[3] - level, level - drawn[1]


def _placed(layout: Layout) -> list[Pulley]:
    return [pulley for pulley in layout.pulleys.values() if pulley.at_mm is not None or pulley.adjuster is not None]


def _centre(pulley: Pulley) -> tuple[float, float]:
    """Where a pulley stands, an adjusted one at its design setting."""
    if pulley.adjuster is not None:
        x, y = pulley.adjuster.centre_at(np.asarray(pulley.adjuster.nominal))
        return float(x), float(y)
    return pulley.at_mm or (0.0, 0.0)


def _discs(layout: Layout) -> Floats:
    """Centre and rim radius of every pulley that has a place, (n, 3) mm."""
    return np.array([(*_centre(pulley), pulley.rim_radius_mm(layout.belt)) for pulley in _placed(layout)])


def _bare_items(layout: Layout, signs: Mapping[str, str], unit_pt: float, edges: tuple[float, float]) -> list[Item]:
    discs, strips = _discs(layout), np.zeros((0, 2))
    areas = tuple(obstacle_outline(obstacle) for obstacle in layout.obstacles)
    boxes = (np.zeros((0, 3)), np.zeros((0, 4)), np.zeros((0, 2, 2)))
    ground = Ground(discs[:, :2], discs[:, 2], strips, strips, np.zeros(0), areas, *edges, *boxes)
    writer = Writer(ground, unit_pt)
    for (x, y, radius), pulley in zip(discs.tolist(), _placed(layout), strict=True):
        block = Block((sign_line(pulley.name, signs[pulley.name]),))
        away = np.array((x, y)) - discs[:, :2].mean(axis=0)
        writer.beside(block, (Anchor((x, y), radius, float(np.arctan2(away[1], away[0]))),))
    rims = [Shape((circle(disc[:2], disc[2]),), METAL, RIM, name="bare pulley") for disc in discs]
    return [*(item for obstacle in layout.obstacles for item in obstacle_items(obstacle)), *rims, *writer.items]

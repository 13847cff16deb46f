"""What stands round the belt: obstacles, and limits of the user's own."""

from __future__ import annotations

import math
from collections.abc import Mapping

from beltplan.checks.limits import LIMIT_KEYS
from beltplan.drive.layout import Circle, Obstacle, Polygon
from beltplan.layoutfile.document import Table
from beltplan.layoutfile.schema import OBSTACLES, key_at, limit_at
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.values import number

_SAME_PLACE_MM = 1e-6


def read_obstacles(top: Section) -> tuple[Obstacle, ...]:
    read = (_obstacle(name, each) for name, each in top.named_mappings("obstacles", OBSTACLES).items() if each)
    return tuple(obstacle for obstacle in read if obstacle is not None)


def _obstacle(name: str, section: Section) -> Obstacle | None:
    form = section.one_of(OBSTACLES)
    if form == "file":
        from beltplan.layoutfile.obstacle_file import read_traced  # its readers are loaded where a drawing stands

        return read_traced(name, section)
    if form == "polygon":
        corners = read_outline(section, "polygon")
        return None if corners is None else Polygon(name, corners)
    circle = section.mapping("circle") if form else None
    at, diameter = (None, None) if circle is None else circle.given("at", "diameter").values()
    return None if at is None or diameter is None else Circle(name, at, diameter)


def read_outline(section: Section, key: str) -> tuple[tuple[float, float], ...] | None:
    """The corners of an outline, mm, each once; None where there are none.

    One at the place of the corner before it goes: an edge of no length has no direction to measure along.
    """
    corners = section.value(key)
    if corners is None:
        return None
    from beltplan.geometry.shapes import is_polygon  # loads shapely, which a file without polygons can do without

    before = (*corners[-1:], *corners[:-1])
    apart = tuple(at for at, last in zip(corners, before, strict=True) if math.dist(at, last) > _SAME_PLACE_MM)
    if not is_polygon(apart):
        section.refuse(key, "an outline that crosses itself or bounds no area", "corners in order round the edge")
    return apart


_OF_OBSTACLES = ("min_clearance_mm", "max_likely_apart_mm")
"""Limits that may stand by the name of an obstacle."""


def read_limits(
    top: Section, pulleys: tuple[str, ...], obstacles: tuple[str, ...]
) -> Mapping[str, Mapping[str, float]]:
    """The file's own limits: key -> {name of a pulley or obstacle, or a role, or '' for all: value}."""
    limits = top.free_mapping("limits")
    if limits is None:
        return {}
    limits.check_keys(tuple(LIMIT_KEYS))
    known = [key for key in limits.names if key in LIMIT_KEYS]
    return {key: _limit(limits, key, (*pulleys, *(obstacles if key in _OF_OBSTACLES else ()))) for key in known}


def _limit(limits: Section, key: str, things: tuple[str, ...]) -> dict[str, float]:
    def given(section: Section, name: str, path: str) -> float | None:
        spec, node = limit_at(path, key), section.node(name)
        return (
            section.converted(name, node, spec, lambda node, spec: number(node, spec, section.scale)) if node else None
        )

    if not isinstance(node := limits.node(key), Table):
        read = {"": given(limits, key, "limits.LIMIT")}
    else:
        section, known = limits.below(key, node, "LIMIT"), (*things, *key_at("pulleys.NAME.role").choices)
        if things:
            section.refuse_others(section.names, tuple(dict.fromkeys(known)), "name")
        read = {name: given(section, name, "limits.LIMIT.NAME") for name in section.names if name in known}
    return {name: value for name, value in read.items() if value is not None}

"""Labels of a picture: right words, nothing on top of anything, measured with the real letters."""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
import pytest
import shapely
from matplotlib.text import Text

from beltplan.drive.route import Route
from beltplan.picture.page import marks_of
from beltplan.picture.painter import figure_of
from beltplan.picture.scene import Label, Scene, Shape
from beltplan.picture.strokes import belt_items
from tests.for_each import for_each
from tests.picture.drives import BUILT, every_route, judged, railcar, scene_of, two_pulleys

BUILDERS = every_route()
NAMES = list(BUILDERS)
SLACK_PT = 0.4
"""Text extents are rounded to whole pixels, half a point each."""


@cache
def pictured(name: str) -> tuple[Route, Scene]:
    route = BUILDERS[name]()
    return route, scene_of(route)


@cache
def measured(name: str) -> tuple[tuple[Label, shapely.Polygon], ...]:
    """Every label with the box of its letters as matplotlib lays them out, scene units, shrunk by the rounding."""
    scene = pictured(name)[1]
    figure = figure_of(scene)
    figure.set_dpi(144)
    renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    texts = [artist for artist in figure.artists if isinstance(artist, Text)]
    boxes = []
    for text, label in zip(texts, scene.labels, strict=True):
        extent = text.get_window_extent(renderer)
        per_unit = scene.unit_pt * 144.0 / 72.0
        slack = SLACK_PT / scene.unit_pt
        x0, y0 = extent.x0 / per_unit + scene.frame[0] + slack, extent.y0 / per_unit + scene.frame[1] + slack
        x1, y1 = extent.x1 / per_unit + scene.frame[0] - slack, extent.y1 / per_unit + scene.frame[1] - slack
        boxes.append((label, shapely.box(x0, y0, x1, y1)))
    return tuple(boxes)


@for_each("name", NAMES)
def test_no_label_lies_on_another(name: str) -> None:
    for (a, first), (b, second) in combinations(measured(name), 2):
        assert not first.intersects(second), (a.text, b.text)


@for_each("name", NAMES)
def test_no_label_passes_the_frame(name: str) -> None:
    frame = shapely.box(*pictured(name)[1].frame)
    for label, box in measured(name):
        assert frame.contains_properly(box), label.text


@for_each("name", NAMES)
def test_no_label_lies_on_the_belt(name: str) -> None:
    route, scene = pictured(name)
    shapes = [item for item in belt_items(route, scene.unit_pt) if isinstance(item, Shape)]
    outer, inner = (item.rings[0] for item in shapes if item.name == "belt edge")
    band = shapely.Polygon(outer).symmetric_difference(shapely.Polygon(inner))
    for label, box in measured(name):
        assert not band.intersects(box), label.text


@for_each("name", NAMES)
def test_no_label_lies_on_a_pulley_but_inside_its_own(name: str) -> None:
    route, _ = pictured(name)
    belt = route.layout.belt
    rims = {p.name: (route.loop.centre[i], float(route.circuit.rim[i])) for i, p in enumerate(route.pulleys)}
    rims |= {p.name: (np.array(p.at_mm), p.rim_radius_mm(belt)) for p in route.layout.unrouted if p.at_mm is not None}
    for label, box in measured(name):
        for pulley, (centre, radius) in rims.items():
            disc = shapely.Point(*centre).buffer(radius, quad_segs=64)
            assert not disc.intersects(box) or (disc.contains(box) and _beside(name, pulley, box)), (label.text, pulley)


def _beside(name: str, pulley: str, box: shapely.Polygon) -> bool:
    """Whether the pulley's own name stands inside it too: then the whole block does, by design."""
    route, _ = pictured(name)
    index = [p.name for p in route.pulleys].index(pulley)
    disc = shapely.Point(*route.loop.centre[index]).buffer(float(route.circuit.rim[index]))
    return any(label.name == f"name {pulley}" and disc.contains(b) for label, b in measured(name))


@for_each("name", NAMES)
def test_obstacles_are_covered_by_their_own_name_alone(name: str) -> None:
    _, scene = pictured(name)
    for item in scene.items:
        if isinstance(item, Shape) and item.name.startswith("obstacle "):
            area = shapely.Polygon(item.rings[0])
            own = (item.name.replace("obstacle ", "name "), item.name.replace("obstacle ", "mark "))
            for label, box in measured(name):
                assert label.name in own or not area.intersects(box), (label.text, item.name)


@for_each("name", NAMES)
def test_every_pulley_says_its_wrap(name: str) -> None:
    """The angle is taken anew between the contact points of the drawn spans."""
    route, scene = pictured(name)
    for i, pulley in enumerate(route.pulleys):
        (label,) = scene.named(f"wrap {pulley.name}")
        a, b = route.loop.end[i - 1] - route.loop.centre[i], route.loop.start[i] - route.loop.centre[i]
        sense = route.layout.sense_of(pulley)
        angle = np.degrees(sense * (np.arctan2(b[1], b[0]) - np.arctan2(a[1], a[0]))) % 360.0
        assert isinstance(label, Label)
        number = float(label.text.removeprefix("wrap ").removesuffix("\N{DEGREE SIGN}"))
        assert number == pytest.approx(angle, abs=0.5001)


@for_each("name", NAMES)
def test_every_mark_stands_at_every_part_it_names(name: str) -> None:
    route, scene = pictured(name)
    drawn = {item.name.split(" ", 1)[1] for item in scene.items if item.name.startswith(("name ", "span "))}
    for mark in marks_of(judged(route)):
        for part in set(mark.finding.parts) & drawn:
            texts = [item.text for item in scene.named(f"mark {part}") if isinstance(item, Label)]
            assert str(mark.number) in texts, (part, mark.number)


def test_driver_and_roles_are_said_in_words() -> None:
    texts = [label.text for label in scene_of(railcar()).labels]
    assert "crankshaft, DRIVER" in texts and "water pump" in texts
    assert "not on this belt" in [label.text for label in scene_of(two_pulleys()).labels]


def test_same_layout_gives_the_same_labels() -> None:
    for make in BUILT.values():
        assert scene_of(make()).labels == scene_of(make()).labels

"""Labels of a picture: right words, nothing on top of anything, measured with the real letters."""

from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely

from beltplan.checks.comparison import compare
from beltplan.checks.plan import plan_of
from beltplan.drive.route import Route
from beltplan.layoutfile.layout_file import read_every_layout
from beltplan.picture.cells import compare_scene
from beltplan.picture.page import marks_of
from beltplan.picture.pens import PROBLEM
from beltplan.picture.routing import routing_scene
from beltplan.picture.scene import Label, Scene, Shape, Stroke, View
from beltplan.picture.strokes import Drawn, belt_items
from beltplan.report.rows import compared
from tests.for_each import for_each
from tests.picture.crowding import lettering
from tests.picture.drives import BUILT, every_route, judged, railcar, scene_of, two_pulleys
from tests.picture.in_mm import in_mm

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
    """Every label with the box of its letters as matplotlib lays them out, mm, shrunk by the rounding."""
    scene = pictured(name)[1]
    back, corner = scene.view.back, np.array(scene.frame[:2])
    boxes = []
    for label, letters in zip(scene.labels, lettering(scene, SLACK_PT), strict=True):
        assert label.text == letters.words
        placed = np.reshape(letters.box.bounds, (2, 2)) + corner
        boxes.append((label, shapely.box(*back.at(placed).ravel())))
    return tuple(boxes)


@for_each(*NAMES)
def test_no_label_lies_on_another(name: str) -> None:
    for (a, first), (b, second) in combinations(measured(name), 2):
        assert not first.intersects(second), (a.text, b.text)


@for_each(*NAMES)
def test_no_label_passes_the_frame(name: str) -> None:
    frame = shapely.box(*in_mm(pictured(name)[1]).frame)
    for label, box in measured(name):
        assert frame.contains_properly(box), label.text


@for_each(*NAMES)
def test_no_label_lies_on_the_belt(name: str) -> None:
    route, scene = pictured(name)
    drawn = Drawn(route, View(scene.view.pt_per_mm))
    shapes = [item for item in belt_items(drawn) if isinstance(item, Shape)]
    outer, inner = (item.rings[0] / scene.view.pt_per_mm for item in shapes if item.name == "belt edge")
    band = shapely.Polygon(outer).symmetric_difference(shapely.Polygon(inner))
    for label, box in measured(name):
        assert not band.intersects(box), label.text


@for_each(*NAMES)
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


@for_each(*NAMES)
def test_obstacles_are_covered_by_their_own_name_alone(name: str) -> None:
    for item in in_mm(pictured(name)[1]).items:
        if isinstance(item, Shape) and item.name.startswith("obstacle "):
            area = shapely.Polygon(item.rings[0])
            own = (item.name.replace("obstacle ", "name "), item.name.replace("obstacle ", "mark "))
            for label, box in measured(name):
                assert label.name in own or not area.intersects(box), (label.text, item.name)


@for_each(*NAMES)
def test_every_pulley_says_its_wrap(name: str) -> None:
    """The angle is taken anew between the contact points of the drawn spans."""
    route, scene = pictured(name)
    for i, pulley in enumerate(route.pulleys):
        (label,) = scene.named(f"wrap {pulley.name}")
        a, b = route.loop.end[i - 1] - route.loop.centre[i], route.loop.start[i] - route.loop.centre[i]
        sense = route.layout.sense_of(pulley)
        angle = np.degrees(sense * (np.arctan2(b[1], b[0]) - np.arctan2(a[1], a[0]))) % 360.0
        assert isinstance(label, Label)
        number = float(label.text.removeprefix("wrap ").removesuffix("\N{DEGREE SIGN}").split(" of ")[0])
        assert number == pytest.approx(angle, abs=0.5001)


@for_each(*NAMES)
def test_every_mark_stands_at_every_part_it_names(name: str) -> None:
    route, scene = pictured(name)
    drawn = {item.name.split(" ", 1)[1] for item in scene.items if item.name.startswith(("name ", "span "))}
    for mark in marks_of(judged(route)):
        for part in set(mark.finding.parts) & drawn:
            texts = [item.text for item in scene.named(f"mark {part}") if isinstance(item, Label)]
            assert str(mark.number) in texts, (part, mark.number)


@for_each(*NAMES)
def test_numbers_are_listed_in_their_order(name: str) -> None:
    """Also where findings of one advice stand together, from the first number to the last."""
    _, scene = pictured(name)
    numbers = [int(item.name.removeprefix("list ")) for item in scene.labels if item.name.startswith("list ")]
    assert numbers == list(range(1, len(numbers) + 1))


@for_each(*NAMES)
def test_both_stops_are_named_and_no_word_lies_on_their_circles(name: str) -> None:
    route, scene = pictured(name)
    shapes = (item for item in in_mm(scene).items if isinstance(item, Shape))
    circles = [shapely.LinearRing(item.rings[0]) for item in shapes if item.name in ("stop short", "stop long")]
    named = sorted(label.text for label in scene.labels if label.name == "stop")
    assert named == ([] if route.moving is None else ["long stop", "short stop"]) and len(circles) == len(named)
    for label, box in measured(name):
        assert not any(circle.intersects(box) for circle in circles), label.text


CROWDED = Path(__file__).with_name("crowded.yaml")


def crowded() -> tuple[Scene, Scene]:
    """Twelve pulleys on one belt: alone, and beside two variants."""
    named = [(file.layout.variant or "base", file.layout) for file in read_every_layout(str(CROWDED))]
    return routing_scene(plan_of(named[0][1])), compare_scene(compared(compare(named)))


def test_the_mark_of_a_span_stands_close_by_or_on_it() -> None:
    """A long line from a mark would look like a part of the drawing."""
    for scene in crowded():
        leaders = [item.points for item in scene.named("leader") if isinstance(item, Stroke)]
        marks = [item for item in scene.items if isinstance(item, Shape) and " to " in item.name]
        spans = [item for item in marks if item.name.startswith("mark ")]
        assert spans
        for mark in spans:
            ring = shapely.Polygon(mark.rings[0])
            own = [points for points in leaders if shapely.Point(points[-1]).distance(ring) < 4.0]
            assert all(np.hypot(*(points[0] - points[-1])) < 50.0 for points in own), mark.name


def test_a_leader_ends_in_a_dot_on_what_it_belongs_to() -> None:
    """As ISO 128-22 ends a leader line on an area."""
    for scene in crowded():
        leaders = [item.points for item in scene.named("leader") if isinstance(item, Stroke)]
        dots = [item.rings[0].mean(axis=0) for item in scene.named("leader end") if isinstance(item, Shape)]
        ends = np.concatenate([points[[0, -1]] for points in leaders])
        assert dots and all(np.hypot(*(ends - dot).T).min() < 0.1 for dot in dots)


def test_driver_and_roles_are_said_in_words() -> None:
    texts = [label.text for label in scene_of(railcar()).labels]
    assert "crankshaft, DRIVER" in texts and "water pump" in texts


def test_a_wrap_that_fails_says_of_how_much_in_the_colour_of_a_problem() -> None:
    """The least wraps are those of the table of limits, as the findings name them."""
    route, scene = pictured("too_tight")
    short = [finding for finding in judged(route) if finding.check == "wrap" and finding.severity == "problem"]
    assert short
    for finding in short:
        (label,) = scene.named(f"wrap {finding.subject}")
        assert isinstance(label, Label) and label.colour == PROBLEM
        assert label.text.endswith(f" of {finding.limit:g}\N{DEGREE SIGN}")


def test_a_role_that_the_name_tells_is_not_said_twice() -> None:
    scene = pictured("railcar")[1]
    assert [label.text for label in scene.labels if label.name.startswith("name water_pump")] == ["water_pump"]
    assert "water pump" in [label.text for label in scene.labels if label.name == "pulley cell"]
    assert "water pump" not in [label.text for label in scene.labels if label.name == ""]


def test_what_is_not_on_this_belt_is_said() -> None:
    assert "not on this belt" in [label.text for label in scene_of(two_pulleys()).labels]


def test_same_layout_gives_the_same_labels() -> None:
    for make in BUILT.values():
        assert scene_of(make()).labels == scene_of(make()).labels

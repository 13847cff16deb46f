"""The picture of a belt that cannot be laid: what its message tells is what is drawn, under the same numbers.

That two lines meet is shapely's word; the layouts are the shipped ones with two pulleys of the route exchanged.
"""

import math
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely
import shapely.affinity

from beltplan.drive.layout import Layout, Polygon
from beltplan.drive.mounts import Mark
from beltplan.drive.route import route_of
from beltplan.drive.way_round import NoBeltPath, PathFault
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.pens import MISSING_LINE, UNLAID_LINE, WRONG_LINE
from beltplan.picture.scene import Label, Scene, Shape, Stroke
from beltplan.picture.unlaid import unlaid_scene
from tests.checks.drives import layout, pulley, two
from tests.picture.crowding import crowded, lettering
from tests.picture.in_mm import in_mm
from tests.shipped import SHIPPED_LAYOUTS

SLACK_PT = 0.4


def refused(given: Layout) -> tuple[PathFault, ...]:
    try:
        route_of(given)
    except NoBeltPath as refusal:
        return refusal.faults
    return ()


@cache
def crossing() -> tuple[tuple[Layout, PathFault], ...]:
    """Shipped layouts with two neighbours of the route exchanged, those whose belt then crosses itself."""
    found = []
    for path in SHIPPED_LAYOUTS:
        good = read_layout(str(path)).layout
        for first, second in pairwise(good.route):
            other = {first: second, second: first}
            bad = replace(good, route=tuple(other.get(name, name) for name in good.route))
            found += [(bad, fault) for fault in refused(bad) if fault.crossings][:1]
    return tuple(found)


def drawn(given: Layout, advice: str = "") -> Scene:
    return in_mm(unlaid_scene(given, refused(given), advice))


def clear(given: Layout) -> bool:
    return crowded(unlaid_scene(given, refused(given), "With another order it works (tried)"), SLACK_PT) == []


def lines(scene: Scene, part: str) -> list[Stroke]:
    return [item for name in (f"span {part}", f"arc {part}") for item in scene.named(name) if isinstance(item, Stroke)]


def numbers(scene: Scene, name: str) -> set[str]:
    return {item.text for item in scene.named(name) if isinstance(item, Label)}


def test_each_crossing_is_drawn_and_numbered_as_in_the_message() -> None:
    assert len(crossing()) > 5
    for bad, fault in crossing():
        scene = drawn(bad)
        for number, each in enumerate(fault.crossings, 1):
            assert f"({number}) {each.words}" in fault.got
            (first,), (second,) = lines(scene, each.first), lines(scene, each.second)
            assert (first.pen, second.pen) == (WRONG_LINE, WRONG_LINE)
            assert shapely.LineString(first.points).distance(shapely.LineString(second.points)) < 1.0
            assert all(str(number) in numbers(scene, f"mark {part}") for part in (each.first, each.second))


def test_every_pulley_and_all_of_the_belt_are_drawn_and_no_words_lie_on_others() -> None:
    for bad, fault in crossing()[::4]:
        scene = drawn(bad, "With another order it works (tried)")
        wrong = {part for each in fault.crossings for part in (each.first, each.second)}
        assert all(len(scene.named(f"rim {name}")) == 1 for name in bad.route)
        belt = [item for item in scene.items if isinstance(item, Stroke) and item.pen in (UNLAID_LINE, WRONG_LINE)]
        belt = [item for item in belt if item.name.startswith(("span ", "arc "))]
        assert len(belt) == 2 * len(bad.route)
        assert {item.name.partition(" ")[2] for item in belt if item.pen == WRONG_LINE} == wrong
        assert clear(bad)


def test_rims_that_overlap_have_a_line_round_them() -> None:
    """Two pulleys of 100 mm, 90 mm apart, and a third far off."""
    bad = layout(pulley("crank", "crankshaft", 0, 0), pulley("far", "alternator", 90, 0), pulley("up", "fan", 45, 400))
    scene = drawn(bad)
    round_each = [item for name in ("crank", "far") for item in scene.named(f"round {name}")]
    assert [item.pen for item in round_each if isinstance(item, Stroke)] == [WRONG_LINE] * 2
    assert len(scene.named("arc up")) == 1
    assert clear(bad)
    assert {"1"} <= numbers(scene, "mark crank") & numbers(scene, "mark far")


@pytest.mark.parametrize("distance", [0.0, 20.0])
def test_one_pulley_inside_another_lies_on_top(distance: float) -> None:
    scene = drawn(two(distance, 60.0, 200.0))
    rims = [item.name for item in scene.items if isinstance(item, Shape) and item.name.startswith("rim ")]
    assert len(rims) == 2 and rims[-1] == f"rim {two().route[0]}"
    assert [item.pen for item in scene.items if item.name.startswith("missing ") and isinstance(item, Stroke)] == [
        MISSING_LINE
    ] * 2
    assert clear(two(distance, 60.0, 200.0))


def test_a_mark_has_its_name_as_where_the_belt_is_laid() -> None:
    bad, _ = crossing()[0]
    marked = replace(bad, marks=(Mark("dowel", bad.driver.at_mm or (0.0, 0.0)),))
    (name,) = (item for item in drawn(marked).named("name dowel") if isinstance(item, Label))
    assert name.text == "dowel"


def test_no_words_lie_on_a_plate_of_three_corners_but_its_own_name() -> None:
    """Eight small plates round two pulleys of 100 mm that overlap, where their names would stand."""
    corners = [(120.0 * math.cos(t) + 45.0, 120.0 * math.sin(t)) for t in np.arange(8) * math.pi / 4.0]
    plates = tuple(
        Polygon(f"plate {i}", ((x - 25.0, y - 18.0), (x + 25.0, y - 18.0), (x, y + 25.0)))
        for i, (x, y) in enumerate(corners)
    )
    scene = unlaid_scene(replace(two(90.0), obstacles=plates), refused(two(90.0)), "")
    drawn_plates = [item for item in scene.items if isinstance(item, Shape) and item.name.startswith("obstacle ")]
    assert len(drawn_plates) == len(plates)
    for label, letters in zip(scene.labels, lettering(scene, SLACK_PT), strict=True):
        box = shapely.affinity.translate(letters.box, *scene.frame[:2])
        on = [plate.name for plate in drawn_plates if shapely.Polygon(plate.rings[0]).intersects(box)]
        assert {name.split(" ", 1)[1] for name in on} <= {label.name.split(" ", 1)[-1]}, (label.text, on)

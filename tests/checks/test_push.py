"""A spring pushes one way, whatever the order of the belt: which way is what the layout's own path says."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from beltplan.checks.doubts import RISING_SPRING
from beltplan.checks.plan import plan_of
from beltplan.cure.study import cures_of
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Pulley
from beltplan.drive.route import route_of, with_known_push
from beltplan.layoutfile.layout_file import read_layout
from beltplan.place.study import judged_places
from beltplan.routes.study import search_routes
from tests.for_each import for_each

SPRUNG = ("railcar", "workboat", "camper")


def _of(name: str) -> Layout:
    return read_layout(f"layouts/{name}.yaml").layout


def _tensioner(layout: Layout) -> Pulley:
    return next(each for each in layout.routed if each.adjuster is not None)


def _longer_with_angle(layout: Layout) -> float:
    """Of the whole path, with the arm a tenth of a degree further on than it stands: of two layouts without travel."""
    pulley, route = _tensioner(layout), route_of(layout)
    held, length = pulley.adjuster, []
    assert isinstance(held, Arm) and route.setting is not None
    for angle in route.setting + np.radians([-0.05, 0.05]):
        at = (
            held.pivot_mm[0] + held.length_mm * float(np.cos(angle)),
            held.pivot_mm[1] + held.length_mm * float(np.sin(angle)),
        )
        length.append(float(route_of(layout.with_pulley(replace(pulley, adjuster=None, at_mm=at))).loop.length))
    return length[1] - length[0]


def _pushes(layout: Layout) -> int:
    held: Any = _tensioner(layout).adjuster
    return int(held.spring.pushes)


def _told(layout: Layout) -> list[str]:
    return [each.severity for each in plan_of(layout).findings if each.check == RISING_SPRING.name]


@for_each("name", SPRUNG)
def test_the_own_path_tells_which_way_a_spring_pushes(name: str) -> None:
    layout = _of(name)
    known = with_known_push(layout)
    assert _pushes(known) == np.sign(_longer_with_angle(layout)) and _pushes(layout) == 0
    assert _told(known) == [] == _told(layout), "its own path asks for no other push"


@for_each("name", ["workboat", "railcar"])
def test_an_order_that_turns_the_push_about_is_a_problem(name: str) -> None:
    """Which do is asked of the path length itself, by laying each order twice with the pulley fixed."""
    layout = with_known_push(_of(name))
    turned = 0
    for found in search_routes(_of(name)).routes:
        grows = np.sign(_longer_with_angle(found.judged.layout))
        told = [each.severity for each in found.judged.findings if each.check == RISING_SPRING.name]
        assert told == ([] if grows == _pushes(layout) else ["problem"])
        turned += bool(told)
    assert turned > 1


def test_a_map_judges_it_as_check_does() -> None:
    layout = with_known_push(_of("workboat"))
    pulley, held = _tensioner(layout), _tensioner(layout).adjuster
    assert isinstance(held, Arm) and held.spring is not None
    back = layout.with_pulley(
        replace(pulley, adjuster=replace(held, spring=replace(held.spring, pushes=-_pushes(layout))))
    )
    x, y = layout.pulleys["alternator"].at_mm or (0.0, 0.0)
    places = np.array([[[x, y]], [[x - 20.0, y]]])
    good, bad = (judged_places(each, ("alternator",), places) for each in (layout, back))
    assert (good.state != bad.state).all() and len(set(bad.state.tolist())) == 1
    assert _told(back) == ["problem"]


def test_no_cure_turns_it_about() -> None:
    """Without this an order that turns it about and one idler more would cure it: seen, and kept in this case."""
    layout = read_layout("tests/cases/turned_spring.yaml").layout
    cures = cures_of(layout)
    assert cures.nearest is not None and cures.best is None
    after = cures.nearest.trial.layout
    turned = np.sign(_longer_with_angle(after)) != _pushes(with_known_push(layout))
    told = [each.severity for each in cures.nearest.judged.findings if each.check == RISING_SPRING.name]
    assert told == (["problem"] if turned else [])

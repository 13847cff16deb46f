"""A spring pushes one way, whatever the order of the belt: which way is what the layout's own path says."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from beltplan.api import plan_many
from beltplan.checks.doubts import RISING_SPRING
from beltplan.checks.plan import plan_of
from beltplan.cure.study import cures_of
from beltplan.drag.bench import Bench
from beltplan.drag.live import live_of
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Pulley, Slide, SlideSpring
from beltplan.drive.route import route_of, with_known_push, with_push_of
from beltplan.layoutfile.layout_file import read_every_layout, read_layout
from beltplan.place.study import judged_places
from beltplan.routes.study import search_routes
from tests.cli.running import Runner
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


def _told(layout: Layout) -> list[str]:
    return [each.severity for each in plan_of(layout).findings if each.check == RISING_SPRING.name]


@for_each(*SPRUNG)
def test_the_own_path_tells_which_way_a_spring_pushes(name: str) -> None:
    layout = _of(name)
    known = with_known_push(layout)
    assert known.pushes == np.sign(_longer_with_angle(layout)) and layout.pushes == 0
    assert _told(known) == [] == _told(layout), "its own path asks for no other push"


@for_each("workboat", "railcar")
def test_an_order_that_turns_the_push_about_is_a_problem(name: str) -> None:
    """Which do is asked of the path length itself, by laying each order twice with the pulley fixed."""
    layout = with_known_push(_of(name))
    turned = 0
    for found in search_routes(_of(name)).routes:
        grows = np.sign(_longer_with_angle(found.judged.layout))
        told = [each.severity for each in found.judged.findings if each.check == RISING_SPRING.name]
        assert told == ([] if grows == layout.pushes else ["problem"])
        turned += bool(told)
    assert turned > 1


def test_a_map_judges_it_as_check_does() -> None:
    layout = with_known_push(_of("workboat"))
    back = replace(layout, pushes=-layout.pushes)
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
    turned = np.sign(_longer_with_angle(after)) != with_known_push(layout).pushes
    told = [each.severity for each in cures.nearest.judged.findings if each.check == RISING_SPRING.name]
    assert told == (["problem"] if turned else [])


_TURNED = ("crank", "steering_pump", "tensioner", "water_pump", "idler", "alternator")


def _written(tmp_path: Path, *changed: tuple[str, str]) -> str:
    """The workboat with one variant more: the belt led round in an order in which the same spring would slacken it."""
    text = Path("layouts/workboat.yaml").read_text(encoding="utf-8")
    text += f"  led otherwise:\n    route: [{', '.join(_TURNED)}]\n"
    for old, new in changed:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "workboat.yaml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_variant_is_told_of_a_push_the_other_way(tmp_path: Path, run: Runner) -> None:
    path = _written(tmp_path)
    base, *_, turned = (file.layout for file in read_every_layout(path))
    assert np.sign(_longer_with_angle(base)) == -np.sign(_longer_with_angle(turned)) == turned.pushes
    assert _told(turned) == ["problem"] and _told(base) == []
    columns = {each["name"]: each["findings"] for each in json.loads(run("compare", path, "--json").out)["columns"]}
    told = [name for name, found in columns.items() if any(each["check"] == RISING_SPRING.name for each in found)]
    assert told == ["led otherwise"]
    alone = json.loads(run("check", path, "--variant", "led otherwise", "--json").out)["findings"]
    assert [each["severity"] for each in alone if each["check"] == RISING_SPRING.name] == ["problem"]


def test_another_spring_in_a_variant_may_push_the_other_way(tmp_path: Path) -> None:
    route = f"route: [{', '.join(_TURNED)}]\n"
    spring = "    pulleys: {tensioner: {spring: {torque_Nm: 41, at_deg: 100, rate_Nm_per_deg: 0.3}}}\n"
    *_, turned = read_every_layout(_written(tmp_path, (route, route + spring)))
    assert turned.layout.pushes == 0 and _told(turned.layout) == []


def test_a_slide_that_is_turned_about_pushes_as_its_own_path_says() -> None:
    layout = _of("workboat")
    spring = SlideSpring(300.0, 0.0, 1.0)
    slides = [Slide((0.0, 0.0), end, spring=spring) for end in ((0.0, 40.0), (10.0, 35.0), (0.0, -40.0))]
    held, *others = (layout.with_pulley(replace(_tensioner(layout), adjuster=each)) for each in slides)
    assert [with_push_of(other, replace(held, pushes=1)).pushes for other in others] == [1, 0]
    assert with_push_of(layout, replace(held, pushes=1)).pushes == 0, "an arm is no slide"


def test_a_hand_that_leads_the_belt_round_otherwise_is_told(tmp_path: Path) -> None:
    bench = Bench(_written(tmp_path), None, lambda *_: "")
    assert all(each.check != RISING_SPRING.name for each in bench.live.findings)
    live = live_of(replace(bench.now, route=_TURNED))
    assert [each.severity for each in live.findings if each.check == RISING_SPRING.name] == ["problem"]


def test_places_of_a_notebook_are_judged_by_the_own_path_too(monkeypatch: pytest.MonkeyPatch) -> None:
    layout = _of("workboat")
    place = [layout.pulleys["alternator"].at_mm or (0.0, 0.0)]
    assert plan_many(layout, "alternator", place).verdict.tolist() == ["sound"]
    other = -with_known_push(layout).pushes
    monkeypatch.setattr("beltplan.place.study.with_known_push", lambda layout: replace(layout, pushes=other))
    assert plan_many(layout, "alternator", place).verdict.tolist() == ["problem"]


@for_each(*SPRUNG)
def test_a_path_that_is_laid_is_not_laid_again(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    layout, route = _of(name), route_of(_of(name))
    known = with_known_push(layout)
    monkeypatch.setattr("beltplan.drive.route.circuit_for", None)
    assert with_known_push(layout, route).pushes == known.pushes != 0
    assert with_known_push(known) is known

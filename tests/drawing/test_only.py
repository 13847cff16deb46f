"""A template of some pulleys and marks alone: all that was asked for lies on a sheet, in true scale, and no more."""

import math
import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from beltplan.drawing.control import laid_off_mm
from beltplan.drawing.picture import Template
from beltplan.drawing.strokes import CROSS_MM, drawing_of
from beltplan.drive.layout import deviations_of
from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import Route, route_of
from beltplan.picture.framing import obstacle_outline
from beltplan.picture.paper import PAPERS
from beltplan.picture.scene import Scene, Shape
from tests.drawing.drawn_drives import random_routes, shipped, with_everything
from tests.drawing.template_reader import MM, scenes_of, template
from tests.for_each import for_each

EVERYTHING = route_of(with_everything())


@lru_cache
def made(*only: str, paper: str = "A4") -> tuple[Template, list[Scene]]:
    return template(EVERYTHING, paper, only), scenes_of(EVERYTHING, paper, only)


def words(scenes: list[Scene]) -> str:
    return "\n".join(label.text for scene in scenes for label in scene.labels)


@settings(max_examples=20)
@given(st.sampled_from(random_routes()), st.data())
def test_sheets_cover_all_that_is_asked(route: Route, data: st.DataObject) -> None:
    """Centres, rims and control lines against shapely: every cross whole on one sheet, every line on the sheets."""
    names = data.draw(st.lists(st.sampled_from(sorted(route.layout.pulleys)), min_size=1, max_size=3, unique=True))
    paper = data.draw(st.sampled_from(("A4", "A3", "letter")))
    found = template(route, paper, tuple(names))
    windows = [shapely.box(*found.tiling.window(page)).buffer(1e-6) for page in found.pages]
    shown = shapely.union_all(windows)
    for spot in found.drawing.crosses:
        assert any(window.covers(shapely.Point(spot.at_mm).buffer(CROSS_MM)) for window in windows)
    for name in names:
        pulley = route.layout.pulleys[name]
        rim = shapely.Point(np.array(pulley.at_mm)).buffer(pulley.rim_radius_mm(route.layout.belt)).exterior
        assert shown.covers(rim)
    for each in found.drawing.controls():
        assert shown.covers(shapely.LineString((each.start.at_mm, each.end.at_mm)))
        assert {each.start.name, each.end.name} & set(names)
    assert len(found.drawing.controls()) == 2 and len(found.pages) <= len(template(route, paper).pages)


def test_pulleys_that_are_not_asked_for_stay_as_numbers() -> None:
    """The names of the drawing and the table are those of the layout, each in one of them, but for what moves."""
    found, (first, *_) = made("spare")
    numbers = sorted(spot.name for spot in found.drawing.others)
    drawn = [spot.name for spot in found.drawing.crosses if spot.layer != "holes"]
    every = {spot.name for spot in drawing_of(EVERYTHING).crosses if spot.layer in ("centres", "marks")}
    assert sorted(numbers + drawn) == sorted(every - {"tensioner"})
    assert sorted(label.text for label in first.labels if label.name == "row") == numbers
    assert not any(stroke.name.startswith(("belt", "obstacles hose")) for stroke in found.drawing.strokes)


@settings(max_examples=20)
@given(st.sampled_from([*random_routes(), EVERYTHING]), st.data())
def test_what_a_bracket_could_hit_is_drawn_as_far_as_the_sheets_reach(route: Route, data: st.DataObject) -> None:
    """Outlines of obstacles against shapely: what lies on a sheet is there, named; no sheet is printed for one."""
    names = data.draw(st.lists(st.sampled_from(sorted(route.layout.pulleys)), min_size=1, max_size=2, unique=True))
    found = template(route, "A4", tuple(names))
    bare = template(route_of(replace(route.layout, obstacles=())), "A4", tuple(names))
    assert found.pages == bare.pages
    room = shapely.union_all([shapely.box(*found.tiling.cell(page)) for page in found.pages])
    told = {label.text for note in found.notes for label in note.words}
    for obstacle in route.layout.obstacles:
        own = [shapely.LineString(s.points) for s in found.drawing.beside[obstacle.name]]
        line = shapely.LinearRing(obstacle_outline(obstacle)).intersection(room)
        assert shapely.union_all(own).hausdorff_distance(line) < 0.2 if own else line.is_empty
        assert bool(own) is (obstacle.name in told)


@for_each(
    (("spare",), {"crank", None}),  # not the dowel: 75 mm from the crank, and the spare 350 mm away
    (("crank",), {"dowel", None}),
    (("dowel",), {"crank", None}),
    (("dowel", "crank"), {None}),
)
def test_a_print_is_laid_on_two_points_that_do_not_move(only: tuple[str, ...], datums: set[str | None]) -> None:
    """The driver or the mark where it is there, and none that leaves the print half as far off again as another."""
    drawing = drawing_of(EVERYTHING, only)
    told = [spot.name for spot in drawing.datums]
    assert len(told) == 2 and "tensioner" not in told and not set(told) & set(only)
    assert datums - {None} <= set(told)
    own = [spot for spot in drawing.crosses if spot.name in only]
    first, second = drawing.datums
    off = laid_off_mm(EVERYTHING.layout, (first, second), own)
    assert all(off <= 1.5 * laid_off_mm(EVERYTHING.layout, (first, other), own) for other in drawing.others)


@for_each(0.2, 3.0)
def test_how_far_off_a_print_is_laid(sure_mm: float) -> None:
    """Both points drawn a normal deviation off and the print laid on them, 4,000 times, by numpy alone."""
    drawing, given = drawing_of(EVERYTHING, ("spare",)), EVERYTHING.layout
    first, second = drawing.datums
    held = replace(given.pulleys["tensioner"], uncertainty=Uncertainty(position_mm=sure_mm))
    layout = given.with_pulley(held)
    sd = [deviations_of(layout, layout.pulleys["crank"]).position_mm, sure_mm]
    assert [first.name, second.name] == ["crank", "tensioner pivot"]
    own = [spot for spot in drawing.crosses if spot.name == "spare"]
    true = np.array([complex(*first.at_mm), complex(*second.at_mm)])
    noise = np.random.default_rng(7).normal(size=(4000, 2, 2)) @ np.array([1.0, 1.0j]) * sd
    drawn = true + noise
    # Laid with the middles on each other and the directions alike: a shift and a turn.
    turn = np.diff(true) / np.diff(drawn, axis=1) * np.abs(np.diff(drawn, axis=1)) / np.abs(np.diff(true))
    at = complex(*own[0].at_mm)
    laid = true.mean() + (at - drawn.mean(axis=1)) * turn[:, 0]
    # Along each axis alike at most: the worst direction, not the length of both.
    off = laid - at
    worst = np.sqrt(np.linalg.eigvalsh(np.cov(off.real, off.imag)).max())
    assert laid_off_mm(layout, (first, second), own) == pytest.approx(worst, rel=0.05)


@for_each((("spare",), {"centre; dot", "datum point"}), (("dowel",), {"mark", "datum point"}))
def test_the_legend_tells_what_is_punched_from_what_is_only_measured_from(
    only: tuple[str, ...], held: set[str]
) -> None:
    """Asked for one pulley, the print is laid on the driver and a mark; for the mark, on two pulleys."""
    first, *_ = made(*only)[1]
    legend = {re.split("[:,]", label.text)[0] for label in first.labels if label.name == "legend"}
    every = {"centre; dot", "mark", "datum point"}
    assert legend & every == held
    drawn = {item.name for scene in made(*only)[1] for item in scene.items if item.name.startswith("datum ")}
    assert drawn == {f"datum {spot.name}" for spot in made(*only)[0].drawing.datums} and len(drawn) == 2


def test_the_moving_pulley_is_measured_from_its_pivot_and_not_punched() -> None:
    drawing = drawing_of(EVERYTHING, ("tensioner",))
    assert "tensioner" not in {dot.name for dot in drawing.dots}
    assert all("tensioner pivot" in (each.start.name, each.end.name) for each in drawing.controls())


def test_a_control_distance_is_in_true_scale() -> None:
    """72 points are an inch of 25.4 mm: between the dots as they are drawn, whatever the sheets."""
    found, scenes = made("spare", "crank", paper="A1")
    (scene,) = scenes
    dots = {item.name: item.rings[0].mean(axis=0) for item in scene.items if isinstance(item, Shape) and item.name}
    for control in found.drawing.controls():
        first, second = (dots[f"dot {spot.name}"] for spot in (control.start, control.end))
        assert math.dist(first, second) * MM == pytest.approx(control.length_mm, abs=1e-6)
        assert f"{control.length_mm:.1f} mm" in words(scenes)


def test_every_sheet_with_two_dots_has_a_control_distance() -> None:
    for route, only in ((shipped("railcar", None), None), (EVERYTHING, ("spare", "crank"))):
        found, scenes = template(route, "A3", only), scenes_of(route, "A3", only)
        for page, scene in zip(found.pages, scenes, strict=True):
            told = [label.text for label in scene.labels if label.name == "control" and label.text]
            controls = found.controls(page)
            assert bool(told) is bool(controls or page == found.pages[0])
            names = {label.text for label in scene.labels if label.bold}
            assert page == found.pages[0] or {end.name for each in controls for end in (each.start, each.end)} <= names


def test_holes_and_slots_of_what_is_asked_have_their_diameter_and_a_dot() -> None:
    _, scenes = made("spare")
    dots = {item.name for scene in scenes for item in scene.items if item.name.startswith("dot ")}
    assert {f"dot spare {hole}" for hole in ("hole 1", "hole 2", "slot 1 from", "slot 1 to")} <= dots
    assert "\u00d8 10.5 mm" in words(scenes) and "\u00d8 9 mm" in words(scenes)
    legend = {label.text for label in scenes[0].labels if label.name == "legend"}
    assert any(text.startswith("bolt hole") for text in legend) and any(text.startswith("slot") for text in legend)
    assert "belt line" not in legend


def test_a_legend_tells_of_holes_slots_and_marks_only_where_they_are() -> None:
    own, other = (
        {label.text for label in scenes_of(route, "A0")[0].labels if label.name == "legend"}
        for route in (EVERYTHING, shipped("railcar", None))
    )
    for kind in ("bolt hole", "slot", "mark"):
        assert any(text.startswith(kind) for text in own) and not any(text.startswith(kind) for text in other)


def test_a_file_in_inches_is_labelled_in_inches_with_mm_beside_a_drill() -> None:
    """10.5 mm are 0.413 in by the inch of 25.4 mm."""
    route = route_of(replace(with_everything(), units="in"))
    told = [label.text for scene in scenes_of(route, "A2", ("spare",)) for label in scene.labels]
    assert "\u00d8 0.413 in (10.5 mm)" in told
    assert not any(label.startswith("x ") and label.endswith(" mm") for label in told)


@for_each(*(paper.name for paper in PAPERS))
def test_one_pulley_takes_no_more_sheets_than_the_drive(paper: str) -> None:
    assert len(template(EVERYTHING, paper, ("crank",)).pages) <= len(template(EVERYTHING, paper).pages)

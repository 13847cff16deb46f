"""Sheets of a template as scenes: labels whole, apart, off the crosses; marks, cut lines and maps where they belong."""

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
import shapely

from beltplan.checks.limits import Finding
from beltplan.drawing.paper import OVERLAP_MM
from beltplan.drawing.picture import (
    Note,
    Template,
    _noted,
    _wanted,
    keep_out_of,
    notes_of,
    page_scenes,
    sheet_counts,
    with_seams,
)
from beltplan.drawing.strokes import CROSS_MM, FULL_SIZE, drawing_of
from beltplan.drive.route import Route
from beltplan.picture.labels import hits
from beltplan.picture.paper import MM_PT
from beltplan.picture.scene import Label, Scene, Shape, Stroke, seen_box
from tests.drawing.template_reader import heading, scenes_of, template
from tests.for_each import for_each
from tests.picture.crowding import crowded
from tests.picture.drives import every_route
from tests.picture.in_mm import in_mm
from tests.picture.test_routing_scene import luminance

DRIVES = every_route()
EVERY = for_each(*DRIVES)
SLACK_PT = 0.6
ON_A4 = {"crowded", "railcar", "too_tight"}
MANY = 15 * (Finding("wrap", "problem", "crank", "too little wrap", "test"),)


@lru_cache(maxsize=64)
def made(name: str, paper: str = "") -> tuple[Template, list[Scene]]:
    """On A4 where nothing else is asked, but for large or plain drives, of which A4 tells no more."""
    route = DRIVES[name]()
    found = template(route, paper or ("A4" if name in ON_A4 else "A2"), found=MANY)
    return found, list(page_scenes(found, heading(route, MANY)))


def sheets(name: str, paper: str = "") -> tuple[Template, list[Scene]]:
    """The same with its sheets in mm of the layout."""
    found, scenes = made(name, paper)
    return found, list(map(in_mm, scenes))


@EVERY
def test_no_text_lies_on_another_or_passes_the_paper(name: str) -> None:
    papers = ("", "A4") if name in ("camper", "workboat sides swapped") else ("",)
    for scene in (scene for paper in papers for scene in made(name, paper)[1]):
        assert crowded(scene, SLACK_PT) == []


@for_each(*((name, "") for name in DRIVES), ("camper", "A3"), ("crowded", "legal"))
def test_every_label_is_whole_on_a_sheet_and_crosses_no_seam(name: str, paper: str) -> None:
    found, _ = made(name, paper)
    tiling = found.tiling
    assert len(found.notes) == len(found.drawing.crosses) + len(DRIVES[name]().layout.obstacles)
    for note in found.notes:
        cells = [shapely.box(*seen_box(tiling.cell(page), FULL_SIZE)) for page in found.pages]
        homes = [cell for cell in cells if cell.covers(shapely.box(*note.box))]
        assert len(homes) == 1


def test_a_label_whose_room_another_took_is_asked_before_it() -> None:
    """By shapely: as the file has them the label of the long stop stands beside another dot, then beside its own.

    Nowhere are leaders longer by it. That this drive shows it is frozen, our own.
    """
    for name in ("workboat", "camper with idler", "two pulleys"):
        found, route = made(name)[0], DRIVES[name]()
        centres = FULL_SIZE.at(found.drawing.centres)
        keep_out = with_seams(keep_out_of(found.drawing, found.tiling, found.pages), found.tiling)
        given = _noted(list(_wanted(route, found.drawing)), found.drawing, keep_out, found.tiling)
        taken = notes_of(route, found.drawing, keep_out, found.tiling)
        leaders = [sum(_long(each) for each in notes if each.leader) for notes in (given, taken)]
        assert leaders[1] <= leaders[0]
        if name == "workboat":
            label = [spot.name for spot in found.drawing.crosses].index("tensioner at the long stop")
            away = [shapely.box(*notes[label].box).distance(shapely.Point(centres[label])) for notes in (given, taken)]
            assert away[0] > 100.0 and away[1] < 40.0 and leaders[1] < leaders[0]


def _long(note: Note) -> float:
    assert note.leader is not None
    return float(shapely.LineString(note.leader.points).length)


def test_a_label_across_a_seam_is_barred_and_one_beside_it_is_not() -> None:
    found, _ = made("camper", "A4")
    tiling = found.tiling
    seam, (_, _, _, top) = tiling.window((0, 1))[0], tiling.whole
    boxes = np.array(
        [(seam - 10.0, top - 8.0, seam + 10.0, top - 4.0), (seam + 5.0, top - 8.0, seam + 25.0, top - 4.0)]
    )
    keep_out = keep_out_of(found.drawing, tiling, found.pages)
    assert hits(keep_out, MM_PT * boxes, MM_PT).tolist() == [False, False]
    assert hits(with_seams(keep_out, tiling), MM_PT * boxes, MM_PT).tolist() == [True, False]


@EVERY
def test_no_words_cover_a_cross(name: str) -> None:
    seen = 0
    for scene in made(name)[1]:
        strokes = [item for item in scene.items if isinstance(item, Stroke) and item.name.startswith("cross ")]
        arms = shapely.MultiLineString([stroke.points for stroke in strokes])
        assert [label.text for label in scene.labels if shapely.box(*label.box).intersects(arms)] == []
        seen += len(strokes)
    assert seen >= 2 * len(made(name)[0].drawing.crosses)


@EVERY
def test_every_cross_is_whole_on_a_printed_sheet(name: str) -> None:
    found, scenes = sheets(name)
    for spot in found.drawing.crosses:
        lengths = [
            [
                float(np.hypot(*np.diff(item.points, axis=0).T).sum())
                for item in scene.named(f"cross {spot.name}")
                if isinstance(item, Stroke)
            ]
            for scene in scenes
        ]
        half = CROSS_MM if spot.layer == "centres" else 4.0
        assert any(each == pytest.approx([2.0 * half] * 2) for each in lengths)


@EVERY
def test_labels_tell_the_places_as_they_are(name: str) -> None:
    route = DRIVES[name]()
    texts = {label.text for scene in made(name)[1] for label in scene.labels if label.name.startswith("place ")}
    for pulley in route.layout.pulleys.values():
        if pulley.at_mm is not None:
            if route.layout.units == "in":
                x, y = (f"{round(value / 25.4, 3) + 0.0:.3f}" for value in pulley.at_mm)
            else:
                x, y = (f"{round(value, 2) + 0.0:.10g}" for value in pulley.at_mm)
            assert f"x {x}, y {y} {route.layout.units}" in texts


def test_what_moves_is_marked_as_not_to_be_punched() -> None:
    words = [label.text for scene in made("railcar")[1] for label in scene.labels]
    assert words.count("do not punch") == 1
    assert "do not punch" not in [label.text for scene in made("dense")[1] for label in scene.labels]


@pytest.mark.parametrize("paper", ["A4", "tabloid"])
def test_marks_stand_at_the_same_place_of_the_layout_on_both_sheets(paper: str) -> None:
    found, scenes = sheets("camper", paper)
    by_page = dict(zip(found.pages, scenes, strict=True))
    for join in found.joins:
        for page in join.pages:
            middles = [
                item.points.mean(axis=0) for item in by_page[page].named("join cross") if isinstance(item, Stroke)
            ]
            assert sum(np.hypot(*(middle - join.at)) < 1e-9 for middle in middles) == 2


def test_cut_lines_are_where_a_sheet_lies_over_another() -> None:
    found, scenes = sheets("railcar")
    for page, scene in zip(found.pages, scenes, strict=True):
        left, _, _, top = found.tiling.window(page)
        lines = {tuple(np.ptp(item.points, axis=0) > 0.0) for item in scene.named("cut") if isinstance(item, Stroke)}
        before = {(False, True)} if (page[0], page[1] - 1) in found.pages else set()
        before |= {(True, False)} if (page[0] - 1, page[1]) in found.pages else set()
        assert lines == before
        for item in scene.named("cut"):
            assert isinstance(item, Stroke)
            assert (np.abs(item.points[:, 0] - left) < 1e-9).all() or (np.abs(item.points[:, 1] - top) < 1e-9).all()
        ahead = [item for item in scene.named("next edge") if isinstance(item, Stroke)]
        upright = [item for item in ahead if np.ptp(item.points[:, 0]) < 1e-9]
        assert all(item.points[0, 0] == pytest.approx(found.tiling.window(page)[2] - OVERLAP_MM) for item in upright)
        below = (page[0] + 1, page[1])
        level = [item.points[0, 1] for item in ahead if np.ptp(item.points[:, 1]) < 1e-9]
        assert level == [pytest.approx(found.tiling.window(below)[3])] * (below in found.pages)


def test_one_sheet_has_no_marks_and_says_so() -> None:
    found, (scene,) = made("two pulleys", "A1")
    assert found.joins == () and not scene.named("cut") and not scene.named("next edge")
    assert [label.text for label in scene.labels if label.name == "joining"] == ["One sheet holds all of it."]


def test_map_on_the_first_sheet_shows_every_sheet_and_those_left_out() -> None:
    found, (scene, *others) = made("orchard_sprayer", "letter")
    assert found.left_out and not any(other.named("map here") for other in others)
    assert len(scene.named("map here")) == 1
    assert len(scene.named("map left out")) == 2 * len(found.left_out)
    assert sum(item.name.startswith("map ") and isinstance(item, Shape) for item in scene.items) == (
        1 + len(found.tiling.pages)
    )


def test_lines_can_be_told_from_paper_in_grey() -> None:
    """Contrast of 3 to 1 against white. Source: W3C, WCAG 2.1, 1.4.11 (graphical objects)."""
    pens = {
        item.pen.colour
        for scene in made("railcar")[1]
        for item in scene.items
        if isinstance(item, Stroke) and not item.name.startswith(("map", "frame"))
    }
    for colour in pens:
        assert 1.05 / (luminance(colour) ** 2.2 + 0.05) > 3.0


def test_a_title_is_cut_only_where_it_is_longer_than_the_sheet_and_never_its_variant() -> None:
    route = DRIVES["two pulleys"]()
    layout = replace(route.layout, title="A title of very many words " * 12, variant="alternator low")
    (title, *_) = [label for label in scenes_of(replace(route, layout=layout))[0].labels if label.name == "title"]
    assert title.text.endswith("... (variant: alternator low)") and title.text.startswith("A title of very many words")
    layout = replace(route.layout, title="Rescue carrier, three-cylinder diesel", variant="two idlers, ten ribs")
    (title, *_) = [label for label in scenes_of(replace(route, layout=layout))[0].labels if label.name == "title"]
    assert title.text == "Rescue carrier, three-cylinder diesel (variant: two idlers, ten ribs)"


@pytest.mark.parametrize("name", ["railcar", "too_tight"])
def test_larger_papers_take_fewer_sheets(name: str) -> None:
    counts = sheet_counts(drawing_of(DRIVES[name]()), heading(DRIVES[name]()))
    metric = [counts[paper] for paper in ("A4", "A3", "A2", "A1", "A0")]
    assert metric == sorted(metric, reverse=True) and metric[-1] == 1
    assert list(counts)[:2] == ["letter", "A4"] and list(counts)[-1] == "A0"


@pytest.mark.parametrize("make", [DRIVES["railcar"], DRIVES["crowded"]], ids=["railcar", "crowded"])
def test_the_same_layout_gives_the_same_sheets(make: Callable[[], Route]) -> None:
    first, again = (template.__wrapped__(make()) for _ in range(2))
    assert [note.box for note in first.notes] == [note.box for note in again.notes]
    assert first.joins == again.joins and first.pages == again.pages


def test_labels_are_words_of_the_layout() -> None:
    names = {label.text for scene in made("crowded")[1] for label in scene.labels if isinstance(label, Label)}
    assert {"bracket", "thermostat housing", "steering pump"} <= names

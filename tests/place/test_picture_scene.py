"""The picture of a map: colours where the places are, grey prints keep the order, no label on another."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from PIL import Image

from beltplan.picture.painter import picture_bytes
from beltplan.picture.pens import BELT_CLASSES, PATH_BUT_PROBLEM
from beltplan.picture.scene import Label, Raster, Scene, Shape, Stroke, View
from beltplan.place.advice import advice_of
from beltplan.place.pair import proof_of
from beltplan.place.picture import layers_of, place_scene
from beltplan.place.study import CAUTION, NO_PATH, Grid, PlaceMap, bounds_of, grid_of, place_map
from tests.picture.crowding import crowded
from tests.picture.in_mm import in_mm
from tests.picture.test_painter import pixels
from tests.place.drives import shipped

MAPS = {"workboat": "alternator", "railcar": "compressor", "camper": "house_alternator"}
SLACK_PT = 0.4


@cache
def mapped(name: str) -> PlaceMap:
    layout, pulley = shipped(name), MAPS[name]
    low, high = bounds_of(layout)
    return place_map(layout, pulley, grid_of(low, high, 12.0, layout.pulleys[pulley].at_mm))


@cache
def pictured(name: str) -> Scene:
    found = mapped(name)
    here, advice = proof_of(found.layout, (found.pulley,), found.present), advice_of(found)
    assert here is not None
    best = None if advice.stay else advice.best
    marked = [("now", found.present.at_mm[0])] + ([] if best is None else [("best", best.proof.place.at_mm[0])])
    return place_scene(here.plan.route, found, tuple(marked), (found.pulley,), ("Title", "Some words", "More words"))


@pytest.mark.parametrize("name", list(MAPS))
def test_no_label_lies_on_another_or_passes_the_frame(name: str) -> None:
    """Measured with the renderer's own letters."""
    scene = pictured(name)
    assert crowded(scene, SLACK_PT) == []


def test_colours_stand_where_the_places_are() -> None:
    found = mapped("workboat")
    layers = layers_of(found, (-1000.0, -1000.0, 1000.0, 1000.0), View())
    raster = layers.items[0]
    assert isinstance(raster, Raster) and raster.cells.shape == found.grid.shape
    np.testing.assert_array_equal(raster.cells < 0, found.states == NO_PATH)
    np.testing.assert_array_equal(raster.cells > 0, found.states >= CAUTION)
    assert raster.colours[0] == PATH_BUT_PROBLEM
    rows, columns = np.nonzero(raster.cells > 0)
    belts = found.field("belt")[rows, columns]
    order = np.argsort(belts, kind="stable")
    assert (np.diff(raster.cells[rows, columns][order]) >= 0).all()
    assert sum(own.first != own.last for own in layers.classes) > 0


def test_few_belts_have_a_colour_each() -> None:
    layout = shipped("railcar")
    at = layout.pulleys["alternator"].at_mm
    assert at is not None
    small = Grid((at[0] - 4.0, at[1] - 4.0), (at[0] + 4.0, at[1] + 4.0), 4.0)
    classes = layers_of(place_map(layout, "alternator", small), (0.0, 0.0, 500.0, 500.0), View()).classes
    assert 0 < len(classes) <= len(BELT_CLASSES) and all(own.first == own.last == own.words for own in classes)


def test_lightness_falls_with_belt_length() -> None:
    """Luma of ITU-R BT.601, what a grey print keeps."""
    luma = [float(np.dot(to_rgb(colour), (0.299, 0.587, 0.114))) for colour in BELT_CLASSES]
    assert all(first - second > 0.04 for first, second in pairwise(luma))


def test_the_map_shows_through_the_moved_pulley_only() -> None:
    shapes = {item.name: item for item in pictured("workboat").items if isinstance(item, Shape)}
    assert shapes["rim alternator"].fill == "" and shapes["rim idler"].fill != ""


def test_present_and_best_are_marked_where_they_are() -> None:
    found, scene = mapped("workboat"), in_mm(pictured("workboat"))
    crosses = [item.points.mean(axis=0) for item in scene.named("mark now") if isinstance(item, Stroke)]
    np.testing.assert_allclose(crosses[0], found.present.at_mm[0])
    # The legend holds a second one.
    star, _ = (item for item in scene.named("mark best") if isinstance(item, Shape))
    best = advice_of(found).best
    assert best is not None and best.proof.place.at_mm != found.present.at_mm
    np.testing.assert_allclose(star.rings[0].mean(axis=0), best.proof.place.at_mm[0])
    assert {item.text for item in scene.labels} >= {"now", "best", "Title"}


def test_a_picture_without_a_map_marks_both_places() -> None:
    here = proof_of(shipped("workboat"), ("alternator",), mapped("workboat").present)
    assert here is not None
    marked = (("now", (228.6, 299.7)), ("best", (200.0, 320.0)), ("best", (-270.0, 90.0)))
    scene = place_scene(here.plan.route, None, marked, ("alternator",), ("Title",))
    assert not any(isinstance(item, Raster) for item in scene.items)
    assert len([item for item in scene.named("mark best") if isinstance(item, Shape)]) >= 2


def test_a_raster_lands_where_the_scene_says() -> None:
    cells = np.array([[0, -1], [1, 0]])
    raster = Raster((10.0, 10.0, 30.0, 30.0), cells, ("#000000", "#808080"))
    label = Label("", (0.0, 0.0), 5.0, "#000000")
    grey = pixels(picture_bytes(Scene((0.0, 0.0, 40.0, 40.0), (raster, label)), "png", 72))
    # Rows of the picture go down, those of the raster up.
    expected = {(25, 15): 0, (25, 25): 255, (15, 15): 128, (15, 25): 0, (5, 5): 255}
    assert {at: int(grey[at]) for at in expected} == {at: pytest.approx(value, abs=1) for at, value in expected.items()}
    assert raster.seen(View(2.0, (2.0, 3.0))).box == (22.0, 23.0, 62.0, 63.0)


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_the_same_file_again(ending: str) -> None:
    first, second = (picture_bytes(pictured("workboat"), ending) for _ in range(2))
    assert first == second
    if ending == "png":
        assert Image.MIME["PNG"] == "image/png" and first.startswith(b"\x89PNG")

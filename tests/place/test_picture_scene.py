"""The picture of a map: colours where the places are, grey prints keep the order, no label on another."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely
from matplotlib.colors import to_rgb

from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Layout, Polygon
from beltplan.drive.mounts import Hole, Mount
from beltplan.judging.stages import CAUTION, NO_BELT_FITS, NO_PATH, Place
from beltplan.picture.painter import figure_of, picture_bytes
from beltplan.picture.pens import MARGINS, PATH_BUT_PROBLEM, PATTERN, PROBLEM
from beltplan.picture.scene import Label, Raster, Scene, Shape, Stroke, View
from beltplan.picture.strokes import Drawn
from beltplan.place.advice import Proof, advice_of, proof_of
from beltplan.place.pair import PairSearch
from beltplan.place.picture import Shown, _mark_of, _mark_size_pt, causes_of, failing_of, layers_of, place_scene
from beltplan.place.study import Grid, PlaceMap, Shaded, bounds_of, grid_of, place_map
from tests.drive.drives import with_pulley
from tests.for_each import for_each
from tests.picture.crowding import audit
from tests.picture.in_mm import in_mm
from tests.picture.test_painter import pixels
from tests.place.drives import shipped

MAPS = {"workboat": "alternator", "railcar": "compressor", "camper": "house_alternator"}


@cache
def mapped(name: str) -> PlaceMap:
    layout, pulley = shipped(name), MAPS[name]
    low, high = bounds_of(layout)
    return place_map(layout, pulley, grid_of(low, high, 12.0, layout.pulleys[pulley].at_mm))


@cache
def pictured(name: str) -> Scene:
    found = mapped(name)
    here, advice = proof_of(found.layout, found.names, found.present), advice_of(found)
    assert here is not None
    return place_scene(Shown(found, here.plan, ("Title", "Some words", "More words"), advice.best))


def pair(layout: Layout, shaded: Shaded, *names: str) -> PairSearch:
    """A search for two places that came to this map."""
    at = [layout.pulleys[name].at_mm or (0.0, 0.0) for name in names]
    present = Place(tuple(at), "problem")
    return PairSearch(layout, (names[0], names[-1]), (0, 0), (0, 0), 0, {}, present, None, (), (), shaded)


@for_each(*MAPS)
def test_every_word_can_be_read(name: str) -> None:
    """Measured with the renderer's own letters: also no leader of the routing through a mark of the map."""
    assert audit(pictured(name)) == []


def test_colours_stand_where_the_places_are_by_the_margin_that_the_place_decides() -> None:
    found = mapped("workboat")
    shaded, margin = found.shaded, 100.0 * found.field("own_margin")
    np.testing.assert_array_equal(shaded.classes >= 0, found.states >= CAUTION)
    for number, (low, high) in enumerate(pairwise((-np.inf, 0.0, 2.0, 5.0, 10.0, 20.0, np.inf))):
        here = margin[shaded.classes == number]
        assert ((here >= low) & (here < high)).all()
    assert len(np.unique(shaded.classes)) == len(MARGINS)  # none is short
    raster = next(i for i in layers_of(found, shaded.box, View()).items if i.name == "map")
    assert isinstance(raster, Raster) and raster.colours == MARGINS
    (rows, columns), half = np.nonzero(shaded.classes >= 0), 0.5 * found.grid.step_mm
    x, y = found.grid.x_mm[columns], found.grid.y_mm[rows]
    assert raster.box == pytest.approx((x.min() - half, y.min() - half, x.max() + half, y.max() + half))
    assert (raster.cells >= 0).sum() == len(rows)


def test_lightness_falls_with_the_margin() -> None:
    """Luma of ITU-R BT.601, what a grey print keeps."""
    luma = [float(np.dot(to_rgb(colour), (0.299, 0.587, 0.114))) for colour in (PATH_BUT_PROBLEM, *MARGINS)]
    assert all(first - second > 0.03 for first, second in pairwise(luma))


def test_what_fails_is_a_pattern_of_its_own_with_its_name() -> None:
    """Dot by dot the cause of the nearest place; every name in the legend; no two patterns alike."""
    found = mapped("railcar")
    failing, causes = failing_of(found, found.shaded.box, View()), causes_of(found)
    np.testing.assert_array_equal(causes == "", (found.states == NO_PATH) | (found.states >= CAUTION))
    assert set(causes[found.states == NO_BELT_FITS]) == {"no belt fits"}
    rows, columns = failing.cells.shape
    named, others = dict(failing.named), "other problems"
    for row, column in zip(*np.divmod(np.arange(0, rows * columns, 997), columns), strict=True):
        x, y = failing.raster.box[0] + 1.2 * (column + 0.5), failing.raster.box[1] + 1.2 * (row + 0.5)
        at = [round((each - low) / found.grid.step_mm) for each, low in zip((y, x), found.grid.low[::-1], strict=True)]
        cause, shown = (
            causes[min(at[0], causes.shape[0] - 1), min(at[1], causes.shape[1] - 1)],
            failing.cells[row, column],
        )
        assert (shown < 0) == (cause == "") and (shown < 0 or named[shown] in (cause, others))
    legend = {item.text for item in pictured("railcar").labels if item.name == "legend"}
    # The picture holds no more of the map than it has room for.
    assert len(set(named.values()) & legend) > 3 and "no belt path" in legend
    raster = failing.raster
    assert raster.colours == (PATH_BUT_PROBLEM, PATTERN)
    dark = {number: float((raster.cells[failing.cells == number] == 1).mean()) for number in named}
    assert all((share == 0.0) == (named[number] == others) for number, share in dark.items())


def test_lines_of_belt_length_lie_where_the_path_is_so_long() -> None:
    """Against the lengths of the places beside each point of a line, which its level lies between."""
    found = mapped("railcar")
    length, grid = 0.5 * (found.field("shortest_mm") + found.field("longest_mm")), found.grid
    lines = layers_of(found, found.shaded.box, View()).lines
    assert 2 <= len({level for level, _ in lines}) <= 7
    for level, chain in lines:
        column, row = ((chain - grid.low) / grid.step_mm).T
        around = [
            length[f(row).astype(int), g(column).astype(int)] for f in (np.floor, np.ceil) for g in (np.floor, np.ceil)
        ]
        assert (np.nanmin(around, axis=0) - 1e-6 <= level).all() and (level <= np.nanmax(around, axis=0) + 1e-6).all()
    texts = {item.text for item in pictured("railcar").labels if item.name == "length"}
    assert texts and texts <= {f"{level} mm" for level, _ in lines}


@pytest.mark.parametrize(("name", "own", "other"), [("railcar", "mm", "in"), ("workboat", "in", "mm")])
def test_the_axes_say_where_it_is_in_the_units_of_the_file_and_the_others(name: str, own: str, other: str) -> None:
    """Ticks read back from the drawn figure: the present place lies on paper where the axis says. 25.4 mm are 1 in."""
    scene, found, of_mm = pictured(name), mapped(name), {"mm": 1.0, "in": 25.4}
    figure = figure_of(scene)
    figure.canvas.draw()
    (axes,) = figure.axes
    at = np.array(found.present.at_mm[0])
    x, y = axes.transData.transform(at / of_mm[own]) / figure.dpi * 72.0 + scene.frame[:2]
    np.testing.assert_allclose(scene.view.at(at), (x, y), atol=1e-6)
    above = axes.child_axes[0]
    assert (axes.get_xlabel(), above.get_xlabel()) == (f"x, {own}", f"x, {other}")
    assert np.array(above.get_xlim()) * of_mm[other] == pytest.approx(np.array(axes.get_xlim()) * of_mm[own])


def test_a_wrap_that_fails_is_written_in_the_colour_of_a_problem() -> None:
    """Each minimum is that of its finding; the others keep the colour of a wrap."""
    layout = shipped("too_tight")
    plan = plan_of(layout)
    shaded = Shaded(Grid((150.0, 250.0), (200.0, 300.0), 50.0), np.array([[0, -1], [4, 2]]))
    scene = place_scene(Shown(pair(layout, shaded, "alternator"), plan, ("Title",)))
    short = {f"wrap {f.subject}": f.limit for f in plan.findings if (f.check, f.severity) == ("wrap", "problem")}
    told = [label for label in scene.labels if label.name.startswith("wrap ")]
    assert short and all((label.colour == PROBLEM) is (label.name in short) for label in told)
    assert all(label.text.endswith(f" of {short[label.name]:g}\u00b0") for label in told if label.name in short)


def test_what_decides_places_far_off_is_drawn() -> None:
    """One and a half widths of the drive from it, where the map reaches so far; told in words where it does not."""
    layout = shipped("camper")
    wall = Polygon("wall", ((1200.0, -100.0), (1240.0, -100.0), (1240.0, 500.0), (1200.0, 500.0)))
    plan = plan_of(replace(layout, obstacles=(*layout.obstacles, wall)))
    for x, is_near in ((1150.0, True), (400.0, False)):
        shaded = Shaded(Grid((260.0, 200.0), (x, 200.0), x - 260.0), np.array([[4, 4]]))
        scene = place_scene(Shown(pair(layout, shaded, "house_alternator"), plan, ("Title",)))
        assert bool(scene.named("obstacle wall")) is is_near
        assert any("outside of the picture" in label.text for label in scene.labels) is not is_near
        assert audit(scene) == []


def test_the_map_shows_through_the_moved_pulley_only() -> None:
    shapes = {item.name: item for item in pictured("workboat").items if isinstance(item, Shape)}
    assert shapes["rim alternator"].fill == "" and shapes["rim idler"].fill != ""
    scene, route = pictured("workboat"), proof_of(shipped("workboat"), ("alternator",), mapped("workboat").present)
    assert route is not None and not scene.named("contact alternator") and not scene.named("turning alternator")
    loop = Drawn(route.plan.route, scene.view).loop
    own = [pulley.name for pulley in route.plan.route.pulleys].index("alternator")
    (band,) = (shapely.Polygon(item.rings[0]) for item in scene.named("belt back") if isinstance(item, Shape))
    for i in range(len(loop.span)):
        middle = shapely.Point(0.5 * (loop.start[i] + loop.end[i]))
        assert (band.distance(middle) > 5.0) == (i in (own - 1, own))


def test_present_and_best_are_marked_where_they_are() -> None:
    """The ghost of the best is as long as its belt, read from the outline by shapely."""
    found, scene = mapped("workboat"), in_mm(pictured("workboat"))
    crosses = [item.points.mean(axis=0) for item in scene.named("mark now") if isinstance(item, Stroke)]
    np.testing.assert_allclose(crosses[0], found.present.at_mm[0])
    # The legend holds a second one.
    star, _ = (item for item in scene.named("mark best") if isinstance(item, Shape))
    (ghost,) = (item for item in scene.named("best belt") if isinstance(item, Shape))
    best = advice_of(found).best
    assert best is not None and best.place.at_mm != found.present.at_mm
    np.testing.assert_allclose(star.rings[0].mean(axis=0), best.place.at_mm[0])
    assert {item.text for item in scene.labels} >= {"now", "best", "Title"}
    assert shapely.LinearRing(ghost.rings[0]).length == pytest.approx(best.plan.route.length_mm, rel=1e-3)


@for_each(0.0, 1.0, 3.0, 6.0, 10.0, 10.3, 15.0, 40.0)
def test_of_two_places_close_by_star_and_cross_are_both_seen(apart_pt: float) -> None:
    """By shapely: the cross, as wide as it is drawn, hides at most three tenths of the star, and is long enough."""
    for turn in np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False):
        spots = [np.zeros(2), apart_pt * np.array([np.cos(turn), np.sin(turn)])]
        size = _mark_size_pt(spots)
        _, star = (item for item in _mark_of("best", spots[1], size) if isinstance(item, Shape))
        strokes = [item for item in _mark_of("now", spots[0], size) if isinstance(item, Stroke)]
        cross = shapely.union_all([shapely.LineString(each.points).buffer(0.5 * each.pen.width_pt) for each in strokes])
        seen = shapely.Polygon(star.rings[0])
        assert (
            seen.difference(cross).area > 0.7 * seen.area
            and sum(shapely.LineString(each.points).length for each in strokes) > 4.0 * size
        )


def test_a_picture_of_two_pulleys_shows_where_the_first_may_sit_and_marks_both() -> None:
    plan = plan_of(shipped("workboat"))
    shaded = Shaded(Grid((150.0, 250.0), (200.0, 300.0), 50.0), np.array([[0, -1], [4, 2]]))
    best = Proof(Place(((200.0, 320.0), (-270.0, 90.0)), "sound"), plan)
    scene = place_scene(Shown(pair(plan.layout, shaded, "alternator", "idler"), plan, ("Title",), best))
    (raster,) = (item for item in scene.items if isinstance(item, Raster))
    np.testing.assert_array_equal(raster.cells, shaded.classes)
    assert len([item for item in scene.named("mark best") if isinstance(item, Shape)]) >= 2
    assert any("best pair with alternator there" in item.text for item in scene.labels)
    assert not any("idler" in item.name for item in scene.named("turning idler"))


@for_each((1, True), (2, False))
def test_a_ring_round_a_single_place_is_explained(good: int, told: bool) -> None:
    """Of a grid of places one alone is good, or two side by side."""
    plan = plan_of(shipped("workboat"))
    grid = grid_of((-300.0, 0.0), (300.0, 400.0), 40.0, (0.0, 0.0))
    classes = np.full(grid.shape, -1)
    classes[3, 4 : 4 + good] = 0
    scene = place_scene(Shown(pair(plan.layout, Shaded(grid, classes), "alternator", "idler"), plan, ("Title",)))
    words = " ".join(label.text for label in scene.labels)
    assert ("a small ring: one place alone" in words) is told and "edge of the places without a problem" in words


def test_a_raster_lands_where_the_scene_says() -> None:
    cells = np.array([[0, -1], [1, 0]])
    raster = Raster((10.0, 10.0, 30.0, 30.0), cells, ("#000000", "#808080"))
    label = Label("", (0.0, 0.0), 5.0, "#000000")
    grey = pixels(picture_bytes(Scene((0.0, 0.0, 40.0, 40.0), (raster, label)), "png", 72))
    # Rows of the picture go down, those of the raster up.
    expected = {(25, 15): 0, (25, 25): 255, (15, 15): 128, (15, 25): 0, (5, 5): 255}
    assert {at: int(grey[at]) for at in expected} == {at: pytest.approx(value, abs=1) for at, value in expected.items()}
    assert raster.seen(View(2.0, (2.0, 3.0))).box == (22.0, 23.0, 62.0, 63.0)


def test_the_holes_of_what_is_moved_stand_at_the_best_place_too() -> None:
    """A hole 30 mm right of the pulley: at the best place of the map as far right of it."""
    name, found = MAPS["workboat"], mapped("workboat")
    best = advice_of(found).best
    assert best is not None
    mount = Mount((Hole((30.0, 0.0), 10.0),))
    layouts = (found.layout, best.plan.layout)
    now, there = (each.with_pulley(replace(each.pulleys[name], mount=mount)) for each in layouts)
    scene = in_mm(place_scene(Shown(found, plan_of(now), ("Title", "Words"), Proof(best.place, plan_of(there)))))
    (hole,) = [item for item in scene.named("best bolt hole") if isinstance(item, Shape)]
    halo, *_ = [item for item in scene.named("mark best") if isinstance(item, Shape)]
    off = hole.rings[0].mean(axis=0) - halo.rings[0].mean(axis=0)
    assert off.tolist() == pytest.approx([30.0, 0.0], abs=0.5)


@for_each(10.0, 20.0, 80.0)
def test_from_where_to_where_a_pulley_moves_is_seen_however_near(off_mm: float) -> None:
    """The middle of the cross stands on no part of the star's disc, and whole over it."""
    name, found = MAPS["workboat"], mapped("workboat")
    at = np.add(found.present.at_mm[0], (off_mm, 0.0))
    best = Proof(
        Place((tuple(at.tolist()),), "sound"),
        plan_of(found.layout.with_pulley(replace(found.layout.pulleys[name], at_mm=tuple(at.tolist())))),
    )
    scene = place_scene(Shown(found, plan_of(found.layout), ("Title", "Words"), best))
    marks = [each for each in scene.items if each.name in ("halo best", "mark best", "mark now")]
    halo, star, *cross = marks[:6]
    assert isinstance(halo, Shape) and [each.name for each in (halo, star)] == ["halo best", "mark best"]
    assert all(isinstance(each, Stroke) for each in cross) and {each.name for each in cross} == {"mark now"}
    middle = shapely.Point(np.mean([each.points for each in cross if isinstance(each, Stroke)], axis=(0, 1)))
    assert not shapely.Polygon(halo.rings[0]).covers(middle)


def test_where_no_place_is_good_the_map_is_not_cut_at_the_routing() -> None:
    """An alternator that stands 100 rpm: every place with a path has a problem, also those far out."""
    name, was = MAPS["workboat"], mapped("workboat")
    layout = with_pulley(was.layout, name, max_rpm=100.0)
    found = place_map(layout, name, was.grid)
    assert found.shaded.reached is None
    scene = place_scene(Shown(found, plan_of(layout), ("Title", "Words")))
    rasters = [item for item in in_mm(scene).items if isinstance(item, Raster)]
    raster = max(rasters, key=lambda each: each.box[2] - each.box[0])  # the others are swatches of the legend
    rows, columns = np.nonzero(found.states > NO_PATH)
    x, y = found.grid.x_mm[columns], found.grid.y_mm[rows]
    left, bottom, right, top = raster.box
    slack = found.grid.step_mm
    assert left - slack <= x.min() and x.max() <= right + slack and bottom - slack <= y.min() and y.max() <= top + slack

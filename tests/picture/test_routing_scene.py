"""The sheet round the drawing: head, legend, scale bar, list of findings, caution."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Polygon
from beltplan.drive.mounts import Hole, Mark, Mount, Slot
from beltplan.drive.route import Route, route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.legend import routing_entries
from beltplan.picture.routing import routing_scene
from beltplan.picture.scene import Label, Scene, Shape, Stroke, View
from beltplan.picture.strokes import Drawn
from beltplan.report.words import PICTURE_SAFETY
from tests.checks.drives import sliding, two
from tests.for_each import for_each
from tests.picture.drives import crowded, dense, every_route, railcar, scene_of, two_pulleys
from tests.picture.in_mm import in_mm

FINDINGS = (
    Finding("wrap", "problem", "crank", "too little wrap", "test", parts=("crank",)),
    Finding("clearance", "caution", "crank to tensioner", "passes close", "test", parts=("crank to tensioner", "hose")),
    Finding("stock", "caution", "belt", "little reserve", "test"),
    Finding("plane", "note", "belt", "no plane given", "test", parts=("crank",)),
)


def made(route: Route, findings: tuple[Finding, ...] = FINDINGS) -> Scene:
    return routing_scene(Plan(route, None, findings))


def texts(scene: Scene, name: str) -> list[str]:
    return [item.text for item in scene.named(name) if isinstance(item, Label)]


def test_head_says_title_verdict_belt_and_path() -> None:
    scene = made(railcar())
    assert texts(scene, "title") == ["Railcar (invented)"]
    assert texts(scene, "verdict") == ["does not work as it stands: 1 problem, 2 cautions"]
    # 1685 mm / 25.4 mm an inch = 66.34 in.
    assert texts(scene, "belt") == ["Belt 6PK1685: 1685 mm (66.34 in) effective length"]
    assert texts(scene, "path")[0].startswith("Any 6PK from 168")


def test_belt_that_does_not_fit_is_named_so() -> None:
    assert "does not fit" in " ".join(texts(made(crowded()), "belt"))
    layout = replace(railcar().layout, belt=parse_designation("6PK"), stock=())
    assert "no stock length fits" in " ".join(texts(made(route_of(layout)), "belt"))


def test_caution_always_shows() -> None:
    for findings in ((), FINDINGS):
        assert texts(made(two_pulleys(), findings), "caution") == [PICTURE_SAFETY]
    assert "never an approval" in PICTURE_SAFETY


def test_list_is_numbered_problems_first_and_notes_have_no_mark() -> None:
    scene = made(railcar(), FINDINGS[::-1])
    assert texts(scene, "finding 1") == ["crank: too little wrap"]
    assert texts(scene, "note") == ["note: belt: no plane given"]
    assert not scene.named("list 4") and len(texts(scene, "mark crank")) == 1


def test_a_finding_keeps_its_subject_where_its_words_begin_alike() -> None:
    """'takes' begins with the name 't', and 'a span' with the name 'a'; a gap's own words name both parts."""
    findings = (
        Finding("take_up", "caution", "t", "takes up only 21 %", "test", parts=("t",)),
        Finding("slip", "caution", "a", "a span is slack", "test", parts=("a",)),
        Finding("rim_gap", "caution", "crank / t", "crank and t are 5.5 mm apart", "test", parts=("crank", "t")),
        Finding("rim_gap", "caution", "a / t", "at 3 mm they nearly touch", "test", parts=("a", "t")),
    )
    scene = made(two_pulleys(), findings)
    listed = (
        "t: takes up only 21 %",
        "a: a span is slack",
        "crank and t are 5.5 mm apart",
        "a / t: at 3 mm they nearly touch",
    )
    assert tuple(" ".join(texts(scene, f"finding {i}")) for i in range(1, 5)) == listed


def test_marks_stand_at_pulley_span_obstacle_and_belt() -> None:
    scene = made(railcar())
    assert texts(scene, "mark crank") == ["1"]
    assert texts(scene, "mark crank to tensioner") == ["2"] == texts(scene, "mark hose")
    assert texts(scene, "mark belt") == ["3"]


def test_problems_and_cautions_differ_in_shape_and_in_grey() -> None:
    scene = made(railcar())
    problem, caution = (scene.named(name)[0] for name in ("mark crank", "mark hose"))
    assert isinstance(problem, Shape) and isinstance(caution, Shape)
    assert (len(problem.rings[0]), len(caution.rings[0])) == (8, 4)
    assert abs(luminance(problem.fill) - luminance(caution.fill)) > 0.3


def luminance(colour: str) -> float:
    """Relative luminance without gamma. Source: weights of ITU-R BT.709."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@for_each(railcar, two_pulleys, dense)
def test_scale_bar_is_as_long_as_it_says(make: object) -> None:
    assert callable(make)
    scene = in_mm(made(make()))
    bar = scene.named("scale bar")[0]
    assert isinstance(bar, Stroke)
    assert float(np.hypot(*(bar.points[1] - bar.points[0]))) == pytest.approx(100.0)
    assert "100 mm (3.94 in)" in texts(scene, "legend")


def test_legend_holds_only_what_is_drawn() -> None:
    assert not any("adjuster" in text for text in texts(made(dense()), "legend"))
    assert any("adjuster" in text for text in texts(made(railcar()), "legend"))
    assert "problem" not in texts(made(railcar(), ()), "legend")
    assert any(text.startswith("V side dark, back light") for text in texts(made(two_pulleys()), "legend"))


def test_a_belt_drawn_thicker_than_it_is_says_so() -> None:
    """Read off the picture: the band between its two edges, over the thickness of the profile."""
    for make in (railcar, dense):
        scene, belt = in_mm(made(make())), make().layout.belt
        outer, inner = (shapely.Polygon(i.rings[0]) for i in scene.named("belt edge") if isinstance(i, Shape))
        times = outer.hausdorff_distance(inner) / belt.profile.thickness_mm
        told = [text for text in texts(scene, "legend") if "times thicker" in text]
        assert len(told) == (times > 1.0 + 1e-6)
        assert all(f"{times:.2g} times" in text for text in told)


@pytest.mark.parametrize("scale", [0.3, 0.4])
def test_a_belt_is_drawn_no_thicker_than_leaves_a_narrow_gap_open(scale: float) -> None:
    """An obstacle 9 mm off a free span: of that gap 2.5 pt are left on paper, or the belt has its true width."""
    route = route_of(two(obstacles=(Polygon("wall", ((120, 61.2), (180, 61.2), (180, 90), (120, 90))),)))
    drawn = Drawn(route, View(scale))
    left = 9.0 * scale - (drawn.band[0] - scale * route.layout.belt.outer_mm)
    assert left >= 2.5 or drawn.thickening == 1.0
    assert drawn.thickening < Drawn(route_of(two()), View(scale)).thickening


def test_a_belt_that_runs_through_an_obstacle_is_as_thick_as_without() -> None:
    """No gap is there to be left open; routes side by side have belts of one width then."""
    wall = Polygon("wall", ((120, 40.0), (180, 40.0), (180, 90), (120, 90)))
    through, free = (Drawn(route_of(two(obstacles=each)), View(0.4)).thickening for each in ((wall,), ()))
    assert through == free > 1.0


@pytest.mark.parametrize(("times", "told"), [(1.04, False), (1.06, True)])
def test_one_time_thicker_is_not_told(times: float, told: bool) -> None:
    route = railcar()
    small = View(0.8)
    to_scale = small.pt_per_mm * Drawn(route, small).thickening
    entries = routing_entries(Drawn(route, View(to_scale / times)))
    assert any("times thicker" in entry.text for entry in entries) is told


def test_the_path_would_do_while_a_problem_stands() -> None:
    """As `check` says of the belt to buy: a mend may change the length."""
    camper, sound = (plan_of(read_layout(f"layouts/{name}.yaml").layout) for name in ("camper", "railcar"))
    assert (camper.count("problem") > 0) and sound.count("problem") == 0
    assert texts(routing_scene(camper), "path")[0].endswith("would do")
    assert texts(routing_scene(sound), "path")[0].endswith("will do")


def test_what_is_wrong_with_other_lengths_is_told_in_the_units_of_the_file() -> None:
    """2.7 mm out of line are too much for a shorter span: atan(2.7 / 306) = 0.505 deg."""
    drive = replace(sliding(), units="in")
    route = route_of(drive.with_pulley(replace(drive.pulleys["far"], plane_mm=2.7)))
    told = " ".join(texts(made(route, FINDINGS[1:]), "path"))
    assert "fit too, but then crank to far: 0.11 in out of line over 12.05 in is 0.51 deg" in told
    assert told.startswith("Any 6PK from 933.0 to 1019.7 mm (36.73 to 40.15 in) will do")


def test_pulleys_stand_in_a_table_in_the_units_of_the_file() -> None:
    """25.4 mm an inch by definition (ISO 31-1); railcar: pump at (-190, 300) mm, 130 mm, guide smooth of 76 mm."""
    cells = texts(made(railcar()), "pulley cell")
    assert cells[cells.index("water pump") :][:4] == ["water pump", "130.0", "-190.0", "300.0"]
    inches = texts(made(route_of(replace(railcar().layout, units="in"))), "pulley cell")
    assert inches[inches.index("water pump") :][:4] == ["water pump", "5.12", "-7.48", "11.81"]
    assert texts(made(railcar()), "pulley head")[2:5] == ["diameter, mm", "x, mm", "y, mm"]


def test_findings_of_one_advice_stand_together_before_it() -> None:
    findings = tuple(
        Finding("wrap", "problem", name, f"{name} lacks wrap", "test", parts=(name,), advised=("add an idler",))
        for name in ("crank", "pump")
    )
    scene = made(railcar(), (*findings, Finding("stock", "problem", "belt", "none fits", "test", advised=("ask",))))
    assert texts(scene, "finding 1") == ["crank: crank lacks wrap"] and texts(scene, "finding 3") == [
        "belt: none fits. Ask"
    ]
    assert texts(scene, "advice") == ["For these 2: add an idler"]


def test_origin_and_the_mark_of_the_verdict_are_there() -> None:
    scene = in_mm(routing_scene(Plan(railcar(), None, FINDINGS)))
    rings = [item.rings[0] for item in scene.named("origin") if isinstance(item, Shape)]
    assert rings[0].mean(axis=0) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert len(scene.named("verdict mark")) == 1 and not made(railcar(), ()).named("verdict mark")


def test_stops_and_arm_are_where_the_arm_puts_them() -> None:
    """Pivot (-150, 215), arm 85 mm, stops 265 and 300 deg: plane trigonometry."""
    scene = in_mm(scene_of(railcar()))
    stops = [item for word in ("short", "long") for item in scene.named(f"stop {word}") if isinstance(item, Shape)]
    middles = sorted((item.rings[0].mean(axis=0) for item in stops), key=lambda middle: float(middle[0]))
    for middle, angle in zip(middles, np.radians((265.0, 300.0)), strict=True):
        assert middle == pytest.approx((-150.0 + 85.0 * np.cos(angle), 215.0 + 85.0 * np.sin(angle)), abs=1e-9)
    (arm,) = scene.named("arm")
    assert isinstance(arm, Stroke)
    assert float(np.hypot(*(arm.points[1] - arm.points[0]))) == pytest.approx(85.0)


def _shipped(name: str) -> Callable[[], Route]:
    return lambda: route_of(read_layout(f"layouts/{name}.yaml").layout)


# The stops of the first two rise, those of the shipped ones fall.
@for_each(railcar, two_pulleys, _shipped("railcar"), _shipped("camper"), _shipped("workboat"))
def test_short_stop_is_the_one_with_the_shorter_path_and_looks_different(make: Callable[[], Route]) -> None:
    route = make()
    scene = in_mm(scene_of(route))
    adjuster = route.circuit.adjuster
    assert adjuster is not None
    (short,), (long,) = scene.named("stop short"), scene.named("stop long")
    assert isinstance(short, Shape) and isinstance(long, Shape) and short.pen != long.pen
    for shape, ends in ((short, min), (long, max)):
        wanted = ends(adjuster.travel, key=lambda setting: float(route.circuit.loop_at(setting).length))
        assert shape.rings[0].mean(axis=0) == pytest.approx(adjuster.track.centre_at(np.asarray(wanted)), abs=1e-6)


@for_each(*every_route())
def test_turning_arrow_of_the_adjusted_pulley_is_clear_of_its_travel(name: str) -> None:
    route = every_route()[name]()
    scene = scene_of(route)
    lines = [item.points for item in scene.named("travel of the adjuster") if isinstance(item, Stroke)]
    if route.moving is None:
        assert lines == []
        return
    arrow = [item for item in scene.named(f"turning {route.moving.name}") if isinstance(item, Stroke | Shape)]
    parts = [shapely.LineString(i.points) if isinstance(i, Stroke) else shapely.Polygon(i.rings[0]) for i in arrow]
    assert parts and not any(part.intersects(shapely.LineString(line)) for part in parts for line in lines)


def test_a_layout_in_inches_has_its_scale_and_its_findings_in_inches() -> None:
    """An inch is 25.4 mm by definition (ISO 31-1)."""
    given = railcar().layout
    plan = plan_of(replace(given, units="in", limits={"min_clearance_mm": {"": 60.0}}))
    scene = in_mm(routing_scene(plan))
    assert "4 in (101.6 mm)" in texts(scene, "legend")
    widths = [float(np.ptp(item.points[:, 0])) for item in scene.named("scale bar") if isinstance(item, Stroke)]
    assert max(widths) == pytest.approx(101.6)
    told = " ".join(label.text for label in scene.labels if label.name.startswith("finding"))
    assert "passes obstacle head with a gap of 1.96 in" in told and " mm" not in told


def test_what_bolts_a_pulley_on_and_marks_are_drawn_where_they_lie() -> None:
    """The slot's outline by shapely: a line as wide as the slot. Nothing of it in a picture of a layout without any."""
    mount = Mount((Hole((-60.0, 80.0), 10.5),), (Slot((60.0, 90.0), (72.0, 95.0), 9.0),), ((0, 70), (20, 70), (0, 95)))
    given = railcar().layout
    pump = replace(given.pulleys["pump"], mount=mount)
    bolted = replace(given, pulleys={**given.pulleys, "pump": pump}, marks=(Mark("dowel", (-330.0, 20.0)),))
    scene = in_mm(made(route_of(bolted)))
    hole, slot = (shapely.Polygon(item.rings[0]) for item in scene.named("bolt hole") if isinstance(item, Shape))
    assert hole.centroid.coords[0] == pytest.approx((-250.0, 380.0)) and hole.length == pytest.approx(
        10.5 * np.pi, rel=1e-2
    )
    exact = shapely.LineString([(-130.0, 390.0), (-118.0, 395.0)]).buffer(4.5)
    assert slot.symmetric_difference(exact).area < 0.02 * exact.area
    (metal,) = scene.named("obstacle mount of pump")
    assert isinstance(metal, Shape) and metal.rings[0] == pytest.approx(np.array(pump.mounted.outline_mm))
    legend = "bolt hole or slot, where no pulley is over it"
    arms = [item.points for item in scene.named("point dowel") if isinstance(item, Stroke)]
    assert [arm.mean(axis=0).tolist() for arm in arms] == [pytest.approx([-330.0, 20.0])] * 2
    assert texts(scene, "name dowel") == ["dowel"] and {legend, "mark"} <= {label.text for label in scene.labels}
    # No leader's end stands on the cross.
    ends = [np.mean(each.rings[0], axis=0) for each in scene.named("leader end") if isinstance(each, Shape)]
    assert all(np.hypot(*(end - (-330.0, 20.0))) > 5.0 for end in ends)
    bare = made(railcar())
    assert not bare.named("bolt hole") and not {legend, "mark"} & {label.text for label in bare.labels}

"""The window: events given to its canvas as a screen would give them, and the scene read back."""

import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from matplotlib.backend_bases import KeyEvent, MouseButton, MouseEvent, ResizeEvent
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from beltplan.checks import plan as plan_module
from beltplan.checks.plan import plan_of
from beltplan.drag.bench import KEYS, Bench
from beltplan.drag.hand import other_side, put
from beltplan.drag.live import live_of
from beltplan.drag.view import drawn_items
from beltplan.drag.window import SIZE_IN, Window
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.scene import Label, Raster, Shape, Stroke, text_width_pt
from tests.for_each import for_each
from tests.shipped import FOLDER

ONE_PIXEL_MM = 1.5
"""A mouse points no finer."""


class Hands:
    """A window on a copy of a shipped layout, and hands that move mouse and keys over it."""

    def __init__(self, folder: Path, name: str = "camper.yaml", variant: str | None = None, more: str = "") -> None:
        """more: keys of the second alternator."""
        self.path = folder / name
        text = (FOLDER / name).read_text(encoding="utf-8")
        self.path.write_text(text.replace("    at: [260, 200]\n", f"    at: [260, 200]\n{more}"), encoding="utf-8")
        self.saved: list[Any] = []
        figure = Figure(figsize=SIZE_IN)
        self.canvas: Any = FigureCanvasAgg(figure)
        self.bench = Bench(str(self.path), variant, self._save)
        self.window = Window(figure, self.bench)

    def _save(self, source: Any, after: Any) -> str:
        self.saved.append(after)
        return "saved: here"

    def at(self, name: str) -> tuple[float, float]:
        x, y = self.window.axes.transData.transform(self.bench.live.centres[name])
        return float(x), float(y)

    def mouse(self, kind: str, at: tuple[float, float], step: int = 0) -> None:
        MouseEvent(kind, self.canvas, int(at[0]), int(at[1]), MouseButton.LEFT, step=step)._process()  # type: ignore[attr-defined]

    def drag(self, name: str, dx: float, dy: float, let_go: bool = True) -> None:
        x, y = self.bench.live.centres[name]
        to = self.window.axes.transData.transform((x + dx, y + dy))
        self.mouse("button_press_event", self.at(name))
        self.mouse("motion_notify_event", (float(to[0]), float(to[1])))
        if let_go:
            self.mouse("button_release_event", (float(to[0]), float(to[1])))

    def key(self, key: str) -> None:
        KeyEvent("key_press_event", self.canvas, key)._process()  # type: ignore[attr-defined]

    def point(self, name: str) -> None:
        self.mouse("motion_notify_event", self.at(name))

    def words(self, *names: str) -> str:
        """What stands on the panel under these names, a line each."""
        return "\n".join(i.text for i in self.window.items[1] if isinstance(i, Label) and i.name in names)

    def drawn(self) -> set[str]:
        return {i.name for i in self.window.items[0] if isinstance(i, Shape | Stroke | Raster)}


@pytest.fixture
def hands(tmp_path: Path) -> Hands:
    return Hands(tmp_path)


def test_it_opens_with_what_check_finds(hands: Hands) -> None:
    plan = plan_of(read_layout(str(hands.path)).layout)
    assert " ".join(hands.words("verdict").split()) == plan.verdict
    assert hands.words("belt").startswith(f"Belt {plan.route.designation}:")
    for row in plan.pulleys:
        assert f"{row.wrap_deg:.1f}" in hands.words("number")
    shown = " ".join(hands.words("finding").split())
    assert all(finding.about in shown for finding in plan.findings if finding.severity != "note")
    assert "approval" in hands.words("caution")
    ticks = {i.name for i in hands.window.items[1] if isinstance(i, Stroke) and i.name.startswith("belt ")}
    assert ticks == {f"belt {fitted.designation}" for fitted in plan.route.stock}


def test_the_adjuster_stands_where_the_report_says(hands: Hands) -> None:
    """Degrees of the arm, at the tension of the length and of the wraps that are shown; `check` tells its mark."""
    plan = hands.bench.live.plan
    assert plan is not None and plan.route.setting is not None
    assert hands.words("position") == f"{np.degrees(plan.route.setting):.1f} deg"
    assert hands.words("tension") == "belt at measuring tension"


def test_a_pulley_follows_the_hand(hands: Hands) -> None:
    before = hands.bench.now.pulleys["house_alternator"].at_mm
    assert before is not None
    hands.drag("house_alternator", 60.0, 40.0, let_go=False)
    assert hands.bench.now.pulleys["house_alternator"].at_mm == pytest.approx(
        (before[0] + 60.0, before[1] + 40.0), abs=ONE_PIXEL_MM
    )
    assert not hands.bench.live.at_rest and "slip not yet" in " ".join(hands.words("verdict").split())
    assert {"ghost house_alternator", "ghost belt"} <= hands.drawn()
    dx, dy = (now - was for now, was in zip(hands.bench.live.centres["house_alternator"], before, strict=True))
    told = " ".join(hands.words("hand").split())
    assert f"moved {dx:+.1f} mm ({dx / 25.4:+.3f} in) in x, {dy:+.1f} mm ({dy / 25.4:+.3f} in) in y" in told
    hands.mouse("button_release_event", hands.at("house_alternator"))
    assert hands.bench.live.at_rest and hands.bench.live.plan is not None
    plan = plan_of(hands.bench.now)
    assert [f.message for f in hands.bench.live.findings] == [f.message for f in plan.findings]


def test_no_name_lies_where_a_pulley_was(hands: Hands) -> None:
    hands.drag("water_pump", -40.0, 0.0)
    hands.window.rest()
    (ghost,) = (i for i in hands.window.items[0] if i.name == "ghost water_pump" and isinstance(i, Shape))
    was, axes = shapely.Polygon(ghost.rings[0]), hands.window.axes
    mm_per_pt = float(np.ptp(axes.get_xlim())) / axes.bbox.width * hands.window.figure.dpi / 72.0
    names = [each for each in hands.window.items[0] if isinstance(each, Label) and each.name.startswith("name ")]
    assert len(names) > 5
    for label in names:
        wide = text_width_pt(label.text, label.size_pt, label.bold) * mm_per_pt
        left = label.at[0] - wide * {"left": 0.0, "center": 0.5, "right": 1.0}[label.align]
        assert not was.intersects(shapely.LineString([(left, label.at[1]), (left + wide, label.at[1])]))


@for_each("camper.yaml", "workboat.yaml")
def test_the_scales_count_round_numbers_of_the_files_unit_first(tmp_path: Path, name: str) -> None:
    """Below and left those of the file, above and right the others; 25.4 mm are an inch."""
    hands = Hands(tmp_path, name)
    hands.canvas.draw()
    axes = hands.window.axes
    unit, other = ("in", "mm") if name == "workboat.yaml" else ("mm", "in")
    per = {"mm": 1.0, "in": 25.4}
    assert [axes.get_xlabel(), axes.child_axes[0].get_xlabel()] == [unit, other]
    for axis in (axes.xaxis, axes.yaxis):
        inside = [
            (at, tick.get_text()) for at, tick in zip(axis.get_majorticklocs(), axis.get_majorticklabels(), strict=True)
        ]
        told = [float(text.replace("\N{MINUS SIGN}", "-")) for _, text in inside]
        assert len(told) > 3 and np.multiply(told, per[unit]) == pytest.approx([at for at, _ in inside])
        assert len({round(step, 9) for step in np.diff(told)}) == 1 and np.diff(told)[0] in (
            1,
            2,
            2.5,
            5,
            10,
            20,
            25,
            50,
            100,
        )


@for_each("camper", "workboat", "railcar")
def test_where_the_adjuster_stands_is_written_clear_of_the_belts(tmp_path: Path, name: str) -> None:
    panel = Hands(tmp_path, f"{name}.yaml").window.items[1]
    (words,) = (each for each in panel if isinstance(each, Label) and each.name == "position")
    ticks = [each.points[:, 1].max() for each in panel if isinstance(each, Stroke) and each.name.startswith("belt ")]
    # A letter reaches a quarter of its size under the line (the font's descent, DejaVu Sans 0.236).
    assert ticks and words.at[1] - 0.24 * words.size_pt > max(ticks)


def test_the_drive_is_not_run_while_the_hand_moves(hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor for the lengths that will do, which is to run it several times: while it moves those that fit are told."""

    def run(*given: object) -> None:
        raise AssertionError("run while the hand moves")

    assert "would do" in hands.words("path")
    with monkeypatch.context() as moving:
        moving.setattr(plan_module, "operation_of", run)
        hands.drag("house_alternator", 10.0, 5.0, let_go=False)
        assert "fits" in hands.words("path") and "would do" not in hands.words("path")
    hands.mouse("button_release_event", hands.at("house_alternator"))
    assert "would do" in hands.words("path")


def test_what_is_bolted_on_follows_the_hand(tmp_path: Path) -> None:
    """Bracket and bolt holes go with their pulley, over a ghost of where they were; all of it stands in the window."""
    mount = "    mount: {holes: [[-40, 0, 10]], outline: [[-60, -20], [400, -20], [400, 20], [-60, 20]]}\n"
    hands = Hands(tmp_path, more=mount)
    assert hands.window.axes.get_xlim()[1] > 660.0
    before = _middle(hands, "bolt hole")
    hands.drag("house_alternator", 20.0, 30.0)
    after, ghosts = (
        _middle(hands, "bolt hole"),
        [i for i in hands.window.items[0] if i.name == "ghost house_alternator"],
    )
    assert after - before == pytest.approx((20.0, 30.0), abs=ONE_PIXEL_MM)
    assert len(ghosts) == 2


def _middle(hands: Hands, name: str) -> Floats:
    (shape,) = (i for i in hands.window.items[0] if i.name == name and isinstance(i, Shape))
    return np.asarray(shape.rings[0].mean(axis=0))


def test_rest_judges_what_moving_leaves_out(hands: Hands) -> None:
    hands.drag("house_alternator", 10.0, 0.0, let_go=False)
    assert hands.bench.live.plan is not None and hands.bench.live.plan.operation is None
    hands.window.rest()
    assert hands.bench.live.plan is not None and hands.bench.live.plan.operation is not None


def test_without_a_path_it_says_why_and_keeps_the_last_belt(hands: Hands) -> None:
    away = tuple(
        b - a
        for a, b in zip(hands.bench.live.centres["house_alternator"], hands.bench.live.centres["crank"], strict=True)
    )
    hands.drag("house_alternator", away[0] + 5.0, away[1])
    assert hands.words("verdict") == "no belt path" and "overlap by" in hands.words("why")
    assert {"order", "last belt"} <= hands.drawn()


@for_each((True, False), (False, False), (True, True))
def test_what_lies_far_off_stays_in_the_window(at_rest: bool, crossed: bool) -> None:
    """A sheet leaves it out; here it may be in the hand."""
    layout = put(read_layout(str(FOLDER / "camper.yaml")).layout, "heater_hose", (3000.0, 0.0))
    if crossed:
        layout = other_side(layout, "water_pump")
    bench = Bench(str(FOLDER / "camper.yaml"), None, lambda source, after: "")
    bench.live = bench.start = live_of(layout, at_rest)
    assert (bench.live.plan is None) is crossed
    drawn = drawn_items(bench, 0.2, (-1000.0, 4000.0))
    assert [item.name for item in drawn if item.name == "obstacle heater_hose"]
    assert not [item for item in drawn if isinstance(item, Label) and "outside of the picture" in item.text]


def test_the_adjusted_pulley_runs_along_its_travel_and_reads_the_path(hands: Hands) -> None:
    plan = hands.bench.live.plan
    assert plan is not None and plan.route.window is not None
    now = hands.bench.now
    hands.drag("tensioner", 400.0, 0.0, let_go=False)
    told = " ".join(hands.words("hand").split())
    end = max(plan.route.window.longest, plan.route.window.shortest)
    assert hands.bench.setting is not None and f"path is {end:.1f} mm" in told
    hands.mouse("button_release_event", hands.at("tensioner"))
    assert hands.bench.now is now and hands.bench.setting is None


def test_wheel_side_nudge_undo_redo(hands: Hands) -> None:
    start = hands.bench.now
    hands.mouse("scroll_event", hands.at("water_pump"), step=1)
    assert hands.bench.now.pulleys["water_pump"].diameter_mm == start.pulleys["water_pump"].diameter_mm + 1.0
    hands.point("engine_alternator")
    hands.key("b")
    assert hands.bench.now.pulleys["engine_alternator"].on_back != start.pulleys["engine_alternator"].on_back
    hands.key("u")
    hands.key("shift+right")
    hands.key("up")
    x, y = start.pulleys["engine_alternator"].at_mm or (0.0, 0.0)
    assert hands.bench.now.pulleys["engine_alternator"].at_mm == pytest.approx((x + 0.1, y + 1.0))
    for _ in range(5):
        hands.key("u")
    assert hands.bench.now is start
    hands.key("y")
    assert hands.bench.now is not start


def test_flip_shows_the_start_and_back(hands: Hands) -> None:
    hands.drag("house_alternator", 30.0, 0.0)
    now = hands.bench.live.layout
    hands.key("a")
    assert hands.bench.live.layout is hands.bench.session.start and "START" in hands.words("hand")
    hands.key("a")
    assert hands.bench.live.layout is now


def test_snapping_to_whole_mm(hands: Hands) -> None:
    hands.key("g")
    hands.drag("house_alternator", 3.37, 2.71)
    at = hands.bench.now.pulleys["house_alternator"].at_mm
    assert at is not None and all(value == round(value) for value in at)


def test_variants_one_after_the_other(hands: Hands) -> None:
    assert hands.bench.variant is None
    hands.drag("house_alternator", 30.0, 0.0)
    hands.key("v")
    assert hands.bench.variant == "with idler" and "idler" in hands.bench.live.centres
    while hands.bench.variant is not None:
        hands.key("v")
    assert hands.bench.session.is_changed  # what was in hand is kept


def test_the_map_lies_under_the_drawing_and_goes(hands: Hands) -> None:
    hands.point("house_alternator")
    hands.key("m")
    assert "map" in hands.drawn()
    hands.key("m")
    assert "map" not in hands.drawn()
    hands.point("tensioner")
    hands.key("m")
    assert "map" not in hands.drawn() and "only a pulley on the belt" in hands.words("hand")


def test_saving(hands: Hands) -> None:
    hands.key("s")
    assert not hands.saved and "nothing was changed" in hands.words("hand")
    hands.drag("house_alternator", 30.0, 0.0)
    hands.key("s")
    assert hands.saved == [hands.bench.now] and "saved: here" in hands.words("hand")


def test_the_file_is_watched(hands: Hands) -> None:
    hands.drag("house_alternator", 30.0, 0.0)
    mine = hands.bench.now
    text = hands.path.read_text()
    hands.path.write_text(text.replace("diameter: 120", "diameter: 130", 1))
    hands.window.look_at_file()
    assert hands.bench.now.pulleys["air_conditioning"].diameter_mm == 130.0
    hands.key("u")
    assert hands.bench.now is mine
    hands.path.write_text(text.replace("diameter: 120", "diamter: 120", 1))
    hands.window.look_at_file()
    assert "diamter" in hands.words("fault") and hands.bench.now is mine
    os.remove(hands.path)
    hands.window.look_at_file()
    assert hands.bench.now is mine


def test_keys_are_told(hands: Hands) -> None:
    hands.key("?")
    told = " ".join(hands.words("hand").split())
    assert all(words in told for words in KEYS.values())


def test_a_resized_window_keeps_its_panel(hands: Hands) -> None:
    before = hands.window.axes.get_position().width
    hands.window.figure.set_size_inches(18.0, 9.0)
    hands.canvas.draw()
    ResizeEvent("resize_event", hands.canvas)._process()  # type: ignore[attr-defined]
    hands.canvas.draw()
    assert hands.window.axes.get_position().width > before


@for_each("railcar.yaml", "workboat.yaml", "orchard_sprayer.yaml", "too_tight.yaml")
def test_every_shipped_layout_can_be_taken_in_hand(tmp_path: Path, name: str) -> None:
    hands = Hands(tmp_path, name)
    movable = next(p.name for p in hands.bench.now.routed if p.at_mm is not None and not p.drives)
    hands.drag(movable, 2.0, -1.0)
    plan = hands.bench.live.plan
    assert plan is not None and plan.findings and hands.bench.session.is_changed

"""The slip picture: curves are the values computed, arrows are the loads, labels stand clear, the file stays."""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes

from beltplan.checks.plan import Plan
from beltplan.drive.operation import Operation, operation_of
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.painter import figure_of, picture_bytes
from beltplan.picture.scene import Chart, Label, Scene, Shape
from beltplan.picture.slip import curves_of, points_per_N, slip_rows, slip_scene
from beltplan.report.words import SLIP_SAFETY
from tests.cure.drives import revving_camper
from tests.drive.loaded_drives import on_slide, operation, seven, swung_generator
from tests.for_each import for_each
from tests.picture.crowding import crowded
from tests.picture.drives import planned, shipped
from tests.picture.in_mm import in_mm
from tests.picture.test_expected_pictures import DPI, as_stored, expected_path

SLACK_PT = 0.4
CASES = Path(__file__).parents[1] / "cases"


def _shipped(path: str, variant: str | None) -> Callable[[], Operation]:
    def make() -> Operation:
        found = operation_of(route_of(read_layout(path, variant).layout))
        assert found is not None
        return found

    return make


BUILDERS: dict[str, Callable[[], Operation]] = {
    "seven": lambda: operation(seven()),
    "locked slide": lambda: operation(on_slide(tension_N=300.0)),
    "no load": lambda: operation(seven(loads={})),
    "swung generator": lambda: operation(swung_generator(None)),
    "slack": lambda: operation(on_slide(tension_N=230.0)),
    "chirping": lambda: operation(revving_camper(13.9, 4500.0)),
    "close": _shipped(str(CASES / "close.yaml"), None),
    "wide_flat": _shipped(str(CASES / "wide_flat.yaml"), None),
    **{
        name: _shipped(path, variant)
        for name, path, variant in shipped()
        if operation_of(route_of(read_layout(path, variant).layout)) is not None
    },
}
NAMES = list(BUILDERS)


@cache
def pictured(name: str) -> tuple[Operation, Scene]:
    made = BUILDERS[name]()
    return made, slip_scene(planned(made.route))


def texts(scene: Scene, name: str) -> list[str]:
    return [item.text for item in scene.named(name) if isinstance(item, Label)]


@for_each(*NAMES)
def test_no_label_lies_on_another_or_passes_the_frame(name: str) -> None:
    """Measured with the renderer's own letters."""
    scene = pictured(name)[1]
    assert crowded(scene, SLACK_PT) == []


@for_each(*NAMES)
def test_curves_hold_the_computed_values(name: str) -> None:
    """Dry is condition 0, wet 1, design 2; the thick curve is the highest of all duties at each speed."""
    made, _ = pictured(name)
    for panel in slip_rows(planned(made.route)):
        for condition, duty, used in curves_of(made, panel):
            own = made.utilisation[("dry", "wet", "design").index(condition), :, :, panel.index]
            np.testing.assert_array_equal(used, own.max(axis=0) if duty == "" else own[made.duties.index(duty)])


@cache
def axes_of(name: str) -> dict[str, Axes]:
    return {str(axes.get_gid()): axes for axes in figure_of(pictured(name)[1]).axes}


@for_each(*NAMES)
def test_curves_are_drawn_of_what_passes_a_half_when_wet_and_hold_the_values(name: str) -> None:
    made, charts = pictured(name)[0], axes_of(name)
    for panel in slip_rows(planned(made.route)):
        own = made.utilisation[1, :, :, panel.index].max(axis=0)
        chart = charts.get(f"chart {panel.pulley}")
        assert (chart is not None) == (own.max() > 0.5)
        if chart is not None:
            (line,) = (line for line in chart.lines if line.get_gid() == "wet")
            x, y = (np.asarray(values, dtype=float) for values in line.get_data())
            inside = own <= chart.get_ylim()[1]
            np.testing.assert_allclose(x, made.driver_rpm)
            np.testing.assert_allclose(y[inside], own[inside])
            assert (y[~inside] > chart.get_ylim()[1]).all()


@for_each(*NAMES)
def test_dots_are_the_worst_of_every_pulley_the_nearest_to_slipping_first(name: str) -> None:
    made, scene = pictured(name)
    panels = slip_rows(planned(made.route))
    if not panels:
        assert texts(scene, "no load")
        return
    axes = axes_of(name)["slip"]
    worst = {panel.pulley: made.utilisation[:, :, :, panel.index].max(axis=(1, 2)) for panel in panels}
    order = sorted(worst, key=lambda pulley: -worst[pulley][1])
    top = axes.get_xlim()[1]
    limits = [float(np.ravel(line.get_xydata())[0]) for line in axes.lines if not line.get_gid()]
    assert [float(each) for each in re.findall(r"\d[.\d]*", axes.get_xlabel())] == limits  # what its lines stand for
    for index, condition in enumerate(("dry", "wet", "design")):
        dots = [line for line in axes.lines if line.get_gid() == f"dot {condition}"]
        for row, (pulley, dot) in enumerate(zip(order, dots, strict=True)):
            assert tuple(np.ravel(dot.get_xydata())) == pytest.approx((min(worst[pulley][index], top), row))
            assert (dot.get_marker() == ">") == (worst[pulley][index] > top)
    written = [texts(scene, f"slip {pulley}")[1] for pulley in order]
    assert written == [f"{worst[p][1]:.2f}" if np.isfinite(worst[p][1]) else "slack" for p in order]


@for_each(*NAMES)
def test_arrows_point_along_the_loads_and_are_to_scale(name: str) -> None:
    made, scene = pictured(name)[0], in_mm(pictured(name)[1])
    per_N = points_per_N(planned(made.route).hubs) / scene.view.pt_per_mm
    for i, pulley in enumerate(made.route.pulleys):
        # A slack span cannot push: what the balance gives there is no load.
        sound = (made.running.tractive_N > 0.0).all(axis=-1)
        running = made.running.hub_load_N[:, :, i][sound]
        size = np.hypot(*running.T)
        (still,) = (item for item in scene.named(f"stopped {pulley.name}") if isinstance(item, Shape))
        (worst,) = (item for item in scene.named(f"running {pulley.name}") if isinstance(item, Shape))
        largest = running[size >= size.max() * 0.999999]
        for shape, loads in ((still, made.stopped.hub_load_N[i][None]), (worst, largest)):
            ring = shape.rings[0]
            tail, tip = 0.5 * (ring[0] + ring[-1]), ring[3]
            assert tail == pytest.approx(made.route.loop.centre[i], abs=1e-6)
            assert np.hypot(*(loads * per_N - (tip - tail)).T).min() < 1e-4
        (told,) = texts(scene, f"stopped {pulley.name}")
        still_N = float(np.hypot(*made.stopped.hub_load_N[i]))
        assert told.startswith(f"{still_N:.0f} N ") and told.endswith(" stopped")
        if made.route.layout.units == "in":
            # 1 lbf is 4.4482216 N (NIST SP 811, B.8).
            assert float(told.split("(")[1].split()[0]) == pytest.approx(still_N / 4.4482216, abs=0.51)


def test_scale_of_the_arrows_is_what_it_says() -> None:
    made, scene = pictured("seven")
    (bar,) = (item for item in scene.named("force scale") if isinstance(item, Shape))
    length = float(np.hypot(*(bar.rings[0][3] - 0.5 * (bar.rings[0][0] + bar.rings[0][-1]))))
    (words,) = (text for text in texts(scene, "legend") if "this long is" in text)
    newton = float(words.split("this long is ")[1].removesuffix(" N"))
    largest = max(float(np.hypot(*load.running_N)) for load in planned(made.route).hubs)
    arrows = [i.rings[0] for i in scene.items if isinstance(i, Shape) and i.name.startswith("running ")]
    longest = max(float(np.hypot(*(r[3] - 0.5 * (r[0] + r[-1])))) for r in arrows)
    assert length / newton == pytest.approx(longest / largest, rel=1e-9)


@for_each(*NAMES)
def test_a_table_says_what_spans_sound_at(name: str) -> None:
    """String, f = sqrt(T / m) / (2 l), any handbook of acoustics; tension and length as the engine gives them."""
    made, scene = pictured(name)
    cells = texts(scene, "tone")
    assert len(cells) == 3 * len(made.route.spans)
    for i, (start, end) in enumerate(made.route.spans):
        length_m = float(made.stopped.loop.span[i]) / 1000.0
        wanted = np.sqrt(float(made.stopped.total_N[i]) / made.mechanics.mass_kg_per_m) / (2.0 * length_m)
        assert cells[3 * i] == f"{start.name} to {end.name}"
        assert float(cells[3 * i + 2]) == pytest.approx(wanted, abs=0.5001)


def test_slack_span_is_said() -> None:
    made, scene = pictured("slack")
    assert np.isinf(made.utilisation[1]).any()
    rows = slip_rows(planned(made.route))
    slack = [row.pulley for row in rows if np.isinf(made.utilisation[1, :, :, row.index]).any()]
    assert slack and all("slack" in " ".join(texts(scene, f"worst {pulley}")) for pulley in slack)


@for_each(*NAMES)
def test_the_caution_is_written(name: str) -> None:
    assert " ".join(texts(pictured(name)[1], "caution")) == SLIP_SAFETY


def test_worst_point_carries_its_speed() -> None:
    made, scene = pictured("camper")
    own = made.utilisation[1, :, :, 0].max(axis=0)
    wanted = [f"{own.max():.2f}", f"{made.driver_rpm[int(own.argmax())]:.0f} rpm"]
    assert texts(scene, "slip crank")[1:3] == wanted


@for_each(*NAMES)
def test_figures_stand_in_the_rows_of_their_dots_and_in_no_band(name: str) -> None:
    """A value inside would read as that of the band it lies in: 0.40 in the band over 1."""
    scene = pictured(name)[1]
    charts = [item for item in scene.items if isinstance(item, Chart)]
    for chart in charts:
        x0, y0, x1, y1 = chart.box
        assert not [i.text for i in scene.labels if i.box[2] > x0 and i.box[0] < x1 and i.box[3] > y0 and i.box[1] < y1]


@for_each(*NAMES)
def test_a_curve_that_leaves_its_chart_is_marked_and_its_value_written(name: str) -> None:
    (made, scene), charts = pictured(name), axes_of(name)
    for panel in slip_rows(planned(made.route)):
        if (chart := charts.get(f"chart {panel.pulley}")) is not None:
            every = made.utilisation[:, :, :, panel.index].max(axis=(1, 2))
            over = [grip for grip in every if chart.get_ylim()[1] < grip < np.inf]
            written = " ".join(texts(scene, f"worst {panel.pulley}"))
            assert sum(line.get_gid() == "over" for line in chart.lines) == len(over) == written.count("(over the top)")
            assert all(f"{grip:.2f} (over the top)" in written for grip in over)
            assert not over or "A triangle" in " ".join(texts(scene, "about"))
    assert name != "wide_flat" or "A triangle" in " ".join(texts(scene, "about"))


@for_each(*NAMES)
def test_no_band_of_tension_is_told_where_the_adjuster_rests_on_its_stop(name: str) -> None:
    made, scene = pictured(name)
    words = " ".join(texts(scene, "tension"))
    assert ("rests on its stop" in words) == (name == "wide_flat")
    assert ("runs to where the path is longest" in words) == (name == "close")
    assert bool(made.stopped.at_stop) == (name in ("close", "wide_flat"))
    assert not (made.stopped.at_stop and "friction" in words)


def test_slip_on_revs_is_said_at_its_pulley_since_the_curves_are_steady_running() -> None:
    """The crank stays under 1 in its chart and slips while the engine speeds up, as the drive is solved then."""
    made, scene = pictured("chirping")
    changed = made.revving
    assert changed is not None and made.utilisation[1].max() < 1.0 < changed[1][1].max()
    assert texts(scene, "worst crank") == [f"revving: wet {changed[1][1].max():.2f} at 800 rpm"]
    assert "Steady running only" in " ".join(texts(scene, "about"))
    _, quiet = pictured("seven")
    assert "Steady running only" not in " ".join(texts(quiet, "about"))


def test_same_drive_gives_the_same_file() -> None:
    """Of every kind of file the painter's own test tells it."""
    made = BUILDERS["seven"]()
    first, second = (picture_bytes(slip_scene(Plan(made.route, made, ())), "svg") for _ in range(2))
    assert first == second


class Frozen(Plan):
    """A plan with the verdict of the stored picture."""

    verdict = "frozen"


def _stored_scene() -> bytes:
    made = BUILDERS["seven"]()
    return picture_bytes(slip_scene(Frozen(made.route, made, ())), "png", DPI)


def test_picture_is_the_stored_one() -> None:
    """Frozen: our own picture, looked at by eye when it was made; anew by: python -m tests.picture.test_slip_scene."""
    as_stored(_stored_scene(), "slip")


if __name__ == "__main__":
    expected_path("slip").write_bytes(_stored_scene())

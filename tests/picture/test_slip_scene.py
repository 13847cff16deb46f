"""The slip picture: curves are the values computed, arrows are the loads, labels stand clear, the file stays."""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from beltplan.checks.plan import Plan
from beltplan.drive.operation import Operation, operation_of
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.painter import picture_bytes
from beltplan.picture.scene import Label, Scene, Shape, Stroke
from beltplan.picture.slip import points_per_N, slip_scene
from beltplan.picture.slip_charts import slip_panels, top_of
from beltplan.report.words import SLIP_SAFETY
from tests.cure.drives import revving_camper
from tests.drive.loaded_drives import on_slide, operation, seven, swung_generator
from tests.for_each import for_each
from tests.picture.crowding import crowded
from tests.picture.drives import planned, shipped
from tests.picture.test_expected_pictures import DIFFERENT, DIFFERENT_SHARE, DPI, EXPECTED, MEAN_DIFFERENCE

STORED = EXPECTED / "slip.png"
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


@for_each("name", NAMES)
def test_no_label_lies_on_another_or_passes_the_frame(name: str) -> None:
    """Measured with the renderer's own letters."""
    scene = pictured(name)[1]
    assert crowded(scene, SLACK_PT) == []


@for_each("name", NAMES)
def test_curves_hold_the_computed_values(name: str) -> None:
    """Dry is condition 0, wet 1, design 2; the thick curve is the highest of all duties at each speed."""
    made, _ = pictured(name)
    for panel in slip_panels(planned(made.route)):
        for curve in panel.curves:
            own = made.utilisation[("dry", "wet", "design").index(curve.condition), :, :, panel.index]
            wanted = own.max(axis=0) if curve.duty == "" else own[made.duties.index(curve.duty)]
            np.testing.assert_array_equal(curve.points, np.stack((made.driver_rpm, wanted), axis=-1))


@for_each("name", NAMES)
def test_strokes_run_through_the_values_to_the_scale_of_the_axes(name: str) -> None:
    """The scale is read off the limit lines at 0.8 and 1, and off the axis from idle to maximum, as a reader would."""
    made, scene = pictured(name)
    panels = slip_panels(planned(made.route))
    ones = [item.points for item in scene.named("limit 1") if isinstance(item, Stroke)]
    hands = [item.points for item in scene.named("limit 0.8") if isinstance(item, Stroke)]
    assert len(ones) == len(panels)
    for panel, one, hand in zip(panels, ones, hands, strict=True):
        own = made.utilisation[1, :, :, panel.index].max(axis=0)
        inside = own <= top_of(panels)
        x = one[0, 0] + (made.driver_rpm - made.driver_rpm[0]) / np.ptp(made.driver_rpm) * (one[1, 0] - one[0, 0])
        y = one[0, 1] + (own[inside] - 1.0) / 0.2 * (one[0, 1] - hand[0, 1])
        strokes = [item.points for item in scene.named(f"wet {panel.pulley}") if isinstance(item, Stroke)]
        drawn = np.concatenate(strokes)
        gap = np.hypot(*(np.stack((x[inside], y), axis=-1)[:, None] - drawn[None]).transpose(2, 0, 1)).min(axis=1)
        assert gap.max() < 1e-9 * np.abs(drawn).max() + 1e-6


@for_each("name", NAMES)
def test_arrows_point_along_the_loads_and_are_to_scale(name: str) -> None:
    made, scene = pictured(name)
    per_N = points_per_N(planned(made.route).hubs) / scene.unit_pt
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
        assert f"{np.hypot(*made.stopped.hub_load_N[i]):.0f} N stopped" in texts(scene, f"stopped {pulley.name}")


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


@for_each("name", NAMES)
def test_spans_say_what_they_sound_at(name: str) -> None:
    """String, f = sqrt(T / m) / (2 l), any handbook of acoustics; tension and length as the engine gives them."""
    made, scene = pictured(name)
    for i, (start, end) in enumerate(made.route.spans):
        length_m = float(made.stopped.loop.span[i]) / 1000.0
        wanted = np.sqrt(float(made.stopped.total_N[i]) / made.mechanics.mass_kg_per_m) / (2.0 * length_m)
        (text,) = texts(scene, f"frequency {start.name} to {end.name}")
        assert float(text.removesuffix(" Hz")) == pytest.approx(wanted, abs=0.5001)


def test_slack_span_is_said() -> None:
    made, scene = pictured("slack")
    assert np.isinf(made.utilisation[1]).any()
    slack = [panel.pulley for panel in slip_panels(planned(made.route)) if np.isinf(panel.curves[1].points[:, 1]).any()]
    assert slack and all("slack" in " ".join(texts(scene, f"worst {pulley}")) for pulley in slack)


@for_each("name", NAMES)
def test_caution_and_limits_are_written(name: str) -> None:
    scene = pictured(name)[1]
    assert " ".join(texts(scene, "caution")) == SLIP_SAFETY
    assert {"slips", "little reserve"} <= set(texts(scene, "zone")) or texts(scene, "no load")


def test_worst_point_carries_its_speed() -> None:
    made, scene = pictured("camper")
    own = made.utilisation[1, :, :, 0].max(axis=0)
    assert texts(scene, "worst crank") == [f"wet {own.max():.2f} at {made.driver_rpm[int(own.argmax())]:.0f} rpm"]


@for_each("name", NAMES)
def test_no_number_stands_in_a_chart(name: str) -> None:
    """A value inside would read as that of the band it lies in: 0.40 in the band over 1."""
    scene = pictured(name)[1]
    ones = [item.points for item in scene.named("limit 1") if isinstance(item, Stroke)]
    hands = [item.points for item in scene.named("limit 0.8") if isinstance(item, Stroke)]
    for one, hand in zip(ones, hands, strict=True):
        (left, one_y), (right, _) = one
        foot = one_y - 5.0 * (one_y - hand[0, 1])
        for label in scene.labels:
            x0, y0, x1, y1 = label.box(scene.unit_pt)
            assert x1 <= left or x0 >= right or y1 <= foot or y0 >= one_y, label.text


@for_each("name", NAMES)
def test_a_curve_that_leaves_its_chart_is_marked_and_its_value_written(name: str) -> None:
    made, scene = pictured(name)
    panels = slip_panels(planned(made.route))
    for panel in panels:
        every = [float(made.utilisation[i, :, :, panel.index].max()) for i in range(3)]
        over = [utilisation for utilisation in every if top_of(panels) < utilisation < np.inf]
        written = " ".join(texts(scene, f"worst {panel.pulley}") + texts(scene, f"others {panel.pulley}"))
        assert len(scene.named(f"over {panel.pulley}")) == len(over) == written.count("(over the top)")
        assert all(f"{grip:.2f} (over the top)" in written or f"{grip:.2f} at " in written for grip in over)
    marked = any(scene.named(f"over {panel.pulley}") for panel in panels)
    assert ("A triangle" in " ".join(texts(scene, "about"))) == marked
    assert marked or name != "wide_flat"


@for_each("name", NAMES)
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
    assert texts(scene, "revving crank") == [f"revving: wet {changed[1][1].max():.2f} at 800 rpm"]
    assert "The curves are steady running only" in " ".join(texts(scene, "about"))
    _, quiet = pictured("seven")
    assert "steady running only" not in " ".join(texts(quiet, "about"))


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
    got = np.asarray(Image.open(io.BytesIO(_stored_scene())).convert("RGB"), dtype=float)
    stored = np.asarray(Image.open(STORED).convert("RGB"), dtype=float)
    assert got.shape == stored.shape
    difference = np.abs(got - stored)
    assert difference.mean() <= MEAN_DIFFERENCE
    assert (difference.max(axis=-1) > DIFFERENT).mean() <= DIFFERENT_SHARE


if __name__ == "__main__":
    Path(STORED).write_bytes(_stored_scene())

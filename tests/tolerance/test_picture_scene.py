"""The tolerance picture: bars are the values of the study, labels stand clear, cautions are written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.painter import picture_bytes
from beltplan.picture.scene import Label, Scene, Shape, Stroke
from beltplan.report.words import TOLERANCE_SAFETY
from beltplan.tolerance.picture import histogram_of, length_range, told, tolerance_scene
from beltplan.tolerance.study import Tolerance, tolerance_of
from tests.drive.drives import railcar, with_belt, with_pulley
from tests.picture.crowding import crowded
from tests.tolerance.drives import DRIVES, NO_ERRORS, shipped, two_fixed

ANSWERS = (("BUY", "a belt"), ("MEASURE", "a pulley again"), ("NEEDED", "a length"))
SLACK_PT = 0.4


def long_names() -> Layout:
    """The example drive with names as long as they may be, in wide letters."""
    given = railcar()
    names = {name: f"{name} " + "W" * (39 - len(name)) for name in given.pulleys}
    renamed = {names[name]: replace(pulley, name=names[name]) for name, pulley in given.pulleys.items()}
    return replace(given, pulleys=renamed, route=tuple(names[name] for name in given.route))


BUILDERS: dict[str, Callable[[], Layout]] = {
    **DRIVES,
    "too tight": lambda: shipped("too_tight"),
    "fixed": lambda: two_fixed(300.0, "6PK"),
    "exact": lambda: replace(railcar(), uncertainty=NO_ERRORS),
    "wild": lambda: replace(railcar(), uncertainty=Uncertainty(60.0, 20.0, 20.0)),
    "named": lambda: with_belt(railcar(), length_mm=2500.0),
    "long names": long_names,
    "under": lambda: replace(railcar(), limits={"min_wrap_deg": {"generator": 170.0, "pump": 130.0}}),
}


@cache
def pictured(name: str) -> tuple[Tolerance, Scene]:
    study = tolerance_of(route_of(BUILDERS[name]()), 1000)
    return study, tolerance_scene(study, ANSWERS)


def texts(scene: Scene, name: str) -> list[str]:
    return [item.text for item in scene.named(name) if isinstance(item, Label)]


@pytest.mark.parametrize("name", BUILDERS)
def test_no_label_lies_on_another_or_passes_the_frame(name: str) -> None:
    """Measured with the renderer's own letters."""
    scene = pictured(name)[1]
    assert crowded(scene, SLACK_PT) == []


@pytest.mark.parametrize("name", ["railcar", "workboat", "slide", "fixed"])
def test_the_histogram_holds_every_draw(name: str) -> None:
    """Heights in proportion to the counts of numpy's histogram; the axis keeps 998 of 1000 draws at least."""
    study, scene = pictured(name)
    low, high = length_range(study)
    counts, _ = histogram_of(study, low, high)
    assert counts.sum() >= 0.997 * study.draws
    heights = [float(np.ptp(item.rings[0][:, 1])) for item in scene.named("histogram") if isinstance(item, Shape)]
    assert np.array(heights) / max(heights) == pytest.approx(counts[counts > 0.0] / counts.max())


@pytest.mark.parametrize("name", ["railcar", "workboat", "under"])
def test_chance_bars_are_the_chances_to_the_scale_of_the_level_lines(name: str) -> None:
    study, scene = pictured(name)
    levels = [float(item.points[0, 1]) for item in scene.named("level") if isinstance(item, Stroke)]
    for belt in study.foremost:
        bars = [item.rings[0] for item in scene.named(f"chance {belt.designation}") if isinstance(item, Shape)]
        tops = [(float(bar[:, 1].max()) - levels[0]) / (levels[-1] - levels[0]) for bar in bars]
        assert tops == pytest.approx([belt.inside, belt.with_reserve], abs=0.004)
        middles = [float(bar[:, 0].mean()) for bar in bars]
        assert middles[0] == pytest.approx(middles[1])


@pytest.mark.parametrize("name", ["railcar", "workboat"])
def test_window_and_belts_stand_on_one_axis(name: str) -> None:
    study, scene = pictured(name)
    window = study.route.window
    assert window is not None
    x = [float(item.points[0, 0]) for item in scene.named("window") if isinstance(item, Stroke)][:2]
    per_mm = (x[1] - x[0]) / (window.longest - window.shortest)
    for belt in study.foremost:
        bar = next(item for item in scene.named(f"chance {belt.designation}") if isinstance(item, Shape))
        assert float(bar.rings[0][:, 0].mean()) == pytest.approx(x[0] + per_mm * (belt.line_mm - window.shortest))


def test_wraps_stand_against_their_least() -> None:
    study, scene = pictured("under")
    (generator,) = (wrap for wrap in study.wraps if wrap.pulley == "generator")
    assert generator.minimum_deg == 170.0 and (generator.under or 0.0) > 0.9
    (least,) = (item for item in scene.named("least generator") if isinstance(item, Stroke))
    bar = next(item for item in scene.named("wrap generator") if isinstance(item, Shape))
    low, high = (float(end) for end in (bar.rings[0][:, 0].min(), bar.rings[0][:, 0].max()))
    per_deg = (high - low) / (generator.band_deg[1] - generator.band_deg[0])
    assert float(least.points[0, 0]) - high == pytest.approx(per_deg * (170.0 - generator.band_deg[1]), abs=1e-6)
    assert any("under" in text for text in texts(scene, "wrap generator"))


@pytest.mark.parametrize("name", ["railcar", "by rim", "camper"])
def test_share_bars_are_in_proportion(name: str) -> None:
    study, scene = pictured(name)
    rows = told(study)
    bars = [next(i for i in scene.named(f"share {k}") if isinstance(i, Shape)) for k in range(len(rows))]
    widths = np.array([float(np.ptp(bar.rings[0][:, 0])) for bar in bars])
    shares = np.array([row.share for row in rows], dtype=float)
    assert widths / widths[0] == pytest.approx(shares / shares[0])


@pytest.mark.parametrize("name", BUILDERS)
def test_answers_caution_and_seed_are_written(name: str) -> None:
    study, scene = pictured(name)
    assert " ".join(texts(scene, "caution")) == TOLERANCE_SAFETY
    assert texts(scene, "draws") == [f"{study.draws} draws, seed {study.seed}."]
    assert texts(scene, "answer")[0] == "Buy: a belt"


def test_the_belt_to_buy_is_marked() -> None:
    study, scene = pictured("railcar")
    assert study.best is not None
    assert "buy" in texts(scene, f"belt {study.best.designation}")
    assert sum("buy" in texts(scene, f"belt {belt.designation}") for belt in study.foremost) == 1


def test_where_none_is_to_be_bought_the_nearest_is_marked() -> None:
    study, scene = pictured("fixed")
    assert study.best is None and study.nearest is not None
    assert "nearest" in texts(scene, f"belt {study.nearest.designation}")
    assert not any("buy" in texts(scene, f"belt {belt.designation}") for belt in study.foremost)


@pytest.mark.parametrize(
    ("name", "words"),
    [("pm_stock", "no list of PM lengths is built in"), ("gokart", "no belt on the list has a chance")],
)
def test_a_chart_without_belts_says_why(name: str, words: str) -> None:
    study = tolerance_of(route_of(read_layout(f"tests/cases/{name}.yaml", None).layout), 200)
    assert texts(tolerance_scene(study, ANSWERS), "chance") == [words]


def test_wraps_say_for_which_belt_they_are_where_another_is_to_be_bought() -> None:
    study = tolerance_of(route_of(with_belt(railcar(), length_mm=1695.0)), 500)
    assert study.best is not None and study.best.designation != "6PK1695"
    assert "Wrap with 6PK1695, named in the file, deg" in texts(tolerance_scene(study, ANSWERS), "heading")


@pytest.mark.parametrize("ending", ["svg", "pdf", "png"])
def test_same_seed_gives_the_same_file(ending: str) -> None:
    given = route_of(with_pulley(railcar(), "pump", uncertainty=Uncertainty(position_mm=2.0)))
    first, second = (picture_bytes(tolerance_scene(tolerance_of(given, 200), ANSWERS), ending) for _ in range(2))
    assert first == second

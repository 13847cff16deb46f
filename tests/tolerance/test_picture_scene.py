"""The tolerance picture: bars are the values of the study, labels stand clear, cautions are written."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.patches import Rectangle

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.picture.painter import figure_of
from beltplan.picture.pens import PROBLEM
from beltplan.picture.scene import Chart, Label, Scene
from beltplan.report.words import TOLERANCE_SAFETY
from beltplan.tolerance.picture import tolerance_scene
from beltplan.tolerance.study import Tolerance, tolerance_of
from tests.drive.drives import railcar, with_belt
from tests.for_each import for_each
from tests.picture.crowding import crowded
from tests.tolerance.drives import DRIVES, NO_ERRORS, shipped, two_fixed

ANSWERS = ("Buy: a belt", "Measure: a pulley again", "Length: a length")
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


@cache
def axes_of(name: str, chart: str) -> Axes:
    """A chart as matplotlib draws it."""
    return _axes_in(pictured(name)[1], chart)


def _axes_in(scene: Scene, chart: str) -> Axes:
    charts = tuple(item for item in scene.items if item.name == chart and isinstance(item, Chart))
    (axes,) = figure_of(replace(scene, items=charts)).axes
    return axes


def bars(axes: Axes, gid: str) -> list[Rectangle]:
    return [patch for patch in axes.patches if isinstance(patch, Rectangle) and patch.get_gid() == gid]


@for_each("railcar", "workboat", "under")
def test_chance_bars_are_the_chances_and_stand_at_the_lengths(name: str) -> None:
    study, axes = pictured(name)[0], axes_of(name, "bought")
    inside, reserve = bars(axes, "inside"), bars(axes, "with reserve")
    assert [bar.get_height() for bar in inside] == [belt.inside for belt in study.foremost()]
    assert [bar.get_height() for bar in reserve] == [belt.with_reserve for belt in study.foremost()]
    for own in (inside, reserve):
        middles = [bar.get_x() + 0.5 * bar.get_width() for bar in own]
        assert middles == pytest.approx([belt.line_mm for belt in study.foremost()])


@pytest.mark.parametrize("name", ["railcar", "workboat"])
def test_the_window_stands_on_the_axis_of_what_is_bought(name: str) -> None:
    study = pictured(name)[0]
    window = study.route.window
    assert window is not None
    lines = [
        float(np.ravel(line.get_xydata())[0]) for line in axes_of(name, "bought").lines if line.get_gid() == "window"
    ]
    assert lines == [window.shortest, window.longest]


def test_wraps_stand_against_their_minimum_on_one_scale() -> None:
    study, scene = pictured("under")
    rows = [wrap.pulley for wrap in study.wraps]
    axes, row = axes_of("under", "wrap"), rows.index("generator")
    generator = study.wraps[row]
    assert generator.minimum_deg == 170.0 and (generator.under or 0.0) > 0.9
    band = bars(axes, "band")[row]
    assert (band.get_x(), band.get_x() + band.get_width()) == pytest.approx(generator.band_deg)
    assert band.get_y() + 0.5 * band.get_height() == pytest.approx(row)
    minima = [
        c.get_segments()[0] for c in axes.collections if isinstance(c, LineCollection) if c.get_gid() == "minimum"
    ]
    assert any(segment[0][0] == 170.0 and segment[:, 1].mean() == pytest.approx(row) for segment in minima)
    assert texts(scene, "wrap generator")[-1].endswith("%")


@for_each((0.0, False), (0.02, False), (0.49, False), (0.9, True))
def test_a_wrap_is_in_the_colour_of_a_problem_only_where_it_falls_short_more_often_than_not(
    under: float, is_bad: bool
) -> None:
    study, _ = pictured("under")
    wraps = tuple(replace(wrap, under=under) for wrap in study.wraps)
    scene = tolerance_scene(replace(study, wraps=wraps), ())
    figures = [label for label in scene.labels if label.name == "wrap generator"][1:]
    assert figures and all((label.colour == PROBLEM, label.bold) == (is_bad, is_bad) for label in figures)


@for_each("railcar", "by rim", "camper")
def test_share_bars_are_the_shares_in_percent(name: str) -> None:
    study = pictured(name)[0]
    widths = [bar.get_width() for bar in bars(axes_of(name, "share"), "share")]
    assert widths == pytest.approx([100.0 * (row.share or 0.0) for row in study.shares[:10]])


@for_each(*BUILDERS)
def test_answers_caution_and_seed_are_written(name: str) -> None:
    study, scene = pictured(name)
    assert " ".join(texts(scene, "caution")) == TOLERANCE_SAFETY
    assert texts(scene, "draws") == [f"{study.draws} draws, seed {study.seed}."]
    verdict = [f"Check: {study.plan.verdict}"] if study.plan.count("problem") else []
    assert texts(scene, "answer")[: len(verdict) + 1] == [*verdict, "Buy: a belt"]


def belt_words(name: str) -> list[list[str]]:
    return [label.get_text().split("\n") for label in axes_of(name, "bought").get_xticklabels()]


def test_the_belt_to_buy_is_marked() -> None:
    study = pictured("railcar")[0]
    assert study.best is not None
    assert [words[0] for words in belt_words("railcar") if "buy" in words] == [study.best.designation]


def test_where_none_is_to_be_bought_the_nearest_is_marked() -> None:
    study = pictured("fixed")[0]
    assert study.best is None and study.nearest is not None
    assert [words[0] for words in belt_words("fixed") if "nearest" in words] == [study.nearest.designation]
    assert not any("buy" in words for words in belt_words("fixed"))

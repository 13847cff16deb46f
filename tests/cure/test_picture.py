"""The picture of a cure: before and after side by side, in the cells of a comparison."""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.cure.picture import cure_scene, draw_cure
from beltplan.cure.study import Cures
from beltplan.picture.cells import Table
from beltplan.picture.scene import Label, Scene
from tests.cure.drives import cures

TABLE = Table(("before", "after"), (("problems", ("3", "0")),), "")
ALONE = Table(("before",), (("problems", ("0",)),), "")


def scene(found: Cures) -> Scene:
    alone = found.best is None and found.nearest is None
    verdicts = ("one",) if alone else ("one", "two")
    return cure_scene(found, verdicts, ALONE if alone else TABLE, "the answer")


def words(shown: Scene, name: str) -> str:
    return " ".join(item.text for item in shown.items if isinstance(item, Label) and item.name == name)


def test_before_and_after_with_what_is_to_be_done() -> None:
    shown = scene(cures("camper"))
    assert words(shown, "column").startswith("before after: add an idler of 90 mm")
    assert words(shown, "rank") == "1 2"
    assert words(shown, "verdict") == "one two"
    assert words(shown, "rule") == "The answer."
    assert "name added_idler" in {item.name for item in shown.items}


def test_the_nearest_is_called_so() -> None:
    assert "the nearest, not a cure: " in words(scene(cures("too_tight")), "column")


def test_a_layout_with_nothing_to_cure_stands_alone() -> None:
    assert words(scene(cures("workboat")), "column") == "before"


def test_cautions_taken_away_are_shown_like_problems() -> None:
    assert words(scene(cures("railcar")), "column").startswith("before after: fit a pulley of")


def test_another_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"\.png, \.svg, \.pdf"):
        draw_cure(cures("workboat"), ("one",), ALONE, "answer", str(tmp_path / "x.gif"))
    assert list(tmp_path.iterdir()) == []

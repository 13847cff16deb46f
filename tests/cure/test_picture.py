"""The picture of a cure: before and after side by side, in the cells of a comparison."""

from beltplan.cure.report import side_by_side
from beltplan.cure.study import Cures
from beltplan.picture.cells import compare_scene
from beltplan.picture.scene import Label, Scene
from tests.cure.drives import cures


def scene(found: Cures) -> Scene:
    return compare_scene(side_by_side(found))


def words(shown: Scene, name: str) -> str:
    return " ".join(item.text for item in shown.items if isinstance(item, Label) and item.name == name)


def test_before_and_after_with_what_is_to_be_done() -> None:
    shown = scene(cures("camper"))
    assert words(shown, "column") == "before after"
    assert words(shown, "to do").startswith("Do: add a smooth idler of 90 mm")
    assert words(shown, "rank") == "1 2"
    assert words(shown, "verdict").startswith("does not work as it stands: 3 problems, 1 caution works on paper")
    assert words(shown, "answer").startswith("Cured by one change, with 2 cautions left; now a caution: slip of crank")
    assert "name added_idler" in {item.name for item in shown.items}


def test_the_nearest_is_called_so() -> None:
    shown = scene(cures("too_tight"))
    assert words(shown, "column") == "before the nearest, not a cure"
    assert words(shown, "to do").startswith("Nearest: ")


def test_a_layout_with_nothing_to_cure_stands_alone() -> None:
    shown = scene(cures("workboat"))
    assert words(shown, "column") == "before" and not words(shown, "to do")


def test_cautions_taken_away_are_shown_like_problems() -> None:
    assert words(scene(cures("railcar")), "to do").startswith("Could: fit a pulley of")

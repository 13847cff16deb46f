"""The picture of a comparison: one scale, every column and cell there, no label on another, the file the same again."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from beltplan.checks.comparison import RULE, compare
from beltplan.picture.cells import (
    CELL_PT,
    MOST_DRAWN,
    compare_scene,
    draw_side_by_side,
    grid_width,
)
from beltplan.picture.painter import picture_bytes
from beltplan.picture.scene import Label, Scene, Shape, Stroke, moved
from beltplan.report.rows import MARKS, compared
from beltplan.report.words import PICTURE_SAFETY
from tests.checks.drives import layout, pulley, two
from tests.for_each import for_each
from tests.picture.crowding import crowded
from tests.report.comparisons import SETS, made

SLACK_PT = 0.4


@cache
def pictured(name: str) -> Scene:
    return compare_scene(compared(made(name)))


def words(scene: Scene, name: str) -> str:
    """All that is written under a name, lines joined and blanks left out: long words are broken across lines."""
    return "".join("".join(item.text for item in scene.named(name) if isinstance(item, Label)).split())


def without_blanks(text: str) -> str:
    return "".join(text.split())


@for_each("name", list(SETS))
def test_no_label_lies_on_another_or_passes_the_frame(name: str) -> None:
    """Measured with the renderer's own letters."""
    scene = pictured(name)
    assert crowded(scene, SLACK_PT) == []


@for_each("name", list(SETS))
def test_every_column_has_its_rank_name_verdict_and_cells(name: str) -> None:
    scene, comparison = pictured(name), made(name)
    assert len([item for item in scene.named("rank") if isinstance(item, Shape)]) == len(comparison.columns)
    ranks = [item.text for item in scene.named("rank") if isinstance(item, Label)]
    assert ranks == [str(rank) for rank in comparison.ranks]
    shown = compared(comparison)
    assert words(scene, "column") == without_blanks("".join(shown.table.heads))
    assert words(scene, "verdict") == without_blanks("".join(shown.verdicts))
    assert words(scene, "cell") == without_blanks("".join("".join(cells) for _, cells in shown.table.rows))


@for_each("name", list(SETS))
def test_rule_caution_and_signs_are_written(name: str) -> None:
    scene = pictured(name)
    assert without_blanks(RULE) in words(scene, "rule")
    assert words(scene, "caution") == without_blanks(PICTURE_SAFETY) and words(scene, "note").startswith(
        without_blanks(MARKS)
    )


@for_each("name", list(SETS))
def test_one_key_names_every_sign_and_a_name_has_one_sign_in_all_drawings(name: str) -> None:
    scene = pictured(name)
    signs = [item.text for item in scene.named("sign") if isinstance(item, Label)]
    assert len(signs) == len(set(signs)) and not any(sign.isdigit() for sign in signs)
    drawn = {(i.name.removeprefix("name "), i.text) for i in scene.labels if i.name.startswith("name ")}
    assert len({part for part, _ in drawn}) == len(drawn) == len({sign for _, sign in drawn})
    assert {sign for _, sign in drawn} == set(signs)
    for part, sign in drawn:
        assert _key(scene, sign).split(": ")[0] == part


def _key(scene: Scene, sign: str) -> str:
    """What is written to the right of a sign in the key, on its line."""
    (mark,) = (item for item in scene.named("sign") if isinstance(item, Label) and item.text == sign)
    beside = [item for item in scene.named("legend") if isinstance(item, Label) and item.at[0] > mark.at[0]]
    level = [item for item in beside if abs(item.at[1] - mark.at[1]) < 3.0 / scene.unit_pt]
    return min(level, key=lambda item: item.at[0]).text


@for_each("name", list(SETS))
def test_all_is_drawn_at_one_scale_true_to_the_measures(name: str) -> None:
    """Radii of the rims as drawn are those of the layouts, in the scene's own mm, and so for every column alike."""
    scene = pictured(name)
    drawn: list[float] = []
    wanted: list[float] = []
    for item in scene.items:
        if isinstance(item, Shape) and (item.name.startswith("rim ") or item.name == "bare pulley"):
            (x0, y0), (x1, y1) = item.rings[0].min(axis=0), item.rings[0].max(axis=0)
            drawn.append(0.25 * float(x1 - x0 + y1 - y0))
    for column in made(name).columns:
        belt = column.layout.belt
        shown = column.layout.routed if column.judged is not None else column.layout.pulleys.values()
        wanted += [pulley.rim_radius_mm(belt) for pulley in shown]
    assert sorted(drawn) == pytest.approx(sorted(wanted), rel=2e-3)


@for_each("name", list(SETS))
def test_drawings_keep_to_their_cells(name: str) -> None:
    """Cells side by side, each as wide as the others: no span, rim or label of a drawing is in another's cell."""
    scene, count = pictured(name), len(made(name).columns)
    width = scene.size_pt[0] - 56.0
    gutter = (width - grid_width(count) * CELL_PT) / max(1, grid_width(count) - 1)
    for item in scene.items:
        if item.name.startswith(("rim ", "belt", "name ", "wrap ")):
            xs = _across(item, scene.unit_pt)
            cell = np.floor(xs * scene.unit_pt / (CELL_PT + gutter)).astype(int)
            assert cell[0] == cell[1] and (xs * scene.unit_pt - cell * (CELL_PT + gutter)).max() <= CELL_PT + 0.01


def _across(item: object, unit_pt: float) -> np.ndarray:
    if isinstance(item, Label):
        return np.array(item.box(unit_pt))[[0, 2]]
    assert isinstance(item, Shape | Stroke)
    points = item.rings[0] if isinstance(item, Shape) else item.points
    return np.array([points[:, 0].min(), points[:, 0].max()])


def test_drivers_stand_level_side_by_side() -> None:
    lower = layout(pulley("crank", "crankshaft", 70.0, -90.0), pulley("far", "alternator", 370.0, 20.0))
    comparison = compare([("a", two()), ("b", lower), ("c", two(beside=(pulley("spare", "idler", 0, 300, 60),)))])
    scene = compare_scene(compared(comparison))
    middles = [float(item.rings[0][:, 1].mean()) for item in scene.named("rim crank") if isinstance(item, Shape)]
    assert len(middles) == 3 and middles == pytest.approx([middles[0]] * 3)


def test_why_there_is_no_path_stands_under_the_bare_pulleys() -> None:
    scene = pictured("refused among")
    (fault,) = made("refused among").columns[1].refusal
    assert without_blanks(fault.got) in words(scene, "finding 1")
    assert all(len(scene.named(f"round {name}")) == 1 for name in fault.pulleys)


def test_problems_and_cautions_are_listed_under_each_drawing() -> None:
    scene = pictured("workboat")
    for column in made("workboat").columns:
        assert column.judged is not None
        for number, finding in enumerate((f for f in column.judged.findings if f.severity != "note"), 1):
            assert without_blanks(finding.message) in words(scene, f"finding {number}")


@for_each(("count", "across"), [(1, 1), (2, 2), (3, 3), (4, 2), (5, 3), (6, 3), (24, 3)])
def test_grid(count: int, across: int) -> None:
    assert grid_width(count) == across


def test_only_the_best_are_drawn_where_there_are_too_many_and_it_says_so() -> None:
    # The first six are too near each other: rims of 100 mm, centres 102 to 103 mm apart.
    named = [(f"at {i}", two(102.0 + 0.2 * i if i < 6 else 150.0 + 5.0 * i)) for i in range(MOST_DRAWN + 6)]
    comparison = compare(named)
    scene = compare_scene(compared(comparison))
    ranks = [int(item.text) for item in scene.named("rank") if isinstance(item, Label)]
    assert len(ranks) == MOST_DRAWN and max(ranks) <= MOST_DRAWN
    assert words(scene, "column") == without_blanks("".join(name for name, _ in named[6:]))
    assert without_blanks(f"the best {MOST_DRAWN} of {MOST_DRAWN + 6} are drawn") in words(scene, "rule")


def test_table_is_cut_into_blocks_that_fit_and_lose_nothing() -> None:
    table = compared(made("all")).table
    blocks = table.blocks(4)
    assert len(blocks) > 1 and [name for block in blocks for name in block.heads] == list(table.heads)
    for i, (_, cells) in enumerate(table.rows):
        assert tuple(cell for block in blocks for cell in block.rows[i][1]) == cells
    assert len(table.blocks(100)) == 1 and len(table.blocks(1)) == len(table.heads)


def test_moved_things_are_the_same_elsewhere() -> None:
    scene = pictured("one")
    for before, after in zip(scene.items, moved(scene.items, 3.0, -2.0), strict=True):
        assert type(before) is type(after) and before.name == after.name
        assert _across(after, scene.unit_pt) == pytest.approx(_across(before, scene.unit_pt) + 3.0)


def test_same_comparison_gives_the_same_file(tmp_path: Path) -> None:
    """Of every kind of file the painter's own test tells it."""
    ending = "svg"
    first, second = (picture_bytes(compare_scene(compared(made("ties"))), ending) for _ in range(2))
    assert first == second
    draw_side_by_side(compared(made("ties")), str(tmp_path / f"a.{ending}"))
    assert (tmp_path / f"a.{ending}").read_bytes() == first


def test_another_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"\.png, \.svg, \.pdf"):
        draw_side_by_side(compared(made("ties")), str(tmp_path / "a.gif"))
    assert list(tmp_path.iterdir()) == []

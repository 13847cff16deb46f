"""The picture of a comparison: one scale, every column and cell there, no label on another, the file the same again."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon

from beltplan.checks.comparison import ORDER, compare
from beltplan.picture.cells import ACROSS, GUTTER_PT, MOST_COLUMNS, MOST_DRAWN, compare_scene
from beltplan.picture.painter import paint
from beltplan.picture.pens import CHANGED, METAL
from beltplan.picture.scene import Label, Scene, Shape, View, seen
from beltplan.report.answer import in_units_of
from beltplan.report.rows import MARKS, compared
from beltplan.report.words import PICTURE_SAFETY
from tests.checks.drives import layout, pulley, two
from tests.for_each import for_each
from tests.picture.crowding import crowded
from tests.picture.in_mm import in_mm
from tests.report.comparisons import SETS, made

SLACK_PT = 0.4


@cache
def pictured(name: str) -> Scene:
    return compare_scene(compared(made(name)), len(made(name).columns))


def words(scene: Scene, name: str) -> str:
    """All that is written under a name, lines joined and blanks left out: long words are broken across lines."""
    return "".join("".join(item.text for item in scene.named(name) if isinstance(item, Label)).split())


def without_blanks(text: str) -> str:
    return "".join(text.split())


@for_each(*SETS)
def test_no_label_lies_on_another_or_passes_the_frame(name: str) -> None:
    """Measured with the renderer's own letters."""
    scene = pictured(name)
    assert crowded(scene, SLACK_PT) == []


@for_each(*SETS)
def test_every_column_has_its_rank_name_verdict_and_cells(name: str) -> None:
    scene, comparison = pictured(name), made(name)
    assert len([item for item in scene.named("rank") if isinstance(item, Shape)]) == len(comparison.columns)
    ranks = [item.text for item in scene.named("rank") if isinstance(item, Label)]
    assert ranks == [str(rank) for rank in comparison.ranks]
    shown = compared(comparison)
    assert words(scene, "column") == without_blanks("".join(shown.table.heads))
    assert words(scene, "verdict") == without_blanks("".join(shown.verdicts))
    tables = shown.table.blocks(MOST_COLUMNS)
    told = "".join("".join(cells) for table in tables for _, cells in table.rows)
    assert words(scene, "cell") == without_blanks(told)


@for_each(*SETS)
def test_rule_caution_and_signs_are_written(name: str) -> None:
    scene = pictured(name)
    assert without_blanks(f"Ranked by {ORDER}.") in words(scene, "note")
    assert words(scene, "caution") == without_blanks(PICTURE_SAFETY)
    assert words(scene, "note").startswith(without_blanks(MARKS))


@for_each(*SETS)
def test_the_answer_stands_on_top_in_bold(name: str) -> None:
    """The best is the one of the least rank."""
    scene, comparison = pictured(name), made(name)
    best = comparison.columns[comparison.ranks.index(min(comparison.ranks))]
    answer = [label for label in scene.labels if label.name == "answer"]
    assert all(label.bold for label in answer)
    assert words(scene, "answer").startswith(without_blanks(f"Best: {best.name}. It"))
    assert max(label.at[1] for label in answer) > max(label.at[1] for label in scene.labels if label.name == "legend")


@for_each(*SETS)
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
    level = [item for item in beside if abs(item.at[1] - mark.at[1]) < 3.0]
    return min(level, key=lambda item: item.at[0]).text


@for_each(*SETS)
def test_all_is_drawn_at_one_scale_true_to_the_measures(name: str) -> None:
    """Radii of the rims as drawn are those of the layouts, in the scene's own mm, and so for every column alike."""
    scene = in_mm(pictured(name))
    drawn: list[float] = []
    wanted: list[float] = []
    for item in scene.items:
        if isinstance(item, Shape) and (item.name.startswith("rim ") or item.name == "bare pulley"):
            (x0, y0), (x1, y1) = item.rings[0].min(axis=0), item.rings[0].max(axis=0)
            drawn.append(0.25 * float(x1 - x0 + y1 - y0))
    for column in made(name).columns:
        belt = column.layout.belt
        shown = column.layout.routed if column.plan is not None else column.layout.pulleys.values()
        wanted += [pulley.rim_radius_mm(belt) for pulley in shown]
    assert sorted(drawn) == pytest.approx(sorted(wanted), rel=2e-3)


@for_each(*SETS)
def test_how_much_thicker_belts_are_drawn_is_told_once_for_each_kind(name: str) -> None:
    """Read off the picture: the band between the two edges of each belt, over the thickness of its profile."""
    scene = in_mm(pictured(name))
    edges = [Polygon(item.rings[0]) for item in scene.named("belt edge") if isinstance(item, Shape)]
    belts = [column.layout.belt.profile for column in made(name).columns if column.plan is not None]
    drawn: dict[str, list[float]] = {}
    for outer, inner, belt in zip(edges[::2], edges[1::2], belts, strict=True):
        times = outer.hausdorff_distance(inner) / belt.thickness_mm
        drawn.setdefault("ribbed" if belt.is_ribbed else "V", []).append(times)
    told = [i.text for i in scene.named("legend") if isinstance(i, Label) and "side dark" in i.text]
    both = {kind: dict.fromkeys((f"{min(every):.2g}", f"{max(every):.2g}")) for kind, every in drawn.items()}
    wanted = {
        f"{kind} side dark, back light; drawn {' to '.join(times)} times thicker than it is"
        for kind, times in both.items()
    }
    assert len(told) == len(wanted) and set(told) == wanted


@for_each(*SETS)
def test_drawings_keep_to_their_cells(name: str) -> None:
    """Cells side by side, each as wide as the others: no span, rim or label of a drawing is in another's cell."""
    scene, count = pictured(name), len(made(name).columns)
    width = scene.size_pt[0] - 56.0
    cell_pt = (width + GUTTER_PT) / min(count, ACROSS)
    for item in scene.items:
        if item.name.startswith(("rim ", "belt", "name ", "wrap ")):
            left, _, right, _ = item.box
            cell = left // cell_pt
            assert cell * cell_pt - 0.01 <= left and right <= (cell + 1) * cell_pt - GUTTER_PT + 0.01, item.name


@for_each(*SETS)
def test_a_page_is_no_wider_for_many_drawings(name: str) -> None:
    """800 points: at 800 pixels a point is a pixel."""
    assert pictured(name).size_pt[0] == pytest.approx(800.0)


@for_each(*SETS)
def test_numbers_run_from_1_under_each_drawing_and_on_in_what_all_have(name: str) -> None:
    """None stands before a lower one, and none is left out but cautions beside problems, of more than ten findings in
    one drawing; what every drawing has is listed once, by one number.
    """
    numbers = [int(label.text) for label in pictured(name).labels if label.name.startswith("list ")]
    lists = [list(run) for run in np.split(np.array(numbers), np.flatnonzero(np.diff(numbers) != 1) + 1)]
    comparison = made(name)
    severities = [[f.severity for f in each.plan.findings] for each in comparison.columns if each.plan is not None]
    few = all("problem" in each for each in severities) and any(
        each.count("problem") + each.count("caution") > 10 for each in severities
    )
    told = ("problem",) if few else ("problem", "caution")
    own = [
        len(each.refusal) + sum(finding.severity in told for finding in comparison.own(each))
        for each in comparison.columns
    ]
    shared = sum(finding.severity in told for finding in comparison.shared)
    assert ("problemsalonearenumbered" in words(pictured(name), "note")) == few == (name == "slack")
    assert len(numbers) == sum(own) + shared
    assert all(run[0] in (1, max(own) + 1) for run in lists if run)


def test_what_differs_from_the_first_is_filled_and_its_place_before_is_a_ghost() -> None:
    """The second drive has its far pulley 60 mm further right; rims of 100 mm."""
    scene = in_mm(compare_scene(compared(compare([("a", two(150.0)), ("b", two(210.0))]))))
    fills = [item.fill for item in scene.items if isinstance(item, Shape) and item.name == "rim far"]
    first, second = [item for item in scene.items if isinstance(item, Shape) and item.name == "rim far"]
    assert fills == [METAL, CHANGED]
    (ghost,) = (item for item in scene.named("before") if isinstance(item, Shape))
    assert second.rings[0].mean(axis=0)[0] - ghost.rings[0].mean(axis=0)[0] == pytest.approx(60.0, abs=1e-6)
    assert np.ptp(ghost.rings[0], axis=0) == pytest.approx(np.ptp(first.rings[0], axis=0))


def test_drivers_stand_level_side_by_side() -> None:
    lower = layout(pulley("crank", "crankshaft", 70.0, -90.0), pulley("far", "alternator", 370.0, 20.0))
    comparison = compare([("a", two()), ("b", lower), ("c", two(beside=(pulley("spare", "idler", 0, 300, 60),)))])
    scene = compare_scene(compared(comparison))
    middles = [float(item.rings[0][:, 1].mean()) for item in scene.named("rim crank") if isinstance(item, Shape)]
    assert len(middles) == 3 and middles[0] == pytest.approx(middles[1])


def test_why_there_is_no_path_stands_under_the_bare_pulleys() -> None:
    scene = pictured("refused among")
    (fault,) = made("refused among").columns[1].refusal
    names = {label.name for label in scene.labels if label.name.startswith("finding ")}
    assert any(without_blanks(fault.got) in words(scene, name) for name in names)
    assert all(len(scene.named(f"round {name}")) == 1 for name in fault.pulleys)


def test_problems_and_cautions_are_listed_under_each_drawing() -> None:
    scene = pictured("workboat")
    names = {label.name for label in scene.labels if label.name.startswith("finding ")}
    told = "".join(words(scene, name) for name in sorted(names)) + words(scene, "advice")
    for column in made("workboat").columns:
        assert column.plan is not None
        for finding in (f for f in in_units_of(column.layout, column.plan.findings) if f.severity != "note"):
            assert without_blanks(finding.about) in told
            assert without_blanks(finding.advice[1:].replace("`", "'")) in told  # alone it begins a sentence


def test_only_the_best_are_drawn_where_there_are_too_many_and_it_says_so() -> None:
    # The first six are too near each other: rims of 100 mm, centres 102 to 103 mm apart.
    named = [(f"at {i}", two(102.0 + 0.2 * i if i < 6 else 150.0 + 5.0 * i)) for i in range(MOST_DRAWN + 6)]
    comparison = compare(named)
    scene = compare_scene(compared(comparison))
    ranks = [int(item.text) for item in scene.named("rank") if isinstance(item, Label)]
    assert len(ranks) == MOST_DRAWN and max(ranks) <= MOST_DRAWN
    assert words(scene, "column") == without_blanks("".join(name for name, _ in named[6:]))
    assert without_blanks(f"the best {MOST_DRAWN} of {MOST_DRAWN + 6} are drawn") in words(scene, "answer")


def test_table_is_cut_into_blocks_that_fit_and_lose_nothing() -> None:
    table = compared(made("all")).table
    blocks = table.blocks(4)
    assert len(blocks) > 1 and [name for block in blocks for name in block.heads] == list(table.heads)
    for i, (_, cells) in enumerate(table.rows):
        assert tuple(cell for block in blocks for cell in block.rows[i][1]) == cells
    assert len(table.blocks(100)) == 1 and len(table.blocks(1)) == len(table.heads)


def test_things_seen_elsewhere_are_the_same_there() -> None:
    scene = pictured("one")
    for before, after in zip(scene.items, seen(scene.items, View(2.0, (3.0, -2.0))), strict=True):
        assert type(before) is type(after) and before.name == after.name
        if not isinstance(before, Label):
            assert after.box == pytest.approx(2.0 * np.array(before.box) + (3.0, -2.0, 3.0, -2.0))


def test_another_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"\.png, \.svg, \.pdf"):
        paint(compare_scene(compared(made("ties"))), str(tmp_path / "a.gif"))
    assert list(tmp_path.iterdir()) == []

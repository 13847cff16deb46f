"""Maps made by hand, place by place: what is counted, shaded, lined and written of them. References are plain loops."""

import csv
import json
import math
from collections.abc import Sequence
from dataclasses import fields, replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from beltplan.checks.plan import plan_of
from beltplan.drive.fit import UNLISTED
from beltplan.drive.mounts import Mark
from beltplan.geometry.vectors import Floats
from beltplan.judging.judge import Verdicts, freed_of
from beltplan.judging.stages import STATES, JudgedPlaces, Place, judged_places
from beltplan.picture.scene import Stroke, View
from beltplan.place.advice import Advice, Proof, proof_of
from beltplan.place.pair import PairSearch
from beltplan.place.picture import Shown, layers_of, place_scene
from beltplan.place.report import place_answers, place_json, place_report
from beltplan.place.study import MARGIN_STEPS, Grid, PlaceMap, Shaded, grid_of, place_map
from beltplan.place.table import place_csv
from beltplan.report.screen import Table, told_columns
from tests.for_each import for_each
from tests.place.drives import shipped

LAYOUT = shipped("railcar")
NAMES = ("alternator", "water_pump")
FREED = freed_of(LAYOUT, ("alternator",), ())


def made(grid: Grid, states: Sequence[str], failing: Sequence[str] = (), **values: Any) -> PlaceMap:
    """A map of the alternator. states: of every place of the grid, then of the present one; failing: of the first."""
    count = len(states)
    assert count == grid.count + 1
    given = {"index": np.arange(count), "belt": np.zeros(count, dtype=int), **values}
    given |= {name: np.full(count, "", dtype=object) for name in ("worst", "own_worst")}
    given |= {"failing": np.array([*failing, *[""] * (count - len(failing))], dtype=object)}
    given |= {"standing": (), "wrap_rad": np.zeros((count, len(FREED.pulleys)))}
    way = Verdicts(*(given.get(own.name, np.zeros(count)) for own in fields(Verdicts)))
    numbers = np.array([STATES.index(state) for state in states], dtype=np.uint8)
    present = LAYOUT.pulleys["alternator"].at_mm
    places = np.concatenate((grid.points(), [present or (0.0, 0.0)]))[:, None]
    judged = JudgedPlaces(("alternator",), places, numbers, (LAYOUT.belt,), ((FREED, way),), ())
    return PlaceMap(LAYOUT, "alternator", grid, judged)


def row_of(count: int) -> Grid:
    return Grid((0.0, 0.0), (count - 1.0, 0.0), 1.0)


@for_each(
    (["no path"], [], "of 1 places 1 has no belt path; none is free of problems"),
    (["no path"] * 2 + ["no belt fits"], [], "2 have no belt path; 1 has no belt on the list that fits; none"),
    (["caution"], [], "of 1 places 1 has no problem, but a caution"),
    (["caution"] * 2, [], "of 2 places 2 have no problem, but each a caution"),
    (["sound"], [], "of 1 places 1 has no problem and no caution"),
    (["caution", "caution", "sound"], ["b", "a"],
     "3 have no problem; 1 of these has no caution, the other 2 a caution (b 1; a 1)"),
    (["caution"] * 5, ["b", "a", "b", "b", "a"], "5 have no problem, but each a caution (b 3; a 2)"),
    (["sound", "caution", "sound"], [], "3 have no problem; 2 of these have no caution, the other 1 a caution"),
    (["problem", "sound"], ["wrap of a"],
     "1 has a problem (by the worst of each: wrap of a 1); 1 has no problem and no caution"),
    (["problem"] * 3, ["b", "a", "b"], "3 have a problem (by the worst of each: b 2; a 1); none is free of problems"),
    (["problem"] * 9, ["a", "a", "a", "b", "b", "c", "d", "e", "f"],
     "9 have a problem (by the worst of each: a 3; b 2; c 1; d 1; others 2); none is free of problems"),
    (["problem"] * 4, ["a", "b", "c", "d"], "a 1; b 1; c 1; d 1); none is free of problems"),
)  # fmt: skip
def test_why_not_elsewhere_is_counted(states: list[str], failing: list[str], words: str) -> None:
    found = made(row_of(len(states)), [*states, "no path"], failing)
    assert words in dict(place_answers(found, Advice(3.0, None, None)))["WHY NOT"]
    assert found.counts == {state: states.count(state) for state in STATES}
    each = list(zip(states, failing, strict=False))
    for state, told in (("problem", found.failing), ("caution", found.cautioned)):
        assert told == {cause: each.count((state, cause)) for own, cause in each if own == state}


def test_where_the_file_names_one_belt_no_list_is_blamed() -> None:
    found = made(row_of(2), ["no belt fits", "caution", "no path"])
    named = replace(found, layout=replace(LAYOUT, belt=replace(LAYOUT.belt, length_mm=1800.0)))
    told = dict(place_answers(named, Advice(3.0, None, None)))["WHY NOT"]
    assert "1 has a path that 8PK1800 does not fit; 1 has no problem" in told and "list" not in told


def test_equal_margins_are_ranked_by_room_and_then_by_the_move() -> None:
    """Against places sorted one by one; only what is told decides: tenths of a percent, and of a mm."""
    rng = np.random.default_rng(8)
    grid = Grid((200.0, 260.0), (290.0, 350.0), 10.0)

    def drawn(*values: float) -> Floats:
        return rng.choice(values, grid.count + 1)

    gaps = {name: drawn(9.02, 16.2, 16.2, 16.23) for name in ("clearance_mm", "span_gap_mm", "rim_gap_mm")}
    values: dict[str, Any] = {
        "margin": drawn(0.2, 0.2004),
        "own_margin": drawn(0.3, 0.3003, 0.4),
        "belt": drawn(0, 0, UNLISTED),
    }
    states = rng.choice(["caution", "sound"], grid.count + 1).tolist()
    found = made(grid, states, **{**values, **gaps})

    def key(number: int) -> tuple[float | bool, ...]:
        at = found.judged.place(number)
        moved = math.dist(at.at_mm[0], found.present.at_mm[0])
        assert at.room_mm is not None and at.margin is not None and at.own_margin is not None
        shares = (-round(at.margin, 3), -round(at.own_margin, 3))
        return (at.verdict != "sound", at.belt is None, *shares, -round(at.room_mm, 1), round(moved, 6))

    order = found.working().tolist()
    keys = [key(number) for number in order]
    assert keys == sorted(map(key, range(grid.count))) and len({each[:5] for each in keys}) == 2 * 2 * 2 * 2
    assert {each[4] for each in keys} == {-9.0, -16.2}
    assert Place(((0.0, 0.0),), "no path").room_mm is None


def test_margins_are_shaded_by_the_steps_they_reach() -> None:
    """A step itself is reached; a place with a problem has no shade, whatever its margin."""
    margins = [-0.5, 0.0, math.nan, *(step + off for step in MARGIN_STEPS for off in (-1e-9, 0.0, 1e-9)), 9.0]
    shaded = Shaded.of(row_of(len(margins)), np.array([True] * len(margins)), np.array(margins))
    reached = [sum((0.0 if math.isnan(margin) else margin) >= step for step in MARGIN_STEPS) for margin in margins]
    assert shaded.classes.tolist() == reached
    assert (Shaded.of(shaded.grid, np.array([False] * len(margins)), np.array(margins)).classes == -1).all()


def test_cells_reach_half_a_step_round_their_places_and_no_farther_than_what_is_good() -> None:
    rng = np.random.default_rng(4)
    for _ in range(60):
        rows, columns = rng.integers(1, 7, 2).tolist()
        step = float(rng.uniform(0.5, 9.0))
        low = tuple(rng.uniform(-50.0, 50.0, 2).tolist())
        grid = Grid((low[0], low[1]), (low[0] + (columns - 1) * step, low[1] + (rows - 1) * step), step)
        classes = np.where(rng.random((rows, columns)) < 0.2, rng.integers(0, 5, (rows, columns)), -1)
        shaded = Shaded(grid, classes)
        high = low[0] + (columns - 0.5) * step, low[1] + (rows - 0.5) * step
        assert shaded.box == pytest.approx((low[0] - 0.5 * step, low[1] - 0.5 * step, *high))
        good = [(row, column) for row in range(rows) for column in range(columns) if classes[row, column] >= 0]
        reached = shaded.reached
        if not good or reached is None:
            assert not good and reached is None
            continue
        (top, right), (bottom, left) = (
            (pick(row for row, _ in good), pick(column for _, column in good)) for pick in (max, min)
        )
        at = [low[0] + (left - 0.5) * step, low[1] + (bottom - 0.5) * step]
        at += [low[0] + (right + 0.5) * step, low[1] + (top + 0.5) * step]
        assert reached.box == pytest.approx(tuple(at))
        np.testing.assert_array_equal(reached.classes, classes[bottom : top + 1, left : right + 1])


@for_each(
    (3.0, 1), (5.9, 1), (6.4, 2), (11.9, 2), (12.4, 5), (29.0, 5), (31.0, 10), (61.0, 20), (119.0, 20), (121.0, 25),
     (151.0, 50), (301.0, 100), (601.0, 200), (1201.0, 250), (1501.0, 500), (3001.0, 1000),
)  # fmt: skip
def test_lines_of_equal_length_are_few_and_round(monkeypatch: pytest.MonkeyPatch, across: float, step: int) -> None:
    """The finest of the round steps of which no more than six go into all lengths: our own choice. Where a line lies is
    not asked here: each is as long as the grid."""
    line = np.array([(0.0, 0.0), (100.0, 0.0)])
    monkeypatch.setattr("beltplan.place.picture.contour_chains", lambda x, y, values, level: [line])
    grid = row_of(11)
    length = 1500.3 + across * np.arange(grid.count) / (grid.count - 1)
    values = {"shortest_mm": np.append(length - 20.0, 0.0), "longest_mm": np.append(length + 20.0, 0.0)}
    found = made(grid, ["sound"] * grid.count + ["no path"], (), **values)
    items = layers_of(found, (0.0, 0.0, 100.0, 50.0), View(1.0)).items
    told = {item.name: item for item in items if isinstance(item, Stroke) and item.name.startswith("length ")}
    wanted = [level for level in range(0, 6000, step) if 1500.3 <= level <= 1500.3 + across]
    assert set(told) == {f"length {level} mm" for level in wanted}


def test_every_cell_of_the_table_is_told_of_its_place() -> None:
    """By `place_of` for each place alone; mm, % and deg to a tenth, shares to a thousandth, nothing where unknown."""
    x, y = LAYOUT.pulleys["guide"].at_mm or (0.0, 0.0)
    found = place_map(LAYOUT, "guide", grid_of((x - 75.0, y - 75.0), (x + 75.0, y + 75.0), 25.0, None))
    rows = list(csv.DictReader(b"".join(place_csv(found)).decode().splitlines()))
    assert len(rows) == found.grid.count
    same = {"reserve_mm": 1.0, "clearance_mm": 1.0, "rim_gap_mm": 1.0, "take_up_percent": 1.0}
    known = 0
    for number, row in enumerate(rows):
        at = found.judged.place(number)
        assert (row["verdict"], row["belt"]) == (at.verdict, at.belt or "")
        told = {key: (getattr(at, key), factor) for key, factor in same.items()}
        told |= {"adjuster_percent": (at.position, 100.0), "strand_gap_mm": (at.span_gap_mm, 1.0)}
        told |= {"margin_percent": (at.margin, 100.0), "own_margin_percent": (at.own_margin, 100.0)}
        if at.belt is None:
            continue
        known += 1
        for key, (value, factor) in told.items():
            assert (row[key] == "") == (value is None)
            assert value is None or float(row[key]) == pytest.approx(factor * value, abs=0.0501), key
            assert value is None or len(row[key].partition(".")[2]) == 1
        assert (row["slip_use_wet"] == "") == (at.slip_wet is None)
        if at.slip_wet is not None:
            assert float(row["slip_use_wet"]) == pytest.approx(at.slip_wet, abs=0.000501)
            assert len(row["slip_use_wet"].partition(".")[2]) == 3
        assert math.dist((float(row["x_mm"]), float(row["y_mm"])), at.at_mm[0]) < 1e-4
    assert known > 20


# Two pulleys.


@cache
def _proofs() -> tuple[Proof, Proof]:
    """Two pairs of places checked in full: the present one, and one beside it."""
    at = [LAYOUT.pulleys[name].at_mm or (0.0, 0.0) for name in NAMES]
    found: list[Proof] = []
    for off in (0.0, 6.0):
        there = tuple((x + off, y) for x, y in at)
        places = np.array([[list(each) for each in there]])
        proof = proof_of(LAYOUT, NAMES, judged_places(LAYOUT, NAMES, places).place(0))
        assert proof is not None
        found.append(proof)
    return found[0], found[1]


def _pairs(foremost: Sequence[Proof], now: Proof | None) -> PairSearch:
    present, _ = _proofs()
    shaded = Shaded(row_of(1), np.array([[0]]))
    counts = dict.fromkeys(STATES, 0) | {"sound": 3, "problem": 1}
    return PairSearch(LAYOUT, NAMES, (0.0, 0.0), (1.0, 1.0), 4, counts, present.place, now, tuple(foremost), (), shaded)


@for_each(((), None), ((0,), True), ((1,), False), ((0, 1), True), ((1, 0), False))
def test_a_pair_is_to_stay_where_none_is_better(best: tuple[int, ...], stays: bool | None) -> None:
    now, other = _proofs()
    found = _pairs([(now, other)[i] for i in best], now)
    (lead, words), *rest = place_answers(found, found.advice)
    assert lead == "BEST" and words.startswith("none: every pair tried has a problem") == (stays is None)
    assert (words == "stay where you are: no pair that was found is better") == (stays is True)
    assert stays is not False or words.startswith("alternator x ")
    told = dict(rest)
    assert told["NOW"].startswith("alternator x ") and told["WHY NOT"].startswith(
        "of 4 pairs tried 1 has a problem; 3 have no problem and no caution"
    )
    assert ("MARGIN" in told) == (stays is not None) and ("; now " in told.get("MARGIN", "")) == (stays is False)


@for_each(((1, 0), True), ((0, 1), False), ((), False))
def test_a_pair_found_round_the_present_one_is_told_as_such(best: tuple[int, ...], near: bool) -> None:
    """Of those drawn anywhere none is free of problems: where the best comes from is said beside that."""
    both = _proofs()
    found = replace(_pairs([both[i] for i in best], both[0]), counts=dict.fromkeys(STATES, 0) | {"problem": 4})
    told = dict(place_answers(found, found.advice))["WHY NOT"]
    assert "none is free of problems" in told and ("BEST was found by looking closer round" in told) == near


def test_a_pair_that_comes_to_stand_over_a_mark_says_so() -> None:
    """Moved right by 6 mm, the alternator's rim reaches over a stud that stood 3 mm beside it."""
    now, other = _proofs()
    (x, y), *_ = now.place.at_mm
    rim_mm = LAYOUT.pulleys[NAMES[0]].rim_radius_mm(LAYOUT.belt)
    marks = (Mark("stud", (x + rim_mm + 3.0, y)), Mark("dowel", (x + rim_mm + 9.0, y)))
    plan = plan_of(replace(other.plan.layout, marks=marks))
    found = replace(_pairs((replace(other, plan=plan), now), now), layout=replace(LAYOUT, marks=marks))
    told = [words for _, words in place_answers(found, found.advice)]
    assert [words.split(":")[0] for words in told if "the mark" in words] == [f"{NAMES[0]} covers the mark stud"]


def test_what_is_told_of_pairs_is_of_the_search() -> None:
    now, other = _proofs()
    found, none = _pairs((other, now), now), _pairs((), now)
    told = json.loads(place_json(found, found.advice))
    first, second = told["foremost"]
    assert first.items() <= told["best"].items() and first != second
    assert set(told["best"]) - set(first) == {"stays_without_problem_mm", "stays_without_caution_mm"}
    assert told["bounds_mm"] == {"x": [0.0, 1.0], "y": [0.0, 1.0]} and told["draws"] == 4
    assert [tuple(at) for at in told["best"]["at_mm"].values()] == [pytest.approx(at) for at in other.place.at_mm]
    assert json.loads(place_json(none, none.advice))["best"] is None


def test_the_table_of_pairs_tells_both_places_to_a_tenth() -> None:
    now, other = _proofs()
    found = _pairs((other, now), now)
    report = place_report(found, found.advice, full=True)
    (table,) = [block for block in report.blocks if isinstance(block, Table)]
    rows = list(zip(*(cells for _, cells in told_columns(table, "mm")), strict=True))[1:]
    for row, proof in zip(rows, (other, now), strict=True):
        assert list(row[:4]) == [f"{mm:.1f}" for at in proof.place.at_mm for mm in at]
        assert row[4] == proof.place.belt and row[-1] == str(proof.plan.count("caution"))
        shares = (proof.place.own_margin or 0.0, proof.place.margin or 0.0)
        assert row[5:7] == tuple(f"{100.0 * share:.1f} %" for share in shares)


# The legend of a picture.

STEPS = ("short of it, a caution", "under 2 %", "2 % to 5 %", "5 % to 10 %", "10 % to 20 %", "20 % or more")


@for_each(
    (["sound"] * 12, [0.0] * 12, True),
    (["caution"] * 6 + ["sound"] * 6, [0.02] * 6 + [0.3] * 6, False),
    (["caution"] * 12, [0.07, 0.15] * 6, True),
    (["caution"] * 12, [-0.03, 0.01] * 6, False),
    (["problem"] * 12, [0.5] * 12, False),
    (["no path"] * 4 + ["problem"] * 4 + ["caution"] * 4, [0.5] * 8 + [0.1] * 4, False),
)
def test_the_legend_tells_just_what_is_drawn(states: list[str], margins: list[float], best: bool) -> None:
    x, y = LAYOUT.pulleys["alternator"].at_mm or (0.0, 0.0)
    failing = ["wrap of crank" if state == "problem" else "" for state in states]
    values = {"own_margin": np.array([*margins, 0.0])}
    found = made(Grid((x, y), (x + 60.0, y + 40.0), 20.0), [*states, "sound"], failing, **values)
    here, proof = plan_of(LAYOUT), _proofs()[0]
    scene = place_scene(Shown(found, here, ("Title", "Words"), proof if best else None))
    text = " | ".join(item.text for item in scene.labels)
    drawn = {getattr(item, "name", "") for item in scene.items}
    good = [margin for state, margin in zip(states, margins, strict=True) if state in ("caution", "sound")]
    reached = {sum(margin >= step for step in MARGIN_STEPS) for margin in good}
    assert {words for words in STEPS if words in text} == {STEPS[number] for number in reached}
    assert ("Tightest margin that a move changes" in text) == bool(good)
    assert ("edge of the places without a problem" in text) == ("no problem" in drawn) == bool(good)
    assert ("edge of the places without a caution" in text) == ("no caution" in drawn) == ("sound" in states)
    assert ("belt and pulleys at the best place" in text) == ("best belt" in drawn) == best
    assert ("mark best" in drawn) == best and "mark now" in drawn
    assert ("A problem, the worst by:" in text) == ("wrap of crank" in text) == ("problem" in states)

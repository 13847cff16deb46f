"""The tolerance study in words: the answer first, safety last, nothing over the width, lengths in the file's unit."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from beltplan.checks.every_check import CALLED
from beltplan.checks.limits import all_of, problems_of
from beltplan.checks.plan import plan_of
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import CrankSwing, Layout
from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.screen import Column, Report, Screen, Table, shown
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from beltplan.tolerance.report import answers, tolerance_json, tolerance_report
from beltplan.tolerance.study import Tolerance, tolerance_of
from tests.drive.drives import railcar, with_belt, with_pulley
from tests.for_each import for_each
from tests.tolerance.drives import DRIVES, LAYOUTS, NO_ERRORS, shipped, two_fixed


def study(layout: Layout) -> Tolerance:
    return tolerance_of(route_of(layout), 500, 7)


def tolerance_text(found: Tolerance, full: bool = True, width: int = 100) -> str:
    return shown(tolerance_report(found, full), Screen(width))


@cache
def made(name: str) -> Tolerance:
    return study(shipped("too_tight") if name == "too tight" else DRIVES[name]())


@pytest.mark.parametrize("width", [72, 100])
@pytest.mark.parametrize("name", [*DRIVES, "too tight"])
def test_no_line_is_over_the_width_and_safety_stands_last(name: str, width: int) -> None:
    for full, last in ((True, SAFETY), (False, SAFETY_IN_SHORT)):
        text = tolerance_text(made(name), full, width)
        assert max(len(line) for line in text.splitlines()) <= width
        assert " ".join(text.split()).endswith("SAFETY " + last)


@for_each(*DRIVES)
def test_in_short_it_is_a_screen(name: str) -> None:
    text = tolerance_text(made(name), full=False)
    assert len(text.splitlines()) <= 40 and "HOW" not in text and "HOW" in tolerance_text(made(name))


def test_a_file_in_inches_is_answered_in_inches() -> None:
    """1 mm is 0.0394 in: the usual standard deviation of a place read by tape."""
    text = tolerance_text(made("workboat"))
    assert "std. dev., in" in text and "0.04 in for each x, y and length" in " ".join(text.split())
    assert "6PK1840 (72.44 in)" in text
    assert "std. dev. mm" in tolerance_text(made("railcar"))


def test_draws_without_a_path_or_with_part_of_the_travel_are_told() -> None:
    wild = study(replace(railcar(), uncertainty=Uncertainty(40.0, 10.0, 20.0)))
    text = tolerance_text(wild, full=False)
    assert wild.no_path > 0.0 and wild.cut > 0.0
    assert "\nPATH     " in text and "of draws no belt can be laid" in text and "\nTRAVEL   in " in text
    assert "PATH  " not in tolerance_text(made("railcar"))


@for_each(*DRIVES)
def test_the_answer_stands_first(name: str) -> None:
    found = made(name)
    assert found.best is not None
    lines = tolerance_text(found).splitlines()
    assert lines[1].startswith("DOES NOT WORK   " if found.plan.count("problem") else "WORKS ON PAPER   ")
    waits = "nothing yet, for a mend may change the length; as it stands " if found.plan.count("problem") else ""
    assert " ".join(" ".join(lines[2:4]).split()).startswith(f"BUY {waits}{found.best.designation} (")
    measure = [line for line in lines if line.startswith("MEASURE")]
    first = found.contributions[0].measurement
    how = {"x": " (how far to the side it stands)", "y": " (how high it stands)"}.get(first.part, "")
    again = f"{first.words}{how} again"
    often = any((wrap.under or 0.0) >= 0.2 for wrap in found.wraps)
    lost = "no measuring helps: in over 99 % of draws the wrap"
    layout_first = any("Change the layout before you measure" in line for line in lines)
    assert layout_first == (often and not found.lost)
    # Nobody is sent to measure in the same breath.
    assert [line[:40] for line in measure] == (
        [] if layout_first else [f"MEASURE  {lost if found.lost else again}"[:40]]
    )
    assert bool(found.lost) == any((wrap.under or 0.0) > 0.99 for wrap in found.wraps)


def test_where_no_belt_has_a_chance() -> None:
    assert (
        tolerance_text(made("too tight"))
        .splitlines()[2]
        .startswith("BUY      none; no belt on the list can be fitted in any draw")
    )


def test_seed_draws_and_what_the_numbers_mean_are_told() -> None:
    found = made("railcar")
    words = " ".join(tolerance_text(found).split())
    assert "500 draws, seed 7: the same seed gives the same answer" in words
    assert "one standard deviation each" in words
    assert "1 mm for each x, y and length (common practice, no source)" in words
    assert "every length in it as likely as any other" in words


def test_given_uncertainty_is_called_given() -> None:
    words = " ".join(tolerance_text(study(replace(railcar(), uncertainty=Uncertainty(position_mm=2.5)))).split())
    assert "2.5 mm for each x, y and length (given)" in words
    assert "0.2 mm for each diameter (common practice, no source)" in words


def test_a_named_belt_is_told_beside_the_better_one() -> None:
    found = study(with_belt(railcar(), length_mm=1700.0))
    words = " ".join(tolerance_text(found).split())
    assert found.best is not None and found.best.designation != "6PK1700"
    assert f"BUY {found.best.designation} (" in words and "; with 6PK1700, named in the file, " in words
    assert "where 6PK1700 (named in the file) puts the tensioner" in words
    # What it says to write makes `check` take the belt that it says to buy, and then nothing more is to be written.
    write = f"Write `belt: {found.best.designation}`, and `check` and `fit` go by it"
    followed = study(replace(found.route.layout, belt=parse_designation(found.best.designation)))
    assert write in words and followed.route.designation == found.best.designation and followed.best == found.best
    assert "Write `belt" not in dict(answers(followed))["BUY"]


def test_another_belt_than_that_of_check_is_told_in_the_first_words() -> None:
    found = made("railcar")
    usual = found.chosen
    assert usual is not None and found.route.layout.belt.length_mm is None
    best = replace(usual, belt=replace(usual.belt, length_mm=1239.0), inside=1.0, with_reserve=1.0, wrapped=1.0)
    other = replace(found, nearest=best, belts=(best, usual))
    buy = dict(answers(other))["BUY"]
    assert buy.startswith("6PK1239 (48.78 in): 100 % chance that it can be fitted")
    assert f"; with {usual.designation}, which `check` and `fit` choose, " in buy
    told = json.loads(tolerance_json(other))
    assert (told["buy"], told["chosen"]) == ("6PK1239", usual.designation)


@for_each(
    (1.0, "8PK1750", "caution, lower_idler to crank: slack as the engine fires"),
    (1.1, "8PK1750", "caution, crank: slip as the engine fires"),
    (1.25, "8PK1745", "problem, lower_idler to crank: slack as the engine fires"),
    (1.3, "8PK1745", "problem, lower_idler to crank: slack as the engine fires (and 1 more)"),
)
def test_what_check_has_against_the_belt_of_the_better_chances_is_told_and_a_problem_keeps_its_own(
    swing_deg: float, buys: str, told: str
) -> None:
    """The longer belt wraps more surely and hangs looser. Held against `check` of both belts, each asked by itself."""
    given = read_layout(str(Path(__file__).with_name("boat.yaml"))).layout
    given = replace(given, engine=replace(given.engine, swing_deg=CrankSwing((swing_deg,))))
    found = study(given)
    own, other = (plan_of(replace(given, belt=parse_designation(belt))).findings for belt in ("8PK1745", "8PK1750"))
    known = {(each.severity, each.check, each.subject) for each in own}
    new = [f for f in other if f.severity != "note" and (f.severity, f.check, f.subject) not in known]
    assert new and f"{new[0].severity}, {new[0].subject}: {CALLED[new[0].check]}" in told
    assert (f"(and {len(new) - 1} more)" in told) == (len(new) > 1)
    assert buys == ("8PK1745" if problems_of(new) else "8PK1750") and not problems_of(own)
    buy = dict(answers(found))["BUY"]
    assert found.best is not None and found.best.designation == buys and buy.startswith(buys)
    follow = "Write `belt: 8PK1750`, and `check` and `fit` go by it, but" in buy
    assert buy.endswith(f", but `check` then has a new {told}") and follow == (buys == "8PK1750")
    assert ("8PK1750 has better chances (" in buy) == (buys == "8PK1745")
    rows = {row["designation"]: row["findings"] for row in json.loads(tolerance_json(found))["new_findings"]}
    assert [(each["severity"], each["subject"]) for each in rows["8PK1750"]] == [(f.severity, f.subject) for f in new]
    assert set(rows) == {buys, "8PK1750"} and not rows.get("8PK1745")


def test_a_rim_reading_that_matters_most_is_to_be_looked_up() -> None:
    exact = replace(DRIVES["by rim"](), uncertainty=NO_ERRORS)
    assert "MEASURE  look up the effective diameter of pump, its rim reading" in tolerance_text(study(exact))


def test_the_origin_is_not_to_be_measured_again() -> None:
    """It is at 0, 0 by definition, however unsure the others are told to lie to it, as `measure --write` tells it."""
    unsure = with_pulley(railcar(), "crank", uncertainty=Uncertainty(position_mm=4.0))
    found = study(unsure)
    text, first = " ".join(tolerance_text(found).split()), found.to_measure[0].measurement.words
    assert found.shares[0].measurement.words == "y of crank" and first == "x of pump"
    assert f" {first} (how far to the side it stands) again" in text
    assert "of the variance y of crank (origin: every y is from it) " in text
    assert "0.5 deg for each angle (common practice, no source); crank with their own." in text


def test_what_is_not_there_yet_is_placed_not_measured() -> None:
    """An idler as `cure` adds it, which of all moves the path most; its own error is told, or else the usual 1 mm."""
    layout = read_layout(str(LAYOUTS / "camper.yaml"), "with idler").layout
    named = {"idler": "added_idler"}
    pulleys = {named.get(name, name): replace(p, name=named.get(name, name)) for name, p in layout.pulleys.items()}
    pulleys["added_idler"] = replace(pulleys["added_idler"], planned=True)
    unsure = replace(pulleys["added_idler"], uncertainty=Uncertainty(position_mm=4.0))
    assert unsure.at_mm is not None
    rims_mm = sum(pulleys[name].rim_radius_mm(layout.belt) for name in ("crank", "added_idler"))
    limits = {"min_rim_gap_mm": {"added_idler": float(np.hypot(*unsure.at_mm)) - rims_mm - 2.55}}
    nearer = "within 2.5 mm, or there is a problem: rim gap"
    for idler, limited, within in (
        (pulleys["added_idler"], {}, "within 1.0 mm, as is assumed here"),
        (unsure, {}, "within 4.0 mm, as is assumed here"),
        (unsure, limits, nearer),
    ):
        route = tuple(named.get(name, name) for name in layout.route)
        made = replace(layout, pulleys={**pulleys, "added_idler": idler}, route=route, limits=limited)
        found = study(made)
        text = " ".join(tolerance_text(found, full=False).split())
        measure = text.partition("MEASURE ")[2].partition("PLACE ")[0]
        assert measure and "added_idler" not in measure
        assert f"PLACE added_idler {within}. Once in place, measure it and take out `planned: true`" in text
        (placed,) = json.loads(tolerance_json(found))["to_place"]
        assert placed["name"] == "added_idler" and within.startswith(f"within {placed['within_mm']:.1f} mm")
        assert found.measure_again is not None and found.measure_again.words in measure
    largest = found.shares[0].measurement
    assert largest.pulley == "added_idler" and f"of the variance {largest.words} (not placed yet) " in text


def test_nothing_to_measure_again_without_errors() -> None:
    exact = replace(railcar(), uncertainty=NO_ERRORS)
    assert "MEASURE  nothing again: no measurement here has an error" in tolerance_text(study(exact))


def test_a_fixed_drive_speaks_of_its_tolerance_alone() -> None:
    words = " ".join(tolerance_text(study(two_fixed(300.0, "6PK"))).split())
    assert "BUY none; the nearest is 6PK915 (" in words and "needs an adjuster, or a stretch belt" in words
    assert "chance that its length tolerance holds the path; nothing takes up wear" in words
    assert "BUY none; the nearest is" in words and "an adjuster, or a stretch belt" in words
    assert "MEASURE no measuring helps: in over 99 % of draws nothing takes up wear." in words
    assert "as the pulleys stand" in words and "puts the" not in words


def test_while_a_problem_stands_no_belt_is_marked_to_buy() -> None:
    """The screen says to buy nothing yet: an arrow beside the belt must not say otherwise."""
    words = " ".join(tolerance_text(study(shipped("camper")), full=False).split())
    assert "BUY nothing yet" in words and "<- as it stands" in words and "<- buy" not in words
    # Another belt puts the tensioner, and so the wraps beside it, elsewhere.
    assert "WRAP chance to fall short with 6PK1990: crank " in words and "Wraps where 6PK1990 puts" in words


def test_a_wrap_that_another_belt_holds_is_no_reason_to_change_the_layout() -> None:
    """The 6PK1670 named leaves the tensioner under its minimum of 45 deg in most draws, the 6PK1690 in hardly any."""
    found = study(with_belt(railcar(), length_mm=1670.0))
    told = dict(answers(found))
    assert found.best is not None and found.best.designation == "6PK1690" and "tensioner" in told["WRAP"]
    worst, named = max(wrap.under or 0.0 for wrap in found.wraps), found.chosen
    assert worst > 0.5 and named is not None and named.wrapped <= min(named.kept, 1.0 - worst) + 1e-9
    assert found.measure_again is not None
    assert "change the layout" not in told["MEASURE"] and "with no wrap under its minimum" in told["BUY"]


def test_where_no_list_holds_a_belt_it_says_what_to_ask_for() -> None:
    made = study(read_layout("tests/cases/av13_stock.yaml", None).layout)
    assert "ask a supplier for 1760.5 to 1845.1 mm" in " ".join(tolerance_text(made).split())


@for_each(
    ("pm_stock", "no list of PM lengths is built in; as far as known, PM begins at 2286 mm, and this drive"),
    ("stationary", "no list of PL lengths is built in: ask a supplier for 9049.2 to 9120.7 mm"),
    ("gokart", "none; no belt of any length can be put on: the travel holds 0.02 in of belt (12.20 to 12.21 in)"),
)
def test_none_is_to_be_bought_where_no_length_that_may_be_sold_is_good(name: str, words: str) -> None:
    made = study(read_layout(f"tests/cases/{name}.yaml", None).layout)
    assert f"BUY {words}" in " ".join(tolerance_text(made).split())


def test_the_inches_of_a_classical_belt_are_those_of_the_length_it_is_named_by() -> None:
    """1320.8 mm is 52 in; datum length is inside length + 1.3 in for A (ANSI/RMA IP-20)."""
    words = " ".join(tolerance_text(study(read_layout("tests/cases/a_belt_stock.yaml", None).layout)).split())
    assert "BUY A1320.8 inside (52.00 in)" in words and "1340.0 mm datum (1307.0 mm inside, 51.46 in)" in words


def test_what_19_of_20_keep_is_named_and_nought_has_no_sign() -> None:
    assert "room left (19 of 20), in" in tolerance_text(made("workboat"))
    table = Table((Column("x", decimals_mm=2),), [(-0.001,), (-0.1,)])
    assert shown(Report((table,), "mm"), Screen()).split() == ["x", "mm", "0.00", "-0.10"]
    assert shown(Report((table,), "in"), Screen()).split() == ["x,", "in", "0.000", "-0.004"]


def _answer(found: Tolerance, lead: str) -> str:
    return dict(answers(found)).get(lead, "")


FIRST = ". Change the layout before you measure: measuring only tells whether it is so"


@for_each(((0.0, 0.009), ""), ((0.01, 0.0), "crank 1.0 %"), ((0.2, 0.0101), f"crank 20.0 %, generator 1.0 %{FIRST}"))
def test_a_wrap_is_warned_of_from_one_draw_in_a_hundred(under: tuple[float, ...], words: str) -> None:
    found = made("railcar")
    wraps = tuple(replace(wrap, pulley=name, under=each) for wrap, name, each in
                  zip(found.wraps, ("crank", "generator"), under, strict=False))  # fmt: skip
    assert found.nearest is not None
    told = _answer(replace(found, wraps=wraps), "WRAP")
    assert told == (f"chance to fall short with {found.nearest.designation}: {words}" if words else "")
    assert _answer(replace(found, wraps=wraps, windows=None), "WRAP").startswith(
        "chance to fall short: " if words else ""
    )


@for_each(
    ((0.5, 0.3, 0.12, 0.05), 2, False),
    ((0.4, 0.3, 0.15, 0.12, 0.11), 3, False),
    ((0.17, 0.09, 0.09), 0, True),
    ((0.2, 0.1, 0.099), 1, False),
)
def test_what_to_measure_again_helps_by_the_share_of_the_variance(
    shares: tuple[float, ...], others: int, little: bool
) -> None:
    """Without a share s of the variance the standard deviation is sqrt(1 - s) of what it was (JCGM 100:2008, 5.1.2).

    Those of a tenth or more are named, three besides the first at most: our own choice.
    """
    found = made("railcar")
    rows = tuple(replace(row, share=each) for row, each in zip(found.contributions, shares, strict=False))
    told = _answer(replace(found, contributions=rows), "MEASURE")
    now = float(found.needed_mm.std())
    assert told.startswith(rows[0].measurement.words)
    assert told.endswith(f"falls from {now:.2f} to {now * (1.0 - shares[0]) ** 0.5:.2f} mm")
    assert ("but only a little" in told) == little
    named = all_of([row.measurement.words for row in rows[1 : 1 + others]])
    assert f" again; then {named}. The first helps most" in told if others else " again. It helps most" in told


@for_each(
    ({"no_path": 0.25}, "PATH", "in 25.0 % of draws no belt can be laid"),
    ({"no_path": 0.0}, "PATH", ""),
    ({"cut": 0.1}, "TRAVEL", "in 10.0 % of draws a part of the travel cannot be used"),
    ({"cut": 0.1, "turns_back": 0.02}, "TRAVEL", "in 10.0 % of draws a part of the travel cannot be used; in 2.0 % the "
                                                 "tensioner works the wrong way past a point"),
    ({"cut": 0.0}, "TRAVEL", ""),
    ({"needed_mm": np.array([])}, "LENGTH", "no path at the design setting"),
)  # fmt: skip
def test_what_stands_at_the_top_where_draws_fail(changed: dict[str, Any], lead: str, words: str) -> None:
    assert _answer(replace(made("railcar"), **changed), lead) == words


@for_each((5, False, 5), (6, False, 5), (12, True, 12), (14, True, 12))
def test_measurements_left_out_are_counted_with_their_share(count: int, full: bool, shown: int) -> None:
    found = made("railcar")
    row = found.contributions[0]
    rows = tuple(replace(row, share=0.03, measurement=replace(row.measurement, pulley=f"no_{i}")) for i in range(count))
    text = tolerance_text(replace(found, contributions=rows), full)
    table = text.partition("of the variance")[2]
    assert sum(f"no_{i}" in table for i in range(count)) == shown
    assert (f"and {count - shown} more with {3.0 * (count - shown):.1f} % together" in table) == (count > shown)
    assert "0 more" not in text

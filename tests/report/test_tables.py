"""Tables of every report: each number is that of the JSON beside it, words stand left and numbers right, and a narrow
screen leaves out what is frozen here as our own choice.
"""

import json
import math
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

from beltplan.checks.card import card_of
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.belt import Friction
from beltplan.place.advice import advice_of
from beltplan.place.report import place_json, place_report
from beltplan.place.study import PlaceMap, bounds_of, grid_of, place_map
from beltplan.report.card import card_json, card_report
from beltplan.report.check_json import result_of
from beltplan.report.check_text import check_report
from beltplan.report.screen import Paragraph, Report, Screen, Table, shown, told_columns
from beltplan.squeal.readings import Heard
from beltplan.squeal.report import squealing_json, squealing_report
from beltplan.squeal.study import Squealing, squealing_of
from beltplan.tolerance.report import tolerance_json, tolerance_report
from beltplan.tolerance.study import Tolerance, tolerance_of
from tests.for_each import for_each
from tests.place.drives import shipped

NAMES = ("railcar", "workboat", "camper", "orchard_sprayer")
WET = Heard(("wet", "idle"), "quieter")
Object = dict[str, Any]
Row = dict[str, str]


@cache
def _plan(name: str) -> Plan:
    return plan_of(shipped(name))


@cache
def _squealing(name: str) -> Squealing:
    return squealing_of(_plan(name), WET)


@cache
def _tolerance(name: str) -> Tolerance:
    return tolerance_of(_plan(name).route, 400, 3)


@cache
def _map() -> PlaceMap:
    layout = shipped("railcar")
    return place_map(layout, "guide", grid_of(*bounds_of(layout), 30.0, None))


@cache
def _reports(name: str) -> dict[str, Report]:
    told = {
        "check": check_report(_plan(name), full=True),
        "fit": card_report(card_of(_plan(name))),
        "squeal": squealing_report(_squealing(name)),
        "tolerance": tolerance_report(_tolerance(name), full=True),
    }
    return told | ({"place": place_report(_map(), advice_of(_map()), full=True)} if name == "railcar" else {})


def _tables(name: str) -> Iterator[tuple[str, Table, Report]]:
    for command, report in _reports(name).items():
        for block in report.blocks:
            if isinstance(block, Table):
                yield command, block, report


def _rows(name: str, command: str, *heads: str) -> list[Row]:
    """Rows of the table with these heads, by head, in mm; of two heads that are alike the second has a `2`."""
    for own, table, _ in _tables(name):
        columns = told_columns(table, "mm")
        every = [column.head for column, _ in columns]
        if own == command and set(heads) <= set(every):
            named = [f"{head}2" if head in every[:i] else head for i, head in enumerate(every)]
            return [dict(zip(named, row, strict=True)) for row in list(zip(*(c for _, c in columns), strict=True))[1:]]
    raise AssertionError(f"{command} has no table of {heads}")


def _told(value: float | None, decimals: int, unit: str = "") -> str:
    """A number as it is told, by hand; -0.0 has no sign."""
    return "-" if value is None else f"{round(value, decimals) + 0.0:.{decimals}f}{unit}"


def _pull(force: list[float]) -> tuple[str, str]:
    """How much and where to, 0 right and 90 up."""
    toward = round(math.degrees(math.atan2(force[1], force[0])) % 360.0)
    return _told(math.hypot(*force), 0), str(toward)


@for_each(*NAMES)
def test_check_tells_its_pulleys_and_spans_as_its_json_does(name: str) -> None:
    result = result_of(_plan(name))
    for row, own in zip(_rows(name, "check", "pulley", "wrap"), result["pulleys"], strict=True):
        assert row["wrap"].split()[0] == _told(own["wrap_deg"], 1) and row["ratio"] == _told(own["ratio"], 2)
        assert (row["x"], row["y"]) == (_told(own["x_mm"], 1), _told(own["y_mm"], 1))
        assert {at: row[f"{at} rpm"] for at in own["rpm"]} == {at: _told(rpm, 0) for at, rpm in own["rpm"].items()}
        assert (row["turns"] == "cw") == (own["turns"] == "clockwise") and (row["runs on"] == "back") == (
            own["belt_side"] == "back"
        )
        short = any(each["check"] == "wrap" and each["subject"] == own["name"] for each in result["findings"])
        assert row["wrap"].endswith("!") == short
    tones = [span["frequency_Hz"] for span in result["stopped"]["spans"]]
    for row, own, tone in zip(_rows(name, "check", "span"), result["spans"], tones, strict=True):
        lowest = "slack" if own["low_end_N"] < 0.0 else _told(own["low_end_N"], 0)
        assert row["span"] == f"{own['from']} to {own['to']}" and row["length"] == _told(own["length_mm"], 1)
        assert (row["min N"], row["max N"]) == (lowest, _told(own["high_end_N"], 0))
        assert row["tone Hz"] == _told(tone, 0)


@for_each(*NAMES)
def test_check_tells_its_belts_hubs_and_slip_as_its_json_does(name: str) -> None:
    result = result_of(_plan(name))
    for row, own in zip(_rows(name, "check", "belt", "position"), result["stock"], strict=False):
        ends = own["short_reserve_mm"], own["long_reserve_mm"]
        assert row["belt"] == own["designation"] and row["position"] == _told(100.0 * own["position"], 0, " %")
        assert (row["short reserve"], row["long reserve"]) == tuple(_told(mm, 1) for mm in ends)
        assert ("hard to put on" in row[""]) == (ends[0] < 0.0) and ("no room for wear" in row[""]) == (ends[1] < 0.0)
    stopped = result["stopped"]["hub_load_N"]
    hubs = {each["name"]: each for each in json.loads(card_json(card_of(_plan(name))))["hubs"]}
    for row, own in zip(_rows(name, "check", "hub load"), result["hubs"], strict=True):
        assert row["hub load"] == own["name"]
        assert (row["stopped N"], row["toward"]) == _pull(stopped[own["name"]])
        highest = max(float(row["stopped N"]), float(row["running N"]))
        assert (_told(highest, 0), row["max N"]) == (_told(own["highest_N"], 0), _told(own["high_end_N"], 0))
        card = hubs[row["hub load"]]
        assert card["rpm"] is None or row["toward2"] == _pull(card["highest_N"])[1]
    uses = {(each["name"], each["condition"]): each for each in result["slip"]}
    words = " ".join(" ".join(block.text for block in _paragraphs(name)).split())
    assert all(
        ", ".join(_told(uses[own, condition]["friction"], 2) for condition in ("dry", "wet", "design")) in words
        for own, _ in uses
    )
    for row in _rows(name, "check", "slip"):
        for condition in ("dry", "wet", "design"):
            assert row[condition] == _told(uses[row["slip"], condition]["slip_use"], 2)
        wet = uses[row["slip"], "wet"]
        assert (row["worst duty"], row["at rpm"]) == (wet["duty"], _told(wet["rpm"], 0))


def _paragraphs(name: str) -> Iterator[Paragraph]:
    return (block for block in _reports(name)["check"].blocks if isinstance(block, Paragraph))


def test_friction_of_the_file_and_assumed_are_told_apart() -> None:
    """On the back a factor counts by the sine of half a PK's groove, 20 deg: 0.9 is 0.31 there."""
    layout = shipped("camper")
    for given, words in (
        (Friction(), "assumed (from where: `beltplan words PK`); give `belt.friction`"),
        (Friction(dry=0.9), "wet and design assumed (from where"),
        (Friction(0.9, 0.5, 0.4), "as given"),
    ):
        belt = replace(layout.belt, friction=given)
        report = check_report(plan_of(replace(layout, belt=belt)), full=True)
        (told,) = [b.text for b in report.blocks if isinstance(b, Paragraph) and b.text.startswith("friction (")]
        assert told.endswith(words) or words in told
        assert ("0.90, " in told and "0.31, " in told) == (given.dry is not None)
        assert told.endswith("; a given one counts 0.34 times on the back") == (given.dry is not None)


@for_each(*NAMES)
def test_the_card_tells_its_tables_as_its_json_does(name: str) -> None:
    card = json.loads(card_json(card_of(_plan(name))))
    for row, own in zip(_rows(name, "fit", "pulley", "span to"), card["line_up"]["pulleys"], strict=True):
        ahead = row[next(head for head in row if head.startswith("ahead of"))]
        assert ahead == _told(own["off_mm"], 2)
        # A plane is left out where it is how far the pulley stands ahead.
        assert row.get("plane", ahead) == ("not measured" if own["plane_mm"] is None else _told(own["plane_mm"], 2))
    for row, own in zip(_rows(name, "fit", "tension", "N a span"), card["tension"]["levels"], strict=True):
        assert (row["tension"], row["N a span"]) == (own["name"], _told(own["tension_N"], 0))
        assert row.get("N a rib", "-") == _told(own["rib_N"], 0) and row["dip"] == _told(own["deflection_mm"], 1)
        assert row["tone Hz"] == _told(own["tone_Hz"], 0)
    for row, own in zip(_rows(name, "fit", "pulley", "stopped N"), card["hubs"], strict=True):
        assert (row["stopped N"], row["toward"]) == _pull(own["stopped_N"])
        assert (row["usual N"], row["toward2"]) == _pull(own["highest_N"])
        assert (row["at rpm"], row["max N"]) == (
            "stopped" if own["rpm"] is None else _told(own["rpm"], 0),
            _told(own["high_end_N"], 0),
        )


COMPUTED = {None: ("unsure",), "caution": ("near",), "problem": ("beyond", "slips")}
"""How near a cause is, by the severity of its number."""


@for_each(*NAMES)
def test_squeal_tells_the_others_as_its_json_does(name: str) -> None:
    told = json.loads(squealing_json(_squealing(name)))["causes"]
    titles = {each.cause.name: (each.cause.title, each.cause.decimals) for each in _squealing(name).weighed}
    first: dict[tuple[str, str], Object] = {(titles[each["cause"]][0], each["where"]): each for each in told}
    others, text = _squealing(name).telling[3:], shown(_reports(name)["squeal"], Screen(1000))
    near = [each for each in others if each.reading.severity or each.reading.margin < 0.0]
    rows = _rows(name, "squeal", "others") if near else []
    assert [(row["others"], row["where"]) for row in rows] == [(each.cause.title, each.reading.where) for each in near]
    titles_near = {each.cause.title for each in near}
    far = ", ".join(dict.fromkeys(e.cause.title for e in others if e.cause.title not in titles_near))
    assert f"\nfar, by their numbers (--full): {far}\n" in text
    for row in rows:
        own = first[row["others"], row["where"]]
        decimals = titles[own["cause"]][1]
        assert row["number"] in (_told(own["value"], decimals), "slack")
        assert (row["limit"], row["unit"]) == (_told(own["limit"], decimals), own["unit"])
        assert row["computed"] == "see slip" or row["computed"] in COMPUTED[own["severity"]]
        assert (row["computed"] == "see slip") == own["rests_on_slip"]
        assert row["computed"] != "slips" or row["others"].startswith("slip")
        assert row["as heard"] == ("yes" if own["fits"] else "no")


def _percents(value: float | None) -> str:
    if value is not None and (0.0 < value < 0.001 or 0.999 < value < 1.0):
        return "under 0.1 %" if value < 0.5 else "over 99.9 %"
    return "-" if value is None else _told(100.0 * value, 0 if value in (0.0, 1.0) else 1, " %")


@for_each(*NAMES)
def test_tolerance_tells_its_tables_as_its_json_does(name: str) -> None:
    told = json.loads(tolerance_json(_tolerance(name)))
    belts = {own["designation"]: own for own in told["belts"]}
    rows = _rows(name, "tolerance", "belt", "can be fitted")
    assert len(rows) == min(9, len(belts)) and [row[""] for row in rows].count("") == len(rows) - 1
    for row in rows:
        own = belts[row["belt"]]
        chances = own["chance_goes_on"], own["chance_with_reserves"]
        assert (row["can be fitted"], row["with room for wear"]) == tuple(map(_percents, chances))
        assert row["room left (19 of 20)"] == _told(own["reserve_19_of_20_mm"], 1)
        assert bool(row[""]) == (own["designation"] == told["nearest"])
    for row, own in zip(_rows(name, "tolerance", "pulley", "mean wrap"), told["wraps"], strict=True):
        low, high = own["95_percent_deg"]
        assert (row["mean wrap"], row["std. dev."]) == (_told(own["mean_deg"], 1), _told(own["deviation_deg"], 2))
        assert row["19 of 20 between"] == f"{_told(low, 1)} to {_told(high, 1)}"
        assert (row["min"], row["chance to fall short"]) == (
            _told(own["least_deg"], 0),
            _percents(own["chance_under_least"]),
        )
    every = sorted(told["measurements"], key=lambda own: -own["share_of_variance"])
    shares = [_told(100.0 * own["share_of_variance"], 1, " %") for own in every if own["share_of_variance"]]
    assert [row["of the variance"] for row in _rows(name, "tolerance", "measurement")] == shares[:12]


def test_place_tells_the_best_of_each_belt_as_its_json_does() -> None:
    told = json.loads(place_json(_map(), advice_of(_map())))
    (now,) = told["present"]["at_mm"].values()
    rows = _rows("railcar", "place", "belt", "moved")
    assert len(rows) == min(12, len(told["best_by_belt"])) > 1
    for row, own in zip(rows, told["best_by_belt"], strict=False):
        (at,) = own["at_mm"].values()
        assert (row["belt"], row["of"]) == (own["belt"] or "-", own["margin_of"])
        assert (row["x"], row["y"], row["moved"]) == tuple(_told(mm, 1) for mm in (*at, math.dist(at, now)))
        assert row["adjuster"] == _told(100.0 * own["adjuster_position"], 0, " %")
        smallest = min(own[f"{gap}_mm"] for gap in ("clearance", "strand_gap", "rim_gap"))
        assert (row["reserve"], row["clear"]) == (_told(own["reserve_mm"], 1), _told(smallest, 1))
        assert (row["own"], row["margin"]) == tuple(
            _told(100.0 * own[key], 1, " %") for key in ("own_margin", "margin")
        )


# How a table gives way. Names, and the number that is judged, stay; what is read elsewhere goes first: our own choice.

GIVE_WAY = {
    "check, pulley, role": ["role", "idle rpm, cruise rpm", "x, y", "runs on", "dia", "max rpm"],
    "check, belt, in": ["in", "position"],
    "check, span, length": ["min N, max N", "tone Hz"],
    "check, slip, worst duty": ["worst duty", "torque Nm"],
    "check, hub load, stopped N": ["toward"],
    "fit, pulley, ahead of crank": ["recommended", "span to", "askew deg"],
    "fit, pulley, stopped N": ["at rpm"],
    "fit, tension, N a span": ["N a rib"],
    "squeal, others, where": ["computed", "limit"],
    "tolerance, belt, in": ["in", "room left (19 of 20)"],
    "tolerance, pulley, mean wrap": ["19 of 20 between", "std. dev."],
    "tolerance, measurement, std. dev.": ["moves path", "std. dev."],
    "place, belt, x": ["of", "clear", "reserve", "adjuster", "moved"],
}


def _heads_at(table: Table, width: int) -> Counter[str]:
    first = shown(Report((table,)), Screen(width)).splitlines()[0]
    return Counter(head.removesuffix(" mm") for head in re.split(r" {2,}", first.strip()))


@for_each(*GIVE_WAY.items(), ids=str)
def test_a_narrow_screen_leaves_out_what_can_be_spared_in_this_order(name: str, wanted: list[str]) -> None:
    (table,) = [
        each
        for command, each, _ in _tables("railcar")
        if name == ", ".join((command, *(column.head for column in each.columns[:2])))
    ]
    heads = [_heads_at(table, width) for width in range(150, 20, -3)]
    left = [", ".join((before - now).elements()) for before, now in pairwise(heads)]
    assert [each for each in left if each] == wanted


@for_each(*NAMES)
def test_words_stand_left_and_numbers_right(name: str) -> None:
    """By the cells themselves: a column of numbers alone stands right, one of words left."""

    def numeric(cell: str) -> bool:
        return cell.split()[0].lstrip("-+").replace(".", "").isdigit()

    for command, table, report in _tables(name):
        for column, (head, *cells) in told_columns(table, report.units):
            known = [cell for cell in cells if cell.strip(" -")]
            if known and not any(map(numeric, known)):
                assert column.left, (command, head)
            elif known and all(map(numeric, known)):
                assert not column.left, (command, head)


@for_each(*NAMES)
def test_what_to_do_stands_under_what_is_found(name: str) -> None:
    """A finding's further lines stand two letters further in, and the advice where the finding begins."""
    report = _reports(name)["check"]
    lines = shown(report, Screen(72)).splitlines()
    found = [i for i, line in enumerate(lines) if re.match(r"  (problem|caution|note) +\S", line)]
    assert found
    for first in found:
        start = re.match(r"  \w+ +", lines[first])
        assert start is not None
        below = [len(line) - len(line.lstrip()) for line in lines[first + 1 : lines.index("", first)]]
        ends = next((i for i, each in enumerate(below) if each < start.end()), len(below))
        assert set(below[:ends]) <= {start.end(), start.end() + 2} and start.end() == len("  problem  ")

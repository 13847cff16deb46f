"""The JSON of a comparison is a contract: keys, types, null for what is unknown, every number finite."""

import json
import math
from collections.abc import Iterator
from typing import Any

from beltplan.checks.comparison import RULE
from beltplan.compare.report import WITHOUT_PATH, compare_json
from beltplan.report.words import SAFETY
from tests.for_each import for_each
from tests.report.comparisons import SETS, made
from tests.report.results import read_back

NUMBER = (int, float)
COLUMN: dict[str, Any] = {
    "name": str, "file": str, "title": str, "variant": (str, type(None)), "rank": int, "verdict": str, "no_path": list,
    "mend": (str, type(None)), "belt": (str, type(None)), "best_stock": (str, type(None)),
    "adjuster_position": (*NUMBER, type(None)),
    "reserve_mm": (*NUMBER, type(None)), "take_up_percent": (*NUMBER, type(None)), "wrap": (dict, type(None)),
    "slip_dry": (dict, type(None)), "slip_wet": (dict, type(None)), "slip_revving": (dict, type(None)),
    "alternators": (list, type(None)), "hub_load": (dict, type(None)), "clearance": (dict, type(None)),
    "margin": (dict, type(None)), "counts": (dict, type(None)), "findings": (list, type(None)),
}  # fmt: skip
PARTS = {
    "wrap": {"pulley", "wrap_deg", "least_deg", "over_deg"},
    "slip_dry": {"pulley", "slip_use", "rpm", "duty", "engine"},
    "slip_wet": {"pulley", "slip_use", "rpm", "duty", "engine"},
    "slip_revving": {"pulley", "slip_use", "rpm", "duty", "engine"},
    "hub_load": {"pulley", "load_N"},
    "clearance": {"gap_mm", "first", "second", "limit_mm"},
    "margin": {"share", "of", "where"},
    "counts": {"problem", "caution", "note"},
}


def result(name: str) -> dict[str, Any]:
    files = tuple(f"{column.name}.yaml" for column in made(name).columns)
    return read_back(compare_json(made(name), files))


def numbers(value: Any) -> Iterator[float]:
    if isinstance(value, dict):
        for each in value.values():
            yield from numbers(each)
    elif isinstance(value, list):
        for each in value:
            yield from numbers(each)
    elif isinstance(value, NUMBER) and not isinstance(value, bool):
        yield value


@for_each(*SETS)
def test_keys_and_types(name: str) -> None:
    read = result(name)
    assert list(read) == ["columns", "ranking", "judged_with_less", "rule", "caution"]
    assert (read["rule"], read["caution"]) == (RULE, SAFETY)
    for column in read["columns"]:
        assert list(column) == list(COLUMN)
        assert all(isinstance(column[key], kind) for key, kind in COLUMN.items())
        assert all(column[key] is None or set(column[key]) == keys for key, keys in PARTS.items())
        for finding in column["findings"] or []:
            assert set(finding) == {
                "check",
                "severity",
                "subject",
                "value",
                "limit",
                "unit",
                "message",
                "advice",
                "source",
            }


@for_each(*SETS)
def test_every_number_is_finite_and_the_text_is_ascii(name: str) -> None:
    assert all(math.isfinite(number) for number in numbers(result(name)))
    assert compare_json(made(name), tuple("f" for _ in made(name).columns)).isascii()


@for_each(*SETS)
def test_ranking_names_every_column_once_and_agrees_with_the_ranks(name: str) -> None:
    read = result(name)
    ranks = {column["name"]: column["rank"] for column in read["columns"]}
    assert sorted(read["ranking"]) == sorted(ranks) and len(ranks) == len(read["columns"])
    assert [ranks[each] for each in read["ranking"]] == sorted(ranks.values())


@for_each(*SETS)
def test_counts_are_those_of_the_findings_listed(name: str) -> None:
    for column in result(name)["columns"]:
        if column["findings"] is not None:
            severities = [finding["severity"] for finding in column["findings"]]
            assert column["counts"] == {key: severities.count(key) for key in ("problem", "caution", "note")}


def test_slip_on_revs_is_told_where_it_is_judged() -> None:
    """The camper's file gives how fast its engine speeds up, the workboat's does not."""
    (camper, *_), (workboat, *_) = result("camper")["columns"], result("workboat")["columns"]
    assert camper["slip_revving"]["slip_use"] > camper["slip_wet"]["slip_use"] and workboat["slip_revving"] is None


def test_without_a_path_all_is_null_but_the_reason() -> None:
    column = next(column for column in result("refused among")["columns"] if column["name"] == "refused")
    assert column["verdict"] == "no belt path" and set(WITHOUT_PATH) <= set(COLUMN)
    assert all(column[key] is None for key in WITHOUT_PATH)
    (fault,) = column["no_path"]
    assert fault["pulleys"] == ["crank", "far"] and "overlap" in fault["got"] and fault["allowed"]


def test_a_slack_span_is_a_null_at_a_named_pulley() -> None:
    slack, sprung, bare = result("slack")["columns"]
    assert slack["slip_wet"]["slip_use"] is None and slack["slip_wet"]["pulley"]
    assert slack["margin"]["share"] is None and slack["margin"]["of"] == "slip when wet"
    assert sprung["slip_wet"]["slip_use"] > sprung["slip_dry"]["slip_use"] > 0.0
    assert bare["slip_wet"] is None and bare["hub_load"]["load_N"] > 0.0


def test_the_same_comparison_gives_the_same_text() -> None:
    files = ("a", "b", "c")
    assert compare_json(made("workboat"), files) == compare_json(made("workboat"), files)
    assert [column["file"] for column in json.loads(compare_json(made("workboat"), files))["columns"]] == list(files)

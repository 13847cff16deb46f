"""The cures as text, rows and JSON: the answer first, the width kept, the numbers those of the layouts themselves."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import pytest

from beltplan.report.cure_json import cure_json
from beltplan.report.cure_rows import answer_of, concerned, cure_rows, wrap_of
from beltplan.report.cure_text import cure_text
from beltplan.report.words import CAUTION
from beltplan.studies.cure import RULE, Cures
from beltplan.studies.cure_change import words_of
from tests.studies.cure_drives import cures, movable_railcar

EVERY: dict[str, Callable[[], Cures]] = {
    "cured": lambda: cures("camper"),
    "several": movable_railcar,
    "not cured": lambda: cures("too_tight"),
    "healthy": lambda: cures("railcar"),
}


@pytest.fixture(params=list(EVERY))
def found(request: pytest.FixtureRequest) -> Cures:
    return EVERY[request.param]()


def joined(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_no_line_is_too_long_and_the_caution_stands_last(found: Cures) -> None:
    text = cure_text(found)
    assert max(map(len, text.splitlines())) <= 100
    assert joined(text).endswith(CAUTION)


def test_the_answer_stands_first(found: Cures) -> None:
    lines = cure_text(found).splitlines()
    assert lines[0] == found.layout.title
    assert lines[1].startswith("ANSWER   ") and answer_of(found).startswith(lines[1].removeprefix("ANSWER   "))


def test_every_cure_is_told_with_its_rows_and_the_rule() -> None:
    found = movable_railcar()
    text = cure_text(found)
    for remedy in found.listed:
        assert words_of(remedy.changes) in joined(text)
        for label, before, after in cure_rows(found, remedy.judged):
            assert re.search(rf"{re.escape(label)} +{re.escape(before)} +{re.escape(after)}\n", text)
    assert joined(RULE) in joined(text)


def test_what_cannot_be_cured_is_said_with_all_that_was_tried() -> None:
    found = cures("too_tight")
    text = joined(cure_text(found))
    assert "no small change that was tried cures it, alone or in pairs" in text
    assert f"the nearest leaves {found.nearest.judged.count('problem') if found.nearest else 0} of 15 problems" in text
    for tried in found.tried:
        assert f"{tried.looked_at} {tried.judged} {tried.cured}" in text
    assert "NEAREST the least bad of what was tried, not a cure" in text
    assert "common practice, no source: 65, 75, 90 mm" in text


def test_nothing_to_cure() -> None:
    text = cure_text(cures("railcar"), "nothing")
    assert "ANSWER   nothing to cure: it works on paper, with 1 caution to look at\nWRITTEN  nothing" in text
    assert "TRIED" not in text


def test_the_rows_hold_what_the_layouts_come_to() -> None:
    found = cures("camper")
    assert found.best is not None
    assert concerned(found) == ("crank", "house_alternator")
    rows = {label: (before, after) for label, before, after in cure_rows(found, found.best.judged)}
    assert rows["problems"] == ("3", "0")
    assert rows["belt"] == (found.before.route.designation, found.best.judged.route.designation)
    assert rows["wrap of crank, deg, 120 wanted"][0] == "115.4"
    assert rows["worst slip use, wet"][0] == "1.06 crank"
    nobody = wrap_of(found.before, "nobody")
    assert (nobody.wrap_deg, nobody.least_deg) == (None, None)


def read(found: Cures) -> dict[str, Any]:
    def refuse(word: str) -> None:
        raise AssertionError(word)

    result: dict[str, Any] = json.loads(cure_json(found, "layout.yaml", None), parse_constant=refuse)
    return result


def test_json_has_the_same_keys_whatever_was_found(found: Cures) -> None:
    result = read(found)
    assert list(result) == [
        *("file", "title", "variant", "answer", "healthy", "cured", "before", "cures", "found", "nearest", "tried"),
        *("rule", "written", "made_worse", "caution"),
    ]
    state = ["verdict", "counts", "belt", "reserve_mm", "wraps", "slip_wet", "findings"]
    assert list(result["before"]) == state
    for remedy in [*result["cures"], *([result["nearest"]] if result["nearest"] else [])]:
        assert list(remedy) == ["changes", *state]
        assert all(list(change) == ["family", "target", "size", "words"] for change in remedy["changes"])


def test_json_tells_the_cure_of_the_camper() -> None:
    found = cures("camper")
    result = read(found)
    assert (result["healthy"], result["cured"], result["before"]["counts"]["problem"]) == (False, True, 3)
    best = result["cures"][0]
    assert best["counts"]["problem"] == 0 and best["changes"][0]["family"] == "idler"
    assert [wrap["pulley"] for wrap in best["wraps"]] == ["crank", "house_alternator"]
    assert best["slip_wet"]["slip_use"] < 1.0 < result["before"]["slip_wet"]["slip_use"]

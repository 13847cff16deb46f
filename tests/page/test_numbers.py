"""Every number of the page against `check --json`, in both units; what JSON does not round alike, to its last digit."""

import json
import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import pytest

from beltplan.report.check_json import result_text
from tests.cli.running import Runner
from tests.for_each import for_each
from tests.page.pages import NAMES, has, page_named, path_named, plan_named, rows_of, table_named, tree_of, words_of

NUMBER = re.compile(r"(?<![\w.])[-+]?\d+(?:\.\d+)?(?![\w])")


def answer_of(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(result_text(plan_named(name)))
    return found


def same(shown: str, value: float | None) -> bool:
    """Whether a number is shown as it is, to the digits that are shown."""
    if value is None:
        return shown == "-"
    found = NUMBER.search(shown)
    assert found is not None, shown
    return abs(float(found[0]) - value) <= 0.5001 * 10.0 ** -len(found[0].partition(".")[2])


@for_each(*NAMES)
def test_the_table_of_pulleys(name: str) -> None:
    rows, answer = rows_of(table_named(tree_of(page_named(name)), "Pulleys in the belt's travel")), answer_of(name)
    for row, pulley in zip(rows, answer["pulleys"], strict=True):
        assert (
            row["pulley"] == pulley["name"]
            and {"cw": "clockwise", "ccw": "counterclockwise"}[row["turns"]] == pulley["turns"]
        )
        shown = {"x mm": "x_mm", "y mm": "y_mm", "wrap": "wrap_deg", "ratio": "ratio"}
        assert all(same(row[head], pulley[key]) for head, key in shown.items())
        speeds = {key: value for key, value in pulley["rpm"].items() if value is not None}
        assert {head.removesuffix(" rpm") for head in row if head.endswith(" rpm")} == set(speeds)
        assert all(same(row[f"{key} rpm"], value) for key, value in speeds.items())


@for_each(*NAMES)
def test_belts_spans_slip_and_hubs(name: str) -> None:
    page, answer = tree_of(page_named(name)), answer_of(name)
    captions = {words_of(each) for each in page.iter("caption")}
    if "Belts that fit, best first" in captions and answer["adjuster"]:
        for row, belt in zip(rows_of(table_named(page, "Belts that fit, best first")), answer["stock"], strict=False):
            assert row["belt"] == belt["designation"]
            assert same(row["short reserve mm"], belt["short_reserve_mm"]) and same(
                row["long reserve mm"], belt["long_reserve_mm"]
            )
    for row, span in zip(rows_of(table_named(page, "Spans")), answer["spans"], strict=True):
        assert row["span"] == f"{span['from']} to {span['to']}" and same(row["length mm"], span["length_mm"])
    if answer["slip"] and "Grip used by each pulley" in captions:
        uses = {(each["name"], each["condition"]): each["slip_use"] for each in answer["slip"]}
        for row in rows_of(table_named(page, "Grip used by each pulley")):
            for condition in ("dry", "wet", "design"):
                use = uses[row["slip"], condition]
                assert row[condition] == "slack" if use is None else same(row[condition], use)
    if answer["hubs"]:
        for row, hub in zip(rows_of(table_named(page, "Hub loads")), answer["hubs"], strict=True):
            assert row["hub load"] == hub["name"] and same(row["max N"], hub["high_end_N"])


@for_each(*NAMES)
def test_the_cards_of_the_pulleys(name: str) -> None:
    page, answer = tree_of(page_named(name)), answer_of(name)
    cards = [each for each in page.iter("article") if has(each, "pulley")]
    hubs = {each["name"]: (each["high_end_N"], each["highest_N"]) for each in answer["hubs"]}
    wet = {each["name"]: each["slip_use"] for each in answer["slip"] or [] if each["condition"] == "wet"}
    for card, pulley in zip(cards, answer["pulleys"], strict=True):
        shown = {words_of(each[0]): words_of(each[1]) for each in card.iter("div")}
        x, y = shown["x, y"].removesuffix(" mm").split(", ")
        assert same(x, pulley["x_mm"]) and same(y, pulley["y_mm"]) and same(shown["wrap"], pulley["wrap_deg"])
        assert same(shown["ratio"], pulley["ratio"]) and card.get("data-part") == pulley["name"]
        told = re.findall(r"([\d,.]+) N", shown["hub load"])
        assert all(map(same, told, hubs[pulley["name"]])) and told if hubs else shown["hub load"] == "not known"
        if wet.get(pulley["name"]) is not None:
            assert same(shown["grip used"].partition("wet ")[2], wet[pulley["name"]])


@for_each(*NAMES)
def test_lengths_are_the_same_in_inches_wherever_they_stand(name: str) -> None:
    """On a card, beside the drawing and beside a bar: each rounded once, 25.4 mm to the inch."""
    page, answer = tree_of(page_named(name)), answer_of(name)
    cards = [each for each in page.iter("article") if has(each, "pulley")]
    figures = {words_of(text, "in") for text in page.iter("text") if has(text, "in")}
    for card, pulley in zip(cards, answer["pulleys"], strict=True):
        x, y = words_of(card, "in").partition("x, y")[2].partition(" in")[0].split(", ")
        assert same(x, pulley["x_mm"] / 25.4) and same(y, pulley["y_mm"] / 25.4)
        assert {each for each in (x.strip(), y) if float(each)} <= figures
    if has_bars := [each for each in page.iter("svg") if each.get("aria-label", "").startswith("What each belt")]:
        shown = [words_of(text, "in").removesuffix(" in") for text in has_bars[0].iter("text") if has(text, "in")]
        left = [belt[key] / 25.4 for belt in answer["stock"] for key in ("short_reserve_mm", "long_reserve_mm")]
        assert shown and all(map(same, shown, left))


@for_each(*NAMES)
def test_the_belt_verdict_and_findings(name: str) -> None:
    page, answer = tree_of(page_named(name)), answer_of(name)
    verdict = next(words_of(each) for each in page.iter("p") if has(each, "verdict"))
    assert verdict.partition(" ")[2].rstrip(".").lower() == answer["verdict"].lower()
    belt = next(each for each in page.iter("section") if each.get("id") == "belt")
    sizes = {words_of(each[0]): words_of(each[1]) for each in belt.iter("div")}
    assert sizes["profile"] == answer["belt"]["profile"]
    assert str(answer["belt"]["ribs"]) in (sizes.get("ribs"), sizes.get("belts side by side"))
    line, outside = f"{answer['belt']['length_line']} length", answer["belt"]["outside_length_mm"]
    assert same(sizes[line if line in sizes else "drawn and judged with"], answer["belt"]["length_mm"])
    assert (line in sizes) == (name not in ("too_tight", "no_adjuster"))
    assert same(sizes["outside length"], outside) if "outside length" in sizes else line not in sizes or outside is None
    if answer["belt"]["will_do_mm"] is not None and answer["belt"]["profile"] == "PK":
        told = NUMBER.findall(next(words_of(each) for each in belt.iter("p") if has(each, "interval")))
        assert all(same(shown, mm) for shown, mm in zip(told, answer["belt"]["will_do_mm"], strict=False))
    items = [each for each in page.iter("li") if has(each, "finding")]
    severities = [finding["severity"] for finding in answer["findings"]]
    assert sorted(next(each.text or "" for each in item.iter("b")) for item in items) == sorted(severities)
    asking = sum(finding.asks_first for finding in plan_named(name).findings)
    assert [next(i.iter("b")).text for i in items][asking:][:1] == severities[:1]
    for finding in answer["findings"]:
        wrong = finding["message"].removesuffix(f": {finding['advice']}")
        assert any(wrong in words_of(item) for item in items), wrong


@for_each("railcar", "workboat", "camper")
def test_no_number_stands_on_the_page_that_no_other_answer_tells(run: Runner, name: str) -> None:
    """Of all sections but those of layouts side by side; in the page's own units."""
    page, answer, path = tree_of(page_named(name)), answer_of(name), path_named(name)
    texts = [run(*command, path, "--units", "mm").out for command in (("check", "--full"), ("fit",))]
    told = {float(each) for text in texts for each in NUMBER.findall(text)}
    values = sorted(_numbers(answer))
    left_out = ("variants", "beside", "file", "safety", "sources", "routing-part")
    sections = [each for each in page.iter("section") if each.get("id") not in left_out]
    shown = [each for section in sections for child in _told(section) for each in NUMBER.findall(words_of(child))]
    unknown = [each for each in shown if float(each) not in told and not any(same(each, value) for value in values)]
    assert len(shown) > 150 and [each for each in unknown if not _is_count(each)] == []


def _told(section: Element) -> list[Element]:
    """All of it but the curves, whose ends have numbers of their own."""
    return [each for each in section if each.tag != "details" or not list(each.iter("svg"))]


def _numbers(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [number for each in value.values() for number in _numbers(each)]
    if isinstance(value, list):
        return [number for each in value for number in _numbers(each)]
    return [float(value)] if isinstance(value, int | float) and not isinstance(value, bool) else []


def _is_count(shown: str) -> bool:
    return shown.isdigit() and int(shown) <= 12


@for_each(*NAMES)
def test_both_units_are_in_the_markup_and_agree(name: str) -> None:
    """One inch is 25.4 mm (BS 350). Single lengths of tables and drawings, cell by cell."""
    page, count = tree_of(page_named(name)), 0
    for parent in page.iter():
        for one, other in pairwise(parent):
            if has(one, "mm") and has(other, "in") and one.tag == other.tag:
                mm, inches = ("".join(each.itertext()).replace("\N{NO-BREAK SPACE}", " ") for each in (one, other))
                one_mm, one_in = mm.removesuffix(" mm"), inches.removesuffix(" in")
                if NUMBER.fullmatch(one_mm) and NUMBER.fullmatch(one_in):
                    error = 0.5001 * (_last(one_mm) + 25.4 * _last(one_in))
                    assert abs(float(one_mm) - 25.4 * float(one_in)) <= error
                    count += 1
    assert count >= 16


def _last(shown: str) -> float:
    return float(10.0 ** -len(shown.partition(".")[2]))


# The slider's settings: the drawn path is as long as the words say.

_STEP = re.compile(r"([MLA])([-\d. ]+)")


def path_length(d: str) -> float:
    """Length of a path of lines and circular arcs, in its own units: chord, radius and the flag for the larger arc."""
    total, at, begin = 0.0, (0.0, 0.0), (0.0, 0.0)
    for command, text in _STEP.findall(d):
        numbers = [float(each) for each in text.split()]
        end = (numbers[-2], numbers[-1])
        chord = math.dist(at, end)
        if command == "L":
            total += chord
        elif command == "A":
            swept = 2.0 * math.asin(min(1.0, 0.5 * chord / numbers[0]))
            total += numbers[0] * (2.0 * math.pi - swept if numbers[3] else swept)
        begin = end if command == "M" else begin
        at = end
    return total + (math.dist(at, begin) if d.endswith("Z") else 0.0)


@for_each("railcar", "workboat", "camper")
def test_at_every_setting_the_drawn_belt_is_as_long_as_told(name: str) -> None:
    page, answer = tree_of(page_named(name)), answer_of(name)
    data = next(each for each in page.iter("script") if each.get("id") == "settings")
    settings = json.loads(data.text or "")
    judged = next(each for each in settings if each["judged"])
    scale = path_length(judged["belt"]) / answer["belt"]["length_mm"]
    spans = [path_length(d) / scale for d in judged["spans"]]
    assert spans == pytest.approx([each["length_mm"] for each in answer["spans"]], abs=0.5)
    lengths = [float(re.search(r"path ([\d.]+) mm", each["mm"])[1]) for each in settings]  # type: ignore[index]
    assert [path_length(each["belt"]) / scale for each in settings] == pytest.approx(lengths, abs=0.6)
    assert lengths == sorted(lengths) and len(lengths) >= 21
    ends = answer["adjuster"]["shortest_mm"], answer["adjuster"]["longest_mm"]
    assert (lengths[0], lengths[-1]) == pytest.approx(ends, abs=0.06)
    assert f"path {answer['belt']['length_mm']:.1f} mm" in judged["mm"] and judged["by"] == [0.0, 0.0]


def test_variants_and_before_and_after_stand_side_by_side(run: Runner, here: Path) -> None:
    page = tree_of(page_named("camper"))
    variants = rows_of(table_named(page, "Variants of this layout"))
    told = json.loads(run("compare", path_named("camper"), "--json").out)["columns"]
    by_label = {row[""]: row for row in variants}
    for column in told:
        name = column["variant"] or "as it stands"
        assert same(by_label["problems"][name], column["counts"]["problem"]) and same(
            by_label["rank"][name], column["rank"]
        )
        assert same(by_label["smallest reserve, mm"][name], column["reserve_mm"])
    beside = rows_of(table_named(page, "Before and after"))
    assert list(beside[0]) == ["", "before: camper.yaml", "after: workboat.yaml"]


def test_a_drive_without_an_adjuster_has_no_slider() -> None:
    page = tree_of(page_named("no_adjuster"))
    assert not [each for each in page.iter("input") if each.get("type") == "range"]
    assert [each.text for each in page.iter("script") if each.get("id") == "settings"] == ["[]"]


@for_each(*NAMES)
def test_the_sign_beside_a_wrap_is_explained_where_there_is_one(name: str) -> None:
    page, answer = tree_of(page_named(name)), answer_of(name)
    told = [words_of(each) for each in page.iter("p")].count("! beside a wrap: see What to do")
    assert told == any(each["check"] == "wrap" for each in answer["findings"])

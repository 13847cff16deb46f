"""Sentences of `check` and of the card say what the JSON beside them says, number by number and side by side."""

import json
import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

from beltplan.checks.card import card_of
from beltplan.checks.plan import Plan, plan_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.card import card_json, card_report
from beltplan.report.check_json import result_of
from beltplan.report.check_text import check_report
from beltplan.report.screen import Screen, shown
from tests.for_each import for_each
from tests.shipped import FOLDER

CASES = Path(__file__).parents[1] / "cases"
OTHERS = ("squeal", "stationary", "hand_set_1425", "asym", "carrier")
PATHS = [*(FOLDER / f"{name}.yaml" for name in ("railcar", "camper", "orchard_sprayer"))]
PATHS += [CASES / f"{name}.yaml" for name in OTHERS]


@cache
def _plan(path: Path) -> Plan:
    return plan_of(replace(read_layout(str(path)).layout, units="mm"))


def _text(path: Path, card: bool) -> str:
    report = card_report(card_of(_plan(path))) if card else check_report(_plan(path), full=False)
    return " ".join(shown(report, Screen(100)).split())


def _mm(value: float) -> str:
    return f"{round(value, 1) + 0.0:.1f}"


@for_each(*PATHS, ids=lambda path: path.stem)
def test_check_counts_what_it_found_and_says_what_else_decides(path: Path) -> None:
    result, text = result_of(_plan(path)), _text(path, card=False)
    severities = [each["severity"] for each in result["findings"]]
    counts = {each: severities.count(each) for each in ("problem", "caution")}
    told = ", ".join(f"{n} {each}{'s' if n > 1 else ''}" for each, n in counts.items() if n)
    lead = "DOES NOT WORK" if counts["problem"] else "WORKS ON PAPER"
    assert f"{lead} {told or 'nothing found against it'} " in text
    adjuster, stock = result["adjuster"], result["stock"]
    if adjuster is None:
        assert "no adjuster: only a stretch belt may do without" in text
    elif stock and stock[0]["designation"] == result["belt"]["designation"]:
        short, long = stock[0]["short_reserve_mm"], stock[0]["long_reserve_mm"]
        if min(abs(short), abs(long)) > 0.05:
            reserve = f"fitting and wear {_mm(short)} mm of belt to the short stop, {_mm(long)} mm to the long"
            assert reserve in text
    wet = [each for each in result["slip"] if each["condition"] == "wet"]
    wet += [each for each in (result["revving"] or {}).get("slip", []) if each["condition"] == "wet"]
    known = [each for each in wet if each["slip_use"] is not None]
    if known and len(known) == len(wet):
        worst = max(known, key=lambda each: each["slip_use"])
        revving = ", revving" if "engine" in worst else ""
        end = rf" at {worst['rpm']:.0f} rpm{revving} \(1 slips\)"
        found = re.search(rf"highest grip used, wet: {worst['name']} ([\d.]+){end}", text)
        # Near 1 it has a digit more, so as not to stand on the other side of it.
        assert found is not None and abs(float(found[1]) - worst["slip_use"]) < 0.0051
        assert (float(found[1]) < 1.0) == (worst["slip_use"] < 1.0)
    if result["hubs"]:
        assert f"highest hub load: {max(result['hubs'], key=lambda each: each['highest_N'])['name']} " in text


@for_each(*PATHS, ids=lambda path: path.stem)
def test_the_card_says_how_the_belt_goes_on_and_where_the_pointer_stands(path: Path) -> None:
    told, text = json.loads(card_json(card_of(_plan(path)))), _text(path, card=True)
    way = "clockwise" if told["turns"] == "clockwise" else "counter-clockwise"
    order = " - ".join(each["name"] + " (back)" * (each["belt_side"] == "back") for each in told["route"])
    assert f", {way} from the front: {order}." in text
    on, pointer = told["fitting"], told["pointer"]
    if on is not None:
        assert f"Slip the belt over {on['last_over']} last: it needs {_mm(on['needs_mm'])} mm of slack" in text
        if on["has_mm"] is not None:
            lacks = on["has_mm"] < on["needs_mm"]
            has = " and has only" if lacks else "; a belt of exactly its nominal length gives"
            assert f"of slack{has} {_mm(on['has_mm'])} mm" in text
            assert ("so it does not go over" in text) == lacks
        if on["kind"] == "arm":
            turned = "counter-clockwise" if on["short"] > on["at"] else "clockwise"
            assert f"Turn the arm of {on['adjuster']} {turned} to {_mm(on['short'])} deg" in text
            effort = f", which takes {on['spring_Nm']:.0f} Nm at its pivot" if on["spring_Nm"] is not None else "deg."
            assert effort in text
        else:
            assert f"Push {on['adjuster']} along its slide to " in text
            assert ("its short stop, `from`" in text) == (abs(on["short"]) < 1e-6)
    if pointer is not None:
        unit, step = pointer["unit"], pointer["step_mm"]
        at, stood = f"{_mm(pointer['at'])} {unit}", text.partition(" stands ")[2]
        first = (f"at {at}, ", f"{at} past `from`, ", f"{at} past the short stop (`from`), ")
        assert stood.startswith(first) or f"{at} short of the long stop (`from`). " in stood
        ends = [" and no further" * math.isclose(pointer[a], pointer[b], abs_tol=1e-6)
                for a, b in (("shorter", "short"), ("longer", "long"))]  # fmt: skip
        assert f"A belt {step:g} mm shorter puts it at {_mm(pointer['shorter'])} {unit}{ends[0]}, " in text
        assert f"{step:g} mm longer at {_mm(pointer['longer'])} {unit}{ends[1]}." in text
        taken = f"{pointer['take_up_mm']:.2f}"
        assert (f" is {taken} mm of belt. Nearer " in text) == (taken != "0.00")
        if pointer["marks"] is not None:
            past, left = pointer["past_new_mm"], pointer["to_worn_mm"]
            assert past is None or f"{'past' if past >= 0.0 else 'before'} the mark `new`" in text
            assert left is None or f"{'short of' if left >= 0.0 else 'past'} the mark `worn`" in text


@for_each(*PATHS, ids=lambda path: path.stem)
def test_the_card_says_what_is_to_be_moved_and_how_the_tension_is_read(path: Path) -> None:
    told, text = json.loads(card_json(card_of(_plan(path)))), _text(path, card=True)
    moves = [each for each in told["line_up"]["pulleys"] if abs(each["move_mm"]) > 0.0]
    for each in moves:
        way = "toward the viewer" if each["move_mm"] > 0.0 else "toward the engine"
        step = f"{each['name']} {abs(each['move_mm']):.2f} mm ({abs(each['move_mm']) / 25.4:.3f} in) {way}"
        assert step in text, step
    unmeasured = [each["name"] for each in told["line_up"]["pulleys"] if each["plane_mm"] is None]
    assert ("first measure the plane of " in text) == (0 < len(unmeasured) < len(told["route"]))
    tension = told["tension"]
    assert (tension is None) == ("TENSION not known, nor what pulls on the brackets" in text)
    if tension is not None:
        span = tension["span"]
        dips, tones = (tension["levels"][0][key] is not None for key in ("deflection_mm", "tone_Hz"))
        where = f"In the middle of the longest span, {span['from']} to {span['to']} ({_mm(span['length_mm'])} mm), "
        ways = [f"press it with {tension['press_N']:g} N and read how far it dips"] * dips
        ways += ["pluck it and read its tone"] * tones
        assert (where + ", or ".join(ways) in text) if ways else where not in text
        short = ", ".join(f"{each['from']} to {each['to']}" for each in tension["not_by_ear"])
        assert not short or short in text

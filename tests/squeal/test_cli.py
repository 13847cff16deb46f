"""`beltplan squeal`: its options, its screen and its JSON."""

import json
import re
from pathlib import Path

import pytest

from beltplan.checks.plan import plan_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from beltplan.squeal.study import CAUSES, look_for
from tests.cli.running import EXAMPLE, OVERLAPPING, Ran, Runner
from tests.for_each import for_each
from tests.shipped import FOLDER, SHIPPED_LAYOUTS
from tests.test_cases import FOLDER as CASES
from tests.test_cases import LAYOUTS, SLOW_TO_DRAW

CAMPER = FOLDER / "camper.yaml"
JUDGED = [CASES / f"{name}.yaml" for name, status in LAYOUTS.items() if status != 2 and name not in SLOW_TO_DRAW]


def test_the_answer_comes_first_and_what_may_be_it_in_full(run: Runner) -> None:
    ran = run("squeal", CAMPER, "--when", "wet,idle")
    assert (ran.code, ran.err) == (0, "")
    lines = ran.out.splitlines()
    assert lines[1].startswith("DOES NOT WORK   3 problems, 1 caution: ")
    assert lines[2:4] == ["HEARD  wet, idle", "MOST LIKELY  crank: slip when wet"]
    assert [line for line in lines if re.match(r"\d  \S", line)] == ["1  crank: slip when wet"]
    # A check finds it, steady slip says more: so `check` tells the crank's slip once too.
    assert any(re.match(r"slip on revving  +crank  +1\.13 .* see slip +no$", line) for line in lines)
    assert f"changes, tried and judged: beltplan cure {CAMPER}" in lines
    assert lines[-1] == f"SAFETY  {SAFETY_IN_SHORT}" and "never reach in" in " ".join(ran.out.split()).lower()
    assert len(lines) < 65


def test_each_cause_is_told_in_full_once_and_its_other_places_in_a_line_each(run: Runner, here: Path) -> None:
    """A crank that swings 3 deg either way: six spans fall slack, and the tensioner meets its stop."""
    text = (FOLDER / "railcar.yaml").read_text().replace("engine: {", "engine: {swing_deg: 3, ")
    Path("railcar.yaml").write_text(text)
    told = run("squeal", "railcar.yaml").out
    found = [each["where"] for each in json.loads(run("squeal", "railcar.yaml", "--json").out)["causes"]
             if each["cause"] == "drive_resonance" and each["severity"] == "problem"]  # fmt: skip
    assert len(found) == 6 and re.findall(r"^(\d)  (.*)$", told, re.MULTILINE) == [
        ("1", f"{found[0]}: slack as the engine fires"),
        ("2", "tensioner: swung against its stop"),
    ]
    assert re.findall(r"^slack as the engine fires +(\S.*\S)  +0 .* beyond$", told, re.MULTILINE) == found[1:]


def test_full_tells_all_causes_in_full_and_the_rule(run: Runner) -> None:
    short, full = (run("squeal", CAMPER, *more).out for more in ((), ("--full",)))
    numbers = [int(found) for found in re.findall(r"^(\d+)  \S", full, re.MULTILINE)]
    told = json.loads(run("squeal", CAMPER, "--json").out)
    assert numbers == list(range(1, len(told["causes"]) + 1)) and len(numbers) > 30
    assert "ORDER  Most likely first" in full and "ORDER" not in short and "more: --full" in short
    assert " ".join(SAFETY.split()) in " ".join(full.split())


@for_each(*SHIPPED_LAYOUTS, *JUDGED, ids=lambda path: path.stem)
def test_every_layout_has_an_answer_within_the_width_that_agrees_with_check(run: Runner, path: Path) -> None:
    ran = run("squeal", path)
    assert (ran.code, ran.err) == (0, "")
    assert max(len(line) for line in ran.out.splitlines() if not line.startswith("changes, ")) <= 100
    assert not re.search(r"\b(nan|inf|None)\b", ran.out)
    assert "MOST LIKELY" in ran.out and all(
        name in ran.out for name, _ in look_for(plan_of(read_layout(str(path)).layout).layout.belt)
    )
    _agrees_with_check(ran.out, run("check", path).out.splitlines()[1], path)


def test_before_what_is_likely_stands_that_no_slip_is_judged_and_what_to_give(run: Runner, here: Path) -> None:
    """Done as it says, it is judged."""
    text = CAMPER.read_text()
    (named,) = re.findall(r"^belt: *(6PK\d*)", text, re.MULTILINE)
    told = []
    for belt in ("6PK1200", "6PK"):
        Path("camper.yaml").write_text(text.replace(f"belt: {named}", f"belt: {belt}", 1))
        told.append(" ".join(run("squeal", "camper.yaml").out.split()))
    assert (
        "6PK1200 does not fit. Give the layout a `belt` that does, or its size alone: 6PK MOST LIKELY of the rest, "
        in told[0]
    )
    assert "NOT JUDGED" not in told[1] and "MOST LIKELY crank: slip" in told[1]


def test_of_a_v_belt_no_ribs_are_told(run: Runner, here: Path) -> None:
    told = run("squeal", FOLDER / "orchard_sprayer.yaml").out
    assert "worn flanks: " in told and not re.search(r"\bribs?\b", told)
    assert "worn rib: " in run("squeal", CAMPER).out
    asked = (FOLDER / "orchard_sprayer.yaml").read_text(encoding="utf-8").replace("power_kW: 1.8", "power_kW: 4.5")
    (here / "heavy.yaml").write_text(asked, encoding="utf-8")
    heavy = run("squeal", "heavy.yaml", "--full").out
    assert "a wider belt section and then more tension" in heavy and not re.search(r"\bribs?\b", heavy)


def test_json_is_one_object_with_the_whole_list(run: Runner) -> None:
    ran = run("squeal", CAMPER, "--json", "--when", "wet, idle", "--water", "louder", "--variant", "with idler")
    told = json.loads(ran.out, parse_constant=pytest.fail)
    assert (ran.code, ran.err, told["variant"]) == (0, "", "with idler")
    assert told["heard"] == {"when": ["wet", "idle"], "water": "louder"} and told["caution"] == SAFETY
    assert [row["cause"] for row in told["table"]] == [cause.name for cause in CAUSES]
    assert {row["source"] for row in told["table"]} == {"common practice, no source"}
    first, second = told["causes"][:2]
    assert (first["cause"], first["severity"], first["command"]) == ("slip_low", None, None)
    assert (second["cause"], second["fits"], second["limit"], second["checks"]) == ("slip_wet", True, 1.0, ["slip"])
    assert second["margin"] == pytest.approx(1.0 - second["value"])
    near = [each for each in told["causes"] if each["severity"] and each["checks"]]
    assert near and all(each["command"].endswith("camper.yaml --variant 'with idler'") for each in near)
    assert all((each["severity"] is None) is (each["change"] is None) for each in told["causes"])


@for_each(
    (("--when", "wett,idle,sunny"),
     "--when: got 'wett' (did you mean wet?); allowed: cold, wet, hot, idle, revving, letting_off, full_load, "
     "always\n--when: got 'sunny'; allowed: cold, wet, hot, idle, revving, letting_off, full_load, always\n"),
    (("--water", "loudr", "--when", ""),
     "--when: got ''; allowed: cold, wet, hot, idle, revving, letting_off, full_load, always\n"
     "--water: got 'loudr' (did you mean louder?); allowed: louder, quieter, same\n"),
)  # fmt: skip
def test_words_that_there_are_not(run: Runner, options: tuple[str, ...], told: str) -> None:
    assert run("squeal", CAMPER, *options) == Ran(2, "", told)


def test_no_belt_path_is_refused(run: Runner, here: Path) -> None:
    Path("layout.yaml").write_text(OVERLAPPING)
    ran = run("squeal", "layout.yaml", "--when", "wet")
    assert (ran.code, ran.out) == (2, "") and ran.err.startswith("layout.yaml:3: pulleys.crank, pulleys.far: ")


def test_lengths_in_inches(run: Runner) -> None:
    mm, inches = (run("squeal", EXAMPLE, "--full", "--units", units).out for units in ("mm", "in"))
    diameters = [[float(size) for size in re.findall(r"number  ([\d.]+) (?:mm|in), ", text)] for text in (mm, inches)]
    assert diameters[0] and diameters[1] == pytest.approx([size / 25.4 for size in diameters[0]], abs=0.006)
    shown = [run("squeal", FOLDER / "too_tight.yaml", "--units", units).out for units in ("mm", "in")]
    table = [re.findall(r"^small pulley .*? ([\d.]+) +([\d.]+) +(mm|in)", text, re.MULTILINE) for text in shown]
    told = {
        "mm": [("55.0", "60.0", "mm"), ("44.0", "45.0", "mm")],
        "in": [("2.17", "2.36", "in"), ("1.73", "1.77", "in")],
    }
    assert table == [*told.values()]


@for_each(
    (
        "railcar",
        (),
        "no number explains it: begin with LOOK FOR. compressor: little wrap, which squeals only where it slips",
    ),
    ("workboat", (), "no number explains it: begin with LOOK FOR"),
    (
        "orchard_sprayer",
        (),
        "no number explains it for sure; perhaps slack as the engine fires at crank to pump_and_fan.",
    ),
    ("railcar", ("--water", "quieter"), "no number that fits explains it: begin with LOOK FOR"),
    ("camper", ("--when", "letting_off"), "crank: slip on letting off"),
    ("camper", ("--when", "revving"), "crank: slip on revving"),
    ("camper", (), "crank: slip when wet"),
)
def test_the_headline(run: Runner, name: str, options: tuple[str, ...], told: str) -> None:
    told_in = " ".join(run("squeal", FOLDER / f"{name}.yaml", *options).out.split())
    assert f"MOST LIKELY {told}" in told_in


def _agrees_with_check(told: str, checked: str, path: Path) -> None:
    """The verdict is that of `check`; nothing is called far where a check finds something, unless slip decides."""
    assert told.splitlines()[1].startswith(checked)
    likely = " ".join(told.split("MOST LIKELY")[1].split("\n\n")[0].split())
    likely = likely.removeprefix("of the rest, ")
    causes = {check.name for cause in CAUSES for check in cause.checks}
    findings = plan_of(read_layout(str(path)).layout).findings
    found = [each for each in findings if each.check in causes and each.severity != "note"]
    wraps = {each.subject for each in found if each.check == "wrap"}
    if likely.startswith("nothing"):
        assert all(each.check == "wrap" and each.subject in likely for each in found), found
    elif ": wrap" in likely:
        assert likely.split(": ")[0] in wraps

"""The text report: nothing over 100 columns, verdict first, caution last, no control characters."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.fit import BUILT_IN_SOURCE
from beltplan.drive.mechanics import CONDITIONS
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.words import SAFETY
from tests.cure.drives import layout_of, revving_camper
from tests.for_each import for_each
from tests.report.results import EXAMPLE, FIXED, SLIDE, report_from, route_from, text_of
from tests.shipped import SHIPPED_LAYOUTS

WIDEST = 100
LONG = "auxiliary generator, starboard side, aft"  # 40 characters, the most that a name may have
FILES = (EXAMPLE, *SHIPPED_LAYOUTS)
EVERY = [(file, variant) for file in FILES for variant in (None, *read_layout(str(file)).variants)]


def long_names() -> str:
    """The example with the longest title and names allowed, long numbers and sixty variants."""
    tree = yaml.safe_load(EXAMPLE.read_text(encoding="utf-8"))
    names = {name: f"{i} {LONG}"[:40] for i, name in enumerate(tree["pulleys"])}
    tree["title"] = ("An unusually long title, " * 10)[:200]
    tree["pulleys"] = {names[name]: each for name, each in tree["pulleys"].items()}
    tree["route"] = [names[name] for name in tree["route"]]
    tree["limits"] = {"min_wrap_deg": {names["pump"]: 230}}
    tree["obstacles"] = {LONG: {"circle": {"at": [150, 200], "diameter": 90}}}
    tree["variants"] = {f"{i} {LONG}"[:40]: {"title": f"Variant {i}"} for i in range(60)}
    return yaml.dump(tree, sort_keys=False)


def assert_fit_for_a_terminal(report: str) -> None:
    assert [line for line in report.splitlines() if len(line) > WIDEST] == []
    assert all(character.isprintable() or character == "\n" for character in report)
    assert all(line == line.rstrip() for line in report.splitlines())


@for_each(*EVERY, ids=lambda value: getattr(value, "stem", value))
def test_reports_of_layouts(tmp_path: Path, file: Path, variant: str | None) -> None:
    assert_fit_for_a_terminal(report_from(file, tmp_path, variant))


@pytest.mark.parametrize("variant", [None, f"59 {LONG}"[:40]])
def test_longest_names_and_many_variants(variant: str | None, tmp_path: Path) -> None:
    report = report_from(long_names(), tmp_path, variant)
    assert_fit_for_a_terminal(report)
    assert "  problem  " in report


@pytest.mark.parametrize(
    "text", [SLIDE, FIXED, SLIDE.replace("stock: [6PK970, 6PK1030]", ""), FIXED.replace("905", "700")]
)
def test_small_layouts(text: str, tmp_path: Path) -> None:
    assert_fit_for_a_terminal(report_from(text, tmp_path))


@for_each(
    (SLIDE, "BELTS THAT FIT best first"),
    (SLIDE.replace("stock: [6PK970, 6PK1030]", ""), f"BELTS THAT FIT best first ({BUILT_IN_SOURCE})"),
    (FIXED, "BELTS THAT FIT best first"),
    (FIXED.replace("6PK905, 6PK915", "6PK700"), "BELTS THAT FIT none on the list"),
)
def test_where_lengths_come_from_is_told_of_the_built_in_list_alone(tmp_path: Path, text: str, told: str) -> None:
    words = " ".join(report_from(text, tmp_path).split())
    assert told in words and (BUILT_IN_SOURCE in words) == (BUILT_IN_SOURCE in told)


@pytest.mark.parametrize("text", [EXAMPLE, SLIDE, FIXED])
def test_title_then_verdict_then_the_rest_and_the_caution_last(text: str | Path, tmp_path: Path) -> None:
    report = report_from(text, tmp_path)
    lines = report.splitlines()
    assert lines[1].startswith(("WORKS ON PAPER", "DOES NOT WORK"))
    heads = ("BUY ", "TO DO", "pulley ", "Seen from", "BELTS THAT FIT", "span ", "TENSION  ", "SAFETY  Rotating")
    places = [next(i for i, line in enumerate(lines) if line.startswith(head)) for head in heads]
    assert places == sorted(places)
    assert " ".join(report.split()).endswith(SAFETY)


def test_the_numbers_are_those_of_the_closed_form(tmp_path: Path) -> None:
    # Two equal pulleys of 100 mm: 2 x distance + 100 pi, at 300, 330 and 360 mm; 25.4 mm to the inch.
    report = " ".join(report_from(SLIDE, tmp_path).split())
    for words in ("path 914.2 to 1034.2 mm (35.99 to 40.71 in)", "974.2 mm (38.35 in)", "6PK970 (38.19 in)"):
        assert words in report


def test_belts_that_only_their_tolerance_lets_on_are_not_called_good(tmp_path: Path) -> None:
    report = report_from(
        FIXED.replace("stretch_fit_percent: [0.5, 1.5]", "ribs: 6").replace(", ribs: 6, ", ", "), tmp_path
    )
    assert "none: it could not be put on" in report and "will do" not in report
    assert "will do" in report_from(FIXED, tmp_path)


def test_every_finding_is_told_with_its_severity_and_source(tmp_path: Path) -> None:
    report = report_from(long_names(), tmp_path)
    told = " ".join(report.split())
    assert "of 230" in told and "(a) the layout file" in told and "common practice, no source" in told
    assert told.index(" problem ") < told.index(" caution ") < told.index(" note ")


def test_a_drive_with_nothing_to_say_says_so(tmp_path: Path) -> None:
    quiet = SLIDE.replace("at: [0, 0]", "at: [0, 0], plane: 0").replace(
        "diameter: 100, slide", "diameter: 100, plane: 0, slide"
    )
    report = report_from(quiet + "engine: {max_rpm: 3000}\n", tmp_path)
    assert "nothing found against it" in report
    assert [line for line in report.splitlines() if line.startswith(("  problem", "  caution"))] == []


def test_no_findings_at_all_is_said(tmp_path: Path) -> None:
    route = route_from(SLIDE, tmp_path)
    assert "TO DO  nothing" in text_of(Plan(route, None, ()))


def test_the_slip_table_tells_steady_running_and_revving_apart() -> None:
    """The camper's crank with a weak spring: 0.86 in the wet steadily; revving as solved by the drive itself."""
    plan = plan_of(revving_camper(16.0, 3000.0))
    assert plan.operation is not None
    changed, lines = plan.operation.revving, text_of(plan).splitlines()
    assert changed is not None
    (head,) = [line.split() for line in lines if line.startswith("slip ")]
    (crank,) = [line.split() for line in lines if line.startswith("crank ") and "batteries" in line]
    wet = changed[1][CONDITIONS.index("wet"), ..., 0].max()
    # The duty has words of its own, so count from the end: wet, design, wet low, revving, 800, 57.1.
    assert head[-5:] == ["revving", "at", "rpm", "torque", "Nm"]
    assert crank[-3] == f"{wet:.2f}" and crank[-6] == "0.86"
    told = " ".join(" ".join(lines).split())
    assert "Grip used at the worst steady speed and duty" in told
    assert "Revving: wet, while the engine speeds up or slows down by 3000 rpm a second" in told


def test_without_a_speed_of_change_no_revving_is_told() -> None:
    told = " ".join(text_of(plan_of(layout_of("workboat"))).split())
    assert "at the worst steady speed" in told and "evving" not in told

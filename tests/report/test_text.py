"""The text report: nothing over 100 columns, verdict first, caution last, no control characters."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from beltplan.checks.card import card_of
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.fit import BUILT_IN_SOURCE
from beltplan.drive.layout import Engine
from beltplan.drive.mechanics import CONDITIONS
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.slip import slip_scene
from beltplan.report.check_json import result_of, result_text
from beltplan.report.check_text import check_report
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY
from tests.checks.drives import RIM_UNDER_MM, belt_of, sliding
from tests.cli.running import Runner
from tests.cure.drives import layout_of, revving_camper
from tests.for_each import for_each
from tests.report.results import EXAMPLE, FIXED, LAYOUTS, SLIDE, report_from, route_from, text_of
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
    assert "none can be put on" in report and "will do" not in report
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


# What is assumed of the loads is named, in the report and in JSON; what is given is not.


CASES = Path(__file__).parents[1] / "cases"
GIVEN = "voltage_V: 14.2, efficiency: 0.6, output: {rpm: [1000, 6000], A: [0, 140]}"


def _text_and_json(path: Path) -> tuple[str, dict[str, Any]]:
    plan = plan_of(read_layout(str(path)).layout)
    result: dict[str, Any] = json.loads(result_text(plan))
    return " ".join(text_of(plan).split()), result


def _of_alternator(result: dict[str, Any]) -> dict[str, Any]:
    (row,) = [row for row in result["loads"] if row["name"] == "alternator"]
    assumed: dict[str, Any] = row["assumed"]
    return assumed


def _torque_at_idle_Nm(result: dict[str, Any]) -> float:
    points = [point for point in result["operating"] if point["rpm"] == 650.0]
    (torque,) = {row["torque_Nm"] for point in points for row in point["pulleys"] if row["name"] == "alternator"}
    return float(torque)


def test_a_current_without_a_rating_is_not_halved_at_idle() -> None:
    """60 A x 14.2 V, and 2 W of shaft for 1 W of current (doi 10.1201/9781003053231-3, abstract)."""
    text, result = _text_and_json(CASES / "alternator_no_rating.yaml")
    (pulley,) = [row for row in result["pulleys"] if row["name"] == "alternator"]
    assert _torque_at_idle_Nm(result) == pytest.approx(2.0 * 60.0 * 14.2 / (pulley["rpm"]["idle"] * 0.10472), rel=1e-5)
    assert _of_alternator(result) == {"efficiency": 0.5}
    assert "assumed for alternator: efficiency 0.5 [doi 10.1201/9781003053231-3" in text
    assert "output" not in text


def test_the_curve_of_a_rating_is_named_as_assumed() -> None:
    """From memory, medium confidence: the shares at 1500, 2000, 3000 and 6000 rpm of its own shaft."""
    text, result = _text_and_json(CASES / "alternator_rated.yaml")
    expected = {"rpm": [1000.0, 1500.0, 2000.0, 3000.0, 6000.0], "A": pytest.approx([0.0, 56.0, 86.8, 114.8, 140.0])}
    assert _of_alternator(result) == {"efficiency": 0.5, "output": expected}
    assert "assumed for alternator: output 0.40, 0.62, 0.82, 1.00 of rated_A at 1500, 2000, 3000, 6000 rpm" in text


def test_what_is_given_is_not_assumed(tmp_path: Path) -> None:
    given = (CASES / "alternator_rated.yaml").read_text(encoding="utf-8").replace("voltage_V: 14.2", GIVEN)
    path = tmp_path / "given.yaml"
    path.write_text(given, encoding="utf-8")
    text, result = _text_and_json(path)
    assert _of_alternator(result) == {}
    assert "assumed for alternator" not in text
    assert "assumed for steering_pump: efficiency 0.85" in text


def test_a_usual_load_is_named_wherever_loads_are_told(tmp_path: Path) -> None:
    """All of the rating at 14.2 V: common practice, no source."""
    stated = (CASES / "alternator_rated.yaml").read_text(encoding="utf-8")
    path = tmp_path / "usual.yaml"
    path.write_text(stated.replace("{current_A: 60, voltage_V: 14.2}", "usual"), encoding="utf-8")
    text, result = _text_and_json(path)
    words = "all of rated_A at 14.2 V, half of it cruising, as far as it gives that"
    assert _of_alternator(result)["load"] == words
    assert f"assumed for alternator: load {words} [common practice, no source]" in text
    notes = [row["message"] for row in result["findings"] if row["severity"] == "note" and row["check"] == "slip"]
    assert any("usual loads assumed for alternator" in note for note in notes)
    told = " ".join(label.text for label in slip_scene(plan_of(read_layout(str(path)).layout)).labels)
    assert "Loads of alternator are assumed" in " ".join(told.split())
    assert "usual loads" not in _text_and_json(CASES / "alternator_rated.yaml")[0]


def test_loads_in_other_units_are_told_as_they_were_taken(run: Runner, tmp_path: Path) -> None:
    """1 psi is 0.0689476 bar, 1 hp 0.7457 kW (NIST SP 811, appendix B.8)."""
    text = (LAYOUTS / "workboat.yaml").read_text(encoding="utf-8")
    given = re.sub(r"load: \{pressure_bar: [^,}]+", "load: {pressure_bar: 120 psi", text)
    assert given != text
    path = tmp_path / "psi.yaml"
    path.write_text(given, encoding="utf-8")
    told = " ".join(run("check", path, "--full").out.split())
    assert f"loads as read: steering_pump {120 * 0.0689476:.4g} bar at " in told


# Ratio and pull of an automotive V-belt count on its cord, 3 mm under the rim: derived from memory, low confidence.


ORCHARD = Path(__file__).parents[2] / "layouts" / "orchard_sprayer.yaml"
ABOUT = "Ratios are about: the cord of AV13 is taken {} mm under the rim ["


def test_ratio_pull_and_length_follow_the_cord() -> None:
    """155 mm on 86 mm over the rims: (77.5 - 3) / (43 - 3) = 1.8625; the pull is the torque over 40 mm."""
    result = result_of(plan_of(read_layout(str(ORCHARD)).layout))
    assert result["pulleys"][2]["ratio"] == pytest.approx(74.5 / 40.0)
    assert (result["belt"]["pitch_line_mm"], result["belt"]["pitch_line_source"][:19]) == (-3.0, "derived from memory")
    assert result["belt"]["length_mm"] - result["belt"]["pitch_length_mm"] == pytest.approx(2.0 * 3.0 * 3.14159, 1e-5)
    idle = result["operating"][0]
    entering, leaving = (span["tractive_N"] for span in idle["spans"][1:])
    assert leaving - entering == pytest.approx(1000.0 * idle["pulleys"][2]["torque_Nm"] / 40.0)


@pytest.mark.parametrize(
    ("more", "depth", "source"),
    [("", "3.0", "derived from memory"), ("cord_below_back_mm: 2", "2.0", "the layout file")],
)
def test_the_report_says_about_and_where_the_cord_is_from(tmp_path: Path, more: str, depth: str, source: str) -> None:
    given = ORCHARD.read_text(encoding="utf-8").replace("  profile: AV13\n", f"  profile: AV13\n  {more}\n")
    (tmp_path / "layout.yaml").write_text(given, encoding="utf-8")
    plan = plan_of(read_layout(str(tmp_path / "layout.yaml")).layout)
    assert ABOUT.format(depth) + source in " ".join(text_of(plan).split())


def test_a_ribbed_belt_counts_on_its_standard() -> None:
    """ISO 9981:2020, 5.4."""
    plan = plan_of(read_layout(str(ORCHARD.with_name("railcar.yaml"))).layout)
    assert "Ratios are about" not in text_of(plan)
    assert result_of(plan)["belt"]["pitch_line_source"].startswith("ISO 9981")


# Where the adjuster stands is told from the file's own `from`, alike by `check` and the fitter's card.


def test_check_counts_from_the_start_of_the_slot_where_its_first_part_cannot_be_used() -> None:
    """Path 2 x distance + 100 pi = 800 puts the centres 242.9 mm apart; rims meet at 99.6, the slot begins at 90."""
    plan = plan_of(
        belt_of(
            800.0,
            sliding((90.0, 0.0), (360.0, 0.0), at=0.5, tension_N=500.0, engine=Engine(idle_rpm=800.0, max_rpm=4000.0)),
        )
    )
    touching, apart = 100.0 - 2.0 * RIM_UNDER_MM, (800.0 - 314.159) / 2.0
    full = " ".join(shown(check_report(plan, full=True), Screen(100)).split())
    apart += 0.5 * 800.0 * (500.0 - 6 * 50.0) / (6 * 28_000.0)  # Hooke, from measuring to set tension
    assert f"under tension, engine stopped, it stands at {apart - 90.0:.1f} mm past `from`" in full
    assert f"{apart - touching:.1f} mm from the short and {360.0 - apart:.1f} mm from the long end of its" in full
    pointer = card_of(plan).pointer
    assert pointer is not None and round(pointer.at, 1) == round(apart - 90.0, 1)


@pytest.mark.parametrize("full", [False, True])
def test_the_sign_beside_a_wrap_is_explained_where_there_is_one(full: bool) -> None:
    for name in ("camper", "workboat", "orchard_sprayer"):
        plan = plan_of(layout_of(name))
        told = shown(check_report(plan, full), Screen(width=120)).splitlines()
        signed = any(re.search(r"\d !  ", line) for line in told)
        assert told.count("! beside a wrap: see TO DO") == signed == any(each.check == "wrap" for each in plan.findings)

"""What is assumed of the loads is named, in the report and in JSON; what is given is not."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from beltplan.checks.plan import plan_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.slip import slip_scene
from beltplan.report.check_json import result_text
from tests.cli.running import Runner
from tests.report.results import LAYOUTS, text_of

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

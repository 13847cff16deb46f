"""Ratio and pull of an automotive V-belt count on its cord, 3 mm under the rim: derived from memory, low confidence."""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.checks.plan import plan_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.check_json import result_of
from tests.report.results import text_of

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

"""A layout without a belt path is refused in the units of its file."""

from __future__ import annotations

from pathlib import Path

from tests.cli.running import Runner

OVERLAP = """\
units: in
belt: 6PK
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 6}
  pump: {role: water_pump, at: [4, 0], diameter: 5}
  fan: {role: fan, at: [0, 12], diameter: 4}
route: [crank, pump, fan]
"""


def test_an_overlap_in_a_file_in_inches_is_told_in_inches(run: Runner, here: Path) -> None:
    """Radii of 3 and 2 1/2 in reach 5 1/2 in, the centres are 4 in apart, plus the ribs' tips: about 1.5 in."""
    Path("file.yaml").write_text(OVERLAP, encoding="utf-8")
    told = run("check", "file.yaml").err
    assert "overlap by 1." in told and "centres 4.000 in apart" in told and " mm" not in told


ODD = """\
belt: 6PK
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 150}
  pump: {role: water_pump, at: [100, 0], diameter: 150}
  fan:
    role: fan
    at: [0, 300]
    rim_diameter: 6
route: [crank, pump, fan]
idler_sizes:
  [3, 70]
"""


def test_a_doubtful_size_behind_an_overlap_is_told_at_the_line_of_its_own_key(run: Runner, here: Path) -> None:
    Path("file.yaml").write_text(ODD, encoding="utf-8")
    lines = run("check", "file.yaml").err.splitlines()
    asked = {key: line for line in lines for key in ("fan.rim_diameter", "idler_sizes") if f"{key}: " in line}
    assert asked["fan.rim_diameter"].startswith("file.yaml:8: pulleys.fan.rim_diameter: a diameter of 6")
    assert asked["idler_sizes"].startswith("file.yaml:10: idler_sizes: a diameter of 3 mm")

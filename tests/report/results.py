"""Results and reports of layouts given as YAML text, for the tests of this folder. All layouts invented."""

import json
from pathlib import Path
from typing import Any

import pytest

from beltplan.checks.plan import Plan, plan_on
from beltplan.drive.route import Route, route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.check_json import result_text
from beltplan.report.check_text import check_report
from beltplan.report.screen import Screen, shown

EXAMPLE = Path(__file__).parent / "example.yaml"
"""The manual's own example of a layout file."""
CLOSE = 6e-7
"""Lengths and angles stand in the JSON to 1e-6 mm or deg: a little over half of that."""
LAYOUTS = Path(__file__).parents[2] / "layouts"

SLIDE = """\
belt: 6PK
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 100}
  far: {role: alternator, diameter: 100, slide: {from: [300, 0], to: [360, 0]}}
route: [crank, far]
stock: [6PK970, 6PK1030]
"""
FIXED = """\
belt: {profile: PK, ribs: 6, stretch_fit_percent: [0.5, 1.5]}
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 100}
  far: {role: alternator, at: [300, 0], diameter: 100}
route: [crank, far]
stock: [6PK905, 6PK915]
"""


def route_from(text: str | Path, folder: Path, variant: str | None = None) -> Route:
    if isinstance(text, str):
        file = folder / "layout.yaml"
        file.write_text(text, encoding="utf-8")
        text = file
    return route_of(read_layout(str(text), variant).layout)


def result_from(text: str | Path, folder: Path, variant: str | None = None) -> dict[str, Any]:
    """The JSON result, read back by the standard library; words such as NaN fail."""
    return read_back(json_from(route_from(text, folder, variant)))


def json_from(route: Route) -> str:
    return result_text(plan_on(route))


def read_back(text: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(text, parse_constant=pytest.fail)
    return loaded


def report_from(text: str | Path, folder: Path, variant: str | None = None) -> str:
    return text_of(plan_on(route_from(text, folder, variant)))


def text_of(plan: Plan, full: bool = True) -> str:
    return shown(check_report(plan, full), Screen())

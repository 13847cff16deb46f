"""Route, driver and adjuster.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

from __future__ import annotations

from pathlib import Path

from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

ROUTE = [
    ("tight, pump, idler]", "tight, pump, pump]", 12, "route.4", "'pump' a second time"),
    ("tight, pump, idler]", "tight, pomp, idler]", 12, "route.3", "did you mean pump?"),
    ("tight, pump, idler]", "tight, [pump], idler]", 12, "route.3", "a list"),
    ("route: [crank, tight, pump, idler]", "route: [crank]", 12, "route", "a list of 1"),
    ("route: [crank, tight, pump, idler]", "route: crank", 12, "route", "'crank'"),
    ("route: [crank, tight, pump, idler]", "", 1, "route", "nothing"),
    ("route: [crank, tight, pump, idler]", "route: [tight, pump, idler]", 12, "route", "'crank', the driver"),
    ("route: [crank, tight, pump, idler]", "route: [crank, pump, idler]", 12, "route", "'tight', with its adjuster"),
    ("role: crankshaft", "role: other", 2, "pulleys", "no driver"),
    ("role: water_pump", "role: crankshaft", 2, "pulleys", "more than one driver: crank, pump"),
    ("role: crankshaft", "role: crankshaft, drives: false", 2, "pulleys", "no driver"),
    ("at: [-190, 300]", "slide: {from: [0, 1], to: [1, 1]}", 10, "pulleys.tight.arm", "adjusters on pump, tight"),
]


@for_each(*ROUTE)
def test_wrong_routes_and_drivers(tmp_path: Path, old: str, new: str, line: int, key: str, words: str) -> None:
    assert old in PLAIN
    (fault,) = faults_of(tmp_path, PLAIN.replace(old, new, 1))
    assert (fault.line, fault.key) == (line, key)
    assert words in fault.got
    assert fault.allowed


def test_another_pulley_may_drive(tmp_path: Path) -> None:
    text = PLAIN.replace("diameter: 130", "diameter: 130, drives: true")
    layout = read_layout(written(tmp_path, text)).layout
    assert [pulley.name for pulley in layout.pulleys.values() if pulley.drives] == ["pump"]


def test_a_second_crankshaft_pulley_off_the_route_is_no_driver(tmp_path: Path) -> None:
    text = PLAIN.replace("pulleys:", "pulleys:\n  second: {role: crankshaft, at: [0, 0], diameter: 120}")
    layout = read_layout(written(tmp_path, text)).layout
    assert layout.driver.name == "crank"
    assert [pulley.name for pulley in layout.unrouted] == ["second"]

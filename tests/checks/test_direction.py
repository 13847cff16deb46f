"""How the route was read, and pulleys left out of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from beltplan.checks.every_check import findings_of
from beltplan.checks.plan import plan_on
from beltplan.cli.exits import Refused, route_or_refuse
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.check_text import check_report
from beltplan.report.screen import Screen, shown
from tests.checks.drives import found, layout, pulley, route, sagging, severity, triangle, two
from tests.cli.running import EXAMPLE, Runner
from tests.for_each import for_each
from tests.shipped import SHIPPED_LAYOUTS


def test_one_way_round_is_no_finding() -> None:
    # Three pulleys on the ribs: listed the wrong way round they make a loop that turns against the driver.
    assert found(triangle(100.0, pulley("it", "crankshaft", 0, 0)), "direction") == []


@pytest.mark.parametrize("listed", [("crank", "left", "far", "right"), ("right", "far", "left", "crank")])
def test_a_route_may_be_listed_either_way_round(listed: tuple[str, ...]) -> None:
    places = {"crank": (0.0, -200.0), "left": (-200.0, 0.0), "far": (0.0, 200.0), "right": (200.0, 0.0)}
    pulleys = [
        pulley(n, "crankshaft" if n == "crank" else "idler", *places[n]) for n in ("crank", "left", "far", "right")
    ]
    given = layout(*pulleys)
    laid = route(type(given)(given.title, given.belt, given.pulleys, listed))
    # Clockwise seen from the front: from the bottom to the viewer's left, then up.
    assert [p.name for p in laid.pulleys] == ["crank", "left", "far", "right"]


@pytest.mark.parametrize("role", ["idler", "alternator"])
def test_a_pulley_that_is_not_in_the_route_is_the_first_caution(role: str) -> None:
    given = two(beside=(pulley("lost", role, 150, 400),))
    first = next(finding for finding in findings_of(route(given), None) if finding.severity == "caution")
    assert (first.check, first.subject) == ("not_on_belt", "lost")
    assert first.advice == "was it forgotten in `route`?" + " If not, write `optional: true`" * (role == "idler")


@for_each(*SHIPPED_LAYOUTS)
def test_an_accessory_left_out_of_the_route_is_asked_after_before_all_else(path: Path) -> None:
    """Whatever else is then wrong follows from it; where no belt can be laid the refusal asks."""
    file = read_layout(str(path))
    for each in file.layout.routed:
        listed = tuple(name for name in file.layout.route if name != each.name)
        bad = replace(file, layout=replace(file.layout, route=listed))
        if each.drives or each.guides_only:
            continue
        try:
            told = shown(check_report(plan_on(route_or_refuse(bad))), Screen()).splitlines()
        except Refused as refusal:
            first = str(refusal).split("? ")[0]
            assert each.name in first and first.endswith(("in `route`: forgotten", "forgotten in `route`"))
        else:
            asked = [line for line in told if line.startswith("FIRST ")]
            assert told[2].startswith("FIRST ") and any(f" {each.name}: not on this belt" in line for line in asked)


def test_an_idler_that_may_be_left_out_is_told_below() -> None:
    given = two(beside=(pulley("spare", "idler", 150, 400, optional=True),))
    assert severity(given, "not_on_belt", "spare") == "note"


def test_a_belt_that_cannot_be_laid_without_a_forgotten_pulley(run: Runner, tmp_path: Path) -> None:
    """Two are missing, so no one pulley put in makes a path."""
    listed = "route: [crank, tensioner, pump, guide, generator]"
    text = EXAMPLE.read_text().replace(listed, "route: [guide, crank, tensioner]")
    (tmp_path / "layout.yaml").write_text(text)
    told = run("check", tmp_path / "layout.yaml")
    assert told.code == 2 and "pump and generator not in `route`: forgotten?" in told.err


def test_every_pulley_on_the_route_is_no_finding() -> None:
    assert found(two(), "not_on_belt") == []


def test_an_open_side_is_told() -> None:
    """The project's own rule: whatever only `route` decides is judged on the back, and said."""
    back = pulley("guide", "idler", 0, 0, 80, side_open=True)
    (note,) = found(sagging(60.0, back), "open_side")
    assert (note.severity, note.subject) == ("note", "guide") and "on the back" in note.message
    assert found(sagging(60.0, pulley("guide", "idler", 0, 0, 80)), "open_side") == []

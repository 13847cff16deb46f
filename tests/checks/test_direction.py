"""How the route was read, and pulleys left out of it."""

from __future__ import annotations

import pytest

from tests.checks.drives import found, layout, pulley, route, sagging, severity, triangle, two


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


@pytest.mark.parametrize(("role", "expected"), [("idler", "note"), ("alternator", "caution")])
def test_a_pulley_off_the_route(role: str, expected: str) -> None:
    given = two(beside=(pulley("lost", role, 150, 400),))
    assert severity(given, "not_on_belt", "lost") == expected


def test_every_pulley_on_the_route_is_no_finding() -> None:
    assert found(two(), "not_on_belt") == []


def test_an_open_side_is_told() -> None:
    """The project's own rule: whatever only `route` decides is judged on the back, and said."""
    back = pulley("guide", "idler", 0, 0, 80, side_open=True)
    (note,) = found(sagging(60.0, back), "open_side")
    assert (note.severity, note.subject) == ("note", "guide") and "on the back" in note.message
    assert found(sagging(60.0, pulley("guide", "idler", 0, 0, 80)), "open_side") == []

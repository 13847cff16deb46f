"""Why there is no route: the reason told is true by the reference that tries everything."""

from __future__ import annotations

from dataclasses import replace

import pytest

from beltplan.drive.layout import Layout
from beltplan.drive.route import NoBeltPath, PathFault
from beltplan.routes.study import search_routes
from tests.checks.drives import layout, pulley, two
from tests.for_each import for_each
from tests.routes.drives import narrowed, scattered
from tests.routes.reference import routes_by_trying


def faults(given: Layout) -> tuple[PathFault, ...]:
    """The reasons."""
    with pytest.raises(NoBeltPath) as caught:
        search_routes(given)
    return caught.value.faults


def without(given: Layout, name: str) -> Layout:
    """The same without a pulley."""
    rest = {key: p for key, p in given.pulleys.items() if key != name}
    return replace(given, pulleys=rest, route=tuple(rest))


def test_pulleys_that_overlap() -> None:
    (fault,) = faults(two(90.0))
    assert fault.pulleys == ("crank", "far") and "overlap by" in fault.got and "centres 90.00 mm apart" in fault.got


def test_a_pulley_that_no_span_comes_to() -> None:
    """A small pulley in a pocket: the others of 190 mm stand 200 mm apart round it, and every span to it cuts one."""
    shut = layout(
        pulley("crank", "crankshaft", 0, 0, 280), pulley("a", "fan", 300, 0, 290), pulley("b", "fan", 150, 260, 280),
        pulley("in", "fan", 150, 85, 20),
    )  # fmt: skip
    assert routes_by_trying(shut) == set()
    found = faults(shut)
    assert [fault.pulleys for fault in found] == [("in",)]


@for_each(0, 2, 3, 7)
def test_those_without_which_there_is_a_route(seed: int) -> None:
    given = scattered(seed, 6)
    expected = {name for name in given.pulleys if name != "p0" and routes_by_trying(without(given, name))}
    assert expected and routes_by_trying(given) == set()
    told = faults(given)
    assert {fault.pulleys for fault in told} == {(name,) for name in expected}
    assert all(f"without {fault.pulleys[0]}" in fault.got for fault in told)


def test_no_pulley_alone_is_to_blame() -> None:
    """By the reference there is no route either, whichever pulley is left out."""
    given = scattered(11, 6)
    assert not any(routes_by_trying(without(given, name)) for name in given.pulleys if name != "p0")
    (fault,) = faults(given)
    assert fault.pulleys == tuple(given.pulleys) and "nor round all but one" in fault.got


def test_a_beam_does_not_claim_that_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    narrowed(monkeypatch, 10, 5)
    (fault,) = faults(scattered(0, 9, open_sides=2))
    assert "not all were tried" in fault.got

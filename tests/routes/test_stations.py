"""Sides that work and surface allow, and what lies between pulleys on them. Distances are plane geometry."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from beltplan.drive.belt import Belt
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import Turns
from beltplan.routes.stations import allowed_sides, field_of, impossible, stations_of
from tests.checks.drives import layout, pulley, two
from tests.for_each import for_each

BOTH, RIBBED, BACK = ("ribbed", "back"), ("ribbed",), ("back",)
SIDES = [
    ({"role": "fan"}, RIBBED),
    ({"role": "fan", "belt_side": "back"}, BACK),
    ({"role": "fan", "turns": "either", "belt_side": "back"}, BACK),
    ({"role": "fan", "turns": "clockwise"}, RIBBED),
    ({"role": "fan", "turns": "counterclockwise"}, BACK),
    ({"role": "fan", "turns": "clockwise", "belt_side": "back"}, RIBBED),
    ({"role": "fan", "turns": "counterclockwise", "grooves": 6}, ()),
    ({"role": "fan", "turns": "clockwise", "grooves": 6}, RIBBED),
    ({"role": "idler", "belt_side": "back", "side_open": True}, BOTH),
    ({"role": "idler", "side_open": True, "turns": "clockwise"}, RIBBED),
    ({"role": "idler", "belt_side": "back"}, BACK),
]


@for_each(*SIDES)
def test_sides(given: dict[str, Any], sides: tuple[str, ...]) -> None:
    """A clockwise crankshaft on the ribs: ribbed pulleys turn clockwise, those on the back the other way."""
    near = pulley("near", x=300, y=0, **given)
    whole = layout(pulley("crank", "crankshaft", 0, 0), near)
    assert allowed_sides(whole, whole.pulleys["near"]) == sides
    turned: dict[Turns | None, Turns] = {"clockwise": "counterclockwise", "counterclockwise": "clockwise"}
    swapped = replace(near, turns=turned.get(near.turns, near.turns))
    other = layout(pulley("crank", "crankshaft", 0, 0), swapped, rotation="counterclockwise")
    assert allowed_sides(other, other.pulleys["near"]) == sides


def test_a_pulley_without_a_side_is_told_with_the_reason() -> None:
    grooved = layout(
        pulley("crank", "crankshaft", 0, 0), pulley("p", "fan", 300, 0, turns="counterclockwise", grooves=6)
    )
    (fault,) = impossible(grooved)
    assert fault.pulleys == ("p",) and "counterclockwise" in fault.got and "6 grooves" in fault.got
    unknown = replace(two(), belt=Belt(PROFILES["A"]))
    assert unknown.belt.back_mm is None
    turning = replace(
        unknown, pulleys={**unknown.pulleys, "far": replace(unknown.pulleys["far"], turns="counterclockwise")}
    )
    (fault,) = impossible(turning)
    assert "whose height is not known" in fault.got
    assert impossible(two()) == ()


def test_a_pulley_on_either_side_has_two_stations() -> None:
    given = layout(pulley("i", "idler", 300, 0, belt_side="back", side_open=True), pulley("crank", "crankshaft", 0, 0))
    given = replace(given, pulleys={n: replace(p, drives=n == "crank") for n, p in given.pulleys.items()})
    stations = stations_of(given)
    assert stations.names == ("crank", "i") and stations.of.tolist() == [0, 1, 1]
    assert [p.belt_side for p in stations.pulleys] == ["ribbed", "ribbed", "back"]
    assert stations.sense.tolist() == [-1.0, -1.0, 1.0] and not any(p.side_open for p in stations.pulleys)
    assert not field_of(stations).free[1, 2]


def test_a_span_through_a_needed_pulley_is_not_free() -> None:
    """Equal pulleys on a line: the span at y = 50 passes one of radius 30, and cuts one of radius 70 whose rim is at
    69.8 mm (0.385 / 2 under the effective radius of a PK pulley).
    """
    for diameter, cut in ((60.0, False), (140.0, True)):
        row = layout(pulley("a", "crankshaft", 0, 0), pulley("m", "fan", 300, 0, diameter), pulley("b", "fan", 600, 0))
        of = field_of(stations_of(row))
        assert bool(of.cuts[0, 2, 1]) == cut and bool(of.free[0, 2]) != cut
        spare = replace(row, pulleys={**row.pulleys, "m": replace(row.pulleys["m"], optional=True)})
        assert field_of(stations_of(spare)).free[0, 2], "a pulley that may be left out bars no span by itself"


def test_rims_that_overlap_clash() -> None:
    """Rims of 49.81 mm radius: 99 mm apart they overlap, 100 mm apart they do not."""
    for apart, clash in ((99.0, True), (100.0, False)):
        of = field_of(stations_of(two(apart)))
        assert of.clash.tolist() == [[False, clash], [clash, False]]
        assert np.array_equal(of.free, [[False, not clash], [not clash, False]])

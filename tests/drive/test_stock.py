"""Belts that can be bought."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.belt import Belt, line_length_mm, parse_designation
from beltplan.drive.fit import BUILT_IN_SOURCE, built_in_lengths_mm, may_be_sold, stock_of
from beltplan.drive.profiles import PROFILES
from tests.drive.drives import fixed, with_belt
from tests.for_each import for_each


def test_ribbed_belts_come_by_5_mm_and_long_ones_by_10() -> None:
    """Every 5 mm up to 2 m, then every 10 up to 3: from memory, medium confidence."""
    assert built_in_lengths_mm("PK") == (*range(500, 2000, 5), *range(2000, 3001, 10))


@for_each("AV10", "AV13")
def test_automotive_v_belts_come_by_25_mm(name: str) -> None:
    """From 500 to 1675 mm: frozen, from memory, medium confidence."""
    assert built_in_lengths_mm(name) == tuple(range(500, 1676, 25))


@for_each("PK", "AV10", "AV13", "A", "B")
def test_built_in_lengths_rise(name: str) -> None:
    lengths = built_in_lengths_mm(name)
    assert len(lengths) > 10
    assert list(lengths) == sorted(set(lengths))


@for_each("PH", "PJ", "PL", "PM")
def test_no_length_is_proposed_where_the_steps_are_not_known(name: str) -> None:
    """These are not sold every 5 mm; PM begins near 2286 mm: from memory, medium confidence."""
    assert built_in_lengths_mm(name) == ()
    assert stock_of(with_belt(fixed(), profile=PROFILES[name])) == ()


@pytest.mark.parametrize(("name", "inches", "more"), [("A", (31, 51, 60), 1.3), ("B", (35, 60, 100), 1.8)])
def test_classical_belts_come_by_the_inch(name: str, inches: tuple[int, ...], more: float) -> None:
    """Datum length = inside inches + 1.3 (A), + 1.8 (B): ANSI/RMA IP-20. Every inch is sold: from memory, medium."""
    lengths = built_in_lengths_mm(name)
    assert all(round((inch + more) * 25.4, 2) in lengths for inch in inches)
    assert np.diff(lengths) == pytest.approx(25.4)


def test_built_in_list_says_that_it_is_from_memory() -> None:
    assert "from memory" in BUILT_IN_SOURCE


def test_built_in_belts_take_over_what_is_said_of_the_belt() -> None:
    stock = stock_of(with_belt(fixed(), tolerance_mm=3.0))
    assert {(belt.profile.name, belt.ribs, belt.tolerance_mm) for belt in stock} == {("PK", 6, 3.0)}
    assert {belt.length_mm for belt in stock} == {float(length) for length in built_in_lengths_mm("PK")}


def test_built_in_classical_belts_are_named_by_the_inside_length_that_is_sold() -> None:
    stock = stock_of(fixed(belt="A"))
    assert {belt.length_kind for belt in stock} == {"inside"}
    assert [(belt.length_mm or 0.0) / 25.4 for belt in stock] == pytest.approx(list(range(24, 91)))
    assert [line_length_mm(belt) for belt in stock] == pytest.approx(built_in_lengths_mm("A"))


@for_each((490.0, 600.0, True), (500.0, 3000.0, False), (2990.0, 3001.0, True), (600.0, 599.0, False))
def test_a_list_leaves_open_what_lies_outside_of_it(least: float, most: float, open_: bool) -> None:
    """PK is listed from 500 to 3000 mm."""
    assert bool(may_be_sold(fixed(), least, most)) is open_
    assert not may_be_sold(replace(fixed(), stock=()), least, most)
    assert bool(may_be_sold(fixed(belt="6PL"), least, most)) is (least <= most)
    assert may_be_sold(fixed(), np.array([least]), np.array([most])).tolist() == [open_]


def test_listed_belts_replace_the_built_in_ones() -> None:
    listed = (parse_designation("6PK900"), parse_designation("6PK915"))
    assert set(_lengths(stock_of(replace(fixed(), stock=listed)))) == {900.0, 915.0}
    assert stock_of(replace(fixed(), stock=())) == ()


def test_the_named_belt_is_among_them_just_once() -> None:
    named = replace(fixed(belt="6PK917"), stock=(parse_designation("6PK900"),))
    assert sorted(_lengths(stock_of(named))) == [900.0, 917.0]
    measured = with_belt(fixed(belt="6PK900"), tolerance_mm=1.0)
    stock = stock_of(replace(measured, stock=(parse_designation("6PK900"),)))
    assert stock == (measured.belt,)


def _lengths(stock: tuple[Belt, ...]) -> list[float]:
    return [belt.length_mm for belt in stock if belt.length_mm is not None]

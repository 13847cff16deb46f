"""Belts that can be bought."""

from __future__ import annotations

from dataclasses import replace

import pytest

from beltplan.belts.belt import Belt
from beltplan.belts.designations import parse_designation
from beltplan.belts.profile_data import PROFILES
from beltplan.belts.stock import BUILT_IN_SOURCE, built_in_lengths_mm, stock_of
from tests.belts.drives import fixed, with_belt


@pytest.mark.parametrize("name", list(PROFILES))
def test_built_in_lengths_rise(name: str) -> None:
    lengths = built_in_lengths_mm(name)
    assert len(lengths) > 10
    assert list(lengths) == sorted(set(lengths))


def test_built_in_list_says_that_it_is_from_memory() -> None:
    assert "from memory" in BUILT_IN_SOURCE


def test_built_in_belts_take_over_what_is_said_of_the_belt() -> None:
    stock = stock_of(with_belt(fixed(), tolerance_mm=3.0))
    assert {(belt.profile.name, belt.ribs, belt.tolerance_mm) for belt in stock} == {("PK", 6, 3.0)}
    assert {belt.length_mm for belt in stock} == {float(length) for length in built_in_lengths_mm("PK")}


def test_built_in_classical_belts_are_datum_lengths() -> None:
    assert {belt.length_kind for belt in stock_of(fixed(belt="A"))} == {"datum"}


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

"""Belt designations read and written. The forms are those of ISO 9981/9982; V-belts from memory, medium confidence."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drive.belt import MOST_RIBS, Belt, format_designation, parse_designation
from beltplan.drive.profiles import PROFILES, LengthKind
from tests.for_each import for_each

LENGTHS = st.integers(1000, 9_999_999).map(lambda hundredths: hundredths / 100.0)
RIBBED = [name for name, profile in PROFILES.items() if profile.is_ribbed]


@given(st.integers(1, MOST_RIBS), st.sampled_from(RIBBED), st.none() | LENGTHS)
def test_ribbed_round_trip(ribs: int, name: str, length: float | None) -> None:
    belt = Belt(PROFILES[name], ribs, length)
    assert parse_designation(format_designation(belt)) == belt


@given(st.sampled_from(["AV10", "AV13"]), st.none() | LENGTHS)
def test_automotive_round_trip(name: str, length: float | None) -> None:
    belt = Belt(PROFILES[name], 1, length)
    assert parse_designation(format_designation(belt)) == belt


@given(st.sampled_from(["A", "B"]), LENGTHS, st.sampled_from(["inside", "datum", "outside"]))
def test_classical_round_trip(name: str, length: float, kind: LengthKind) -> None:
    belt = Belt(PROFILES[name], 1, length, kind)
    assert parse_designation(format_designation(belt)) == belt


@for_each(
    ("6PK1500", 6, "PK", 1500.0, "effective"),
    (" 6 pk 1500 ", 6, "PK", 1500.0, "effective"),
    ("12PM4572.5", 12, "PM", 4572.5, "effective"),
    ("6PK", 6, "PK", None, "effective"),
    ("AV13x1000", 1, "AV13", 1000.0, "effective"),
    ("av10 X 925", 1, "AV10", 925.0, "effective"),
    ("A", 1, "A", None, "datum"),
    ("A1400 datum", 1, "A", 1400.0, "datum"),
    ("b2000 OUTSIDE", 1, "B", 2000.0, "outside"),
    ("A1400inside", 1, "A", 1400.0, "inside"),
)
def test_ways_of_writing(text: str, ribs: int, profile: str, length: float | None, kind: str) -> None:
    belt = parse_designation(text)
    assert (belt.ribs, belt.profile.name, belt.length_mm, belt.length_kind) == (ribs, profile, length, kind)


@for_each(
    "",
    " ",
    "PK1500",
    "6PQ1500",
    "6PK-1500",
    "6PKx1500",
    "6PK1500mm",
    "6PK1500 datum",
    "6PK1500.125",
    "6PK1e3",
    "6PK nan",
    "AV131000",
    "AV12x1000",
    "C2000 datum",
    "A1400 effective",
    "6PK1500 6PK1505",
    "1500",
)
def test_what_is_no_designation(text: str) -> None:
    with pytest.raises(ValueError, match="not a belt designation"):
        parse_designation(text)


@pytest.mark.parametrize("text", ["A1400", "b 2000"])
def test_a_bare_classical_length_is_refused_as_ambiguous(text: str) -> None:
    with pytest.raises(ValueError, match="inside, datum or outside") as refusal:
        parse_designation(text)
    assert "A1400 datum" in str(refusal.value)


@for_each(("0PK1500", "0 ribs"), ("31PK", "31 ribs"), ("6PK00", "not above zero"))
def test_numbers_that_make_no_sense(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        parse_designation(text)

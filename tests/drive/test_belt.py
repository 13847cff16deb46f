"""What follows from what is said of a belt."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drive.belt import (
    MOST_RIBS,
    Belt,
    format_designation,
    line_length_mm,
    outside_length_mm,
    parse_designation,
    pitch_length_mm,
    rim_reading_spread_mm,
)
from beltplan.drive.fit import BUILT_IN_SOURCE, built_in_lengths_mm, may_be_sold, stock_of
from beltplan.drive.profiles import PROFILES, LengthKind
from beltplan.drive.pulleys import Pulley
from beltplan.geometry.loops import close_loop
from tests.drive.drives import fixed, with_belt, with_pulley
from tests.for_each import for_each

PK = Belt(PROFILES["PK"], 6)


def test_back_height_is_measured_from_the_rim_which_lies_under_the_line() -> None:
    """Half of the nominal drop of 0.385 mm on the diameter: 0.19 mm a side."""
    assert replace(PK, back_over_rim_mm=2.4).back_mm == pytest.approx(2.4 - 0.1925)


def test_back_height_of_the_profile_where_none_was_measured() -> None:
    assert PK.back_mm == 2.2
    assert Belt(PROFILES["PJ"]).back_mm is None


def test_cord_depth() -> None:
    assert PK.cord_depth_mm == 1.1
    assert replace(PK, cord_below_back_mm=0.9).cord_depth_mm == 0.9


def test_belt_reaches_outward_and_inward_by_its_whole_height() -> None:
    assert PK.outer_mm + PK.inner_mm == pytest.approx(4.5)
    assert Belt(PROFILES["PJ"]).outer_mm == pytest.approx(3.5 - 1.6)
    assert replace(PK, back_over_rim_mm=6.0).inner_mm == 0.0


@for_each(("AV10", 8.0), ("AV13", 9.0), ("A", 8.0 - 2.75), ("B", 11.0 - 3.5))
def test_v_belt_reaches_down_into_its_groove(name: str, inner: float) -> None:
    """Belt heights of ISO 2790 and ISO 4184, datum width under the top of ISO 4183: from memory, high confidence."""
    assert Belt(PROFILES[name]).inner_mm == pytest.approx(inner, abs=0.005)


@for_each((500.0, 5.0), (1000.0, 5.0), (1000.1, 5.0005), (2000.0, 10.0))
def test_tolerance_is_the_greater_of_a_number_and_a_share(length: float, tolerance: float) -> None:
    """5 mm up to 1000 mm, 0.5 % above: from memory, medium confidence."""
    assert PK.tolerance_of(length) == pytest.approx(tolerance)


def test_own_tolerance_wins() -> None:
    assert replace(PK, tolerance_mm=2.0).tolerance_of(2000.0) == 2.0


# Belt designations read and written. The forms are those of ISO 9981/9982; V-belts from memory, medium confidence.


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
    ("A48 in inside", 1, "A", 48.0 * 25.4, "inside"),
    ("b62.5IN Inside", 1, "B", 62.5 * 25.4, "inside"),
    ('A50" inside', 1, "A", 50.0 * 25.4, "inside"),
)
def test_ways_of_writing(text: str, ribs: int, profile: str, length: float | None, kind: str) -> None:
    belt = parse_designation(text)
    assert (belt.ribs, belt.profile.name, belt.length_kind) == (ribs, profile, kind)
    assert belt.length_mm == (None if length is None else pytest.approx(length))


@for_each(
    "A48 inin", "AV10x48 in", "6PK48 in", "", " ", "PK1500", "6PQ1500", "6PK1500 datum", "6PK1500.125", "6PK1e3",
    "6PK nan", "AV131000", "AV12x1000", "C2000 datum", "A1400 effective", "6PK1500 6PK1505", "1500",
)  # fmt: skip
def test_what_is_no_designation(text: str) -> None:
    with pytest.raises(ValueError, match="not a belt designation"):
        parse_designation(text)


@for_each("6PK-1500", "6PKx1500", "6PK1500mm", "PK6 1500", "1500 6PK", "6KP1500", "6PKK 1500 mm")
def test_a_ribbed_belt_in_other_order_is_told_as_it_is_written(text: str) -> None:
    with pytest.raises(ValueError, match=r"^write 6PK1500$"):
        parse_designation(text)


@pytest.mark.parametrize("text", ["A1400", "b 2000"])
def test_a_bare_classical_length_is_refused_as_ambiguous(text: str) -> None:
    with pytest.raises(ValueError, match="inside, datum or outside") as refusal:
        parse_designation(text)
    assert "A1400 datum" in str(refusal.value)


@for_each(("A50", "'A50 in inside'?"), ("B62.5 in", "'B62.5 in inside'?"), ("A1400", ""))
def test_a_classical_number_that_is_one_of_inches_is_asked_for_as_such(text: str, words: str) -> None:
    with pytest.raises(ValueError, match="say which") as refusal:
        parse_designation(text)
    assert str(refusal.value).partition(", by which it is sold: ")[2] == words


@for_each(("0PK1500", "0 ribs"), ("31PK", "31 ribs"), ("6PK00", "not above zero"))
def test_numbers_that_make_no_sense(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        parse_designation(text)


# The lengths that one belt has, kept apart.


@for_each("6PK1500", "AV13x1500", "A1500 datum", "B1500 datum")
def test_designation_is_the_line_length(text: str) -> None:
    assert line_length_mm(parse_designation(text)) == 1500.0


@pytest.mark.parametrize(("section", "inches"), [("A", 1.3), ("B", 1.8)])
def test_inside_length_of_classical_sections(section: str, inches: float) -> None:
    """ANSI/RMA IP-20 in Machinery's Handbook, 31st ed. pp. 2575-2577: nominal inches + 1.3 (A), + 1.8 (B)."""
    assert line_length_mm(parse_designation(f"{section}660.4 inside")) == pytest.approx(660.4 + inches * 25.4)


@pytest.mark.parametrize(("section", "under_top"), [("A", 2.75), ("B", 3.5)])
def test_outside_length_of_classical_sections(section: str, under_top: float) -> None:
    """Datum width 2.75 (A) and 3.5 mm (B) under the top, ISO 4183 from memory: parallel curve, 2 pi times that."""
    belt = parse_designation(f"{section}1000 outside")
    assert line_length_mm(belt) == pytest.approx(1000.0 - 2.0 * np.pi * under_top, abs=0.01)
    assert outside_length_mm(belt, line_length_mm(belt)) == pytest.approx(1000.0)


def test_a_belt_without_a_length_has_no_line_length() -> None:
    with pytest.raises(ValueError, match="no length"):
        line_length_mm(parse_designation("6PK"))


@for_each(*PROFILES)
def test_pitch_length_is_a_parallel_curve(name: str) -> None:
    """The same drive laid at the pitch radii, by the geometry itself."""
    belt = Belt(PROFILES[name])
    centre, radius = np.array([[0.0, 0.0], [400.0, 30.0], [150.0, 300.0]]), np.array([90.0, 95.0, 100.0])
    line = float(close_loop(centre, radius, np.ones(3)).length)
    pitch = float(close_loop(centre, radius + belt.profile.pitch_line_mm, np.ones(3)).length)
    assert pitch_length_mm(belt, line) == pytest.approx(pitch, rel=1e-12)


def test_outside_length_needs_the_back() -> None:
    assert outside_length_mm(Belt(PROFILES["PK"]), 1500.0) == pytest.approx(1500.0 + 2.0 * np.pi * 2.2)
    assert outside_length_mm(Belt(PROFILES["PJ"]), 1500.0) is None


@pytest.mark.parametrize("end", [0, 1])
def test_spread_of_rim_readings_by_laying_the_loop_at_both_ends_of_the_range(end: int) -> None:
    given = fixed()
    for name in ("crank", "pump"):
        given = with_pulley(given, name, reading="rim")
    profile = given.belt.profile
    nominal = 600.0 + np.pi * given.pulleys["crank"].line_diameter_mm(given.belt)
    # Read 100 mm over the rim; the line's diameter is 100 less the rim's height over it.
    other = 600.0 + np.pi * (100.0 - profile.rim_range_mm[end])
    spread = rim_reading_spread_mm(given.belt, 2.0 * np.pi)
    assert spread[1 - end] == pytest.approx(other - nominal)
    assert spread[0] < 0.0 < spread[1]


def test_a_rim_reading_is_worth_a_fifth_of_a_mm_per_radian() -> None:
    """PK's rim lies 0.385 mm under the line, and 0 to 0.9, on the diameter: by the groove of ISO 9982:2021, table 2."""
    assert rim_reading_spread_mm(Belt(PROFILES["PK"]), 1.0) == pytest.approx((-0.385 / 2.0, (0.9 - 0.385) / 2.0))


def test_a_line_reading_is_taken_as_it_is() -> None:
    assert Pulley("crank", "crankshaft", 100.0).line_diameter_mm(Belt(PROFILES["PK"])) == 100.0


# Belts that can be bought.


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

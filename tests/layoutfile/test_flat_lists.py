"""Lists of lists that are written flat, and lists without brackets in braces: one fault, with how it is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

_CORNERS = "[x, y], each -100000 to 100000 mm, each in brackets of its own"
_LISTS = "a list of 3 to 1000 entries: [first, second, ...]"


@for_each(
    ("[-60, 330, 60, 330, 60, 380]", "a flat list", _CORNERS),
    ("-60, 330, 60, 330, 60, 380", "'-60, 330, 60, 330, 60, 380' without brackets", _LISTS),
    ("[-60, 330], [60, 330], [60, 380]", "lists one after the other without brackets", _LISTS),
)
def test_an_outline(tmp_path: Path, polygon: str, got: str, allowed: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}obstacles: {{head: {{polygon: {polygon}}}}}\n")
    assert (fault.key, fault.got, fault.allowed) == ("obstacles.head.polygon", got, allowed)


@for_each(
    ("diameter: 130", "diameter: 130, mount: {holes: [-38, -45, 10.5]}", "pulleys.pump.mount.holes"),
    (
        "spring: {torque_Nm: 26, at_deg: 285, rate_Nm_per_deg: 0.35}",
        "spring: {readings: [98, 55, 47]}",
        "pulleys.tight.spring.readings",
    ),
)
def test_three_numbers_of_one_thing(tmp_path: Path, good: str, flat: str, key: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace(good, flat))
    assert (fault.key, fault.got) == (key, "a flat list") and fault.allowed.endswith("each in brackets of its own")


@for_each(
    ("- {role: crankshaft}\n- {role: fan}", "pulleys", "a list (write it without dashes)"),
    ("  crank:\n  - role: crankshaft\n  - diameter: 80", "pulleys.crank", "a list (write it without dashes)"),
)
def test_what_stands_in_a_pulley_with_dashes(tmp_path: Path, pulleys: str, key: str, got: str) -> None:
    found = faults_of(tmp_path, f"belt: 6PK\npulleys:\n{pulleys}\nroute: [crank, pump]\n")
    assert [fault.got for fault in found if fault.key == key] == [got]


@for_each(
    ("[9,5, 11,75]", "a list of 4 (decimal commas? Write [9.5, 11.75])"),
    ("[9,5, 11]", "a list of 3 (decimal commas? Write [9, 5.11] or [9.5, 11])"),
    ("[9,5 11,75]", "a list of 3 (decimal commas? Write [9.5, 11.75])"),
    ("[35,2 cm, 11]", "a list of 3 (decimal commas? Write [35.2 cm, 11])"),
    ("[35,2 cm 8,5 cm]", "a list of 3 (decimal commas? Write [35.2 cm, 8.5 cm])"),
    ("9,5, 11,75", "'9, 5, 11, 75' without brackets (decimal commas? Write [9.5, 11.75])"),
    ("[9.5, 11, 7.5]", "a list of 3 (two are wanted)"),
    ("[9]", "a list of 1 (two are wanted)"),
)
def test_a_place_with_decimal_commas(tmp_path: Path, place: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("[-190, 300]", place))
    assert fault.got == got


def test_pulleys_with_dashes(tmp_path: Path) -> None:
    (fault,) = faults_of(
        tmp_path, "belt: 6PK\npulleys:\n- crank: {role: crankshaft}\n- pump: {role: fan}\nroute: [a, b]\n"
    )
    assert (fault.key, fault.got) == ("pulleys", "a list (write it without dashes)")


@for_each(
    ("15,000", "no comma in a number: write 15000"),
    ("15,000 rpm", "no comma in a number: write 15000 rpm"),
    ("15.000", "no point in thousands: write 15000, or 15?"),
    ("1.200 rpm", "no point in thousands: write 1200 rpm, or 1.2 rpm?"),
    ("6200,5", "write 6200.5, with a decimal point"),
    ("0,125", "write 0.125, with a decimal point"),
    ("6200,5 U/min", "with a decimal point: 6200.5 U/min; and its unit may be rpm"),
)
def test_a_comma_or_point_before_three_digits_may_part_thousands(tmp_path: Path, number: str, hint: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}engine:\n  idle_rpm: {number}\n  max_rpm: 20000\n")
    assert f"({hint})" in fault.got


@for_each(
    ("max_hub_load_N: 2.400", "no point in thousands: write 2400, or 2.4?"),
    ("max_hub_load_N: 120,500", "no comma in a number: write 120500, or 120.500?"),
    ("load: {pressure_bar: 1,100 psi, displacement_cm3: 14}", "no comma in a number: write 1100 psi"),
    ("load: {pressure_bar: 1.100 psi, displacement_cm3: 14}", "no point in thousands: write 1100 psi, or 1.1 psi?"),
)
def test_what_may_be_a_thousand_times_another_is_asked(tmp_path: Path, value: str, hint: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {value}"))
    assert fault.got.endswith(f"({hint})")


def test_a_stiffness_of_next_to_nothing_is_asked_after(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("belt: 6PK", "belt: {profile: PK, ribs: 6, stiffness_N: 168.000}"))
    assert fault.got == "168.000 (no point in thousands: write 168000, or 168?)"


@pytest.mark.parametrize("value", ["max_hub_load_N: 120.125", "max_rpm: 900.500", "plane: 1.125", "grooves: 06"])
def test_likely_numbers_with_three_digits_behind_their_point_are_taken(tmp_path: Path, value: str) -> None:
    assert read_layout(written(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {value}")))


@for_each(
    ("[9 1/2 16 1/2]", "[9 1/2, 16 1/2]"),
    ("9 1/2, -16 3/4", "[9 1/2, -16 3/4]"),
    ("[8 -4]", "[8, -4]"),
    ("9, 5]", "[9, 5]"),
)
def test_two_numbers_without_their_comma_may_be_fractions(tmp_path: Path, place: str, write: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}marks:\n  dowel:\n    at: {place}\n")
    assert f"(write {write})" in fault.got


@for_each(
    ("[35,2 cm, 40]", "[35, 2 cm, 40] (decimal commas? Write [35.2 cm, 40])"),
    ("[35,2 cm, 3,5 mm]", "[35, 2 cm, 3, 5 mm] (decimal commas? Write [35.2 cm, 3.5 mm])"),
)
def test_sizes_with_decimal_commas_are_not_read_as_twice_as_many(tmp_path: Path, sizes: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}idler_sizes: {sizes}\n")
    assert fault.got == got
    assert read_layout(written(tmp_path, f"{PLAIN}idler_sizes: {got.partition('Write ')[2][:-1]}\n"))


@for_each("35,2 cm", "35,2 cm, 36 cm")
def test_sizes_without_brackets_keep_their_decimals(tmp_path: Path, sizes: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}idler_sizes: {sizes}\n")
    assert fault.allowed == f"a list of 1 to 50 entries: [{sizes.replace('35,2', '35.2')}]"


@for_each(
    ("35,2 cm", "'35, 2 cm' (write 35.2 cm, with a decimal point)"),
    ("35,2 m", "'35, 2 m' (with a decimal point: 35.2 m; and its unit may be mm, cm, in)"),
    ("35.2 m", "'35.2 m' (its unit may be mm, cm, in)"),
    ("5,5 in", "'5, 5 in' (write 5.5 in, with a decimal point)"),
)
def test_a_comma_and_a_unit_are_one_fault(tmp_path: Path, diameter: str, got: str) -> None:
    """In braces YAML ends a value at a comma."""
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: {diameter}"))
    assert fault.got == got


@for_each("2 cm (rim)", "2 / 2", "2 mm over the ribs")
def test_what_stands_behind_a_comma_is_no_key(tmp_path: Path, rest: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 35,{rest}"))
    assert (fault.key, fault.got) == (f"pulleys.pump.{rest}", "a number after a comma")

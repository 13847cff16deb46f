"""Values from their raw text.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.layoutfile.document import Scalar
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.schema import key_at
from beltplan.layoutfile.values import Misread, choice, number
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

NUMBERS = [
    ("'130'", "in quotes"),
    ("1:30", "'1:30'"),
    ("0x10", "'0x10'"),
    ("13O", "'13O'"),
    ("Oil", "'Oil'"),
    ("1_000", "'1_000'"),
    (".inf", "'.inf'"),
    ("-.inf", "'-.inf'"),
    (".nan", "'.nan'"),
    ("nan", "'nan'"),
    ("1e999", "1e999"),
    ("0", "0"),
    ("-130", "-130"),
    ("5001", "5001"),
    ("130 m", "'130 m'"),
    ("1,250 in", "(no comma in a number: write 1250 in, or 1.250 in?)"),
    ("5 1/8", "'5 1/8' (a fraction goes with inches: 5 1/8 in; else a decimal: 5.125)"),
    ("5 9/8 in", "'5 9/8 in' (its fraction is one or more)"),
    ("5001 mm", "'5001 mm'"),
    ("true", "'true'"),
    ("[130]", "a list (write it without brackets)"),
    ("[130, 140]", "a list"),
    ("{mm: 130}", "a mapping"),
    ("1e-400", "1e-400"),
    ("9" * 5000, "'999"),
    ("٣", "'٣'"),
]


@for_each(*NUMBERS)
def test_a_diameter_that_is_no_number_in_range(tmp_path: Path, text: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: {text}"))
    assert (fault.line, fault.key) == (4, "pulleys.pump.diameter")
    assert words in fault.got
    assert fault.allowed.removesuffix(", such as 381.5 or 14 7/8 in") == "a length 1 to 5000 mm"


@for_each(
    ("pulleys.NAME.diameter", "6 grooves"),
    ("pulleys.NAME.diameter", "60°"),
    ("engine.idle_rpm", "dia 700"),
    ("belt.ribs", "Ø6"),
)
def test_a_number_beside_a_word_of_another_kind_is_not_told_as_the_value(key: str, text: str) -> None:
    with pytest.raises(Misread) as misread:
        number(Scalar(1, text, True), key_at(key))
    assert "write" not in misread.value.got


@for_each(("1e3", 1000.0), ("+1.5E2", 150.0), ("99.", 99.0), (".5e2", 50.0), ("1e+2", 100.0))
def test_plain_decimals_are_read_as_written(tmp_path: Path, text: str, value: float) -> None:
    layout = read_layout(written(tmp_path, PLAIN.replace("diameter: 130", f"diameter: {text}"))).layout
    assert layout.pulleys["pump"].diameter_mm == value


@for_each("on", "1", "null", "~", "yes", "1.5", "2026-01-01", "a b", "a.b")
def test_names_are_the_text_as_it_stands(tmp_path: Path, name: str) -> None:
    layout = read_layout(written(tmp_path, PLAIN.replace("pump:", f"{name}:").replace("tight, pump", f"tight, {name}")))
    assert layout.layout.route[2] == name
    assert layout.layout.pulleys[name].role == "water_pump"


def test_inches_are_named_in_the_range(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, "units: in\n" + PLAIN.replace("diameter: 130", "diameter: 200"))
    assert fault.allowed == "a length 0.04 to 196 in (1 to 5000 mm)"


@for_each(("130 mm", 130.0), ("13 cm", 130.0), ("5 1/8 in", 130.175), ('5 1/8"', 130.175), ("5.125 in", 130.175))
def test_a_length_may_carry_its_own_unit(tmp_path: Path, text: str, size_mm: float) -> None:
    """An inch is 25.4 mm (ISO 31-1 and the international yard of 1959)."""
    layout = read_layout(written(tmp_path, PLAIN.replace("diameter: 130", f"diameter: {text}"))).layout
    sizes = [pulley.diameter_mm for pulley in layout.pulleys.values()]
    assert any(size == pytest.approx(size_mm, abs=1e-9) for size in sizes)


@for_each(
    ("units", "inches", "in"), ("units", "in.", "in"), ("rotation", "CW", "clockwise"),
    ("rotation", "anti-clockwise", "counterclockwise"), ("pulleys.NAME.role", "A/C", "air_conditioning"),
    ("pulleys.NAME.role", "power_steering", "steering_pump"), ("pulleys.NAME.role", "water pump", "water_pump"),
    *[("pulleys.NAME.belt_side", said, "back") for said in ("smooth", "outside", "flat", "Back side")],
    *[("pulleys.NAME.belt_side", said, "ribbed") for said in ("inside", "grooved", "ribs", "front")],
    ("belt.length_kind", "pitch", "datum"), ("pulleys.NAME.turns", "both", "either"),
    ("angles.PAIR.from", "vertical", "plumb"), ("angles.PAIR.from", "horizontal", "level"),
    ("points.NAME.seen_from", "behind", "back"),
)  # fmt: skip
def test_a_word_that_people_type_is_told_with_the_one_to_write(path: str, said: str, word: str) -> None:
    with pytest.raises(Misread) as caught:
        choice(Scalar(1, said, True), key_at(path))
    assert caught.value.got == f"{said!r} (write {word})"


@for_each(("yes", "true"), ("True", "true"), ("No", "false"), ("off", "false"))
def test_yes_and_no_are_told_as_true_and_false(tmp_path: Path, said: str, word: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, one_way: {said}"))
    assert fault.got == f"{said!r} (write {word})"


def test_a_point_without_brackets_is_told_as_such(tmp_path: Path) -> None:
    text = PLAIN.replace("route:", "obstacles:\n  hose:\n    circle:\n      at: 10.8, 8.2\n      diameter: 5\nroute:")
    (fault,) = faults_of(tmp_path, text)
    assert fault.got == "'10.8, 8.2' without brackets (write [10.8, 8.2])" and fault.allowed.startswith("[x, y]")


def test_a_point_without_brackets_in_braces_is_one_fault(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("at: [0, 245]", "at: 10.8, 8.2"))
    assert fault.got == "'10.8, 8.2' without brackets (write [10.8, 8.2])" and fault.key.endswith(".at")


def test_a_point_without_its_comma_is_told_as_such(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("at: [0, 245]", "at: [0 245]"))
    assert fault.got == "[0 245]: a comma is missing between the two numbers (write [0, 245])"
    assert fault.key.endswith(".at")


def test_a_key_one_level_too_deep_is_told_where_it_stands(tmp_path: Path) -> None:
    arm = "arm: {pivot: [-150, 215], length: 85, stops: [265, 300], spring: {torque_Nm: 26, at_deg: 285}}"
    faults = faults_of(tmp_path, PLAIN.replace("at: [0, 245]", arm))
    (fault,) = [fault for fault in faults if "spring" in fault.key]
    assert fault.got == "an unknown key here: it stands beside `arm`, one level up" and fault.key.endswith("arm.spring")


@for_each(
    ("dia: 130", "an unknown key (write diameter)"),
    ("od: 130", "an unknown key (write rim_diameter, or diameter of a smooth pulley)"),
    ("radius: 65", "an unknown key (write diameter, twice the radius)"),
    ("Diameter: 130", "an unknown key (write diameter)"),
    ("diametr: 130", "an unknown key (did you mean diameter?)"),
    ("diameter:130", "an unknown key (write a space after the colon: diameter: 130)"),
)
def test_a_key_in_other_words_is_one_fault_with_the_key_to_write(tmp_path: Path, wrong: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", wrong))
    assert (fault.line, fault.got) == (4, got)


def test_a_list_without_brackets_is_told_as_such(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("[crank, tight, pump, idler]", "crank, tight, pump, idler"))
    assert fault.got.endswith(" without brackets") and fault.allowed.endswith("[crank, tight, pump, idler]")

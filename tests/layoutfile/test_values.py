"""Values from their raw text.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.checks.limits import LIMIT_KEYS
from beltplan.cli.main import parser, parsers_of
from beltplan.layoutfile import synonyms
from beltplan.layoutfile.document import Scalar, Table
from beltplan.layoutfile.keys import FILE_UNIT, MUST, Key
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS, WORDS_OF_SIDES, key_at
from beltplan.layoutfile.values import DENOMINATORS, Misread, NotALength, choice, length_mm, number, read_length
from beltplan.squeal.readings import WORDS
from beltplan.squeal.study import WATERS
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written
from tests.measure.samples import TAPED, measuring_faults

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
    ("[130]", "a list (write 130, without brackets)"),
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
    assert fault.allowed == "beside `arm`, one level up" and fault.key.endswith("arm.spring")


@for_each(
    ("dia: 130", "an unknown key (write diameter)"),
    ("od: 130", "an unknown key (write rim_diameter, or diameter of a smooth pulley)"),
    ("radius: large", "an unknown key (write diameter, twice the radius)"),
    ("Diameter: 130", "an unknown key (write diameter)"),
    ("diametr: 130", "an unknown key (did you mean diameter?)"),
    ("diameter:130", "an unknown key (write diameter: 130, with a colon and a space)"),
    ("diameter 130", "an unknown key (write diameter: 130, with a colon and a space)"),
    ("diameter = 130 mm", "an unknown key (write diameter: 130 mm, with a colon and a space)"),
)
def test_a_key_in_other_words_is_one_fault_with_the_key_to_write(tmp_path: Path, wrong: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", wrong))
    assert (fault.line, fault.got) == (4, got)


def test_a_list_without_brackets_is_told_as_such(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("[crank, tight, pump, idler]", "crank, tight, pump, idler"))
    assert fault.got.endswith(" without brackets") and fault.allowed.endswith("[crank, tight, pump, idler]")


# Lengths as a tape reads them, against exact fractions of the standard library; an inch is 25.4 mm (ISO 80000-3).


INCH_MM = Fraction(254, 10)
LENGTH = Key("some.length", "length", FILE_UNIT, MUST, "a length", 0.0, 1_000.0, above=True)

halves = st.sampled_from(DENOMINATORS)
wholes = st.integers(0, 400)


@given(whole=wholes, bottom=halves, data=st.data())
@pytest.mark.parametrize("form", ["{} {}/{}", "{}-{}/{}", '{} {}/{}"', "{} {}/{} in", "{} - {}/{}", "{} {}/{} inches"])
def test_a_tape_in_inches(form: str, whole: int, bottom: int, data: st.DataObject) -> None:
    top = data.draw(st.integers(0, bottom - 1))
    meant = (whole + Fraction(top, bottom)) * INCH_MM
    assert length_mm(form.format(whole, top, bottom), 25.4) == pytest.approx(float(meant), rel=1e-14)


@given(bottom=halves, data=st.data())
def test_a_fraction_alone(bottom: int, data: st.DataObject) -> None:
    top = data.draw(st.integers(1, bottom - 1))
    assert length_mm(f"{top}/{bottom}", 25.4) == pytest.approx(float(Fraction(top, bottom) * INCH_MM))
    assert length_mm(f"-{top}/{bottom}", 25.4) == pytest.approx(-float(Fraction(top, bottom) * INCH_MM))


@given(feet=st.integers(0, 30), whole=st.integers(0, 11), bottom=halves, data=st.data())
@pytest.mark.parametrize("form", ["{}' {} {}/{}\"", "{} ft {} {}/{} in", "{}'-{}-{}/{}", "{}ft {} {}/{}"])
def test_feet_and_inches(form: str, feet: int, whole: int, bottom: int, data: st.DataObject) -> None:
    top = data.draw(st.integers(1, bottom - 1))
    meant = (12 * feet + whole + Fraction(top, bottom)) * INCH_MM
    for unit_mm in (1.0, 25.4):
        assert length_mm(form.format(feet, whole, top, bottom), unit_mm) == pytest.approx(float(meant))


@given(value=st.decimals(-5_000, 5_000, places=3))
def test_decimals_in_any_unit(value: object) -> None:
    exact = Fraction(str(value))
    for unit, unit_mm in (("", 1), ("", INCH_MM), (" mm", 1), ("cm", 10), (" in", INCH_MM), ('"', INCH_MM)):
        given_mm = float(unit_mm) if not unit else 1.0
        assert length_mm(f"{value}{unit}", given_mm) == pytest.approx(float(exact * unit_mm), rel=1e-12, abs=1e-12)


@for_each(
    ("14\u215e", Fraction(119, 8)), ("\u00bd in", Fraction(1, 2)), ("14 7/8\u2033", Fraction(119, 8)),
    ("1\u2032 2\u2033", Fraction(14)), ("2'", Fraction(24)), ("  3/4 ", Fraction(3, 4)), ("+1 1/2", Fraction(3, 2)),
    ("-9 1/2", Fraction(-19, 2)), (".5", Fraction(1, 2)), ("1.", Fraction(1)), ("1e1", Fraction(10)),
)  # fmt: skip
def test_what_keyboards_and_hands_write(text: str, inches: Fraction) -> None:
    assert length_mm(text, 25.4) == pytest.approx(float(inches * INCH_MM))


@for_each(
    ("14 8/8", "one or more"),
    ("14 9/8", "one or more"),
    ("14 8/0", "parts to an inch"),
    ("14 1/3", "parts to an inch"),
    ("14 1/10", "parts to an inch"),
    ("14 1/128", "parts to an inch"),
    ("14 7/8 mm", "a fraction goes with inches: 14 7/8 in; else a decimal: 14.875"),
    ("1' 30 mm", "feet go with inches"),
)
def test_what_no_tape_reads_with_its_reason(text: str, why: str) -> None:
    with pytest.raises(NotALength, match=why):
        length_mm(text, 25.4)


@for_each(
    "", "-", "in", "mm", '"', "'", "14 7", "7/", "/8", "1/2/4", "14.5 7/8", "--3", "1 2 3/4", ".nan", ".inf", "inf",
    "nan", "1_0", "0x1F", "1:30", "true", "٣", "3 m", "3 km", "3 mm mm", "9" * 41, "1' 2' 3",
)  # fmt: skip
def test_what_no_tape_reads(text: str) -> None:
    with pytest.raises(NotALength):
        length_mm(text, 25.4)


@for_each(
    ("17 3-16", "(write 17 3/16)"),
    ("715/16", "(write 7 15/16 or 71 5/16)"),
    ("117/8", "(write 11 7/8)"),
    ("1 3-3/8", "(write 13-3/8 in or 1 ft 3-3/8 in)"),
    (r"10 3\16", "(write 10 3/16)"),
    ("10,", "(write 10)"),
    ("9 mm 3/16", "(a fraction goes with inches: is it 9 3/16 in?)"),
    ("9mm 3/16 in", "(a fraction goes with inches: is it 9 3/16 in?)"),
    ("9 in 3/16", "(write 9 3/16 in)"),
    ("2 ft 3/16", "(write 2 ft 3/16 in, or 2 3/16 in)"),
)
def test_what_a_slip_in_a_fraction_is_to_be(text: str, hint: str) -> None:
    with pytest.raises(Misread) as caught:
        read_length(Scalar(1, text, True), key_at("distances.PAIR.value"), 25.4)
    assert caught.value.got == f"'{text}' {hint}"


def test_a_dash_in_a_fraction_in_a_file_in_mm_wants_its_unit_as_well() -> None:
    with pytest.raises(Misread) as caught:
        read_length(Scalar(1, "17 3-16", True), key_at("distances.PAIR.value"), 1.0)
    assert caught.value.got == "'17 3-16' (write 17 3/16 in)"


def test_a_minus_before_the_second_number_may_be_its_sign_or_part_them(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("at: [0, 245]", "at: -20 - 282"))
    assert fault.got == "'-20 - 282' (write [-20, 282] or [-20, -282])"


def test_a_fraction_in_a_file_in_mm_must_say_its_unit() -> None:
    with pytest.raises(NotALength, match=r"a fraction goes with inches: 14 7/8 in; else a decimal: 14\.875"):
        length_mm("14 7/8", 1.0)
    assert length_mm("14 7/8 in", 1.0) == pytest.approx(377.825)
    with pytest.raises(NotALength, match="write 17 ft 3/16 in, or 17 3/16 in"):
        length_mm("17ft 3/16", 1.0)


@given(st.text(max_size=20) | st.from_regex(r".?[0-9]{1,4}(\.[0-9])?( ?(mm|in|cm))?.?", fullmatch=True))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No other exception, whatever is written, or nearly a length."""
    try:
        value = length_mm(text, 25.4)
    except NotALength:
        return
    assert isinstance(value, float) and any(character.isnumeric() for character in text)


def test_what_looks_like_a_tape_is_read_with_its_sign_or_refused() -> None:
    """5,000 texts of a tape's own characters: hundreds of both kinds, and no number that is none."""
    rng, read_, refused = np.random.default_rng(3), 0, 0
    for _ in range(5_000):
        text = "".join(rng.choice(list("0123456789 /-.'\"\u00bd"), rng.integers(1, 7)))
        try:
            value = length_mm(text, 25.4)
        except NotALength:
            refused += 1
            continue
        read_ += 1
        assert np.isfinite(value) and (value <= 0.0 if text.strip().startswith("-") else value >= 0.0), text
    assert min(read_, refused) > 500


def read(text: str, scale: float = 1.0) -> float:
    return read_length(Scalar(7, text, True), LENGTH, scale)


def test_the_range_of_a_key_at_its_ends() -> None:
    assert read("1000") == 1000.0 and read("0.99 mm") == 0.99
    for text in ("1000.01", "0", "-1", "40 in", "1e999"):
        with pytest.raises(Misread) as caught:
            read(text)
        assert caught.value.line == 7 and caught.value.got == repr(text)
        assert caught.value.allowed == "a length above 0 to 1000 mm, such as 381.5 or 14 7/8 in"


def test_a_fault_tells_why() -> None:
    with pytest.raises(Misread) as caught:
        read("14 9/8", 25.4)
    assert caught.value.got == "'14 9/8' (its fraction is one or more)"


def test_a_mapping_is_no_length() -> None:
    with pytest.raises(Misread, match="a mapping"):
        read_length(Table(3, {}, 1), LENGTH, 1.0)


def test_quotes_do_no_harm() -> None:
    assert read_length(Scalar(1, '14 7/8"', False), LENGTH, 25.4) == pytest.approx(377.825)


# What people write for a word of the file, and the one that is told. Which ones: common practice, no source.


_TYPED = [
    ("amps: 90", "write rated_A"),
    ("redline: 9000", "write max_rpm"),
    ("rpm: 9000", "write max_rpm"),
    ("hub load: 900", "write max_hub_load_N"),
    ("load: {amps: 50}", "write current_A"),
    ("ribs: 6", "write grooves"),
    ("load: {psi: 1230}", "write pressure_bar: 1230 psi"),
    ("load: {power_W: 0.6}", "write power_kW"),  # no belt drives 0.6 W
    ("load: {hp: 1}", "write power_kW: 1 hp"),
    ("arm: {center: [0, 9]}", "write pivot"),
    ("arm: {radius: 85}", "write length"),
]


@for_each(*_TYPED)
def test_a_key_as_a_fabricator_types_it(tmp_path: Path, typed: str, hint: str) -> None:
    found = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {typed}"))
    assert f"an unknown key ({hint})" in [fault.got for fault in found]


def test_a_word_for_a_key_goes_before_the_same_word_elsewhere(tmp_path: Path) -> None:
    faults = faults_of(tmp_path, PLAIN.replace("belt: 6PK", "belt: {profile: PK, grooves: 6}"))
    assert "an unknown key (write ribs)" in [fault.got for fault in faults]


def test_a_pulley_s_width_is_no_slot_s(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", "diameter: 130, width: 28"))
    assert fault.got.startswith("an unknown key") and "belongs" not in fault.got


def test_a_unit_that_two_keys_may_have_is_not_guessed_at(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", "diameter: 130, kN: 2"))
    assert "write" not in fault.got


def test_every_word_that_is_meant_is_one_of_the_file() -> None:
    every = (*KEYS, *MEASUREMENT_KEYS)
    known = {key.name for key in every} | {word for key in every for word in key.choices} | {"true", "false"}
    meant = {*synonyms._SAID, *(beside for beside, _ in synonyms._NO_KEY)}
    commands = parsers_of(parser([]))
    options = {option[2:] for each in commands.values() for option in each._option_string_actions}
    assert meant - known - {*WORDS_OF_SIDES, *WORDS, *WATERS, *LIMIT_KEYS} - options - {*commands, "findings"} == set()


# Lengths that tell which unit a file is in where its `units` is forgotten, or another word.


INCHES = (
    PLAIN.replace("[-190, 300]", "[-8 1/4, 12 1/2]")
    .replace("190}", "7 1/2}")
    .replace("[0, 245]", "[0, 9-5/8]")
    # In mm this would be under the least diameter, which is nobody's fault.
    .replace("diameter: 76", "diameter: 0.9")
    .replace("diameter: 72", "diameter: 2 ⅞")
)


@for_each(
    ("", "nothing, but 5 lengths are fractions of an inch: '7 1/2' in line 3 is the first"),
    ("units: mm\n", "'mm', but 5 lengths are fractions of an inch: '7 1/2' in line 4 is the first"),
)  # fmt: skip
def test_fractions_in_a_file_that_is_not_in_inches_are_one_fault(tmp_path: Path, units: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, units + INCHES)
    assert (fault.line, fault.key, fault.got) == (1, "units", got)
    assert "`units: in`, on a line of its own" in fault.allowed


@for_each("inches", "inch", "IN")
def test_another_word_for_inches_is_the_only_fault(tmp_path: Path, word: str) -> None:
    (fault,) = faults_of(tmp_path, f"units: {word}\n{INCHES}")
    assert (fault.line, fault.key, fault.allowed) == (1, "units", "mm, in") and "(write in)" in fault.got


def test_a_file_in_centimetres_is_refused_with_how_one_length_may_carry_them(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, f"units: cm\n{PLAIN}")
    assert fault.allowed == "mm, in. One length may carry its own: `at: [24.1 cm, 5 cm]`"
    assert length_mm("24.1 cm", 1.0) == pytest.approx(241.0)


def test_a_fraction_of_a_key_in_mm_is_a_fault_of_its_own(tmp_path: Path) -> None:
    text = INCHES.replace("diameter: 0.9", "diameter: 0.9, overhang_mm: 2 1/2")
    assert [fault.key for fault in faults_of(tmp_path, text)] == ["units", "pulleys.idler.overhang_mm"]


@for_each(("-8 1/4", ": -8 1/4 in; else a decimal: -8.25"), ("1/4", ": 1/4 in; else a decimal: 0.25"))
def test_the_hint_at_a_fraction_keeps_its_sign(text: str, hint: str) -> None:
    """A lost minus puts the pulley on the other side."""
    with pytest.raises(NotALength, match=f"{hint}$"):
        length_mm(text, 1.0)


def test_fractions_in_a_file_of_measurements(tmp_path: Path) -> None:
    text = TAPED.replace("pump - fan: 500", "pump - fan: 19 3/4").replace("crank - fan: 400", "crank - fan: 15 3/4")
    (fault,) = measuring_faults(tmp_path, text)
    assert (fault.key, "2 lengths are fractions" in fault.got) == ("units", True)

"""Lengths as a tape reads them, against exact fractions of the standard library; an inch is 25.4 mm (ISO 80000-3)."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.layoutfile.document import Scalar, Table
from beltplan.layoutfile.keys import FILE_UNIT, MUST, Key
from beltplan.layoutfile.values import DENOMINATORS, Misread, NotALength, length_mm, read_length
from tests.for_each import for_each

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
    ("14\u215e", Fraction(119, 8)),
    ("\u00bd in", Fraction(1, 2)),
    ("14 7/8\u2033", Fraction(119, 8)),
    ("1\u2032 2\u2033", Fraction(14)),
    ("2'", Fraction(24)),
    ("  3/4 ", Fraction(3, 4)),
    ("+1 1/2", Fraction(3, 2)),
    ("-9 1/2", Fraction(-19, 2)),
    (".5", Fraction(1, 2)),
    ("1.", Fraction(1)),
    ("1e1", Fraction(10)),
)
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


def test_a_fraction_in_a_file_in_mm_must_say_its_unit() -> None:
    with pytest.raises(NotALength, match=r"a fraction goes with inches: 14 7/8 in; else a decimal: 14\.875"):
        length_mm("14 7/8", 1.0)
    assert length_mm("14 7/8 in", 1.0) == pytest.approx(377.825)


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

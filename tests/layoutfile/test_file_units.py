"""Lengths that tell which unit a file is in where its `units` is forgotten, or another word."""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.layoutfile.values import NotALength, length_mm
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of
from tests.measure.samples import TAPED, measuring_faults

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

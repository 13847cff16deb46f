"""What people write for a word of the file, and the one that is told. Which ones: common practice, no source."""

from __future__ import annotations

from pathlib import Path

from beltplan.layoutfile import synonyms
from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS, WORDS_OF_SIDES
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of

_TYPED = [
    ("amps: 90", "write rated_A"),
    ("redline: 9000", "write max_rpm"),
    ("rpm: 9000", "write max_rpm"),
    ("hub load: 900", "write max_hub_load_N"),
    ("load: {amps: 50}", "write current_A"),
    ("ribs: 6", "write grooves"),
    ("load: {psi: 1230}", "write pressure_bar: 1230 psi"),
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
    assert meant - known - set(WORDS_OF_SIDES) == set()

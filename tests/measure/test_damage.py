"""Damaged measurements, seeded: whatever happens to a file, it is read or refused with lines, all numbers finite."""

import math
import random
from pathlib import Path

import pytest

from beltplan.faults import LayoutFaults
from beltplan.layoutfile.edits import CannotEdit
from beltplan.layoutfile.layout_file import read_layout
from beltplan.measure.layout_writer import write_measured
from beltplan.measure.measurements_file import read_measurements
from beltplan.measure.study import measuring_of
from tests.fuzz.mutations import mutated, nudged
from tests.layoutfile.test_damage import DAMAGES, numbers
from tests.layoutfile.test_measurement_starter import used
from tests.measure.samples import TAPED, written
from tests.measure.test_pictures import PHOTO
from tests.starters import MEASUREMENT_STARTER

ROUNDS = 30
WHOLE = used(MEASUREMENT_STARTER, "#points:")
TEXTS = {"taped": TAPED, "photo": PHOTO, "starter": WHOLE}


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
def test_damaged_text(tmp_path: Path, text: str, seed: int) -> None:
    dice = random.Random(seed)
    read = 0
    for _ in range(ROUNDS):
        damaged = text
        for _ in range(dice.randint(1, 3)):
            damaged = dice.choice(DAMAGES)(dice, damaged)
        read += outcome(written(tmp_path, damaged))
    assert read < ROUNDS, "some damage must be noticed"


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
def test_damaged_trees_and_bytes(tmp_path: Path, text: str, seed: int) -> None:
    dice = random.Random(seed)
    assert sum(outcome(written(tmp_path, mutated(dice, text.encode()))) for _ in range(ROUNDS)) < ROUNDS


_SENTENCE = 3
"""So many words at least has a fault that says in one sentence what is wrong and what would be right."""


def outcome(path: str) -> bool:
    """Whether the file was read; then all is finite. A refusal names a line, a key, what and what instead."""
    try:
        file = read_measurements(path)
    except LayoutFaults as faults:
        assert faults.faults
        assert all(fault.line >= 1 and fault.key and fault.got for fault in faults.faults)
        assert all(fault.allowed or len(fault.got.split()) >= _SENTENCE for fault in faults.faults)
        assert len(str(faults).split("\n")) == len({fault.text(path) for fault in faults.faults})
        return False
    assert all(math.isfinite(value) for value in numbers(file))
    assert file.measured.origin in file.measured.points
    assert {d.first for d in file.measured.distances} <= set(file.measured.points)
    return True


@pytest.mark.parametrize("seed", range(2))
def test_a_layout_from_damaged_measurements_is_one_or_is_refused(tmp_path: Path, seed: int) -> None:
    dice = random.Random(seed)
    tried = 0
    for count in range(15):
        damaged = nudged(dice, TAPED.encode()) if count % 2 else dice.choice(DAMAGES)(dice, TAPED)
        path = written(tmp_path, damaged)
        if not outcome(path):
            continue
        tried += 1
        file, out = read_measurements(path), tmp_path / "layout.yaml"
        try:
            write_measured(str(out), file, measuring_of(file.measured), ("note",), True)
        except CannotEdit as reason:
            assert str(reason)
        else:
            assert all(math.isfinite(value) for value in numbers(read_layout(str(out)).layout))
    assert tried > 1

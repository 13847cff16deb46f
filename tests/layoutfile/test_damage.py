"""Damaged files, seeded: whatever happens to a file, it is read or refused with lines, and every number is finite."""

import math
import random
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest

from beltplan.faults import LayoutFaults
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import RAILCAR, written
from tests.starters import STARTER

ROUNDS = 200
ODD = (
    ".nan", ".inf", "-.inf", "1e999", "-0", "0", "1e-320", "1_0", "0x1F", "1:30", "12,5", "true", "null", "~", "''",
    "[]", "{}", "[[[]]]", "{a: {b: c}}", "*a", "&a x", "!!python/none", "!x", "<<", "? x", "\t", "\x00", "\x85",
    "\ufeff", "- x", "|", ">", "%", "@", "`", "---", "...", "#", ":", "'", '"', "9" * 30, "٣", "\\ud800", '"\\0"',
)  # fmt: skip


def numbers(thing: object) -> Iterator[float]:
    """Every number in a layout."""
    if isinstance(thing, bool | str) or thing is None:
        return
    if isinstance(thing, int | float):
        yield float(thing)
    elif is_dataclass(thing):
        for field in fields(thing):
            yield from numbers(getattr(thing, field.name))
    elif isinstance(thing, dict):
        for value in thing.values():
            yield from numbers(value)
    elif isinstance(thing, tuple | list):
        for value in thing:
            yield from numbers(value)


def swapped_words(dice: random.Random, text: str) -> str:
    words = text.split(" ")
    for _ in range(dice.randint(1, 3)):
        words[dice.randrange(len(words))] = dice.choice([*ODD, dice.choice(words)])
    return " ".join(words)


def swapped_lines(dice: random.Random, text: str) -> str:
    lines = text.split("\n")
    here, there = dice.randrange(len(lines)), dice.randrange(len(lines))
    lines[here] = dice.choice([lines[there], "  " + lines[here], lines[here][2:], lines[here] + lines[there], ""])
    return "\n".join(lines)


def swapped_characters(dice: random.Random, text: str) -> str:
    at = dice.randrange(len(text))
    new = dice.choice("0123456789.,:;-+eE[]{}()&*!?|>'\"%@` \n\t#~abz\x00")
    return text[:at] + new + text[at + dice.randint(0, 2) :]


def nested(dice: random.Random, text: str) -> str:
    at = dice.randrange(len(text))
    return text[:at] + dice.choice(["[", "{a: ", "- ", "? "]) * dice.randint(1, 200) + text[at:]


DAMAGES = (swapped_words, swapped_lines, swapped_characters, nested)


@for_each(*range(8))
@for_each(RAILCAR, STARTER, ids=["railcar", "starter"])
def test_damaged_text(tmp_path: Path, seed: int, text: str) -> None:
    dice = random.Random(seed)
    read = 0
    for _ in range(ROUNDS // 8):
        damaged = text
        for _ in range(dice.randint(1, 3)):
            damaged = dice.choice(DAMAGES)(dice, damaged)
        read += outcome(written(tmp_path, damaged))
    assert read < ROUNDS // 8, "some damage must be noticed"


@pytest.mark.parametrize("seed", range(4))
def test_damaged_bytes(tmp_path: Path, seed: int) -> None:
    dice = random.Random(seed)
    for _ in range(ROUNDS // 8):
        data = bytearray(RAILCAR.encode("utf-8"))
        for _ in range(dice.randint(1, 4)):
            data[dice.randrange(len(data))] = dice.randrange(256)
        outcome(written(tmp_path, bytes(data)))


def outcome(path: str) -> bool:
    """Whether the file was read; a layout is all finite, a refusal names a line, a key, what and what instead."""
    try:
        layout = read_layout(path).layout
    except LayoutFaults as faults:
        assert faults.faults
        assert all(f.line >= 1 and f.key and f.got for f in faults.faults)
        assert all(f.allowed or f.key == "file" or "; write what belongs there: " in f.got for f in faults.faults)
        assert len(str(faults).split("\n")) == len({f.text(path) for f in faults.faults})
        return False
    found = list(numbers(layout))
    assert len(found) > 20
    assert all(math.isfinite(value) for value in found)
    return True

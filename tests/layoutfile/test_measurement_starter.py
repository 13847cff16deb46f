"""The measurements to begin with: read without fault, in agreement, and with a word on every measuring key."""

import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import yaml

from beltplan.checks.every_check import findings_of
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.schema import MEASUREMENT_KEYS
from beltplan.layoutfile.starter import starter_of
from beltplan.measure.layout_writer import write_measured
from beltplan.measure.study import Measuring, measuring_of
from tests.measure.samples import measured_of
from tests.starters import MEASUREMENT_STARTER

UNUSED = re.compile(r"^#(?=\w|  )", re.MULTILINE)
BLOCKS = ("#level:", "#marks:", "#  guide:", "#  belt on hand:", "#points:")
"""Beginnings of the unused parts; one goes on to the next line that is none."""


def used(text: str, beginning: str) -> str:
    """The text with one unused part taken into use."""
    lines, going = [], False
    for line in text.splitlines():
        going = line.startswith(beginning) or (going and line.startswith("#"))
        lines.append(line[1:] if going and UNUSED.match(line) else line)
    return "\n".join(lines) + "\n"


def found_in(folder: Path, text: str) -> Measuring:
    return measuring_of(measured_of(folder, text).measured)


def test_no_complaint(tmp_path: Path) -> None:
    found = found_in(tmp_path, MEASUREMENT_STARTER)
    assert found.sound and found.factor == 1.0 and found.degrees >= 3
    assert all((centre.sd_mm or 0.0) < 2.0 for centre in found.centres)


def test_the_starter_in_mm_is_the_same_engine(tmp_path: Path) -> None:
    """1 in is 25.4 mm: rounded to half a mm, every point lies within 1 mm of where the inches have it."""
    found, metric = (found_in(tmp_path, starter_of(True, units)) for units in ("in", "mm"))
    assert metric.sound and metric.factor == 1.0 and " in}" not in starter_of(True, "mm")
    np.testing.assert_allclose(metric.places, found.places, atol=1.0)


def test_a_layout_without_a_problem(tmp_path: Path) -> None:
    source = measured_of(tmp_path, MEASUREMENT_STARTER)
    path = tmp_path / "layout.yaml"
    write_measured(str(path), source, measuring_of(source.measured), (), False)
    text = path.read_text(encoding="utf-8")
    assert {finding.severity for finding in findings_of(route_of(read_layout(str(path)).layout), None)} <= {"note"}
    assert not [key.name for key in MEASUREMENT_KEYS if "." not in key.path and f"{key.name}:" in text]
    assert "INVENTED" in text.splitlines()[0] and not text.endswith("\n\n")


def test_every_key_is_shown_and_every_word_of_a_choice() -> None:
    words = set(re.findall(r"\w+", MEASUREMENT_STARTER))
    assert [key.path for key in MEASUREMENT_KEYS if key.name not in words | {"NAME", "PAIR"}] == []
    assert {key.path: left for key in MEASUREMENT_KEYS if (left := set(key.choices) - words)} == {}


def test_every_line_with_a_measuring_key_has_a_word_on_it() -> None:
    """A comment behind it, or over it, or over those directly above it."""
    lines = MEASUREMENT_STARTER.split("# What was measured takes")[1].splitlines()
    bare = [
        line for above, line in pairwise(lines)
        if line and " #" not in line and not line.startswith(("# ", "  ", "#  ")) and not above.startswith("# ")
    ]  # fmt: skip
    assert bare == []


def test_the_usual_accuracy_is_that_of_the_table() -> None:
    given = yaml.safe_load(MEASUREMENT_STARTER)["accuracy"]
    usual = {key.name: float(key.default.split(",")[0]) for key in MEASUREMENT_KEYS if key.parent == "accuracy"}
    assert given == usual


def test_invented_numbers_are_called_so() -> None:
    assert "INVENTED NUMBERS: replace every one with your own" in MEASUREMENT_STARTER


@pytest.mark.parametrize("parts", [*((part,) for part in BLOCKS), BLOCKS])
def test_unused_keys_can_be_used(tmp_path: Path, parts: tuple[str, ...]) -> None:
    text = MEASUREMENT_STARTER
    for part in parts:
        assert used(text, part) != text
        text = used(text, part)
    if "#level:" in parts:
        # Not level by the angle and the offsets that the starter gives: it stands instead of them.
        text = text.split("# Angles of")[0] + "#" + text.split("# Where points are seen")[1]
    found = found_in(tmp_path, text)
    assert not found.errors.gross_errors and found.errors.fits
    assert [loose.point for loose in found.undetermined] == (["mount bolt"] if "#marks:" in parts else [])


def test_the_picture_agrees_with_the_tape(tmp_path: Path) -> None:
    """Its scale by the distances is that at which it is said to be drawn, 0.5 mm for one px; so is the rim."""
    text = re.sub(r"#    mm_per_px.*\n", "", used(MEASUREMENT_STARTER, "#points:"))
    text = re.sub(r"    mm_per_px.*\n", "", text)
    found = found_in(tmp_path, text)
    assert found.sound and found.images[0].mm_per_px == pytest.approx(0.5, rel=0.005)
    generator = next(size for size in found.diameters if size.pulley == "generator")
    assert generator.value_mm == pytest.approx(2.4 * 25.4 - 0.385, abs=0.6)


@pytest.mark.parametrize("change", ["seen_from: back", "y_runs: up"])
def test_a_picture_the_wrong_way_round_does_not_agree(tmp_path: Path, change: str) -> None:
    key = change.split(":")[0]
    text = re.sub(rf"    {key}: \w+", f"    {change}", used(MEASUREMENT_STARTER, "#points:"))
    assert change in text and not found_in(tmp_path, text).sound

"""The table of measuring keys, held against the layout's table and the dataclasses (the project's own definition)."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import fields
from pathlib import Path
from typing import get_args

import pytest

from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.layout_file import MEASURED_BY
from beltplan.layoutfile.schema import (
    KEYS,
    MEASUREMENT_KEYS,
    WORDS_OF_SIDES,
    SeenSide,
    key_at,
    measuring_under,
    names_under,
)
from beltplan.measure.readers import Accuracy
from tests.for_each import for_each
from tests.layoutfile.samples import RAILCAR, written


def test_every_path_once_and_under_a_known_mapping() -> None:
    paths = [key.path for key in MEASUREMENT_KEYS]
    assert len(set(paths)) == len(paths)
    assert not set(paths) & {key.path for key in KEYS}
    for key in MEASUREMENT_KEYS:
        parents = key.parent.split(".")
        holder = ".".join(parents[:-1] if parents[-1] in ("NAME", "PAIR") else parents)
        assert not holder or holder in paths


@for_each(*((each,) for each in MEASUREMENT_KEYS), ids=lambda key: key.path)
def test_every_key_is_explained(key: Key) -> None:
    assert key.meaning and key.default
    assert key.least < key.most
    assert key.allowed() and "None" not in key.allowed(25.4)
    assert key_at(key.path) is key


def test_the_accuracies_are_the_fields_they_fill() -> None:
    assert set(measuring_under("accuracy")) == {field.name for field in fields(Accuracy)}
    defaults = {key.name: key.default for key in MEASUREMENT_KEYS if key.parent == "accuracy"}
    for field in fields(Accuracy):
        assert defaults[field.name].startswith(f"{field.default:g}, ")


def test_sides_are_those_of_the_study() -> None:
    assert get_args(SeenSide) == WORDS_OF_SIDES


def test_what_tells_measurements_from_a_layout_is_among_their_keys() -> None:
    assert set(MEASURED_BY) <= set(measuring_under("")) and not set(MEASURED_BY) & set(names_under(""))


def test_the_top_of_a_layout_knows_no_measuring_key() -> None:
    assert not set(names_under("")) & set(measuring_under(""))
    assert set(names_under("distances.PAIR")) == {"value", "outside", "gap", "accuracy_mm"}


def test_an_unknown_path_is_an_error() -> None:
    with pytest.raises(KeyError):
        key_at("distances.PAIR.colour")


def test_a_layout_is_read_without_the_measuring_modules(tmp_path: Path) -> None:
    program = (
        "import sys; from beltplan.cli.main import main; code = main(['check', sys.argv[1]]); "
        "own = sorted(name for name in sys.modules if name.startswith('beltplan') and 'measur' in name); "
        "print(code, own, file=sys.stderr)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program, written(tmp_path, RAILCAR)], capture_output=True, text=True, check=True
    )
    assert ran.stderr.splitlines()[-1] in ("0 []", "1 []")

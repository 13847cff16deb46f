"""Whole runs, chosen so that a change of nearly any line shows (`python -m tests.corpus --choose`), are as stored.

The stored answers are frozen: our own.
"""

import shlex
from pathlib import Path

import pytest
from fontTools import subset

from tests.corpus import choice
from tests.corpus.answers import answer
from tests.corpus.differences import differences
from tests.corpus.store import Answers

SAMPLE = choice.read()


@pytest.fixture(autouse=True)
def whole_fonts(monkeypatch: pytest.MonkeyPatch) -> None:
    """As outside of the tests (`tests/conftest.py`)."""
    left = [table for table in subset.Options._drop_tables_default if table not in ("GDEF", "GPOS", "GSUB")]
    monkeypatch.setattr(subset.Options, "_drop_tables_default", left)


@pytest.mark.parametrize("name", SAMPLE)
def test_run_is_as_stored(name: str, stored: Answers, folder: Path) -> None:
    now = {name: answer(shlex.split(name), folder)}
    assert list(differences({name: stored[name]}, now)) == []

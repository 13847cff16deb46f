"""Settings and fixtures shared by every test: random examples are drawn alike in every run, and nothing races a clock.

`pytest --hypothesis-profile=explore` draws new ones, and more.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import settings

from tests.cli.running import Runner

settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("explore", deadline=None, derandomize=False, max_examples=300)
settings.load_profile("steady")


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Runner:
    """Runs the command in this process."""
    return Runner(capsys)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that is the working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def rng(request: pytest.FixtureRequest) -> np.random.Generator:
    """A generator begun anew for every test, by the `SEED` of its file: the order of tests decides nothing."""
    return np.random.default_rng(request.module.SEED)

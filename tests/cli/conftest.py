"""Fixtures of the command line's tests."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import Runner


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Runner:
    """Runs the command in this process."""
    return Runner(capsys)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that is the working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path

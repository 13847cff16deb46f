"""Running the command: in this process, and as a process of its own."""

import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

from beltplan.cli.main import main

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "tests" / "report" / "example.yaml"
"""The manual's own example of a layout file: cautions, no problem."""

PROBLEM = """\
belt: 6PK800
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 100}
  far: {role: alternator, diameter: 100, slide: {from: [300, 0], to: [360, 0]}}
route: [crank, far]
"""
"""A named belt 114 mm too short."""
OVERLAPPING = PROBLEM.replace("slide: {from: [300, 0], to: [360, 0]}", "at: [90, 0]")
"""Two pulleys of 100 mm, 90 mm apart."""


@dataclass(frozen=True, slots=True)
class Ran:
    """What came of one run."""

    code: int
    out: str
    err: str


class Runner:
    """Runs `main` in this process and takes down what it wrote."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, *arguments: object) -> Ran:
        try:
            code: object = main([str(argument) for argument in arguments])
        except SystemExit as leave:
            code = leave.code
        captured = self._capsys.readouterr()
        assert isinstance(code, int)
        return Ran(code, captured.out, captured.err)


def surroundings() -> dict[str, str]:
    """The environment of a process of its own, which keeps what it compiles where this one does."""
    kept = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": sys.pycache_prefix} if sys.pycache_prefix else {}
    return {**os.environ, "PYTHONPATH": str(ROOT), **kept}


def process(arguments: Sequence[str | bytes], folder: Path, code: str = "", **environment: str) -> Ran:
    """Run `python -m beltplan`, or a piece of code, as a process of its own in a folder."""
    start = ["-c", code] if code else ["-m", "beltplan"]
    done = subprocess.run(
        [sys.executable, *start, *arguments],
        cwd=folder,
        env={**surroundings(), "PYTHONUTF8": "1", **environment},
        capture_output=True,
        check=False,
        timeout=120,
    )
    return Ran(done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8"))

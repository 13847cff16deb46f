"""Every optional line of both starter files, taken into use alone and with the others: words, never a traceback."""

import re
from pathlib import Path

import pytest

from tests.cli.running import Runner
from tests.for_each import for_each
from tests.starters import MEASUREMENT_STARTER, STARTER

pytestmark = pytest.mark.usefixtures("less_is_judged")
UNUSED = re.compile(r"^#(?=\w|  )")
COMMANDS = {"measure": MEASUREMENT_STARTER, "check": STARTER, "cure": STARTER}
LINES = [
    (command, number)
    for command, text in COMMANDS.items()
    for number, line in enumerate(text.splitlines())
    if UNUSED.match(line)
]
STANDS_INSTEAD = re.compile(
    r"^#(level:|    (load|tension_N|slide|spring|plane):|      (from|to|at|readings|mass_kg):|  block:)"
)
"""What the starters say stands instead of something else, or needs a drawing beside the file."""


def used(text: str, numbers: set[int]) -> str:
    """The text with those lines taken into use."""
    return "".join(line[number in numbers :] for number, line in enumerate(text.splitlines(keepends=True)))


def together(text: str) -> set[int]:
    """Numbers of the unused lines that can all stand together."""
    lines = enumerate(text.splitlines())
    return {number for number, line in lines if UNUSED.match(line) and not STANDS_INSTEAD.match(line)}


def ran_well(run: Runner, command: str, text: str, writes: bool) -> int:
    """Runs a command on a text; returns its exit status. Whatever it says, it says in words."""
    Path("file.yaml").write_text(text, encoding="utf-8")
    Path("out.yaml").unlink(missing_ok=True)
    ran = run(command, "file.yaml", *(("--write", "out.yaml") if writes else ()))
    assert ran.code in (0, 1, 2) and "Traceback" not in ran.out + ran.err and "nan" not in ran.out.lower().split()
    # A refusal names the file or the option, and what is allowed or what is open; all else is an answer.
    assert bool(ran.err) == (ran.code == 2) and bool(ran.out) == (ran.code != 2)
    assert not ran.err or ran.err.startswith(("file.yaml:", "--write: "))
    assert not (ran.code == 2 and Path("out.yaml").exists())
    return ran.code


@for_each(*LINES)
def test_each_optional_line_alone(run: Runner, here: Path, command: str, number: int) -> None:
    text = used(COMMANDS[command], {number})
    assert text != COMMANDS[command]
    ran_well(run, command, text, command != "check")


@for_each(*COMMANDS)
def test_all_that_can_stand_together(run: Runner, here: Path, command: str) -> None:
    """The mark of the measurements is not held by anything (status 1); nothing else stands against them."""
    text = used(COMMANDS[command], together(COMMANDS[command]))
    assert ran_well(run, command, text, False) == (command == "measure")
    if command != "check":
        ran_well(run, command, text, True)
    assert Path("out.yaml").exists() == (command == "measure")

"""The command as a whole: help with examples that work, and bad command lines."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from beltplan import __version__
from beltplan.cli import check
from beltplan.cli.main import COMMANDS, parser
from tests.cli.running import EXAMPLE, PROBLEM, ROOT, Runner
from tests.for_each import for_each

NAMES = COMMANDS


def examples(text: str) -> list[str]:
    """The example lines of a help text, as one would type them."""
    joined = " ".join(text.split())
    return re.findall(r"Examples?: (beltplan [^\n]*?)(?= Example|$)", joined)


@pytest.mark.parametrize("command", ["", *NAMES])
def test_help_has_an_example_that_works(run: Runner, here: Path, command: str) -> None:
    ran = run(*([command] if command else []), "--help")
    assert (ran.code, ran.err) == (0, "")
    found = examples(ran.out)
    assert found, ran.out
    # As in the root of the project, but with nothing left behind there.
    shutil.copytree(ROOT / "layouts", here / "layouts")
    for example in found:
        tried = run(*shlex.split(example.partition(" > ")[0])[1:])  # what stands behind > is the shell's
        assert tried.code in (0, 1) and tried.err == "" and tried.out, example


@for_each("command", NAMES)
def test_every_command_is_named_in_the_help(command: str) -> None:
    assert command in parser([]).format_help()


@for_each(
    "arguments",
    [[], ["draw"], ["check"], ["new"], ["check", "a.yaml", "b.yaml"], ["check", "a.yaml", "--picture"], ["--json"],
     ["check", "a.yaml", "--nonsense"]],
)  # fmt: skip
def test_bad_command_lines(run: Runner, here: Path, arguments: list[str]) -> None:
    ran = run(*arguments)
    assert (ran.code, ran.out) == (2, "") and ran.err.startswith("usage: beltplan")


def test_version(run: Runner) -> None:
    assert run("--version").out == f"beltplan {__version__}\n"


def test_a_command_that_is_refused_midway_has_written_nothing(
    run: Runner, monkeypatch: pytest.MonkeyPatch, here: Path
) -> None:
    from beltplan.cli.exits import Refused

    def half(*_: object) -> str:
        raise Refused("no more")

    monkeypatch.setattr(check, "_text", half)
    ran = run("check", EXAMPLE)
    assert (ran.code, ran.out, ran.err) == (2, "", "no more\n")


def test_two_runs_in_one_process_do_not_mix(run: Runner, here: Path) -> None:
    Path("layout.yaml").write_text(PROBLEM)
    first, again = run("check", EXAMPLE), run("check", EXAMPLE)
    assert run("check", "layout.yaml").code == 1 and first == again

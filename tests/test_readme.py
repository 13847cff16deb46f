"""The README's commands work, and what it shows is what the program says."""

import contextlib
import io
import re
import shlex
import shutil
from pathlib import Path

import pytest

from beltplan.cli.main import COMMANDS as NAMES
from beltplan.cli.main import main
from beltplan.drive.pulleys import TAPE_AND_CALIPERS
from beltplan.layoutfile.schema import KEYS
from beltplan.tolerance.study import DRAWS
from beltplan.words.word_list import found, groups
from tests.for_each import for_each
from tests.picture.drawn import can_be_painted, unpainted

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")


def _blocks(kind: str) -> list[str]:
    return re.findall(rf"```{kind}\n(.*?)```", README, re.DOTALL)


COMMANDS = [line for block in _blocks("sh") for line in block.splitlines() if line.startswith("beltplan ")]


def test_there_are_commands_to_try() -> None:
    assert len(COMMANDS) >= 7


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the commands are typed: the top of the project, but nothing is left behind there."""
    top = tmp_path_factory.mktemp("top")
    shutil.copytree(TOP / "layouts", top / "layouts")
    return top


@pytest.fixture(scope="module")
def said(folder: Path) -> dict[str, str]:
    """What every command says, one after the other; pictures are laid out and not painted."""
    told: dict[str, str] = {}
    with contextlib.chdir(folder), unpainted() as drawn:
        for line in (line for line in COMMANDS if " drag " not in line):  # which opens a window
            with contextlib.redirect_stdout(io.StringIO()) as out:
                assert main(shlex.split(line)[1:]) in (0, 1), line
            told[line] = out.getvalue()
    asked = [line for line in told if " vibration " not in line and re.search("-picture|template", line)]  # a chart
    assert len(drawn) >= len(asked) > 5 and all(map(can_be_painted, drawn))
    return told


def test_every_command_works_in_order(said: dict[str, str], folder: Path) -> None:
    assert all(said.values()) and len(said) == len(COMMANDS) - 1
    pictures = [
        word for line in COMMANDS for word in shlex.split(line) if word.endswith((".png", ".svg", ".pdf", ".dxf"))
    ]
    assert pictures
    assert all((folder / name).stat().st_size > 100 for name in pictures)


def test_the_set_up_lines_end_in_the_main_job_and_in_the_tests() -> None:
    main_line, test_line = (block.strip() for block in _blocks("sh")[:2])
    assert "\n" not in main_line and "\n" not in test_line
    assert main_line.startswith("python3 -m venv .venv && ") and ".venv/bin/beltplan check layouts/" in main_line
    assert test_line.startswith("python3 -m venv .venv && ") and test_line.endswith(
        '.venv/bin/python -m pytest -n auto -m "not long"'
    )


QUOTED = {
    "railcar head": "check layouts/railcar.yaml", "camper slip": "check layouts/camper.yaml --full",
    "measure head": "measure layouts/buggy_measured.yaml", "route head": "route layouts/camper.yaml",
    "tolerance head": "tolerance layouts/workboat.yaml", "cure head": "cure layouts/camper.yaml",
    "workboat place": "place layouts/workboat.yaml --pulley alternator",
    "squeal head": "squeal layouts/camper.yaml --when wet,idle --water louder",
}  # fmt: skip
"""What is quoted under a mark, and the command that says it."""


@for_each(*sorted(set(QUOTED.values())))
def test_what_is_quoted_is_what_the_program_says(said: dict[str, str], folder: Path, command: str) -> None:
    """What it says with a picture or a file besides has no other beginning."""
    words = ["beltplan", *shlex.split(command)]
    shown = next((out for line, out in said.items() if shlex.split(line)[: len(words)] == words), "")
    if not shown:
        with contextlib.chdir(folder), contextlib.redirect_stdout(io.StringIO()) as out:
            main(words[1:])
        shown = out.getvalue()
    for mark in (mark for mark, by in QUOTED.items() if by == command):
        (text,) = re.findall(rf"<!-- {mark} -->\n```text\n(.*?)```", README, re.DOTALL)
        assert text.strip() and text in shown
        assert shown.startswith(text) or mark not in ("railcar head", "measure head")


def _section(title: str) -> str:
    return README.partition(f"## {title}")[2].partition("\n## ")[0]


def test_every_quote_is_tested_and_every_command_has_its_place() -> None:
    assert set(re.findall(r"<!-- (.*) -->\n```text", README)) == set(QUOTED)
    assert {line.split()[1] for line in COMMANDS} | {"new", "words"} == set(NAMES)
    assert all(f"`beltplan {name} " in README for name in ("new", "words"))


def test_it_is_short() -> None:
    assert len(README.splitlines()) <= 330


def test_the_keys_for_cures_are_those_of_the_file() -> None:
    shown = set(re.findall(r"`(\w+): (?:\[[^\]]+\]|\d+)`", _section("What would cure it?")))
    assert shown == {"idler_sizes", "diameters", "movable_mm"} <= {key.name for key in KEYS}


def test_the_words_that_it_sends_to_are_there() -> None:
    asked = re.findall(r"`beltplan words ([^-`]+)`", README)
    assert asked and all(found(word.strip('"'), groups()) for word in asked if word != "KEY")


def test_the_options_and_keys_told_for_routes_are_there(capsys: pytest.CaptureFixture[str]) -> None:
    section = _section("Which way round?")
    with pytest.raises(SystemExit):
        main(["route", "--help"])
    assert set(re.findall(r"`(--[a-z-]+)", section)) <= set(re.findall(r"--[a-z-]+", capsys.readouterr().out))
    keys = set(re.findall(r"`([a-z_]+): [a-z]+`", section))
    assert keys and keys <= {key.name for key in KEYS}


def test_the_usual_uncertainties_are_told_right() -> None:
    usual = TAPE_AND_CALIPERS
    shown = f"position_mm: {usual.position_mm}, diameter_mm: {usual.diameter_mm}, angle_deg: {usual.angle_deg}"
    assert f"uncertainty: {{{shown}}}" in README and f"{DRAWS:,} times" in README


def test_pictures_shown_are_there() -> None:
    names = re.findall(r"\]\((gallery/[^)]+)\)", README)
    assert names and all((TOP / name).exists() for name in names)

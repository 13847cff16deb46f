"""The README's commands work, and what it shows is what the program says."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from beltplan.cli.main import main

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")


def _blocks(kind: str) -> list[str]:
    return re.findall(rf"```{kind}\n(.*?)```", README, re.DOTALL)


COMMANDS = [line for block in _blocks("sh") for line in block.splitlines() if line.startswith("beltplan ")]


def test_there_are_commands_to_try() -> None:
    assert len(COMMANDS) >= 7


def test_every_command_works_in_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(TOP / "layouts", tmp_path / "layouts")
    monkeypatch.chdir(tmp_path)
    codes = {line: main(shlex.split(line)[1:]) for line in COMMANDS}
    assert all(code in (0, 1) for code in codes.values()), codes
    pictures = [
        word for line in COMMANDS for word in shlex.split(line) if word.endswith((".png", ".svg", ".pdf", ".dxf"))
    ]
    assert pictures
    assert all((tmp_path / name).stat().st_size > 1000 for name in pictures)


def test_the_set_up_lines_end_in_the_main_job_and_in_the_tests() -> None:
    main_line, test_line = (block.strip() for block in _blocks("sh")[:2])
    assert "\n" not in main_line and "\n" not in test_line
    assert main_line.startswith("python3 -m venv .venv && ") and ".venv/bin/beltplan check layouts/" in main_line
    assert test_line.startswith("python3 -m venv .venv && ") and test_line.endswith(
        ".venv/bin/python -m pytest -n auto"
    )


def _quoted(mark: str) -> str:
    (text,) = re.findall(rf"<!-- {mark} -->\n```text\n(.*?)```", README, re.DOTALL)
    assert text.strip()
    return str(text)


def test_the_report_is_quoted_right(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(TOP / "layouts" / "railcar.yaml")])
    assert capsys.readouterr().out.startswith(_quoted("railcar head"))
    main(["check", str(TOP / "layouts" / "camper.yaml")])
    assert _quoted("camper slip") in capsys.readouterr().out


def test_what_was_measured_is_quoted_right(capsys: pytest.CaptureFixture[str]) -> None:
    main(["measure", str(TOP / "layouts" / "buggy_measured.yaml")])
    assert capsys.readouterr().out.startswith(_quoted("measure head"))


def test_the_layout_shown_stands_in_the_file() -> None:
    (shown,) = _blocks("yaml")
    assert shown.rstrip() in (TOP / "layouts" / "railcar.yaml").read_text(encoding="utf-8")


def test_pictures_shown_are_there() -> None:
    names = re.findall(r"\]\((gallery/[^)]+)\)", README)
    assert names and all((TOP / name).exists() for name in names)

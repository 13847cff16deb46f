"""What the README quotes of `beltplan route` is what the program says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from beltplan.cli.main import main

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")


def test_the_head_is_quoted_right(capsys: pytest.CaptureFixture[str]) -> None:
    (quoted,) = re.findall(r"<!-- route head -->\n```text\n(.*?)```", README, re.DOTALL)
    assert len(quoted.splitlines()) > 5
    assert main(["route", str(TOP / "layouts" / "camper.yaml")]) == 1
    assert quoted in capsys.readouterr().out


def test_the_options_and_keys_told_are_there(capsys: pytest.CaptureFixture[str]) -> None:
    section = README.partition("## Which way round?")[2].partition("\n## ")[0]
    with pytest.raises(SystemExit):
        main(["route", "--help"])
    assert set(re.findall(r"`(--[a-z-]+)", section)) <= set(re.findall(r"--[a-z-]+", capsys.readouterr().out))
    assert main(["words"]) == 0
    words = capsys.readouterr().out
    for key in re.findall(r"`([a-z_]+): [a-z]+`", section):
        assert key in words

"""What the README quotes of `beltplan tolerance` is what the program says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from beltplan.cli.main import main
from beltplan.drive.pulleys import TAPE_AND_CALIPERS
from beltplan.tolerance.study import DRAWS

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")


def test_the_head_is_quoted_right(capsys: pytest.CaptureFixture[str]) -> None:
    (quoted,) = re.findall(r"<!-- tolerance head -->\n```text\n(.*?)```", README, re.DOTALL)
    assert main(["tolerance", str(TOP / "layouts" / "workboat.yaml")]) == 0
    assert quoted in capsys.readouterr().out


def test_the_usual_values_are_told_right() -> None:
    usual = TAPE_AND_CALIPERS
    shown = f"position_mm: {usual.position_mm}, diameter_mm: {usual.diameter_mm}, angle_deg: {usual.angle_deg}"
    assert f"uncertainty: {{{shown}}}" in README
    assert f"{DRAWS:,} times" in README

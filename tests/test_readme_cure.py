"""What the README quotes of `beltplan cure` is what the program says, and the keys that it shows can be read."""

from __future__ import annotations

import re
from pathlib import Path

import yaml

from beltplan.cure.report import cure_text
from beltplan.layoutfile.schema import KEYS
from tests.cure.drives import cures

README = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")


def test_the_answer_and_the_first_cure_are_quoted_right() -> None:
    quoted = re.findall(r"<!-- cure (?:head|first) -->\n```text\n(.*?)```", README, re.DOTALL)
    assert len(quoted) == 2
    assert all(part in cure_text(cures("camper")) for part in quoted)


def test_the_keys_are_those_of_the_file() -> None:
    section = README.split("## What would cure it?")[1].split("\n## ")[0]
    shown = yaml.safe_load("\n".join(re.findall(r"^    (\w.*)$", section, re.MULTILINE)))
    assert set(shown) == {"idler_sizes", "diameters", "movable_mm"} <= {key.name for key in KEYS}

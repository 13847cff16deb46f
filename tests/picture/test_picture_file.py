"""Endings of picture files."""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.checks.plan import plan_on
from beltplan.picture.painter import paint
from beltplan.picture.picture_file import picture_ending
from beltplan.picture.routing import routing_scene
from tests.for_each import for_each
from tests.picture.drives import two_pulleys


@for_each(
    ("path", "ending"),
    [("a.png", "png"), ("b/c.SVG", "svg"), ("d.e.pdf", "pdf"), ("a.jpg", None), ("png", None), ("", None)],
)
def test_ending(path: str, ending: str | None) -> None:
    assert picture_ending(path) == ending


def test_other_endings_are_refused_before_anything_is_written(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"\.png, \.svg, \.pdf"):
        paint(routing_scene(plan_on(two_pulleys())), str(tmp_path / "a.bmp"))
    assert not list(tmp_path.iterdir())


def test_picture_of_a_route(tmp_path: Path) -> None:
    paint(routing_scene(plan_on(two_pulleys())), str(tmp_path / "a.svg"))
    assert "<svg" in (tmp_path / "a.svg").read_text(encoding="utf-8")

"""Endings of picture files."""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.checks.plan import plan_on
from beltplan.picture.painter import paint
from beltplan.picture.routing import routing_scene
from tests.for_each import for_each
from tests.picture.drives import two_pulleys


@for_each(("a.png", b"\x89PNG"), ("c.SVG", b"<?xml"), ("d.e.pdf", b"%PDF"))
def test_the_ending_says_which_kind_of_picture_is_written(tmp_path: Path, name: str, first: bytes) -> None:
    paint(routing_scene(plan_on(two_pulleys())), str(tmp_path / name))
    assert (tmp_path / name).read_bytes().startswith(first)


@for_each("a.bmp", "a.jpg", "png", "")
def test_other_endings_are_refused_before_anything_is_written(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match=r"\.png, \.svg, \.pdf"):
        paint(routing_scene(plan_on(two_pulleys())), str(tmp_path / name))
    assert not list(tmp_path.iterdir())

"""The gallery is what the program draws now."""

import importlib.util
import re
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from PIL import Image

from tests.for_each import mostly_long

TOP = Path(__file__).resolve().parent.parent
MOST_DIFFERENT_PIXELS = 0.002
"""Share of pixels that may differ: another build of the font renderer moves a few edges."""


def _drawer() -> ModuleType:
    spec = importlib.util.spec_from_file_location("draw", TOP / "gallery" / "draw.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


DRAWER = _drawer()


@pytest.mark.parametrize(("name", "command"), mostly_long(DRAWER.PICTURES, 0, 11))
def test_the_picture_is_drawn_the_same_again(name: str, command: tuple[str, ...], tmp_path: Path) -> None:
    assert DRAWER.draw(name, command, tmp_path) in (0, 1)
    _assert_kept(name, tmp_path)


def test_the_window_is_drawn_the_same_again(tmp_path: Path) -> None:
    DRAWER.draw_window(tmp_path)
    _assert_kept(DRAWER.WINDOW, tmp_path)


def _assert_kept(name: str, tmp_path: Path) -> None:
    kept, drawn = (np.asarray(Image.open(folder / name).convert("RGB"), int) for folder in (TOP / "gallery", tmp_path))
    assert kept.shape == drawn.shape
    different = (np.abs(kept - drawn).max(axis=-1) > 40).mean()
    assert different <= MOST_DIFFERENT_PIXELS


def test_the_page_shows_every_picture_and_no_other() -> None:
    page = (TOP / "gallery" / "README.md").read_text(encoding="utf-8")
    shown = set(re.findall(r"\]\(([^)]+\.png)\)", page))
    assert (
        shown
        == {DRAWER.WINDOW, *(name for name, _ in DRAWER.PICTURES)}
        == {path.name for path in (TOP / "gallery").glob("*.png")}
    )

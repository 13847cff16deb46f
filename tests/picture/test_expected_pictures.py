"""Whole pictures against stored ones, which are frozen: our own, looked at by eye when they were made.

Make them anew after a wanted change, and look at them:
    python -m tests.picture.test_expected_pictures
"""

import contextlib
import io
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.cli.main import main
from beltplan.drive.route import Route
from beltplan.picture.painter import picture_bytes
from beltplan.picture.routing import routing_scene
from beltplan.picture.scene import Label
from tests.for_each import for_each
from tests.picture.drawn import unpainted
from tests.picture.drives import BUILT
from tests.shipped import SHIPPED_LAYOUTS

EXPECTED = Path(__file__).with_name("expected")
PICTURES = ("built railcar", "two pulleys", "crowded")
DPI = 50
MEAN_DIFFERENCE = 1.0
"""Grey levels of 255, mean over the picture."""
DIFFERENT, TILE, DIFFERENT_OF_TILE = 48, 64, 0.015
"""Of a tile of 64 pixels 1.5 % may be further apart than 48 grey levels: edges of letters on another machine."""

FINDINGS = (
    Finding("wrap", "problem", "crank", "too little wrap", "test", parts=("crank", "water pump")),
    Finding(
        "clearance", "caution", "crank to tensioner", "passes close", "test", parts=("crank to tensioner", "bracket")
    ),
    Finding("stock", "caution", "belt", "little reserve", "test"),
    Finding("plane", "note", "belt", "no plane given", "test"),
)


class Frozen(Plan):
    """A plan with the verdict of the stored pictures."""

    verdict = "One problem, two cautions."


def painted(make: Callable[[], Route]) -> bytes:
    return picture_bytes(routing_scene(Frozen(make(), None, FINDINGS)), "png", DPI)


def expected_path(name: str) -> Path:
    return EXPECTED / f"{name.replace(' ', '_')}.png"


@for_each(*PICTURES)
def test_picture_is_the_stored_one(name: str) -> None:
    as_stored(painted(BUILT[name]), name)


def as_stored(png: bytes, name: str) -> None:
    """Raises AssertionError where a picture is not the stored one, on the whole or in a tile."""
    got, stored = (
        np.asarray(Image.open(each).convert("RGB"), dtype=float) for each in (io.BytesIO(png), expected_path(name))
    )
    assert got.shape == stored.shape
    difference = np.abs(got - stored)
    assert difference.mean() <= MEAN_DIFFERENCE
    apart = difference.max(axis=-1) > DIFFERENT
    high, wide = (-(-size // TILE) * TILE for size in apart.shape)
    tiles = np.pad(apart, ((0, high - apart.shape[0]), (0, wide - apart.shape[1])))
    assert tiles.reshape(high // TILE, TILE, wide // TILE, TILE).mean(axis=(1, 3)).max() <= DIFFERENT_OF_TILE


# Every other kind of picture. Words are laws of other tests, and change more often: each stands as three letters, where
# it stands and as large as it is.

SHIPPED, CASES = SHIPPED_LAYOUTS[0].parent, Path(__file__).parents[1] / "cases"
COMMANDS = {
    "beside each other": ("compare", SHIPPED / "workboat.yaml", "--picture"),
    "tolerances": ("tolerance", SHIPPED / "workboat.yaml", "--draws", "200", "--picture"),
    "measured": ("measure", SHIPPED / "buggy_measured.yaml", "--picture"),
    "map": ("place", CASES / "gokart.yaml", "--pulley", "generator", "--step", "0.5in", "--picture"),
    "print": ("template", SHIPPED / "workboat.yaml", "--paper", "A4", "--out"),
}
"""Of a print the second sheet, beside other sheets."""
SHEET_DPI = 72


def sheet(name: str) -> bytes:
    ending = "pdf" if name == "print" else "png"
    with tempfile.TemporaryDirectory() as folder, unpainted() as scenes, contextlib.redirect_stdout(io.StringIO()):
        assert main([*map(str, COMMANDS[name]), str(Path(folder, f"sheet.{ending}"))]) in (0, 1)
    scene = scenes[min(1, len(scenes) - 1)]
    items = tuple(replace(item, text="xxx") if isinstance(item, Label) and item.text else item for item in scene.items)
    return picture_bytes(replace(scene, items=items), "png", SHEET_DPI)


@for_each(*COMMANDS)
def test_a_sheet_is_the_stored_one(name: str) -> None:
    as_stored(sheet(name), name)


if __name__ == "__main__":
    EXPECTED.mkdir(exist_ok=True)
    for name in COMMANDS:
        expected_path(name).write_bytes(sheet(name))
    for name in PICTURES:
        expected_path(name).write_bytes(painted(BUILT[name]))

"""Whole pictures against stored ones, which are frozen: our own, looked at by eye when they were made.

Make them anew after a wanted change, and look at them:
    python -m tests.picture.test_expected_pictures
"""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.drive.route import Route
from beltplan.picture.painter import picture_bytes
from beltplan.picture.routing import routing_scene
from tests.for_each import for_each
from tests.picture.drives import BUILT

EXPECTED = Path(__file__).with_name("expected")
PICTURES = ("built railcar", "two pulleys", "crowded")
DPI = 50
MEAN_DIFFERENCE = 1.0
"""Grey levels of 255, mean over the picture."""
DIFFERENT, DIFFERENT_SHARE = 48, 0.004
"""Pixels further apart than 48 grey levels may be 0.4 % of the picture: edges of letters on another machine."""

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


@for_each("name", PICTURES)
def test_picture_is_the_stored_one(name: str) -> None:
    got = np.asarray(Image.open(io.BytesIO(painted(BUILT[name]))).convert("RGB"), dtype=float)
    stored = np.asarray(Image.open(expected_path(name)).convert("RGB"), dtype=float)
    assert got.shape == stored.shape
    difference = np.abs(got - stored)
    assert difference.mean() <= MEAN_DIFFERENCE
    assert (difference.max(axis=-1) > DIFFERENT).mean() <= DIFFERENT_SHARE


if __name__ == "__main__":
    EXPECTED.mkdir(exist_ok=True)
    for name in PICTURES:
        expected_path(name).write_bytes(painted(BUILT[name]))

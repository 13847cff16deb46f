"""Draws every picture of the gallery, through the same commands that a user types.

Run from the repository's top: python gallery/draw.py [FOLDER]   (FOLDER: gallery, where left out)
"""

from __future__ import annotations

import contextlib
import io
import sys
from pathlib import Path

from beltplan.cli.main import main

TOP = Path(__file__).resolve().parent.parent

PICTURES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("buggy_measured.png", ("measure", "layouts/buggy_measured.yaml", "--picture")),
    ("railcar.png", ("check", "layouts/railcar.yaml", "--picture")),
    ("camper.png", ("check", "layouts/camper.yaml", "--picture")),
    ("camper_route.png", ("route", "layouts/camper.yaml", "--picture")),
    ("camper_cure.png", ("cure", "layouts/camper.yaml", "--picture")),
    ("camper_slip.png", ("check", "layouts/camper.yaml", "--slip-picture")),
    ("camper_with_idler.png", ("check", "layouts/camper.yaml", "--variant", "with idler", "--picture")),
    ("camper_with_idler_slip.png", ("check", "layouts/camper.yaml", "--variant", "with idler", "--slip-picture")),
    ("orchard_sprayer.png", ("check", "layouts/orchard_sprayer.yaml", "--picture")),
    ("workboat.png", ("check", "layouts/workboat.yaml", "--picture")),
    ("workboat_compare.png", ("compare", "layouts/workboat.yaml", "--picture")),
    ("workboat_place.png", ("place", "layouts/workboat.yaml", "--pulley", "alternator", "--picture")),
    ("workboat_tolerance.png", ("tolerance", "layouts/workboat.yaml", "--picture")),
    ("too_tight.png", ("check", "layouts/too_tight.yaml", "--picture")),
)
"""File name, and the command that draws it, short of the file."""


def draw(name: str, command: tuple[str, ...], folder: Path) -> int:
    """Draw one picture into a folder; returns the command's exit status."""
    words = [str(TOP / word) if word.startswith("layouts/") else word for word in command]
    with contextlib.redirect_stdout(io.StringIO()):
        return main([*words, str(folder / name)])


def draw_all(folder: Path) -> None:
    """Draw every picture into a folder."""
    for name, command in PICTURES:
        if draw(name, command, folder) == 2:
            raise SystemExit(f"{name} was not drawn")


if __name__ == "__main__":
    draw_all(Path(sys.argv[1]) if len(sys.argv) > 1 else TOP / "gallery")

"""Draws every picture of the gallery, through the same commands that a user types.

Run from the repository's top: python gallery/draw.py [FOLDER]   (FOLDER: gallery, where left out)
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
from pathlib import Path

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

from beltplan.cli.main import main
from beltplan.drag.bench import Bench
from beltplan.drag.window import SIZE_IN, Window

TOP = Path(__file__).resolve().parent.parent

PICTURES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("buggy_measured.png", ("measure", "layouts/buggy_measured.yaml", "--picture")),
    ("railcar.png", ("check", "layouts/railcar.yaml", "--picture")),
    ("railcar_vibration.png", ("vibration", "layouts/railcar.yaml", "--picture")),
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
    ("workboat_place_any.png",
     ("place", "layouts/workboat.yaml", "--pulley", "alternator", "--belt", "any", "--picture")),
    ("workboat_place_two.png",
     ("place", "layouts/workboat.yaml", "--pulley", "alternator", "--pulley", "steering_pump", "--picture")),
    ("workboat_tolerance.png", ("tolerance", "layouts/workboat.yaml", "--picture")),
    ("too_tight.png", ("check", "layouts/too_tight.yaml", "--picture")),
)  # fmt: skip
"""File name, and the command that draws it, short of the file."""
WINDOW = "camper_drag.png"
"""The window of `beltplan drag` while the second alternator is moved."""


def draw(name: str, command: tuple[str, ...], folder: Path) -> int:
    """Draw one picture into a folder; returns the command's exit status."""
    words = [str(TOP / word) if word.startswith("layouts/") else word for word in command]
    with contextlib.redirect_stdout(io.StringIO()):
        return main([*words, str(folder / name)])


def draw_window(folder: Path) -> None:
    """Draw the window with a pulley in hand, on a canvas in the place of a screen."""
    figure = Figure(figsize=SIZE_IN)
    canvas = FigureCanvasAgg(figure)
    bench = Bench(str(TOP / "layouts" / "camper.yaml"), None, lambda source, after: "")
    window = Window(figure, bench)
    x, y = bench.live.centres["house_alternator"]
    bench.take((x, y))
    bench.move((x + 64.0, y + 52.0))
    window.rest()
    Image.fromarray(np.asarray(canvas.buffer_rgba())).convert("RGB").save(folder / WINDOW, optimize=True)


def draw_all(folder: Path) -> None:
    """Draw every picture into a folder."""
    for name, command in PICTURES:
        if draw(name, command, folder) == 2:
            raise SystemExit(f"{name} was not drawn")
    draw_window(folder)


if __name__ == "__main__":
    os.environ["SOURCE_DATE_EPOCH"] = "1793491200"  # files are of one day, whenever they were checked out
    draw_all(Path(sys.argv[1]) if len(sys.argv) > 1 else TOP / "gallery")

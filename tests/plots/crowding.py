"""Whether a drawn sheet's lettering has room, measured with the renderer's own letters."""

from __future__ import annotations

from itertools import combinations

import shapely
from matplotlib.text import Text

from beltplan.plots.painter import figure_of
from beltplan.plots.scene import Scene


def crowded(scene: Scene, slack_pt: float) -> list[str]:
    """What passes the frame or lies on another text; texts may touch by `slack_pt`. Raises for a sheet without text."""
    figure = figure_of(scene)
    figure.set_dpi(144)
    renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    boxes = []
    for text in (artist for artist in figure.artists if isinstance(artist, Text)):
        x0, y0, x1, y1 = (float(edge) / 2.0 for edge in text.get_window_extent(renderer).extents)
        boxes.append((text.get_text(), shapely.box(x0 + slack_pt, y0 + slack_pt, x1 - slack_pt, y1 - slack_pt)))
    if not boxes:
        raise ValueError("the sheet holds no text")
    frame = shapely.box(0.0, 0.0, *scene.size_pt)
    outside = [f"{words} passes the frame" for words, box in boxes if not frame.contains_properly(box)]
    return outside + [
        f"{first} lies on {second}" for (first, a), (second, b) in combinations(boxes, 2) if a.intersects(b)
    ]

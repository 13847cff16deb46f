"""Whether the words of a drawn sheet can be read, measured with the renderer's own letters."""

from __future__ import annotations

import warnings

import shapely
from matplotlib.text import Text

from beltplan.picture.painter import figure_of
from beltplan.picture.scene import Scene, Stroke

SLACK_PT = 0.4
"""Text extents are rounded to whole pixels, half a point each."""

Lettering = list[tuple[str, shapely.Polygon]]


def lettering(scene: Scene, slack_pt: float) -> Lettering:
    """Every text with the box of its letters in points from the lower left, smaller by a slack on every side.

    Raises for a sheet without text.
    """
    figure = figure_of(scene)
    figure.set_dpi(144)
    renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    boxes = []
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        for text in (artist for artist in figure.artists if isinstance(artist, Text)):
            x0, y0, x1, y1 = (float(edge) / 2.0 for edge in text.get_window_extent(renderer).extents)
            boxes.append((text.get_text(), shapely.box(x0 + slack_pt, y0 + slack_pt, x1 - slack_pt, y1 - slack_pt)))
    if not boxes:
        raise ValueError("the sheet holds no text")
    return boxes


def crowded(scene: Scene, slack_pt: float, boxes: Lettering | None = None) -> list[str]:
    """What passes the frame or lies on another text; texts may touch by `slack_pt`. Raises for a sheet without text."""
    boxes, frame = boxes or lettering(scene, slack_pt), shapely.box(0.0, 0.0, *scene.size_pt)
    outside = [f"{words} passes the frame" for words, box in boxes if not frame.contains_properly(box)]
    pairs = shapely.STRtree([box for _, box in boxes]).query([box for _, box in boxes], "intersects").T
    return outside + [f"{boxes[i][0]} lies on {boxes[j][0]}" for i, j in pairs if i < j]


def _struck(scene: Scene, words: Lettering) -> list[str]:
    """Words that a leader line runs through."""
    leaders = [item.points for item in scene.named("leader") if isinstance(item, Stroke)]
    lines = [shapely.LineString((points - scene.frame[:2]) * scene.unit_pt) for points in leaders]
    return [f"a leader runs through {text}" for line in lines for text, box in words if line.intersects(box)]


def audit(scene: Scene) -> list[str]:
    """Everything that keeps words from being read: words over words, words cut, leaders through words."""
    words = lettering(scene, SLACK_PT)
    return crowded(scene, SLACK_PT, words) + _struck(scene, words)

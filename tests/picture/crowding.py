"""Whether the words of a drawn sheet can be read, measured with the renderer's own letters."""

import re
import warnings
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from matplotlib.text import Text

from beltplan.geometry.vectors import Floats
from beltplan.picture.painter import figure_of
from beltplan.picture.scene import Chart, Label, Scene, Stroke

SLACK_PT = 0.4
"""Text extents are rounded to whole pixels, half a point each."""
LEAST_PT = 8.0
"""A page is 800 points wide: at 800 pixels a point is a pixel."""
UNITS = "mm|in|deg|rpm|N|Nm|Hz|kW|%"
COLOURS = "red|green|blue|yellow|orange|purple"


@dataclass(frozen=True)
class Lettering:
    """A text as it is drawn: the box of its letters in points from the lower left, and their size."""

    words: str
    box: shapely.Polygon
    size_pt: float


def lettering(scene: Scene, slack_pt: float) -> list[Lettering]:
    """Every text, outside charts and in them, with its box smaller by a slack on every side.

    Lines and areas are left out. Raises for a sheet without text.
    """
    labels = [label for label in scene.labels if label.text.strip()]
    new = [label for label in labels if _looks(label) not in _LETTERS]
    figure = figure_of(replace(scene, items=(*new, *(item for item in scene.items if isinstance(item, Chart)))))
    figure.set_dpi(144)
    renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]

    def edges(text: Text) -> Floats:
        return np.reshape(text.get_window_extent(renderer).extents, (2, 2)) / 2.0

    corner = np.array(scene.frame[:2])
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        if figure.axes:
            figure.draw_without_rendering()
        for label, text in zip(new, (each for each in figure.artists if isinstance(each, Text)), strict=True):
            _LETTERS[_looks(label)] = edges(text) - (label.at - corner)
        charts = [text for axes in figure.axes for text in axes.findobj(Text) if isinstance(text, Text)]
        found = [(label.text, label.at - corner + _LETTERS[_looks(label)], label.size_pt) for label in labels]
        shown = [text for text in charts if text.get_visible() and text.get_text().strip()]
        found += [(text.get_text(), edges(text), float(text.get_fontsize())) for text in shown]
    if not found:
        raise ValueError("the sheet holds no text")
    return [
        Lettering(words, shapely.box(*(low + slack_pt), *(high - slack_pt)), size) for words, (low, high), size in found
    ]


_LETTERS: dict[tuple[str, float, bool, str], Floats] = {}
"""Lower left and upper right corner of a label's letters from where it stands, points: many sheets say the same."""


def _looks(label: Label) -> tuple[str, float, bool, str]:
    return label.text, label.size_pt, label.bold, label.align


def crowded(scene: Scene, slack_pt: float) -> list[str]:
    """What passes the frame or lies on another text; texts may touch by `slack_pt`. Raises for a sheet without text."""
    return _crowded(scene, lettering(scene, slack_pt))


def _crowded(scene: Scene, letters: list[Lettering]) -> list[str]:
    frame, boxes = shapely.box(0.0, 0.0, *scene.size_pt), [each.box for each in letters]
    outside = [f"{each.words} passes the frame" for each in letters if not frame.contains_properly(each.box)]
    first, second = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    pairs = sorted((int(a), int(b)) for a, b in zip(first, second, strict=True) if a < b)
    return outside + [f"{letters[a].words} lies on {letters[b].words}" for a, b in pairs]


def _struck(scene: Scene, letters: list[Lettering]) -> list[str]:
    leaders = [item.points for item in scene.named("leader") if isinstance(item, Stroke)]
    lines = [shapely.LineString(points - scene.frame[:2]) for points in leaders]
    return [f"a leader runs through {each.words}" for line in lines for each in letters if line.intersects(each.box)]


def _torn(scene: Scene) -> list[str]:
    words = [label.text for label in scene.labels]
    pairs = [(a, b) for a, b in pairwise(scene.labels) if (a.name, a.size_pt, a.at[0]) == (b.name, b.size_pt, b.at[0])]
    return [f"{text} holds a quote of code" for text in words if "`" in text] + [
        f"{a.text} is torn from {b.text}"
        for a, b in pairs
        if re.search(r"\d$", a.text) and re.match(rf"({UNITS})\b|%", b.text)
    ]


def audit(scene: Scene) -> list[str]:
    """All that keeps words from being read.

    Words over words, words cut, leaders through words, words too small, numbers torn from their units, quotes of code,
    and colours by their names: a grey print has none.
    """
    letters = lettering(scene, SLACK_PT)
    small = [f"{each.words} is {each.size_pt:g} points high" for each in letters if each.size_pt < LEAST_PT]
    named = [f"{each.words} tells a colour" for each in letters if re.search(rf"\b({COLOURS})\b", each.words.lower())]
    return _crowded(scene, letters) + _struck(scene, letters) + small + named + _torn(scene)

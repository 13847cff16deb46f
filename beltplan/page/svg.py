"""Things of a scene as elements of an SVG drawing inside a page: each part in groups of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import groupby
from xml.etree.ElementTree import Element

import numpy as np

from beltplan.geometry.vectors import Floats, norm
from beltplan.page.elements import element
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Box, Item, Label, Shape, Stroke

_ROUND = 1e-6
"""Points that lie this near to one circle, as a share of its radius, are drawn as a circle."""
_ANCHORS = {"left": "start", "center": "middle", "right": "end"}
HATCH = "hatch"
"""Id of the pattern of slanting lines, which the drawing's `defs` hold."""


Key = tuple[str | None, str]
"""Of a group: the part that it belongs to, None for none; and its kind."""


@dataclass(frozen=True)
class Canvas:
    """Where a scene lies in a drawing. frame: its edges, points; scale: how much of the drawing one of these is."""

    frame: Box
    scale: float = 1.0

    @property
    def size(self) -> tuple[float, float]:
        left, bottom, right, top = self.frame
        return (right - left) * self.scale, (top - bottom) * self.scale

    def laid(self, points: Floats) -> Floats:
        """Points of the scene, (..., 2), in the drawing, where y grows downward."""
        left, _, _, top = self.frame
        return np.asarray((points - np.array((left, top))) * np.array((self.scale, -self.scale)))

    def drawn(self, item: Item) -> list[Element]:
        """The elements of one thing. Rasters and charts have no place in such a drawing."""
        if isinstance(item, Stroke):
            return [element("path", d=self._chain(item.points), fill="none", **self._line(item.pen))]
        if isinstance(item, Label):
            return [self._text(item)]
        if not isinstance(item, Shape):
            return []
        look = {} if item.pen is None else self._line(item.pen)
        fills = [item.fill or "none", *([f"url(#{HATCH})"] if item.hatched else [])]
        return [self._area(item.rings, fill=fill, **look) for fill in fills]

    def _area(self, rings: tuple[Floats, ...], **look: object) -> Element:
        middle = rings[0].mean(axis=0)
        reach = norm(rings[0] - middle)
        if len(rings) == 1 and len(reach) > 40 and np.ptp(reach) < _ROUND * reach.max():
            x, y = self.laid(middle).tolist()
            return element("circle", cx=_short(x), cy=_short(y), r=_short(float(reach.max()) * self.scale), **look)
        chains = " ".join(f"{self._chain(ring)}Z" for ring in rings)
        return element("path", d=chains, fill_rule="evenodd", **look)

    def _chain(self, points: Floats) -> str:
        """A chain of points as steps from each to the next: shorter to write than their places."""
        tenths = np.round(10.0 * self.laid(points))
        steps = np.diff(tenths, axis=0)
        (x, y), moves = tenths[0].tolist(), (f"{_short(0.1 * dx)} {_short(0.1 * dy)}" for dx, dy in steps.tolist())
        return f"M{_short(0.1 * x)} {_short(0.1 * y)}l{' '.join(moves)}"

    def _line(self, pen: Pen) -> dict[str, object]:
        dash = " ".join(_short(each * self.scale) for each in pen.dash) or None
        return {"stroke": pen.colour, "stroke_width": _short(pen.width_pt * self.scale), "stroke_dasharray": dash}

    def _text(self, label: Label) -> Element:
        x, y = self.laid(np.array(label.at)).tolist()
        place = {"x": _short(x), "y": _short(y), "font_size": _short(label.size_pt * self.scale), "fill": label.colour}
        weight = "bold" if label.bold else None
        return element("text", label.text, **place, text_anchor=_ANCHORS[label.align], font_weight=weight)

    def groups(self, items: Iterable[Item], key_of: Callable[[str], Key]) -> list[tuple[Key, Element]]:
        """The things in their order, those of one key that follow each other in one group. key_of: a thing's name."""
        return [
            (key, element("g", *(made for item in each for made in self.drawn(item))))
            for key, each in groupby(items, key=lambda item: key_of(item.name))
        ]


def _short(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0") if abs(number) >= 0.05 else "0"


def drawing(
    size: tuple[float, float], label: str, *children: Element, role: str = "img", **attributes: object
) -> Element:
    """A drawing inside the page. label: what it shows, for who hears it; role: `group` where its parts are heard."""
    width, height = size
    box = {"viewBox": f"0 0 {width:.0f} {height:.0f}", "role": role, "aria_label": label}
    return element("svg", *children, **box, **attributes)


def hatching(colour: str) -> Element:
    line = element("path", d="M0 0V6", stroke=colour, stroke_width="0.7")
    box = {"width": 6, "height": 6, "patternUnits": "userSpaceOnUse", "patternTransform": "rotate(-45)"}
    return element("defs", element("pattern", line, id=HATCH, **box))

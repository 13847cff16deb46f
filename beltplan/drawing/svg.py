"""An export as SVG at full size: one unit is one mm, one group a layer, the belt in closed paths of true arcs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from beltplan.drawing.content import (
    DRAWN_LAYERS,
    HEIGHT_MM,
    Content,
    Words,
    clean,
    decimal,
    extent_of,
    labels_of,
    notes_of,
)
from beltplan.drawing.study import Arc, Line, Outline, Place, Ring, Spot

STROKE_MM = 0.25
_MARGIN_MM = 10.0
_MARK_MM = 2.0
"""Half the width of the cross that marks a point."""
_JOINED_MM = 1e-6
_LARGEST_STEP_RAD = 0.5 * math.pi
"""Arcs are cut into steps no larger: near half a turn, two ends and a radius no longer tell well which arc is meant."""

_Chain = list[Line | Arc]


def svg_text(content: Content) -> str:
    """The whole file. y is turned, so that it looks as from the front. Raises ValueError for a number not finite."""
    root = Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "version": "1.1", **_page(content)})
    SubElement(root, "title").text = content.heading
    SubElement(root, "desc").text = ". ".join(notes_of(content))
    labels = labels_of(content)
    for layer in DRAWN_LAYERS:
        look = {"fill": "none", "stroke": layer.colour, "stroke-width": str(STROKE_MM)}
        group = SubElement(root, "g", {"id": layer.name, **look})
        own = [part for part in content.parts if part.layer == layer.name]
        group.extend(_element(part) for part in own if not isinstance(part, Line | Arc))
        group.extend(_path(chain) for chain in _chains(part for part in own if isinstance(part, Line | Arc)))
        group.extend(_text(label, layer.colour) for label in labels if label.layer == layer.name)
    indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{tostring(root, encoding="unicode")}\n'


def _page(content: Content) -> dict[str, str]:
    """Size in mm and the same numbers in units, whole ones, so that a unit is a mm to the last digit."""
    (x0, y0), (x1, y1) = extent_of(content)
    left, top = math.floor(x0 - _MARGIN_MM), math.floor(-y1 - _MARGIN_MM)
    width, height = math.ceil(x1 + _MARGIN_MM) - left, math.ceil(-y0 + _MARGIN_MM) - top
    return {"width": f"{width}mm", "height": f"{height}mm", "viewBox": f"{left} {top} {width} {height}"}


def _chains(parts: Iterable[Line | Arc]) -> Iterator[_Chain]:
    """Lines and arcs that follow one another, as long as each begins where the one before ends; a ring ends a chain."""
    chain: _Chain = []
    for part in parts:
        if chain and (_is_closed(chain) or math.dist(_ends(chain[-1])[1], _ends(part)[0]) > _JOINED_MM):
            yield chain
            chain = []
        chain.append(part)
    if chain:
        yield chain


def _is_closed(chain: _Chain) -> bool:
    """Whether a chain comes back to its beginning. Less than three pieces is an arc of no length, not a ring."""
    return len(chain) > 2 and math.dist(_ends(chain[0])[0], _ends(chain[-1])[1]) <= _JOINED_MM


def _ends(part: Line | Arc) -> tuple[Place, Place]:
    return (part.start_mm, part.end_mm) if isinstance(part, Line) else (part.place_at(0.0), part.place_at(1.0))


def _path(chain: _Chain) -> Element:
    at = _at(_ends(chain[0])[0])
    steps = [f"M {at}"]
    for command, end in (step for part in chain for step in _steps(part)):
        if end != at:  # else a step of no length, which readers refuse
            steps.append(f"{command} {end}")
        at = end
    if _is_closed(chain):
        steps.append("Z")
    names = {part.name for part in chain}
    name = names.pop() if len(names) == 1 else "belt"
    return _titled(Element("path", {"d": " ".join(steps)}), name)


def _steps(part: Line | Arc) -> Iterator[tuple[str, str]]:
    if isinstance(part, Line):
        yield "L", _at(part.end_mm)
        return
    count = math.ceil(abs(part.sweep_rad) / _LARGEST_STEP_RAD)
    # With y down on the page, a growing angle there is clockwise.
    radius, flag = decimal(part.radius_mm), 0 if part.sweep_rad > 0.0 else 1
    for number in range(1, count + 1):
        yield f"A {radius} {radius} 0 0 {flag}", _at(part.place_at(number / count))


def _element(part: Ring | Spot | Outline) -> Element:
    if isinstance(part, Ring):
        (x, y), r = part.centre_mm, part.radius_mm
        return _titled(Element("circle", {"cx": decimal(x), "cy": decimal(-y), "r": decimal(r)}), part.name)
    if isinstance(part, Outline):
        return _titled(Element("polygon", {"points": " ".join(map(_at, part.corners_mm))}), part.name)
    x, y = part.at_mm
    across = (
        f"M {_at((x - _MARK_MM, y))} L {_at((x + _MARK_MM, y))} M {_at((x, y - _MARK_MM))} L {_at((x, y + _MARK_MM))}"
    )
    return _titled(Element("path", {"d": across}), part.name)


def _text(label: Words, colour: str) -> Element:
    x, y = label.at_mm
    place = {"x": decimal(x), "y": decimal(-y), "text-anchor": "middle" if label.centred else "start"}
    look = {"font-family": "sans-serif", "font-size": str(HEIGHT_MM), "stroke": "none"}
    element = Element("text", {**place, **look, "fill": colour})
    element.text = label.text
    return element


def _titled(element: Element, name: str) -> Element:
    SubElement(element, "title").text = clean(name)
    return element


def _at(at: Place) -> str:
    return f"{decimal(at[0])},{decimal(-at[1])}"

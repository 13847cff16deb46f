"""Elements of the page: text in mm and inches beside each other, everything escaped where it is written."""

from __future__ import annotations

from typing import get_args
from xml.etree.ElementTree import Element

from beltplan.drive.layout import Units
from beltplan.report.screen import in_units, length_text
from beltplan.report.words import unbroken

Child = str | Element | None


def element(tag: str, *children: Child, **attributes: object) -> Element:
    """An element with text and elements in it. Attributes: `class_` for class, `_` for a dash; None is left out."""
    given = {key.removesuffix("_").replace("_", "-"): str(v) for key, v in attributes.items() if v is not None}
    made = Element(tag, given)
    last: Element | None = None
    for child in children:
        if isinstance(child, Element):
            made.append(child)
            last = child
        elif child and last is None:
            made.text = (made.text or "") + child
        elif child and last is not None:
            last.tail = (last.tail or "") + child
    return made


def either(mm: str, inches: str) -> list[Child]:
    """A text in both units, of which the reader sees one; alone where they are the same."""
    return _coded(mm) if mm == inches else [*elements_of_length("span", mm, inches)]


def elements_of_length(tag: str, mm: str, inches: str, **attributes: object) -> list[Element]:
    shown = {None: mm} if mm == inches else {"mm": mm, "in": inches}
    return [element(tag, *_coded(text), **attributes, class_=units) for units, text in shown.items()]


def lengths(*mm: float) -> tuple[str, str]:
    first, second = (", ".join(length_text(each, 1, units) for each in mm) for units in get_args(Units))
    return f"{first} mm", f"{second} in"


def _coded(text: str) -> list[Child]:
    return [element("code", part) if i % 2 else part for i, part in enumerate(unbroken(text).split("`"))]


def told(text: str) -> list[Child]:
    return either(text, in_units(text, "in"))

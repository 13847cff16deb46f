"""Elements of the page: text in mm and inches beside each other, everything escaped where it is written."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from beltplan.report.screen import in_units
from beltplan.report.words import unbroken

Child = str | Element | None


def element(tag: str, *children: Child, **attributes: object) -> Element:
    """An element with text and elements in it. Attributes: `class_` for class, `_` for a dash; None is left out."""
    made = Element(tag, {_name(key): str(value) for key, value in attributes.items() if value is not None})
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


def _name(key: str) -> str:
    return key.removesuffix("_").replace("_", "-")


def either(mm: str, inches: str, tag: str = "span", **attributes: object) -> list[Child]:
    """A text in both units, of which the reader sees one; alone where they are the same, but in a tag of its own."""
    if mm == inches:
        return _coded(mm) if tag == "span" else [element(tag, *_coded(mm), **attributes)]
    return [element(tag, *_coded(text), **attributes, class_=units) for text, units in ((mm, "mm"), (inches, "in"))]


def _coded(text: str) -> list[Child]:
    """A text whose words between backticks are code."""
    return [element("code", part) if i % 2 else part for i, part in enumerate(unbroken(text).split("`"))]


def told(text: str) -> list[Child]:
    """A text of lengths in mm, in both units."""
    return either(text, in_units(text, "in"))

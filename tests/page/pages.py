"""Pages of shipped layouts, and a reader of HTML that is not the program's: Python's own parser."""

from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from xml.etree.ElementTree import Element, TreeBuilder

from beltplan.checks.plan import Plan, plan_of
from beltplan.layoutfile.layout_file import read_every_layout
from beltplan.page.report import Origin, page_text
from tests.shipped import SHIPPED_LAYOUTS

PATHS = (*SHIPPED_LAYOUTS, Path(__file__).parents[1] / "cases" / "no_adjuster.yaml")
NAMES = [path.stem for path in PATHS]
SOURCE = "a file of a day, and a version"
_BLOCKS = {"p", "td", "th", "li", "text", "dd", "dt", "h1", "h2", "h3", "caption", "title", "figcaption"}
_NEVER_ENDED = {"meta", "link", "input", "br"}


@cache
def plan_named(name: str) -> Plan:
    return plan_of(read_every_layout(str(path_named(name)))[0].layout)


def path_named(name: str) -> Path:
    return next(path for path in PATHS if path.stem == name)


@cache
def page_named(name: str) -> str:
    path = path_named(name)
    layouts = [file.layout for file in read_every_layout(str(path))]
    others = [] if name == "workboat" else [("workboat.yaml", plan_named("workboat").layout)]
    origin = Origin(path.name, path.read_text(encoding="utf-8"), (), SOURCE)
    return page_text(plan_named(name), origin, layouts, others)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tree = TreeBuilder()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tree.start(tag, {key: value or "" for key, value in attrs})
        if tag in _NEVER_ENDED:
            self.tree.end(tag)

    def handle_endtag(self, tag: str) -> None:
        self.tree.end(tag)

    def handle_data(self, data: str) -> None:
        if data.strip() or self.lasttag:
            self.tree.data(data)


@cache
def tree_of(text: str) -> Element:
    reader = _Reader()
    reader.feed(text.partition("\n")[2])
    reader.close()
    return reader.tree.close()


def has(element: Element, name: str) -> bool:
    return name in element.get("class", "").split()


def words_of(element: Element, units: str = "mm") -> str:
    return " ".join("".join(_texts(element, "in" if units == "mm" else "mm")).split())


def _texts(element: Element, left_out: str) -> Iterator[str]:
    if not has(element, left_out) and element.tag not in ("script", "style"):
        yield element.text or ""
        for child in element:
            yield from _texts(child, left_out)
            yield child.tail or ""
        if element.tag in _BLOCKS:
            yield " "


def rows_of(table: Element, units: str = "mm") -> list[dict[str, str]]:
    (heads,), *_ = [list(part) for part in table.iter("thead")]
    names = [words_of(cell, units) for cell in heads if not has(cell, "in" if units == "mm" else "mm")]
    body = next(table.iter("tbody"))
    cells = ([words_of(cell, units) for cell in row if not has(cell, "in" if units == "mm" else "mm")] for row in body)
    return [dict(zip(names, row, strict=True)) for row in cells]


def table_named(page: Element, caption: str) -> Element:
    return next(table for table in page.iter("table") if words_of(next(table.iter("caption"))) == caption)

"""Reads a template's PDF back with pdfplumber, as one who knows only what is printed: crosses, joining marks, words."""

import io
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import pdfplumber

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.drawing.picture import Template, page_scenes, template_of
from beltplan.drawing.strip import Heading
from beltplan.drawing.strokes import drawing_of
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats
from beltplan.picture.painter import document_bytes
from beltplan.picture.paper import PAPERS
from beltplan.picture.scene import Scene

MM = 25.4 / 72.0
"""mm of one point of a PDF. Source: ISO 32000-1, 8.3.2.3: 1/72 inch."""
SOURCE = "two.yaml of 2026-03-09"


def heading(route: Route, found: tuple[Finding, ...] = ()) -> Heading:
    """What the sheets of a route say, where `check` found so much."""
    return Heading(Plan(route, None, found), SOURCE)


@lru_cache(maxsize=64)
def template(
    route: Route, paper: str = "A4", only: tuple[str, ...] | None = None, found: tuple[Finding, ...] = ()
) -> Template:
    """The template of a route on a paper by its name, laid out once."""
    size = next(each for each in PAPERS if each.name == paper)
    return template_of(drawing_of(route, only), heading(route, found), size)


def scenes_of(
    route: Route, paper: str = "A4", only: tuple[str, ...] | None = None, found: tuple[Finding, ...] = ()
) -> list[Scene]:
    return list(page_scenes(template(route, paper, only, found), heading(route, found)))


def pdf_of(route: Route, paper: str = "A4", found: tuple[Finding, ...] = ()) -> bytes:
    return document_bytes(scenes_of(route, paper, None, found), route.layout.title)


@dataclass(frozen=True)
class Line:
    """A straight line on the page, mm from its lower left corner."""

    start: Floats
    end: Floats

    @property
    def length(self) -> float:
        return float(np.hypot(*(self.end - self.start)))

    @property
    def middle(self) -> Floats:
        return 0.5 * (self.start + self.end)

    @property
    def is_level(self) -> bool:
        return bool(abs(self.end[1] - self.start[1]) < 1e-4)


@dataclass(frozen=True)
class Word:
    """A printed word. at: its middle, mm from the lower left corner of the page."""

    text: str
    at: Floats


class Page:
    """One page as a reader finds it."""

    def __init__(self, page: Any) -> None:
        self.size_mm = (float(page.width) * MM, float(page.height) * MM)
        self.text: str = " ".join(page.extract_text().split())
        high = float(page.height)
        self.words = [
            Word(w["text"], MM * np.array((0.5 * (w["x0"] + w["x1"]), high - 0.5 * (w["top"] + w["bottom"]))))
            for w in page.extract_words()
        ]
        self.letters = [MM * np.array((c["x0"], c["y0"], c["x1"], c["y1"])) for c in page.chars if c["text"].strip()]
        self.lines = [Line(*(MM * np.array((x, high - y)) for x, y in line["pts"])) for line in page.lines]
        drawn = [*page.lines, *page.curves]
        self.chains = [(float(c["linewidth"]), MM * np.array([(x, high - y) for x, y in c["pts"]])) for c in drawn]
        self.fills = [
            MM * np.array((c["x0"], c["y0"], c["x1"], c["y1"])) for c in (*page.curves, *page.rects) if c["fill"]
        ]

    def crosses(self, length_mm: float) -> Floats:
        """Middles of all upright crosses with arms of a length; (n, 2)."""
        arms = [line for line in self.lines if abs(line.length - length_mm) < 0.01]
        level, upright = ([line.middle for line in arms if line.is_level is flat] for flat in (True, False))
        found = [a for a in level if any(np.hypot(*(a - b)) < 1e-3 for b in upright)]
        return np.array(found).reshape(-1, 2)

    @property
    def names(self) -> list[Word]:
        """The words of the drawing itself, over the strip, which names parts as well."""
        foot = next(word.at[1] for word in self.words if word.text == "PUNCH")
        return [word for word in self.words if word.at[1] > foot + 3.0]

    def cross_at(self, name: str) -> Floats:
        """The centre's cross nearest to where its name is printed. Raises StopIteration where it is not printed."""
        word = next(word for word in self.names if word.text == name)
        crosses = self.crosses(12.0)
        return np.asarray(crosses[np.argmin(np.hypot(*(crosses - word.at).T))])

    @property
    def place(self) -> tuple[int, int]:
        """Row and column, as printed."""
        texts = [word.text for word in self.words]
        at = next(i for i in range(len(texts)) if texts[i] == "row" and texts[i + 4] == "column")
        return int(texts[at + 1]), int(texts[at + 5])

    @property
    def joins(self) -> dict[tuple[str, tuple[int, int]], Floats]:
        """Middles of the joining marks, by letter and the page that they join."""
        marks, found = self.crosses(5.2), {}
        for word in self.words:
            if word.text != "joins":
                continue
            letter = self._nearest(word, "a:", "b:")
            row, column = self._nearest(word, *{w.text for w in self.words if w.text.replace("-", "").isdigit()}).split(
                "-"
            )
            own = marks[np.argmin(np.hypot(*(marks - word.at).T))]
            found[letter.removesuffix(":"), (int(row), int(column))] = np.asarray(own)
        return found

    def _nearest(self, to: Word, *texts: str) -> str:
        near = [word for word in self.words if word.text in texts and word.text.count("-") <= 1]
        near = [word for word in near if "-" in word.text or word.text.endswith(":")]
        return min(near, key=lambda word: float(np.hypot(*(word.at - to.at)))).text


def pages_of(content: bytes) -> list[Page]:
    with pdfplumber.open(io.BytesIO(content)) as pdf:
        return [Page(page) for page in pdf.pages]


def laid_together(pages: list[Page]) -> dict[tuple[int, int], Floats]:
    """Where every page's corner lies when sheets are shifted until their marks coincide; the first at the origin.

    Raises ValueError where two marks of a seam do not agree by 0.001 mm, or a page joins nothing.
    """
    by_place = {page.place: page for page in pages}
    corner = {pages[0].place: np.zeros(2)}
    waiting = [pages[0].place]
    while waiting:
        here = waiting.pop()
        for (letter, other), at in by_place[here].joins.items():
            there = corner[here] + at - by_place[other].joins[letter, here]
            if other not in corner:
                corner[other] = there
                waiting.append(other)
            elif np.hypot(*(corner[other] - there)) > 1e-3:
                raise ValueError(f"marks {letter} of {here} and {other} do not fit")
    if len(corner) != len(pages):
        raise ValueError("a page joins nothing")
    return corner

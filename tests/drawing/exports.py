"""What is exported in the tests of this folder: shipped layouts, random drives, and names that try to break a file."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from beltplan.checks.plan import plan_on
from beltplan.drawing.content import Content
from beltplan.drawing.study import parts_of
from beltplan.drive.layout import Circle, Layout, Polygon
from beltplan.drive.route import Route, route_of
from tests.drawing import drawn_drives as drives
from tests.drive.drives import layout, pulley

CLOSE_MM = 1e-6
"""What lengths read back must sum to."""
LAYER_NAMES = ("belt_line", "belt_edges", "pulleys", "centres", "adjuster", "obstacles", "holes", "marks")

NASTY = (
    "Kühl & <Pumpe> \"quoted\" 'too' 100 %%d %%%%c ]]> <!-- --> \\U+0041 ^J \\P {x};\r\n  0\nEOF\n\x00\x07\x1b\t\x7f"
    "\u2028\u0085\ud800\ufffe\U0001f600 ∅ 水泵,=1+1"
)
"""Umlauts, markup, codes of DXF, line ends, control characters, half a pair, an astral character, other scripts."""


def routes() -> tuple[Route, ...]:
    """Every shipped layout with its variants, a drive with everything, and random drives."""
    shipped = (drives.shipped(*each) for each in drives.SHIPPED)
    return *shipped, route_of(drives.with_everything()), *drives.random_routes()[:4]


@cache
def content(route: Route) -> Content:
    return Content(plan_on(route), parts_of(route))


def path_mm(content: Content) -> float:
    return float(content.plan.route.loop.length)


def contents() -> tuple[Content, ...]:
    return tuple(map(content, routes()))


def of(given: Layout) -> Content:
    return content(route_of(given))


def shipped(name: str, variant: str | None = None) -> Content:
    return content(drives.shipped(name, variant))


def nasty() -> Layout:
    """A drive whose every word tries to break the file."""
    pulleys = [pulley("crank", 0, 0, 100, role="crankshaft"), pulley(NASTY, 300, 0, 100)]
    words = {"title": NASTY, "variant": NASTY}
    obstacles = (Circle(NASTY + "c", (100.0, 200.0), 30.0), Polygon(NASTY + "p", ((0, 200), (30, 200), (0, 240))))
    return layout(pulleys, obstacles=obstacles, **words)


def touching() -> Layout:
    """Three equal pulleys in a row, the middle one just touched by a span: an arc of no length."""
    ends = [pulley("crank", 0, 0, 100, role="crankshaft"), pulley("far", 300, 0, 100)]
    return layout([ends[0], pulley("between", 150, 0, 100), ends[1]])


def thick() -> Layout:
    """A belt whose inner face has an arc of no radius, on a peg just as small as the belt is deep under its line."""
    given = layout(
        [pulley("crank", 0, 0, 120, role="crankshaft"), pulley("far", 300, 0, 120), pulley("peg", 150, 150, 4)], "8PL"
    )
    peg = replace(given.pulleys["peg"], diameter_mm=2.0 * given.belt.inner_mm)
    return replace(given, pulleys={**given.pulleys, "peg": peg})

"""Comparisons that the tests of reports and pictures share. All layouts invented."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from beltplan.checks.comparison import Comparison, compare
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Layout
from beltplan.layoutfile.layout_file import read_every_layout
from tests.checks.drives import layout, pulley, two
from tests.drive.loaded_drives import on_slide, seven

LAYOUTS = Path(__file__).parents[2] / "layouts"
LONG = "auxiliary generator, starboard side, aft"
"""40 characters, the most that a name may have."""
OVERLAPPING = layout(pulley("crank", "crankshaft", 0, 0), pulley("far", "alternator", 90, 0), title="Overlapping")


def stretchy(distance: float = 300.0) -> Layout:
    return two(distance, belt=replace(parse_designation("6PK"), stretch_fit=(0.005, 0.015)))


def named(*stems: str) -> list[tuple[str, Layout]]:
    files = [(stem, file) for stem in stems for file in read_every_layout(str(LAYOUTS / f"{stem}.yaml"))]
    return [(f"{stem}: {file.layout.variant or 'base'}", file.layout) for stem, file in files]


ALL = ("camper", "orchard_sprayer", "railcar", "too_tight", "workboat")


@cache
def made(name: str) -> Comparison:
    return compare(SETS[name])


SETS: dict[str, list[tuple[str, Layout]]] = {
    "workboat": named("workboat"),
    "camper": named("camper"),
    "one": named("railcar"),
    "all": named(*ALL),
    "refused first": [("refused", OVERLAPPING), ("plain", two()), ("wide", two(500.0))],
    "refused among": [("plain", two()), ("refused", OVERLAPPING), ("seven", seven())],
    "slack": [("slack", on_slide(tension_N=230.0)), ("sprung", seven()), ("no load", seven(loads={}))],
    "ties": [("a", stretchy()), ("b", stretchy()), ("c", stretchy(500.0))],
    "long names": [(f"{i} {LONG}"[:40], given) for i, (_, given) in enumerate(named(*ALL))],
}

"""The legend of a routing, with the scale bar: only what the picture really holds."""

from __future__ import annotations

import numpy as np

from beltplan.checks.limits import SEVERITIES, Severity
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Layout, Units
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats
from beltplan.picture.page import Entry, Mark, Symbol, mark_shape
from beltplan.picture.scene import (
    BELT_BACK,
    BELT_EDGE,
    BELT_RIBS,
    DRIVER_RIM,
    GHOST_LONG,
    GHOST_SHORT,
    GROOVE_RING,
    INK,
    METAL,
    OBSTACLE,
    OUTLINE,
    RIM,
    SCALE_BAR,
    SPARE_RIM,
    TRAVEL,
    WRAP_ARC,
    Item,
    Label,
    Pen,
    Shape,
    Stroke,
    arc,
    arrow_head,
    circle,
    rectangle,
    text_width_pt,
)
from beltplan.picture.strokes import turning_items

_SIGN_PT = 11.0
_SCALE_BARS_MM = (100, 50, 20, 10, 200, 500, 1000)
_SCALE_BARS_IN = (4, 2, 1, 8, 20, 40)
_SHORTEST_BAR_PT, _LONGEST_BAR_PT = 30.0, 300.0


def routing_entries(route: Route, marks: tuple[Mark, ...], unit_pt: float) -> list[Entry]:
    """What the legend of a routing holds."""
    ribbed = route.layout.belt.profile.is_ribbed
    adjuster = Entry("adjuster: travel, pulley at short stop (dashed), long stop (dotted)", _adjuster)
    return [
        scale_bar(unit_pt, route.layout.units),
        Entry(f"{'ribbed' if ribbed else 'V'} side dark, back light", _belt),
        Entry("belt travel", _travel, 14.0),
        Entry("turns this way", _turning, 22.0),
        Entry("contact with the belt (wrap)", _contact, 22.0),
        *part_entries(route.layout, adjuster),
        *mark_entries(marks),
    ]


def part_entries(layout: Layout, adjuster: Entry) -> list[Entry]:
    """The kinds of pulleys and fixed parts that a layout has. adjuster: how one is explained, where it has one."""
    held = [
        (True, Entry("DRIVER", _driver, 18.0)),
        (True, Entry("grooved pulley", _grooved, 18.0)),
        (any(pulley.on_back for pulley in layout.routed), Entry("pulley on the back", _smooth, 18.0)),
        (any(pulley.adjuster is not None for pulley in layout.routed), adjuster),
        (bool(layout.unrouted), Entry("not on this belt", _spare, 18.0)),
        (bool(layout.obstacles), Entry("obstacle", _obstacle, 22.0)),
    ]
    return [entry for is_there, entry in held if is_there]


def mark_entries(marks: tuple[Mark, ...]) -> list[Entry]:
    """The kinds of marks that there are."""
    held = {mark.finding.severity for mark in marks}
    return [_mark_entry(severity) for severity in SEVERITIES if severity in held]


def _mark_entry(severity: Severity) -> Entry:
    return Entry(severity, lambda at, pt: [mark_shape(severity, at, 1.0 / pt)], 18.0)


def sign_entry(sign: str, words: str) -> Entry:
    """A sign that stands in a drawing for a name, and what it stands for."""

    def letters(at: Floats, pt: float) -> list[Item]:
        foot = (float(at[0]), float(at[1]) - 0.36 * _SIGN_PT * pt)
        return [Label(sign, foot, _SIGN_PT, INK, True, "center", "sign")]

    return Entry(words, letters, max(12.0, text_width_pt(sign, _SIGN_PT, True)))


def scale_bar(unit_pt: float, units: Units = "mm") -> Entry:
    """A bar of a round length in the units of the file, told in both."""
    bars = _SCALE_BARS_MM if units == "mm" else tuple(inches * MM_PER_INCH for inches in _SCALE_BARS_IN)
    fitting = [mm for mm in bars if _SHORTEST_BAR_PT <= mm * unit_pt <= _LONGEST_BAR_PT]
    length = fitting[0] if fitting else 100.0 / unit_pt

    def bar(at: Floats, pt: float) -> list[Item]:
        half, tick = np.array((0.5 * length, 0.0)), np.array((0.0, 4.0 * pt))
        ends = (at - half, at + half)
        ticks: list[Item] = [Stroke(np.stack((end - tick, end + tick)), SCALE_BAR, "scale bar") for end in ends]
        return [Stroke(np.stack(ends), SCALE_BAR, "scale bar"), *ticks]

    told = (f"{length:.4g} mm", f"{length / MM_PER_INCH:.3g} in")
    first, second = told if units == "mm" else told[::-1]
    return Entry(f"{first} ({second})", bar, length * unit_pt)


def line_symbol(pen: Pen, half_pt: float = 15.0) -> Symbol:
    """A level line."""

    def draw(at: Floats, pt: float) -> list[Item]:
        half = np.array((half_pt * pt, 0.0))
        return [Stroke(np.stack((at - half, at + half)), pen, "legend line")]

    return draw


def _belt(at: Floats, pt: float) -> list[Item]:
    x, y = at
    reach = 15.0 * pt
    back, ribs = ((x - reach, y, x + reach, y + 4.0 * pt), (x - reach, y - 4.0 * pt, x + reach, y))
    return [
        Shape((rectangle(back),), BELT_BACK, BELT_EDGE),
        Shape((rectangle(ribs),), BELT_RIBS, BELT_EDGE),
    ]


def _travel(at: Floats, pt: float) -> list[Item]:
    return [Shape((arrow_head(at + np.array((5.5 * pt, 0.0)), np.array((1.0, 0.0)), 11.0 * pt),), INK)]


def _turning(at: Floats, pt: float) -> list[Item]:
    return turning_items("", at - np.array((0.0, 5.0 * pt)), 20.0 * pt, -1.0, 1.0 / pt)


def _contact(at: Floats, pt: float) -> list[Item]:
    centre = at - np.array((0.0, 10.0 * pt))
    return [Stroke(arc(centre, 13.0 * pt, np.radians(30.0), np.radians(120.0)), WRAP_ARC)]


def _driver(at: Floats, pt: float) -> list[Item]:
    return [Shape((circle(at, 7.0 * pt),), METAL, DRIVER_RIM)]


def _grooved(at: Floats, pt: float) -> list[Item]:
    return [Shape((circle(at, 8.0 * pt),), METAL, RIM), Shape((circle(at, 6.0 * pt),), pen=GROOVE_RING)]


def _smooth(at: Floats, pt: float) -> list[Item]:
    return [Shape((circle(at, 8.0 * pt),), METAL, RIM)]


def _adjuster(at: Floats, pt: float) -> list[Item]:
    ends = [at - np.array((7.0 * pt, 0.0)), at + np.array((7.0 * pt, 0.0))]
    bars: list[Item] = [
        Stroke(np.stack((end - np.array((0.0, 3.5 * pt)), end + np.array((0.0, 3.5 * pt)))), TRAVEL) for end in ends
    ]
    ghosts = (Shape((circle(ends[0], 8.0 * pt),), pen=GHOST_SHORT), Shape((circle(ends[1], 8.0 * pt),), pen=GHOST_LONG))
    return [*ghosts, Stroke(np.stack(ends), TRAVEL), *bars]


def _spare(at: Floats, pt: float) -> list[Item]:
    return [Shape((circle(at, 8.0 * pt),), pen=SPARE_RIM)]


def _obstacle(at: Floats, pt: float) -> list[Item]:
    x, y = at
    return [Shape((rectangle((x - 11.0 * pt, y - 7.0 * pt, x + 11.0 * pt, y + 7.0 * pt)),), OBSTACLE, OUTLINE, True)]

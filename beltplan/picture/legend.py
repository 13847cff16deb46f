"""The legend of a routing, with the scale bar: only what the picture really holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import partial

import numpy as np

from beltplan.checks.limits import SEVERITIES
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Layout, Units
from beltplan.geometry.loops import arc
from beltplan.geometry.vectors import Floats
from beltplan.picture import pens
from beltplan.picture.page import MIDDLE_EM, Entry, Mark, Symbol, mark_items
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Item, Label, Shape, Stroke, arrow_head, box_about, circle, rectangle, text_width_pt
from beltplan.picture.strokes import Drawn, mark_cross, origin_items, travel_items, turning_items

_SIGN_PT = 11.0
_SCALE_BARS_MM = (100, 50, 20, 10, 200, 500, 1000)
_SCALE_BARS_IN = (4, 2, 1, 8, 20, 40)
_SHORTEST_BAR_PT, _LONGEST_BAR_PT = 30.0, 300.0
_RIGHT, _BOW = np.array((1.0, 0.0)), arc((0.0, -10.0), 13.0, np.radians(30.0), np.radians(120.0))


def routing_entries(*every: Drawn, marks: Iterable[Mark] = ()) -> list[Entry]:
    """Of routings at one scale: each symbol once."""
    adjuster = Entry("adjuster: travel, pulley at short stop (dashed), long stop (dotted)", _adjuster)
    return [
        scale_bar(every[0].view.pt_per_mm, every[0].layout.units),
        *_belt_entries(every),
        Entry("belt travel", lambda at: [Shape((arrow_head(at + 5.5 * _RIGHT, _RIGHT, 11.0),), pens.INK)], 14.0),
        Entry("turns this way", lambda at: turning_items("", at - (0.0, 5.0), 20.0, -1.0), 22.0),
        Entry("contact with the belt (wrap)", lambda at: [Stroke(at + _BOW, pens.WRAP_ARC)], 22.0),
        *{each.text: each for drawn in every for each in part_entries(drawn.layout, adjuster)}.values(),
        *mark_entries(marks),
    ]


def _belt_entries(every: Sequence[Drawn]) -> Iterator[Entry]:
    for is_ribbed in dict.fromkeys(drawn.layout.belt.profile.is_ribbed for drawn in every):
        alike = [drawn.thickening for drawn in every if drawn.layout.belt.profile.is_ribbed == is_ribbed]
        times = " to ".join(dict.fromkeys(f"{each:.2g}" for each in (min(alike), max(alike))))
        thicker = "" if times == "1" else f"; drawn {times} times thicker than it is"
        yield Entry(f"{'ribbed' if is_ribbed else 'V'} side dark, back light{thicker}", _belt)


def part_entries(layout: Layout, adjuster: Entry) -> list[Entry]:
    """The kinds of pulleys and fixed parts that a layout has. adjuster: how one is explained, where it has one."""
    mounts = [pulley.mounted for pulley in layout.pulleys.values()]
    bolts = " or ".join(
        filter(None, ("bolt hole" * any(each.holes for each in mounts), "slot" * any(each.slots for each in mounts)))
    )
    held = [
        (True, disc_entry("DRIVER", pens.DRIVER_RIM, radius_pt=7.0)),
        (True, Entry("grooved pulley", _grooved, 18.0)),
        (any(pulley.on_back for pulley in layout.routed), disc_entry("pulley on the back", pens.RIM)),
        (any(pulley.adjuster is not None for pulley in layout.routed), adjuster),
        (bool(layout.unrouted), disc_entry("not on this belt", pens.SPARE_RIM, "")),
        (bool(layout.obstacles), swatch("obstacle", pens.OBSTACLE, 14.0, hatched=True)),
        (bool(bolts), disc_entry(f"{bolts}, where no pulley is over it", pens.OUTLINE, pens.PAPER, 4.0, 14.0)),
        (bool(layout.marks), Entry("mark", partial(mark_cross, name="legend"), 14.0)),
    ]
    return [entry for is_there, entry in held if is_there]


def mark_entries(marks: Iterable[Mark]) -> list[Entry]:
    held = {mark.finding.severity for mark in marks}
    return [Entry(each, partial(mark_items, each), 18.0) for each in SEVERITIES if each in held]


def sign_entry(sign: str, words: str) -> Entry:
    def letters(at: Floats) -> list[Item]:
        foot = (float(at[0]), float(at[1]) - MIDDLE_EM * _SIGN_PT)
        return [Label(sign, foot, _SIGN_PT, pens.INK, True, "center", "sign")]

    return Entry(words, letters, max(12.0, text_width_pt(sign, _SIGN_PT, True)))


def scale_bar(pt_per_mm: float, units: Units = "mm") -> Entry:
    bars = _SCALE_BARS_MM if units == "mm" else tuple(inches * MM_PER_INCH for inches in _SCALE_BARS_IN)
    fitting = [mm for mm in bars if _SHORTEST_BAR_PT <= mm * pt_per_mm <= _LONGEST_BAR_PT]
    length = fitting[0] if fitting else 100.0 / pt_per_mm

    def bar(at: Floats) -> list[Item]:
        half, tick = np.array((0.5 * length * pt_per_mm, 0.0)), np.array((0.0, 4.0))
        lines = [(at - half, at + half), *((end - tick, end + tick) for end in (at - half, at + half))]
        return [Stroke(np.stack(ends), pens.SCALE_BAR, "scale bar") for ends in lines]

    told = (f"{length:.4g} mm", f"{length / MM_PER_INCH:.3g} in")
    first, second = told if units == "mm" else told[::-1]
    return Entry(f"{first} ({second})", bar, length * pt_per_mm)


def line_symbol(pen: Pen, half_pt: float = 15.0) -> Symbol:
    return lambda at: [Stroke(at + half_pt * np.array([(-1.0, 0.0), (1.0, 0.0)]), pen, "legend line")]


def disc_entry(words: str, rim: Pen, fill: str = pens.METAL, radius_pt: float = 8.0, room_pt: float = 18.0) -> Entry:
    return Entry(words, lambda at: [Shape((circle(at, radius_pt),), fill, rim, name="legend disc")], room_pt)


def swatch(words: str, colour: str, high_pt: float = 12.0, hatched: bool = False) -> Entry:
    def patch(at: Floats) -> list[Item]:
        return [Shape((rectangle(box_about(at, 22.0, high_pt)),), colour, pens.OUTLINE, hatched, "swatch")]

    return Entry(words, patch, 22.0)


ORIGIN = Entry("x 0, y 0", origin_items, 12.0)


def _belt(at: Floats) -> list[Item]:
    back, ribs = (box_about(at + np.array((0.0, over)), 30.0, 4.0) for over in (2.0, -2.0))
    return [
        Shape((rectangle(back),), pens.BELT_BACK, pens.BELT_EDGE),
        Shape((rectangle(ribs),), pens.BELT_RIBS, pens.BELT_EDGE),
    ]


def _grooved(at: Floats) -> list[Item]:
    return [Shape((circle(at, 8.0),), pens.METAL, pens.RIM), Shape((circle(at, 6.0),), pen=pens.GROOVE_RING)]


def _adjuster(at: Floats) -> list[Item]:
    line = at + np.array([(-8.0, 0.0), (8.0, 0.0)])
    stops = [
        Shape((circle(end, 8.0),), pen=pen) for end, pen in zip(line, (pens.GHOST_SHORT, pens.GHOST_LONG), strict=True)
    ]
    return [*stops, *travel_items(line)]

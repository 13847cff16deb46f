"""Rows of a tolerance picture: the wrap of every pulley against its least, and what each measurement adds."""

from __future__ import annotations

import numpy as np

from beltplan.plots.lettering import text_width_pt
from beltplan.plots.palette import BELT_BACK, BELT_EDGE, BELT_RIBS, HAIRLINE, INK, LIMIT, PROBLEM, SOFT_INK
from beltplan.plots.scene import Item, Label, Shape, Stroke, rectangle
from beltplan.studies.tolerance import Tolerance, WrapSpread
from beltplan.studies.tolerance_belts import percent
from beltplan.studies.tolerance_first_order import Contribution

ROW_PT, TEXT_PT, BAR_PT = 27.0, 8.5, 7.0
MOST_ROWS = 10
WHOLE_DEG = 45.0


def wrap_rows(study: Tolerance, left: float, top: float, width_pt: float) -> list[Item]:
    """One row a pulley: what 19 of 20 wraps lie between, their mean, and the least as an upright line."""
    most = WHOLE_DEG * np.ceil(max((_reach(wrap) for wrap in study.wraps), default=WHOLE_DEG) / WHOLE_DEG)
    items: list[Item] = []
    for i, wrap in enumerate(study.wraps):
        y = top - i * ROW_PT
        items += _texts(wrap.pulley, _wrap_words(wrap), left, y, width_pt, bool(wrap.under), f"wrap {wrap.pulley}")
        items += _wrap_bar(wrap, left, y - ROW_PT + 5.0, width_pt / float(most), width_pt)
    return items


def _reach(wrap: WrapSpread) -> float:
    return max(wrap.band_deg[1], wrap.least_deg or 0.0)


def _wrap_words(wrap: WrapSpread) -> str:
    words = f"{wrap.band_deg[0]:.1f} to {wrap.band_deg[1]:.1f}"
    if wrap.least_deg is None or wrap.under is None:
        return words
    words += f", least {wrap.least_deg:.0f}"
    return words + (f": {percent(wrap.under)} under" if wrap.under > 0.0 else "")


def _wrap_bar(wrap: WrapSpread, left: float, low: float, pt_per_deg: float, width_pt: float) -> list[Item]:
    middle, name = low + 0.5 * BAR_PT, f"wrap {wrap.pulley}"
    first, last, mean = (left + pt_per_deg * angle for angle in (*wrap.band_deg, wrap.mean_deg))
    items: list[Item] = [
        Stroke(np.array([(left, middle), (left + width_pt, middle)]), HAIRLINE),
        Shape((rectangle((first, low, last, low + BAR_PT)),), BELT_BACK, BELT_EDGE, name=name),
        Shape((rectangle((mean - 0.8, low, mean + 0.8, low + BAR_PT)),), BELT_RIBS, name=name),
    ]
    if wrap.least_deg is not None:
        x = left + pt_per_deg * wrap.least_deg
        items.append(Stroke(np.array([(x, low - 2.0), (x, low + BAR_PT + 2.0)]), LIMIT, f"least {wrap.pulley}"))
    return items


def told(study: Tolerance) -> tuple[Contribution, ...]:
    """The measurements that are shown: the largest shares of the variance."""
    rows = () if study.first is None else study.first.contributions
    return tuple(row for row in rows if row.share)[:MOST_ROWS]


def share_rows(study: Tolerance, left: float, top: float, width_pt: float) -> list[Item]:
    """One row a measurement, the largest share of the variance first; the bar's whole width is the largest."""
    rows = told(study)
    largest = max((row.share or 0.0 for row in rows), default=1.0)
    items: list[Item] = []
    for i, row in enumerate(rows):
        y, share = top - i * ROW_PT, row.share or 0.0
        words, low = percent(share), y - ROW_PT + 5.0
        items += _texts(row.measurement.words, words, left, y, width_pt, False, f"share {i}")
        box = (left, low, left + width_pt * share / largest, low + BAR_PT)
        items.append(Shape((rectangle(box),), BELT_RIBS if i == 0 else BELT_BACK, BELT_EDGE, name=f"share {i}"))
    return items


def _texts(name: str, words: str, left: float, top: float, width_pt: float, bad: bool, tag: str) -> list[Item]:
    y = top - TEXT_PT - 2.0
    room = width_pt - text_width_pt(words, TEXT_PT, bad) - 8.0
    return [
        Label(_cut(name, room), (left, y), TEXT_PT, INK, name=tag),
        Label(words, (left + width_pt, y), TEXT_PT, PROBLEM if bad else SOFT_INK, bad, "right", tag),
    ]


def _cut(text: str, room_pt: float) -> str:
    shown = text
    while len(shown) > 1 and text_width_pt(shown, TEXT_PT) > room_pt:
        shown = f"{shown.removesuffix('...')[:-1]}..."
        if shown == "...":
            break
    return shown

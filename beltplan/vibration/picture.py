"""The chart of a drive that shakes: engine speed against frequency, and under it how far the tension swings."""

from __future__ import annotations

import textwrap
from functools import partial
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from beltplan.drive.belt import LBF_N
from beltplan.geometry.vectors import Floats
from beltplan.picture.painter import font_of, paint_chart
from beltplan.picture.pens import INK, PAPER, PROBLEM, SOFT_INK, WET
from beltplan.picture.scene import one_line
from beltplan.report.answer import title_words
from beltplan.report.words import PICTURE_SAFETY
from beltplan.vibration.study import HARMONICS, Vibration

_SIZE_IN = (11.1, 8.6)
_OVER = 1.15
_DASHES = ("-", "--", "-.", ":")
"""Of the duties, and told apart in grey."""
_SEEN = 0.01
"""Curves nearer to each other than this share of the highest are seen as one."""
_Place = tuple[float, float]
_MARGIN_LETTERS = 28
"""In a line beside the chart."""


def draw_vibration(vibration: Vibration, path: str, source: str) -> None:
    paint_chart(partial(chart_of, vibration, source), one_line(title_words(vibration.route.layout)), path)


def chart_of(vibration: Vibration, source: str) -> Figure:
    figure = Figure(figsize=_SIZE_IN)
    upper, lower = figure.subplots(
        2, 1, sharex=True,
        gridspec_kw={"height_ratios": (5, 3), "hspace": 0.1, "left": 0.07, "right": 0.75, "top": 0.88, "bottom": 0.1},
    )  # fmt: skip
    figure.text(
        0.07, 0.955, one_line(title_words(vibration.route.layout)), fontproperties=font_of(True, 14.0), color=INK
    )
    figure.text(0.07, 0.925, _subtitle(vibration), fontproperties=font_of(False, 10.0), color=SOFT_INK)
    figure.text(0.07, 0.03, PICTURE_SAFETY, fontproperties=font_of(False, 8.0), color=SOFT_INK)
    figure.text(0.07, 0.01, source, fontproperties=font_of(False, 8.0), color=SOFT_INK)
    _frequencies(vibration, upper)
    _swings(vibration, lower)
    for axes in (upper, lower):
        _ground(vibration, axes)
    for name, rpm in vibration.route.layout.engine.speeds_rpm.items():
        ha = {"idle": "left", "max": "right"}.get(name, "center")
        _note(upper, f"{name} {rpm:.0f}", (rpm, 1.0), (0, 3), SOFT_INK, xycoords=("data", "axes fraction"), ha=ha)
    lower.set_xlabel("engine speed, rpm", fontproperties=font_of(False, 10.0))
    return figure


def _subtitle(vibration: Vibration) -> str:
    first = vibration.first_Hz
    met = vibration.met_at_rpm(first)
    where = "not met by the firing" if met is None else f"met by the firing at {met:.0f} rpm"
    told = f"first mode {first:.0f} Hz, {where}. Dashed: modes, crank held, engine stopped"
    if (vibration.span_Hz.min(axis=0) < _top_Hz(vibration)).any():
        told += "; dotted: spans as they run"
    return told


def _top_Hz(vibration: Vibration) -> float:
    met = [hertz for hertz in vibration.held.frequency_Hz.tolist() if vibration.met_at_rpm(hertz, 2) is not None]
    # Where nothing is met, how far the first mode lies from the firing is what there is to be seen.
    return float(_OVER * max(vibration.firings * float(vibration.rpm[-1]) / 60.0, *(met or [vibration.first_Hz])))


def _frequencies(vibration: Vibration, axes: Axes) -> None:
    rpm, turns = vibration.rpm, vibration.rpm / 60.0
    top = _top_Hz(vibration)
    axes.set_ylim(0.0, top)
    axes.set_ylabel("Hz", fontproperties=font_of(False, 10.0))
    for harmonic, words in HARMONICS.items():
        order = harmonic * vibration.firings * turns
        axes.plot(rpm, order, color=INK, linewidth=2.4 if harmonic == 1 else 1.4)
        at = int(np.abs(order - 0.93 * top).argmin()) if order[-1] > 0.93 * top else len(rpm) - 1
        _note(axes, words, (rpm[at], order[at]), (-6, 4), INK, ha="right")
    labels: list[tuple[float, str, str]] = []
    for number, hertz in enumerate(vibration.held.frequency_Hz.tolist(), 1):
        if hertz < top:
            axes.axhline(hertz, color=WET.colour, linewidth=1.8, linestyle="--")
            labels.append((hertz, f"mode {number}, {hertz:.0f} Hz", WET.colour))
    for span, own in enumerate(vibration.span_Hz.T):
        if own.min() < top:
            axes.plot(rpm, own, color=SOFT_INK, linewidth=1.0, linestyle=":")
            labels.append((float(own[-1]), vibration.route.circuit.span_name(span), SOFT_INK))
    _beside(axes, labels, top)
    _meetings(vibration, axes, top)


def _beside(axes: Axes, labels: list[tuple[float, str, str]], top: float) -> None:
    """Words right of the chart at their heights, moved up where they would meet."""
    last = -np.inf
    for height, words, colour in sorted(labels):
        last = max(min(height, top), last + 0.04 * top)
        _note(axes, words, (1.0, last / top), (5, 0), colour, xycoords="axes fraction", va="center")


def _meetings(vibration: Vibration, axes: Axes, top: float) -> None:
    """Where the firing, or twice it, meets a mode: larger the more the tension swings there, its speed told where it is
    one to keep away from.
    """
    swing = vibration.shaken.span_swing_N.max(axis=(0, 2))
    for _, hertz, _, rpm in vibration.meetings():
        if hertz < top:
            share = float(np.interp(rpm, vibration.rpm, swing) / max(float(swing.max()), 1.0))
            away = any(low <= rpm <= high for low, high, *_ in vibration.keep_away)
            colour = PROBLEM if away else SOFT_INK
            axes.plot([rpm], [hertz], "o", color=colour, markersize=4.0 + 8.0 * share, markeredgecolor=INK)
            if away:
                _note(axes, f"{rpm:.0f}", (rpm, hertz), (8, -12), PROBLEM, bold=True)


def _swings(vibration: Vibration, axes: Axes) -> None:
    duty, speed, span = vibration.worst
    inches = vibration.route.layout.units == "in"
    shaken, rpm, scale = vibration.shaken, vibration.rpm, LBF_N if inches else 1.0
    mean, swing = shaken.mean_N[duty, :, span] / scale, shaken.span_swing_N[..., span] / scale
    axes.plot(rpm, mean, color=SOFT_INK, linewidth=1.2, linestyle=(0, (1, 1)))
    for number, (first, names) in enumerate(_alike(vibration.operation.duties, swing)):
        words, dashes = textwrap.fill(", ".join(names), _MARGIN_LETTERS), _DASHES[number % len(_DASHES)]
        axes.plot(rpm, swing[first], color=INK, linewidth=1.8, linestyle=dashes, label=words)
    axes.fill_between(rpm, mean, swing[duty], where=shaken.least_N[duty, :, span] <= 0.0,
                      color=PROBLEM, alpha=0.3, linewidth=0.0)  # fmt: skip
    axes.plot([rpm[speed]], [swing[duty, speed]], "o", color=PROBLEM, markeredgecolor=INK)
    axes.set_ylim(bottom=0.0)
    unit = "lbf" if inches else "N"
    axes.set_ylabel(f"swing of {vibration.route.circuit.span_name(span)}, {unit}", fontproperties=font_of(False, 10.0))
    for words, over in (("its mean tension: a swing", 4), ("as large leaves it slack", -7)):
        _note(axes, words, (1.0, float(mean[-1])), (5, over), SOFT_INK, xycoords=("axes fraction", "data"))
    if vibration.slack_at:
        which = "this span or another" if (shaken.least_N <= 0.0).any(axis=(0, 1)).sum() > 1 else "this span"
        words = textwrap.fill(f"{which} falls slack at {vibration.slack_at}", _MARGIN_LETTERS)
        _note(axes, words, (1.0, 1.0), (5, 0), PROBLEM, bold=True, xycoords="axes fraction", va="top")
    # Beside the chart, where no curve runs.
    axes.legend(loc="upper left", bbox_to_anchor=(1.02, 0.0), frameon=False, prop=font_of(False, 8.5))


def _alike(duties: tuple[str, ...], swing: Floats) -> list[tuple[int, list[str]]]:
    """Duties whose curves lie on one another, as the first of them and the names of all. swing: (duties, speeds)."""
    found: list[tuple[int, list[str]]] = []
    for number, name in enumerate(duties):
        near = (names for first, names in found if np.abs(swing[number] - swing[first]).max() < _SEEN * swing.max())
        names = next(near, None)
        if names is None:
            found.append((number, [name]))
        else:
            names.append(name)
    return found


def _note(axes: Axes, words: str, at: _Place, off_pt: _Place, colour: str, bold: bool = False, **how: Any) -> None:
    """Words so far off a place, on paper of their own: no line runs through them. how: as for `Axes.annotate`."""
    how |= {"textcoords": "offset points", "annotation_clip": False, "fontproperties": font_of(bold, 8.5)}
    plate = {"facecolor": PAPER, "edgecolor": "none", "pad": 1.0}
    axes.annotate(words, at, off_pt, color=colour, bbox=plate, zorder=4.0, **how)


def _ground(vibration: Vibration, axes: Axes) -> None:
    axes.set_xlim(float(vibration.rpm[0]), float(vibration.rpm[-1]))
    axes.xaxis.set_major_locator(MaxNLocator(9))
    axes.spines[["top", "right"]].set_visible(False)
    for label in (*axes.get_xticklabels(), *axes.get_yticklabels()):
        label.set_fontproperties(font_of(False, 9.0))
    for rpm in vibration.route.layout.engine.speeds_rpm.values():
        axes.axvline(rpm, color=SOFT_INK, linewidth=0.8)

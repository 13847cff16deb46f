"""The usable travel of every drawn layout, by the same rule as that of a single one, and where a belt puts it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.belts.travel import SAMPLES as FINE_SAMPLES
from beltplan.belts.travel import SHORTEST_WINDOW_MM, newton_inside
from beltplan.geometry.sensitivity import length_by_motion
from beltplan.geometry.vectors import Bools, Floats
from beltplan.studies.tolerance_draws import Drawn
from beltplan.studies.windows import Windows

SAMPLES = 13
"""Places along the travel at which every draw is looked at."""
HALVINGS = 24
"""Rounds that find an end inside the travel to a few billionths of it."""
SOLVE_ROUNDS = 60
CLOSE = 1e-11


@dataclass(frozen=True, eq=False)
class Ends:
    """The usable part of each draw's travel: sound, and length going one way; (d) all.

    exists: whether there is any. low, high: shares of the whole travel. turns_back: whether the length turns back
    somewhere on the travel. cut: whether the part is not the whole travel.
    """

    exists: Bools
    low: Floats
    high: Floats
    turns_back: Bools
    cut: Bools


def usable_travel(drawn: Drawn) -> Ends:
    """The part of each draw's travel that holds its design setting, or lies nearest to it.

    Soundness is tested in full at the design setting and at both ends; between them at 13 places, where a path that
    makes one turn but crosses itself would pass.
    """
    share = np.linspace(0.0, 1.0, SAMPLES)[:, None] * np.ones(drawn.count)
    slope = drawn.slope_at(share)
    home, found = _homes(drawn)
    direction = np.sign(np.nan_to_num(drawn.slope_at(home)))
    fit = drawn.one_turn_at(share) & (np.sign(np.nan_to_num(slope)) == direction)
    fit[0] &= drawn.sound_at(share[0])
    fit[-1] &= drawn.sound_at(share[-1])
    low = _edge(drawn, direction, home, share, fit, found, -1.0)
    high = _edge(drawn, direction, home, share, fit, found, 1.0)
    signs = np.where(np.isfinite(slope), np.sign(slope), 0.0)
    turns_back = ((signs > 0.0).any(axis=0) & (signs < 0.0).any(axis=0)) & found
    return Ends(found, low, high, turns_back, found & ((low > 0.0) | (high < 1.0)))


def _homes(drawn: Drawn) -> tuple[Floats, Bools]:
    """Where each draw's part is looked for: its design setting, else the sound place nearest to it."""
    home = np.clip(drawn.design, 0.0, 1.0)
    found = drawn.sound_at(home)
    lost = ~found
    if lost.any():
        home[lost], found[lost] = _nearest_sound(drawn.where(lost), home[lost])
    return home, found


def _nearest_sound(drawn: Drawn, wanted: Floats) -> tuple[Floats, Bools]:
    # The full test is dear, so it is made only where the cheap one passes, and everywhere only where they differ.
    share = np.linspace(0.0, 1.0, FINE_SAMPLES)[:, None] * np.ones(drawn.count)
    away = np.where(drawn.one_turn_at(share), np.abs(share - wanted), np.inf)
    home, found = share[np.argmin(away, axis=0), 0], np.asarray(np.isfinite(away).any(axis=0))
    differ = found & ~drawn.sound_at(home)
    if differ.any():
        away = np.where(drawn.where(differ).sound_at(share[:, differ]), away[:, differ], np.inf)
        home[differ], found[differ] = share[np.argmin(away, axis=0), 0], np.isfinite(away).any(axis=0)
    return home, found


def _edge(drawn: Drawn, direction: Floats, home: Floats, share: Floats, fit: Bools, found: Bools, way: float) -> Floats:
    """The end of the part on one side of home: the stop, or what bisection finds between the last two samples."""
    ahead = way * (share - home)
    stop = np.where(~fit & (ahead > 0.0), ahead, np.inf).min(axis=0)
    end = np.full(drawn.count, 0.5 * (1.0 + way))
    open_ = found & np.isfinite(stop)
    if open_.any():
        before = np.where(fit & (ahead > 0.0) & (ahead < stop), ahead, 0.0).max(axis=0)
        inside, outside = (home + way * at for at in (before, stop))
        end[open_] = _bisected(drawn.where(open_), direction[open_], inside[open_], outside[open_])
    return end


def _bisected(drawn: Drawn, direction: Floats, inside: Floats, outside: Floats) -> Floats:
    for _ in range(HALVINGS):
        middle = 0.5 * (inside + outside)
        fit = drawn.sound_at(middle) & (np.sign(np.nan_to_num(drawn.slope_at(middle))) == direction)
        inside, outside = np.where(fit, middle, inside), np.where(fit, outside, middle)
    return inside


def windows_of(layout: Layout, drawn: Drawn, ends: Ends) -> Windows:
    """The lengths that each draw can take, and what must be left of them; every draw must have a usable travel.

    Source: as `belts.fit.window_of`.
    """
    at = np.stack((ends.low, ends.high))
    loop = drawn.loop_at(at)
    shares, lengths = _by_length(at, loop.length)
    wrap = np.where((loop.length[0] <= loop.length[1])[:, None], loop.wrap[0], loop.wrap[1])
    fixed = [i for i in range(len(drawn.circuit.pulleys)) if i != drawn.circuit.moving]
    climb = np.array([drawn.circuit.pulleys[i].climb_mm(layout.belt) for i in fixed])
    reserved = lengths
    if drawn.marks is not None:
        marks = np.clip(drawn.marks, ends.low, ends.high)
        reserved = _by_length(marks, drawn.loop_at(marks).length)[1]
    fitting = (wrap[:, fixed] * climb).min(axis=-1)
    return Windows(shares[0], shares[1], lengths[0], lengths[1], reserved[0], reserved[1], fitting)


def _by_length(share: Floats, length: Floats) -> tuple[Floats, Floats]:
    order = np.argsort(length, axis=0, kind="stable")
    return np.take_along_axis(share, order, axis=0), np.take_along_axis(length, order, axis=0)


def share_for(drawn: Drawn, windows: Windows, length_mm: Floats) -> Floats:
    """Where a length puts each draw's adjuster, (d) mm -> (d); lengths outside the window give the nearer end.

    Bisection with Newton steps from the closed-form slope, as `belts.travel.setting_for`.
    """
    wanted = np.clip(length_mm, windows.shortest, windows.longest)
    low, high = windows.short, windows.long
    width = np.maximum(windows.longest - windows.shortest, SHORTEST_WINDOW_MM)
    share = low + (high - low) * (wanted - windows.shortest) / width
    for _ in range(SOLVE_ROUNDS):
        error, slope = _error_and_slope(drawn, share, wanted)
        low, high = np.where(error < 0.0, share, low), np.where(error < 0.0, high, share)
        new = newton_inside(slope, share, error, low, high)
        if np.all(np.abs(new - share) <= CLOSE):
            return np.asarray(new)
        share = new
    return np.asarray(share)


def _error_and_slope(drawn: Drawn, share: Floats, wanted: Floats) -> tuple[Floats, Floats]:
    loop = drawn.loop_at(share)
    if drawn.track is None or drawn.circuit.moving is None:
        return loop.length - wanted, np.zeros(share.shape)
    return loop.length - wanted, length_by_motion(loop, drawn.circuit.moving, drawn.track.motion_at(share))

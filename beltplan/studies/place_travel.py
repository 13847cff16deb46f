"""The usable travel of the adjuster at every place, by the same rule as that of a single layout."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from beltplan.belts.adjusters import Adjuster
from beltplan.belts.travel import SAMPLES
from beltplan.geometry.crossing import around, pieces_cross
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.studies.place_mover import Mover

FEW = 9
"""Settings that are looked at first; where anything comes near to changing between two of them, all 121 are."""
HALVINGS = 28
"""Rounds that find an end inside the travel: to less than a thousand-millionth of it."""


@dataclass(frozen=True, eq=False)
class Travels:
    """Usable travel at every place, (N): settings of both ends in rising order, whether that is the whole travel."""

    low: Floats
    high: Floats
    whole: Bools

    def where(self, keep: Bools | Ints) -> Travels:
        """Only some of the places."""
        return Travels(self.low[keep], self.high[keep], self.whole[keep])


@dataclass(frozen=True, eq=False)
class Scan:
    """What samples along the travel tell at every place, all (N).

    low, high: the outermost good settings round the design setting, in rising order; below, above: the bad ones next
    to them, NaN at a stop of the adjuster. direction: sign of the slope.
    """

    low: Floats
    high: Floats
    below: Floats
    above: Floats
    direction: Floats

    def where(self, keep: Bools | Ints) -> Scan:
        """Only some of the places."""
        return Scan(self.low[keep], self.high[keep], self.below[keep], self.above[keep], self.direction[keep])

    @property
    def whole(self) -> Bools:
        """Where the whole travel is usable."""
        return np.isnan(self.below) & np.isnan(self.above)


def scanned(mover: Mover, places: Floats) -> Scan:
    """Sample the travel at places whose path is sound at the design setting; without an adjuster a single setting."""
    adjuster = mover.circuit.adjuster
    if adjuster is None:
        none, stop = np.zeros(len(places)), np.full(len(places), np.nan)
        return Scan(none, none, stop, stop, none)
    scan, doubtful = _sampled(mover, places, _settings(adjuster, FEW))
    if doubtful.any():
        again, _ = _sampled(mover, places[doubtful], _settings(adjuster, SAMPLES))
        for field in fields(scan):
            getattr(scan, field.name)[doubtful] = getattr(again, field.name)
    return scan


def ended(mover: Mover, places: Floats, scan: Scan) -> Travels:
    """The usable travel: to a stop of the adjuster, or to what halving finds between a good sample and a bad one."""
    low, high = scan.low.copy(), scan.high.copy()
    for end, beyond in ((low, scan.below), (high, scan.above)):
        cut = ~np.isnan(beyond)
        if cut.any():
            end[cut] = _halved(mover, places[cut], scan.direction[cut], end[cut], beyond[cut])
    return Travels(low, high, scan.whole)


def _settings(adjuster: Adjuster, count: int) -> Floats:
    even = np.linspace(min(adjuster.travel), max(adjuster.travel), count)
    return np.array(sorted({*even.tolist(), adjuster.nominal}))


def _runs(mover: Mover, path: Pieces) -> Bools:
    # What does not move with the adjuster was looked at with the design setting.
    return np.asarray(mover.one_turn(path) & mover.rims_apart(path, frozenset({mover.circuit.moving or 0})))


def _crossed(mover: Mover, path: Pieces) -> Bools:
    return pieces_cross(path, frozenset({mover.circuit.moving or 0}))


def _sampled(mover: Mover, places: Floats, setting: Floats) -> tuple[Scan, Bools]:
    """The scan over given settings (S), and whether something may change unseen between two of them."""
    count, samples = len(places), len(setting)
    column = setting[:, None]
    path = mover.path(places, column)
    slope = mover.slope(path, column)
    home = int(np.searchsorted(setting, mover.design_setting))
    sign = np.sign(np.nan_to_num(slope))
    following = np.append(sign[1:], sign[-2:-1], axis=0)
    sign = np.where(sign == 0.0, following, sign)
    good = np.broadcast_to(_runs(mover, path) & ~_crossed(mover, path) & (sign == sign[home]), (samples, count))
    below = np.logical_and.accumulate(good[:home][::-1], axis=0).sum(axis=0)
    above = np.logical_and.accumulate(good[home + 1 :], axis=0).sum(axis=0)
    first, last = home - below, home + above
    framed = np.concatenate(([np.nan], setting, [np.nan]))
    direction = np.array(np.broadcast_to(sign[home], (count,)))
    scan = Scan(setting[first], setting[last], framed[first], framed[last + 2], direction)
    return scan, _doubtful(mover, setting, path, slope, first, last)


def _doubtful(mover: Mover, setting: Floats, path: Pieces, slope: Floats, first: Ints, last: Ints) -> Bools:
    """Whether the slope, a wrap or a gap between rims is so small that it may pass zero unseen between two samples."""
    moving = mover.circuit.moving or 0
    watched = [np.abs(slope), *(path.wrap[i] for i in sorted(around(frozenset({moving}), len(path.span))))]
    watched += [mover.rim_gap(path, index, moving) for index in mover.moved]
    inside: Bools | None = None
    found = np.zeros(len(first), dtype=bool)
    for values in (v for v in watched if v.ndim == 2):
        suspect = np.broadcast_to(_near_zero(setting, values), found.shape) & ~found
        if suspect.any():
            if inside is None:
                number = np.arange(len(values))[:, None]
                inside = (first <= number) & (number <= last)
            own = np.broadcast_to(values, inside.shape)[:, suspect]
            found[suspect] = _near_zero(setting, np.where(inside[:, suspect], own, np.nan))
    return found


def _near_zero(setting: Floats, values: Floats) -> Bools:
    """Whether a value comes nearer to zero than it leaves the straight line between its neighbouring samples.

    Between two samples a smooth value bends by about a quarter of that.
    """
    share = ((setting[1:-1] - setting[:-2]) / (setting[2:] - setting[:-2]))[:, None]
    bend = values[1:-1] - values[:-2] - share * (values[2:] - values[:-2])
    return np.asarray(np.fmin.reduce(values, axis=0) < np.fmax.reduce(np.abs(bend), axis=0, initial=0.0))


def _halved(mover: Mover, places: Floats, direction: Floats, inside: Floats, outside: Floats) -> Floats:
    """Ends between a good setting and a bad one. Where the path does not cross itself at the bad one, crossing is left
    out at first, and all is done again with it where the end so found turns out to cross.
    """
    path = mover.path(places, outside)
    simple = np.broadcast_to(~_crossed(mover, path), inside.shape)
    end = np.empty_like(inside)
    for own, whole in ((simple, False), (~simple, True)):
        end[own] = _halved_by(mover, places[own], direction[own], inside[own], outside[own], whole)
    wrong = simple & np.broadcast_to(_crossed(mover, mover.path(places, end)), inside.shape)
    if wrong.any():
        end[wrong] = _halved_by(mover, places[wrong], direction[wrong], inside[wrong], outside[wrong], True)
    return end


def _halved_by(mover: Mover, places: Floats, direction: Floats, inside: Floats, outside: Floats, whole: bool) -> Floats:
    for _ in range(HALVINGS if len(places) else 0):
        middle = 0.5 * (inside + outside)
        path = mover.path(places, middle)
        fit = _runs(mover, path) & (np.sign(np.nan_to_num(mover.slope(path, middle))) == direction)
        if whole:
            fit = fit & ~_crossed(mover, path)
        inside, outside = np.where(fit, middle, inside), np.where(fit, outside, middle)
    return inside

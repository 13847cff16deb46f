"""How far off its place may a pulley come to sit until it is worse there? Judged on rings round it, by every check."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from beltplan.checks.placing import at_least_words
from beltplan.drive.layout import Layout, Units
from beltplan.geometry.vectors import TURN, Bools, Floats, Ints, from_angle
from beltplan.judging.stages import CAUTION, SOUND, STATES, JudgedPlaces, judged_places

_STEP = 5
"""Of rings a tenth of a mm apart, at one of so many is looked first (our own choice)."""
_WAYS, _FINER_WAYS = 48, 96


class Stays(NamedTuple):
    """How far any way from a place nothing worse is met, mm: so far surely, and so far at most, None where none is.

    why: what the first that is met is by, in words.
    """

    at_least_mm: float
    at_most_mm: float | None
    why: str = ""

    def words(self, units: Units) -> str:
        """How near to its place it must stand."""
        why = f": {self.why}" * bool(self.why)
        if not self.at_least_mm:
            return f"exactly ({self.at_most_mm:.1f} mm off there is a problem{why})"
        return f"within {at_least_words(self.at_least_mm, units)}{why and f', or there is a problem{why}'}"


def room_of(layout: Layout, name: str, off_mm: float) -> Stays | None:
    """How far a pulley stays without a problem that may sit so far off its place; None where it does as far as that.

    None too where there is a problem at its place, or where an adjuster moves it.
    """
    if (at_mm := layout.pulleys[name].at_mm) is None:
        return None
    stays = stays_at(layout, name, at_mm, off_mm, (CAUTION,))[0]
    return stays if stays is not None and stays.at_least_mm < off_mm else None


def stays_at(
    layout: Layout, name: str, at_mm: tuple[float, float], reach_mm: float, states: tuple[int, ...] = (CAUTION, SOUND)
) -> tuple[Stays | None, ...]:
    """How far off a place a pulley comes at least to each state, so far as it is looked; None where it does not there.

    Judged on rings round it, and finer before the first ring that is worse.
    """
    rings, least = np.arange(0, math.ceil(10.0 * reach_mm) + _STEP, _STEP), np.array(states)
    judged = judged_places(layout, (name,), _on_rings(at_mm, rings, _WAYS))
    worst, why = _worst_on(judged, _WAYS)
    first = rings[np.argmax(worst < least[:, None], axis=1)]
    finer = np.unique(first[:, None] - np.arange(2 * _STEP))
    if (finer := finer[finer > 0]).size:
        # What comes to a point may pass between two ways, so one step more is looked at.
        more, whys = _worst_on(judged.again(_on_rings(at_mm, finer, _FINER_WAYS)), _FINER_WAYS)
        rings, worst, why = np.append(rings, finer), np.append(worst, more), why + whys
    return tuple(_stays(np.asarray(rings / 10.0), worst < state, why) for state in states)


def _on_rings(at_mm: tuple[float, float], rings: Ints, ways: int) -> Floats:
    unit = from_angle(np.linspace(0.0, TURN, ways, endpoint=False))
    return (np.array(at_mm) + rings[:, None, None] / 10.0 * unit).reshape(-1, 1, 2)


def _worst_on(judged: JudgedPlaces, ways: int) -> tuple[Ints, list[str]]:
    worst = np.arange(0, len(judged.state), ways) + judged.state.reshape(-1, ways).argmin(axis=1)
    return judged.state[worst], [judged.failing[i] or STATES[judged.state[i]] for i in worst]


def _stays(rings_mm: Floats, worse: Bools, why: list[str]) -> Stays | None:
    lost = int(np.argmin(np.where(worse, rings_mm, math.inf)))
    nearer = rings_mm[rings_mm < rings_mm[lost]] if worse.any() else rings_mm
    if not len(nearer):
        return None
    return Stays(float(nearer.max()), *((float(rings_mm[lost]), why[lost]) if worse.any() else (None,)))

"""Do points lie where the user sees them from the origin?"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from beltplan.geometry.vectors import TURN, Bools, Floats, from_angle
from beltplan.studies.measured import Measured, Side

TURNS = 720
"""Turns of the whole that are tried where nothing says what is level: half a degree apart."""
_TOWARD: dict[Side, float] = {"right": 0.0, "above": 0.25 * TURN, "left": 0.5 * TURN, "below": 0.75 * TURN}


def is_as_seen(measured: Measured, places: Floats) -> bool:
    """Whether points lie where they are seen, (points, 2) mm from the origin; in an open frame, turned somehow."""
    return turn_seen(measured, places) is not None


def turn_seen(measured: Measured, places: Floats) -> float | None:
    """How far to turn the whole, rad, so that points lie where they are seen; None where no turn does.

    0 where the frame is not open, since then nothing may be turned; else the middle of the widest range that does.
    """
    if not measured.sides or not measured.frame_is_open:
        return 0.0 if as_seen(measured.points, places, measured.sides) else None
    turns = TURN * np.arange(TURNS) / TURNS
    where = dict(zip(measured.points, places, strict=True))
    agree = np.ones(TURNS, dtype=bool)
    for name, words in measured.sides.items():
        for word in words:
            # A place turned by an angle lies on a side where it lies on that side turned back.
            agree &= from_angle(_TOWARD[word] - turns) @ where[name] > 0.0
    return _middle(agree, turns)


def as_seen(points: tuple[str, ...], places: Floats, sides: Mapping[str, tuple[Side, ...]]) -> bool:
    """Whether points lie where they are seen from the origin. places: (points, 2) mm."""
    where = dict(zip(points, places, strict=True))
    toward = ((where[name], from_angle(np.asarray(_TOWARD[word]))) for name, words in sides.items() for word in words)
    return all(float(place @ way) > 0.0 for place, way in toward)


def _middle(agree: Bools, turns: Floats) -> float | None:
    """The middle of the longest run round the circle."""
    if not agree.any():
        return None
    if agree.all():
        return 0.0
    first = int(np.flatnonzero(~agree)[0])
    rolled = np.concatenate(([False], np.roll(agree, -first), [False])).astype(int)
    starts, ends = np.flatnonzero(np.diff(rolled) == 1), np.flatnonzero(np.diff(rolled) == -1)
    longest = int(np.argmax(ends - starts))
    middle = first + 0.5 * float(starts[longest] + ends[longest] - 1)
    turn = TURN * middle / TURNS
    return float(turn - TURN * np.round(turn / TURN))


def turned(places: Floats, turn_rad: float) -> Floats:
    """Places turned about the origin, (n, 2)."""
    cosine, sine = np.cos(turn_rad), np.sin(turn_rad)
    return np.asarray(places @ np.array(((cosine, sine), (-sine, cosine))))

"""The lengths that one belt has: effective, pitch and outside, or inside, datum and outside, kept apart."""

from __future__ import annotations

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.geometry.vectors import TURN


def line_length_mm(belt: Belt) -> float:
    """Length of a belt along the followed line: effective, or datum for a classical section; mm.

    Raises ValueError for a belt without a length.
    Source: classical sections, ANSI/RMA IP-20 and ISO 4183 as noted in `profile_data`.
    """
    if belt.length_mm is None:
        raise ValueError("the belt has no length")
    below, above = belt.profile.inside_below_mm or 0.0, belt.profile.outside_above_mm or 0.0
    shift = {"inside": below, "outside": -above, "datum": 0.0, "effective": 0.0}[belt.length_kind]
    return belt.length_mm + shift


def pitch_length_mm(belt: Belt, line_mm: float) -> float:
    """Length along the pitch line of a belt whose followed line is `line_mm` long; mm.

    Source: parallel curves, L(pitch) - L(effective) = 2 pi b_e (Steiner); b_e of ISO 9981/9982.
    """
    return line_mm + TURN * belt.pitch_line_mm


def outside_length_mm(belt: Belt, line_mm: float) -> float | None:
    """Length over the belt's back, mm; None where the height of the back is not known."""
    if belt.profile.outside_above_mm is not None:
        return line_mm + belt.profile.outside_above_mm
    return None if belt.back_mm is None else line_mm + TURN * belt.back_mm


def rim_reading_spread_mm(belt: Belt, wraps_rad: float) -> tuple[float, float]:
    """How far the needed length may lie from the nominal, for pulleys read over the rim with that much wrap in all.

    Returns the least and the most change in mm, from the range of the rim's height under the line.
    """
    nominal = belt.profile.rim_minus_line_mm
    ends = [0.5 * (nominal - end) * wraps_rad for end in belt.profile.rim_range_mm]
    return float(np.min(ends)), float(np.max(ends))

"""How the length of a loop answers to small movements: closed forms, no finite differences."""

from __future__ import annotations

from beltplan.geometry.loops import Loop, before
from beltplan.geometry.vectors import Floats, dot


def length_by_centre(loop: Loop) -> Floats:
    """Change of path length with the place of each centre: dL/dc_i = u_(i-1) - u_i.

    Returns (..., n, 2), mm of path for a mm of movement along x and along y.
    Source: first variation of the path; tangency makes the contact points' own movement drop out.
    """
    arriving = loop.direction[..., before(loop.span.shape[-1]), :]
    return arriving - loop.direction


def length_by_radius(loop: Loop) -> Floats:
    """Change of path length with each radius: dL/dr_i = wrap_i, on either side of the belt; (..., n) mm per mm."""
    return loop.wrap


def length_by_motion(loop: Loop, index: int, motion: Floats) -> Floats:
    """Change of path length as one centre moves.

    motion: (..., 2), movement of circle `index` for one unit of the adjuster (mm per rad, or mm per mm).
    Returns (...) mm of path for that unit.
    Source: dL/dc_i (above) dotted with the centre's movement.
    """
    return dot(length_by_centre(loop)[..., index, :], motion)

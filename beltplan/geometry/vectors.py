"""Plane vectors over leading axes: the last axis holds x and y.

Where vectors are made here all x lie together in memory, then all y: numpy keeps to that, and reads them at full speed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]
    Ints = NDArray[np.integer[Any]]
    Complexes = NDArray[np.complexfloating[Any, Any]]
else:
    Floats = Bools = Ints = Complexes = np.ndarray  # numpy.typing is only for the type checker, and costs start-up time

TURN = 2.0 * np.pi


def dot(a: Floats, b: Floats) -> Floats:
    """Scalar product, (..., 2) by (..., 2) -> (...)."""
    found = np.asarray(a[..., 0] * b[..., 0])
    found += a[..., 1] * b[..., 1]
    return found


def cross(a: Floats, b: Floats) -> Floats:
    """Signed area of the parallelogram, positive where b lies to the left of a; (..., 2) -> (...).

    >>> cross(np.array([1.0, 0.0]), np.array([0.0, 2.0])).item()
    2.0
    """
    found = np.asarray(a[..., 0] * b[..., 1])
    found -= a[..., 1] * b[..., 0]
    return found


def left_normal(a: Floats) -> Floats:
    """The vector turned a quarter turn counter-clockwise; (..., 2) -> (..., 2).

    >>> left_normal(np.array([3.0, 1.0])).tolist()
    [-1.0, 3.0]
    """
    turned_left = np.empty_like(a)
    # Not np.negative: in numpy 2.4 it errs where its input lies 64 bytes apart and its output not side by side.
    np.multiply(a[..., 1], -1.0, out=turned_left[..., 0])
    turned_left[..., 1] = a[..., 0]
    return turned_left


def norm(a: Floats) -> Floats:
    """Length of the vector; (..., 2) -> (...)."""
    # Several times faster than np.hypot, which guards against overflow that mm never reach.
    return np.asarray(np.sqrt(dot(a, a)))


def from_angle(angle_rad: Floats) -> Floats:
    """Unit vector at an angle counter-clockwise from +x; (...) rad -> (..., 2)."""
    return apart(np.cos(angle_rad), np.sin(angle_rad))


def apart(x: Floats, y: Floats) -> Floats:
    """Vectors of their parts, (...) each -> (..., 2), all x before all y in memory."""
    both = np.empty((2, *x.shape))
    both[0], both[1] = x, y
    # The same as moveaxis, in a tenth of the time.
    return both.transpose(*range(1, both.ndim), 0)


def turned(angle_from: Floats, angle_to: Floats, sense: Floats) -> Floats:
    """Angle swept from one direction to another in the given sense.

    Arguments are direction vectors (..., 2), not angles; sense is +1 counter-clockwise, -1 clockwise.
    Returns radians in [0, 2 pi). A sweep that misses a full turn by less than `TOUCHING_RAD` counts as none:
    it is a contact that rounding has pushed to the wrong side of zero.

    >>> right, up = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    >>> np.degrees([turned(right, up, np.array(1.0)), turned(right, up, np.array(-1.0))]).tolist()
    [90.0, 270.0]
    """
    swept = np.asarray(np.arctan2(sense * cross(angle_from, angle_to), dot(angle_from, angle_to)))
    swept += TURN * (swept < -TOUCHING_RAD)
    return np.asarray(np.maximum(swept, 0.0, out=swept))


TOUCHING_RAD = 1e-9
"""Two directions closer than this are the same direction: about 1e-7 mm on a 100 mm pulley."""


def picked(values: Floats, where: Bools, item_axes: int = 0) -> Floats:
    """Only some of a batch of layouts, those `where` it is true, along one axis; one value for all stays one value.

    values: leading axes that broadcast to `where`; of vectors, after these, the axis of x and y.

    >>> picked(np.array([1.0, 2.0, 3.0]), np.array([True, False, True])).tolist()
    [1.0, 3.0]
    >>> picked(np.array([5.0]), np.array([True, False, True])).tolist()
    5.0
    """
    split = values.ndim - item_axes
    if all(count == 1 for count in values.shape[:split]):
        return values.reshape(values.shape[split:])
    if item_axes:
        return apart(*(picked(values[..., i], where) for i in (0, 1)))
    return np.broadcast_to(values, (*where.shape, *values.shape[split:]))[where]

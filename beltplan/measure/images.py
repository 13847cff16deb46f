"""How an image, a tracing, a scan or a photo on which points were picked, maps the plane."""

from __future__ import annotations

from typing import Literal

import numpy as np

from beltplan.geometry.vectors import Floats, from_angle, left_normal

Model = Literal["rigid", "similar", "slanted"]
"""rigid: turned and shifted, scale known; similar: scale open as well; slanted: a photo at an angle (homography)."""
PARAMETERS: dict[Model, int] = {"rigid": 3, "similar": 4, "slanted": 8}
POINTS_NEEDED: dict[Model, int] = {"rigid": 2, "similar": 2, "slanted": 4}
_LEAST_PX_PER_MM = 1e-6
"""Places that lie so close on an image, for their distance in the plane, tell neither its turn nor its scale."""
PLANE_UNIT_MM = 300.0
"""Unit of the plane inside a homography: keeps its eight numbers of one size."""


def mapped(model: Model, scale: float, numbers: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
    """Where points of the plane lie on an image.

    scale: px for one mm, of a rigid image. numbers: (k), k as in PARAMETERS. points: (m, 2) mm.
    Returns (m, 2) px, and the Jacobians by the point (m, 2, 2) and by the numbers (m, 2, k).
    """
    if model == "slanted":
        return _slanted(numbers, points)
    if model == "similar":
        return _similar(numbers, points)
    along = scale * from_angle(numbers[0])
    spread = np.array([along[0], along[1], numbers[1], numbers[2]])
    at, by_point, by_similar = _similar(spread, points)
    by_turn = by_similar[..., :2] @ left_normal(along)
    return at, by_point, np.concatenate((by_turn[..., None], by_similar[..., 2:]), axis=-1)


def _similar(numbers: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
    a, b, u, v = numbers
    x, y = points[:, 0], points[:, 1]
    zero, one = np.zeros(len(points)), np.ones(len(points))
    at = np.stack((a * x - b * y + u, b * x + a * y + v), axis=-1)
    by_point = np.broadcast_to(np.array(((a, -b), (b, a))), (len(points), 2, 2))
    by_numbers = np.stack((np.stack((x, -y, one, zero), -1), np.stack((y, x, zero, one), -1)), axis=1)
    return at, by_point, by_numbers


def _slanted(numbers: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
    x, y = points[:, 0] / PLANE_UNIT_MM, points[:, 1] / PLANE_UNIT_MM
    one, zero = np.ones(len(points)), np.zeros(len(points))
    top = numbers[:6].reshape(2, 3)
    low = numbers[6] * x + numbers[7] * y + 1.0
    at = (np.stack((x, y, one), -1) @ top.T) / low[:, None]
    by_point = (top[:, :2] - at[..., None] * numbers[6:]) / (PLANE_UNIT_MM * low[:, None, None])
    tail = -at[..., None] * np.stack((x, y), -1)[:, None, :]
    first = np.stack((x, y, one, zero, zero, zero), -1)
    second = np.stack((zero, zero, zero, x, y, one), -1)
    by_numbers = np.concatenate((np.stack((first, second), axis=1), tail), axis=-1) / low[:, None, None]
    return at, by_point, by_numbers


def fitted(model: Model, scale: float, points: Floats, at: Floats) -> Floats:
    """Numbers of an image from points whose places in the plane (m, 2) mm and on the image (m, 2) px are known; (k).

    Needs as many as POINTS_NEEDED; the least of squares on the image, for a slanted one of an algebraic residual.
    Source: direct linear solution of a plane homography, Hartley and Zisserman, Multiple View Geometry, 4.1 (from
    memory).
    """
    if model == "slanted":
        return _fitted_slanted(points, at)
    z, w = points[:, 0] + 1j * points[:, 1], at[:, 0] + 1j * at[:, 1]
    apart = z - z.mean()
    turn = np.vdot(apart, w - w.mean()) / max(float(np.vdot(apart, apart).real), 1e-300)
    if not abs(turn) > _LEAST_PX_PER_MM:
        turn = complex(scale)
    if model == "rigid":
        turn = scale * np.exp(1j * np.angle(turn))
    shift = w.mean() - turn * z.mean()
    if model == "rigid":
        return np.array((np.angle(turn), shift.real, shift.imag))
    return np.array((turn.real, turn.imag, shift.real, shift.imag))


def _fitted_slanted(points: Floats, at: Floats) -> Floats:
    _, _, by_numbers = _slanted(np.zeros(8), points)
    rows = by_numbers.copy()
    x = points / PLANE_UNIT_MM
    rows[:, 0, 6:], rows[:, 1, 6:] = -at[:, :1] * x, -at[:, 1:] * x
    return np.asarray(np.linalg.lstsq(rows.reshape(-1, 8), at.reshape(-1), rcond=None)[0])


def placed(model: Model, scale: float, numbers: Floats, at: Floats) -> Floats:
    """Points of the plane, (m, 2) mm, that lie at places of an image, (m, 2) px."""
    if model == "slanted":
        whole = np.append(numbers, 1.0).reshape(3, 3)
        back = np.column_stack((at, np.ones(len(at)))) @ np.linalg.pinv(whole).T
        return np.asarray(PLANE_UNIT_MM * back[:, :2] / back[:, 2:])
    turn = scale * np.exp(1j * numbers[0]) if model == "rigid" else complex(numbers[0], numbers[1])
    shift = complex(numbers[-2], numbers[-1])
    z = (at[:, 0] + 1j * at[:, 1] - shift) / turn
    return np.stack((z.real, z.imag), axis=-1)

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

    scale: px for one mm, of a rigid image. numbers: (..., k), k as in PARAMETERS. points: (..., m, 2) mm.
    Returns (..., m, 2) px, and the Jacobians by the point (..., m, 2, 2) and by the numbers (..., m, 2, k).
    """
    if model == "slanted":
        return _slanted(numbers, points)
    if model == "similar":
        return _similar(numbers, points)
    along = scale * from_angle(numbers[..., 0])
    at, by_point, by_similar = _similar(np.concatenate((along, numbers[..., 1:]), axis=-1), points)
    by_turn = by_similar[..., :2] @ left_normal(along)[..., None, :, None]
    return at, by_point, np.concatenate((by_turn, by_similar[..., 2:]), axis=-1)


def _rows(*rows: tuple[Floats | float, ...]) -> Floats:
    entries = np.broadcast_arrays(*(entry for row in rows for entry in row))
    return np.stack(entries, axis=-1).reshape(*entries[0].shape, len(rows), -1)


def _similar(numbers: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
    a, b, u, v = np.moveaxis(numbers, -1, 0)[..., None]
    x, y = points[..., 0], points[..., 1]
    at = np.stack((a * x - b * y + u, b * x + a * y + v), axis=-1)
    by_point = np.broadcast_to(_rows((a, -b), (b, a)), (*at.shape, 2))
    return at, by_point, _rows((x, -y, 1.0, 0.0), (y, x, 0.0, 1.0))


def _slanted(numbers: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
    x, y = points[..., 0] / PLANE_UNIT_MM, points[..., 1] / PLANE_UNIT_MM
    a, b, c, d, e, f, g, h = np.moveaxis(numbers, -1, 0)[..., None]
    low = g * x + h * y + 1.0
    u, v = (a * x + b * y + c) / low, (d * x + e * y + f) / low
    by_point = _rows((a - u * g, b - u * h), (d - v * g, e - v * h)) / (PLANE_UNIT_MM * low[..., None, None])
    by_numbers = _rows((x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y), (0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y))
    return np.stack((u, v), axis=-1), by_point, by_numbers / low[..., None, None]


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

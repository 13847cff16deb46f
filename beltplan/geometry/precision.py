"""How well a network holds its points: covariances, what nothing holds, and how far each measurement is checked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.geometry.least_squares import Settled
from beltplan.geometry.network import LOOSE, SINGULAR, Network
from beltplan.geometry.vectors import Bools, Floats, Ints


@dataclass(frozen=True, eq=False)
class Precision:
    """What follows from the slopes of a settled network, for measurements of just their stated deviations.

    covariance: (size, size), nought for the origin, of no meaning for what is loose. loose: (points) whether nothing
    holds a point. redundancy: (m) share of an error of each measurement that shows in its own misfit, 0 where nothing
    checks it. tied: (m, m) covariance of the misfits, each over its deviation.
    """

    covariance: Floats
    loose: Bools
    redundancy: Floats
    tied: Floats


def precision_of(network: Network, at: Settled) -> Precision:
    """How well a settled network is held, to first order.

    Source: covariance and redundancy numbers of least squares, Baarda 1968 (from memory); textbook results, checked
    against drawn errors in the tests.
    """
    free = np.flatnonzero(network.free)
    slopes = at.slopes[:, free]
    scale = np.sqrt(np.sum(slopes**2, axis=0))
    scale = np.where(scale > 0.0, scale, 1.0)
    left, strength, right = np.linalg.svd(slopes / scale, full_matrices=True)
    strength = np.concatenate((strength, np.zeros(len(free) - len(strength))))
    held = strength > SINGULAR * max(float(strength.max(initial=0.0)), 1e-300)
    inverse = right[held].T / strength[held] / scale[:, None]
    covariance = np.zeros((network.size, network.size))
    covariance[np.ix_(free, free)] = inverse @ inverse.T
    share = left[:, : len(strength)][:, held[: left.shape[1]]]
    tied = np.eye(len(slopes)) - share @ share.T
    loose = _loose(network, free, right[~held].T / scale[:, None])
    return Precision(covariance, loose, np.clip(np.diagonal(tied), 0.0, 1.0), tied)


def _loose(network: Network, free: Ints, unheld: Floats) -> Bools:
    """unheld: (free unknowns, d) directions that change no misfit, in the unknowns' own units."""
    moves = np.zeros(network.size)
    moves[free] = np.max(np.abs(np.linalg.qr(unheld)[0]), axis=1, initial=0.0)
    return np.asarray(moves[: 2 * network.points].reshape(-1, 2).max(axis=1) > LOOSE)


def without_turn(places: Floats, covariance: Floats) -> Floats:
    """A covariance of places, (2 n, 2 n), with a common turn about (0, 0) taken out. places: (n, 2) mm.

    Source: S-transformation, Baarda 1973 (from memory): projection along the motion that is taken out.
    """
    return _without(_turn(places)[:, None], covariance)


def without_motion(places: Floats, covariance: Floats) -> Floats:
    """The same with a common shift taken out as well."""
    shifts = np.tile(np.eye(2), (len(places), 1))
    return _without(np.column_stack((shifts, _turn(places - places.mean(axis=0)))), covariance)


def _turn(away: Floats) -> Floats:
    return np.stack((-away[:, 1], away[:, 0]), axis=-1).reshape(-1)


def _without(motions: Floats, covariance: Floats) -> Floats:
    """motions: (2 n, m)."""
    kept = np.eye(len(motions)) - motions @ np.linalg.pinv(motions)
    return np.asarray(kept @ covariance @ kept.T)

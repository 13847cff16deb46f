"""Lines of equal value over a grid, as chains of points."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from beltplan.geometry.vectors import Bools, Floats


def contour_chains(x: Floats, y: Floats, values: Floats, level: float) -> list[Floats]:
    """Where values cross a level. x: (columns), y: (rows), values: (rows, columns), NaN where there is none.

    Returns chains of points, each (n, 2), longest first.
    """
    known = values[np.isfinite(values)]
    if min(values.shape) < 2 or not len(known) or not known.min() < level <= known.max():
        return []
    drawn = Figure().add_subplot().contour(x, y, np.ma.masked_invalid(values), levels=[level])
    chains = [np.asarray(chain) for chain in drawn.allsegs[0] if len(chain) > 1]
    return sorted(chains, key=lambda chain: -chain_length(chain))


def chain_length(chain: Floats) -> float:
    """Length of a chain of points."""
    return float(np.hypot(*np.diff(chain, axis=0).T).sum())


def outline_chains(x: Floats, y: Floats, inside: Bools) -> list[Floats]:
    """The edges of a region; inside: (rows, columns), whether a place belongs to it."""
    step_x, step_y = x[1] - x[0], y[1] - y[0]
    # A frame of places outside closes the edge of a region that reaches the end of the grid.
    framed = np.pad(np.asarray(inside, dtype=float), 1)
    wide_x = np.concatenate(([x[0] - step_x], x, [x[-1] + step_x]))
    wide_y = np.concatenate(([y[0] - step_y], y, [y[-1] + step_y]))
    return contour_chains(wide_x, wide_y, framed, 0.5)

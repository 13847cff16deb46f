"""Published numbers that answers of the program meet; `python -m tests.cited` counts the distinct ones of every source.

What a test works out from a published number by a formula of its own is compared as ever, and not counted.
"""

import sys
from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

COMPUTED: defaultdict[str, set[float]] = defaultdict(set)
HELD: defaultdict[str, set[float]] = defaultdict(set)
"""By the file of the source, what was met since the start."""


def meets(found: ArrayLike, published: ArrayLike, within: float) -> None:
    """What the program computes is published; within half of the last digit, or more where the test says why."""
    _compare(found, published, within, COMPUTED)


def holds(held: ArrayLike | Sequence[float | None], published: ArrayLike, within: float = 0.0) -> None:
    """A number of the program's own tables is the published one, or as near to it as that is sure."""
    _compare(held, published, within, HELD)


def _compare(
    found: ArrayLike | Sequence[float | None], published: ArrayLike, within: float, met: defaultdict[str, set[float]]
) -> None:
    np.testing.assert_allclose(np.array(found, float), np.array(published, float), rtol=1e-12, atol=within)
    met[sys._getframe(2).f_globals["__name__"]] |= set(np.ravel(published).astype(float).tolist())

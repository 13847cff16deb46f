"""How far `close_loop` is from a compiled loop of the same arithmetic. Run by hand; not part of the suite.

    python -m tests.benchmarks.bench_loops

With the package installed. 100,000 layouts of seven pulleys (spans, wraps, lengths), against numba on one core. The two
take turns and the least of ten runs each counts. The target is a ratio of ten at most.
"""

import math
import time
from collections.abc import Callable

import numba
import numpy as np

from beltplan.geometry.loops import close_loop
from beltplan.geometry.vectors import TOUCHING_RAD, Floats

LAYOUTS, PULLEYS, RUNS = 100_000, 7, 10
Answer = tuple[Floats, Floats, Floats]


def layouts(seed: int = 1) -> tuple[Floats, Floats, Floats]:
    """Centres, radii and senses of random rings of discs, one in five on the back."""
    rng = np.random.default_rng(seed)
    angle = (np.arange(PULLEYS) + rng.uniform(-0.3, 0.3, (LAYOUTS, PULLEYS))) * 2.0 * np.pi / PULLEYS
    far = rng.uniform(180.0, 260.0, (LAYOUTS, PULLEYS))
    centre = np.stack((far * np.cos(angle), far * np.sin(angle)), axis=-1)
    sense = np.where(rng.random((LAYOUTS, PULLEYS)) < 0.8, 1.0, -1.0)
    return centre, rng.uniform(20.0, 60.0, (LAYOUTS, PULLEYS)), sense


def by_arrays(centre: Floats, radius: Floats, sense: Floats) -> Answer:
    """The program's own way."""
    loop = close_loop(centre, radius, sense)
    return loop.span, loop.wrap, loop.length


def _compiled(centre: Floats, radius: Floats, sense: Floats) -> Answer:
    count, n = radius.shape
    span, wrap, length = np.empty((count, n)), np.empty((count, n)), np.empty(count)
    ux, uy = np.empty(n), np.empty(n)
    for k in range(count):
        for i in range(n):
            j = i + 1 if i + 1 < n else 0
            dx, dy = centre[k, j, 0] - centre[k, i, 0], centre[k, j, 1] - centre[k, i, 1]
            offset = sense[k, i] * radius[k, i] - sense[k, j] * radius[k, j]
            square = dx * dx + dy * dy
            rest = square - offset * offset
            s = math.sqrt(rest) if rest > 0.0 else math.nan
            span[k, i] = s
            ux[i], uy[i] = (s * dx - offset * dy) / square, (s * dy + offset * dx) / square
        total = 0.0
        for i in range(n):
            h = i - 1 if i > 0 else n - 1
            across, along = ux[h] * uy[i] - uy[h] * ux[i], ux[h] * ux[i] + uy[h] * uy[i]
            swept = math.atan2(sense[k, i] * across, along)
            if swept < -TOUCHING_RAD:
                swept += 2.0 * math.pi
            elif swept < 0.0:
                swept = 0.0
            wrap[k, i] = swept
            total += span[k, i] + swept * radius[k, i]
        length[k] = total
    return span, wrap, length


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    """Print both times and their ratio, after checking that both give the same answer."""
    given = layouts()
    compiled: Callable[..., Answer] = numba.njit()(_compiled)
    for ours, theirs in zip(by_arrays(*given), compiled(*given), strict=True):
        np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=1e-9)
    times = [(_seconds(lambda: by_arrays(*given)), _seconds(lambda: compiled(*given))) for _ in range(RUNS)]
    ours_s, theirs_s = (min(column) for column in zip(*times, strict=True))
    print(f"close_loop {ours_s * 1e3:.1f} ms, compiled {theirs_s * 1e3:.1f} ms, ratio {ours_s / theirs_s:.1f}")


if __name__ == "__main__":
    main()

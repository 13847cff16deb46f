"""What finding places costs: every mirror image, misreadings and advice, beside one plain fit. Run by hand.

    python -m tests.benchmarks.bench_measure

Pulleys scattered at random, every second pair of them taped to 1 mm, with and without a tape misread by an inch. The
reference is one scipy.optimize.least_squares from the true places: the least that any such program must do.
"""

import time
from collections.abc import Callable
from functools import partial

import numpy as np
from scipy.optimize import least_squares

from beltplan.measure.readings import Measured
from beltplan.measure.study import measuring_of
from tests.measure.drives import Places, every_pair, levelled, measured_of, scattered, taped
from tests.measure.reference import Reference

SIZES = (6, 9, 12)
INCH_MM = 25.4
RUNS = 5


def _given(count: int, error_mm: float) -> tuple[Places, Measured]:
    rng = np.random.default_rng(count)
    places = levelled(scattered(rng, count))
    pairs = [pair for i, pair in enumerate(every_pair(places)) if count <= 6 or i % 2 == 0 or pair[0] == "crank"]
    tapes = taped(places, pairs, rng, errors={pairs[-1]: error_mm})
    names = list(places)
    return places, measured_of(places, tapes, level=(names[0], names[1]))


def _least(run: Callable[[], object]) -> float:
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print the time of each network and its ratio to one plain fit."""
    for count in SIZES:
        for error_mm in (0.0, INCH_MM):
            places, given = _given(count, error_mm)
            reference = Reference(given, {}, {})
            plain = _least(partial(least_squares, reference.misfits, reference.start(places)))
            own = _least(partial(measuring_of, given))
            what = "one misread by an inch" if error_mm else "nothing misread"
            times = f"{own:.3f} s, {own / plain:5.1f} plain fits"
            print(f"{count:2} points, {len(given.distances):2} tapes, {what:22}: {times}")


if __name__ == "__main__":
    main()

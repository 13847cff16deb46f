"""Slips that take long to tell: each is told within ten seconds on one processor, and a terminal sees how far it is.

The bound is the project's own promise.
"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from beltplan.measure.measurements_file import read_measurements
from beltplan.measure.readings import Measured
from beltplan.measure.study import measuring_of
from tests.measure.drives import angle, apart, levelled, measured_of, taped

MOST_S = 10.0
FAULTS = Path(__file__).parents[1] / "cases" / "faults"


def _forty() -> Measured:
    """Forty points, each taped to the next three; two tapes misread by an inch and by ten."""
    drawn = np.random.default_rng(4).uniform(-500.0, 500.0, (40, 2))
    places = levelled({f"p{i}": (float(x), float(y)) for i, (x, y) in enumerate(drawn)})
    names = list(places)
    pairs = [(names[i], names[j]) for i in range(40) for j in range(i + 1, min(i + 4, 40))]
    tapes = [*taped(places, pairs, np.random.default_rng(5))]
    for i, off_mm in ((20, 25.4), (70, 254.0)):
        tapes[i] = replace(tapes[i], value_mm=apart(places, pairs[i]) + off_mm)
    return measured_of(places, tuple(tapes), directions=(angle(places, pairs[0], None),))


def _file(name: str) -> Measured:
    return read_measurements(str(FAULTS / f"{name}.yaml")).measured


@pytest.mark.parametrize("name", ["slip_0.8", "photo_two_slips", "loose30", "forty"])
def test_measuring_ends_in_time(name: str) -> None:
    measured, shares = _forty() if name == "forty" else _file(name), list[float]()
    start = time.process_time()
    found = measuring_of(measured, shares.append)
    assert time.process_time() - start < MOST_S
    assert shares == sorted(shares) and shares[0] > 0.0 and shares[-1] < 1.0
    assert not found.sound

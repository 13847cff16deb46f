"""Slips that take long to tell: each is told in so many steps, and a terminal sees how far it is.

The promise is ten seconds; the work is counted, since a clock tells of the machine. Bounds: what it takes
and up to half as much again, frozen, our own; on one core of 2 GHz these three took 4.5, 0.5 and 8 s.
"""

from inspect import unwrap
from pathlib import Path

import numpy as np
import pytest

from beltplan.geometry.vectors import norm
from beltplan.measure.measurements_file import read_measurements
from beltplan.measure.study import measuring_of
from tests.cli.running import process
from tests.for_each import mostly_long

MOST_STEPS = {"photo_two_slips": 72_000, "loose30": 5_700, "forty": 19_500}
"""Steps of least squares, one for every start that still moves."""
FAULTS = Path(__file__).parents[1] / "cases" / "faults"
COUNTED = """
import sys
from beltplan.measure import least_squares
step, counted = least_squares._step, []
def stepped(at, damping):
    counted.append(len(damping))
    return step(at, damping)
least_squares._step = stepped
from beltplan.cli.main import main
code = main(["measure", sys.argv[1]])
sys.stderr.write(str(sum(counted)))
sys.exit(code)
"""


def _forty() -> str:
    """Forty points, each taped to the next three; two tapes misread by an inch and by ten."""
    places = np.random.default_rng(4).uniform(-500.0, 500.0, (40, 2))
    read = {(i, j): float(norm(places[j] - places[i])) for i in range(40) for j in range(i + 1, min(i + 4, 40))}
    read[6, 9] += 25.4
    read[23, 25] += 254.0
    return "distances:\n" + "".join(f"  p{i} - p{j}: {value:.1f}\n" for (i, j), value in read.items())


@pytest.mark.parametrize("name", mostly_long(MOST_STEPS, 1))
def test_measuring_ends_in_so_many_steps(name: str, tmp_path: Path) -> None:
    path = FAULTS / f"{name}.yaml"
    if name == "forty":
        path = tmp_path / "forty.yaml"
        path.write_text(_forty())
    ran = process([str(path)], tmp_path, COUNTED, OPENBLAS_NUM_THREADS="1")
    assert ran.code == 1 and 0 < int(ran.err) < MOST_STEPS[name]
    assert "MISREAD" in ran.out or "SUSPECT" in ran.out


def test_what_takes_long_tells_how_far_it_is() -> None:
    shares: list[float] = []
    unwrap(measuring_of)(read_measurements(str(FAULTS / "slip_0.8.yaml")).measured, shares.append)
    assert len(shares) > 1 and shares == sorted(shares)
    assert shares[0] == 0.0 and shares[-1] < 1.0
    assert sum(share < 0.2 for share in shares) > 2, "placing the points"

"""Ghilani and Wolf, Adjustment Computations, the example of trilateration (14.1 in the 4th and 5th edition).

Three fixed stations, three distances to U, equal weights. Numbers from memory; scipy gives the same. They are feet
there: the length unit does not matter. The fixed stations are put in by offsets of next to no deviation.
"""

import pytest

from beltplan.measure.readings import Axis, Distance, Measured, Offset
from beltplan.measure.study import Measuring, measuring_of
from tests.cited.published import meets

STATIONS = {"A": (865.40, 4527.15), "B": (2432.55, 2047.25), "C": (2865.22, 27.15)}
DISTANCES = {"A": 6049.00, "B": 4736.83, "C": 5446.49}
U = (6861.32, 3727.82)
RESIDUALS = {"A": -0.037, "B": 0.077, "C": -0.047}
"""Adjusted less observed."""
EXACT, READ = 1e-6, 0.05


def _adjusted() -> Measuring:
    axes: tuple[Axis, Axis] = ("x", "y")
    fixed = tuple(
        Offset(name, "A", axis, STATIONS[name][i] - STATIONS["A"][i], EXACT)
        for name in ("B", "C")
        for i, axis in enumerate(axes)
    )
    distances = tuple(Distance(name, "U", value, READ) for name, value in DISTANCES.items())
    return measuring_of(Measured("trilateration", ("A", "B", "C", "U"), "A", distances, offsets=fixed))


def test_the_station() -> None:
    x, y = _adjusted().centre("U").at_mm
    meets([x + STATIONS["A"][0], y + STATIONS["A"][1]], U, 0.006)


def test_the_residuals() -> None:
    """Ours say how much was read too much: their sign turned round. Theirs are rounded to a thousandth."""
    found = {each.reading.words: -each.error for each in _adjusted().checked}
    meets([found[f"{name} - U"] for name in RESIDUALS], list(RESIDUALS.values()), 0.0006)


def test_one_degree_of_freedom() -> None:
    found = _adjusted()
    assert found.degrees == 1 and found.mirrors == () and found.undetermined == ()
    shares = {name: next(e.redundancy for e in found.checked if e.reading.words == f"{name} - U") for name in DISTANCES}
    assert sum(shares.values()) == pytest.approx(1.0, abs=1e-6)

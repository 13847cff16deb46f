"""Published lengths, wraps and spans of belts round circles, each with its source; the units are theirs.

A crossed belt is no drive of this program; it tests the inner tangent.
"""

import numpy as np
import pytest

from beltplan.drive.pulleys import Pulley, Slide
from beltplan.drive.route import Route, route_of
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import close_loop
from tests.cited.published import meets
from tests.drive.drives import layout, pulley
from tests.for_each import for_each

MATHALINO = "MATHalino, 'Length of belt connecting two pulleys', cm"
# Source; radii; distance; length, digits that are printed (None: exact); wraps in deg and digits.
OPEN = (
    ("ACT, form 71H, question 56, in", (5.0, 1.0), 8.0, 8 * 3**0.5 + 22 * np.pi / 3, None, (240.0, 120.0), 9),
    (MATHALINO, (36.0, 18.0), 137.0, 446.0, 0, (195.1, 164.9), 1),
    (
        "Shigley, solutions manual, problem 17-5, in",
        (3.0, 9.0),
        96.0,
        230.074,
        3,
        (np.degrees(3.016511), np.degrees(3.266674)),
        4,
    ),
    # 3.12 and 3.16 rad.
    ("UBC MECH 325, flat belts, in", (2.5, 5.0), 240.0, 503.6, 1, (178.8, 181.2), 1),
    ("Khurmi and Gupta, example 11.15, m", (0.12, 0.3), 3.0, 7.33, 2, (), 0),
)
MM = 25.4
"""Any unit: the geometry does not mind."""


def _on_slide(radii: tuple[float, float], least: float, most: float) -> Route:
    """The second pulley slides away from the first."""
    small, large = (2.0 * MM * radius for radius in radii)
    moved = Pulley("driven", "other", large, adjuster=Slide((MM * least, 0.0), (MM * most, 0.0), at=0.0))
    return route_of(layout([pulley("driver", 0, 0, small, role="crankshaft"), moved]))


@for_each(*OPEN)
def test_open_belt_at_either_end_of_a_window(
    source: str, radii: tuple[float, float], distance: float, length: float, digits: int | None,
    wraps: tuple[float, ...], wrap_digits: int,
) -> None:  # fmt: skip
    """A slide that begins or ends at the published distance: its window begins or ends at the published length."""
    scale = 1000.0 if distance < 5.0 else 1.0
    scaled = (radii[0] * scale, radii[1] * scale)
    short, long = (_on_slide(scaled, scale * distance * a, scale * distance * b) for a, b in ((1, 1.2), (0.9, 1)))
    assert short.window is not None and long.window is not None
    for found in (short.window.shortest / MM / scale, long.window.longest / MM / scale):
        meets(found, length, 1e-9 * length if digits is None else 0.5 * 10.0**-digits)
    found_deg = np.degrees(short.circuit.loop_at(0.0).wrap)
    if wraps:
        meets(found_deg, wraps, 0.5 * 10.0**-wrap_digits)


def test_spans_of_the_open_belt() -> None:
    """MATHalino: 135.81 cm."""
    meets(_on_slide((36.0, 18.0), 137.0, 150.0).circuit.loop_at(0.0).span / MM, [135.81] * 2, 0.005)


def test_crossed_belt() -> None:
    """MATHalino: wrap 226.43 deg on both, span 125.91, length 465.23 cm with their rounding; exact is 465.220."""
    loop = close_loop(np.array([[0.0, 0.0], [137.0, 0.0]]), np.array([36.0, 18.0]), np.array([1.0, -1.0]))
    meets(np.degrees(loop.wrap), [226.43, 226.43], 0.005)
    meets(loop.span, [125.91, 125.91], 0.005)
    meets(loop.length, 465.23, 0.015)


def test_shortest_wire_round_two_touching_poles() -> None:
    """AHSME 1955, problem 34: radii 3 and 9 in; length 12 sqrt 3 + 14 pi in, wraps 120 and 240 deg.

    The rims touch, so this is a test of the geometry alone.
    """
    loop = close_loop(np.array([[0.0, 0.0], [12.0, 0.0]]), np.array([3.0, 9.0]), np.ones(2))
    meets(loop.length, 12.0 * np.sqrt(3.0) + 14.0 * np.pi, 1e-12)
    meets(np.degrees(loop.wrap), [120.0, 240.0], 1e-9)
    assert is_sound(loop, 1.0)


def test_three_equal_pulleys() -> None:
    """perplexus.info, problem 10859: diameters 2 ft, centre distances 6, 9 and 13 ft; length 28 + 2 pi ft."""
    foot = 304.8
    # Third corner of the triangle by the law of cosines.
    x = (6.0**2 + 13.0**2 - 9.0**2) / (2.0 * 13.0)
    corners = [(0.0, 0.0), (x, (6.0**2 - x**2) ** 0.5), (13.0, 0.0)]
    route = route_of(layout([pulley(f"p{i}", foot * x, foot * y, 2.0 * foot) for i, (x, y) in enumerate(corners)]))
    meets(route.length_mm / foot, 28.0 + 2.0 * np.pi, 1e-10)
    np.testing.assert_allclose(np.sort(route.loop.span / foot), [6.0, 9.0, 13.0])


def test_effective_length_on_the_measuring_fixture() -> None:
    """ISO 9981, PK, from memory, medium confidence: L = U + 2 C on two pulleys of U = 300 mm of circumference."""
    d = 300.0 / np.pi
    route = route_of(layout([pulley("a", 0, 0, d, role="crankshaft"), pulley("b", 600, 0, d)]))
    assert route.length_mm == pytest.approx(1500.0, abs=1e-9)

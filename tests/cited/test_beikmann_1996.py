"""Beikmann, Perkins and Ulsoy, J. Vib. Acoust. 118(3), 1996: the prototypical three-pulley drive, one on the back.

Inputs from memory, high confidence for the geometry. Published: angles between the arm and the spans beside it, 135.79
and 178.74 deg; tones of spans, from memory: 51.75 and 103.50 Hz of the longest, 82.81 Hz of the next. Spans, wraps,
length and slope below are our own from these inputs, frozen; so are the modes of turning, of an independent model, from
inertias, spring and stiffness from memory.
"""

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.balance import Tensions
from beltplan.drive.mechanics import frequency_Hz
from beltplan.drive.modes import chain_of, modes_of, spans_N_per_m
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley
from beltplan.drive.route import route_of
from beltplan.geometry.loops import length_by_motion
from tests.cited.published import meets
from tests.drive.drives import layout, pulley, with_belt

PIVOT, TENSIONER = np.array([250.8, 63.5]), np.array([347.7, 57.15])
REACH = TENSIONER - PIVOT
ANGLE = float(np.arctan2(*REACH[::-1]))
SPRING = ArmSpring(1.0, 0.0, float(np.radians(54.37)))
"""54.37 N m per rad; its torque plays no part where the belt is not tight."""
ARM = Arm((250.8, 63.5), float(np.hypot(*REACH)), (ANGLE - 0.1, ANGLE + 0.1), at_rad=ANGLE, spring=SPRING)
FLAT = layout(
    [
        pulley("crank", 552.5, 55.6, 2 * 88.9, role="crankshaft"),
        Pulley("tensioner", "tensioner", 2 * 45.2, adjuster=ARM, belt_side="back"),
        pulley("driven", 0.0, 0.0, 2 * 26.97),
    ],
    rotation="counterclockwise",
)
# A belt without height over its line, as the paper's.
ROUTE = route_of(with_belt(FLAT, back_over_rim_mm=-0.5 * FLAT.belt.profile.rim_minus_line_mm))
LOOP = ROUTE.circuit.loop_at(ANGLE)
MASS_KG_PER_M = 0.1029
"""From memory; it falls out of the tones."""


def test_published_angles_between_arm_and_spans() -> None:
    """Between the arm and the belt's direction of travel on either side; to the printed digits, give or take one."""
    angles = np.degrees(np.arccos(LOOP.direction[:2] @ (REACH / np.hypot(*REACH))))
    meets(angles, [135.79, 178.74], 0.01)


def test_published_tones_of_the_spans() -> None:
    """By the tension of 51.75 Hz in the longest span; a higher tone of a string is the first one of its share."""
    tension = np.array(MASS_KG_PER_M * (51.75 * 2.0 * 0.001 * LOOP.span[2]) ** 2)
    lengths = np.array([LOOP.span[2] / 2.0, LOOP.span[1]])
    meets(frequency_Hz(tension, MASS_KG_PER_M, lengths), [103.50, 82.81], 0.02)


def test_frozen_spans_wraps_and_length() -> None:
    """Our own, frozen; not published."""
    np.testing.assert_allclose(LOOP.span, [154.799, 344.896, 551.826], atol=5e-4)
    np.testing.assert_allclose(np.degrees(LOOP.wrap), [221.125, 42.953, 181.828], atol=5e-4)
    assert float(LOOP.length) == pytest.approx(1514.092, abs=5e-4)


def test_frozen_slope_along_the_arm() -> None:
    """Our own, frozen; not published."""
    slope = length_by_motion(LOOP.direction[0], LOOP.direction[1], ARM.track.motion_at(np.array(ANGLE)))
    assert float(slope) == pytest.approx(-65.5785, abs=5e-5)


def _at(tension_N: float) -> Tensions:
    pull = np.full(3, tension_N)
    return Tensions(np.zeros(()), np.zeros(3), pull, np.zeros(()), np.asarray(ANGLE), LOOP, np.asarray(False))


INERTIA, ARM_KGM2, EA_N = np.array([0.07248, 0.000293, 0.000293]), 0.001165, 170e3


def test_frozen_modes_of_turning() -> None:
    """Our own, frozen, of an independent model: the crank free, spans alone, no tension in the arm's stiffness."""
    chain = chain_of(ROUTE.circuit, _at(0.0), LOOP.radius, INERTIA, ARM_KGM2, EA_N)
    np.testing.assert_allclose(modes_of(chain, crank_free=True).frequency_Hz, [0.0, 91.99, 249.62, 612.57], atol=0.01)


def test_frozen_modes_where_half_of_the_arcs_stretches_too() -> None:
    """Our own, frozen: the other choice of what stretches lowers the modes by 14 to 26 %."""
    chain = chain_of(ROUTE.circuit, _at(0.0), LOOP.radius, INERTIA, ARM_KGM2, EA_N)
    softer = replace(chain, span_N_per_m=spans_N_per_m(LOOP, EA_N, arcs=0.5))
    np.testing.assert_allclose(modes_of(softer, crank_free=True).frequency_Hz, [0.0, 79.35, 209.56, 452.13], atol=0.01)

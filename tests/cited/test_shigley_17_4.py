"""Shigley, Mechanical Engineering Design, example 17-4: B112 on sheaves of 7.4 and 11 in, 1750 rpm. From memory.

Published: 3390 ft/min, pitch length 113.8 in, centre distance 42.4 in, wrap 3.057 rad, exp(0.5123 x wrap) = 4.788.
"""

from dataclasses import replace

import numpy as np
from scipy.optimize import brentq

from beltplan.drive.belt import line_length_mm
from beltplan.drive.mechanics import friction_of, grip_utilisation
from beltplan.drive.pulleys import Pulley, Slide
from beltplan.drive.route import route_of
from tests.cited.published import meets
from tests.drive.drives import layout, pulley

INCH_MM = 25.4
LARGE = Pulley("pump", "other", 11.0 * INCH_MM, adjuster=Slide((38.0 * INCH_MM, 0.0), (46.0 * INCH_MM, 0.0)))
GIVEN = layout([pulley("motor", 0, 0, 7.4 * INCH_MM, role="crankshaft"), LARGE], "B")
ROUTE = route_of(replace(GIVEN, belt=replace(GIVEN.belt, length_mm=112.0 * INCH_MM, length_kind="inside")))


def test_speed_length_and_where_the_belt_puts_the_slide() -> None:
    meets(ROUTE.belt_speed_m_per_s(1750.0) / 0.3048 * 60.0, 3390.0, 5.0)
    meets(line_length_mm(ROUTE.layout.belt) / INCH_MM, 113.8, 0.051)
    assert ROUTE.judged is not None and ROUTE.judged.setting is not None
    meets(ROUTE.judged.setting / INCH_MM + 38.0, 42.4, 0.05)
    meets(ROUTE.loop.wrap[0], 3.057, 0.0005)


def test_ratio_of_tensions_at_slip() -> None:
    """Design friction of a V-belt: the ratio at which the whole grip of the small sheave is used."""
    friction = np.asarray(friction_of(ROUTE.layout.belt, ROUTE.pulleys[0], "design"))
    meets(friction, 0.5123, 5e-5)

    def over(ratio: float) -> float:
        return float(grip_utilisation(np.array(ratio), np.array(1.0), friction, ROUTE.loop.wrap[0])) - 1.0

    meets(brentq(over, 1.1, 20.0), 4.788, 0.0015)

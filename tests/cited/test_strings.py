"""Tones of strings in physics textbooks, from memory, arithmetic looked through: a still span is a string.

OpenStax University Physics, vol. 1, standing waves: 2 m, 0.006 kg/m, 19.6 N; published 14.29, 28.58, 42.87 Hz.
Young and Freedman, University Physics, a giant bass viol: 5 m, 40 g/m, 1600 N; 20.0 Hz.
The same, a rope in a mine: 80 m, 2 kg, 196 N; waves of 88.5 m/s.
Serway, a guitar's highest string: 640 mm sound at 330 Hz, 603 mm at 350 Hz.
"""

import numpy as np

from beltplan.drive.mechanics import frequency_Hz
from tests.cited.published import meets
from tests.for_each import for_each


@for_each(
    (19.6, 0.006, 2000.0, 2, 14.29), (19.6, 0.006, 1000.0, 2, 28.58), (1600.0, 0.040, 5000.0, 1, 20.0),
    (19.6, 0.006, 2000.0 / 3.0, 2, 42.87),
)  # fmt: skip
def test_first_tone(total_N: float, kg_per_m: float, span_mm: float, digits: int, tone_Hz: float) -> None:
    string = np.array(total_N), kg_per_m, np.array(span_mm)
    for found in (frequency_Hz(*string), frequency_Hz(*string, np.zeros(()))):
        meets(found, tone_Hz, 0.5 * 10.0**-digits)


def test_speed_of_waves() -> None:
    """There and back in the time of one swing; a belt as fast as its waves has no tone left."""
    rope = np.array(196.0), 2.0 / 80.0, np.array(80_000.0)
    meets(2.0 * 80.0 * frequency_Hz(*rope), 88.5, 0.05)
    assert float(frequency_Hz(*rope, np.array(88.6))) == 0.0 < float(frequency_Hz(*rope, np.array(88.4)))


def test_a_shorter_string_sounds_higher() -> None:
    # The tension that makes 640 mm sound at 330 Hz, for a gram a metre.
    tension = np.array(0.001 * (2.0 * 0.64 * 330.0) ** 2)
    meets(frequency_Hz(tension, 0.001, np.array(603.0)), 350.0, 0.5)

"""Measurement texts for the tests of reading. All numbers are invented; those of TAPED fit a 3-4-5 triangle."""

from pathlib import Path

import pytest

from beltplan.faults import Fault, LayoutFaults
from beltplan.measure.measurements_file import MeasurementsFile, read_measurements

TAPED = """\
title: Bench
units: mm
belt: 6PK
pulleys:
  crank: {role: crankshaft, diameter: 160}
  pump: {role: water_pump, rim_diameter: 120}
  fan: {role: fan, diameter: 100, belt_side: back}
  tight:
    role: tensioner
    diameter: 72
    belt_side: back
    arm: {length: 70, stops: [265, 300]}
route: [crank, tight, pump, fan]
marks: [bolt]
level: [crank, fan]
distances:
  crank - fan: 400
  crank - pump: 300
  pump - fan: 500
  crank - tight.pivot: 250
  pump - tight.pivot: 250
  bolt - crank: 100
  bolt - fan: 320
sides: {pump: above, tight.pivot: above left, bolt: below}
"""
"""A crank at the corner of a right angle, the fan to its right, the pump over it."""
FREE = """\
distances: {a - b: 400, a - c: 300, b - c: 500}
"""


def measured_of(folder: Path, text: str) -> MeasurementsFile:
    """The measurements of a text written to a file and read."""
    return read_measurements(written(folder, text))


def measuring_faults(folder: Path, text: str | bytes) -> tuple[Fault, ...]:
    """The faults of a text written to a file and read."""
    with pytest.raises(LayoutFaults) as caught:
        read_measurements(written(folder, text))
    assert caught.value.faults, "a refusal must name at least one fault"
    return caught.value.faults


def written(folder: Path, text: str | bytes) -> str:
    """Path of a new file with that text."""
    path = folder / "measured.yaml"
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    return str(path)

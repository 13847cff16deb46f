"""Layout texts for the tests of reading. All numbers are invented."""

from pathlib import Path

import pytest

from beltplan.faults import Fault, LayoutFaults
from beltplan.layoutfile.layout_file import read_layout

PLAIN = """\
belt: 6PK
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 190}
  pump: {role: water_pump, at: [-190, 300], diameter: 130}
  idler: {role: idler, at: [0, 245], diameter: 76, belt_side: back}
  tight:
    role: tensioner
    diameter: 72
    belt_side: back
    arm: {pivot: [-150, 215], length: 85, stops: [265, 300], at_deg: 285}
    spring: {torque_Nm: 26, at_deg: 285, rate_Nm_per_deg: 0.35}
route: [crank, tight, pump, idler]
"""
"""A sound layout in thirteen lines or fewer; the tests of faults change one thing in it."""

RAILCAR = """\
title: Track-maintenance railcar, straight-six repower
units: mm
rotation: clockwise
belt: 6PK
engine: {idle_rpm: 750, cruise_rpm: 1600, max_rpm: 2600, cylinders: 6}
pulleys:
  crank:      {role: crankshaft, at: [0, 0], diameter: 190, grooves: 6}
  pump:       {role: water_pump, at: [-190, 300], diameter: 130, turns: clockwise}
  generator:  {role: alternator, at: [235, 300], diameter: 60, max_rpm: 15000, turns: either}
  guide:      {role: idler, at: [0, 245], diameter: 76, belt_side: back}
  tensioner:
    role: tensioner
    diameter: 72
    belt_side: back
    arm: {pivot: [-150, 215], length: 85, stops: [265, 300], at_deg: 285}
    spring: {torque_Nm: 26, at_deg: 285, rate_Nm_per_deg: 0.35}
route: [crank, tensioner, pump, guide, generator]
obstacles:
  hose: {circle: {at: [260, 120], diameter: 30}}
  head: {polygon: [[-60, 330], [60, 330], [60, 380], [-60, 380]]}
stock: [6PK1685, 6PK1700]
limits: {min_wrap_deg: {alternator: 120, pump: 95}}
variants:
  high mount: {pulleys: {generator: {at: [210, 335]}}}
"""


def faults_of(folder: Path, text: str | bytes, variant: str | None = None) -> tuple[Fault, ...]:
    """The faults of a text written to a file and read."""
    path = written(folder, text)
    with pytest.raises(LayoutFaults) as caught:
        read_layout(path, variant)
    assert caught.value.faults, "a refusal must name at least one fault"
    return caught.value.faults


def written(folder: Path, text: str | bytes) -> str:
    """Path of a new file with that text."""
    path = folder / "layout.yaml"
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    return str(path)

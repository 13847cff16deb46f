"""A pulley as it was measured, and the radii that follow from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from beltplan.belts.adjusters import Adjuster
from beltplan.belts.belt import Belt
from beltplan.belts.loads import Load
from beltplan.belts.uncertainty import NOTHING_SAID, Uncertainty

Role = Literal[
    "crankshaft",
    "alternator",
    "steering_pump",
    "hydraulic_pump",
    "air_conditioning",
    "water_pump",
    "fan",
    "air_compressor",
    "vacuum_pump",
    "supercharger",
    "idler",
    "tensioner",
    "other",
]
Side = Literal["ribbed", "back"]
Turns = Literal["clockwise", "counterclockwise", "either"]
Reading = Literal["line", "rim"]

GUIDING_ROLES: tuple[Role, ...] = ("idler", "tensioner")
"""Roles that carry no load: they only guide the belt."""


@dataclass(frozen=True)
class Pulley:
    """One pulley as the layout gives it. Lengths in mm, whatever the file's units.

    diameter_mm with reading 'line' is the effective diameter (datum for classical sections) of a grooved pulley;
    with reading 'rim' it is what calipers read over the rib tips. On the back of the belt both are the outside
    diameter. at_mm is None where an adjuster carries the pulley. flange_mm: height of a side flange over the rim.
    side_open: either side of the belt may touch it, and belt_side is the one that is judged. optional: an idler that
    may be left out.
    movable_mm: how far its place (or that of its whole adjuster) may be moved. diameters_mm: those that can be had.
    """

    name: str
    role: Role
    diameter_mm: float
    reading: Reading = "line"
    at_mm: tuple[float, float] | None = None
    adjuster: Adjuster | None = None
    belt_side: Side = "ribbed"
    grooves: int | None = None
    plane_mm: float | None = None
    turns: Turns | None = None
    max_rpm: float | None = None
    min_rpm: float | None = None
    rated_A: float | None = None
    flange_mm: float | None = None
    drives: bool = False
    inertia_kgm2: float | None = None
    load: Load | None = None
    one_way: bool = False
    max_hub_load_N: float | None = None
    side_open: bool = False
    optional: bool = False
    uncertainty: Uncertainty = NOTHING_SAID
    movable_mm: float = 0.0
    diameters_mm: tuple[float, ...] = ()

    @property
    def on_back(self) -> bool:
        """Whether it touches the back of the belt, outside the loop."""
        return self.belt_side == "back"

    @property
    def guides_only(self) -> bool:
        """Whether it is an idler or tensioner, with no accessory behind it."""
        return self.role in GUIDING_ROLES

    def line_diameter_mm(self, belt: Belt) -> float:
        """Diameter at the effective (or datum) line of a grooved pulley; the outside diameter of a smooth one."""
        if self.on_back or self.reading == "line":
            return self.diameter_mm
        return self.diameter_mm - belt.profile.rim_minus_line_mm

    def rim_radius_mm(self, belt: Belt) -> float:
        """Radius of the metal: over the rib tips, or the smooth face."""
        rim = 0.0 if self.on_back else belt.profile.rim_minus_line_mm
        return (self.line_diameter_mm(belt) + rim) / 2.0

    def line_radius_mm(self, belt: Belt) -> float:
        """Radius at which the belt's effective (or datum) line runs round this pulley.

        Raises ValueError for a pulley on the back where the belt's back height is not known.
        """
        if not self.on_back:
            return self.line_diameter_mm(belt) / 2.0
        if belt.back_mm is None:
            raise ValueError(f"back height of profile {belt.profile.name} is not known")
        return self.diameter_mm / 2.0 + belt.back_mm

    def pitch_radius_mm(self, belt: Belt) -> float:
        """Radius at which the pulling cord runs: the one that speed and torque count on.

        Source: ISO 9981:2020, 5.4 (ratio on d_e + 2 b_e); on the back outside radius + depth of the cord,
        common practice, no source. A cord under the rim stays on a radius, however small the pulley (a finding).
        """
        if self.on_back:
            return self.diameter_mm / 2.0 + belt.cord_depth_mm
        line_mm = self.line_radius_mm(belt)
        return max(line_mm + belt.pitch_line_mm, line_mm / 2.0)

    def climb_mm(self, belt: Belt) -> float:
        """Height the belt must climb to be slipped over this pulley's rim: the ribs, and the flange where given."""
        return belt.profile.climb_mm + (self.flange_mm or 0.0)

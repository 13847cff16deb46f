"""What a belt profile is: the dimensions that turn a pulley's diameter into a belt length."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Family = Literal["ribbed", "automotive V", "classical V"]
LengthKind = Literal["effective", "inside", "datum", "outside"]


@dataclass(frozen=True, eq=False)
class Profile:
    """One belt profile. Every number's source stands in `sources` under the field's name.

    The line that is followed round the pulleys is the effective line for ribbed and automotive V-belts and the
    datum line for classical sections; below, 'line' means that one.

    pitch_mm: rib pitch (None for V-belts). width_mm: top width of a V-belt (None for ribbed belts).
    pitch_line_mm: pitch line over the line (ratio counts on diameter + 2 x this), under it where negative.
    rim_minus_line_mm: rim diameter less the line's diameter, nominal; rim_range_mm: its least and most.
    climb_mm: height the belt must climb to pass over a rim without side flanges.
    thickness_mm: whole height of the belt. back_mm: belt's back over the line (None: must be measured).
    cord_below_back_mm: depth of the pulling cord under the back.
    grooved_caution_mm, grooved_least_mm: diameters of a grooved pulley below which there is a caution, a problem.
    back_caution_mm, back_least_mm: the same for a smooth pulley on the back (None: not judged).
    top_speed_m_per_s: highest belt speed. wear_share: stretch and wear in life as a share of length.
    tolerance_least_mm, tolerance_share: length tolerance, the greater of the two, either way.
    inside_below_mm, outside_above_mm: inside and outside length against datum length (classical sections only).
    mass_kg_per_m, stiffness_N: per rib, or per V-belt; stiffness is force per unit strain (None: must be given).
    groove_angle_deg: angle of the groove, for wedge friction.
    measuring_force_N, hand_set_N, strand_limit_N: tension of one span, per rib or per V-belt, at which the
    belt's length is measured, to which a run-in belt is set by hand, and the most in running.
    """

    name: str
    family: Family
    pitch_mm: float | None
    width_mm: float | None
    pitch_line_mm: float
    rim_minus_line_mm: float
    rim_range_mm: tuple[float, float]
    climb_mm: float
    thickness_mm: float
    back_mm: float | None
    cord_below_back_mm: float
    grooved_caution_mm: float
    grooved_least_mm: float
    back_caution_mm: float | None
    back_least_mm: float | None
    top_speed_m_per_s: float
    wear_share: float
    tolerance_least_mm: float
    tolerance_share: float
    inside_below_mm: float | None
    outside_above_mm: float | None
    mass_kg_per_m: float | None
    stiffness_N: float | None
    groove_angle_deg: float
    measuring_force_N: float
    hand_set_N: float
    strand_limit_N: float
    sources: Mapping[str, str]

    @property
    def is_ribbed(self) -> bool:
        """Whether the belt is V-ribbed, so that its designation counts ribs."""
        return self.family == "ribbed"

    @property
    def is_classical(self) -> bool:
        """Whether a bare length number is ambiguous (inside, datum or outside)."""
        return self.family == "classical V"

    @property
    def is_automotive(self) -> bool:
        """Whether the line lies at the rim of a V-groove, with the cord under it."""
        return self.family == "automotive V"

    @property
    def line_name(self) -> LengthKind:
        """Name of the line whose length is computed."""
        return "datum" if self.is_classical else "effective"

"""The belt of a layout: a profile, its ribs, and what the user measured or was told of it."""

from __future__ import annotations

from dataclasses import dataclass

from beltplan.belts.profiles import LengthKind, Profile
from beltplan.geometry.vectors import TURN


@dataclass(frozen=True)
class Friction:
    """Friction of the belt as the user gives it; None where the default holds. Kept for the slip study."""

    dry: float | None = None
    wet: float | None = None
    design: float | None = None


@dataclass(frozen=True)
class Belt:
    """A belt as the layout names it; a length is there only when one belt is to be tested.

    ribs: number of ribs (1 for a V-belt). length_mm: number in the designation, of the kind `length_kind`.
    stretch_fit: least and most stretch of a belt that needs no adjuster, as shares of its length.
    back_over_rim_mm: how far the belt's back stands over the rib tips of a pulley, as measured.
    cord_below_back_mm, tolerance_mm, mass_kg_per_m, stiffness_N, friction: replace the profile's values.
    mass and stiffness are those of the whole belt, all ribs together.
    """

    profile: Profile
    ribs: int = 1
    length_mm: float | None = None
    length_kind: LengthKind = "effective"
    stretch_fit: tuple[float, float] | None = None
    back_over_rim_mm: float | None = None
    cord_below_back_mm: float | None = None
    tolerance_mm: float | None = None
    mass_kg_per_m: float | None = None
    stiffness_N: float | None = None
    friction: Friction = Friction()

    @property
    def back_mm(self) -> float | None:
        """Height of the back over the effective line; None where the profile has no default and none was measured.

        A measured `back_over_rim_mm` counts from the rim, which lies below the effective line of a ribbed pulley.
        """
        if self.back_over_rim_mm is None:
            return self.profile.back_mm
        return self.back_over_rim_mm + self.profile.rim_minus_line_mm / 2.0

    @property
    def cord_depth_mm(self) -> float:
        """Depth of the pulling cord under the belt's back."""
        if self.cord_below_back_mm is None:
            return self.profile.cord_below_back_mm
        return self.cord_below_back_mm

    @property
    def pitch_line_mm(self) -> float:
        """Pitch line over the followed line: of an automotive V-belt the cord, as deep as it lies under the back."""
        return self.outer_mm - self.cord_depth_mm if self.profile.is_automotive else self.profile.pitch_line_mm

    @property
    def outer_mm(self) -> float:
        """How far the belt stands over the followed line, for clearances.

        Where the back was neither given nor measured: what stands out of the groove, since the line lies near the rim;
        for classical sections what lies over the datum line.
        """
        if self.back_mm is not None:
            return self.back_mm
        above = self.profile.outside_above_mm
        return self.profile.thickness_mm - self.profile.climb_mm if above is None else above / TURN

    @property
    def inner_mm(self) -> float:
        """How far the belt reaches under the followed line, for clearances."""
        return max(0.0, self.profile.thickness_mm - self.outer_mm)

    @property
    def measuring_N(self) -> float:
        """Tension of one span at which the belt's length is measured, all ribs together."""
        return self.profile.measuring_force_N * self.ribs

    @property
    def hand_set_N(self) -> float:
        """Tension of one span to which a run-in belt is set where the layout says nothing, all ribs together."""
        return self.profile.hand_set_N * self.ribs

    @property
    def full_stiffness_N(self) -> float | None:
        """Force per unit strain, all ribs together; None where it is neither given nor known of the profile."""
        if self.stiffness_N or not self.profile.stiffness_N:
            return self.stiffness_N or None
        return self.profile.stiffness_N * self.ribs

    def tolerance_of(self, length_mm: float) -> float:
        """Length tolerance, either way, of a belt of that length; mm."""
        if self.tolerance_mm is not None:
            return self.tolerance_mm
        return max(self.profile.tolerance_least_mm, self.profile.tolerance_share * length_mm)

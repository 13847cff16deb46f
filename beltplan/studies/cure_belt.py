"""Cures by the belt alone: another stock belt, or one rib more."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from beltplan.belts.belt import Belt
from beltplan.belts.designations import MOST_RIBS, format_designation
from beltplan.belts.layout import Layout
from beltplan.belts.route import Route
from beltplan.studies.cure_change import Family


@dataclass(frozen=True)
class OtherBelt:
    """Name another belt of the stock. size: how far its length is from that of the belt judged before, mm."""

    belt: Belt
    size: float

    family: ClassVar[Family] = "belt"
    target: ClassVar[str] = "belt"

    @property
    def words(self) -> str:
        """What is to be done."""
        return f"take a {format_designation(self.belt)}"

    def applied(self, layout: Layout) -> Layout:
        """The layout with that belt named."""
        named = replace(layout.belt, length_mm=self.belt.length_mm, length_kind=self.belt.length_kind)
        return replace(layout, belt=named)


@dataclass(frozen=True)
class MoreRibs:
    """A belt of one rib more, of the same lengths; every grooved pulley must take it."""

    ribs: int
    profile: str

    family: ClassVar[Family] = "rib"
    target: ClassVar[str] = "belt"
    size: ClassVar[float] = 1.0

    @property
    def words(self) -> str:
        """What is to be done."""
        return f"take a belt of {self.ribs} ribs, {self.ribs}{self.profile}, where every pulley has the grooves"

    def applied(self, layout: Layout) -> Layout:
        """The layout with that belt; what was given for the whole old belt grows with the ribs."""
        belt, share = layout.belt, self.ribs / layout.belt.ribs
        grown = replace(
            belt,
            ribs=self.ribs,
            mass_kg_per_m=None if belt.mass_kg_per_m is None else round(belt.mass_kg_per_m * share, 5),
            stiffness_N=None if belt.stiffness_N is None else round(belt.stiffness_N * share, 1),
        )
        return replace(layout, belt=grown)


def other_belts(route: Route) -> tuple[OtherBelt, ...]:
    """Every other stock belt that goes on, so the adjuster's whole travel; the nearest length first."""
    own = route.layout.belt if route.judged is None else route.judged.belt
    others = [fitted for fitted in route.stock if fitted.belt != own]
    found = (OtherBelt(fitted.belt, round(abs(fitted.line_mm - route.length_mm), 3)) for fitted in others)
    return tuple(sorted(found, key=lambda change: change.size))


def more_ribs(layout: Layout) -> tuple[MoreRibs, ...]:
    """One rib more, where the belt is ribbed and the file does not list its own stock."""
    belt = layout.belt
    if not belt.profile.is_ribbed or layout.stock is not None or belt.ribs >= MOST_RIBS:
        return ()
    return (MoreRibs(belt.ribs + 1, belt.profile.name),)

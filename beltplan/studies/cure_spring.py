"""Cures by tension: a stronger spring, or a higher set tension."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from beltplan.belts.adjusters import Arm, ArmSpring, Slide, SlideSpring
from beltplan.belts.layout import Layout
from beltplan.belts.route import Route
from beltplan.studies.cure_change import Family
from beltplan.tension.mechanics import mechanics_of

FACTORS = (1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0)
STEP_N = 10.0


@dataclass(frozen=True)
class MoreTension:
    """A stronger spring, or a higher set tension. factor: on what there is; exactly one of the others is given."""

    target: str
    factor: float
    words: str
    spring: ArmSpring | SlideSpring | None = None
    tension_N: float | None = None

    family: ClassVar[Family] = "spring"

    @property
    def size(self) -> float:
        """How much more."""
        return round(self.factor - 1.0, 6)

    def applied(self, layout: Layout) -> Layout:
        """The layout with that spring or tension, wherever its adjuster stands by then."""
        pulley = layout.pulleys[self.target]
        adjuster = pulley.adjuster
        if isinstance(adjuster, Arm):
            swinging = self.spring if isinstance(self.spring, ArmSpring) else None
            adjuster = replace(adjuster, spring=swinging, tension_N=self.tension_N)
        elif isinstance(adjuster, Slide):
            sliding = self.spring if isinstance(self.spring, SlideSpring) else None
            adjuster = replace(adjuster, spring=sliding, tension_N=self.tension_N)
        return replace(layout, pulleys={**layout.pulleys, self.target: replace(pulley, adjuster=adjuster)})


def more_tension(route: Route) -> tuple[MoreTension, ...]:
    """Stronger springs up to twice the force, or set tensions up to twice and to what a strand stands."""
    pulley, mechanics = route.moving, mechanics_of(route.layout.belt)
    if pulley is None or pulley.adjuster is None or mechanics is None:
        return ()
    adjuster = pulley.adjuster
    if adjuster.spring is not None:
        return tuple(_sprung(pulley.name, adjuster.spring, factor) for factor in FACTORS)
    now = mechanics.hand_set_N if adjuster.tension_N is None else adjuster.tension_N
    wanted = [(factor, round(now * factor / STEP_N) * STEP_N) for factor in FACTORS]
    return tuple(
        MoreTension(pulley.name, factor, f"set the belt to {force:.0f} N, {now:.0f} before", tension_N=force)
        for factor, force in wanted
        if now < force <= mechanics.strand_limit_N
    )


def _sprung(name: str, spring: ArmSpring | SlideSpring, factor: float) -> MoreTension:
    if isinstance(spring, ArmSpring):
        torque, rate = round(factor * spring.torque_Nm, 3), round(factor * spring.rate_Nm_per_deg, 4)
        stronger: ArmSpring | SlideSpring = replace(spring, torque_Nm=torque, rate_Nm_per_deg=rate)
        words = f"{torque:g} Nm, {spring.torque_Nm:g} before"
    else:
        force, rate = round(factor * spring.force_N, 2), round(factor * spring.rate_N_per_mm, 4)
        stronger = replace(spring, force_N=force, rate_N_per_mm=rate)
        words = f"{force:g} N, {spring.force_N:g} before"
    return MoreTension(name, factor, f"fit a spring of {factor:g} times the force on {name}: {words}", stronger)

"""What a change of a layout is, and changes of the belt or its tension alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import ClassVar, Literal, Protocol, get_args

from beltplan.drive.belt import MOST_RIBS, Belt, format_designation, with_article
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import mechanics_of
from beltplan.drive.pulleys import Arm, ArmSpring, Slide, SlideSpring
from beltplan.drive.route import Route

Family = Literal["belt", "rib", "order", "spring", "diameter", "move", "idler"]
FAMILIES: tuple[Family, ...] = get_args(Family)
"""From the least disturbance to the greatest: bought belts, the way it is laid, parts exchanged, metal cut."""

MEANINGS: dict[Family, str] = {
    "belt": "another stock belt",
    "rib": "one rib more",
    "order": "another order round the loop",
    "spring": "more spring, or a higher set tension",
    "diameter": "another diameter of one pulley",
    "move": "one pulley moved, where movable_mm allows it",
    "idler": "one idler more",
}


class Change(Protocol):
    """One small change. target: what it concerns; size: how far it goes, to compare within its family alone."""

    @property
    def family(self) -> Family:
        """Which kind of change it is."""
        ...

    @property
    def target(self) -> str:
        """The pulley, span or part that it concerns."""
        ...

    @property
    def size(self) -> float:
        """How far it goes: the smaller, the less it disturbs."""
        ...

    @property
    def words(self) -> str:
        """What is to be done."""
        ...

    def applied(self, layout: Layout) -> Layout:
        """The layout with the change made."""
        ...


Changes = tuple[Change, ...]
Key = tuple[tuple[Family, str], ...]
Disturbance = tuple[int, tuple[int, ...], float]


def applied(changes: Changes, layout: Layout) -> Layout:
    """The layout with every change made, one after the other."""
    for change in changes:
        layout = change.applied(layout)
    return layout


def disturbance(changes: Changes) -> Disturbance:
    """What changes are ordered by: one before two, then the greatest family, then how far they go."""
    families = sorted((FAMILIES.index(change.family) for change in changes), reverse=True)
    return len(changes), tuple(families), sum(change.size for change in changes)


def key_of(changes: Changes) -> Key:
    """Families and targets: changes that share them differ only in how far they go."""
    return tuple(sorted((change.family, change.target) for change in changes))


def words_of(changes: Sequence[Change]) -> str:
    """All that is to be done, in one sentence."""
    return "; and ".join(change.words for change in changes)


# Cures by the belt alone: another stock belt, or one rib more.


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
        return f"take {with_article(format_designation(self.belt))}"

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


# Cures by tension: a stronger spring, or a higher set tension.

_FACTORS = (1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0)
_STEP_N = 10.0


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


def more_tension(route: Route, wanted: Sequence[float] = ()) -> tuple[MoreTension, ...]:
    """Stronger springs up to twice the force, or set tensions up to twice and to what a span stands.

    wanted: further factors, those that `check` tells.
    """
    pulley, mechanics = route.moving, mechanics_of(route.layout.belt)
    if pulley is None or pulley.adjuster is None or mechanics is None:
        return ()
    adjuster, factors = pulley.adjuster, sorted({*_FACTORS, *(factor for factor in wanted if factor > 1.0)})
    if adjuster.spring is not None:
        return tuple(_sprung(pulley.name, adjuster.spring, factor) for factor in factors)
    now = mechanics.hand_set_N if adjuster.tension_N is None else adjuster.tension_N
    # Rounded up, so that a factor that `check` tells is enough; the rounding keeps what is exact.
    forces = {ceil(round(now * factor / _STEP_N, 6)) * _STEP_N: factor for factor in factors}
    return tuple(
        MoreTension(pulley.name, factor, f"set the belt to {force:.0f} N, {now:.0f} before", tension_N=force)
        for force, factor in forces.items()
        if now < force <= mechanics.span_limit_N
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

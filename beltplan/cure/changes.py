"""What a change of a layout is, and changes of the belt or its tension alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import ceil
from typing import Any, Literal, get_args

from beltplan.checks.alignment import shim_steps, shims
from beltplan.checks.every_check import SHAKEN
from beltplan.checks.limits import Finding
from beltplan.drive.belt import MM_PER_INCH, MOST_RIBS, Belt, format_designation, with_article
from beltplan.drive.inertias import could_be_one_way
from beltplan.drive.layout import Layout, Units
from beltplan.drive.mechanics import mechanics_of
from beltplan.drive.pulleys import ArmSpring, SlideSpring
from beltplan.drive.route import Route
from beltplan.report.screen import tape_words

Family = Literal["belt", "rib", "order", "shim", "spring", "one_way", "diameter", "move", "idler"]
FAMILIES: tuple[Family, ...] = get_args(Family)
"""From the least disturbance to the greatest: bought belts, the way it is laid, parts exchanged, metal cut."""
GRID_MM: dict[Units, float] = {"mm": 1.0, "in": MM_PER_INCH / 16.0}
"""What is proposed can be bought, turned and marked out: whole mm, or 1/16 in where the user measures in inches."""

MEANINGS: dict[str, str] = {
    "belt": "another stock belt",
    "rib": "one rib more",
    "order": "another order round the loop",
    "shim": "pulleys moved fore and aft into line",
    "spring": "another spring, or another set tension",
    "one_way": "a one-way pulley on an alternator",
    "diameter": "another diameter of one pulley",
    "move": "one pulley moved, where movable_mm allows it",
    "idler": "one idler more",
}


@dataclass(frozen=True)
class Change:
    """One small change. target: the pulley, span or part that it concerns; size: how far it goes, to compare within its
    family alone, below 0 for less spring or tension; words: what is to be done; applied: gives a layout with it made;
    names: the pulleys without which it cannot be made.
    """

    family: Family
    target: str
    size: float
    words: str
    applied: Callable[[Layout], Layout] = field(compare=False, repr=False)
    names: frozenset[str] = field(default=frozenset(), compare=False, repr=False)


Changes = tuple[Change, ...]
Key = tuple[tuple[Family, str], ...]
Disturbance = tuple[int, tuple[int, ...], float]


def with_own(pulley: str, **given: Any) -> Callable[[Layout], Layout]:
    """What gives a layout one of whose pulleys has these values of its own."""
    return lambda layout: layout.with_pulley(replace(layout.pulleys[pulley], **given))


def applied(changes: Changes, layout: Layout) -> Layout:
    for change in changes:
        layout = change.applied(layout)
    return layout


def disturbance(changes: Changes) -> Disturbance:
    """What changes are ordered by: one before two, then the greatest family, then how far they go."""
    families = sorted((FAMILIES.index(change.family) for change in changes), reverse=True)
    return len(changes), tuple(families), sum(abs(change.size) for change in changes)


def key_of(changes: Changes) -> Key:
    """Changes that share it differ only in how far they go."""
    return tuple(sorted((change.family, change.target) for change in changes))


def bought(diameter_mm: float, units: Units) -> str:
    """A diameter as it is bought: where the layout is in inches, in mm as well."""
    in_mm = tape_words(diameter_mm, False)
    return in_mm if units == "mm" else f"{tape_words(diameter_mm, True)} ({in_mm})"


def words_of(changes: Sequence[Change]) -> str:
    return "; and ".join(change.words for change in changes)


# Cures by the belt alone: another stock belt, or one rib more.


def other_belt(belt: Belt, away_mm: float) -> Change:
    """Name another belt of the stock. away_mm: how far its length is from that of the belt judged before."""

    def made(layout: Layout) -> Layout:
        named = replace(layout.belt, length_mm=belt.length_mm, length_kind=belt.length_kind)
        return replace(layout, belt=named)

    return Change("belt", "belt", round(away_mm, 3), f"take {with_article(format_designation(belt))}", made)


def belt_of_ribs(ribs: int, profile: str) -> Change:
    """A belt of more ribs, of the same lengths; what was given for the whole old belt grows with them."""

    def made(layout: Layout) -> Layout:
        belt, share = layout.belt, ribs / layout.belt.ribs
        mass = None if belt.mass_kg_per_m is None else round(belt.mass_kg_per_m * share, 5)
        stiffness = None if belt.stiffness_N is None else round(belt.stiffness_N * share, 1)
        wider = replace(belt, ribs=ribs, mass_kg_per_m=mass, stiffness_N=stiffness)
        # The first groove stays where it is, so the belt's middle goes toward the viewer.
        forward = 0.5 * (ribs - belt.ribs) * (belt.profile.pitch_mm or 0.0)
        pulleys = {
            name: replace(p, plane_mm=p.plane_mm + forward) if p.plane_by_grooves and p.plane_mm is not None else p
            for name, p in layout.pulleys.items()
        }
        return replace(layout, belt=wider, pulleys=pulleys)

    words = f"take a belt of {ribs} ribs, {ribs}{profile}, where every pulley has the grooves"
    return Change("rib", "belt", 1.0, words, made)


def other_belts(route: Route) -> tuple[Change, ...]:
    """Every other stock belt that can be fitted, so the adjuster's whole travel; the nearest length first."""
    others = [fitted for fitted in route.stock if fitted.belt != route.belt]
    found = (other_belt(fitted.belt, abs(fitted.line_mm - route.length_mm)) for fitted in others)
    return tuple(sorted(found, key=lambda change: change.size))


def more_ribs(layout: Layout) -> tuple[Change, ...]:
    """One rib more, where the belt is ribbed and the file does not list its own stock."""
    belt = layout.belt
    if not belt.profile.is_ribbed or layout.stock is not None or belt.ribs >= MOST_RIBS:
        return ()
    return (belt_of_ribs(belt.ribs + 1, belt.profile.name),)


# Cures by shims: pulleys moved fore and aft into line.


def shimmed(route: Route) -> tuple[Change, ...]:
    """The pulleys that `check` tells to move fore and aft, moved as it is told; none where a plane is not measured."""
    offsets = {name: round(by, 1) for name, by in shims(route).items()}
    if not offsets or any(route.layout.pulleys[name].plane_mm is None for name in offsets):
        return ()

    def made(layout: Layout) -> Layout:
        for name, by in offsets.items():
            own = layout.pulleys[name]
            plane = round((own.plane_mm or 0.0) + by, 6)
            layout = layout.with_pulley(replace(own, plane_mm=plane, plane_by_grooves=False))
        return layout

    far, words = sum(map(abs, offsets.values())), shim_steps(route, shims(route))
    return (Change("shim", ", ".join(offsets), far, words, made, frozenset(offsets)),)


# Cures by what a shaft carries: a one-way pulley.


def one_way(pulley: str) -> Change:
    words, made = f"fit a one-way pulley on {pulley}", with_own(pulley, one_way=True)
    return Change("one_way", pulley, 1.0, words, made, frozenset({pulley}))


def one_ways(route: Route, found: Sequence[Finding]) -> tuple[Change, ...]:
    """One for each alternator, where the firing shakes the drive; others have none: common practice, no source."""
    if not any(finding.check in SHAKEN and finding.severity != "note" for finding in found):
        return ()
    able = (pulley.name for pulley in route.pulleys if pulley.role == "alternator" and could_be_one_way(pulley))
    return tuple(map(one_way, able))


# Cures by tension: another spring, or another set tension.

_FACTORS = (1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0)
_BY_HAND = (1.05, 1.15, 1.25, 1.35, 1.45)
"""Further factors of a tension that is set by hand: a wrench sets any, so that enough is found before too much."""
_LESS = (0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.65, 0.6, 0.55, 0.5)
_STEP_N = 10.0
_SPRING_STEP_Nm, _SPRING_STEP_N = 0.1, 1.0
"""Springs are ordered in such steps: the next one up is judged, with a rate that goes alike."""


def tensioned(pulley: str, factor: float, words: str, **given: Any) -> Change:
    """Another spring, or another set tension, wherever its adjuster stands by then.

    factor: on what there is. given: the `spring`, of the same kind as there is, or the `tension_N`.
    """

    def made(layout: Layout) -> Layout:
        own = layout.pulleys[pulley]
        return layout.with_pulley(replace(own, adjuster=own.adjuster and replace(own.adjuster, **given)))

    return Change("spring", pulley, round(factor - 1.0, 6), words, made, frozenset({pulley}))


def other_tensions(route: Route, wanted: Sequence[float] = (), pulled: bool = False) -> tuple[Change, ...]:
    """Other springs, up to twice the force, or set tensions, up to twice and to what a span stands.

    wanted: further factors, those that `check` tells. pulled: something is pulled too hard, so also less, to a half.
    """
    pulley, mechanics = route.moving, mechanics_of(route.layout.belt, route.circuit.adjuster)
    if pulley is None or pulley.adjuster is None or mechanics is None:
        return ()
    more = {*_FACTORS, *(factor for factor in wanted if factor > 1.0)}
    adjuster, factors = pulley.adjuster, [*(_LESS if pulled else ()), *sorted(more)]
    if adjuster.spring is not None:
        springs = (_sprung(pulley.name, adjuster.spring, factor) for factor in factors)
        return tuple(dict.fromkeys(each for each in springs if each.size))  # the next up may be that which there is
    now = mechanics.hand_set_N if adjuster.tension_N is None else adjuster.tension_N
    forces = dict.fromkeys(_next_up(now * factor, _STEP_N) for factor in sorted({*factors, *_BY_HAND}))
    return tuple(
        tensioned(pulley.name, force / now, f"set the belt to {force:.0f} N (now {now:.0f} N)", tension_N=force)
        for force in forces
        if now != force <= mechanics.span_limit_N
    )


def _next_up(value: float, step: float) -> float:
    """Rounded up, so that a factor that `check` tells is enough; the rounding keeps what is exact."""
    return round(ceil(round(value / step, 6)) * step, 6)


def _sprung(name: str, spring: ArmSpring | SlideSpring, wanted: float) -> Change:
    """The next spring up that can be ordered, with a rate that goes alike."""
    if isinstance(spring, ArmSpring):
        force, rate, unit, step = "torque_Nm", "rate_Nm_per_deg", "Nm", _SPRING_STEP_Nm
    else:
        force, rate, unit, step = "force_N", "rate_N_per_mm", "N", _SPRING_STEP_N
    before = getattr(spring, force)
    given = _next_up(wanted * before, step)
    factor = given / before if before else wanted
    other: dict[str, Any] = {force: given, rate: round(factor * getattr(spring, rate), 4)}
    other |= {} if spring.readings is None else {"readings": spring.readings.times(factor)}
    told = f"fit a spring of {factor:.3g} times the force on {name}: {given:g} {unit} (now {before:.4g} {unit})"
    return tensioned(name, factor, told, spring=replace(spring, **other), tension_N=None)

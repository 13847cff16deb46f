"""The tension of every span, engine stopped: what to set by hand or what a spring gives, and how it is found out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.checks.plan import Plan, SetTension
from beltplan.drive.belt import LBF_N
from beltplan.drive.fit import is_sprung
from beltplan.drive.mechanics import deflection_mm, frequency_at_rest_Hz, source_of
from beltplan.drive.operation import HEAT_SOURCE, heat_N, set_N, tension_band, why_not_judged
from beltplan.drive.route import Route
from beltplan.geometry.loops import Loop

USUAL_PRESS_N = 98.0
LEAST_FOR_THE_EAR_MM = 150.0
"""A shorter span is so stiff that its tone says little of its tension."""
MOST_PRESSED = 0.15
"""Share of a span by which it may give: beyond it the law of a string that is pressed a little is off by 5 %."""
_GENTLE = 16.0
"""A press of a sixteenth of the tension moves a span by one part in 64 of its length: common practice, no source."""


@dataclass(frozen=True, eq=False)
class Level:
    """A tension of every span, engine stopped, and what shows it at the longest span.

    rib_N: for each rib, None for a V-belt. deflection_mm: under the press, None where that is too strong for the span.
    hertz: its tone, None where the belt's mass is not known or the span is too short for the ear. source: where the
    tension comes from.
    """

    name: str
    each_N: float
    rib_N: float | None
    deflection_mm: float | None
    hertz: float | None
    source: str

    @property
    def each_lbf(self) -> float:
        return self.each_N / LBF_N


@dataclass(frozen=True, eq=False)
class Tensioning:
    """The tensions of a drive, and the longest span, at which they are found out.

    levels: set by hand, those of a new belt and of a run-in one, and that under which it is set again; else what the
    spring or the belt's stretch gives, and under which a spring is tired. settled: of a drive that is not set by hand.
    short: the spans that are too short for the ear, with their lengths. press_N: across the span; gentle_N: one that
    suits it, where that is too strong. stretch_known: whether the belt's stretch as it is pressed is counted.
    """

    levels: tuple[Level, ...]
    settled: SetTension | None
    span: tuple[str, str]
    span_mm: float
    short: tuple[tuple[str, str, float], ...]
    press_N: float
    gentle_N: float | None
    stretch_known: bool


def tensioning_of(still: Plan, press_N: float) -> Tensioning | str:
    """The tensions of a drive at rest, or in words why they are not known."""
    route, tension = still.route, still.tension
    if route.circuit.adjuster is not None and not is_sprung(route.circuit):
        if route.named_outside:
            return "the named belt does not fit"
        return _found_out(route, route.loop, _by_hand(route), None, press_N)
    if still.operation is None or tension is None:
        return str(why_not_judged(route))
    if not tension.each_N > 0.0:
        return "the spring gives no push where the belt puts it: check its torque (or force) and its rate"
    return _found_out(route, still.operation.stopped.loop, _as_it_is(still, tension), tension, press_N)


_Named = tuple[str, float, str]
"""A tension of every span: its name, N, its source."""


def _by_hand(route: Route) -> list[_Named]:
    """The published steps; a tension of the layout's own is that of a run-in belt, and the others in its proportion."""
    belt, own = route.layout.belt, set_N(route.layout, route.circuit)
    steps = (("new belt", "hand_new_N"), ("run in", "hand_set_N"), ("set again below", "hand_again_N"))
    given = (
        route.moving is not None and route.moving.adjuster is not None and route.moving.adjuster.tension_N is not None
    )
    told = []
    for name, key in steps:
        newton, source = own * getattr(belt.profile, key) / belt.profile.hand_set_N, source_of(belt, key)
        if given:
            by = f"in the proportion of a run-in belt to `tension_N`: {source}"
            source = "`tension_N` of the layout file" if key == "hand_set_N" else by
        told.append((name, newton, source))
    return told + _by_heat(route, "run in" if given else "new belt")


def _by_heat(route: Route, tightest: str) -> list[_Named]:
    """The end of the tension to which heat or cold brings a belt that was set at another temperature."""
    heat, band = heat_N(route.layout, route.circuit), tension_band(route.layout, route.circuit)
    if not heat or band is None:
        return []
    name, factor = (f"hot, {tightest}", band[1]) if heat > 0.0 else ("cold, as low as it gets", band[0])
    return [(name, factor * set_N(route.layout, route.circuit), HEAT_SOURCE)]


def _as_it_is(still: Plan, tension: SetTension) -> list[_Named]:
    if not is_sprung(still.route.circuit):
        return [("by its own stretch", tension.each_N, "computed from the belt's length and stiffness")]
    if tension.end is not None:
        return [("at that end", tension.each_N, "computed from the belt's stretch, not from the spring")]
    gives = [("by its spring", tension.each_N, "computed balance of spring and belt stretch")]
    if tension.band_N is not None:
        gives.append(("tired below", tension.band_N[0], tension.friction[1]))
    return gives


def _found_out(
    route: Route, loop: Loop, tensions: list[_Named], settled: SetTension | None, press_N: float
) -> Tensioning:
    belt, index = route.layout.belt, int(np.argmax(loop.span))
    lengths = loop.span.tolist()
    ends = [(start.name, end.name) for start, end in route.spans]
    # A belt that hangs slack has no tension to be found out.
    tensions = [told for told in tensions if told[1] > 0.0]
    each = np.array([newton for _, newton, _ in tensions])
    # The whole loop slides over its pulleys and shares the stretch; a spring keeps the tension.
    kept = is_sprung(route.circuit) and (settled is None or settled.end is None)
    stretch = 0.0 if kept else (belt.full_stiffness_N or 0.0) * lengths[index] / float(loop.length)
    gives = deflection_mm(np.asarray(press_N), each, np.asarray(lengths[index]), np.asarray(stretch))
    mass = belt.mass_kg_per_m or (belt.profile.mass_kg_per_m or 0.0) * belt.ribs
    heard = mass > 0.0 and lengths[index] >= LEAST_FOR_THE_EAR_MM
    tones = frequency_at_rest_Hz(each, mass, np.asarray(lengths[index])) if heard else [None] * len(each)
    too_strong = bool((gives > MOST_PRESSED * lengths[index]).any())
    levels = tuple(
        Level(
            *(name, newton, newton / belt.ribs if belt.profile.is_ribbed else None),
            *(None if too_strong else float(give), None if tone is None else float(tone), source),
        )
        for (name, newton, source), give, tone in zip(tensions, gives, tones, strict=True)
    )
    short = tuple((*e, mm) for e, mm in zip(ends, lengths, strict=True) if mm < LEAST_FOR_THE_EAR_MM)
    gentle = float(f"{each.min() / _GENTLE:.1g}") if too_strong else None
    known = is_sprung(route.circuit) or belt.full_stiffness_N is not None
    return Tensioning(levels, settled, ends[index], lengths[index], short, press_N, gentle, known)

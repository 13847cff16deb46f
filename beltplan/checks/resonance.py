"""Does the engine shake a span at its own frequency while it idles?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from beltplan.checks.limits import Check, Finding, demanded
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import frequency_Hz
from beltplan.drive.operation import Operation
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Pulley, ratios_of
from beltplan.geometry.vectors import Floats

_MOVING_STRING = "span as a moving string (Sack 1954); width of the band " + PRACTICE


class _NearestOrder(NamedTuple):
    """What comes nearest at idle to a span's own frequency: how far off it is, and how near it may come, as shares."""

    span: int
    own_Hz: float
    order_Hz: float
    apart: float
    band: float
    words: str


def nearest_orders(operation: Operation) -> Iterator[_NearestOrder]:
    """Of every span with a frequency of its own, in the duty in which the firing or a turning pulley comes nearest."""
    route = operation.route
    shaking = sorted(exciting_Hz(route.layout, route.pulleys, float(operation.driver_rpm[0])).items())
    for i, own_Hz in enumerate(idle_frequencies_Hz(operation).T):
        apart = apart_from_orders(own_Hz, np.array([order for _, order in shaking]))
        duty, number = np.unravel_index(int(apart.argmin()), apart.shape)
        if np.isfinite(apart[duty, number]):
            (name, order), own = shaking[number], float(own_Hz[duty])
            band = resonance_band(route.layout, route.circuit.ends(i))
            words = f"at idle its own frequency is {own:.0f} Hz, and {name} at {order:.0f} Hz"
            yield _NearestOrder(i, own, order, float(apart[duty, number]), band, words)


def _resonance_findings(operation: Operation) -> list[Finding]:
    """Spans that the firing order or a turning pulley may shake at idle, one finding a span: the nearest order."""
    found, advice = [], "another tension, or an idler that shortens it"
    for each in nearest_orders(operation):
        if each.apart < each.band:
            wrong = f"{each.words}, less than {100 * each.band:.0f} % apart: it may flap"
            numbers = (100.0 * each.apart, 100.0 * each.band, "%", each.apart / each.band - 1.0)
            name = operation.route.circuit.span_name(each.span)
            found.append(RESONANCE.find("caution", name, wrong, advice, numbers=numbers))
    return found


def resonance_band(layout: Layout, ends: tuple[str, ...]) -> float:
    """How near to an order, as a share of its own frequency, the span between two pulleys may be shaken."""
    return demanded(layout, "idle_band_percent", ends).limit / 100.0


def apart_from_orders(own_Hz: Floats, orders_Hz: Floats) -> Floats:
    """How far orders are from spans' own frequencies, as a share of these, (...) -> (..., orders); endlessly from a
    span that has none.
    """
    own = np.asarray(own_Hz)[..., None]
    return np.where(own > 0.0, np.abs(orders_Hz / np.where(own > 0.0, own, 1.0) - 1.0), np.inf)


def frequencies_Hz(operation: Operation, speeds: slice = slice(None)) -> Floats:
    """First natural frequency of every span as it runs in every duty; (d, s, n) Hz."""
    running, mass = operation.running, operation.mechanics.mass_kg_per_m
    speed = np.sqrt(running.centrifugal_N[:, speeds] / mass)[..., None]
    return frequency_Hz(running.total_N[:, speeds], mass, running.loop.span[:, speeds], speed)


def idle_frequencies_Hz(operation: Operation) -> Floats:
    """The same at idle; (d, n) Hz."""
    return frequencies_Hz(operation, slice(0, 1))[:, 0]


def exciting_Hz(layout: Layout, pulleys: tuple[Pulley, ...], idle_rpm: float) -> dict[str, float]:
    """What shakes the belt at idle, by what happens: the engine fires, and each pulley turns; Hz."""
    turns, firings = idle_rpm / 60.0, layout.engine.firings
    orders = {"the engine fires": turns * firings} if firings else {}
    ratios = zip(pulleys, ratios_of(layout.belt, pulleys), strict=True)
    return orders | {f"{pulley.name} turns": turns * float(ratio) for pulley, ratio in ratios}


RESONANCE = Check(
    "resonance",
    "a span whose own frequency meets the firing order or a pulley's turning in the idle band",
    of_operation=_resonance_findings,
    limits=("idle_band_percent",),
    source=_MOVING_STRING,
)

"""A span shaken at its own frequency while the engine idles. String formula; firing order of a four-stroke."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from beltplan.checks.clearance import SHORT_SPAN, minimum_span
from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.checks.resonance import RESONANCE, apart_from_orders, exciting_Hz, idle_frequencies_Hz
from beltplan.drive.layout import Engine
from beltplan.drive.mechanics import frequency_Hz
from beltplan.drive.operation import Operation, operation_of, tones_Hz
from beltplan.drive.route import Route, route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.check_json import result_text
from tests.checks.drives import two
from tests.drive.loaded_drives import on_slide, operation, seven
from tests.for_each import for_each
from tests.report.results import text_of

IDLE = 750.0


def _idling(tension_N: float, cylinders: int | None = 4, **more: Any) -> list[Finding]:
    engine = Engine(idle_rpm=IDLE, max_rpm=5500.0, cylinders=cylinders)
    return RESONANCE.of_operation(operation(on_slide(tension_N=tension_N, loads={}, engine=engine, **more)))


def _exciting_Hz(run: Operation) -> dict[str, float]:
    return exciting_Hz(run.route.layout, run.route.pulleys, float(run.driver_rpm[0]))


def test_own_frequency_of_a_moving_span() -> None:
    """(w^2 - c^2) / (2 l w), Sack 1954; 0.105 kg/m, belt at the pitch radius of 87 mm."""
    run = operation(on_slide(tension_N=600.0, loads={}))
    wave, speed = np.sqrt(600.0 / 0.105), IDLE / 60.0 * 2.0 * np.pi * 0.087
    expected = (wave**2 - speed**2) / (2.0 * run.stopped.loop.span / 1000.0 * wave)
    np.testing.assert_allclose(idle_frequencies_Hz(run)[0], expected, rtol=1e-9)


def test_at_idle_it_is_the_same_however_fast_the_engine_runs_else() -> None:
    """A law, on a soft spring that settles elsewhere at every speed."""
    slow, fast = (operation(seven(engine=Engine(idle_rpm=IDLE, max_rpm=rpm))) for rpm in (1500.0, 5500.0))
    assert np.ptp(fast.running.loop.span, axis=1).max() > 0.01
    np.testing.assert_allclose(idle_frequencies_Hz(slow), idle_frequencies_Hz(fast), rtol=1e-9)


def test_what_shakes_the_belt() -> None:
    """Two firings a turn of a four-stroke with four cylinders: 25 Hz at 750 rpm; generator (170 + 4) / (60 + 4) x."""
    given = on_slide(tension_N=600.0, loads={}, engine=Engine(idle_rpm=IDLE, max_rpm=5500.0, cylinders=4))
    orders = _exciting_Hz(operation(given))
    assert orders["the engine fires"] == pytest.approx(25.0)
    assert orders["crank turns"] == pytest.approx(12.5)
    assert orders["generator turns"] == pytest.approx(12.5 * 174.0 / 64.0)
    without = operation(replace(given, engine=replace(given.engine, cylinders=None)))
    assert "the engine fires" not in _exciting_Hz(without)


def _tension_for_N(apart: float) -> float:
    """Tension at which sixteen cylinders fire that share above the own frequency of the last span; 0.105 kg/m.

    firing = own (1 + apart); own = (w^2 - c^2) / (2 l w) solved for w. They fire well above every pulley's turning.
    """
    run = operation(on_slide(tension_N=600.0, loads={}))
    last, speed = float(run.stopped.loop.span[6]) / 1000.0, IDLE / 60.0 * 2.0 * np.pi * 0.087
    own = IDLE / 60.0 * 8.0 / (1.0 + apart)
    wave = own * last + np.sqrt((own * last) ** 2 + speed**2)
    return float(0.105 * wave**2)


def _last_span(found: list[Finding]) -> list[Finding]:
    return [f for f in found if f.subject == "cooling to crank" and "at 100 Hz" in f.message]


@for_each((0.09, True), (0.11, False), (-0.09, True), (-0.11, False))
def test_edges_of_the_band(apart: float, near: bool) -> None:
    """10 % either side, common practice, no source."""
    assert bool(_last_span(_idling(_tension_for_N(apart), cylinders=16))) == near


@for_each(0.09, -0.04, 0.0)
@for_each(10.0, 25.0)
def test_value_limit_and_margin_are_shares_of_the_own_frequency(apart: float, band: float) -> None:
    """How far the firing is off, in % of the own frequency, against the band; the margin is what lacks of the band."""
    limits = {"idle_band_percent": {"": band}}
    (finding,) = _last_span(_idling(_tension_for_N(apart), cylinders=16, limits=limits))
    assert (finding.check, finding.severity, finding.unit) == (RESONANCE.name, "caution", "%")
    assert finding.value == pytest.approx(100.0 * abs(apart), abs=1e-6)
    assert finding.limit == pytest.approx(band)
    assert finding.margin == pytest.approx((100.0 * abs(apart) - band) / band, abs=1e-7)
    assert f"frequency is {100.0 / (1.0 + apart):.0f} Hz, and the engine fires at 100 Hz" in finding.message
    assert f"less than {band:.0f} % apart" in finding.message


def test_of_several_the_nearest_is_told() -> None:
    """A band so wide that all is inside: for every span the one whose frequency is nearest, counted by hand."""
    found = _idling(600.0, limits={"idle_band_percent": {"": 1000.0}})
    engine = Engine(idle_rpm=IDLE, max_rpm=5500.0, cylinders=4)
    run = operation(on_slide(tension_N=600.0, loads={}, engine=engine))
    own, shaking = idle_frequencies_Hz(run)[0], np.array(list(_exciting_Hz(run).values()))
    nearest = [100.0 * np.abs(shaking / each - 1.0).min() for each in own]
    assert [f.subject for f in found] == [run.route.circuit.span_name(i) for i in range(7)]
    assert [f.value for f in found] == pytest.approx(nearest)


def test_own_band_holds() -> None:
    assert _idling(600.0, limits={"idle_band_percent": {"": 0.001}}) == []
    assert len(_idling(600.0, limits={"idle_band_percent": {"": 1000.0}})) == 7


def test_how_far_orders_are_from_a_span_is_a_share_of_its_own_frequency() -> None:
    """By hand, also under 1 Hz; endlessly far from a span that has none."""
    apart = apart_from_orders(np.array([0.5, 40.0, 0.0]), np.array([0.6, 30.0]))
    np.testing.assert_allclose(apart, [[0.2, 59.0], [0.985, 0.25], [np.inf, np.inf]])


# Spans shorter than the belt is high (4.5 mm for PK, from memory, medium confidence), and their tones.


HZ = str(Path(__file__).parents[1] / "cases" / "hz.yaml")


@pytest.fixture(scope="module")
def squeezed() -> tuple[Route, Operation]:
    """An arm that comes to rest where the span beside it shrinks to nothing."""
    route = route_of(read_layout(HZ).layout)
    operation = operation_of(route)
    assert operation is not None
    return route, operation


@pytest.mark.parametrize(("share", "severity"), [(0.99, "caution"), (1.01, None)])
def test_edges_of_a_short_span(share: float, severity: str | None) -> None:
    """Two equal pulleys: both spans are as long as their distance, 300 mm."""
    given = replace(two(300.0), limits={"min_span_mm": {"far": 300.0 / share}})
    found = SHORT_SPAN.of_route(route_of(given))
    assert [f.severity for f in found] == [severity] * (2 if severity else 0)
    assert all(f.value == pytest.approx(300.0) and "is high" not in f.message for f in found)


def test_without_an_own_limit_it_is_the_height_of_the_belt() -> None:
    bound = minimum_span(two(300.0), ("crank", "far"))
    assert (bound.limit, bound.kind, bound.only_caution) == (4.5, "lower", True) and "no source" in bound.source


def test_a_span_that_shrinks_to_nothing_is_a_finding_of_its_own(squeezed: tuple[Route, Operation]) -> None:
    found = [f for f in findings_of(*squeezed) if f.check == SHORT_SPAN.name]
    assert [(f.severity, f.subject) for f in found] == [("caution", "tensioner to compressor")]
    assert found[0].value == pytest.approx(0.0, abs=1e-3) and "less than the belt is high" in found[0].message
    # The report's own list of spans is for the belt at its measuring tension: the finding says where this one is.
    assert squeezed[0].loop.span[1] > 5.0
    assert "mm of free span under tension, engine stopped" in found[0].message


def test_a_short_span_of_the_chosen_belt_says_no_setting() -> None:
    (finding,) = SHORT_SPAN.of_route(route_of(replace(two(300.0), limits={"min_span_mm": {"far": 310.0}})))[:1]
    assert finding.wrong == "300.0 mm of free span, 10.0 mm short of the recommended 310 mm"


def test_a_span_that_shrinks_to_nothing_has_no_tone(squeezed: tuple[Route, Operation]) -> None:
    route, operation = squeezed
    tones, plan = tones_Hz(operation), Plan(route, operation, findings_of(route, operation))
    assert [i for i, tone in enumerate(tones) if tone is None] == [1]
    assert all(50.0 < tone < 500.0 for tone in tones if tone is not None)
    told = " ".join(text_of(plan).split())
    assert re.search(r"tensioner to compressor [\d.]+ - \d+ \d+ compressor to steering", told)
    spans = json.loads(result_text(plan))["stopped"]["spans"]
    assert [span["frequency_Hz"] is None for span in spans] == [i == 1 for i in range(8)]


def test_no_length_has_no_frequency() -> None:
    nothing, pull = np.zeros(1), np.full(1, 400.0)
    assert frequency_Hz(pull, 0.1, nothing).tolist() == [0.0]
    assert frequency_Hz(pull, 0.1, nothing, np.ones(1)).tolist() == [0.0]

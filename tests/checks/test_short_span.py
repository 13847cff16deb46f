"""Spans shorter than the belt is high (4.5 mm for PK, from memory, medium confidence), and their tones."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from beltplan.checks.clearance import SHORT_SPAN, minimum_span
from beltplan.checks.every_check import findings_of
from beltplan.checks.plan import Plan
from beltplan.drive.mechanics import frequency_at_rest_Hz, frequency_running_Hz
from beltplan.drive.operation import Operation, operation_of, tones_Hz
from beltplan.drive.route import Route, route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.check_json import result_text
from tests.checks.drives import two
from tests.report.results import text_of

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
    assert "where the belt's tension puts the tensioner, engine stopped" in found[0].message


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
    assert frequency_at_rest_Hz(pull, 0.1, nothing).tolist() == [0.0]
    assert frequency_running_Hz(pull, 0.1, nothing, np.ones(1)).tolist() == [0.0]

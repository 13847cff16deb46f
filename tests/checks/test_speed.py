"""Speeds. Ratio on pitch diameters d + 2 x 2 mm (ISO 9981:2020, 5.4); on the back d + 2 x 1.1 mm (common practice)."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from beltplan.checks.every_check import findings_of
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.route import route_of
from tests.checks.drives import found, pulley, sagging, severity, two
from tests.for_each import for_each

RATIO = (190.0 + 4.0) / (60.0 + 4.0)


def with_speeds(engine: Engine = Engine(idle_rpm=750.0, max_rpm=2600.0), **more: Any) -> Layout:  # noqa: B008
    """A crankshaft of 190 mm, an alternator of 60 mm, 700 mm apart, with something said of the alternator."""
    given = two(700.0, 190.0, 60.0, engine=engine)
    return replace(given, pulleys={**given.pulleys, "far": replace(given.pulleys["far"], **more)})


@for_each((1.01, "problem"), (0.99, "caution"), (1.01 / 1.1, "caution"), (0.99 / 1.1, None))
def test_highest_speed(share: float, expected: str | None) -> None:
    layout = with_speeds(max_rpm=2600.0 * RATIO / share)
    assert severity(layout, "rpm", "far") == expected
    assert all(f.value == pytest.approx(2600.0 * RATIO, rel=1e-12) for f in found(layout, "rpm"))


@for_each((0.99, "problem"), (1.01, "caution"), (1.09, "caution"), (1.11, None))
def test_speed_needed_at_idle(share: float, expected: str | None) -> None:
    assert severity(with_speeds(min_rpm=750.0 * RATIO / share), "rpm", "far") == expected


def test_pulley_on_the_back_counts_on_the_cord() -> None:
    given = sagging(120.0, pulley("it", "fan", 0, 0, 80.0, max_rpm=1000.0), engine=Engine(max_rpm=2000.0))
    (finding,) = found(given, "rpm", "it")
    assert finding.value == pytest.approx(2000.0 * (100.0 + 4.0) / (80.0 + 2.2), rel=1e-12)


def test_without_engine_speeds_a_note_says_what_is_missing() -> None:
    findings = found(with_speeds(Engine(), max_rpm=9000.0, min_rpm=900.0), "rpm", "far")
    assert [f.severity for f in findings] == ["note", "note"]
    assert {word for f in findings for word in ("engine.max_rpm", "engine.idle_rpm") if word in f.message} == {
        "engine.max_rpm",
        "engine.idle_rpm",
    }


def rpm_for(speed_m_per_s: float) -> float:
    """Speed of a 190 mm PK driver for a speed of the belt: v = pi d n / 60."""
    return speed_m_per_s * 60.0 / (math.pi * 0.194)


# 50 m/s for PK: SAE J1596 (1989, cancelled 2019), second-hand.
@for_each((50.5, "problem"), (49.5, "caution"), (45.9, "caution"), (45.0, None))
def test_belt_speed(speed: float, expected: str | None) -> None:
    layout = with_speeds(Engine(max_rpm=rpm_for(speed)))
    assert severity(layout, "belt_speed") == expected
    assert all(f.value == pytest.approx(speed, rel=1e-12) for f in found(layout, "belt_speed"))


@for_each("", "crank", "crankshaft")
def test_belt_speed_overridden(who: str) -> None:
    layout = replace(with_speeds(Engine(max_rpm=rpm_for(40.0))), limits={"max_belt_speed_m_per_s": {who: 30.0}})
    (finding,) = found(layout, "belt_speed")
    assert (finding.severity, finding.limit, finding.source) == ("problem", 30.0, "the layout file")


def test_belt_speed_without_engine_speed_is_a_note() -> None:
    assert severity(with_speeds(Engine()), "belt_speed") == "note"


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"max_rpm": 2500.0 * RATIO}, "no diameter serves all of these: a higher idle, a lower top speed"),
        ({"diameter_mm": 40.0}, "no diameter serves all of these: a larger driving pulley, or a higher idle"),
    ],
)
def test_a_pulley_is_never_to_be_both_larger_and_smaller(more: dict[str, Any], says: str) -> None:
    """Each limit is missed by more with the size that the other asks for."""
    given = with_speeds(min_rpm=750.0 * 2.0 * RATIO, **more)
    told = [each for each in findings_of(route_of(given), None) if each.subject == "far"]
    own = [each for each in told if each.check in ("rpm", "small_pulley")]
    assert len(own) == 2 and all(each.advice.startswith(says) for each in own)


def test_what_one_size_mends_keeps_its_advice() -> None:
    (slow,) = found(with_speeds(min_rpm=750.0 * 2.0 * RATIO), "rpm")
    (fast,) = found(with_speeds(max_rpm=2500.0 * RATIO), "rpm")
    assert (slow.advice, fast.advice) == ("a smaller pulley speeds it up", "a larger pulley slows it")

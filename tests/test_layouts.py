"""The demo layouts: each shows what it is there to show.

What each must show comes from its scenario (wraps too small, a pump turning backward, no belt on the list ...): the
wanted findings are the design of the demo, not numbers of the program. Limits are those of the trade, common practice
without a source.
"""

import math
import re
from functools import cache
from pathlib import Path

import pytest

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding
from beltplan.drive.belt import parse_designation
from beltplan.drive.operation import operation_of
from beltplan.drive.route import Route, route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.schema import KEYS
from tests.for_each import for_each

FOLDER = Path(__file__).parents[1] / "layouts"
NAMES = ("railcar", "camper", "orchard_sprayer", "workboat", "too_tight")
VARIANTS = (("camper", "with idler"), ("workboat", "alternator low"), ("workboat", "sides swapped"))
EVERY = (*((name, None) for name in NAMES), *VARIANTS)

Named = tuple[str, str, str]

NOT_ON_REVS: Named = ("note", "slip_on_revs", "belt")
"""No rate of the engine's speed is given."""
SHORT_AT_IDLE: Named = ("caution", "current", "alternator")
"""At idle an alternator gives less than all that is switched on, by its test sheet or by the usual curve."""
FIRST_MODE: Named = ("note", "drive_resonance", "belt")
"""The firing meets the first mode between idle and the highest speed, as in nearly every drive."""
SHORT_HOUSE: Named = ("caution", "current", "house_alternator")

SHOWN: dict[tuple[str, str | None], set[Named]] = {
    ("railcar", None): {("caution", "wrap", "compressor"), SHORT_AT_IDLE, FIRST_MODE},
    ("camper", None): {
        ("problem", "wrap", "crank"),
        ("problem", "wrap", "house_alternator"),
        ("problem", "slip", "crank"),
        SHORT_HOUSE,
        FIRST_MODE,
        ("note", "tension_swing", "water_pump to house_alternator"),
    },
    ("camper", "with idler"): {
        ("caution", "wrap", "house_alternator"),
        ("caution", "slip_on_revs", "crank"),
        SHORT_HOUSE,
        FIRST_MODE,
        ("note", "tension_swing", "water_pump to house_alternator"),
    },
    ("orchard_sprayer", None): {
        ("caution", "wrap", "crank"),
        ("caution", "wrap", "alternator"),
        NOT_ON_REVS,
        SHORT_AT_IDLE,
        FIRST_MODE,
        ("note", "tension_swing", "crank to pump_and_fan"),
    },
    ("workboat", None): {NOT_ON_REVS, FIRST_MODE},
    ("workboat", "alternator low"): {
        ("caution", "wrap", "crank"),
        ("caution", "wrap", "alternator"),
        ("caution", "drive_resonance", "belt"),
        NOT_ON_REVS,
    },
    ("workboat", "sides swapped"): {
        ("problem", "wrap", "alternator"),
        ("caution", "wrap", "crank"),
        NOT_ON_REVS,
        FIRST_MODE,
    },
    ("too_tight", None): {
        ("problem", "belt_fit", "belt"),
        ("problem", "clearance", "crank to steering_pump / bracket"),
        ("problem", "turns", "steering_pump"),
        ("problem", "wrap", "crank"),
        ("problem", "wrap", "water_pump"),
        ("problem", "grooves", "alternator"),
        ("problem", "small_pulley", "alternator"),
        ("problem", "small_pulley", "idler"),
        ("problem", "rpm", "alternator"),
        ("problem", "rpm", "steering_pump"),
        ("problem", "belt_speed", "belt"),
        ("problem", "rim_gap", "water_pump / hose"),
        ("problem", "misalignment", "crank to steering_pump"),
        ("problem", "misalignment", "steering_pump to water_pump"),
        ("caution", "turns", "water_pump"),
        ("caution", "slack_side", "tensioner"),
        ("problem", "take_up", "tensioner"),
        ("caution", "travel", "tensioner"),
        ("caution", "not_on_belt", "spare_pump"),
        ("note", "slip", "belt"),
        ("note", "rim_reading", "belt"),
    },
}


@cache
def _route(name: str, variant: str | None = None) -> Route:
    return route_of(read_layout(str(FOLDER / f"{name}.yaml"), variant).layout)


@cache
def _findings(name: str, variant: str | None = None) -> tuple[Finding, ...]:
    route = _route(name, variant)
    return findings_of(route, operation_of(route))


def _named(name: str, variant: str | None = None) -> set[Named]:
    return {(f.severity, f.check, f.subject) for f in _findings(name, variant)}


def _wrap_deg(name: str, variant: str | None, pulley: str) -> float:
    route = _route(name, variant)
    return math.degrees(route.loop.wrap[[p.name for p in route.pulleys].index(pulley)])


def _text(name: str) -> str:
    return (FOLDER / f"{name}.yaml").read_text(encoding="utf-8")


@for_each(*EVERY)
def test_shows_just_what_it_is_there_to_show(name: str, variant: str | None) -> None:
    assert _named(name, variant) == SHOWN[name, variant]


@for_each(
    ("railcar", False), ("orchard_sprayer", False), ("workboat", False), ("camper", True), ("too_tight", True),
)  # fmt: skip
def test_exit_status_is_the_one_intended(name: str, has_problem: bool) -> None:
    assert any(finding.severity == "problem" for finding in _findings(name)) is has_problem


@for_each(*NAMES)
def test_no_variant_is_left_untested(name: str) -> None:
    there = read_layout(str(FOLDER / f"{name}.yaml")).variants
    assert there == tuple(variant for of, variant in VARIANTS if of == name)


@for_each(*(each for each in EVERY if each[0] != "too_tight"))
def test_a_good_stock_belt_fits(name: str, variant: str | None) -> None:
    judged = _route(name, variant).judged
    assert judged is not None and judged.verdict == "good"


def test_too_tight_has_a_path_but_no_belt() -> None:
    route = _route("too_tight")
    assert route.stock == () and route.judged is None
    assert math.isfinite(route.length_mm)


@for_each(*EVERY)
def test_belt_turns_once_round(name: str, variant: str | None) -> None:
    """Plane geometry: a simple clockwise loop turns by -360 deg, ribbed wraps against back wraps."""
    route = _route(name, variant)
    signed = sum(wrap * (-1.0 if p.on_back else 1.0) for p, wrap in zip(route.pulleys, route.loop.wrap, strict=True))
    assert math.degrees(signed) == pytest.approx(360.0, abs=1e-6)


def test_railcar_is_the_drive_of_its_scenario() -> None:
    """Scenario: 8PK, alternator 140 A, hydraulic pump, water pump, brake compressor, one back idler, sprung arm."""
    layout = _route("railcar").layout
    assert (layout.belt.profile.name, layout.belt.ribs, len(layout.routed)) == ("PK", 8, 7)
    assert sorted(pulley.role for pulley in layout.routed) == [
        "air_compressor", "alternator", "crankshaft", "hydraulic_pump", "idler", "tensioner", "water_pump",
    ]  # fmt: skip
    assert layout.pulleys["alternator"].rated_A == 140.0
    assert layout.pulleys["guide"].on_back
    # A sprung tensioner belongs just after the driver: common practice, no source.
    assert _route("railcar").pulleys[1].name == "tensioner"


def test_camper_idler_gives_belt_to_the_two_that_lack_it() -> None:
    for pulley in ("crank", "house_alternator"):
        assert _wrap_deg("camper", "with idler", pulley) > _wrap_deg("camper", None, pulley) + 20.0


def test_workboat_is_read_in_inches() -> None:
    """25.4 mm to the inch, by definition."""
    assert "units: in" in _text("workboat")
    assert _route("workboat").layout.pulleys["crank"].diameter_mm == pytest.approx(7.0 * 25.4, abs=1e-9)


def test_workboat_places_are_three_different_ones() -> None:
    places = {
        tuple(_route("workboat", v).layout.pulleys[p].at_mm for p in ("alternator", "steering_pump"))
        for v in (None, "alternator low", "sides swapped")
    }
    assert len(places) == 3


def test_orchard_sprayer_is_set_by_hand() -> None:
    adjuster = _route("orchard_sprayer").circuit.adjuster
    assert adjuster is not None and adjuster.kind == "slide" and adjuster.spring is None


@for_each(*NAMES)
def test_first_lines_say_that_all_is_invented(name: str) -> None:
    first = _text(name).splitlines()[0]
    assert first.startswith("#") and "invented" in first and "numbers" in first


@for_each(*NAMES)
def test_no_word_looks_like_a_make(name: str) -> None:
    """A capital belongs at the start of a line, a sentence or a title; nothing else may look like a proper name."""
    inside = re.findall(r"(?<=[a-z,;] )[A-Z]\w*", _text(name))
    assert set(inside) <= {"A", "V"}


@for_each(*NAMES)
def test_no_word_looks_like_a_part_number(name: str) -> None:
    """Letters mixed with digits: open belt designations only."""
    mixed = re.findall(r"\b(?=\w*\d)(?=\w*[A-Za-z])\w+\b", _text(name))
    for word in set(mixed) - {key.name for key in KEYS}:
        assert parse_designation(word).ribs >= 1

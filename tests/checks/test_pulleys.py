"""Wrap against what the role asks. Wraps are the outer angles of a triangle of equal pulleys, plane geometry.

The limits are common practice, no source: a first screen; what is tested is that each holds where it says.
"""

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from beltplan.checks.every_check import findings_of
from beltplan.checks.plan import plan_on
from beltplan.cli.exits import Refused, route_or_refuse
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.answer import grouped
from beltplan.report.check_text import check_report
from beltplan.report.screen import Screen, shown
from tests.checks.drives import found, layout, pulley, route, sagging, severity, triangle, two
from tests.cli.running import EXAMPLE, Runner
from tests.for_each import for_each
from tests.shipped import SHIPPED_LAYOUTS

LEAST = {
    "alternator": 120.0, "air_conditioning": 110.0, "air_compressor": 120.0, "supercharger": 150.0,
    "steering_pump": 100.0, "hydraulic_pump": 100.0, "vacuum_pump": 90.0, "water_pump": 90.0, "fan": 90.0,
    "other": 90.0, "idler": 20.0,
}  # fmt: skip


def apex(wrap_deg: float, role: str, limits: dict[str, dict[str, float]] | None = None, **more: Any) -> Layout:
    """A triangle with that wrap on the pulley `it`."""
    return triangle(wrap_deg, pulley("it", role, 0, 0, **more), limits=limits or {})


@for_each(*LEAST.items())
@for_each((0.99, "problem"), (1.01, "caution"), (1.09, "caution"), (1.11, None))
def test_ribbed_wrap_at_the_limit_of_every_role(role: str, least: float, share: float, expected: str | None) -> None:
    assert severity(apex(least * share, role), "wrap", "it") == expected


@for_each(
    ("crankshaft", 118.8, "problem"), ("crankshaft", 121.2, "caution"), ("crankshaft", 148.5, "caution"),
    ("crankshaft", 151.5, None), ("tensioner", 44.55, "problem"), ("tensioner", 45.45, "caution"),
    ("tensioner", 59.4, "caution"), ("tensioner", 60.6, None),
)  # fmt: skip
def test_roles_with_a_caution_of_their_own(role: str, wrap: float, expected: str | None) -> None:
    assert severity(apex(wrap, role), "wrap", "it") == expected


@for_each("water_pump", "fan")
@for_each((118.8, "problem"), (121.2, "caution"), (133.2, None))
def test_water_pump_and_fan_on_the_back_need_more(role: str, wrap: float, expected: str | None) -> None:
    # Back wrap is twice the angle at which the spans leave the level, see `sagging`.
    layout = sagging(wrap, pulley("it", role, 0, 0, turns="either"))
    assert severity(layout, "wrap", "it") == expected
    assert all("deg of wrap on the belt's back, " in each.message for each in found(layout, "wrap", "it"))


def test_other_roles_on_the_back_keep_their_own_limit() -> None:
    assert severity(sagging(95.0, pulley("it", "steering_pump", 0, 0)), "wrap", "it") == "problem"
    assert severity(sagging(115.0, pulley("it", "steering_pump", 0, 0)), "wrap", "it") is None


@for_each((160.0, 148.5, None), (161.0, 148.5, "problem"), (161.0, 151.5, "caution"), (161.0, 166.0, None))
def test_an_alternator_above_160_A_needs_150_deg(amps: float, wrap: float, expected: str | None) -> None:
    assert severity(apex(wrap, "alternator", rated_A=amps), "wrap", "it") == expected


def test_rating_counts_for_alternators_only() -> None:
    assert severity(apex(125.0, "water_pump", rated_A=500.0), "wrap", "it") is None


def test_name_beats_role_beats_all() -> None:
    wide: dict[str, float] = {"": 170.0}
    by_role = {**wide, "alternator": 100.0}
    by_name = {**by_role, "it": 140.0}
    values = [
        [f.limit for f in found(apex(130.0, "alternator", {"min_wrap_deg": own}), "wrap", "it")]
        for own in (wide, by_role, by_name)
    ]
    assert values == [[170.0], [], [140.0]]


@for_each("it", "alternator", "")
def test_an_override_beats_the_rule_for_big_alternators(who: str) -> None:
    limits = {"min_wrap_deg": {who: 100.0}}
    assert severity(apex(115.0, "alternator", limits, rated_A=200.0), "wrap", "it") is None


@for_each((100.0, True), (150.0, False))
def test_a_limit_for_all_alternators_that_asks_less_of_a_big_one_is_noted(own: float, noted: bool) -> None:
    """The project's own 150 deg for over 160 A, frozen; it is no finding of its wrap."""
    given = apex(170.0, "alternator", {"min_wrap_deg": {"": own}}, rated_A=200.0)
    told = [f"{each.severity} {each.about}" for each in found(given, "doubtful_value", "it")]
    words = "note it: your `min_wrap_deg` of 100 replaces the 150 deg of `min_wrap_big_alternator_deg`"
    assert told == [words] * noted and not found(given, "wrap", "it")


def test_an_override_beats_the_rule_for_pumps_on_the_back() -> None:
    layout = sagging(100.0, pulley("it", "water_pump", 0, 0), limits={"min_wrap_deg": {"water_pump": 80.0}})
    assert severity(layout, "wrap", "it") is None
    (finding,) = found(replace(layout, limits={"min_wrap_deg": {"water_pump": 110.0}}), "wrap", "it")
    assert "100.0 deg of wrap, 10.0 short" in finding.message, "its role's own number is for either side"


def test_the_rating_and_its_wrap_can_be_overridden() -> None:
    higher = apex(125.0, "alternator", {"big_alternator_A": {"": 250.0}}, rated_A=200.0)
    assert severity(higher, "wrap", "it") == "caution"
    lower = apex(135.0, "alternator", {"min_wrap_big_alternator_deg": {"alternator": 120.0}}, rated_A=200.0)
    assert severity(lower, "wrap", "it") is None


def test_value_limit_and_source_are_told() -> None:
    # Small pulley of two: pi - 2 asin((R - r) / D); 300 mm apart, 390 and 60 mm in diameter.
    wrap = 180.0 - 2.0 * math.degrees(math.asin(165.0 / 300.0))
    (finding,) = found(two(300.0, 390.0, 60.0), "wrap", "far")
    assert finding.value == pytest.approx(wrap, abs=1e-9)
    assert (finding.severity, finding.limit, finding.unit) == ("problem", 120.0, "deg")
    assert finding.margin == pytest.approx(wrap / 120.0 - 1.0)
    assert "no source" in finding.source


@for_each(
    ("alternator", 100.0, "100.0 deg of wrap, 20.0 short of its minimum of 120: more wrap: "),
    ("alternator", 125.0, "125.0 deg of wrap, 7.0 short of the recommended 132 (minimum 120): more would be safer: "),
    ("alternator", 131.96, "131.96 deg of wrap, 0.04 short of the recommended 132 (minimum 120): more would be"),
    ("crankshaft", 120.3, "120.3 deg of wrap, 29.7 short of the recommended 150 (minimum 120): more would be safer: "),
)
def test_it_is_told_how_much_is_wanting(role: str, wrap: float, told: str) -> None:
    (finding,) = found(apex(wrap, role), "wrap", "it")
    assert finding.message.startswith(told)


def test_an_overridden_limit_names_the_file_as_its_source() -> None:
    (finding,) = found(apex(90.0, "alternator", {"min_wrap_deg": {"it": 95.0}}), "wrap", "it")
    assert finding.source == "the layout file"
    (finding,) = found(apex(100.0, "alternator", {"min_wrap_deg": {"it": 95.0}}), "wrap", "it")
    assert "recommended 104.5 (minimum 95)" in finding.message and finding.source.startswith("a tenth inside the limit")


# Speeds. Ratio on pitch diameters d + 2 x 2 mm (ISO 9981:2020, 5.4); on the back d + 2 x 1.1 mm (common practice).


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


# Grooves against ribs, and pulleys too small for the profile.


def grooved(grooves: int | None, belt: str) -> Layout:
    """Two pulleys, the second with so many grooves."""
    given = replace(two(), belt=parse_designation(belt))
    return replace(given, pulleys={**given.pulleys, "far": replace(given.pulleys["far"], grooves=grooves)})


# Fewer grooves than ribs: the commonest mistake in mixed parts, common practice, no source.
@for_each((5, "6PK", "problem"), (6, "6PK", None), (8, "6PK", None), (None, "6PK", None), (1, "AV13", None))
def test_grooves(grooves: int | None, belt: str, expected: str | None) -> None:
    assert severity(grooved(grooves, belt), "grooves") == expected


def test_grooves_are_counted_in_the_finding() -> None:
    (finding,) = found(grooved(4, "6PK"), "grooves")
    assert (finding.subject, finding.value, finding.limit, finding.unit) == ("far", 4.0, 6.0, "grooves")


# 45 mm: ISO 9981:2020. 50 mm: SAE J1596 (1989, cancelled 2019), second-hand.
@for_each(
    (0.99 * 45, "problem", "ISO 9981"), (1.01 * 45, "caution", "J1596"), (0.99 * 50, "caution", "J1596"),
    (1.01 * 50, None, ""),
)  # fmt: skip
def test_small_grooved_pulley(diameter: float, expected: str | None, source: str) -> None:
    findings = found(two(300.0, 100.0, diameter), "small_pulley")
    assert [f.severity for f in findings] == ([expected] if expected else [])
    assert all(source in f.source and f.value == pytest.approx(diameter) for f in findings)


# 90 mm: SAE J1596, second-hand. 60 mm: common practice, no source.
@for_each(
    (0.99 * 60, "problem", "no source"), (1.01 * 60, "caution", "J1596"), (0.99 * 90, "caution", "J1596"),
    (1.01 * 90, None, ""),
)  # fmt: skip
def test_small_pulley_on_the_back(diameter: float, expected: str | None, source: str) -> None:
    findings = found(sagging(60.0, pulley("it", "idler", 0, 0, diameter)), "small_pulley", "it")
    assert [f.severity for f in findings] == ([expected] if expected else [])
    assert all(source in f.source for f in findings)


@for_each(("AV10", 61.0), ("AV13", 76.0), ("B", 137.2))
def test_a_v_belt_bent_over_its_back_wants_a_third_more(profile: str, least_mm: float) -> None:
    """Of its smallest grooved pulley, to a whole mm: common practice, no source; smaller is a caution, never more."""
    wanted = round(4.0 * least_mm / 3.0)
    for diameter, expected in ((0.5 * wanted, ["caution"]), (0.99 * wanted, ["caution"]), (1.01 * wanted, [])):
        given = replace(
            sagging(60.0, pulley("it", "idler", 0, 0, diameter)),
            belt=replace(parse_designation(profile), back_over_rim_mm=2.0),
        )
        findings = found(given, "small_pulley", "it")
        assert [(f.severity, f.limit) for f in findings] == [(each, wanted) for each in expected]


def test_a_reading_over_the_rim_is_judged_at_the_effective_diameter() -> None:
    # 44.8 mm over the rim is 45.185 mm effective (rim 0.385 mm under it, derived from ISO 9982:2021 table 2).
    given = two(300.0, 100.0, 44.8)
    over_rim = replace(given.pulleys["far"], reading="rim")
    (finding,) = found(replace(given, pulleys={**given.pulleys, "far": over_rim}), "small_pulley")
    assert finding.severity == "caution" and finding.value == pytest.approx(45.185)


@for_each("far", "alternator", "")
def test_small_pulley_overridden(who: str) -> None:
    given = two(300.0, 100.0, 48.0, limits={"min_diameter_mm": {who: 55.0}})
    (finding,) = found(given, "small_pulley", "far")
    assert (finding.severity, finding.limit) == ("problem", 55.0)


def test_back_limit_of_a_profile_without_one_can_be_given() -> None:
    back = pulley("it", "idler", 0, 0, 70.0)
    belt = replace(parse_designation("3PJ"), back_over_rim_mm=2.0)
    assert found(replace(sagging(60.0, back), belt=belt), "small_pulley", "it") == []
    given = replace(sagging(60.0, back), belt=belt, limits={"min_back_diameter_mm": {"it": 75.0}})
    (finding,) = found(given, "small_pulley", "it")
    assert (finding.severity, finding.unit) == ("problem", "mm")


# Does a pulley's face suit the side of the belt? Which roles are grooved: common practice, no source.


@for_each(
    ("water_pump", {"grooves": 6}, "problem"), ("idler", {"grooves": 6}, "caution"), ("alternator", {}, "caution"),
    ("steering_pump", {"turns": "either"}, "caution"), ("steering_pump", {"side_open": True}, None),
    ("air_conditioning", {"grooves": 6}, "problem"), ("water_pump", {}, None), ("fan", {}, None), ("idler", {}, None),
    ("tensioner", {}, None),
)  # fmt: skip
def test_on_the_back(role: str, more: dict[str, Any], severity: str | None) -> None:
    """`sagging` bends the belt over its back. A back drives smooth pumps and fans: only grooves make that a problem."""
    findings = found(sagging(120.0, pulley("it", role, 0, 0, **more)), "wrong_side", "it")
    assert [finding.severity for finding in findings] == ([] if severity is None else [severity])
    assert all(finding.advice and "back" in finding.wrong for finding in findings)


@pytest.mark.parametrize(("more", "asked"), [({}, True), ({"grooves": 6}, False)])
def test_a_tensioner_on_the_ribs_is_asked_for_its_grooves(more: dict[str, Any], asked: bool) -> None:
    layout = sagging(120.0, pulley("it", "idler", 0, 0))
    far = next(p for p in layout.pulleys.values() if not p.on_back and not p.drives)
    given = {**layout.pulleys, far.name: replace(far, role="tensioner", **more)}
    findings = found(replace(layout, pulleys=given), "wrong_side", far.name)
    assert [finding.severity for finding in findings] == ["caution"] * asked
    assert all("`grooves: 6`" in finding.advice and "`belt_side: back`" in finding.advice for finding in findings)


# How the route was read, and pulleys left out of it.


def test_one_way_round_is_no_finding() -> None:
    # Three pulleys on the ribs: listed the wrong way round they make a loop that turns against the driver.
    assert found(triangle(100.0, pulley("it", "crankshaft", 0, 0)), "direction") == []


@pytest.mark.parametrize("listed", [("crank", "left", "far", "right"), ("right", "far", "left", "crank")])
def test_a_route_may_be_listed_either_way_round(listed: tuple[str, ...]) -> None:
    places = {"crank": (0.0, -200.0), "left": (-200.0, 0.0), "far": (0.0, 200.0), "right": (200.0, 0.0)}
    pulleys = [
        pulley(n, "crankshaft" if n == "crank" else "idler", *places[n]) for n in ("crank", "left", "far", "right")
    ]
    given = layout(*pulleys)
    laid = route(type(given)(given.title, given.belt, given.pulleys, listed))
    # Clockwise seen from the front: from the bottom to the viewer's left, then up.
    assert [p.name for p in laid.pulleys] == ["crank", "left", "far", "right"]


@pytest.mark.parametrize("role", ["idler", "alternator"])
def test_a_pulley_that_is_not_in_the_route_is_the_first_caution(role: str) -> None:
    given = two(beside=(pulley("lost", role, 150, 400),))
    first = next(finding for finding in findings_of(route(given), None) if finding.severity == "caution")
    assert (first.check, first.subject) == ("not_on_belt", "lost")
    assert first.advice == "was it forgotten in `route`?" + " If not, write `optional: true`" * (role == "idler")


def test_a_variant_leaves_a_pulley_out_on_purpose_so_its_problems_come_first() -> None:
    given = two(beside=(pulley("lost", "idler", 150, 400),))
    for variant, first in (("", "not_on_belt"), ("no idler", "no_adjuster")):
        assert grouped(findings_of(route(replace(given, variant=variant)), None))[0][0].check == first


@for_each(*SHIPPED_LAYOUTS)
def test_an_accessory_left_out_of_the_route_is_asked_after_before_all_else(path: Path) -> None:
    """Whatever else is then wrong follows from it; where no belt can be laid the refusal asks."""
    file = read_layout(str(path))
    for each in file.layout.routed:
        listed = tuple(name for name in file.layout.route if name != each.name)
        bad = replace(file, layout=replace(file.layout, route=listed))
        if each.drives or each.guides_only:
            continue
        try:
            told = shown(check_report(plan_on(route_or_refuse(bad))), Screen()).splitlines()
        except Refused as refusal:
            first = str(refusal).split("? ")[0]
            assert each.name in first and first.endswith(("in `route`: forgotten", "forgotten in `route`"))
        else:
            asked = [line for line in told if line.startswith("FIRST ")]
            assert told[2].startswith("FIRST ") and any(f" {each.name}: not on this belt" in line for line in asked)


def test_an_idler_that_may_be_left_out_is_told_below() -> None:
    given = two(beside=(pulley("spare", "idler", 150, 400, optional=True),))
    assert severity(given, "not_on_belt", "spare") == "note"


def test_a_belt_that_cannot_be_laid_without_a_forgotten_pulley(run: Runner, tmp_path: Path) -> None:
    """Two are missing, so no one pulley put in makes a path."""
    listed = "route: [crank, tensioner, pump, guide, generator]"
    text = EXAMPLE.read_text().replace(listed, "route: [guide, crank, tensioner]")
    (tmp_path / "layout.yaml").write_text(text)
    told = run("check", tmp_path / "layout.yaml")
    assert told.code == 2 and "pump and generator not in `route`: forgotten?" in told.err


def test_every_pulley_on_the_route_is_no_finding() -> None:
    assert found(two(), "not_on_belt") == []


def test_an_open_side_is_told() -> None:
    """The project's own rule: whatever only `route` decides is judged on the back, and said."""
    back = pulley("guide", "idler", 0, 0, 80, side_open=True)
    (note,) = found(sagging(60.0, back), "open_side")
    assert (note.severity, note.subject) == ("note", "guide") and "on the back" in note.message
    assert found(sagging(60.0, pulley("guide", "idler", 0, 0, 80)), "open_side") == []


# Which way pulleys turn: ribs as the driver, back against it, plane kinematics of a belt.


@for_each("clockwise", "counterclockwise")
@for_each("clockwise", "counterclockwise", "either")
def test_a_pulley_on_the_back_turns_against_the_driver(rotation: str, turns: str) -> None:
    layout = sagging(120.0, pulley("it", "fan", 0, 0, turns=turns), rotation=rotation)
    assert severity(layout, "turns", "it") == ("problem" if turns == rotation else None)


@for_each("clockwise", "counterclockwise")
@for_each("clockwise", "counterclockwise", "either", None)
def test_a_pulley_on_the_ribs_turns_with_the_driver(rotation: str, turns: str | None) -> None:
    layout = two(rotation=rotation)
    far = pulley("far", "alternator", 300, 0, turns=turns)
    layout = type(layout)(layout.title, layout.belt, {**layout.pulleys, "far": far}, layout.route, layout.rotation)
    assert severity(layout, "turns", "far") == (None if turns in (rotation, "either", None) else "problem")


def test_an_accessory_on_the_back_with_nothing_said_is_a_caution() -> None:
    (finding,) = found(sagging(120.0, pulley("it", "water_pump", 0, 0)), "turns", "it")
    assert finding.severity == "caution" and "counterclockwise" in finding.message


@pytest.mark.parametrize("role", ["idler", "tensioner"])
def test_guides_on_the_back_need_no_word(role: str) -> None:
    assert found(sagging(120.0, pulley("it", role, 0, 0)), "turns", "it") == []

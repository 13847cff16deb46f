"""Findings and their order: severity, margin as a share of the limit, check, subject."""

import random
import re
from dataclasses import replace
from decimal import Decimal
from typing import get_args

import numpy as np
import pytest
from hypothesis import assume
from hypothesis import given as for_any
from hypothesis import strategies as st

from beltplan.checks.alignment import shims
from beltplan.checks.limits import (
    LIMIT_KEYS,
    LIMITS,
    NOT_MEASURED,
    PROFILE_LIMITS,
    Bound,
    Check,
    Finding,
    Kind,
    against,
    bound_for,
    demanded,
    in_order,
)
from beltplan.checks.plan import plan_of
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Layout, Units
from beltplan.drive.pulleys import Role
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.screen import in_units
from tests.checks.drives import belt_of, found, pulley, route, sagging, sliding, two
from tests.checks.test_adjuster import over_rim
from tests.checks.test_alignment import PLAY_MM, ring
from tests.for_each import for_each
from tests.shipped import FOLDER

ASKED = Check("check", "what it finds")
LOWER = Bound("lower", 100.0, "mm", "somewhere")
UPPER = Bound("upper", 100.0, "mm", "somewhere")


def test_order_by_severity_then_margin_then_check_then_subject() -> None:
    expected = [
        Finding("wrap", "problem", "b", "", "", margin=-0.5),
        Finding("rpm", "problem", "a", "", "", margin=-0.1),
        Finding("rpm", "problem", "b", "", "", margin=-0.1),
        Finding("wrap", "problem", "a", "", "", margin=-0.1),
        Finding("clearance", "caution", "a", "", "", margin=-0.9),
        Finding("clearance", "caution", "a", "", "", margin=0.05),
        Finding("turns", "note", "a", "", ""),
    ]
    shuffled = expected[:]
    random.Random(3).shuffle(shuffled)
    assert list(in_order(shuffled)) == expected


@for_each(
    (LOWER, 99.0, "problem"), (LOWER, 100.0, "caution"), (LOWER, 109.9, "caution"), (LOWER, 110.1, None),
    (UPPER, 101.0, "problem"), (UPPER, 100.0, "caution"), (UPPER, 91.0, "caution"), (UPPER, 90.9, None),
)  # fmt: skip
def test_judge_at_the_limit_and_a_tenth_inside_it(bound: Bound, value: float, expected: str | None) -> None:
    assert [f.severity for f in ASKED.judge("it", value, bound, "words")] == ([expected] if expected else [])


@pytest.mark.parametrize(("bound", "value"), [(LOWER, 80.0), (UPPER, 120.0)])
def test_margin_is_the_distance_as_a_share_of_the_limit(bound: Bound, value: float) -> None:
    (finding,) = ASKED.judge("it", value, bound, "words")
    assert finding.margin == pytest.approx(-0.2)
    assert (finding.value, finding.limit, finding.unit, finding.source) == (value, 100.0, "mm", "somewhere")


@pytest.mark.parametrize("bound", [LOWER, UPPER])
def test_a_value_that_is_no_number_is_never_well_inside(bound: Bound) -> None:
    assert bound.verdict(float("nan")) is not None


def test_a_finding_without_a_number_counts_as_the_whole_limit_missed() -> None:
    finding = ASKED.find("note", "it", "words")
    assert (finding.value, finding.limit, finding.unit, finding.margin) == (None, None, "", NOT_MEASURED)


def test_a_finding_marks_what_it_is_about_but_never_the_whole_belt() -> None:
    parts = [ASKED.find("note", subject, "").parts for subject in ("it", "belt")]
    assert [*parts, ASKED.find("note", "it", "", parts=("a", "b")).parts] == [("it",), (), ("a", "b")]


# Words of findings: digits enough to show the sign, short sentences, what is wrong apart from what to do.


DRIVES = (
    *(f"{FOLDER}/{name}.yaml" for name in ("too_tight", "railcar", "workboat", "orchard_sprayer")),
    *(
        f"tests/cases/{name}.yaml"
        for name in ("findings", "no_adjuster", "fixed", "squeal", "tiny", "stationary", "hz")
    ),
)
MOST_WORDS = 25


@for_any(st.floats(1.0, 2000.0), st.floats(-10.0, 10.0), st.integers(0, 2))
def test_a_value_is_never_shown_as_its_limit(limit: float, off: float, decimals: int) -> None:
    value = limit + off
    assume(abs(off) > 1e-6)
    shown, distance, beside = against(value, limit, decimals)
    assert (float(shown) > float(beside)) == (value > limit) and float(shown) != float(beside)
    assert float(distance) > 0.0
    digits = len(shown.partition(".")[2])
    assert float(distance) == pytest.approx(abs(value - limit), abs=2.0 * 10.0**-digits)


_SIDES = r"over|short of|under"
_TOLD = re.compile(rf"(-?[\d.]+) (mm|in) of it, (?:only )?([\d.]+) .. ({_SIDES}) its m..imum of (-?[\d.]+) ..")


@for_any(
    st.sampled_from(["lower", "upper"]),
    st.floats(0.0, 3000.0).map(lambda limit: round(limit, 2)),
    st.floats(-60.0, 60.0),
    st.sampled_from(["mm", "in"]),
    st.integers(0, 2),
)
def test_value_difference_and_limit_add_up_as_they_are_read(
    kind: Kind, limit: float, off: float, units: Units, decimals: int
) -> None:
    """Decimal arithmetic, exact, over the words that a screen shows; an inch is 25.4 mm (ISO 31-1)."""
    assume(abs(off) > 1e-6)
    bound = Bound(kind, limit, "mm", "here")
    told = _TOLD.match(in_units(bound.words(limit + off, "mm of it", decimals), units))
    assert told is not None
    value, unit, apart, side, beside = told.groups()
    assert unit == units and (side == "over") == (off > 0.0)
    assert Decimal(value) - Decimal(beside) == (Decimal(apart) if side == "over" else -Decimal(apart)) != 0
    per = 1.0 if units == "mm" else 25.4
    last = 10.0 ** -len(value.partition(".")[2]) + 0.5 * 10.0**-decimals / 25.4  # told in mm first, then in inches
    assert float(value) == pytest.approx((limit + off) / per, abs=last)
    assert float(beside) == pytest.approx(limit / per, abs=last)


@for_any(st.sampled_from(["lower", "upper"]), st.floats(-0.3, 0.3))
def test_the_words_have_the_sign_of_the_value(kind: str, off: float) -> None:
    assume(abs(off) > 1e-6)
    words = Bound("lower" if kind == "lower" else "upper", 110.0, "deg", "here").words(110.0 + off, "deg of wrap")
    side = "over" if off > 0.0 else "short of" if kind == "lower" else "under"
    assert re.search(rf" {side} its m(in|ax)imum of 110$", words)
    assert ("only" in words) is ((off > 0.0) is (kind == "lower"))


def test_near_a_limit_more_digits_are_told() -> None:
    wrap = Bound("lower", 110.0, "deg", "here")
    assert wrap.words(109.96, "deg") == "109.96 deg, 0.04 short of its minimum of 110"
    assert wrap.words(110.0, "deg") == "110.0 deg, right at its minimum of 110"
    assert against(0.9982, 1.0, 2)[0] == "0.998"
    # Nine at the most: beyond them both are one.
    assert against(1.0 + 3e-9, 1.0)[0] == "1.000000003" and against(1.0 + 3e-10, 1.0)[0] == "1.000000000"


def test_what_misses_only_the_recommended_number_is_told_beside_that() -> None:
    assert Bound("lower", 45.0, "mm", "here", 50.0).words(48.0, "mm") == (
        "48.0 mm, 2.0 mm short of the recommended 50 mm (minimum 45 mm)"
    )
    # Well inside nothing is wanted; just short of what is recommended it does not read as that.
    assert Bound("lower", 45.0, "mm", "here", 50.0).words(51.0, "mm") == "51.0 mm, 6.0 mm over its minimum of 45 mm"
    assert Bound("upper", 0.5, "deg", "here", 0.33).words(0.3303, "deg", 2) == (
        "0.3303 deg, 0.0003 over the recommended 0.33 (maximum 0.5)"
    )
    assert Bound("upper", 400.0, "mm", "here", only_caution=True).words(450.0, "mm", 0) == (
        "450 mm, 50 mm over the recommended 400 mm"
    )


def _sentences(finding: Finding) -> list[str]:
    """Sentences of what is wrong and of the advice; a number and its unit are one word, and so is a name."""
    joined = re.sub(r"(?<=\d) (?=(?:mm|deg|rpm|N|Hz|%|m/s|in)\b|%)", "", f"{finding.wrong}. {finding.advice}")
    return re.split(r"[.:;?] ", re.sub(r"\([^)]*\)", "", joined))


@for_each(*DRIVES)
def test_no_sentence_is_long(path: str) -> None:
    findings = plan_of(read_layout(path).layout).findings
    assert findings
    told = [(len(sentence.split()), sentence) for finding in findings for sentence in _sentences(finding)]
    assert max(told)[0] <= MOST_WORDS, max(told)


@for_each(*DRIVES)
def test_the_message_is_what_is_wrong_and_what_to_do(path: str) -> None:
    for finding in plan_of(read_layout(path).layout).findings:
        assert finding.message == (f"{finding.wrong}: {finding.advice}" if finding.advice else finding.wrong)
        assert finding.severity == "note" or finding.advice or finding.check == "travel"


def test_one_pulley_out_of_line_is_named_with_the_way_and_how_far() -> None:
    findings = found(ring(0.0, 4.0, 0.0, 0.0), "misalignment")
    advice = "move p1 4.0 mm toward the engine: then both its spans are straight"
    assert [finding.advice for finding in findings] == [advice] * 2
    behind = found(ring(0.0, -4.0, 0.0, 0.0), "misalignment")
    assert {finding.advice for finding in behind} == {advice.replace("engine", "viewer")}


@for_each(
    ("in", 25.4 + 0.79, "a whole inch"), ("in", -25.4, "a whole inch"), ("in", 25.4 - 1.1, ""), ("in", 10.0, ""),
    ("mm", 10.9, "10 mm"), ("mm", -100.0, "100 mm"), ("mm", 11.1, ""), ("mm", 25.4, ""),
)  # fmt: skip
def test_a_plane_a_whole_step_of_its_tape_off_is_asked_after_before_it_is_moved(
    units: Units, plane_mm: float, step: str
) -> None:
    """1 in is 25.4 mm (ISO 80000-3:2019); which steps a tape is misread by: common practice, no source."""
    step_mm = {"a whole inch": 25.4, "10 mm": 10.0, "100 mm": 100.0}.get(step, 0.0)
    meant = (
        f"{round((abs(plane_mm) - step_mm) * (1 if plane_mm > 0.0 else -1) / (25.4 if units == 'in' else 1.0), 5):g}"
    )
    for finding in found(replace(ring(0.0, plane_mm, 0.0, 0.0), units=units), "misalignment"):
        question, _, move = finding.advice.rpartition("move p1 ")
        told = f"is `plane` of p1 misread by {step}? Then write `plane: {meant.replace('-0', '0')}`. Else "
        assert question == (told if step else "")
        assert move.startswith(f"{abs(plane_mm):.1f} mm toward the {'engine' if plane_mm > 0.0 else 'viewer'}: then")


def test_of_two_planes_a_whole_step_off_none_is_told_for_the_third_may_be_misread() -> None:
    (advice,) = {each.advice for each in found(ring(10.0, 0.0, 0.0), "misalignment") if "misread" in each.advice}
    assert advice.startswith("is `plane` of p1 and p2 misread by 10 mm? Else move p1")


def test_what_stays_a_little_askew_is_not_called_straight() -> None:
    (first, *_) = found(ring(0.0, 4.0, 0.8 * PLAY_MM, 0.0), "misalignment")
    assert first.advice.endswith("then both its spans are straight enough")


def test_neighbours_that_move_together_share_one_sentence() -> None:
    given = ring(0.0, 4.0, -5.0, 0.0, 0.0)
    assert list(shims(route(given))) == ["p1", "p2"]
    assert {finding.advice for finding in found(given, "misalignment")} == {
        "move p1 4.0 mm toward the engine, p2 5.0 mm toward the viewer: then all their spans are straight"
    }


def test_a_pulley_that_nobody_measured_is_to_be_measured() -> None:
    findings = [each for each in found(ring(4.0, 4.0, None, 4.0), "misalignment") if each.severity != "note"]
    assert {finding.advice for finding in findings} == {"measure `plane` of p2 first"}


IT, SMOOTH = pulley("it", "idler", 0.0, 0.0), ", which cannot grip"
BY_CASE: tuple[tuple[Layout, str, str, str], ...] = (
    # Two pulleys of 100 mm: path 2 x distance + 100 pi, 914.2 to 1034.2 mm on the slide.
    (belt_of(900.0, sliding()), "belt_fit", "6PK900 is 14.2 mm too short to be put on; ", "take up"),
    (belt_of(1040.0, sliding()), "belt_fit", "6PK1040 is 5.8 mm too long for the adjuster to take up; ", "put on"),
    (two(stock=()), "no_adjuster", "A belt of just this length made 5.0 mm short", "6PK"),
    (two(stock=(parse_designation("6PK915"),)), "no_adjuster", "6PK915 made 5.0 mm short", "just this length"),
    (over_rim("far"), "rim_reading", "far was measured over its rim: ", "were"),
    (over_rim("crank", "far"), "rim_reading", "crank, far were measured over their rims: ", "was"),
    (two(d2=40.0), "small_pulley", " for PK bent over its ribs", "inner"),
    (two(d2=40.0, belt=parse_designation("AV13x1000")), "small_pulley", " for AV13 bent over its inner side", "ribs"),
    (sagging(60.0, replace(IT, diameter_mm=70.0)), "small_pulley", " for PK bent over its back", "ribs"),
    (sagging(120.0, replace(IT, grooves=6)), "wrong_side", "its 6 grooves run on the belt's back", SMOOTH),
    (sagging(120.0, replace(IT, role="fan", grooves=6)), "wrong_side", f"run on the belt's back{SMOOTH}", "idler"),
)


@for_each(*BY_CASE)
def test_what_differs_by_case_is_told_as_it_is(given: Layout, check: str, words: str, never: str) -> None:
    told = [finding.wrong for finding in found(given, check)]
    assert any(words in each for each in told), told
    assert not any(never in each for each in told), told


# The table of limits and the overrides of a layout.


def test_every_row_has_a_source_a_unit_and_a_finite_limit() -> None:
    for (_, who), bound in LIMITS.items():
        assert bound.source and bound.unit and 0.0 < bound.limit < 1e6
        assert who == "" or who in get_args(Role)


NUMBERS = {
    "min_wrap_deg": "crankshaft 120 150, alternator 120, air_conditioning 110, air_compressor 120, supercharger 150, "
    "steering_pump 100, hydraulic_pump 100, vacuum_pump 90, water_pump 90, fan 90, other 90, idler 20, tensioner 45 60",
    "min_wrap_on_back_deg": "water_pump 120, fan 120",
    "min_wrap_big_alternator_deg": "alternator 150",
    "big_alternator_A": "alternator 160",
    "max_misalignment_deg": "0.5 0.33",
    "max_misalignment_smooth_deg": "1 0.66",
    "min_clearance_mm": "10",
    "min_strand_gap_mm": "15",
    "min_rim_gap_mm": "5",
    "max_free_strand_mm": "400",
    "min_take_up_percent": "20 40",
    "max_slip_use": "1 0.8",
    "max_slip_use_design": "1",
    "min_likely_diameter_mm": "10",
    "max_likely_diameter_mm": "600",
    "min_likely_arm_mm": "15",
    "max_likely_arm_mm": "600",
    "max_likely_hole_mm": "60",
    "max_likely_plane_mm": "300",
    "max_likely_apart_mm": "3000",
    "min_likely_length_mm": "200",
    "min_likely_overhang_mm": "8",
    "min_likely_movable_mm": "2",
    "max_likely_current_A": "500",
    "max_likely_voltage_V": "100",
    "min_likely_idle_rpm": "150",
    "max_likely_pressure_bar": "450",
    "max_likely_ratio": "alternator 4, air_conditioning 2, air_compressor 2, steering_pump 2, hydraulic_pump 2, "
    "vacuum_pump 2, water_pump 2, fan 2",
    "min_likely_displacement_cm3": "1",
    "max_likely_power_kW": "200, water_pump 5, vacuum_pump 2, steering_pump 12, air_conditioning 20",
    "max_spring_outside_deg": "30",
    "max_spring_outside_mm": "30",
    "max_spring_off_line_percent": "5",
    "idle_band_percent": "10",
    "drive_resonance_percent": "10",
    "min_swung_tension": "0.05 0.15",
}
"""Limit, and where the caution begins if that is no tenth short of it, by role."""


def test_numbers_of_the_table() -> None:
    """Frozen: common practice, no source, but that a use of 1 is slip (Euler). Whoever moves one moves a verdict."""
    found: dict[str, list[str]] = {}
    for (key, who), bound in LIMITS.items():
        numbers = [f"{each:g}" for each in (bound.limit, bound.caution) if each is not None]
        found.setdefault(key, []).append(" ".join([who] * bool(who) + numbers))
    assert {key: ", ".join(rows) for key, rows in found.items()} == NUMBERS


def test_every_role_has_a_least_wrap() -> None:
    assert {who for key, who in LIMITS if key == "min_wrap_deg"} == set(get_args(Role))


def test_names_of_limits_say_which_way_they_limit() -> None:
    for key, kind in LIMIT_KEYS.items():
        if key.startswith(("min_", "max_")):
            assert kind == {"min_": "lower", "max_": "upper"}[key[:4]]


def test_cautions_lie_on_the_good_side() -> None:
    for bound in LIMITS.values():
        if bound.caution is not None:
            assert (bound.caution > bound.limit) is (bound.kind == "lower")


@for_each(*LIMIT_KEYS)
def test_every_limit_can_be_overridden_and_keeps_its_unit(key: str) -> None:
    own = bound_for(two(limits={key: {"": 12.5}}), key, ("far",), "alternator")
    default = bound_for(two(), key, ("far",), "alternator")
    assert own is not None and own.limit == 12.5 and own.kind == LIMIT_KEYS[key]
    if default is not None:
        assert (own.unit, own.only_caution) == (default.unit, default.only_caution)
    elif key not in PROFILE_LIMITS:
        assert own.unit


def test_name_then_role_then_all_then_table() -> None:
    own = {"far": 1.0, "alternator": 2.0, "": 3.0}
    limits = [
        demanded(two(limits={"min_rim_gap_mm": given}), "min_rim_gap_mm", ("crank", "far")).limit
        for given in (own, {k: v for k, v in own.items() if k != "far"}, {"": 3.0}, {})
    ]
    assert limits == [1.0, 2.0, 3.0, 5.0]


@pytest.mark.parametrize(
    ("key", "value", "recommended"),
    [
        ("min_wrap_deg", 110.0, 121.0),  # looser than the table: a tenth over it
        ("min_wrap_deg", 120.0, 150.0),
        ("min_wrap_deg", 121.0, 150.0),
        ("min_wrap_deg", 140.0, 154.0),
        ("max_misalignment_deg", 0.6, 0.6 / 1.1),
        ("max_misalignment_deg", 0.45, 0.33),
        ("max_misalignment_deg", 0.33, 0.3),
    ],
)
def test_an_own_limit_no_looser_than_the_tables_never_loosens_what_is_recommended(
    key: str, value: float, recommended: float
) -> None:
    # By the rule alone: what asks more is kept, the table's caution or a tenth short of the own limit.
    bound = bound_for(two(limits={key: {"": value}}), key, ("crank",), "crankshaft")
    assert bound is not None and bound.limit == value and bound.ample == pytest.approx(recommended)


def test_a_key_that_is_no_limit_is_a_mistake_of_ours() -> None:
    with pytest.raises(KeyError):
        demanded(two(), "min_nonsense")


def test_shortfall_counts_from_the_limit_or_from_where_the_caution_begins() -> None:
    """By hand: 11 is over 10, and a twelfth under 12."""
    bound, values = Bound("lower", 10.0, "mm", "a standard", caution=12.0), np.array([9.0, 11.0, 13.0])
    assert bound.shortfall(values).tolist() == pytest.approx([0.1, 0.0, 0.0])
    assert bound.shortfall(values, ample=True).tolist() == pytest.approx([0.25, 1.0 / 12.0, 0.0])


def test_only_caution_never_becomes_a_problem() -> None:
    assert Bound("upper", 10.0, "mm", "", only_caution=True).verdict(1e9) == ("caution", 10.0, "")


def test_what_is_hardly_likely_is_asked_after_and_never_a_problem() -> None:
    likely = {who: bound for who, bound in LIMITS.items() if "_likely_" in who[0]}
    assert len(likely) > 10 and all(bound.only_caution for bound in likely.values())


def test_a_caution_names_its_own_source_else_that_of_the_limit() -> None:
    bound = Bound("lower", 10.0, "mm", "a standard", caution=12.0)
    assert bound.verdict(11.0) == ("caution", 12.0, "a standard")
    assert replace(bound, caution_source="a handbook").verdict(11.0) == ("caution", 12.0, "a handbook")

"""Words of findings: digits enough to show the sign, short sentences, what is wrong apart from what to do."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import assume
from hypothesis import given as for_any
from hypothesis import strategies as st

from beltplan.checks.alignment import shims
from beltplan.checks.limits import Bound, Finding, Kind, against
from beltplan.checks.plan import plan_of
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Layout, Units
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.screen import in_units
from tests.checks.drives import belt_of, found, pulley, route, sagging, sliding, two
from tests.checks.test_shims import PLAY_MM, ring
from tests.checks.test_travel import over_rim
from tests.for_each import for_each
from tests.shipped import FOLDER

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


_TOLD = re.compile(r"(-?[\d.]+) (mm|in) of it, ([\d.]+) .. (over|short of|under) its m..imum of (-?[\d.]+) ..")


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


def test_near_a_limit_more_digits_are_told() -> None:
    wrap = Bound("lower", 110.0, "deg", "here")
    assert wrap.words(109.96, "deg") == "109.96 deg, 0.04 short of its minimum of 110"
    assert wrap.words(110.0, "deg") == "110.0 deg, right at its minimum of 110"
    assert against(0.9982, 1.0, 2)[0] == "0.998"
    # Nine at the most: beyond them both are one.
    assert against(1.0 + 3e-9, 1.0)[0] == "1.000000003" and against(1.0 + 3e-10, 1.0)[0] == "1.000000000"


def test_a_recommended_number_stands_beside_the_limit() -> None:
    assert Bound("lower", 45.0, "mm", "here", 50.0).words(48.0, "mm") == (
        "48.0 mm, 2.0 mm short of the recommended 50 mm (minimum 45 mm)"
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

"""The profile table: every number has its source, and no two contradict each other."""

import math
from collections.abc import Mapping
from dataclasses import fields

import pytest

from beltplan.drive.belt import Belt, line_length_mm, parse_designation
from beltplan.drive.profiles import PROFILES, Profile
from tests.for_each import for_each

WORDS = ("name", "family", "sources")
EVERY = for_each(*PROFILES.values(), ids=list(PROFILES))
NUMBERS = tuple(field.name for field in fields(Profile) if field.name not in WORDS)


def test_names_are_the_keys() -> None:
    assert all(name == profile.name for name, profile in PROFILES.items())
    assert list(PROFILES) == ["PK", "PH", "PJ", "PL", "PM", "AV10", "AV13", "A", "B"]


@EVERY
def test_every_number_has_a_source(profile: Profile) -> None:
    given = {name for name in NUMBERS if getattr(profile, name) is not None}
    assert given - set(profile.sources) == set()
    assert all(len(profile.sources[name]) > 10 for name in given)
    # Of what is remembered it is told too what that is a number of.
    assert profile.sources["climb_mm"].partition("confidence: ")[2]


@EVERY
def test_no_source_without_a_number_field(profile: Profile) -> None:
    assert set(profile.sources) <= set(NUMBERS)


@EVERY
def test_a_source_names_a_document_or_says_that_there_is_none(profile: Profile) -> None:
    marks = ("ISO", "SAE", "ANSI", "TM 9-", "from memory", "no source", "derived")
    assert [text for text in profile.sources.values() if not any(mark in text for mark in marks)] == []


@EVERY
def test_orderings(profile: Profile) -> None:
    least, most = profile.rim_range_mm
    assert least < profile.rim_minus_line_mm < most or least <= profile.rim_minus_line_mm <= most
    assert 0.0 < profile.grooved_least_mm < profile.grooved_caution_mm
    assert 0.0 < profile.cord_below_back_mm < profile.thickness_mm
    assert 0.0 < profile.climb_mm <= profile.thickness_mm
    assert 30.0 <= profile.groove_angle_deg <= 40.0
    assert 0.0 < profile.wear_share < 0.02
    assert 10.0 <= profile.top_speed_m_per_s <= 60.0


@EVERY
def test_back_of_the_belt_stands_within_its_height(profile: Profile) -> None:
    if profile.back_mm is not None:
        assert profile.cord_below_back_mm < profile.back_mm < profile.thickness_mm
    if profile.back_least_mm is not None and profile.back_caution_mm is not None:
        assert profile.back_least_mm < profile.back_caution_mm
    assert (profile.back_least_mm is None) == (profile.back_caution_mm is None)


@EVERY
def test_ribs_or_width_by_family(profile: Profile) -> None:
    assert (profile.pitch_mm is not None) == profile.is_ribbed
    assert (profile.width_mm is None) == profile.is_ribbed
    assert (profile.inside_below_mm is not None) == profile.is_classical
    assert (profile.outside_above_mm is not None) == profile.is_classical


@for_each(
    *("pitch_mm", "pitch_line_mm", "climb_mm", "thickness_mm", "cord_below_back_mm", "grooved_least_mm"),
    *("measuring_force_N", "hand_set_N", "hand_new_N", "hand_again_N", "span_limit_N"),
)
def test_bigger_ribbed_profiles_are_bigger_all_round(name: str) -> None:
    sizes = [getattr(PROFILES[profile], name) for profile in ("PH", "PJ", "PK", "PL", "PM")]
    assert sizes == sorted(set(sizes))


@EVERY
def test_a_belt_is_set_tighter_than_it_is_measured_and_runs_tighter_still(profile: Profile) -> None:
    """And it is set again before it hangs as loose as it is measured."""
    again_N, set_N, new_N = profile.hand_again_N, profile.hand_set_N, profile.hand_new_N
    assert profile.measuring_force_N < again_N < set_N < new_N < profile.span_limit_N


@EVERY
def test_the_table_cannot_be_written_to(profile: Profile) -> None:
    with pytest.raises(TypeError):
        profile.sources["name"] = "anything"  # type: ignore[index]
    with pytest.raises(TypeError):
        PROFILES["PK"] = profile  # type: ignore[index]


# Every number of every row of the profile table, typed again from its source.
# ISO 9982:2021 table 2 and ISO 9981:2020 were seen second-hand or in part; ANSI/RMA IP-20 in Machinery's Handbook 31st
# ed. pp. 2575-2577; SAE J636 and J1596 second-hand. 'Memory' and 'no source' say that nothing was read; such numbers
# are frozen here as our own. Pitch, angle and rim of ribbed grooves stand in `tests/cited/test_iso_9982.py`.


INCH = 25.4
RIBBED = ("PH", "PJ", "PK", "PL", "PM")
V = ("AV10", "AV13", "A", "B")

ROWS: tuple[tuple[str, str, Mapping[str, float | None]], ...] = (
    # ISO 9982, nominal effective line differential: memory, high confidence; PK read in ISO 9981:2020, 5.4.
    ("pitch_line_mm", "ISO 9982", {"PH": 0.8, "PJ": 1.2, "PK": 2.0, "PL": 3.0, "PM": 4.0}),
    # Derived from the belt's height and the place of its cord, memory, low: under a back flush with the rim.
    ("pitch_line_mm", "memory", {"AV10": -2.7, "AV13": -3.0}),
    # Memory, low confidence: on the datum line itself.
    ("pitch_line_mm", "memory", {"A": 0.0, "B": 0.0}),
    # PK ISO 9981:2020, 5.2; the others ISO 9982, memory, medium confidence.
    ("grooved_least_mm", "ISO 9981, 9982", {"PH": 13.0, "PJ": 20.0, "PK": 45.0, "PL": 75.0, "PM": 180.0}),
    # SAE J636, second-hand: 10A 61 mm, 13A 76 mm.
    ("grooved_least_mm", "SAE J636", {"AV10": 61.0, "AV13": 76.0}),
    # ANSI/RMA IP-20: least datum diameter 3.0 in for A, 5.4 in for B.
    ("grooved_least_mm", "ANSI/RMA IP-20", {"A": 3.0 * INCH, "B": 5.4 * INCH}),
    # SAE J1596: 50 mm in practice for PK. The others a tenth over the least: our own choice.
    ("grooved_caution_mm", "SAE J1596", {"PK": 50.0}),
    (
        "grooved_caution_mm",
        "a tenth over",
        {"PH": 14.3, "PJ": 22.0, "PL": 82.5, "PM": 198.0, "AV10": 67.1, "AV13": 83.6},
    ),
    ("grooved_caution_mm", "a tenth over", {"A": 1.1 * 3.0 * INCH, "B": 1.1 * 5.4 * INCH}),
    # SAE J1596: smooth pulley 90 mm or more for PK. 60 mm common practice, no source; nothing for the others.
    ("back_caution_mm", "SAE J1596", {"PK": 90.0} | dict.fromkeys(("PH", "PJ", "PL", "PM", *V))),
    ("back_least_mm", "common practice, no source", {"PK": 60.0} | dict.fromkeys(("PH", "PJ", "PL", "PM", *V))),
    # ISO 2790 designation and ISO 4184 A 13 x 8, B 17 x 11: memory, high confidence.
    ("width_mm", "ISO 2790, ISO 4184", {"AV10": 10.0, "AV13": 13.0, "A": 13.0, "B": 17.0} | dict.fromkeys(RIBBED)),
    ("thickness_mm", "ISO 2790, ISO 4184", {"AV10": 8.0, "AV13": 9.0, "A": 8.0, "B": 11.0}),
    # Common practice, no source; PK SAE J1596: 50 m/s at most.
    ("top_speed_m_per_s", "SAE J1596", {"PK": 50.0}),
    ("top_speed_m_per_s", "common practice, no source", dict.fromkeys(V, 30.0)),
    # Common practice, no source: 1.5 % for V-belts, 0.7 % for V-ribbed ones.
    ("wear_share", "common practice, no source", dict.fromkeys(V, 0.015) | dict.fromkeys(RIBBED, 0.007)),
    # Memory, medium (ribbed) and low (automotive): 5 mm up to 1000 mm, 0.5 % above. A, B: IP-20, 0.6 in.
    ("tolerance_least_mm", "memory", dict.fromkeys((*RIBBED, "AV10", "AV13"), 5.0)),
    ("tolerance_share", "memory", dict.fromkeys((*RIBBED, "AV10", "AV13"), 0.005)),
    ("tolerance_least_mm", "ANSI/RMA IP-20", {"A": 0.6 * INCH, "B": 0.6 * INCH}),
    ("tolerance_share", "ANSI/RMA IP-20", {"A": 0.0, "B": 0.0}),
    # ANSI/RMA IP-20: datum length = nominal inside inches + 1.3 (A), + 1.8 (B).
    ("inside_below_mm", "ANSI/RMA IP-20", {"A": 1.3 * INCH, "B": 1.8 * INCH, "AV13": None, "PK": None}),
    # ISO 4183, memory, high: the datum width lies 2.75 (A) and 3.5 mm (B) under the top.
    ("outside_above_mm", "ISO 4183", {"A": math.tau * 2.75, "B": math.tau * 3.5, "AV13": None, "PK": None}),
    # ANSI/RMA IP-20 datum groove, 2 h_d = 0.250 (A) and 0.350 in (B): memory, high confidence.
    ("rim_minus_line_mm", "ANSI/RMA IP-20", {"A": 0.250 * INCH, "B": 0.350 * INCH}),
    # SAE J636: 36 deg. IP-20: 34 deg on small, 38 on large pulleys; the middle of both stands.
    ("groove_angle_deg", "SAE J636", {"AV10": 36.0, "AV13": 36.0}),
    ("groove_angle_deg", "ANSI/RMA IP-20", {"A": (34.0 + 38.0) / 2.0, "B": (34.0 + 38.0) / 2.0}),
    # Drive of Beikmann, Perkins and Ulsoy 1996, memory, medium: 0.105 kg/m and 170 kN for six ribs.
    ("mass_kg_per_m", "Beikmann 1996", {"PK": 0.105 / 6.0} | dict.fromkeys(("PH", "PJ", "PL", "PM"))),
    ("stiffness_N", "Beikmann 1996", {"PK": 28_000.0} | dict.fromkeys(("PH", "PJ", "PL", "PM", *V))),
    # Memory, medium confidence.
    ("mass_kg_per_m", "memory", {"AV10": 0.08, "AV13": 0.12, "A": 0.11, "B": 0.19}),
    # ISO 9982, force of one span a rib: memory, medium; V-belts as much as four PK ribs: memory, low confidence.
    ("measuring_force_N", "ISO 9982", {"PH": 15.0, "PJ": 25.0, "PK": 50.0, "PL": 100.0, "PM": 225.0}),
    ("measuring_force_N", "memory", dict.fromkeys(V, 4.0 * 50.0)),
    # US Army TM 9-2320-312-24-2, table 3: 6 ribs run in 667 N (8 ribs 890), so 111 a rib; others in proportion.
    (
        "hand_set_N",
        "TM 9-2320",
        {"PK": round(667.0 / 6.0)} | {"PH": 0.3 * 111.0, "PJ": 0.5 * 111.0, "PL": 222.0, "PM": 4.5 * 111.0},
    ),
    # The same, used: V-belt of 10.7 mm 400 N, of 13.9 mm 445 N.
    ("hand_set_N", "TM 9-2320", {"AV10": 400.0, "AV13": 445.0, "A": 445.0, "B": 445.0}),
    # The same, table 3, new: 133 N a rib (6 ribs 801 +-111 N), V-belts 534 and 578. Table 4, used: from 67 N a rib on.
    ("hand_new_N", "TM 9-2320", {"PK": 133.0, "PH": 39.9, "PJ": 66.5, "PL": 266.0, "PM": 598.5, "AV10": 534.0}),
    ("hand_new_N", "TM 9-2320", dict.fromkeys(("AV13", "A", "B"), 578.0)),
    ("hand_again_N", "TM 9-2320", {"PK": 67.0, "PH": 20.1, "PJ": 33.5, "PL": 134.0, "PM": 301.5}),
    # An engine manual: a V-belt of 13.9 mm again under 250 N; that of 10.7 mm as 400 to 445 N.
    ("hand_again_N", "a manual", {"AV10": round(250.0 * 400.0 / 445.0), "AV13": 250.0, "A": 250.0, "B": 250.0}),
    # Common practice, no source: 180 N a PK rib in running; others in proportion.
    ("span_limit_N", "no source", {"PK": 180.0, "PH": 0.3 * 180.0, "PJ": 0.5 * 180.0, "PL": 360.0, "PM": 4.5 * 180.0}),
    ("span_limit_N", "memory", dict.fromkeys(V, 4.0 * 180.0)),
    # Memory, low confidence (PK rib and height medium): frozen as our own.
    ("climb_mm", "memory", {"PH": 1.1, "PJ": 1.6, "PK": 2.35, "PL": 3.6, "PM": 7.5}),
    ("climb_mm", "memory", {"AV10": 8.0, "AV13": 9.0, "A": 8.0, "B": 11.0}),
    ("thickness_mm", "memory", {"PH": 2.7, "PJ": 3.5, "PK": 4.5, "PL": 7.5, "PM": 13.0}),
    ("cord_below_back_mm", "memory", {"PH": 0.8, "PJ": 0.9, "PK": 1.1, "PL": 1.7, "PM": 2.5}),
    ("cord_below_back_mm", "memory: a third of the height", {"AV10": 2.7, "AV13": 3.0}),
    # ISO 4183, as above: the cord at the datum width.
    ("cord_below_back_mm", "ISO 4183", {"A": 2.75, "B": 3.5}),
    ("top_speed_m_per_s", "memory", {"PH": 60.0, "PJ": 50.0, "PL": 40.0, "PM": 35.0}),
    ("back_mm", "groove and memory", {"PK": 2.2} | dict.fromkeys(("PH", "PJ", "PL", "PM", *V))),
)


@for_each(*ROWS, ids=[f"{f} {s}" for f, s, _ in ROWS])
def test_numbers_of_the_rows(field: str, source: str, expected: Mapping[str, float | None]) -> None:
    """The source of each stands over its row."""
    for name, number in expected.items():
        given = getattr(PROFILES[name], field)
        assert given is None if number is None else given == pytest.approx(number, rel=1e-3), (name, source)


@pytest.mark.parametrize(("name", "least", "most"), [("A", 2 * 2.75, 6.6), ("B", 2 * 3.5, 9.1)])
def test_range_of_the_classical_rim(name: str, least: float, most: float) -> None:
    """ISO 4183: the datum width at least 2.75 and 3.5 mm under the rim (memory, medium); the most is our own."""
    assert PROFILES[name].rim_range_mm == (least, most)


@pytest.mark.parametrize("name", ["AV10", "AV13"])
def test_the_automotive_pitch_line_is_the_cord_of_a_belt_flush_with_the_rim(name: str) -> None:
    """Derived from memory, low confidence: what the table tells and what a belt as bought comes to are one."""
    profile = PROFILES[name]
    assert Belt(profile).pitch_line_mm == profile.pitch_line_mm == -profile.cord_below_back_mm
    assert "derived from memory" in profile.sources["pitch_line_mm"]


@pytest.mark.parametrize("name", ["AV10", "AV13"])
def test_the_automotive_rim_lies_at_the_effective_diameter(name: str) -> None:
    """Memory, low confidence: half a millimetre either way."""
    assert (PROFILES[name].rim_minus_line_mm, PROFILES[name].rim_range_mm) == (0.0, (-0.5, 0.5))


@for_each(("A26", 27.3), ("A31", 32.3), ("B60", 61.8))
def test_datum_length_of_classical_belts(written: str, datum_in: float) -> None:
    """ANSI/RMA IP-20: the number is the inside length in inches, 1.3 (A) or 1.8 (B) under the datum length."""
    profile, inches = written[0], float(written[1:])
    belt = parse_designation(f"{profile}{inches * INCH:g} inside")
    assert line_length_mm(belt) == pytest.approx(datum_in * INCH)


# What a profile says of itself.


@pytest.mark.parametrize("name", ["AV10", "AV13"])
def test_the_source_of_the_least_set_tension_names_it(name: str) -> None:
    profile = PROFILES[name]
    assert f"{profile.hand_again_N:.0f} N" in profile.sources["hand_again_N"]


@for_each(("PK", True, False, "effective"), ("AV13", False, False, "effective"), ("A", False, True, "datum"))
def test_family(name: str, ribbed: bool, classical: bool, line: str) -> None:
    profile = PROFILES[name]
    assert (profile.is_ribbed, profile.is_classical, profile.line_name) == (ribbed, classical, line)

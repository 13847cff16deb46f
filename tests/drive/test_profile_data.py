"""The profile table: every number has its source, and no two contradict each other."""

from __future__ import annotations

from dataclasses import fields

import pytest

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

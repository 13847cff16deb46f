"""The word list names everything that a layout file may say and a result may answer."""

import json
import math
import re
from collections.abc import Mapping
from typing import get_args

import pytest

from beltplan.checks.every_check import CHECKS
from beltplan.checks.limits import LIMIT_KEYS, LIMITS
from beltplan.drive.loads import usual_loads
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import Role
from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS
from beltplan.words.report import answer
from beltplan.words.word_list import Group, found, groups, names_of
from tests.cli.running import Runner
from tests.for_each import for_each


@pytest.fixture(scope="module")
def known() -> Mapping[str, Group]:
    """Every group of words by its name."""
    return {group.name: group for group in groups()}


@pytest.fixture
def words(run: Runner) -> str:
    """The whole list, as it is printed."""
    return run("words", "--all").out


def test_every_key_role_limit_profile_and_finding(known: Mapping[str, Group]) -> None:
    names = {name: [entry.name for entry in group.entries] for name, group in known.items()}
    assert names["keys"] == [key.path for key in KEYS]
    assert names["measurements"] == [key.path for key in MEASUREMENT_KEYS]
    assert names["roles"] == list(get_args(Role)) and names["profiles"] == list(PROFILES)
    assert names["loads"] == list(usual_loads())
    assert names["limits"] == list(LIMIT_KEYS) and names["findings"] == [check.name for check in CHECKS]


def test_every_word_is_printed_with_its_meaning(words: str, known: Mapping[str, Group]) -> None:
    told, lines = " ".join(words.split()), set(words.splitlines())
    for entry in (entry for group in known.values() for entry in group.entries):
        assert f"  {entry.name}" in lines
        assert all(" ".join(text.split()) in told for text, _ in entry.texts), entry.name


def test_every_limit_is_told_with_its_number_and_source(words: str) -> None:
    told = " ".join(words[words.index("\nLIMITS  ") :].split())
    for bound in LIMITS.values():
        assert f"{bound.limit:g} {bound.unit}" in told and f") {bound.source}" in told


def test_a_key_that_may_be_left_out_has_a_default_and_another_has_none(known: Mapping[str, Group]) -> None:
    entries = (*known["keys"].entries, *known["measurements"].entries)
    for key, entry in zip((*KEYS, *MEASUREMENT_KEYS), entries, strict=True):
        assert ("; default: " in entry.texts[0][0]) == (not key.needed)


def test_a_limit_names_those_that_the_same_finding_is_judged_by(run: Runner) -> None:
    told = " ".join(run("words", "min_wrap_deg").out.split())
    assert "see also: big_alternator_A, min_wrap_big_alternator_deg, min_wrap_on_back_deg" in told
    # What holds of a wrap stands in one line: `check` asks 120 of a water pump on the back.
    on_back = "on the back minimum 120 (min_wrap_on_back_deg)"
    assert f"water pump: default: minimum 90 deg; caution within a tenth of it; {on_back}" in told
    assert "if rated over 160 A minimum 150 (min_wrap_big_alternator_deg)" in told
    assert told.count(on_back) == 2  # a fan's too


def test_what_has_keys_of_its_own_is_told_as_it_is_written(words: str) -> None:
    assert "mapping" not in words
    told = " ".join(words.split())
    assert "marks {NAME: [x, y]} or names: " in told and "slide {from: [x, y], to: [x, y]}: " in told


def test_fit_for_a_terminal(words: str) -> None:
    assert [line for line in words.splitlines() if len(line) > 100] == []
    assert all(character.isprintable() or character == "\n" for character in words)


@for_each("design setting", "short stop", "long stop", "draw", "worst margin", "see slip", "tired", "pointer", "span")
def test_a_word_of_a_screen_can_be_asked_for(word: str) -> None:
    assert any(word in block for block in answer(word).blocks if isinstance(block, str))


def test_no_sentence_of_a_term_is_over_25_words(known: Mapping[str, Group]) -> None:
    # The two rules of ranking and buying are those of their own files.
    told = [text for e in known["terms"].entries for text, _ in e.texts if e.name not in ("ranking", "buying")]
    assert [each for text in told for each in text.split(". ") if len(each.split()) > 25] == []


@for_each(
    ("belt_side", ["pulleys.NAME.belt_side"]),
    ("pulleys.crank.arm.stops", ["pulleys.NAME.arm.stops"]),
    ("spring.at_deg", ["pulleys.NAME.spring.at_deg"]),
    ("Grip Used", ["grip used"]),
    ("back", ["ribs, back"]),
    ("pk", ["PK"]),
    ("`min_clearance_mm:`", ["min_clearance_mm"]),
    ("wrap", ["wrap", "wrap"]),
    ("duty.all on", ["duty.NAME"]),
    ("hub", ["hub, hub load"]),
    ("plumb", ["plumb, level, levels"]),
    ("roles", list(get_args(Role))),
    ("limits", ["limits", *LIMIT_KEYS]),
    ("crank.at", ["pulleys.NAME.at", "obstacles.NAME.at", "marks.NAME.at"]),
    ("engine.at", ["pulleys.NAME.at", "obstacles.NAME.at", "marks.NAME.at"]),
    ("crank.on.at", []),
)
def test_what_a_word_may_mean(word: str, names: list[str]) -> None:
    assert [entry.name for _, entry in found(word, groups())] == names


def test_every_word_can_be_asked_for_by_its_own_name(known: Mapping[str, Group]) -> None:
    for group in known.values():
        for entry in group.entries:
            for name in names_of(entry):
                assert entry in [each for _, each in found(name, tuple(known.values()))], name


# `beltplan words`: the word list, or a schema, on standard output.


def test_the_list_is_printed(run: Runner) -> None:
    ran = run("words", "--all")
    assert (ran.code, ran.err) == (0, "") and ran.out.count("never an approval") == 1
    assert all(word in ran.out for word in ("pulleys.NAME.at", "air_conditioning", "min_wrap_deg", "belt_fit", "PK"))


def test_alone_it_tells_on_a_screen_which_words_there_are(run: Runner) -> None:
    ran = run("words")
    assert (ran.code, ran.err) == (0, "") and len(ran.out.splitlines()) <= 40
    assert all(
        word in ran.out for word in ("beltplan words WORD", "--all", "min_wrap_deg", "grip used", "PK", "SAFETY")
    )


def test_a_word_is_told_with_meaning_default_unit_and_source(run: Runner) -> None:
    ran = run("words", "min_take_up_percent")
    assert (ran.code, ran.err) == (0, "")
    assert "default: minimum 20 % of best; caution under 40 (a)" in ran.out and "\n(a) derived: " in ran.out
    assert "default: minimum 10 mm; caution under it, never a problem" in run("words", "min_likely_diameter_mm").out
    assert "(a) common practice, no source\n" in run("words", "max_misalignment_smooth_deg").out
    assert "default: clockwise" in run("words", "rotation").out
    assert "must be given" in run("words", "pulleys.crank.role").out
    assert run("words", "grip", "used") == run("words", "grip used")


def test_what_a_profile_has_no_default_for_is_told_with_how_to_find_it(run: Runner) -> None:
    """Hooke: 50 kg weigh 9.81 x 50 N, and part two marks 1000 mm apart by 8 mm."""
    words = ("stiffness_N", "mass_kg_per_m", "AV10", "PK", "PL")
    told = {word: " ".join(run("words", word).out.split()) for word in words}
    assert "`beltplan words PK`; none for PH, PJ, PL, PM, AV10, AV13, A, B to find it: cut" in told["stiffness_N"]
    newton = re.search(r"so 50 kg and 8 mm make (\d+) N", told["stiffness_N"])
    assert newton is not None and float(newton[1]) == pytest.approx(9.81 * 50.0 / (8.0 / 1000.0), rel=1e-3)
    assert "none for PH, PJ, PL, PM to find it: weigh a belt" in told["mass_kg_per_m"]
    no = "no default, so asked of you where it is needed: "
    assert f"{no}`belt.stiffness_N`, `belt.back_over_rim_mm` stock" in told["AV10"] and no not in told["PK"]
    assert f"{no}`belt.mass_kg_per_m`, `belt.stiffness_N`, `belt.back_over_rim_mm` stock" in told["PL"]


@for_each(("PK", 4.0), ("AV13", 5.0))
def test_a_profile_tells_its_friction_on_either_side_of_the_belt(run: Runner, profile: str, ratio: float) -> None:
    """At half a turn the design friction holds 4 : 1 on ribs (ARPM/RMA IP-26, from memory), 5 : 1 in a V (Shigley)."""
    text = " ".join(run("words", profile).out.split())
    told = {
        each[1]: each for each in re.finditer(r"friction, (\w+): ([\d.]+) in the grooves, ([\d.]+) on the back", text)
    }
    assert list(told) == ["dry", "wet", "design"]
    assert math.exp(float(told["design"][2]) * math.pi) == pytest.approx(ratio, rel=0.01)
    assert all(float(each[3]) < 0.5 * float(each[2]) for each in told.values())
    assert "`beltplan words PK`" in run("words", "friction").out and "on its back" in run("words", "friction").out


@pytest.mark.parametrize(
    ("word", "hint"), [("belt_sid", "belt_side"), ("alternater", "alternator"), ("grip usd", "grip_used")]
)
def test_a_word_that_there_is_not_is_told_with_the_nearest(run: Runner, word: str, hint: str) -> None:
    ran = run("words", word)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == f"there is no word {word!r} (did you mean {hint}?); `beltplan words` shows which there are\n"


@pytest.mark.parametrize("more", [("--json",), ("wrap", "--all"), ("--all", "--schema")])
def test_it_takes_one_wish(run: Runner, more: tuple[str, ...]) -> None:
    ran = run("words", *more)
    assert (ran.code, ran.out) == (2, "") and more[-1] in ran.err


@pytest.mark.parametrize(("more", "key"), [((), "engine"), (("--measurements",), "distances")])
def test_a_schema_is_printed_as_json(run: Runner, more: tuple[str, ...], key: str) -> None:
    ran = run("words", "--schema", *more)
    assert (ran.code, ran.err) == (0, "")
    assert key in json.loads(ran.out)["properties"]


def test_measurements_are_asked_for_beside_a_schema_only(run: Runner) -> None:
    ran = run("words", "--measurements")
    assert (ran.code, ran.out) == (2, "") and "beltplan words --schema --measurements" in ran.err

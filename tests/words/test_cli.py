"""`beltplan words`: the word list, or a schema, on standard output."""

from __future__ import annotations

import json

import pytest

from tests.cli.running import Runner


def test_the_list_is_printed(run: Runner) -> None:
    ran = run("words", "--all")
    assert (ran.code, ran.err) == (0, "") and ran.out.count("never an approval") == 1
    assert all(word in ran.out for word in ("pulleys.NAME.at", "air_conditioning", "min_wrap_deg", "belt_fit", "PK"))


def test_alone_it_tells_on_a_screen_which_words_there_are(run: Runner) -> None:
    ran = run("words")
    assert (ran.code, ran.err) == (0, "") and len(ran.out.splitlines()) < 40
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

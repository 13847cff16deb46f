"""`beltplan words`: the word list, or a schema, on standard output."""

from __future__ import annotations

import json

import pytest

from tests.cli.running import Runner


def test_the_list_is_printed(run: Runner) -> None:
    ran = run("words")
    assert (ran.code, ran.err) == (0, "")
    assert all(word in ran.out for word in ("pulleys.NAME.at", "air_conditioning", "min_wrap_deg", "belt_fit", "PK"))


@pytest.mark.parametrize("extra", ["more", "--json"])
def test_it_takes_nothing_more(run: Runner, extra: str) -> None:
    ran = run("words", extra)
    assert (ran.code, ran.out) == (2, "") and extra in ran.err


@pytest.mark.parametrize(("more", "key"), [((), "engine"), (("--measurements",), "distances")])
def test_a_schema_is_printed_as_json(run: Runner, more: tuple[str, ...], key: str) -> None:
    ran = run("words", "--schema", *more)
    assert (ran.code, ran.err) == (0, "")
    assert key in json.loads(ran.out)["properties"]


def test_measurements_are_asked_for_beside_a_schema_only(run: Runner) -> None:
    ran = run("words", "--measurements")
    assert (ran.code, ran.out) == (2, "") and "beltplan words --schema --measurements" in ran.err

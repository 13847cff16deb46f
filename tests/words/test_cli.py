"""`beltplan words`: the word list on standard output."""

from __future__ import annotations

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

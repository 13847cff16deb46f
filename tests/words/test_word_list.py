"""The word list names everything that a layout file may say and a result may answer."""

from __future__ import annotations

from typing import get_args

import pytest

from beltplan.checks.comparison import RULE
from beltplan.checks.every_check import CHECKS
from beltplan.checks.limits import LIMIT_KEYS, LIMITS
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import Role
from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS
from beltplan.tolerance.study import BUYING
from beltplan.words.word_list import word_list


@pytest.fixture(scope="module")
def words() -> str:
    """The whole list."""
    return word_list(KEYS, MEASUREMENT_KEYS)


def test_every_key_role_limit_profile_and_finding(words: str) -> None:
    lines = [line.strip() for line in words.splitlines()]
    assert {key.path for key in KEYS} <= set(lines)
    measuring = words[words.index("KEYS OF A MEASUREMENTS FILE") : words.index("ROLES")]
    assert {key.path for key in MEASUREMENT_KEYS} <= {line.strip() for line in measuring.splitlines()}
    roles = words[words.index("ROLES") : words.index("BELT PROFILES")]
    assert set(get_args(Role)) <= {word.strip(" ,\n") for word in roles.split()}
    limits = words[words.index("LIMITS  ") : words.index("FINDINGS  ")]
    assert all(any(line.startswith((f"  {key},", f"  {key}:")) for line in limits.splitlines()) for key in LIMIT_KEYS)
    assert all(f"  {check.name}: " in words[words.index("FINDINGS  ") :] for check in CHECKS)
    assert all(any(line.startswith(f"{name}  (") for line in lines) for name in PROFILES)


def test_every_limit_is_told_with_its_number_and_source(words: str) -> None:
    told = " ".join(words.split())
    for bound in LIMITS.values():
        assert f"{bound.limit:g} {bound.unit}" in told and bound.source in told


def test_fit_for_a_terminal(words: str) -> None:
    assert [line for line in words.splitlines() if len(line) > 100] == []
    assert all(character.isprintable() or character == "\n" for character in words)


def test_the_caution_stands_at_its_end(words: str) -> None:
    assert "CAUTION  Rotating belts" in words and "never an approval" in " ".join(words.split())


def test_the_rule_of_the_ranking(words: str) -> None:
    assert RULE in " ".join(words[words.index("RANKING  ") :].split())
    assert BUYING in " ".join(words[words.index("BUYING  ") :].split())

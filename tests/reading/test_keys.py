"""The table of keys, held against the dataclasses that the keys fill (the project's own definition)."""

from __future__ import annotations

from dataclasses import fields
from typing import get_args

import pytest

from beltplan.belts.belt import Belt, Friction
from beltplan.belts.layout import Engine
from beltplan.belts.pulleys import Role
from beltplan.reading.keys import KEYS, MUST, Key, key_at, names_under


def test_every_path_once_and_under_a_known_mapping() -> None:
    paths = [key.path for key in KEYS]
    assert len(set(paths)) == len(paths)
    for key in KEYS:
        parents = key.parent.split(".")
        holder = ".".join(parents[:-1] if parents[-1] in ("NAME", "ENTRY", "LIMIT") else parents)
        assert not holder or holder in paths


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.path)
def test_every_key_is_explained(key: Key) -> None:
    assert key.meaning and key.default
    assert key.needed == (key.default == MUST)
    assert key.least < key.most
    assert key.allowed() and "None" not in key.allowed(25.4)


def test_the_keys_of_flat_mappings_are_the_fields_they_fill() -> None:
    assert set(names_under("engine")) == {field.name for field in fields(Engine)}
    assert set(names_under("belt.friction")) == {field.name for field in fields(Friction)}
    renamed = {"stretch_fit": "stretch_fit_percent"}
    assert set(names_under("belt")) == {renamed.get(field.name, field.name) for field in fields(Belt)}


def test_roles_are_those_of_the_pulley() -> None:
    assert key_at("pulleys.NAME.role").choices == get_args(Role)


def test_ranges_in_words() -> None:
    assert key_at("pulleys.NAME.max_rpm").allowed() == "a number above 0 to 1000000 rpm"
    assert key_at("pulleys.NAME.at").allowed() == "[x, y], each -100000 to 100000 mm"
    assert key_at("pulleys.NAME.grooves").allowed() == "a whole number 1 to 60"
    assert key_at("pulleys.NAME.drives").allowed() == "true or false"

"""Edits of YAML text: what PyYAML reads afterwards is what was meant, and every other line stands as it did."""

from __future__ import annotations

import pytest
import yaml

from beltplan.layoutfile.edits import CannotEdit, name_text, node_at, with_item, with_value
from tests.for_each import for_each

TEXT = """\
# head
belt: 6PK     # six ribs
pulleys:
  # of the engine
  crank: {role: crankshaft, at: [0, 0]}   # first
  pump:
    role: fan      # with its hub
    at:
      - -10        # left
      - 20

route: [crank, pump]
empty:
# tail
"""


def test_a_value_is_set_where_it_stands_and_its_comment_stays() -> None:
    new = with_value(TEXT, ("belt",), "6PK1500")
    assert new == TEXT.replace("6PK ", "6PK1500 ")


@for_each(
    (("pulleys", "crank", "at"), ("1", "2.5"), [1, 2.5]),
    (("pulleys", "pump", "at"), ("-11", "21"), [-11, 21]),
    (("pulleys", "pump", "role"), "idler", "idler"),
    (("pulleys", "crank", "spring", "rate"), "3", 3),
    (("pulleys", "pump", "spring", "rate"), "3", 3),
    (("pulleys", "new one"), "{role: idler}", {"role": "idler"}),
    (("empty",), "7", 7),
    (("empty", "inside"), "7", 7),
    (("fresh", "deep", "er"), "7", 7),
    (("route",), ("pump", "crank"), ["pump", "crank"]),
)
def test_what_is_read_is_what_was_meant(keys: tuple[str, ...], value: str | tuple[str, ...], read: object) -> None:
    new = yaml.safe_load(with_value(TEXT, keys, value))
    old = yaml.safe_load(TEXT)
    place, under = new, old
    for key in keys[:-1]:
        place = place[key]
        if not isinstance(under.get(key), dict):
            under[key] = {}
        under = under[key]
    assert place[keys[-1]] == read
    under[keys[-1]] = read
    assert new == old, "nothing else has changed"


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
@pytest.mark.parametrize("end", ["", "\n"])
def test_a_key_at_the_end_of_the_file(newline: str, end: str) -> None:
    text = f"a: 1{newline}b:{newline}  c: 2{end.replace(chr(10), newline)}"
    new = with_value(text, ("b", "d"), "3")
    assert yaml.safe_load(new) == {"a": 1, "b": {"c": 2, "d": 3}}
    assert new.count("\n") == new.count(newline) == 4


def test_comments_are_all_kept_by_an_insertion() -> None:
    new = with_value(TEXT, ("pulleys", "added"), "{role: idler}")
    assert [line for line in new.splitlines() if line not in TEXT.splitlines()] == ["  added: {role: idler}"]


@for_each("route: [a, b]  # c\n", "route:\n  - a   # one\n  - b\n", "route:\n- a\n- b\nnext: 1\n")
@for_each(0, 1)
def test_an_item_is_put_in_behind_another(text: str, place: int) -> None:
    read = yaml.safe_load(with_item(text, ("route",), place, "new"))["route"]
    assert read == (["a", "new", "b"] if place == 0 else ["a", "b", "new"])


@for_each("crank", "house alternator", "a: b", "null", "true", "7", "öl", "it's", "[x]", "# no")
def test_names_are_quoted_where_they_must_be(name: str) -> None:
    assert str(yaml.safe_load(name_text(name))) == name
    assert yaml.safe_load(f"{{{name_text(name)}: [{name_text(name)}]}}") == {name: [name]}


def test_a_block_is_not_replaced_whole() -> None:
    with pytest.raises(CannotEdit, match="a block of several lines"):
        with_value(TEXT, ("pulleys", "pump"), "{role: idler}")


def test_a_list_is_no_mapping_to_put_keys_in() -> None:
    with pytest.raises(CannotEdit, match="no mapping"):
        with_value(TEXT, ("route", "deep"), "1")
    with pytest.raises(CannotEdit, match="no list"):
        with_item(TEXT, ("belt",), 0, "x")


def test_looking_up() -> None:
    assert node_at(TEXT, ("pulleys", "nobody")) is None


@for_each(
    ("p: {a: 1, # one\n  b: 2, # two, and a comma\n}\n", "p: {a: 1, # one\n  b: 2, # two, and a comma\nc: 3}\n"),
    ("p: {a: 1, # one\n  b: 2 # two, and a comma\n}\n", "p: {a: 1, # one\n  b: 2 # two, and a comma\n, c: 3}\n"),
    ("p: {a: [1, 2]}\n", "p: {a: [1, 2], c: 3}\n"),
    ("p: {a: [1, 2], }\n", "p: {a: [1, 2], c: 3}\n"),
    ("p: {}\n", "p: {c: 3}\n"),
)
def test_a_key_behind_the_last_in_braces_whatever_stands_there(text: str, new: str) -> None:
    assert with_value(text, ("p", "c"), "3") == new
    assert yaml.safe_load(new)["p"] == {**yaml.safe_load(text)["p"], "c": 3}

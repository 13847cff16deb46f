"""Edits of YAML text: what PyYAML reads afterwards is what was meant, and every other line stands as it did."""

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from beltplan.layoutfile.edits import CannotEdit, name_text, node_at, with_item, with_value, without_keys
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


# Keys taken out of a text: what is left says what it said before (PyYAML's own reading), comments and all.


GO = ("go", "gone")

CASES = {
    "a block with its comments": (
        "# head\na: 1\n\n# own\n# too\ngo:   # here\n  x: 1\n  # in it\n  y: [1,\n   2]\n  # trailing\nb: 2   # kept\n",
        "# head\na: 1\n\nb: 2   # kept\n",
    ),
    "the next key's own comment stays": ("a: 1\ngo: 2\n# of b\nb: 3\n", "a: 1\n# of b\nb: 3\n"),
    "a comment under it goes": ("a: 1\ngo: 2\n# of go\n\nb: 3\n", "a: 1\n\nb: 3\n"),
    "a comment by itself stays": ("a: 1\n\ngo: 2\n\n# by itself\n\nb: 3\n", "a: 1\n\n# by itself\n\nb: 3\n"),
    "a paragraph in which it is commented out goes": (
        "a: 1\n\ngo: 2\n\n# words on it\n#gone:\n#  x: 3\n\nb: 3\n",
        "a: 1\n\nb: 3\n",
    ),
    "between two that go all goes": ("a: 1\ngo: 2\n\n# by itself\n\ngone: 3\nb: 4\n", "a: 1\nb: 4\n"),
    "what leads the file stays": ("# head\ngo: 1\na: 2\n", "# head\na: 2\n"),
    "the last one": ("a: 1\n\n# own\ngo:\n- 1\n- 2\n", "a: 1\n"),
    "the last one without a line end": ("a: 1\ngo: {x: 1}", "a: 1\n"),
    "without a value": ("a: 1\ngo:\nb: 2\n", "a: 1\nb: 2\n"),
    "several lines of text": ("a: 1\ngo: one\n  two\n  three\nb: 2\n", "a: 1\nb: 2\n"),
    "after several lines of text": ("a: |\n  # no comment\ngo: 1\nb: 2\n", "a: |\n  # no comment\nb: 2\n"),
    "in quotes": ("a: 1\n'go': 2\nb: 3\n", "a: 1\nb: 3\n"),
    "with a question mark": ("a: 1\n? go\n: 2\nb: 3\n", "a: 1\nb: 3\n"),
    "below, it stays": ("a: {go: 1}\nb:\n  go: 2\n", "a: {go: 1}\nb:\n  go: 2\n"),
    "line ends stay": ("a: 1\r\n# own\r\ngo: 2\r\nb: 3\r\n", "a: 1\r\nb: 3\r\n"),
    "braces, the first": ("{go: [1, 2], a: 1}", "{a: 1}"),
    "braces, in the middle": ("{a: 1, go: {x: 1}, b: 2}", "{a: 1, b: 2}"),
    "braces, the last": ('{"a": 1, "go": "x"}\n', '{"a": 1}\n'),
    "braces, two": ("{go: 1, a: 2, gone: 3}", "{a: 2}"),
}


@for_each(*CASES.values(), ids=CASES.keys())
def test_what_is_left(text: str, left: str) -> None:
    assert without_keys(text, GO) == left
    kept = {key: value for key, value in yaml.safe_load(text).items() if key not in GO}
    assert yaml.safe_load(left) == kept


trees = st.recursive(
    st.one_of(st.integers(), st.booleans(), st.none(), st.text("ab #:-{}[],'\"\n&*", max_size=12)),
    lambda below: st.one_of(st.lists(below, max_size=3), st.dictionaries(st.sampled_from("xyz"), below, max_size=3)),
    max_leaves=6,
)


@given(
    values=st.dictionaries(st.sampled_from(["a", "go", "b", "gone", "c"]), trees, min_size=1),
    flow=st.sampled_from([None, True, False]),
    width=st.sampled_from([20, 80]),
)
def test_any_tree_keeps_the_rest(values: dict[str, object], flow: bool | None, width: int) -> None:
    text = yaml.dump(values, sort_keys=False, default_flow_style=flow, width=width)
    kept = {key: value for key, value in values.items() if key not in GO}
    try:
        left = without_keys(text, GO)
    except CannotEdit:
        assert not kept
        return
    assert (yaml.safe_load(left) or {}) == kept


@for_each("go: 1\n", "go: 1\ngone: 2\n", "- go\n", "", "# go\n")
def test_a_text_of_which_nothing_would_be_left(text: str) -> None:
    with pytest.raises(CannotEdit):
        without_keys(text, GO)


def test_line_ends_that_no_editor_writes_are_no_endless_work() -> None:
    """U+2028 ends a line in YAML 1.1 (5.4), and in no editor of ours."""
    with pytest.raises(CannotEdit, match="unusual"):
        without_keys("a: 1\u2028go: 2\u2028gone: 3", GO)


@for_each("", "\ufeff", "# caf\u00e9 \U0001f600\n", 'title: "\u2028 \U0001f600"\r\n')
def test_an_edit_finds_its_place_behind_whatever_characters(before: str) -> None:
    """By hand: only the one value is another; marks that count bytes would cut elsewhere."""
    text = before + TEXT.replace("\n", "\r\n")
    assert with_value(text, ("belt",), "6PK1500") == text.replace("6PK ", "6PK1500 ")
    assert with_value(text, ("pulleys", "pump", "at"), ("-11", "20")) == text.replace("-10", "-11")

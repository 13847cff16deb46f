"""Keys taken out of a text: what is left says what it said before (PyYAML's own reading), comments and all."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from beltplan.layoutfile.edits import CannotEdit, without_keys
from tests.for_each import for_each

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

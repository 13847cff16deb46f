"""YAML text as a tree: what the parser must never do to us.

Source of the words (alias, anchor, tag, merge key): YAML 1.1 specification, chapters 3 and 5, and its merge key type.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.faults import FaultList
from beltplan.layoutfile import document
from beltplan.layoutfile.document import Scalar, Sequence, Table, parse_document
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

BOMB = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"a{n}: &a{n} [" + ", ".join([f"*a{n - 1}"] * 9) + "]\n" for n in range(1, 12)
)


@pytest.fixture(params=["compiled", "pure Python"])
def loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both of PyYAML's parsers, for a machine without the compiled one."""
    import yaml

    name = "CSafeLoader" if request.param == "compiled" else "SafeLoader"
    monkeypatch.setattr(document, "_LOADER", getattr(yaml, name, yaml.SafeLoader))


def test_tree_with_lines() -> None:
    faults = FaultList()
    tree = parse_document("a: 010\nb:\n  - 'x'\n  - &n {c: }\n  - *n\n", faults)
    assert not faults.found and tree is not None
    assert tree.entries["a"].value == Scalar(1, "010", True)
    items = tree.entries["b"].value
    assert isinstance(items, Sequence) and tree.entries["b"].line == 2
    assert items.items[0] == Scalar(3, "x", False)
    assert isinstance(items.items[1], Table) and items.items[2] is items.items[1]
    empty = items.items[1].entries["c"].value
    assert isinstance(empty, Scalar) and empty.is_null


@pytest.mark.usefixtures("loader")
@for_each(
    ("", 1, "an empty file"),
    ("# only a comment\n", 1, "an empty file"),
    ("---\n", 1, "an empty file"),
    ("- a\n- b\n", 1, "a list"),
    ("just words\n", 1, "'just words'"),
    ("a: 1\n---\nb: 2\n", 2, "a second document"),
    ("a: [1, 2\nb: 3\n", 1, "a closing bracket `]` seems to be missing after `[1, 2`"),
    ("a: 1\n\tb: 2\n", 2, "indent with spaces"),
    ("a: *nobody\n", 1, "no anchor before it"),
    ("a: 1\nb: &b [*b]\n", 2, "inside its own anchor"),
    (BOMB, 5, "more than 20000 values"),
    ("a: " + "[" * 100_000, 1, "nesting"),
    ("a: " + "{b: " * 50_000, 1, "nesting deeper than 30"),
    ("- " * 40 + "x\n", 1, "nesting deeper than 30"),
    ("a: [" + "x," * 100_000 + "]\n", 1, "more than 60000 parts"),
    ("a: [" + "x," * 25_000 + "]\n", 1, "more than 20000 values"),
)
def test_text_that_cannot_be_read(tmp_path: Path, text: str, line: int, words: str) -> None:
    (fault,) = faults_of(tmp_path, text)
    assert (fault.line, fault.key) == (line, "file")
    assert words in fault.got


@pytest.mark.usefixtures("loader")
@for_each(
    (("diameter: 130}", "diameter: !!float 130}"), 4, "file", "the tag 'tag:yaml.org,2002:float'"),
    (("diameter: 130}", "diameter: !secret 130}"), 4, "file", "the tag '!secret'"),
    (("crank: {role", "crank: !!python/object/apply:os.system {role"), 3, "file", "python/object/apply"),
    (("diameter: 130}", "diameter: 130, diameter: 131}"), 4, "pulleys.pump.diameter", "lines 4 and 4"),
    (("route:", "belt: 6PK\nroute:"), 12, "belt", "a second time (lines 1 and 12)"),
    (("belt: 6PK", "belt: 6PK\n? [a, b]\n: 1"), 2, "file", "a list as a key"),
    (("belt: 6PK", "belt: 6PK\n? {a: b}\n: 1"), 2, "file", "a mapping as a key"),
    (("diameter: 130}", "diameter: 130, <<: {turns: either}}"), 4, "pulleys.pump.<<", "a merge key"),
)
def test_yaml_that_is_refused(tmp_path: Path, change: tuple[str, str], line: int, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace(*change))
    assert (fault.line, fault.key) == (line, key)
    assert words in fault.got


@pytest.mark.usefixtures("loader")
def test_aliases_within_reason_are_read(tmp_path: Path) -> None:
    text = PLAIN.replace("at: [0, 0]", "at: &zero [0, 0]").replace("at: [0, 245]", "at: *zero")
    assert read_layout(written(tmp_path, text)).layout.pulleys["idler"].at_mm == (0.0, 0.0)

"""Laying one mapping over another: key by key, as RFC 7396 (JSON merge patch) does it."""

from __future__ import annotations

from pathlib import Path

from beltplan.faults import FaultList
from beltplan.layoutfile.document import Scalar, Table, overlay, parse_document
from tests.layoutfile.samples import PLAIN, faults_of


def table(text: str) -> Table:
    """The mapping of a YAML text."""
    read = parse_document(text, FaultList())
    assert read is not None
    return read


def plain(node: object) -> object:
    """The same as plain data, keys that hold null left out."""
    if isinstance(node, Table):
        values = {key: plain(entry.value) for key, entry in node.entries.items()}
        return {key: value for key, value in values.items() if value is not None}
    if isinstance(node, Scalar):
        return None if node.is_null else node.text
    return [plain(item) for item in getattr(node, "items", ())]


def test_the_example_of_rfc_7396_section_3() -> None:
    author = "{givenName: John, familyName: Doe}"
    base = table(f"{{title: Goodbye!, author: {author}, tags: [example, sample], content: This}}")
    patch = table("{title: Hello!, phoneNumber: '+01', author: {familyName: null}, tags: [example]}")
    assert plain(overlay(base, patch)) == {
        "title": "Hello!",
        "author": {"givenName": "John"},
        "tags": ["example"],
        "content": "This",
        "phoneNumber": "+01",
    }


def test_lines_stay_those_of_the_values() -> None:
    laid = overlay(table("a: {b: 1}\nc: 2\n"), table("\n\n\na: {b: 3}\n"))
    inner = laid.entries["a"].value
    assert isinstance(inner, Table)
    assert (laid.entries["a"].line, inner.entries["b"].line, laid.entries["c"].line) == (1, 4, 2)


def test_the_base_is_left_as_it_was() -> None:
    base = table("a: {b: 1}\n")
    overlay(base, table("a: {b: 2, c: 3}\n"))
    assert plain(base) == {"a": {"b": "1"}}


def test_a_misspelt_pulley_in_a_variant_is_asked_after_once(tmp_path: Path) -> None:
    """It would else be a new pulley of which all is missing."""
    (fault,) = faults_of(tmp_path, PLAIN + "variants:\n  small: {pulleys: {pumpp: {diameter: 120}}}\n")
    assert (fault.line, fault.key) == (14, "variants.small.pulleys.pumpp")
    assert fault.got == "a pulley without a role that the file does not have (did you mean pump?)"

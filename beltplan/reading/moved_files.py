"""Names of drawings in a layout's text, rewritten so that they still lead there from another folder."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator

import yaml

from beltplan.reading.text_edits import CannotEdit
from beltplan.reading.variants import VARIANTS


def with_files_from(text: str, old: str, new: str) -> str:
    """The text of a layout file with its relative `file` names as they are seen from another folder.

    old, new: the folder of the text as it is, and the one where it goes, both without links in them. Raises CannotEdit.
    """
    if old == new:
        return text
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    # An anchored name is met again at each of its aliases: each place is rewritten once, the last first.
    named = {node.start_mark.index: node for node in _files(root)}
    for start, node in sorted(named.items(), reverse=True):
        if node.value and not os.path.isabs(node.value):
            if node.style in ("|", ">"):
                raise CannotEdit(f"line {node.start_mark.line + 1}: the name of a file over several lines")
            name = json.dumps(_seen_from(new, os.path.join(old, node.value)), ensure_ascii=False)
            text = text[:start] + name + text[node.end_mark.index :]
    return text


def _seen_from(folder: str, path: str) -> str:
    try:
        return os.path.relpath(path, folder)
    except ValueError:  # on another drive
        return os.path.abspath(path)


def _files(root: yaml.Node | None) -> Iterator[yaml.ScalarNode]:
    tops = [root, *_values(_value(root, VARIANTS))]
    for top in tops:
        for obstacle in _values(_value(top, "obstacles")):
            file = _value(obstacle, "file")
            if isinstance(file, yaml.ScalarNode):
                yield file


def _values(node: yaml.Node | None) -> list[yaml.Node]:
    return [value for _, value in node.value] if isinstance(node, yaml.MappingNode) else []


def _value(node: yaml.Node | None, key: str) -> yaml.Node | None:
    pairs = node.value if isinstance(node, yaml.MappingNode) else []
    return next((value for name, value in pairs if name.value == key), None)

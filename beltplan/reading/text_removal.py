"""Keys taken out of the top of a YAML text, each with its block and the comments that are its own."""

from __future__ import annotations

import re
from collections.abc import Container, Sequence

import yaml

from beltplan.reading.text_edits import CannotEdit, end_of, root_of

Pairs = list[tuple[yaml.Node, yaml.Node]]
Span = tuple[int, int]
_BLANK_END = re.compile(r"(\r?\n)(?:[ \t]*\r?\n)+\Z")
# Comments at the margin with a blank line on either side, and the blank ones behind.
_PARAGRAPH = re.compile(r"(?:(?<=\n\n)|(?<=\n\r\n))(?:#[^\n]*\n)+(?:[ \t\r]*\n|\Z)+", re.MULTILINE)


def without_keys(text: str, keys: Sequence[str]) -> str:
    """The text without some keys of its top mapping.

    A key's own comments go with it: those in its block, those directly above it, those between two keys that both go,
    and every paragraph of comments in which one of the keys is commented out. What leads the file stays.
    Raises CannotEdit where nothing would be left.
    """
    root = root_of(text)
    if not isinstance(root, yaml.MappingNode):
        raise CannotEdit("the file's top is no mapping")
    while (place := _first(root, keys)) is not None:
        start, end = _in_braces(root, place) if root.flow_style else _block(text, root, place, keys)
        if end <= start:
            raise CannotEdit("its lines end in an unusual way")
        text = text[:start] + text[end:]
        root = root_of(text)
        if not isinstance(root, yaml.MappingNode):
            raise CannotEdit("nothing would be left of the file")
    return _without_disused(text, keys)


def refuse_aliases(text: str, but_in: Container[str]) -> None:
    """Refuse a text with an alias in it: what stands in two places cannot be edited in one.

    but_in: keys of the top whose values may hold some. Raises CannotEdit.
    """
    root = root_of(text)
    spans = [
        (key.start_mark.index, end_of(value))
        for key, value in (root.value if isinstance(root, yaml.MappingNode) else [])
        if key.value in but_in
    ]
    for event in yaml.parse(text, Loader=yaml.SafeLoader):
        mark = event.start_mark
        if isinstance(event, yaml.AliasEvent) and mark and not any(at <= mark.index < end for at, end in spans):
            raise CannotEdit(f"line {mark.line + 1}: *{event.anchor} is an alias; write out in full what it stands for")


def _without_disused(text: str, keys: Sequence[str]) -> str:
    """The text without the paragraphs of comments, at the margin, in which a key is commented out."""
    disused = re.compile(rf"^#[ ]?(?:{'|'.join(map(re.escape, keys))}):", re.MULTILINE)
    text = _PARAGRAPH.sub(lambda found: "" if disused.search(found.group()) else found.group(), text)
    return _BLANK_END.sub(r"\1", text)


def _first(root: yaml.MappingNode, keys: Container[str]) -> int | None:
    return next((place for place, (key, _) in enumerate(root.value) if key.value in keys), None)


def _in_braces(root: yaml.MappingNode, place: int) -> Span:
    """Where an entry of a mapping in braces stands, with one of the commas beside it."""
    pairs: Pairs = root.value
    key, value = pairs[place]
    if place + 1 < len(pairs):
        return key.start_mark.index, pairs[place + 1][0].start_mark.index
    if place:
        return end_of(pairs[place - 1][1]), end_of(value)
    return key.start_mark.index, end_of(value)


def _block(text: str, root: yaml.MappingNode, place: int, keys: Container[str]) -> Span:
    """The lines of an entry with its own comments, and the blank ones behind it where some stand before it."""
    pairs: Pairs = root.value
    key, value = pairs[place]
    start = _line_start(text, key.start_mark.index)
    if place:
        # What leads the file is no one key's own.
        start = _own_above(text, start, end_of(pairs[place - 1][1]), key.start_mark.column)
    end = _line_end(text, max(end_of(value), key.end_mark.index) - 1)
    if place + 1 < len(pairs):
        following, column = pairs[place + 1][0], pairs[place + 1][0].start_mark.column
        below = _line_start(text, following.start_mark.index)
        if following.value in keys:
            return start, below
        end = _own_below(text, end, _own_above(text, below, end, column), column)
    else:
        end = _own_below(text, end, len(text), 0)
    return start, _past_blanks(text, end) if _blank_before(text, start) else end


def _own_above(text: str, start: int, least: int, column: int) -> int:
    """Start of the comments that stand directly above a key, indented as it is or less, not above `least`."""
    while start > 0:
        above = _line_start(text, start - 1)
        line = text[above:start]
        bare = line.lstrip(" \t")
        if above < least or not bare.startswith("#") or len(line) - len(bare) > column:
            break
        start = above
    return start


def _own_below(text: str, end: int, most: int, column: int) -> int:
    """End of the comments that stand directly below a block, or are indented more than its key, above `most`."""
    last = end
    while end < most:
        line = text[end : _line_end(text, end)]
        bare = line.lstrip(" \t")
        indented = len(line) - len(bare) > column
        if not bare.strip():
            end += len(line)
        elif bare.startswith("#") and (indented or last == end):
            end += len(line)
            last = end
        else:
            break
    return last


def _blank_before(text: str, start: int) -> bool:
    return start == 0 or not text[_line_start(text, start - 1) : start].strip()


def _past_blanks(text: str, end: int) -> int:
    while end < len(text) and not text[end : _line_end(text, end)].strip():
        end = _line_end(text, end)
    return end


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1

"""The forms in which a reading may be written, and how accurate it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple, TypeVar

from beltplan.layoutfile.document import Node, Scalar, Sequence, Table, kind_of
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.schema import (
    USUAL_DEG,
    USUAL_DIAMETER_MM,
    USUAL_MM,
    USUAL_OFFSET_MM,
    USUAL_PX,
    key_at,
    names_under,
    written_as,
)
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.values import commas_in, read_length

_MOST_TIMES = 50
_MOST_ENTRIES = 500
_Name = TypeVar("_Name")
_Value = TypeVar("_Value")


@dataclass(frozen=True, eq=False)
class Accuracy:
    """One standard deviation of each kind of measurement."""

    distance_mm: float = USUAL_MM
    angle_deg: float = USUAL_DEG
    offset_mm: float = USUAL_OFFSET_MM
    diameter_mm: float = USUAL_DIAMETER_MM
    place_px: float = USUAL_PX


def read_accuracy(top: Section) -> Accuracy:
    """The accuracy that the file gives, the usual one where it gives none."""
    section = top.mapping("accuracy")
    given = {} if section is None else section.given()
    return Accuracy(**{name: value for name, value in given.items() if value is not None})


class Form(NamedTuple):
    """One reading. holder: the mapping of all of its kind. path: its key below that. own: its mapping, if it has one.

    form: path of the keys that its mapping may have.
    """

    holder: Section
    path: str
    node: Node | None
    line: int
    own: Section | None
    form: str

    @property
    def written(self) -> str:
        return self.node.text if isinstance(self.node, Scalar) else ""

    def given(self, key: str) -> Any:
        """What its mapping says at a key; None where it says nothing, or has none."""
        return None if self.own is None else self.own.value(key)

    def length(self, key: Key | None = None) -> float | None:
        """Its value as a length, mm. key: what it may be, where not as its form says."""
        scale = self.holder.scale
        return self.read(lambda node, spec: read_length(node, spec, scale), key)

    def read(self, convert: Callable[[Node, Key], _Value], key: Key | None = None) -> _Value | None:
        """Its value by a function that may raise Misread, which is noted."""
        if self.node is None:
            return None
        return self.holder.converted(self.path, self.node, key or key_at(f"{self.form}.value"), convert, self.line)


def _each(holder: Section, name: str) -> Iterator[tuple[str, Node | None, int]]:
    node = holder.node(name)
    if not isinstance(node, Sequence):
        yield name, node, holder.line_of(name)
    elif not 1 <= len(node.items) <= _MOST_TIMES:
        holder.refuse(name, f"a list of {len(node.items)}", f"a list of 1 to {_MOST_TIMES} readings")
    elif wrong := commas_in(node):
        holder.refuse(name, *wrong)
    else:
        yield from ((f"{name}.{place}", item, item.line) for place, item in enumerate(node.items, start=1))


def _section(holder: Section, path: str, table: Table, line: int, form: str) -> Section:
    own = holder.opened(path, table, line, form)
    own.check_keys()
    return own


def _form(holder: Section, path: str, node: Node | None, line: int, form: str) -> Form | None:
    if node is None:
        holder.refuse(path, "nothing", key_at(f"{form}.value").allowed(holder.scale))
        return None
    if not isinstance(node, Table):
        return Form(holder, path, node, line, None, form)
    own = _section(holder, path, node, line, form)
    value = own.node("value")
    if value is None:
        own.missing("value", key_at(f"{form}.value").allowed(holder.scale))
    return Form(holder, f"{path}.value", value, own.line_of("value"), own, form)


def tables_of(holder: Section, name: str) -> Iterator[Section]:
    """The mappings under a name of the user's, by themselves or in a list; what is none is noted."""
    form = f"{holder.form}.NAME"
    for path, node, line in _each(holder, name):
        if isinstance(node, Table):
            yield _section(holder, path, node, line, form)
        else:
            # Where one of the keys stands in the place of a name, the name is what is missing.
            written = written_as(holder.form if name in names_under(form) else form)
            holder.refuse(path, "nothing" if node is None else kind_of(node), f"a mapping: {written}", line)


def length(own: Section, key: str, node: Node | None = None, spec: Key | None = None) -> float | None:
    """A length, mm, None where there is none; noted at the key where it is wrong. node, spec: where not the key's."""
    node = own.node(key) if node is None else node
    if node is None:
        return None
    return own.converted(key, node, spec or own.spec(key), lambda each, its: read_length(each, its, own.scale))


def entries_of(top: Section, key: str) -> Iterator[tuple[Section, str]]:
    """The mapping at a key of the top with each of its keys, the user's own; none where absent, wrong or empty."""
    section = top.free_mapping(key)
    if section is None:
        return
    if not 1 <= len(section.table.entries) <= _MOST_ENTRIES:
        top.refuse(key, f"a mapping of {len(section.table.entries)}", f"1 to {_MOST_ENTRIES} entries")
        return
    for name in section.table.entries:
        yield section, name


def forms_of(
    top: Section, key: str, word: str, known: Callable[[Section, str], _Name | None]
) -> Iterator[tuple[Form, _Name | None]]:
    """Every reading at a key of the top, with what its name stands for; None where for nothing, which is noted."""
    for section, name in entries_of(top, key):
        stands_for, form = known(section, name), f"{section.form}.{word}"
        for each in [_form(section, *each, form) for each in _each(section, name)]:
            if each is not None:
                yield each, stands_for

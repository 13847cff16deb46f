"""One mapping of the file, read key by key; whatever is wrong is noted, and reading goes on."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import groupby, pairwise
from typing import Any, TypeVar

from beltplan.drive.own_units import own_unit_value, unit_in_name
from beltplan.drive.pulleys import NOTHING_SAID, Uncertainty
from beltplan.faults import FaultList, did_you_mean, nearest, nearest_few
from beltplan.layoutfile.document import Node, Scalar, Sequence, Table, flow_of, joined, kind_of, text_of
from beltplan.layoutfile.file_units import scale_of
from beltplan.layoutfile.keys import LENGTHS, NONE, Key
from beltplan.layoutfile.names_meant import as_used, respelt
from beltplan.layoutfile.schema import FORMS, beside, homes_of, key_at, names_under, written_as
from beltplan.layoutfile.synonyms import letters_of, meant_by, turned, word_meant
from beltplan.layoutfile.values import (
    LEAST_USUAL,
    READERS,
    Misread,
    commas_in,
    has_unit,
    is_bare,
    number,
    with_points,
    wrong_name,
)


@dataclass(frozen=True, eq=False)
class Beside:
    """The folder of a layout file, and what was read from it already, for the file's variants.

    folder: that of the file itself, where the path given is a link. drawings: by their paths, outlines: by what was
    asked; each what was found, or the WrongDrawing that was raised.
    """

    folder: str
    drawings: dict[str, Any] = field(default_factory=dict)
    outlines: dict[tuple[str, str | None, str | None, float], Any] = field(default_factory=dict)


_Value = TypeVar("_Value")

_A_LENGTH = re.compile(r"[-+]?[\d./ ]+(?:(?:mm|cm|in)\b.*)?")
_X_OR_Y = re.compile(r"(?:(?P<key>\w+?)_)?(?P<axis>[xXyY])(?:_(?P<unit>mm|in))?")
_MOST_UNKNOWN = 30
"""Unknown names in one mapping above which they are counted instead of listed."""
_MOST_BESIDE_GUESS = 8
_SURE = 0.8
"""Known names above which, where one is guessed at, only those next to it are listed; and how like these must be."""
_MOST_CHOICES = 4
"""A hint at a key shows so many words that it may have."""


@dataclass(frozen=True, eq=False)
class Section:
    """A mapping of the file. Each reading gives None where the key is absent, null or wrong.

    path: names from the top of the file. form: the same in the words of `keys`. scale: mm for one unit of the file.
    beside: where files that it names are looked for.
    """

    table: Table
    line: int
    path: tuple[str, ...]
    form: str
    scale: float
    faults: FaultList
    beside: Beside

    def node(self, key: str) -> Node | None:
        """The value at a key, None where absent, null, or `none` where that is the default."""
        node = self.table.node(key)
        said = isinstance(node, Scalar) and node.plain and key in names_under(self.form) and node.text.lower()
        words = (NONE, *("no", "false", "off") * ("mapping" in self.spec(key).kind)) if said else ()
        return None if said in words and self.spec(key).default.startswith(NONE) else node

    def has(self, key: str) -> bool:
        return self.node(key) is not None

    @property
    def names(self) -> tuple[str, ...]:
        """The keys that hold a value, as they stand in the file."""
        return tuple(key for key in self.table.entries if self.has(key))

    def line_of(self, key: str) -> int:
        """The key's line, else that of the mapping."""
        entry = self.table.entries.get(key)
        return self.line if entry is None else entry.line

    def refuse(self, key: str, got: str, allowed: str, line: int | None = None, astray: bool | None = None) -> None:
        self.faults.add(self.line_of(key) if line is None else line, (*self.path, key), got, allowed, astray)

    def missing(self, key: str, allowed: str) -> None:
        """Note that a key is not there, unless it is, misspelt, which is noted as such."""
        if not self.misspelt((key,)):
            self.refuse(key, "nothing", allowed)

    def misspelt(self, keys: Collection[str]) -> bool:
        """Whether one of these keys is there in other words, as an empty block, or beside this mapping."""
        known, beside = names_under(self.form), [".".join((*self.path[:-1], key)) for key in keys]
        if any(map(self._is_blank, keys)) or any(each.astray and each.key in beside for each in self.faults.found):
            return True
        unknown = [name for name in self.table.entries if name not in known][:_MOST_UNKNOWN]
        return any(
            (self._in_other_unit(name, known)[0] or word_meant(name, known) or nearest(name, known)) in keys
            or any(key in keys for key in (*self._parted(name)[:1], self._turned(name, known)[0]))
            for name in unknown
        )

    def check_keys(self, allowed: tuple[str, ...] = ()) -> None:
        """Note every key that this mapping does not know, or that counts only beside another one, without it."""
        known = allowed or names_under(self.form)
        self.refuse_others(tuple(self.table.entries), known, "key")
        for key in filter(self._is_blank, known):
            spec = self.spec(key)
            kind, is_mapping, _ = spec.kind.partition("mapping")
            form = kind + written_as(spec.path) if is_mapping else spec.allowed(self.scale)
            none = f"; or `{key}: null` for none" * (not spec.needed)
            self.refuse(key, f"is empty; write what belongs there: {form}{none}", "")
        for key in (each for each in self.names if each in known):
            groups = (each for each in beside(self.form, key) if not (any(map(self.has, each)) or self.misspelt(each)))
            # A default that is written says no more than a key left out.
            if (others := next(groups, None)) and text_of(self.node(key)) != self.spec(key).default:
                homes = " or ".join(f"`{each}`" for each in others)
                self.refuse(key, f"{key} without {homes}", f"{homes} {self._how_beside(others)}, or no {key}")

    def _how_beside(self, others: tuple[str, ...]) -> str:
        """How one of these keys is to be added, and what is written there if there is but one."""
        forms = (form for each in FORMS.get(self.form, ()) if others[0] in each for form in each)
        rival, first = next(filter(self.has, forms), None), self.spec(others[0])
        what = "; ".join(filter(None, (", ".join(first.choices), first.meaning)))
        return (f"in place of `{rival}`" if rival else "beside it") + f" ({what})" * (len(others) == 1)

    def refuse_others(self, names: tuple[str, ...], known: tuple[str, ...], what: str) -> None:
        points = [*self._points(known)]
        told = {*filter(None, map(self._behind, self.table.entries)), *(name for own, _ in points for name in own)}
        for own, meant in points:
            self.refuse(
                own[0], f"{' and '.join(own)} (write {meant})", f"{meant.partition(':')[0]}: [x, y]", astray=False
            )
        unknown = [name for name in names if name not in known and name not in told]
        if len(unknown) > _MOST_UNKNOWN:
            self.refuse(unknown[0], f"{len(unknown)} unknown {what}s, this the first", ", ".join(known))
            return
        for name in unknown:
            if self.is_alone(name) and _A_LENGTH.fullmatch(name) and not self._parted(name):
                self.refuse(name, "a number after a comma", "a decimal with a point (56.5), a fraction as 7 1/4")
            else:
                self._refuse_unknown(name, known, what)

    def _refuse_unknown(self, name: str, known: tuple[str, ...], what: str) -> None:
        hint, home = self._hint_at(name, known)
        if home:
            self.refuse(name, f"an unknown {what} here", home, astray=True)
            return
        named = tuple(key for key in known if re.search(rf"\b{re.escape(key)}\b", hint))
        shown = known
        if hint and what == "key" and len(known) > _MOST_BESIDE_GUESS:
            # A word that is but guessed at is no more than one of all.
            sure = named if hint != did_you_mean(name, known) else ()
            shown = nearest_few(name.lower(), known, _SURE) or sure or known
        others = f" and {len(known) - len(shown)} others" * (len(shown) < len(known))
        # No fault lists all limits.
        many = self.form == "limits" and len(shown) > _MOST_UNKNOWN
        allowed = f"those of `beltplan words {self.form}`" if many else ", ".join(shown) + others
        if (there := [*filter(self.has, named)]) and self.form != "limits":
            hint = f" (`{there[0]}` is there too: take one of them out)"
        self.refuse(name, f"an unknown {what}{hint}", allowed, astray=not hint)

    def _points(self, known: tuple[str, ...]) -> Iterator[tuple[list[str], str]]:
        """The names of coordinates that stand apart, those of one point together, and how it is written."""
        apart = [match for name in self.table.entries if name not in known and (match := _X_OR_Y.fullmatch(name))]
        wanted = (key for key in known if key in names_under(self.form) and not self.has(key))
        for key in (each for each in wanted if self.spec(each).kind.startswith("point")):
            own = {each["axis"].lower(): each for each in apart if (each["key"] or "at") == key}
            texts = {axis: getattr(self.node(each[0]), "text", "...") for axis, each in own.items()}
            shown = (f"{texts[axis]} {own[axis]['unit'] or ''}".rstrip() if axis in own else "..." for axis in "xy")
            if own:
                yield [each[0] for each in own.values()], f"{key}: [{', '.join(shown)}]"

    def _respelt(self, known: tuple[str, ...]) -> Section:
        """The same with every key that stands in other letters as its form writes it; that it does is noted."""
        table = respelt(self.table, known)
        if others := tuple(name for name in self.table.entries if name not in table.entries):
            self.refuse_others(others, known, "key")
        return replace(self, table=table)

    def _hint_at(self, name: str, known: tuple[str, ...]) -> tuple[str, str]:
        """What is meant by an unknown name, and where that belongs if not here; each empty where it is not known."""
        above, _, own = self.form.rpartition(".")
        if turn := self._turned(name, known)[1]:
            return f" (write {turn})", ""
        meant = word_meant(name, names_under(self.form))
        if meant in known and meant not in self.table.entries and self.spec(meant).needed:
            return self._offer(self._with_unit(meant, self.node(name)), name), ""
        if above and name in names_under(above):
            return "", f"beside `{own}`, one level up"
        if units := [key for key in known if key.rpartition("_")[:2] == (name, "_")]:
            unit = "in" if self.scale != 1.0 and [units[0]] == units and units[0].endswith("_mm") else ""
            return self._offer(self._with_unit(" or ".join(units), self.node(name), unit), name), ""
        if (parted := self._parted(name)) and parted[0] in known:
            return f" (write {': '.join(parted)}, with a colon and a space)", ""
        below = [key for key in known if name in names_under(f"{self.form}.{key}".lstrip("."))]
        if 1 <= len(below) <= 2:
            return "", f"under `{'` or `'.join(below)}`"
        homes = [] if word_meant(name, known) else [home for home in homes_of(name) if home != self.form]
        # Not deep below: what is written as a pulley's width is not that of a slot of its mount.
        if len(homes) == 1 and not (self.form and homes[0].startswith(f"{self.form}.")):
            return "", f"under `{homes[0]}`" if homes[0] else "at the left edge"
        if isinstance(node := self.node(name), Table):
            if (near := nearest(name, known)) in names_under(self.form) and self.spec(near).kind.startswith("list"):
                return f" (write {near}: [{{...}}])", ""
            inside = {key: word_meant(key, known) or nearest(key, known) for key in node.entries}
            if self.form == "limits" and all(inside.values()):
                values = (f"{key}: {{{name}: {getattr(node.node(own), 'text', '...')}}}" for own, key in inside.items())
                return f" (write {', '.join(values)})", ""
            if name in getattr(self.node("pulleys"), "entries", ()):
                return "", f"under `pulleys`, as pulleys: {{{name}: ...}}"
            if "role" in node.entries:
                return "", "under `pulleys`"
        key, unit = self._in_other_unit(name, known)
        if key:
            return self._offer(self._with_unit(key, self.node(name), unit), name), ""
        sure, hint = word_meant(name, known), meant_by(name, known)
        return self._offer(sure, name) if sure and hint == f" (write {sure})" else hint, ""

    def _offer(self, text: str, name: str) -> str:
        """A hint at what to write; at a key of few words with the one that is meant, or with all where what stands
        there is none; at one in other letters only the key, since its value is read.
        """
        spec, said = self.spec(text) if text in names_under(self.form) else None, text_of(self.node(name))
        if spec is None or said in spec.choices or not 0 < len(spec.choices) <= _MOST_CHOICES:
            return f" (write {text})"
        if letters_of(name) == letters_of(text):
            return f" (write {text})"
        word = word_meant(said, spec.choices) or f"{' or '.join(spec.choices)}, {spec.meaning.partition(';')[0]}"
        return f" (write {text}: {word})"

    def _turned(self, name: str, known: tuple[str, ...]) -> tuple[str, str]:
        """The known key that one stands for whose number is another quantity, and what to write; else both empty."""
        text, of = text_of(self.node(name)), self.form.partition(".")[0].removesuffix("s")
        turns = ((key, turned(name, key, text, of * (key == "value"))) for key in known)
        return next((each for each in turns if each[1]), ("", ""))

    def _parted(self, name: str) -> tuple[str, ...]:
        """A key and the value behind it where in braces no colon and space part them; else nothing."""
        if not self.is_alone(name):
            return ()
        if _A_LENGTH.fullmatch(name):
            return ("value", name) if "value" in names_under(self.form) and not self.has("value") else ()
        found = re.fullmatch(r"(\w+)\s*(?:[:=;\s]|\.\s)\s*(-(?=\s*\d))?\s*(\S.*)", name)
        return (found[1], (found[2] or "") + found[3]) if found else ()

    def is_alone(self, name: str) -> bool:
        """Whether a key stands in braces without a colon and a value."""
        node = self.node(name)
        return isinstance(node, Scalar) and not node.text

    def _behind(self, key: str) -> str:
        """The word in braces that stands behind a key, parted from it by no colon; else nothing."""
        known = names_under(self.form)
        if key not in known or not self.is_alone(key):
            return ""
        following = dict(pairwise(self.table.entries)).get(key, "")
        return following if following not in known and self.is_alone(following) else ""

    def _is_blank(self, key: str) -> bool:
        """Whether a key for a block, or one on which others hang, stands there with nothing behind it."""
        if key not in names_under(self.form) or self.has(key) or not self._stands(key):
            return False
        if self.spec(key).kind in ("mapping", "usual or mapping"):
            return self.spec(key).entries == (0, 0)
        return any(key in group for each in self.names for group in beside(self.form, each))

    def _stands(self, key: str) -> bool:
        """Whether a key is there, with a value or with nothing behind it; a null stands for an absent key."""
        entry = self.table.entries.get(key)
        return entry is not None and (self.has(key) or getattr(entry.value, "text", None) == "")

    def _in_other_unit(self, name: str, known: tuple[str, ...]) -> tuple[str, str]:
        """The known key that one stands for which names another unit, and that unit; both empty where there is none."""
        specs = ((key, self.spec(key).unit) for key in known if self.form and key in names_under(self.form))
        units = [(key, found) for key, unit in specs if (found := unit_in_name(name, key, unit))]
        # The name of a unit alone may stand for one key only.
        return units[0] if len(units) == 1 else ("", "")

    def _with_unit(self, key: str, node: Node | None, unit: str = "") -> str:
        """The key with the number that stands at another and carries its unit, else is in that one; alone where that
        is hardly meant, or not sure.
        """
        text = text_of(node)
        is_bare_number = re.fullmatch(r"[-+\d][\d./ -]*", text) is not None
        if " or " in key or not (bool(unit) if is_bare_number else has_unit(text)):
            return key
        spec, written = self.spec(key), f"{text} {unit}".rstrip() if is_bare_number else text
        value = own_unit_value(written, spec.unit)
        usual = value is None or (spec.holds(value) and abs(value) >= LEAST_USUAL.get(spec.unit, 0.0))
        return f"{key}: {written}" if usual else key

    def value(self, key: str, word: str = "") -> Any:
        """What the table of keys says is at a key: words, a flag, numbers; lengths in mm. word: as for `items`."""
        kind = self.spec(key, word).kind
        read = READERS.get(kind, number)
        each = self.each if kind in ("numbers", "list") else self._read
        return each(key, lambda node, spec: read(node, spec, self.scale), word)

    def given(self, *keys: str) -> dict[str, Any]:
        """Values by their keys; of every key that is no mapping where none is named."""
        plain = (key for key in names_under(self.form) if "mapping" not in self.spec(key).kind)
        return {key: self.value(key) for key in keys or plain}

    def items(self, key: str, word: str = "") -> tuple[Node, ...] | None:
        """The entries of a list. word: what stands in the table of keys for a name of the user's."""
        return self._read(key, _items, word)

    def each(self, key: str, convert: Callable[[Node, Key], _Value], word: str = "") -> tuple[_Value, ...] | None:
        """The entries of a list, each converted; None where the list is absent or anything in it is wrong."""
        nodes, spec = self.items(key, word) or (), self.spec(key, word)
        in_lists = spec.kind in ("list of readings", "list of holes") or (spec.kind == "list" and spec.unit)
        if nodes and in_lists and all(isinstance(node, Scalar) for node in nodes):
            self.refuse(key, "a flat list", f"{spec.allowed(self.scale)}, each in brackets of its own")
            return None
        numbered = enumerate(_bracketed(nodes) if in_lists else nodes, start=1)
        read = [self.converted(f"{key}.{place}", node, spec, convert, node.line) for place, node in numbered]
        found = tuple(value for value in read if value is not None)
        return found if nodes and len(found) == len(read) else None

    def one_of(self, keys: Collection[str], allowed: str = "", wanted: str = "") -> str | None:
        """The one of these keys that is there; each after the first is noted. None where there is not just one.

        wanted: what is said at the first key where there is none; nothing where it is empty.
        """
        given = [key for key in keys if self.has(key)]
        if wanted and not given and not self.misspelt(keys):
            self.refuse(next(filter(self._stands, keys), next(iter(keys))), "nothing", wanted)
        for key in given[1:]:
            self.refuse(key, f"both {given[0]} and {key}", allowed or f"one of {', '.join(keys)}")
        return given[0] if len(given) == 1 else None

    def mapping(self, key: str, allowed: tuple[str, ...] = ()) -> Section | None:
        """The mapping at a key, its own keys checked."""
        section = self.free_mapping(key, allowed)
        if section is not None:
            section.check_keys(allowed)
        return section

    def free_mapping(self, key: str, allowed: tuple[str, ...] = ()) -> Section | None:
        table = self._read(key, _table)
        return None if table is None else self.below(key, table, allowed=allowed)

    def own_names(self, key: str) -> Section | None:
        """The mapping at a key, by names of the user's own, not more than it may have."""
        section, spec = self.free_mapping(key), self.spec(key)
        if section is None:
            return None
        if not section.names and spec.needed:
            self.refuse(key, "an empty mapping", "at least one name")
        if len(section.names) > spec.entries[1]:
            self.refuse(key, f"{len(section.names)} names", f"at most {spec.entries[1]}")
            return None
        return section

    def named_mappings(self, key: str, forms: Iterable[str] = ()) -> dict[str, Section | None]:
        """The mappings under a key, by the user's own names; None for one that is wrong, or has none of some forms."""
        section = self.own_names(key)
        names = () if section is None else (name for name in section.table.entries if section._stands(name))
        return {name: section._named(name, tuple(forms)) for name in names} if section else {}

    def takes_name(self, name: str) -> bool:
        """Whether one of its keys can be a name of the user's own; noted where not."""
        wrong = wrong_name(name)
        if wrong is not None:
            self.refuse(name, *wrong)
        return wrong is None

    def below(self, key: str, table: Table, word: str = "", allowed: tuple[str, ...] = ()) -> Section:
        return self.opened(key, table, self.line_of(key), f"{self.form}.{word or key}".lstrip("."), allowed)

    def opened(self, key: str, table: Table, line: int, form: str, allowed: tuple[str, ...] = ()) -> Section:
        """The section of a mapping further in, of a form that is not that of its key. allowed: the keys that it may
        have here, where not all of its form.
        """
        section = replace(self, table=table, line=line, path=(*self.path, key), form=form)
        return section._respelt(allowed or names_under(form))

    def entry(self, key: str, table: Table) -> Section:
        """The section of a mapping in the list at a key, named as `key` by the fault's path."""
        form = f"{self.form}.{key}".lstrip(".").rpartition(".")[0] + ".ENTRY"
        section = self.opened(key, table, table.line, form)
        section.check_keys()
        return section

    def _named(self, name: str, forms: tuple[str, ...]) -> Section | None:
        node = self.node(name)
        # Where a form stands in the place of a name, the name is what is missing.
        allowed = written_as(self.form if name in forms else f"{self.form}.NAME")
        if not self.takes_name(name):
            return None
        if not isinstance(node, Table):
            got, line = (_no_table(node, f"{self.form}.NAME"), node.line) if node else ("nothing", None)
            self.refuse(name, got, allowed, line)
            return None
        section = self.below(name, node, "NAME")
        if forms and not any(map(section.has, forms)) and not section.misspelt(forms):
            keys = ", ".join(node.entries) or "an empty mapping"
            self.refuse(name, f"{keys}, none of {', '.join(forms)}", allowed)
            return None
        section.check_keys()
        return section

    def spec(self, key: str, word: str = "") -> Key:
        return key_at(f"{self.form}.{word or key}".lstrip("."))

    def _read(self, key: str, convert: Callable[[Node, Key], _Value], word: str = "") -> _Value | None:
        spec, node = self.spec(key, word), self.node(key)
        if node is not None:
            return self.converted(key, node, spec, convert)
        if spec.needed:
            self.missing(key, ": ".join(filter(None, (spec.meaning, ", ".join(spec.choices)))))
        return None

    def converted(
        self, key: str, node: Node, spec: Key, convert: Callable[[Node, Key], _Value], line: int | None = None
    ) -> _Value | None:
        """A value by a function that may raise Misread, which is noted. line: its own, where not that of the key."""
        try:
            return convert(node, spec)
        except Misread as fault:
            # Between quotes stands an empty text.
            alone = key in self.table.entries and self.is_alone(key) and spec.kind != "text"
            meant = self._behind(key) or ("true" if spec.kind == "true or false" else "...")
            got = f"no value (write {key}: {meant})" if alone else fault.got
            self.refuse(key, got, fault.allowed, fault.line or line)
            return None


def top_of(table: Table, faults: FaultList, beside: Beside, more: tuple[str, ...] = ()) -> Section:
    """The whole of a file, its own keys checked. more: those that it may have besides a layout's."""
    known = (*names_under(""), *more)
    top = Section(as_used(table, faults), table.line, (), "", 1.0, faults, beside)._respelt(known)
    top.check_keys(known)
    return replace(top, scale=scale_of(top.table, faults))


def _items(node: Node, spec: Key) -> tuple[Node, ...]:
    least, most = spec.entries
    allowed = f"a list of {f'{least} to ' * (least < most)}{most} entries"
    if not isinstance(node, Sequence) or node.bare:
        raise Misread(kind_of(node) + " without brackets" * is_bare(node), allowed + _as_list(node, spec))
    if spec.unit in LENGTHS and (wrong := commas_in(node)):
        raise Misread(*wrong)
    if not least <= len(node.items) <= most:
        alone = _as_list(node.items[0], spec) if len(node.items) == 1 else ""
        raise Misread(f"a list of {len(node.items)}", allowed + alone)
    return node.items


def _bracketed(nodes: tuple[Node, ...]) -> Iterator[Node]:
    """Entries that are lists, two single values in a row among them as one that lacks its brackets."""
    for single, run in groupby(nodes, key=lambda node: isinstance(node, Scalar)):
        found = (*run,)
        yield from (Sequence(found[0].line, found, 3, bare=True),) if single and len(found) == 2 else found


def _as_list(node: Node, spec: Key) -> str:
    items = node.items if isinstance(node, Sequence) else (node,)
    texts = [item.text for item in items if isinstance(item, Scalar)]
    if isinstance(node, Table):
        return ": [{...}]"
    if len(texts) < len(items) or (node is not items[0] and spec.unit in LENGTHS):
        return ": [first, second, ...]"
    text = with_points(", ".join(texts).strip(" []()"))
    words = re.split(r"\s*(?:[,;|]|-?>)\s*|\s+[-\u2013\u2014]\s+", text)
    # A mark's name may have blanks, and one stands before a unit.
    parted = words if len(words) > 1 or spec.path == "marks" else re.split(r"\s+(?!(?:mm|cm|in)\b)", text)
    return f": [{', '.join([*parted, *['...'] * (spec.entries[0] - len(parted))])}]"


def _table(node: Node, spec: Key) -> Table:
    if not isinstance(node, Table):
        raise Misread(_no_table(node, spec.path), f"a mapping: {written_as(spec.path)}", node.line)
    return node


def _no_table(node: Node, path: str) -> str:
    """What stands in place of the mapping of that path, and what was likely slipped there."""
    tables = [item for item in node.items if isinstance(item, Table)] if isinstance(node, Sequence) else []
    if isinstance(node, Sequence) and len(tables) == len(node.items):
        whole, values = joined(tables), (entry.value for table in tables for entry in table.entries.values())
        meant = flow_of(whole) if whole is not None and all(isinstance(value, Scalar) for value in values) else "it"
        return f"{kind_of(node)} (write {meant} without dashes or [ ])"
    begun = re.split(r"\W", text_of(node), maxsplit=1)[0]
    return kind_of(node) + f" (a colon and a space are wanted after {begun})" * (begun in names_under(path))


def rising(sizes: tuple[float, ...] | None) -> tuple[float, ...]:
    return tuple(sorted(set(sizes or ())))


# How far the measurements may be off: of the whole layout, or of one pulley.


def read_uncertainty(section: Section) -> Uncertainty:
    """The uncertainty that a layout or a pulley gives; nothing in it where it gives none."""
    own = section.mapping("uncertainty")
    return NOTHING_SAID if own is None else Uncertainty(**own.given())

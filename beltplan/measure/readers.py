"""What a tape, calipers, a level, a protractor and a square read, how accurate it is, and how it is written."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, NamedTuple, TypeVar, cast

from beltplan.faults import quoted
from beltplan.layoutfile import schema
from beltplan.layoutfile.document import Entry, Node, Scalar, Sequence, Table, flow_of, joined, kind_of, text_of
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.schema import GAP, LEAST_MM, WORDS_OF_SIDES, SeenSide, key_at, names_under, written_as
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.synonyms import meant_by, word_meant
from beltplan.layoutfile.values import UNIT_BETWEEN, Misread, NotALength, commas_in, length_mm, number, read_length
from beltplan.measure.names import LayoutPart, Names, Pair, pulleys_in
from beltplan.measure.readings import (
    AXES,
    OPPOSITE,
    Between,
    Diameter,
    Direction,
    Distance,
    LoopLength,
    Offset,
)
from beltplan.measure.values import listed

_UP_DEG = 90.0
_MOST_TIMES = 50
_MOST_ENTRIES = 500
_FARTHEST_APART = 2.0
"""A list [234,5, 235] holds the readings 234, 5 and 235; nobody misreads one tape twice so far apart."""
_FAR_OUT = 4.0
"""No pulley of a drive is so much larger than all others (common practice, no source)."""
_SAID = {
    "outside: true": "over (?:both |the )?rims|outside|outer",
    "gap: true": "between (?:both |the )?rims|inside|gap",
    "from: plumb": "(?:from |(?:to the )?(?:left|right) of )?(?:plumb|vertical)",
    "": "(?:between )?cent(?:re|er)s?(?: to cent(?:re|er))?",
}
"""What people write beside a number, by the key and word that say it; by none where the number alone says so."""
_PARTS = re.compile(r"\s*[;&]\s*|\s*,\s+|\s+(?:and|or|/)\s+", re.IGNORECASE)
_IN_A_ROW = re.compile(r"(?:(?:[\d.]+\s+)?\d+\s?/\s?\d+|[-+]?[\d.]+)(?:\s*(?:mm|cm|in|\"|deg|\u00b0))?")
"""A number, or one with its fraction: where several stand with no comma between."""
_STARTS = re.compile(r"[-+]?\.?\d")
_BETWEEN = re.compile(r"[\s,_/&+-]+(?:and\s+)?")
"""What stands between two words of `sides`."""
_Name = TypeVar("_Name")
_Value = TypeVar("_Value")


@dataclass(frozen=True, eq=False)
class Accuracy:
    """One standard deviation of each kind of measurement."""

    distance_mm: float = schema.USUAL_MM
    angle_deg: float = schema.USUAL_DEG
    offset_mm: float = schema.USUAL_OFFSET_MM
    diameter_mm: float = schema.USUAL_DIAMETER_MM
    place_px: float = schema.USUAL_PX


def read_accuracy(top: Section) -> Accuracy:
    """The accuracy that the file gives, the usual one where it gives none."""
    section = top.mapping("accuracy")
    given = {} if section is None else section.given()
    return Accuracy(**{name: value for name, value in given.items() if value is not None})


class _Form(NamedTuple):
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
        return text_of(self.node)

    def given(self, key: str) -> Any:
        """What its mapping says at a key; None where it says nothing, or has none."""
        return None if self.own is None else self.own.value(key)

    def length(self, key: Key | None = None) -> float | None:
        """Its value as a length, mm. key: what it may be, where not as its form says."""
        scale = self.holder.scale
        return self.read(lambda node, spec: read_length(node, spec, scale), key)

    def read(self, convert: Callable[[Node, Key], _Value], key: Key | None = None) -> _Value | None:
        """Its value by a function that may raise Misread, which is noted."""

        def read(node: Node, spec: Key) -> _Value:
            try:
                return convert(node, spec)
            except Misread as fault:
                got = kind_of(node) + meant if (meant := self._meant(convert, spec)) else fault.got
                raise Misread(got, fault.allowed, fault.line) from None

        if self.node is None:
            return None
        return self.holder.converted(self.path, self.node, key or key_at(f"{self.form}.value"), read, self.line)

    def _meant(self, convert: Callable[[Node, Key], Any], spec: Key) -> str:
        """What to write for a value with a word beside it, or for several at once; empty where that is not sure."""
        text, beside = self.written.lower(), list[str]()
        for key, words in _SAID.items():
            if key.partition(":")[0] in (*names_under(self.form), ""):
                text, count = re.subn(rf"\(?\b(?:{words})\b\)?", "", text)
                beside += [key] if count and key else []
        parts = _PARTS.split(text.strip(" ,;()"))
        if not beside and len(parts) == 1:
            parts = _in_a_row(text) or parts
        try:
            values = [convert(Scalar(self.line, part, True), spec) for part in parts]
        except Misread:
            return ""
        if parts == [self.written.lower()] or (len(parts) > 1 and self.own is not None) or not _are_near(values):
            return ""
        signs = _signs_from_plumb(self.written.lower(), parts[0]) if "from: plumb" in beside else [""]
        told = (
            ", ".join(f"{{value: {sign}{part}, {', '.join(beside)}}}" if beside else part for part in parts)
            for sign in signs
        )
        listed_now = len(parts) > 1 and self.path in self.holder.table.entries
        shown = " or, right of plumb, ".join(f"[{each}]" if listed_now else each for each in told)
        return f" (write {shown})" if shown else ""


def _in_a_row(text: str) -> list[str]:
    """The numbers of a text that holds nothing else, with no comma between; none where it is otherwise."""
    row = _IN_A_ROW.findall(text)
    is_all = "".join(row).replace(" ", "") == text.strip(" ,").replace(" ", "")
    return row if is_all and not UNIT_BETWEEN.search(text) else []


def _are_near(values: list[float]) -> bool:
    """Whether they may be readings of one and the same."""
    return max(values) - min(values) <= (_FARTHEST_APART - 1.0) * min(map(abs, values))


def _signs_from_plumb(said: str, first: str) -> list[str]:
    """Signs that an angle may have: minus to the right of plumb; both where neither side nor sign is said."""
    signs, side = [""] if re.match("[-+]", first) else ["", "-"], re.search("left|right", said)
    return [sign for sign in signs if side is None or (side[0] == "right") == (sign == "-")]


def _each(holder: Section, name: str) -> Iterator[tuple[str, Node | None, int]]:
    node = holder.node(name)
    if not isinstance(node, Sequence):
        yield name, node, holder.line_of(name)
    elif not 1 <= len(node.items) <= _MOST_TIMES:
        holder.refuse(name, f"a list of {len(node.items)}", f"a list of 1 to {_MOST_TIMES} readings")
    elif (wrong := commas_in(node)) and not _are_alike(node, holder.scale):
        holder.refuse(name, *wrong)
    elif own := _in_one(node):
        holder.refuse(name, f"a list of keys (write {_in_brackets(own)})", "braces round keys")
    else:
        yield from ((f"{name}.{place}", item, item.line) for place, item in enumerate(node.items, start=1))


def _are_alike(node: Sequence, unit_mm: float) -> bool:
    """Whether lengths in a list may be readings of one distance."""
    with suppress(NotALength):
        return _are_near([length_mm(text_of(item), unit_mm) for item in node.items])
    return False


def _in_one(node: Sequence) -> list[str]:
    """The keys of mappings with one key each, and numbers beside them, as one mapping for each number; none where a
    key stands twice or a mapping has several.
    """
    tables = [item for item in node.items if isinstance(item, Table)]
    values, whole = tuple(item for item in node.items if not isinstance(item, Table)), joined(tables)
    if len(node.items) < 2 or whole is None or {len(own.entries) for own in tables} != {1}:
        return []
    if values and not whole.entries.keys() <= {"outside", "gap", "from"}:
        return []
    of_all = {"value": Entry(node.line, Sequence(node.line, values, 1))} if values else {}
    return _each_value(replace(whole, entries={**of_all, **whole.entries}))


def _each_value(own: Table) -> list[str]:
    """A mapping as it is written, once for each of several values in it; none where one is no number."""
    value = own.node("value")
    items = value.items if isinstance(value, Sequence) else (value,) if value else ()
    if not all(map(text_of, items)):
        return []
    told = [flow_of(replace(own, entries={**own.entries, "value": Entry(own.line, item)})) for item in items]
    return told or [flow_of(own)]


def _in_brackets(told: list[str]) -> str:
    return f"[{', '.join(told)}]" if len(told) > 1 else "".join(told)


def _section(holder: Section, path: str, table: Table, line: int, form: str) -> Section:
    own = holder.opened(path, table, line, form)
    own.check_keys()
    for key in ("outside", "gap", *AXES):
        if key in names_under(form) and key in own.table.entries and not own.has(key):
            own.missing(key, own.spec(key).allowed(own.scale))
    return own


def _form(holder: Section, path: str, node: Node | None, line: int, form: str) -> _Form | None:
    if node is None:
        holder.refuse(path, "nothing", key_at(f"{form}.value").allowed(holder.scale))
        return None
    if not isinstance(node, Table):
        return _Form(holder, path, node, line, None, form)
    own = _section(holder, path, node, line, form)
    value, flags = own.node("value"), [key for key in ("outside", "gap") if _STARTS.match(text_of(own.node(key)))]
    if isinstance(value, Sequence) and (told := _each_value(node)):
        meant = _in_brackets(told) if path in holder.table.entries else ", ".join(told)
        holder.refuse(path, f"a list at `value` (write {meant})", key_at(f"{form}.value").allowed(holder.scale), line)
        return None
    if value is None and flags:
        meant = f" (write {{value: {text_of(own.node(flags[0]))}, {flags[0]}: true}})"
        holder.refuse(path, f"a number at `{flags[0]}`{meant}", key_at(f"{form}.value").allowed(holder.scale))
        return None
    if value is None:
        own.missing("value", key_at(f"{form}.value").allowed(holder.scale))
    return _Form(holder, f"{path}.value", value, own.line_of("value"), own, form)


def tables_of(holder: Section, name: str) -> Iterator[Section]:
    """The mappings under a name of the user's, by themselves or in a list; what is none is noted."""
    form, own = f"{holder.form}.NAME", holder.node(name)
    if isinstance(own, Sequence) and {*AXES} < {*names_under(form)} and own.items and all(map(text_of, own.items)):
        meant = ", ".join(f"{axis}: {text_of(item)}" for axis, item in zip(AXES, own.items, strict=False))
        holder.refuse(name, f"a list (write {{{meant}}})", f"a mapping: {written_as(form)}")
        return
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


def _forms_of(
    top: Section, key: str, word: str, known: Callable[[Section, str], _Name | None]
) -> Iterator[tuple[_Form, _Name | None]]:
    """Every reading at a key of the top, with what its name stands for; None where for nothing, which is noted."""
    for section, name in entries_of(top, key):
        stands_for, form = known(section, name), f"{section.form}.{word}"
        for each in [_form(section, *each, form) for each in _each(section, name)]:
            if each is not None:
                yield each, stands_for


# By tape, calipers, level and square.


def read_distances(top: Section, names: Names, accuracy: Accuracy) -> Iterator[Distance]:
    first: dict[tuple[frozenset[str], Between], tuple[float, str]] = {}
    for form, pair in _forms_of(top, "distances", "PAIR", names.pair):
        outside, gap = form.given("outside"), form.given("gap")
        if form.own is not None and outside and gap:
            form.own.refuse("gap", "both outside and gap", "one of the two")
        value_mm = form.length(GAP if gap and not outside else None)
        between: Between = "outside" if outside else "gap" if gap else "centres"
        sd_mm = form.given("accuracy_mm") or accuracy.distance_mm
        if value_mm is None or pair is None:
            continue
        before, told = first.setdefault((frozenset(pair), between), (value_mm, form.written))
        if between != "gap" and not _are_near([before, value_mm]):
            got = f"{quoted(form.written)} beside {quoted(told)} for the same two points"
            allowed = f"readings of one distance within a factor of {_FARTHEST_APART:g}"
            form.holder.refuse(form.path, got, allowed, form.line)
        yield Distance(*pair, value_mm, sd_mm, between, written=form.written, line=form.line)


def read_diameters(top: Section, names: Names, accuracy: Accuracy) -> Iterator[Diameter]:
    """The diameters over rims that could be read, of points and of pulleys that move."""

    def known(section: Section, name: str) -> str | None:
        return name if name in names.moved_by or names.known(section, name, name) else None

    for form, name in _forms_of(top, "diameters", "NAME", known):
        value_mm, sd_mm = form.length(), form.given("accuracy_mm") or accuracy.diameter_mm
        if value_mm is not None and name is not None:
            yield Diameter(name, value_mm, sd_mm, written=form.written, line=form.line)


def read_angles(top: Section, names: Names, accuracy: Accuracy) -> Iterator[Direction]:
    for form, pair in _forms_of(top, "angles", "PAIR", names.pair):
        value, zero_deg = form.read(number), _UP_DEG if form.given("from") == "plumb" else 0.0
        sd_deg = form.given("accuracy_deg") or accuracy.angle_deg
        if value is not None and pair is not None:
            angle = math.radians(value + zero_deg), math.radians(sd_deg)
            yield Direction(*pair, *angle, written=form.written, line=form.line)


def read_offsets(top: Section, names: Names, accuracy: Accuracy, origin: str | None) -> Iterator[Offset]:
    """The offsets that could be read. origin: what they count from where they say nothing."""
    for section, name in entries_of(top, "offsets"):
        known = names.known(section, name, name)
        for own in tables_of(section, name):
            datum = own.value("from") if own.has("from") else origin
            if own.has("from") and datum is not None and not names.known(own, "from", datum):
                datum = None
            if datum == name:
                own.refuse("from", f"{quoted(name)} itself", "another point")
            sd_mm = own.value("accuracy_mm") or accuracy.offset_mm
            if not any(own.has(axis) for axis in AXES):
                own.missing("x", "x, y or both")
            for axis in AXES:
                value_mm, text = length(own, axis), text_of(own.node(axis))
                if known and value_mm is not None and datum not in (None, name):
                    yield Offset(name, datum, axis, value_mm, sd_mm, written=text, line=own.line_of(axis))


def read_level(top: Section, names: Names) -> Pair | None:
    words = top.each("level", lambda node, spec: (text_of(node), node.line))
    if words is None:
        return None
    (left, _), (right, _) = words
    known = [names.known(top, "level", *word) for word in words]
    if left == right:
        top.refuse("level", f"{quoted(left)} twice", "two different points, the second to the right")
        return None
    return (left, right) if all(known) else None


def read_sides(top: Section, names: Names, origin: str | None) -> Mapping[str, tuple[SeenSide, ...]]:
    found: dict[str, tuple[SeenSide, ...]] = {}
    entries = [*entries_of(top, "sides")]
    # In braces `above, left` reads as a name `left` with nothing: it is the rest of what stands before it.
    rests = {
        name: rest
        for (section, name), (_, rest) in pairwise(entries)
        if section.is_alone(rest) and rest not in names.points and all(map(_side_meant, _BETWEEN.split(rest)))
    }
    for section, name in (each for each in entries if each[1] not in rests.values()):
        point = max((each for each in names.points if name.startswith(each)), key=len, default=name)
        if section.is_alone(name) and name != point:
            hint = f"write {point}: {name.removeprefix(point).strip(' :=;.')}, with a colon and a space"
            section.refuse(name, f"no colon ({hint})", "left, right, above or below; or two of them, as above right")
            continue
        known = names.known(section, name, name)
        if known and name == origin:
            section.refuse(name, "the origin, from which it is seen itself", "other points")
        words = _words(section, name, rests.get(name, ""))
        if known and words:
            found[name] = words
    return found


def _side_meant(word: str) -> str | None:
    return word_meant(word, WORDS_OF_SIDES)


def _words(section: Section, name: str, rest: str) -> tuple[SeenSide, ...]:
    node = section.node(name)
    allowed = "left, right, above or below; or two of them, as above right"
    items = node.items if isinstance(node, Sequence) else (node,)
    said = ", ".join(each for each in (*map(text_of, items), rest) if each)
    words = _BETWEEN.split(re.sub(r"^to the ", "", said.strip())) if said else []
    seen = [cast(SeenSide, word) for word in words if word in WORDS_OF_SIDES]
    if rest or len(seen) < len(words) or not 1 <= len(seen) <= 2 or seen[1:] in ([seen[0]], [OPPOSITE[seen[0]]]):
        meant = [*map(_side_meant, words)]
        written = f" (write {' '.join(filter(None, meant))})" if all(meant) and (rest or meant != words) else ""
        hints = written or "".join(meant_by(word, WORDS_OF_SIDES) for word in words[:2] if word not in WORDS_OF_SIDES)
        section.refuse(name, "nothing" if node is None else (quoted(said) if rest else kind_of(node)) + hints, allowed)
        return ()
    return tuple(seen)


# What rims are known to be.


def sizes_of(
    top: Section,
    names: Names,
    lengths: Iterable[Distance | LoopLength],
    sizes: tuple[Diameter, ...],
    own: Mapping[str, Diameter],
    rimmed: frozenset[str],
) -> tuple[Diameter, ...]:
    """The rims by calipers of points, and those that the layout gives.

    lengths: distances and loops. One over a rim that nothing tells is noted, and one that is too short for its rims.
    sizes: by calipers. own: by the pulleys themselves. rimmed: all of which a rim was given, measured or traced.
    """
    over = [name for each in lengths for name in each.rims]
    by_hand = {size.pulley for size in sizes}
    found = [own[name] for name in dict.fromkeys((*over, *names.points)) if name in own and name not in by_hand]
    allowed = "the rim diameter of {}, in `diameters`, of the pulley itself, or traced in `circles`"
    for each in lengths:
        if unknown := [name for name in dict.fromkeys(each.rims) if name not in rimmed]:
            got = f"{each.between} without a diameter of {' and '.join(unknown)}"
            top.faults.add(each.line, _path(each), got, allowed.format("each" if each.kind == "loop" else "both"))
    every = (*(size for size in sizes if size.pulley in names.points), *found)
    rims, rims_mm = {size.pulley: size for size in (*sizes, *found)}, {size.pulley: size.value_mm for size in every}
    for each in lengths:
        least, own_rims = each.least_mm(rims_mm)
        if not each.value_mm > least:
            _refuse_short(top, each, least, own_rims, rims)
    return every


def _refuse_short(
    top: Section, length: Distance | LoopLength, least_mm: float, names: tuple[str, ...], rims: Mapping[str, Diameter]
) -> None:
    """A length that its rims alone do not leave room for. names: theirs."""
    words = f"{least_mm:.1f} mm" if top.scale == 1.0 else f"{least_mm / top.scale:.3f} in"
    far = [name for name in names if _is_far_out(name, rims)]
    told = listed([_rim_words(name, rims.get(name), name in far) for name in names])
    # Twice too short and ten times enough: the side of the tape in cm, where no unit says otherwise.
    is_bare = length.written.replace(".", "", 1).isdigit() and top.scale == 1.0
    in_cm = is_bare and length.value_mm < 0.5 * least_mm < 5.0 * length.value_mm and not far
    got = length.written + f" (in cm? Then write {length.written} cm)" * in_cm
    top.faults.add(length.line, _path(length), got, f"above {words}, which its rims alone need: {told}")


def _is_far_out(name: str, rims: Mapping[str, Diameter]) -> bool:
    """Whether a rim is far larger than all others."""
    others = [each.value_mm for other, each in rims.items() if other != name]
    return name in rims and rims[name].value_mm > _FAR_OUT * max(others, default=math.inf)


def _rim_words(name: str, size: Diameter | None, is_far: bool) -> str:
    """A rim with what is written of it and where."""
    if size is None:
        return name
    far = f", over {_FAR_OUT:g} times any other: look there first"
    return f"{name} {size.written} (line {size.line}{far if is_far else ''})"


def own_rims(top: Section, part: LayoutPart, accuracy: Accuracy) -> dict[str, Diameter]:
    """The rims of pulleys by the diameters that they give themselves; none where the layout could not be read."""
    if (layout := part.layout) is None:
        return {}
    found, written = dict[str, Diameter](), pulleys_in(top.table)
    for name in part.of_rims:
        pulley, entry = layout.pulleys[name], written[name].entries[part.sized[name]]
        sd = max(pulley.uncertainty.diameter_mm or accuracy.diameter_mm, LEAST_MM)
        diameter_mm = 2.0 * pulley.rim_radius_mm(layout.belt)
        found[name] = Diameter(name, diameter_mm, sd, written=text_of(entry.value), line=entry.line)
    return found


def _path(each: Distance | LoopLength) -> tuple[str, ...]:
    return (f"{each.kind}s", each.name if isinstance(each, LoopLength) else " - ".join(each.points))

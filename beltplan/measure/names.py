"""The names that readings may use, and the layout whose places they will find."""

from __future__ import annotations

import cmath
import re
from collections.abc import Container, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Slide
from beltplan.faults import FaultList, LayoutFaults, nearest, quoted
from beltplan.layoutfile.document import Entry, Node, Scalar, Sequence, Table, is_nothing, kind_of, text_of
from beltplan.layoutfile.layout_file import LayoutFile, layouts_of
from beltplan.layoutfile.names_meant import respelt
from beltplan.layoutfile.schema import SIZES, key_at, names_under
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.synonyms import in_letters, word_meant
from beltplan.layoutfile.values import comma_missing, wrong_name
from beltplan.measure.values import listed

_ADJUSTERS: Mapping[str, tuple[str, ...]] = {kind.kind: kind.points for kind in (Arm, Slide)}
"""What is a point of a pulley that moves, by the key of its adjuster."""
_STOOD: Mapping[str, str] = {"arm": "arm_deg: DEG", "slide": "slide_end: from"}
"""How it is written where one stood while a loop lay round its pulley."""
_THERE = ("", "yes", "true")
"""What stands behind the key of an adjuster that is only said to be there."""
_MARKS = "marks"

# A hyphen, or a dash that a keyboard made of it.
_APART = re.compile(r"\s+[-\u2013\u2014]\s+")
_BETWEEN = re.compile(r"\s*(?:-*>|--+|[-\u2013\u2014/+,&_])\s*|\s+(?:(?:to|and)\s+)?", re.IGNORECASE)
"""What people write between two points in place of it."""
_LONGEST_LIST = 12

Pair = tuple[str, str]
_NEEDED = ("belt", "pulleys", "route")
"""Keys without which measurements make no layout."""
_ABOUT_PULLEYS = ("duty", "limits", "variants")
"""Keys that name pulleys: not looked at where there are none."""
_FOUND = "nothing: its place is found from the measurements: take it out"


class Names(NamedTuple):
    """The names of points.

    points: in the order of the file. marks: those that are no pulleys and no part of an adjuster.
    pulleys: whether those of `pulleys` and `marks` are all there are.
    moved_by: the key of the adjuster of each pulley that one moves, by its name. roles: of the pulleys, by name.
    """

    points: tuple[str, ...]
    marks: tuple[str, ...]
    pulleys: bool
    moved_by: Mapping[str, str]
    roles: Mapping[str, str]

    def points_of(self, name: str) -> tuple[str, ...]:
        """The points that stand for a pulley."""
        return _points_of(name, self.moved_by.get(name))

    def known(self, section: Section, key: str, name: str, line: int | None = None) -> bool:
        """Whether a name is that of a point; noted at the key where it is not."""
        if name in self.points:
            return True
        if (kind := self.moved_by.get(name)) is not None:
            got, points = f"{quoted(name)}, which its {kind} moves", " or ".join(self.points_of(name))
            allowed = f"{points}, measured there: the pulley itself moves"
            if section.form == "distances" and (pair := _split(key, self.points)):
                laid = f"pulleys: [{', '.join(pair)}], length: LENGTH, {_STOOD[kind]}"
                allowed += f". Or lay a string round the two and give `loops: {{string: {{{laid}}}}}`"
        elif (wrong := wrong_name(name)) is not None:
            got, allowed = wrong
        else:
            sure = f" (write {meant})" if (meant := self._in_letters(name)) else self._by_role(name)
            missing = comma_missing(name, self.points.__contains__)
            near = f" (did you mean {near}?)" if (near := _near(name, self.points)) else ""
            got = f"an unknown point {quoted(name)}{missing or sure or near}"
            allowed = listed(self.points, _LONGEST_LIST) or "none"
            allowed += f"; or add it to `{_MARKS}`" if self.pulleys else ""
        section.refuse(key, got, allowed, line)
        return False

    def _in_letters(self, said: str) -> str:
        """The point that a name is in other letters, with another mark between its words; else nothing."""
        return next(iter(in_letters(said, self.points)), "")

    def meant(self, name: str) -> str:
        """The point or the moving pulley that a name stands for where it is misspelt; itself where for none."""
        known = (*self.points, *self.moved_by)
        return name if name in known else self._in_letters(name) or _near(name.lower(), known) or name

    def _by_role(self, said: str) -> str:
        """A hint at the one pulley of a role that stands in the place of its name; else nothing."""
        role = word_meant(said, tuple(dict.fromkeys(self.roles.values())))
        own = [name for name, each in self.roles.items() if each == role]
        points = " or ".join(self.points_of(own[0])) if len(own) == 1 else ""
        also = f", whose role is {role}" if role and role not in own else ""
        return f" (write {points}{also})" if points else ""

    def pair(self, section: Section, key: str) -> Pair | None:
        """The two points that a key names; None where it does not, which is noted."""
        pair = _split(key, self.points)
        if pair is None:
            hint = next((f" (write {' - '.join(own)})" for own in self._pairs_meant(key)), "")
            section.refuse(key, quoted(key) + hint, "two points with a hyphen between spaces: A - B")
            return None
        if pair[0] == pair[1]:
            section.refuse(key, f"{quoted(pair[0])} twice", "two different points")
            return None
        first, second = (self.meant(name) for name in pair)
        if not {*pair} & {*self.points, *self.moved_by} and {first, second} <= {*self.points} and first != second:
            section.refuse(key, f"two unknown points (write {first} - {second})", listed(self.points, _LONGEST_LIST))
            return None
        known = [self.known(section, key, name) for name in pair]
        return pair if all(known) else None

    def _pairs_meant(self, key: str) -> Iterator[Pair]:
        """Two different points that a text names with something else than a hyphen between spaces, as `A to B`."""
        said = key.removeprefix("from ")
        for cut in _BETWEEN.finditer(said):
            first, second = (self._in_letters(each) for each in (said[: cut.start()], said[cut.end() :]))
            if first and second and first != second:
                yield first, second


def _near(said: str, known: tuple[str, ...]) -> str:
    """The point that a misspelt name is nearest to, the name of its pulley by itself as well; empty where to none."""
    near = nearest(said, known) or ""
    return near if nearest(said.partition(".")[0], [near.partition(".")[0]]) else ""


def names_of(top: Section) -> Names:
    """The points of a file: its pulleys and marks, else every name that is measured, in the order of the file."""
    pulleys, every = top.node("pulleys"), pulleys_in(top.table)
    marks = _listed_in(top.node(_MARKS))
    for picture in _tables(top.node("points")):
        # A name that is misspelt in one of the two is told once, at `known`.
        picked = [*keys_in(picture.node("places"))]
        marks += [name if name in picked else nearest(name, picked) or name for name in keys_in(picture.node("known"))]
    roles = {name: text_of(pulley.node("role")) for name, pulley in every.items()}
    moved_by = dict[str, str]()
    if isinstance(pulleys, Table):
        measured = {*_measured(top)}
        kinds = ((name, _adjuster(pulley) or _meant(top, name, pulley, measured)) for name, pulley in every.items())
        moved_by = {name: kind for name, kind in kinds if kind}
        own = [point for name in pulleys.entries for point in _points_of(name, moved_by.get(name))]
    else:
        own = [name for name in _measured(top) if name not in marks]
    others = tuple(name for name in _each_once(marks) if name not in own)
    return Names((*_each_once(own), *others), others, isinstance(pulleys, Table), moved_by, roles)


def _points_of(name: str, kind: str | None) -> tuple[str, ...]:
    """What of a pulley is a point: what its adjuster's kind says, else itself."""
    return (name,) if kind is None else tuple(f"{name}.{point}" for point in _ADJUSTERS[kind])


def _listed_in(node: Node | None) -> list[str]:
    """The names of a list; also where its brackets are left out or others, which is noted elsewhere."""
    if isinstance(node, Scalar):
        return [name for each in node.text.strip(" [](){}").split(",") if (name := each.strip())]
    items = node.items if isinstance(node, Sequence) else ()
    return [*keys_in(node), *(item.text for item in items if isinstance(item, Scalar))]


def _each_once(names: list[str]) -> tuple[str, ...]:
    return tuple(name for name in dict.fromkeys(names) if wrong_name(name) is None)


def _adjuster(pulley: Table) -> str | None:
    return next((key for key in _ADJUSTERS if pulley.node(key) is not None), None)


def _meant(top: Section, name: str, pulley: Table, measured: set[str]) -> str | None:
    """The adjuster of a pulley that has none, but whose points are measured; that it is missing is noted once."""
    for kind in _ADJUSTERS:
        if own := [point for point in _points_of(name, kind) if point in measured]:
            wanted = f"`{kind}: {{}}`, since {own[0]} is measured"
            top.faults.add(pulley.line, ("pulleys", name, kind), "nothing", wanted)
            return kind
    return None


def _measured(top: Section) -> Iterator[str]:
    for key in top.names:
        node = top.node(key)
        if key in ("distances", "angles"):
            yield from (name for pair in keys_in(node) for name in _split(pair, ()) or ())
        elif key == "offsets":
            yield from keys_in(node)
            yield from (word.text for each in _tables(node) if isinstance(word := each.node("from"), Scalar))
        elif key == "points":
            yield from (name for picture in _tables(node) for name in keys_in(picture.node("places")))


def keys_in(node: Node | None) -> tuple[str, ...]:
    return tuple(node.entries) if isinstance(node, Table) else ()


def _tables(node: Node | None) -> Iterator[Table]:
    for entry in node.entries.values() if isinstance(node, Table) else ():
        nodes = entry.value.items if isinstance(entry.value, Sequence) else (entry.value,)
        yield from (each for each in nodes if isinstance(each, Table))


def _split(key: str, points: tuple[str, ...]) -> Pair | None:
    """Two names with a hyphen between spaces; where there are more hyphens, those that are points."""
    cuts = [(key[: cut.start()].strip(), key[cut.end() :].strip()) for cut in _APART.finditer(key)]
    cuts = [cut for cut in cuts if all(cut)]
    if len(cuts) > 1:
        cuts = [cut for cut in cuts if all(name in points for name in cut)]
    return cuts[0] if len(cuts) == 1 else None


class LayoutPart(NamedTuple):
    """What a measurements file says of its layout. missing: keys that it needs and does not have.

    layout: with every place at some other than its own, and a size for pulleys that have none; None where it could
    not be read. sized: the key at which each pulley gives its diameter. file: with the layout, the lines of its keys.
    """

    file: LayoutFile | None
    missing: tuple[str, ...]
    sized: Mapping[str, str]

    @property
    def layout(self) -> Layout | None:
        return None if self.file is None else self.file.layout

    @property
    def of_rims(self) -> tuple[str, ...]:
        """Pulleys whose own diameter tells their rim; by the belt's profile, where it is not that of the rim."""
        return tuple(name for name, key in self.sized.items() if "belt" not in self.missing or key == "rim_diameter")

    @property
    def unrouted(self) -> tuple[str, ...]:
        """Pulleys that the file's route leaves out, and nothing says that it may."""
        every = () if self.layout is None else self.layout.unrouted
        return tuple(pulley.name for pulley in every if not pulley.optional)

    @property
    def carried_mm(self) -> Mapping[str, tuple[float, float]]:
        """How far an arm carries its pulley from its pivot, by the name of that point, at the design's angle."""
        return {point: nominal for point, (nominal, *_) in self._swung_mm.items()}

    @property
    def stopped_mm(self) -> Mapping[str, tuple[tuple[float, float], ...]]:
        """The same with the arm at each of its stops, as at one of them it stands while the belt is off."""
        return {point: tuple(stops) for point, (_, *stops) in self._swung_mm.items()}

    @property
    def _swung_mm(self) -> Mapping[str, list[tuple[float, float]]]:
        every = () if self.layout is None else self.layout.pulleys.values()
        arms = ((pulley.name, pulley.adjuster) for pulley in every if isinstance(pulley.adjuster, Arm))
        return {
            f"{name}.{arm.points[0]}": [
                (at.real, at.imag) for at in (cmath.rect(arm.length_mm, turn) for turn in (arm.nominal, *arm.travel))
            ]
            for name, arm in arms
        }


def read_layout_part(
    table: Table, path: str, origin: str | None, to_size: Container[str], faults: FaultList
) -> LayoutPart:
    """Read what is the layout's in a file's top mapping. Its faults are noted, but for those of keys that are missing.

    to_size: pulleys whose size may be found from the measurements. Variants are read as well.
    """
    missing = tuple(key for key in _NEEDED if table.node(key) is None)
    every = pulleys_in(table).items()
    sized = {name: key for name, pulley in every for key in reversed([*SIZES]) if pulley.node(key) is not None}
    _refuse_said_slides(table.node("pulleys"), faults)
    for name, pulley in every:
        for holder, keys, point in _places_in(name, pulley):
            _refuse_place(holder, keys, point, point == origin, faults)
    try:
        file = next(layouts_of(_filled(table, missing, to_size), path, None, FaultList()))
    except LayoutFaults as found:
        faults.found.extend(fault for fault in found.faults if fault.key.partition(".")[0] not in missing)
        file = None
    return LayoutPart(file, missing, sized)


def _refuse_said_slides(pulleys: Node | None, faults: FaultList) -> None:
    """Slides that are only said to be there, with more than nothing behind their key."""
    for name, entry in pulleys.entries.items() if isinstance(pulleys, Table) else ():
        own = entry.value.entries.get(Slide.kind) if isinstance(entry.value, Table) else None
        if own is not None and not is_nothing(own.value) and _is_said(own.value, Slide.points):
            allowed = "`slide: {}`: its ends are found from the measurements"
            faults.add(own.line, ("pulleys", name, Slide.kind), kind_of(own.value), allowed)


def pulleys_in(table: Table) -> dict[str, Table]:
    node = table.node("pulleys")
    entries = node.entries.items() if isinstance(node, Table) else ()
    known = names_under("pulleys.NAME")
    return {name: respelt(_opened(entry.value), known) for name, entry in entries if isinstance(entry.value, Table)}


def _opened(pulley: Table) -> Table:
    """With an adjuster that stands there with nothing or yes behind it as an empty one: its places are measured."""
    given = {key: entry for key, entry in pulley.entries.items() if key in _ADJUSTERS}
    blank = {key: at for key, at in given.items() if _is_said(at.value, _ADJUSTERS[key])}
    empty = {key: replace(at, value=Table(at.line, {}, 1)) for key, at in blank.items()}
    return replace(pulley, entries={**pulley.entries, **empty})


def _is_said(node: Node, points: tuple[str, ...]) -> bool:
    """Whether a value of an adjuster says no more than that it is there: the names of its points, or yes."""
    if isinstance(node, Sequence):
        return {getattr(item, "text", "?").lower() for item in node.items} <= {*points}
    return isinstance(node, Scalar) and node.text.lower() in _THERE


def _places_in(name: str, pulley: Table) -> Iterator[tuple[Table, tuple[str, ...], str]]:
    yield pulley, ("pulleys", name, "at"), name
    for adjuster, points in _ADJUSTERS.items():
        holder = pulley.node(adjuster)
        if isinstance(holder, Table):
            yield from ((holder, ("pulleys", name, adjuster, point), f"{name}.{point}") for point in points)


def _refuse_place(holder: Table, keys: tuple[str, ...], point: str, is_origin: bool, faults: FaultList) -> None:
    node = holder.node(keys[-1])
    if node is None:
        return
    texts = [getattr(item, "text", "...") for item in (node.items if isinstance(node, Sequence) else (node,))]
    if is_origin and isinstance(node, Sequence) and len(texts) == 2 and {*texts} <= {"0", "0.0", "-0", "+0"}:
        return
    allowed = "[0, 0] for the origin, or nothing" if is_origin else _FOUND
    if not is_origin and isinstance(node, Sequence) and len(texts) == 2:
        allowed += f"; a planned place: give it under `offsets`, `{point}: {{x: {texts[0]}, y: {texts[1]}}}`"
    faults.add(holder.entries[keys[-1]].line, keys, f"a place, {quoted(', '.join(texts))}", allowed)


def _filled(table: Table, missing: tuple[str, ...], to_size: Container[str]) -> Table:
    entries = {key: entry for key, entry in table.entries.items() if key in names_under("") and key != _MARKS}
    pulleys = table.node("pulleys")
    if "pulleys" in missing:
        entries = {key: entry for key, entry in entries.items() if key not in _ABOUT_PULLEYS}
    elif isinstance(pulleys, Table):
        placed = {name: _placed(name, entry, to_size) for name, entry in pulleys.entries.items()}
        entries["pulleys"] = Entry(entries["pulleys"].line, replace(pulleys, entries=placed))
        if "belt" in missing:
            entries["belt"] = Entry(1, Scalar(1, "6PK", True))
        least, most = key_at("route").entries
        if "route" in missing and least <= len(placed) <= most:
            route = tuple(Scalar(1, name, True) for name in placed)
            entries["route"] = Entry(1, Sequence(1, route, 1 + len(route)))
    return replace(table, entries=entries)


def _placed(name: str, entry: Entry, to_size: Container[str]) -> Entry:
    pulley = entry.value
    if not isinstance(pulley, Table):
        return entry
    pulley = _opened(pulley)
    # As it is meant: what stands in other letters is noted as such, and then read on.
    meant, put = respelt(pulley, names_under("pulleys.NAME")), dict[str, Entry]()
    adjuster = _adjuster(meant)
    if adjuster is None:
        put["at"] = _point(entry.line, 0)
    elif isinstance((holder := meant.entries[adjuster]).value, Table):
        points = {key: _point(holder.line, i) for i, key in enumerate(_ADJUSTERS[adjuster])}
        own = Entry(holder.line, _with(holder.value, points))
        entries = {key: own if each is holder else each for key, each in pulley.entries.items()}
        pulley = replace(pulley, entries=entries)
    if name in to_size and all(meant.node(key) is None for key in SIZES):
        put["rim_diameter"] = Entry(entry.line, Scalar(entry.line, "100", True))
    return Entry(entry.line, _with(pulley, put))


def _with(table: Table, more: Mapping[str, Entry]) -> Table:
    put = {key: entry for key, entry in more.items() if table.node(key) is None}
    return replace(table, entries={**table.entries, **put})


def _point(line: int, place: int) -> Entry:
    return Entry(line, Sequence(line, (Scalar(line, f"{place}", True), Scalar(line, "0", True)), 3))

"""The points of a measurements file: which there are, and a pair of them from `A - B`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from beltplan.belts.adjusters import Arm, Slide
from beltplan.reading.document import Node, Scalar, Sequence, Table
from beltplan.reading.faults import did_you_mean, quoted
from beltplan.reading.section import Section
from beltplan.reading.values import LONGEST_NAME

MOST_POINTS = 100
ADJUSTERS: Mapping[str, tuple[str, ...]] = {kind.kind: kind.points for kind in (Arm, Slide)}
"""What is a point of a pulley that moves, by the key of its adjuster."""
MARKS = "marks"
PAIR = "two points with a hyphen between spaces: A - B"

# A hyphen, or a dash that a keyboard made of it.
_APART = re.compile(r"\s+[-\u2013\u2014]\s+")
_BARE_HYPHEN = re.compile(r"\s?[-\u2013\u2014]\s?")
_LONGEST_LIST = 12

Pair = tuple[str, str]


@dataclass(frozen=True, eq=False)
class Names:
    """The names of points.

    points: in the order of the file. marks: those that are no pulleys and no part of an adjuster.
    pulleys: whether those of `pulleys` and `marks` are all there are.
    moving: the points that stand for a pulley which an adjuster moves, by its name.
    """

    points: tuple[str, ...]
    marks: tuple[str, ...]
    pulleys: bool
    moving: Mapping[str, tuple[str, ...]]

    def known(self, section: Section, key: str, name: str, line: int | None = None) -> bool:
        """Whether a name is that of a point; noted at the key where it is not."""
        if name in self.points:
            return True
        if name in self.moving:
            where = "arm" if len(self.moving[name]) == 1 else "slide"
            got, allowed = f"{quoted(name)}, which its {where} moves", " or ".join(self.moving[name])
        else:
            got, allowed = self._unknown(name)
        section.refuse(key, got, allowed, line)
        return False

    def _unknown(self, name: str) -> Pair:
        if not is_name(name):
            return f"the name {quoted(name)}", f"a name of 1 to {LONGEST_NAME} printable characters"
        more = len(self.points) - _LONGEST_LIST
        listed = ", ".join(self.points[:_LONGEST_LIST]) + (f" and {more} more" if more > 0 else "")
        hint = f"; or add it to `{MARKS}`" if self.pulleys else ""
        return f"an unknown point {quoted(name)}{did_you_mean(name, self.points)}", f"{listed or 'none'}{hint}"

    def pair(self, section: Section, key: str) -> Pair | None:
        """The two points that a key names; None where it does not, which is noted."""
        pair = _split(key, self.points)
        if pair is None:
            ends = _BARE_HYPHEN.split(key)
            bare = len(ends) == 2 and all(ends)
            section.refuse(key, f"{quoted(key)}{' (put a space on each side of the hyphen)' if bare else ''}", PAIR)
            return None
        if pair[0] == pair[1]:
            section.refuse(key, f"{quoted(pair[0])} twice", "two different points")
            return None
        known = [self.known(section, key, name) for name in pair]
        return pair if all(known) else None


def is_name(name: str) -> bool:
    """Whether a text can be a name."""
    return bool(name.strip()) and name.isprintable() and len(name) <= LONGEST_NAME


def names_of(top: Section) -> Names:
    """The points of a file: its pulleys and marks, else every name that is measured, in the order of the file."""
    pulleys = top.node("pulleys")
    marks = [*_marks(top), *_known(top)]
    moving: dict[str, tuple[str, ...]] = {}
    if isinstance(pulleys, Table):
        moving = {name: points for name, entry in pulleys.entries.items() if (points := _points_of(name, entry.value))}
        own = [point for name in pulleys.entries for point in moving.get(name, (name,))]
    else:
        own = [name for name in _measured(top) if name not in marks]
    others = tuple(name for name in _each_once(marks) if name not in own)
    return Names((*_each_once(own), *others), others, isinstance(pulleys, Table), moving)


def _each_once(names: list[str]) -> tuple[str, ...]:
    return tuple(name for name in dict.fromkeys(names) if is_name(name))


def _points_of(name: str, pulley: Node) -> tuple[str, ...]:
    if not isinstance(pulley, Table):
        return ()
    adjuster = next((key for key in ADJUSTERS if _value(pulley, key) is not None), None)
    return () if adjuster is None else tuple(f"{name}.{point}" for point in ADJUSTERS[adjuster])


def _marks(top: Section) -> list[str]:
    node = top.node(MARKS)
    return [item.text for item in node.items if isinstance(item, Scalar)] if isinstance(node, Sequence) else []


def _known(top: Section) -> Iterator[str]:
    for picture in _tables(top.node("points")):
        yield from _keys(_value(picture, "known"))


def _measured(top: Section) -> Iterator[str]:
    """Every name that some measurement gives a point, in the order of the file."""
    for key in top.names:
        node = top.node(key)
        if key in ("distances", "angles"):
            yield from (name for pair in _keys(node) for name in _split(pair, ()) or ())
        elif key == "offsets":
            yield from _keys(node)
            yield from (word.text for each in _tables(node) if isinstance(word := _value(each, "from"), Scalar))
        elif key == "points":
            yield from (name for picture in _tables(node) for name in _keys(_value(picture, "places")))


def _keys(node: Node | None) -> tuple[str, ...]:
    return tuple(node.entries) if isinstance(node, Table) else ()


def _tables(node: Node | None) -> Iterator[Table]:
    """The mappings in a mapping, by themselves or in a list."""
    for entry in node.entries.values() if isinstance(node, Table) else ():
        nodes = entry.value.items if isinstance(entry.value, Sequence) else (entry.value,)
        yield from (each for each in nodes if isinstance(each, Table))


def _value(table: Table, key: str) -> Node | None:
    entry = table.entries.get(key)
    if entry is None or (isinstance(entry.value, Scalar) and entry.value.is_null):
        return None
    return entry.value


def _split(key: str, points: tuple[str, ...]) -> Pair | None:
    """Two names with a hyphen between spaces; where there are more hyphens, those that are points."""
    cuts = [(key[: cut.start()].strip(), key[cut.end() :].strip()) for cut in _APART.finditer(key)]
    cuts = [cut for cut in cuts if all(cut)]
    if len(cuts) > 1:
        cuts = [cut for cut in cuts if all(name in points for name in cut)]
    return cuts[0] if len(cuts) == 1 else None

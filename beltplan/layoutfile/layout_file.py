"""A layout file, read as a whole: the layout, its variants, and the line of every key."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, TypeVar, cast

from beltplan.drive.belt import Belt
from beltplan.drive.layout import Block, CrankSwing, Engine, Layout, Rotation, Units
from beltplan.drive.operation import USUAL_RISE_K
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import with_known_push, with_push_of
from beltplan.faults import Fault, FaultList, LayoutFaults, did_you_mean, quoted
from beltplan.layoutfile.belt_reader import read_belt, read_stock
from beltplan.layoutfile.document import (
    VARIANTS,
    Node,
    Scalar,
    Table,
    kind_of,
    overlay,
    parse_document,
    read_page,
    text_of,
    walked,
    without_variants,
)
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.mount_reader import read_marks
from beltplan.layoutfile.names_meant import as_used, respelt
from beltplan.layoutfile.pulley_reader import ADJUSTERS, read_curve, read_pulley
from beltplan.layoutfile.schema import EITHER_SIDE, homes_of, key_at, names_under
from beltplan.layoutfile.section import Beside, Section, read_uncertainty, rising, top_of
from beltplan.layoutfile.surroundings_reader import read_limits, read_obstacles
from beltplan.layoutfile.synonyms import letters_of
from beltplan.layoutfile.values import Misread, comma_missing, has_unit

MEASURED_BY = ("distances", "angles", "offsets", "loops", "points")
"""Keys that only a file of measurements has, each of which can find places."""
_Value = TypeVar("_Value")


@dataclass(frozen=True, eq=False)
class LayoutFile:
    """A layout as read from a file.

    lines: the line of every key by the names from the top of the file; entries of lists count from '1'.
    variants: names of the file's variants, in its order. drawings: paths of the files that its obstacles stand in.
    asked: the variant that was asked for, or of which the page is; None for the file as it stands.
    """

    path: str
    layout: Layout
    lines: Mapping[tuple[str, ...], int]
    variants: tuple[str, ...]
    drawings: tuple[str, ...]
    asked: str | None

    @property
    def is_asked(self) -> bool:
        """Whether it is the one of its file that was asked for."""
        return self.layout.variant == self.asked

    def line_of(self, *keys: str) -> int:
        """Line of a key, else that of the nearest key above it that has one; 1 where none has."""
        return next((self.lines[keys[:n]] for n in range(len(keys), 0, -1) if keys[:n] in self.lines), 1)

    def told_in(self, units: Units | None) -> LayoutFile:
        """The same, answered in those units; in its own where None is asked for."""
        return self if units is None else replace(self, layout=replace(self.layout, units=units))


def read_layout(path: str, variant: str | None = None) -> LayoutFile:
    """Read a layout file, or one variant of it. Every variant is checked, whichever is asked for.

    Raises LayoutFaults with every fault of the file.
    """
    return next(file for file in read_every_layout(path, variant) if file.is_asked)


def read_every_layout(path: str, variant: str | None = None) -> tuple[LayoutFile, ...]:
    """The layout of a file as it stands, then each of its variants, in its order.

    variant: one that must be there, or `base`; where none is asked for, a page asks for its own.

    Raises LayoutFaults with every fault of the file.
    """

    def read(table: Table, faults: FaultList, shown: str | None) -> tuple[LayoutFile, ...]:
        return _every_layout(table, path, shown if variant is None else variant, faults)

    return read_whole(path, read)


def _every_layout(table: Table, path: str, variant: str | None, faults: FaultList) -> tuple[LayoutFile, ...]:
    if (key := next((key for key in table.entries if letters_of(key) in MEASURED_BY), None)) is not None:
        allowed = f"a layout, with places; `beltplan measure {path} --write layout.yaml` finds them and makes one"
        raise LayoutFaults(path, [Fault(table.entries[key].line, key, "a file of measurements", allowed)])
    return tuple(layouts_of(table, path, variant, faults))


_Read = Callable[[Table, FaultList, str | None], _Value]
"""Makes a value of a file's top mapping and notes its faults; last comes the variant of which a page is."""


def read_whole(path: str, read: _Read[_Value]) -> _Value:
    """What `read` makes of a file. Raises LayoutFaults with every fault of the file: a line that begins too far in or
    out is one, and all else is read as if it stood right.
    """
    of_file = FaultList()
    text, shown = read_page(path, of_file)
    if text is None:
        raise LayoutFaults(path, of_file.found)
    noted, found = list[Fault](), list[Fault]()
    while True:
        before = found
        try:
            value = _of_text(text, path, read, shown)
            if not noted:
                return value
            found = []
        except LayoutFaults as caught:
            found = [*caught.faults]
        from beltplan.layoutfile.repairs import moved  # only what is wrong wants it

        astray = {fault.line: fault.key.rpartition(".")[2] for fault in found[::-1] if _is_astray(fault)}
        was = noted[-1].line if noted else 0
        if was in astray and text.splitlines()[was - 1].strip().startswith(f"{astray[was]}:"):
            # What was moved belongs there no more than where it stood.
            raise LayoutFaults(path, _sure(noted[:-1], before))
        others = (fault.line for fault in found if fault.line and fault.astray is not False)
        wrong = dict.fromkeys([*sorted(astray), *others])
        better = moved(text, [line - 1 for line in astray], [line - 1 for line in wrong])
        if better is None:
            raise LayoutFaults(path, _sure(noted, found))
        line, words, mended = better
        noted.append(Fault(line, "file", words))
        if len(mended.splitlines()) > len(text.splitlines()):
            raise LayoutFaults(path, noted)  # with a line more, all below would be told at the wrong one
        text = mended


def _sure(noted: list[Fault], found: list[Fault]) -> list[Fault]:
    """The faults noted and those found, but of a line that could not be read only that: what else is said of it may
    be wrong.
    """
    broken = {fault.line for fault in found if fault.key == "file"}
    return [*noted, *(fault for fault in found if fault.key == "file" or fault.line not in broken)]


def _of_text(text: str, path: str, read: _Read[_Value], shown: str | None) -> _Value:
    faults = FaultList()
    table = parse_document(text, faults)
    if table is None:
        raise LayoutFaults(path, faults.found)
    return read(table, faults, shown)


def _is_astray(fault: Fault) -> bool:
    """Whether a fault is of a key that does not belong where it stands."""
    above, _, name = fault.key.rpartition(".")
    homes = homes_of(name)
    return fault.astray or bool(homes and above not in ("", *homes) and "." not in above)


def layouts_of(table: Table, path: str, wanted: str | None, faults: FaultList) -> Iterator[LayoutFile]:
    """Every layout of a file's top mapping, the base first.

    wanted: a variant that must be there. faults: those found so far. Raises LayoutFaults before the first.
    """
    overlays = _overlays(table, faults)
    wanted = None if wanted == BASE and BASE not in overlays else wanted
    _check_variant(table, wanted, overlays, faults)
    beside = Beside(os.path.dirname(os.path.realpath(path)))
    bare = without_variants(as_used(table, faults))
    read = [(bare, _build_layout(bare, usual_title(path), None, faults, beside))]
    of_base = {*faults.found}
    bare = respelt(bare, names_under(""))  # noted of the base; what a variant lays on it would else stand alone
    for name, over in overlays.items():
        own = FaultList()
        laid = overlay(bare, _without_misspelt(over, bare, own))
        read.append((laid, _build_layout(laid, usual_title(path), name, own, beside)))
        named = (replace(fault, key=f"{VARIANTS}.{name}.{fault.key}") for fault in own.found if fault not in of_base)
        faults.found.extend(named)
    as_it_stands = read[0][1]
    for laid, layout in read:
        if layout is None or as_it_stands is None or faults.found:
            raise LayoutFaults(path, faults.found)
        if layout.variant is not None:
            # A variant's belt lies otherwise, but its spring pushes as it does in the file as it stands.
            as_it_stands = with_known_push(as_it_stands)
            layout = with_push_of(layout, as_it_stands)
        lines = {keys: line for keys, line, _ in walked(laid)}
        yield LayoutFile(path, layout, lines, tuple(overlays), tuple(beside.drawings), wanted)


def usual_title(path: str, other: str = "layout") -> str:
    """The file's name without its ending; another one where that cannot be shown."""
    stem = os.path.splitext(os.path.basename(path))[0]
    return stem if stem.isprintable() and stem else other


def _without_misspelt(over: Table, base: Table, faults: FaultList) -> Table:
    """A variant less the pulleys whose name, near to one of the file's, stands over a few keys of a pulley."""
    theirs, own = over.node("pulleys"), base.node("pulleys")
    if not isinstance(theirs, Table) or not isinstance(own, Table):
        return over
    new = {name: entry for name, entry in theirs.entries.items() if name not in own.entries}
    without_role = (name for name, each in new.items() if isinstance(each.value, Table) and not each.value.node("role"))
    misspelt = {name: meant for name in without_role if (meant := did_you_mean(name, own.entries))}
    for name, meant in misspelt.items():
        got = f"a pulley without a role that the file does not have{meant}"
        faults.add(new[name].line, ("pulleys", name), got, ", ".join(own.entries))
    kept = {name: entry for name, entry in theirs.entries.items() if name not in misspelt}
    pulleys = replace(over.entries["pulleys"], value=replace(theirs, entries=kept))
    return replace(over, entries={**over.entries, "pulleys": pulleys})


def _overlays(table: Table, faults: FaultList) -> dict[str, Table]:
    found, most = dict[str, Table](), key_at(VARIANTS).entries[1]
    variants = Section(table, table.line, (), "", 1.0, faults, Beside("")).free_mapping(VARIANTS)
    if variants is None or len(variants.table.entries) > most:
        if variants is not None:
            faults.add(variants.line, (VARIANTS,), f"{len(variants.table.entries)} variants", f"at most {most}")
        return found
    for name in variants.table.entries:
        node = variants.node(name) or Table(variants.line_of(name), {}, 1)
        if not variants.takes_name(name):
            continue
        if not isinstance(node, Table):
            variants.refuse(name, kind_of(node), "a mapping of the keys to change")
        elif VARIANTS in node.entries:
            variants.below(name, node).refuse(VARIANTS, "variants in a variant", "variants side by side")
        else:
            found[name] = node
    return found


BASE = "base"
"""Name of the file as it stands beside its variants."""
_AS_IT_STANDS = ("", "none", "original")


def _check_variant(table: Table, variant: str | None, overlays: Mapping[str, Table], faults: FaultList) -> None:
    if variant is None or variant in overlays or any(fault.key.startswith(VARIANTS) for fault in faults.found):
        return
    entry = table.entries.get(VARIANTS)
    there = f"there is {', '.join(overlays)}" if overlays else "the file has none"
    bare = f" (the file as it stands? That is {BASE})" * (variant in _AS_IT_STANDS)
    hint = did_you_mean(variant, overlays) or bare
    faults.add(1 if entry is None else entry.line, (VARIANTS,), f"there is no variant {quoted(variant)}{hint}; {there}")


# Duties, and the names in lists.

_Sections = Mapping[str, Section]


def _read_duties(top: Section, pulleys: Mapping[str, Section | None]) -> Mapping[str, tuple[str, ...]]:
    """Names of the pulleys whose loads act, by the duty's name; empty where the file names none: all act."""
    duty = top.own_names("duty")
    if duty is None:
        return {}
    # A pulley that could not be read has its own fault; what it takes is not known.
    loaded = tuple(
        name for name, pulley in pulleys.items() if pulley is None or pulley.has("load") or pulley.misspelt(("load",))
    )
    others = {each: f"{quoted(each)}, a pulley without a load" for each in pulleys}
    allowed = f"pulleys with a load: {', '.join(loaded)}" if loaded else "no name, as no pulley has a `load`"
    return {
        name: _names_in(duty, name, loaded, allowed, others, "NAME") or ()
        for name in duty.names
        if duty.takes_name(name)
    }


def _names_in(
    section: Section, key: str, known: tuple[str, ...], allowed: str, others: Mapping[str, str], word: str = ""
) -> tuple[str, ...] | None:
    """The known names in a list, none twice; None where there is no list, nothing in it or anything wrong.

    others: what to say of names that are known and not allowed. word: as for `items`.
    """
    found = set[str]()

    def named(node: Node, _: Key) -> str:
        name = text_of(node)
        if name in found:
            raise Misread(f"{quoted(name)} a second time", "each pulley once")
        if name not in known:
            missing = comma_missing(name, known.__contains__) or did_you_mean(name, known)
            raise Misread(others.get(name) or kind_of(node) + missing, allowed)
        found.add(name)
        return name

    return section.each(key, named, word)


# The route, the driver and the adjuster: what the pulleys are to each other.


def _read_driver(top: Section, pulleys: _Sections, route: tuple[str, ...] | None) -> str | None:
    """Name of the one driver: the pulley said to drive, else the crankshaft on the route.

    None where there is none or more than one, or a role is wrong and so there is no telling.
    """
    roles = key_at("pulleys.NAME.role").choices
    if any(_word(pulley, "role") not in roles for pulley in pulleys.values()):
        return None
    said = [name for name, pulley in pulleys.items() if _word(pulley, "drives") == "true"]
    cranks = [name for name, p in pulleys.items() if _word(p, "role") == "crankshaft" and _word(p, "drives") != "false"]
    candidates = said or [name for name in cranks if name in (route or ())] or cranks
    if len(candidates) != 1:
        got = "no driver" if not candidates else "more than one driver: " + ", ".join(candidates)
        top.refuse("pulleys", got, "one crankshaft on the route, or one pulley with `drives: true`")
        return None
    if route is not None:
        _check_on_route(top, candidates[0], "the driver", route)
    return candidates[0]


def _check_adjuster(top: Section, pulleys: _Sections, route: tuple[str, ...] | None) -> None:
    carried = [(name, key) for name, p in pulleys.items() for key in ADJUSTERS if p.has(key)]
    names = list(dict.fromkeys(name for name, _ in carried))
    for name, key in carried[1:]:
        if name != names[0]:
            pulleys[name].refuse(key, f"adjusters on {', '.join(names)}", "one pulley with an arm or slide")
    if len(names) == 1 and route is not None:
        _check_on_route(top, names[0], "with its adjuster", route)


def _check_backs(top: Section, pulleys: _Sections, belt: Belt | None) -> None:
    """Note that the height of the belt's back must be measured, where a pulley runs on it and it is not known."""
    backs = [name for name, pulley in pulleys.items() if _word(pulley, "belt_side") in ("back", EITHER_SIDE)]
    if belt is None or belt.back_mm is not None or not backs:
        return
    allowed = f"how far the belt's back stands over the rim, measured; needed for {', '.join(backs)} on the back"
    node = top.table.entries["belt"]
    top.faults.add(node.line, ("belt", "back_over_rim_mm"), f"nothing for profile {belt.profile.name}", allowed)


def _check_on_route(top: Section, name: str, what: str, route: tuple[str, ...]) -> None:
    if name not in route:
        top.refuse("route", f"a route without {quoted(name)}, {what}", "a route that goes round it")


def _word(section: Section, key: str) -> str | None:
    node = section.node(key)
    return node.text if isinstance(node, Scalar) else None


# The whole layout, from the top mapping of a file.


def _build_layout(table: Table, title: str, variant: str | None, faults: FaultList, beside: Beside) -> Layout | None:
    """The layout of a file's top mapping; None where there is any fault, each noted in `faults`.

    title: the one that holds where the file gives none. beside: where files that it names are looked for.
    """
    top = top_of(table, faults, beside)
    units: Any = top.value("units") or "mm"
    belt, engine = read_belt(top), _engine(top)
    name, rotation = top.value("title") or title, cast(Rotation, top.value("rotation") or "clockwise")
    every = top.named_mappings("pulleys")
    pulleys, route = _pulleys(top, every, belt)
    duties = _read_duties(top, every) if every else {}
    stock, obstacles = read_stock(top, belt), read_obstacles(top)
    limits = read_limits(top, tuple(every), tuple(obstacle.name for obstacle in obstacles))
    uncertainty, idlers, block = read_uncertainty(top), rising(top.value("idler_sizes")), _block(top)
    marks = read_marks(top, tuple(every))
    if faults.found or belt is None or route is None:
        return None
    given = (name, belt, pulleys, route, rotation, engine, obstacles, stock, limits)
    own = frozenset(path for path, _, node in walked(table) if isinstance(node, Scalar) and has_unit(node.text))
    again = top.value("in_doubt")
    return Layout(*given, variant, duties, uncertainty, idlers, units, block, marks, own_units=own, in_doubt=again)


def _engine(top: Section) -> Engine:
    section = top.mapping("engine")
    if section is None:
        return Engine()
    read = section.given()
    given = [(key, read[key]) for key in ("idle_rpm", "cruise_rpm", "max_rpm") if read[key]]
    for (slower, low), (faster, high) in pairwise(given):
        if low > high:
            section.refuse(faster, f"{high:g}, under {slower} of {low:g}", "idle_rpm <= cruise_rpm <= max_rpm")
    return Engine(**read, swing_deg=_swing(section))


def _swing(engine: Section) -> CrankSwing | None:
    if isinstance(engine.node("swing_deg"), Table):
        curve = read_curve(engine, "swing_deg")
        return None if curve is None else CrankSwing(curve[1], curve[0])
    swing = engine.value("swing_deg")
    return None if swing is None else CrankSwing((swing,))


def _block(top: Section) -> Block | None:
    section = top.mapping("block")
    if section is None:
        return None
    material, rise = section.given("material", "rise_K").values()
    return Block(material, USUAL_RISE_K if rise is None else rise, rise is None) if material else None


def _pulleys(
    top: Section, every: Mapping[str, Section | None], belt: Belt | None
) -> tuple[Mapping[str, Pulley], tuple[str, ...] | None]:
    if not every:
        top.items("route")
        return {}, None
    sections = {name: section for name, section in every.items() if section is not None}
    read = {name: read_pulley(name, section, belt) for name, section in sections.items()}
    pulleys = {name: pulley for name, pulley in read.items() if pulley is not None}
    route = _names_in(top, "route", tuple(every), f"names of pulleys: {', '.join(every)}", {})
    _check_adjuster(top, sections, route)
    _check_backs(top, sections, belt)
    driver = _read_driver(top, sections, route) if len(sections) == len(every) else None
    if driver is not None and sections[driver].has("load"):
        sections[driver].refuse("load", "a load on the driver", "loads on driven pulleys: the driver drives the belt")
    for name, section in sections.items():
        if route is not None and name not in route and section.has("overhang_mm"):
            section.refuse("overhang_mm", "an overhang where no belt runs", "that of a pulley on the route")
    return {name: replace(pulley, drives=name == driver) for name, pulley in pulleys.items()}, route

"""A measurements file, read as a whole: what was measured, and the layout whose places it will find."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.layout import Layout
from beltplan.faults import FaultList, LayoutFaults, nearest
from beltplan.layoutfile.document import Entry, Node, Scalar, Sequence, Table, text_of, walked
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.layout_file import MEASURED_BY, LayoutFile, read_whole, usual_title
from beltplan.layoutfile.rewriting import number_text
from beltplan.layoutfile.schema import MOST_POINTS, measuring_under, names_under
from beltplan.layoutfile.section import Beside, Section, top_of
from beltplan.layoutfile.synonyms import word_meant
from beltplan.layoutfile.values import LONGEST_NAME, Misread, wrong_name
from beltplan.measure import readers
from beltplan.measure.image_reader import read_images
from beltplan.measure.loop_reader import read_loops
from beltplan.measure.misreadings import misreadings_in
from beltplan.measure.names import LayoutPart, Names, keys_in, names_of, pulleys_in, read_layout_part
from beltplan.measure.readings import Diameter, Distance, LoopLength, Measured
from beltplan.measure.values import as_read, listed, value_words

_TO_BEGIN = "at least one of {}; `beltplan new FILE --measurements` writes a file to begin with"

_ALIKE_SDS, _ALIKE_MM = 4.0, 2.0
"""A rim by calipers agrees with the diameter of the pulley itself within so many of their standard deviations, or mm:
the line of a belt lies less off the rim (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class MeasurementsFile:
    """What was measured, as read from a file.

    laid: the file's own layout, its places still to be found; None where keys are missing that one needs.
    missing: those keys. sized: pulleys that give their own diameter.
    diameters: what calipers read over rims, of pulleys that move as well.
    drawings: paths of the files that its obstacles stand in. marks: points that go into the layout as such.
    """

    path: str
    measured: Measured
    accuracy: readers.Accuracy
    laid: LayoutFile | None
    missing: tuple[str, ...]
    sized: frozenset[str]
    diameters: tuple[Diameter, ...]
    drawings: tuple[str, ...]
    marks: tuple[str, ...]

    @property
    def layout(self) -> Layout | None:
        return None if self.laid is None else self.laid.layout


def read_measurements(path: str) -> MeasurementsFile:
    """Read a measurements file. Raises LayoutFaults with every fault of the file."""
    return read_whole(path, lambda table, faults, _: _measurements(table, path, faults))


def _measurements(table: Table, path: str, faults: FaultList) -> MeasurementsFile:
    known, beside = (*names_under(""), *measuring_under("")), Beside(os.path.dirname(os.path.realpath(path)))
    top = top_of(table, faults, beside, measuring_under(""))
    top = replace(top, table=_in_its_words(top.table, known))
    # Of what finds no place too: pairs of points may stand there that have lost their heading.
    file = _read(top, path) if {*MEASURED_BY, "diameters", "circles", "sides"} & {*top.table.entries} else None
    if not faults.found and (file is None or not {*MEASURED_BY} & {*top.table.entries}):
        faults.add(1, ("file",), "a file without measurements", _TO_BEGIN.format(", ".join(MEASURED_BY)))
    if faults.found or file is None:
        raise LayoutFaults(path, faults.found)
    return file


def _in_its_words(table: Table, known: tuple[str, ...]) -> Table:
    """A mapping with every misspelt key, which is noted as such, taken for the one that is meant."""
    words = tuple(key for key in known if key not in table.entries)
    meant = {key: word_meant(key, words) or nearest(key.lower(), words) or key for key in {*table.entries} - {*known}}
    return replace(table, entries={meant.get(key, key): entry for key, entry in table.entries.items()})


def _in_its_units(top: Section) -> Table:
    """The file's top mapping, which says mm where it says inches and is read in mm."""
    units = top.node("units") or Scalar(top.line, "mm", True)
    if not isinstance(units, Scalar) or MM_PER_UNIT.get(units.text, top.scale) == top.scale:
        return top.table
    meant = Entry(units.line, replace(units, text="mm" if top.scale == 1.0 else "in"))
    return replace(top.table, entries={**top.table.entries, "units": meant})


def _read(top: Section, path: str) -> MeasurementsFile | None:
    names, accuracy = names_of(top), readers.read_accuracy(top)
    marks, origin = _checked_marks(top, names), _origin(top, names)
    distances = tuple(readers.read_distances(top, names, accuracy))
    sizes = tuple(readers.read_diameters(top, names, accuracy))
    directions = tuple(readers.read_angles(top, names, accuracy))
    offsets = tuple(readers.read_offsets(top, names, accuracy, origin))
    images = read_images(top, names, accuracy)
    level, sides = readers.read_level(top, names), readers.read_sides(top, names, origin)
    # A rim that is there but wrong has a fault of its own: nothing else is said to want it.
    own = [name for name in top.table.entries if name in names.points]
    rimmed = frozenset(map(names.meant, (*own, *keys_in(top.node("diameters")), *keys_in(top.node("circles")))))
    part = read_layout_part(_in_its_units(top), path, origin, rimmed, top.faults)
    of_pulley = {*names_under("pulleys.NAME")}
    rimmed |= {name for name, pulley in pulleys_in(top.table).items() if not {*pulley.entries} <= of_pulley}
    rimmed, rims = rimmed.union(part.of_rims), readers.own_rims(top, part, accuracy)
    loops = tuple(read_loops(top, names, part, sizes, accuracy))
    lengths: tuple[Distance | LoopLength, ...] = (*distances, *loops)
    if origin is None or not (lengths or directions or offsets or images):
        readers.sizes_of(top, names, lengths, sizes, rims, rimmed)
        return None
    title = (top.value("title") if top.has("title") else None) or usual_title(path, "measurements")
    given = (distances, directions, offsets, loops, sizes, images, level, sides, names.marks)
    more = (top.scale != 1.0, accuracy.distance_mm, part.carried_mm)
    measured = Measured(title, names.points, origin, *given, *more, unrouted=part.unrouted, stopped_mm=part.stopped_mm)
    twice = {each.pulley for each in sizes if _is_told_twice(measured, each, rims, part, top.faults)}
    lengths = tuple(each for each in lengths if twice.isdisjoint(each.rims))
    measured = replace(measured, diameters=readers.sizes_of(top, names, lengths, sizes, rims, rimmed))
    for each in measured.loops if measured.frame_is_open else ():
        if each.arms:
            got, allowed = "an arm's angle, where nothing says what is level", "`level`, an angle or an offset as well"
            top.faults.add(each.line, ("loops", each.name, "arm_deg"), got, allowed)
    laid = None if part.missing else part.file
    files = (node.text for path, _, node in walked(top.table) if path[-1] == "file" and isinstance(node, Scalar))
    drawings = tuple(os.path.join(top.beside.folder, file) for file in files)
    return MeasurementsFile(path, measured, accuracy, laid, part.missing, frozenset(part.sized), sizes, drawings, marks)


def _with_another_on(measured: Measured, size: Diameter, rims: Mapping[str, Diameter]) -> str:
    """What to write where distances were read over the rim of an old pulley, whose diameter by calipers is that."""
    radii = {rim.pulley: 0.5 * rim.value_mm for rim in (*rims.values(), *measured.diameters)}
    over = [each for each in measured.distances if size.pulley in each.rims and {*each.rims} <= radii.keys()]
    if not over:
        return ""
    apart: dict[tuple[str, int], list[str]] = {}
    for each in over:
        apart.setdefault((" - ".join(each.points), each.line), []).append(
            number_text(each.apart_mm(radii), measured.unit_mm)
        )
    told = list[str]()
    for (pair, line), values in apart.items():
        length = values[0] if len(values) == 1 else f"[{', '.join(values)}]"
        told.append(f"`{pair}: {length}` (line {line})")
    begun = f"; if an old pulley was on then, delete line {size.line} and write, from centre to centre, "
    return f"{begun}{listed(told, 9)}"


def _is_told_twice(
    measured: Measured, size: Diameter, rims: Mapping[str, Diameter], part: LayoutPart, faults: FaultList
) -> bool:
    """Whether the pulley itself says another diameter than calipers; noted at the likelier wrong one of the two.

    rims: those by the pulleys themselves.
    """
    rim = rims.get(size.pulley)
    if rim is None or part.layout is None or any(fault.line in (size.line, rim.line) for fault in faults.found):
        return False
    off, sd = size.value_mm - rim.value_mm, max(math.hypot(size.sd_mm, rim.sd_mm), _ALIKE_MM / _ALIKE_SDS)
    if abs(off) <= _ALIKE_SDS * sd:
        return False
    said = (("diameters", size.pulley), size, off), (("pulleys", size.pulley, part.sized[size.pulley]), rim, -off)
    usual = median([pulley.diameter_mm for name, pulley in part.layout.pulleys.items() if name != size.pulley])
    # A decimal point may be lost also where all others are fractions.
    points = replace(measured, diameters=(*measured.diameters, rim, replace(size, written="0.1")))
    nowhere = np.zeros((len(measured.points), 2))
    slips = [misreadings_in(points, own, error, sd, nowhere) for _, own, error in said]
    # Of two that a slip explains, or none, one twice as far from all other pulleys is the likelier wrong one.
    far = [abs(math.log(own.value_mm / usual)) for _, own, _ in said]
    wrong = max((1, 0), key=lambda i: (bool(slips[i]), far[i] > far[1 - i] + math.log(2.0)))
    (path, own, _), (_, other, _) = said[wrong], said[1 - wrong]
    texts = [as_read(value_words(each, measured.in_inches)) for each in (own, other)]
    hint = slips[wrong][0].words if slips[wrong] else "measure it again over the rim, and correct the wrong one"
    got = f"{texts[0]}, but line {other.line} says {texts[1]} for the same pulley: they contradict each other"
    faults.add(own.line, path, got, f"two diameters that agree; {hint}{_with_another_on(measured, size, rims)}")
    return True


def _checked_marks(top: Section, names: Names) -> tuple[str, ...]:
    pulleys = keys_in(top.node("pulleys"))

    def mark(node: Node, _: Key) -> str:
        word = text_of(node)
        if wrong_name(word) is not None:
            raise Misread(f"the name {word!r}", f"1 to {LONGEST_NAME} printable characters")
        if word in pulleys:
            raise Misread(f"{word!r}, a pulley", "names of points that are no pulleys")
        return word

    marks = top.each("marks", mark) or ()
    if len(names.points) > MOST_POINTS:
        top.faults.add(1, ("file",), f"{len(names.points)} points", f"at most {MOST_POINTS}")
    for name in [name for i, name in enumerate(marks) if name in marks[:i]][:1]:
        top.refuse("marks", f"{name!r} twice", f'each once; a name with a # goes in quotes: "{name} #1"')
    return tuple(dict.fromkeys(marks))


def _origin(top: Section, names: Names) -> str | None:
    at = top.node("origin")
    if isinstance(at, Sequence) and len(at.items) > 1 and names.points:
        # Its place is [0, 0] whatever it is: its name is wanted.
        top.refuse("origin", "a list", f"the name of the point that stands at [0, 0], as origin: {names.points[0]}")
        return None
    if top.has("origin"):
        word = top.value("origin")
        return word if word is not None and names.known(top, "origin", word) else None
    drivers = (name for name in names.points if names.roles.get(name) == "crankshaft")
    return next(drivers, names.points[0] if names.points else None)

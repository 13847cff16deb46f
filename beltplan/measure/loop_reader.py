"""Wires, strings and belts laid round pulleys: the length of each as one reading."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from beltplan.drive.belt import Belt, line_length_mm, parse_designation
from beltplan.drive.pulleys import Arm, Slide, stops_of
from beltplan.faults import quoted
from beltplan.layoutfile import schema
from beltplan.layoutfile.document import Node, Scalar, kind_of, text_of
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.schema import names_under
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.values import Misread
from beltplan.measure.names import LayoutPart, Names
from beltplan.measure.readers import Accuracy, entries_of, length, tables_of
from beltplan.measure.readings import Diameter, LoopLength, Rounded

_INSIDE_OUT: Mapping[str, float] = {"inside": 0.0, "middle": 0.5, "outside": 1.0}
"""Where in a wire's thickness its length is read, from the face that lies inside the loop."""
_PAST_STOPS_DEG = 5.0
"""An arm's angle so little outside its stops is an inexact reading of either: our own choice."""
_WHERE_IT_STOOD: Mapping[str, tuple[str, str]] = {
    "arm_deg": ("an arm's angle", Arm.kind),
    "slide_end": ("an end of a slide", Slide.kind),
}
_Heights = tuple[float, float | None]
"""Of a loop's line over the rim of a pulley inside the loop, and over one on its back, mm; None where not known."""


def read_loops(
    top: Section, names: Names, part: LayoutPart, sizes: tuple[Diameter, ...], accuracy: Accuracy
) -> Iterator[LoopLength]:
    """The loops that could be read. sizes: rims by calipers, those of pulleys that move among them."""
    reader = _LoopReader(names, part, sizes, accuracy)
    for section, name in entries_of(top, "loops"):
        for own in tables_of(section, name) if section.takes_name(name) else ():
            if (loop := reader.loop(own, name)) is not None:
                yield loop


class _LoopReader(NamedTuple):
    names: Names
    part: LayoutPart
    sizes: tuple[Diameter, ...]
    accuracy: Accuracy

    def loop(self, own: Section, name: str) -> LoopLength | None:
        key = own.one_of(schema.LOOPS, wanted="the loop's length, or a `belt` with one")
        belt = _belt(own) if key == "belt" else None
        value = length(own, "length") if belt is None else line_length_mm(belt)
        around, sd = self._around(own, self._heights(own, belt)), own.value("accuracy_mm")
        if key is None or value is None or around is None:
            return None
        text, arms = text_of(own.node(key)), [math.hypot(*each.carried_mm) for each in around]
        sd = sd or usual_sd(self.accuracy, belt, value, arms)
        return LoopLength(name, around, value, sd, belt is not None, written=text, line=own.line_of(key))

    def _heights(self, own: Section, belt: Belt | None) -> _Heights:
        if belt is not None:
            layout = self.part.layout
            alike = layout.belt if layout is not None and layout.belt.profile is belt.profile else belt
            return -0.5 * belt.profile.rim_minus_line_mm, alike.back_mm
        thick, share = length(own, "thickness") or 0.0, _INSIDE_OUT[own.value("along") or "middle"]
        return share * thick, (1.0 - share) * thick

    def _around(self, own: Section, heights: _Heights) -> tuple[Rounded, ...] | None:
        names, moved_by = self._laid_round(own), self.names.moved_by
        for key, (what, kind) in _WHERE_IT_STOOD.items():
            if own.has(key) and names and kind not in map(moved_by.get, names):
                got = f"{what}, but the loop goes round no pulley on one"
                own.refuse(key, got, f"that pulley as well, or no `{key}`")
        found = [self._rounded(own, name, heights) for name in names]
        return tuple(each for each in found if each is not None) if names and None not in found else None

    def _laid_round(self, own: Section) -> tuple[str, ...]:
        if not own.has("pulleys"):
            if {*own.table.entries} - {*names_under(own.form)}:
                return ()  # a key that has a fault of its own may be meant for `pulleys`
            if "route" in self.part.missing:
                own.missing("pulleys", "the pulleys that it is laid round, where the file has no `route`")
            elif self.part.layout is not None:
                return tuple(pulley.name for pulley in self.part.layout.routed)
            return ()
        names = own.each("pulleys", _name) or ()
        twice = [name for i, name in enumerate(names) if name in names[:i]]
        if twice:
            own.refuse("pulleys", f"{quoted(twice[0])} twice", "each pulley once")
        known = [name in self.names.moved_by or self.names.known(own, "pulleys", name) for name in names]
        return names if all(known) and not twice else ()

    def _rounded(self, own: Section, name: str, heights: _Heights) -> Rounded | None:
        pulleys = self.part.layout.pulleys if self.part.layout is not None and self.names.pulleys else {}
        pulley, points = pulleys.get(name), self.names.points_of(name)
        height = heights[pulley is not None and pulley.on_back]
        if height is None:
            own.refuse("belt", f"a belt whose back height over {quoted(name)} is not known", "the `length` of a wire")
            return None
        if name not in self.names.moved_by:
            return Rounded(name, name, pulley is not None and pulley.on_back, height)
        if pulley is None or self.part.layout is None:
            return None
        if isinstance(pulley.adjuster, Arm):
            point, carried = points[0], self._carried_mm(own, name, pulley.adjuster)
        else:
            point, carried = f"{name}.{own.value('slide_end')}", (0.0, 0.0) if own.has("slide_end") else None
            if carried is None:
                stood = f"from or to, the end of its slide at which {name} stood"
                own.missing("slide_end", f"{stood}; with it between them, take the loop out")
        if carried is None or point not in points:
            return None
        rims = (size.value_mm / 2.0 for size in self.sizes if size.pulley == name)
        own_mm = pulley.rim_radius_mm(self.part.layout.belt)
        return Rounded(name, point, pulley.on_back, height, carried, next(rims, own_mm))

    def _carried_mm(self, own: Section, name: str, arm: Arm) -> tuple[float, float] | None:
        """From an arm's pivot to its pulley while the loop lay there."""
        if (arm_deg := own.value("arm_deg")) is None:
            own.missing("arm_deg", f"the angle of the arm of {name} while the loop lay there")
            return None
        if not _is_swung_to(arm, arm_deg):
            self._refuse_angle(own, name, arm, arm_deg)
            return None
        turn = math.radians(arm_deg)
        return arm.length_mm * math.cos(turn), arm.length_mm * math.sin(turn)

    def _refuse_angle(self, own: Section, name: str, arm: Arm, arm_deg: float) -> None:
        """An angle to which its stops do not let an arm swing; with what was meant, where a usual slip explains it."""
        ways = {
            "its sign is wrong": -arm_deg,
            "it was read from pulley to pivot": arm_deg - math.copysign(180.0, arm_deg),
        }
        told = [f"if {how}, write {deg:g}; " for how, deg in ways.items() if _is_swung_to(arm, deg)]
        low, high = stops_of(arm)
        line = self.part.file.line_of("pulleys", name, "arm", "stops") if self.part.file else own.line
        stops = f"the stops of {name}, {low:g} to {high:g} (line {line})"
        own.refuse(
            "arm_deg", f"{arm_deg:g}, outside {stops}", f"an angle between them; {''.join(told)}else look at `stops`"
        )


def usual_sd(accuracy: Accuracy, belt: Belt | None, length_mm: float, arms_mm: Iterable[float]) -> float:
    """Of a wire that of a tape; of a belt its tolerance spread evenly; with an arm what its angle makes at most."""
    own = accuracy.distance_mm if belt is None else belt.tolerance_of(length_mm) / math.sqrt(3.0)
    return math.hypot(own, *(2.0 * arm * math.radians(accuracy.angle_deg) for arm in arms_mm))


def _is_swung_to(arm: Arm, deg: float) -> bool:
    low, high = stops_of(arm)
    return (deg - low + _PAST_STOPS_DEG) % 360.0 <= high - low + 2.0 * _PAST_STOPS_DEG


def _name(node: Node, _: Key) -> str:
    if not isinstance(node, Scalar):
        raise Misread(kind_of(node), "names of pulleys")
    return node.text


def _belt(own: Section) -> Belt | None:
    text = own.value("belt")
    if text is None:
        return None
    try:
        belt, why = parse_designation(text), "without a length"
        if belt.length_mm is not None:
            return belt
    except ValueError as reason:
        why = f"({reason})"
    own.refuse("belt", f"{quoted(text)} {why}", "a belt with its length: 6PK1700")
    return None

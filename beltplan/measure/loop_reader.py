"""Wires, strings and belts laid round pulleys: the length of each as one reading."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from beltplan.drive.belt import Belt, line_length_mm, parse_designation
from beltplan.drive.pulleys import Arm
from beltplan.faults import quoted
from beltplan.layoutfile.document import Node, Scalar, kind_of
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.values import Misread
from beltplan.measure.forms import Accuracy, entries_of, length, tables_of
from beltplan.measure.names import LayoutPart, Names
from beltplan.measure.readings import Diameter, LoopLength, Rounded

_INSIDE_OUT: Mapping[str, float] = {"inside": 0.0, "middle": 0.5, "outside": 1.0}
"""Where in a wire's thickness its length is read, from the face that lies inside the loop."""
_Heights = tuple[float, float | None]
"""Of a loop's line over the rim of a pulley inside the loop, and over one on its back, mm; None where not known."""


@dataclass(frozen=True, eq=False)
class LoopReader:
    """Reads the loops of a file. sizes: rims by calipers, those of pulleys that move among them."""

    names: Names
    part: LayoutPart
    sizes: tuple[Diameter, ...]
    accuracy: Accuracy

    def read(self, top: Section) -> tuple[LoopLength, ...]:
        found = [
            self._loop(own, name)
            for section, name in entries_of(top, "loops")
            if section.takes_name(name)
            for own in tables_of(section, name, "NAME")
        ]
        return tuple(each for each in found if each is not None)

    def _loop(self, own: Section, name: str) -> LoopLength | None:
        key = own.one_of(("length", "belt"))
        if not own.has("length") and not own.has("belt"):
            own.missing("length", "the loop's length, or a `belt` with one")
        belt = _belt(own) if key == "belt" else None
        value = length(own, "length") if belt is None else line_length_mm(belt)
        around, sd = self._around(own, self._heights(own, key, belt)), own.value("accuracy_mm")
        if key is None or value is None or around is None:
            return None
        text, usual = getattr(own.node(key), "text", ""), self._usual_sd(belt, around)
        return LoopLength(name, around, value, sd or usual, belt is not None, written=text, line=own.line_of(key))

    def _heights(self, own: Section, key: str | None, belt: Belt | None) -> _Heights:
        for foreign in ("along", "thickness") if key == "belt" else ():
            if own.has(foreign):
                own.refuse(foreign, f"{foreign} of a wire beside belt", "nothing: a belt's line is known")
        if belt is not None:
            layout = self.part.layout
            alike = layout.belt if layout is not None and layout.belt.profile is belt.profile else belt
            return -0.5 * belt.profile.rim_minus_line_mm, alike.back_mm
        thick, share = length(own, "thickness") or 0.0, _INSIDE_OUT[own.value("along") or "middle"]
        return share * thick, (1.0 - share) * thick

    def _around(self, own: Section, heights: _Heights) -> tuple[Rounded, ...] | None:
        """The pulleys that it is laid round, None where one is wrong."""
        names, moving = self._laid_round(own), self.names.moving
        arm_deg = own.value("arm_deg")
        if own.has("arm_deg") and names and not any(name in moving for name in names):
            own.refuse("arm_deg", "an arm's angle, but the loop goes round no pulley on an arm", "that pulley as well")
        found = [self._rounded(own, name, heights, arm_deg) for name in names]
        return tuple(each for each in found if each is not None) if names and None not in found else None

    def _laid_round(self, own: Section) -> tuple[str, ...]:
        """The names of its pulleys; none where one is unknown, which is noted."""
        if not own.has("pulleys"):
            if "route" in self.part.missing:
                own.missing("pulleys", "the pulleys that it is laid round, where the file has no `route`")
            elif self.part.layout is not None:
                return tuple(pulley.name for pulley in self.part.layout.routed)
            return ()
        names = own.each("pulleys", _name) or ()
        twice = [name for i, name in enumerate(names) if name in names[:i]]
        if twice:
            own.refuse("pulleys", f"{quoted(twice[0])} twice", "each pulley once")
        known = [name in self.names.moving or self.names.known(own, "pulleys", name) for name in names]
        return names if all(known) and not twice else ()

    def _rounded(self, own: Section, name: str, heights: _Heights, arm_deg: float | None) -> Rounded | None:
        pulleys = self.part.layout.pulleys if self.part.layout is not None and self.names.pulleys else {}
        pulley, moving = pulleys.get(name), self.names.moving.get(name)
        height = heights[pulley is not None and pulley.on_back]
        if height is None:
            own.refuse("belt", f"a belt whose back height over {quoted(name)} is not known", "the `length` of a wire")
            return None
        if moving is None:
            return Rounded(name, name, pulley is not None and pulley.on_back, height)
        if pulley is None or not isinstance(pulley.adjuster, Arm):
            if pulley is not None:
                own.refuse("pulleys", f"{quoted(name)}, which its slide moves", "pulleys that stand, or are on an arm")
            return None
        if arm_deg is None:
            own.missing("arm_deg", f"the angle of the arm of {name} while the loop lay there")
            return None
        arm, turn = pulley.adjuster, math.radians(arm_deg)
        carried = (arm.length_mm * math.cos(turn), arm.length_mm * math.sin(turn))
        rims = (size.value_mm / 2.0 for size in self.sizes if size.pulley == name)
        own_mm = pulley.rim_radius_mm(self.part.layout.belt) if self.part.layout is not None else 0.0
        return Rounded(name, moving[0], pulley.on_back, height, carried, next(rims, own_mm))

    def _usual_sd(self, belt: Belt | None, around: tuple[Rounded, ...]) -> float:
        """Of a wire that of a tape; of a belt its tolerance spread evenly; with an arm what its angle makes at most."""
        tape = self.accuracy.distance_mm
        own = tape if belt is None else belt.tolerance_of(line_length_mm(belt)) / math.sqrt(3.0)
        arms = [math.hypot(*each.carried_mm) for each in around]
        return math.hypot(own, *(2.0 * arm * math.radians(self.accuracy.angle_deg) for arm in arms))


def _name(node: Node, _: Key) -> str:
    if not isinstance(node, Scalar):
        raise Misread(kind_of(node), "names of pulleys")
    return node.text


def _belt(own: Section) -> Belt | None:
    text = own.value("belt")
    if text is None:
        return None
    try:
        belt = parse_designation(text)
    except ValueError as reason:
        own.refuse("belt", f"{quoted(text)} ({reason})", "a belt with its length: 6PK1700")
        return None
    if belt.length_mm is None:
        own.refuse("belt", f"{quoted(text)} without a length", "a belt with its length: 6PK1700")
        return None
    return belt

"""A layout file rewritten for a changed layout: only what differs is edited; read back before it takes its name."""

from __future__ import annotations

import math
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any

import yaml

from beltplan.drive.belt import MM_PER_UNIT, format_designation
from beltplan.drive.layout import Circle, Layout, Obstacle
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley, Slide
from beltplan.faults import FaultList, LayoutFaults
from beltplan.files import write_whole
from beltplan.layoutfile.document import VARIANTS, read_text
from beltplan.layoutfile.edits import (
    UNREADABLE,
    CannotEdit,
    Keys,
    name_text,
    node_at,
    with_files_from,
    with_item,
    with_value,
)
from beltplan.layoutfile.layout_file import LayoutFile, read_layout
from beltplan.layoutfile.values import length_mm

_CLOSE = 0.003
"""Numbers that are written shorter than they were computed may differ by so much, mm and all else."""
_DECIMALS = 4
_BESIDE = ("title", "variant", "units", "own_units", "pushes")
"""What of a layout may differ from what is read back: the units are those of answers, which may be asked for, or how a
number was written; and which way a spring pushes is told by its path.
"""

_Edit = tuple[Keys, str | tuple[str, ...]]


def rewritten(text: str, before: Layout, after: Layout, notes: Sequence[str]) -> str:
    """The text of a layout file with what differs between two layouts changed, led by comments.

    before: as read from the text, or from the variant that it names, which is then edited. Raises CannotEdit.
    """
    prefix = () if before.variant is None else (VARIANTS, before.variant)
    edits = (_belt_edits, _pulley_edits, _obstacle_edits)
    for keys, value in [each for edit in edits for each in edit(text, prefix, before, after)]:
        text = with_value(text, (*prefix, *keys), value)
    return head_lines(text, notes) + _rerouted(text, prefix, before, after)


def head_lines(text: str, notes: Sequence[str]) -> str:
    """Notes as comments, their lines ending as those of a text."""
    newline = "\r\n" if "\r\n" in text else "\n"
    return "".join(f"# {note}".rstrip() + newline for note in notes)


def _rerouted(text: str, prefix: Keys, before: Layout, after: Layout) -> str:
    keys = (*prefix, "route")
    if before.route == after.route:
        return text
    if node_at(text, keys) is None:
        return with_value(text, keys, tuple(map(name_text, after.route)))
    kept = [name for name in after.route if name in before.route]
    text = with_value(text, keys, tuple(map(name_text, kept)))
    for place, name in enumerate(after.route):
        if name not in before.route:
            text = with_item(text, keys, place - 1, name_text(name))
    return text


def _belt_edits(text: str, prefix: Keys, before: Layout, after: Layout) -> Iterator[_Edit]:
    old, new = before.belt, after.belt
    if old == new:
        return
    if isinstance(_own_or_base(text, prefix, ("belt",)), yaml.ScalarNode):
        yield ("belt",), format_designation(new)
        return
    for key in ("ribs", "length_mm", "mass_kg_per_m", "stiffness_N"):
        value = getattr(new, key)
        if value != getattr(old, key) and value is not None:
            yield ("belt", key), number_text(float(value), 1.0)
    named = new.length_mm is not None and (old.length_mm is None or new.length_kind != old.length_kind)
    if new.profile.is_classical and named:
        yield ("belt", "length_kind"), new.length_kind


def _pulley_edits(text: str, prefix: Keys, before: Layout, after: Layout) -> Iterator[_Edit]:
    scale = _mm_per_unit(text, prefix)
    for name, pulley in after.pulleys.items():
        root = ("pulleys", name)
        if name not in before.pulleys:
            yield root, _new_pulley(pulley, scale)
            continue
        own, its = _values(before.pulleys[name], scale), _values(pulley, scale)
        yield from (((*root, *keys), value) for keys, value in its.items() if value != own.get(keys))


def _values(pulley: Pulley, scale: float) -> dict[Keys, str | tuple[str, ...]]:
    held, sure_mm = pulley.adjuster, pulley.uncertainty.position_mm
    found: dict[Keys, str | tuple[str, ...]] = {
        (pulley.size_key,): _size_text(pulley.diameter_mm, scale),
        ("belt_side",): pulley.belt_side,
        ("one_way",): str(pulley.one_way).lower(),
        ("planned",): str(pulley.planned).lower(),
        ("uncertainty", "position_mm"): "null" if sure_mm is None else number_text(sure_mm, 1.0),
    }
    # By its grooves it follows from the belt's ribs too.
    if pulley.plane_mm is not None and not pulley.plane_by_grooves:
        found["plane",] = number_text(pulley.plane_mm, scale)
    places: dict[Keys, tuple[float, float] | None] = {("at",): pulley.at_mm}
    if isinstance(held, Arm):
        places = {("arm", "pivot"): held.pivot_mm}
    elif isinstance(held, Slide):
        places = {("slide", "from"): held.start_mm, ("slide", "to"): held.end_mm}
    found |= {keys: point_text(place, scale) for keys, place in places.items() if place is not None}
    numbers: dict[Keys, float | None] = {} if held is None else {("tension_N",): held.tension_N}
    spring = None if held is None else held.spring
    if spring is not None and spring.readings is not None:
        found["spring", "readings"] = tuple(f"[{', '.join(point_text(row, 1.0))}]" for row in spring.readings.rows)
    elif spring is not None:
        on_arm = isinstance(spring, ArmSpring)
        own = ("at_deg", "torque_Nm", "rate_Nm_per_deg") if on_arm else ("force_N", "rate_N_per_mm")
        numbers |= {("spring", key): getattr(spring, key) for key in own}
    return found | {keys: number_text(value, 1.0) for keys, value in numbers.items() if value is not None}


def _new_pulley(pulley: Pulley, scale: float) -> str:
    at, plane = pulley.at_mm, pulley.plane_mm
    parts = {
        "role": pulley.role,
        "at": None if at is None else f"[{', '.join(point_text(at, scale))}]",
        "diameter": _size_text(pulley.diameter_mm, scale),
        "belt_side": "back" if pulley.on_back else None,
        "grooves": pulley.grooves,
        "plane": None if plane is None else number_text(plane, scale),
        "planned": "true" if pulley.planned else None,
    }
    return f"{{{', '.join(f'{key}: {value}' for key, value in parts.items() if value is not None)}}}"


def _obstacle_edits(text: str, prefix: Keys, before: Layout, after: Layout) -> Iterator[_Edit]:
    scale = _mm_per_unit(text, prefix)
    for old, new in zip(before.obstacles, after.obstacles, strict=True):
        if old == new:
            continue
        root = ("obstacles", new.name)
        if _own_or_base(text, prefix, (*root, "file")) is not None:
            yield (*root, "at"), point_text(_drawing_at(text, prefix, root, scale, old, new), scale)
        elif isinstance(new, Circle):
            yield (*root, "circle", "at"), point_text(new.at_mm, scale)
        else:
            yield (*root, "polygon"), tuple(f"[{', '.join(point_text(corner, scale))}]" for corner in new.corners_mm)


def _own_or_base(text: str, prefix: Keys, keys: Keys) -> yaml.Node | None:
    return (node_at(text, (*prefix, *keys)) if prefix else None) or node_at(text, keys)


def _drawing_at(text: str, prefix: Keys, root: Keys, scale: float, old: Obstacle, new: Obstacle) -> tuple[float, float]:
    """Where the origin of a drawing comes to lie, mm, when the outline that was read from it is moved."""
    (x, y), (to_x, to_y) = (o.at_mm if isinstance(o, Circle) else o.corners_mm[0] for o in (old, new))
    node = _own_or_base(text, prefix, (*root, "at"))
    at = [length_mm(item.value, scale) for item in node.value] if isinstance(node, yaml.SequenceNode) else [0.0, 0.0]
    return at[0] + to_x - x, at[1] + to_y - y


def number_text(value: float, scale: float) -> str:
    """A number in the units of a file. scale: mm for one of them, 1 for what is not a length."""
    # The sum takes the sign off a zero.
    return f"{round(value / scale, _DECIMALS) + 0.0:.10g}"


def point_text(place: Sequence[float], scale: float) -> tuple[str, ...]:
    """The numbers of a place or another row, likewise."""
    return tuple(number_text(each, scale) for each in place)


def _size_text(value_mm: float, scale: float) -> str:
    """A diameter, rounded up where it must be: one that is just large enough stays so."""
    return f"{math.ceil(round(value_mm / scale * 10**_DECIMALS, 6)) / 10**_DECIMALS:.10g}"


def _mm_per_unit(text: str, prefix: Keys) -> float:
    # A null stands for the default.
    return MM_PER_UNIT.get(getattr(_own_or_base(text, prefix, ("units",)), "value", ""), MM_PER_UNIT["mm"])


def same(first: Any, second: Any) -> bool:
    """Whether two layouts are the same but for title, variant, the units of answers and the rounding of numbers."""
    if first is second:
        return True
    if isinstance(first, float) and isinstance(second, float):
        return abs(first - second) <= _CLOSE + 1e-6 * abs(first)
    if is_dataclass(first) and type(first) is type(second):
        names = (field.name for field in fields(first) if field.name not in _BESIDE)
        return all(same(getattr(first, name), getattr(second, name)) for name in names)
    if isinstance(first, Mapping) and isinstance(second, Mapping):
        return first.keys() == second.keys() and all(same(value, second[key]) for key, value in first.items())
    if isinstance(first, tuple) and isinstance(second, tuple):
        return len(first) == len(second) and all(map(same, first, second))
    return bool(first == second)


# A changed layout written as a new file: read back and compared before it takes its name, so never half-written.

_Fault = Callable[[Layout], str | None]
_LONE_RETURN = re.compile(r"\r(?!\n)")


def write_rewritten(
    path: str, source: LayoutFile, after: Layout, notes: Sequence[str], overwrite: bool, fault: _Fault
) -> None:
    """Write the file of a layout with the changes that lead to another one.

    source: the file that is edited, as a text; it stays as it is. notes: comments to lead the new one. fault: asked
    for what is wrong with the layout that was read back, None where nothing is.
    Raises CannotEdit where the text cannot be edited in place, FileExistsError, OSError.
    """

    def check(beside: str) -> None:
        if wrong := fault(read_back(beside, after)):
            raise CannotEdit(wrong)

    write_edited(path, source.path, lambda text: rewritten(text, source.layout, after, notes), overwrite, check)


def write_edited(
    path: str, source: str, edit: Callable[[str], str], overwrite: bool, check: Callable[[str], None]
) -> None:
    """Write what an edit makes of the text of a file, which stays as it is; lines end as they ended there.

    edit: from text to text, of lines that end in a line feed or in a return and one. check: raises where what stands
    in the file of that path is wrong. Raises CannotEdit, FileExistsError, OSError.
    """
    text = read_text(source, FaultList())
    if text is None:
        raise CannotEdit(f"{source} can no longer be read")
    # A carriage return by itself ends a line (YAML 1.1, 5.4); edits of the text look for line feeds.
    only_returns = "\r" in text and "\n" not in text
    try:
        new = edit(_LONE_RETURN.sub("\n", text))
    except UNREADABLE:
        raise CannotEdit(f"{source} has changed and can no longer be read") from None
    new = with_files_from(new, os.path.dirname(os.path.realpath(source)), os.path.dirname(os.path.realpath(path)))
    write_whole(path, (new.replace("\n", "\r") if only_returns else new).encode("utf-8"), overwrite, check)


def read_back(path: str, after: Layout) -> Layout:
    """The layout in a file that was written anew. Raises CannotEdit where it is not the one that was meant."""
    try:
        read = read_layout(path, after.variant).layout
    except LayoutFaults as faults:
        first = faults.faults[0]
        raise CannotEdit(f"the edited text would not be a layout: {first.key}: got {first.got}") from None
    if not same(read, after):
        raise CannotEdit("the edited text would not say what was meant; anchors or unusual notation stand in the way")
    return read

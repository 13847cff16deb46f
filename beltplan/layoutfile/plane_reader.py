"""Where a pulley's belt runs fore and aft: its plane as measured, or a stack of parts that leads to it."""

from __future__ import annotations

from typing import Any

from beltplan.drive.belt import Belt
from beltplan.layoutfile.document import Table
from beltplan.layoutfile.section import Section


def read_plane(
    pulley: Section, first: int | None, on_back: bool, grooves: int | None, belt: Belt | None
) -> dict[str, Any]:
    """The plane of the belt's middle and what stands behind it, by the fields of `Pulley`."""
    _check_first_groove(pulley, first, on_back, grooves, belt)
    first = first or 1
    stated = pulley.node("plane")
    if not isinstance(stated, Table):
        return {"plane_mm": pulley.value("plane"), "first_groove_used": first}
    plane = pulley.mapping("plane")
    by_grooves = plane is not None and _groove_given(pulley, plane, on_back, grooves, belt)
    total = None if plane is None else _added_up(plane)
    if plane is None or belt is None or total is None or not by_grooves:
        return {"first_groove_used": first}
    pitch, middle = belt.profile.pitch_mm or 0.0, plane.value("to") == "middle"
    if on_back:
        return {"plane_mm": total}
    # Grooves are counted from the engine, the way the stack grows.
    groove = total + (plane.value("face_to_first_groove") or 0.0) - (0.5 * ((grooves or 1) - 1) * pitch) * middle
    used = groove + (first - 1 + 0.5 * (belt.ribs - 1)) * pitch
    return {"plane_mm": used, "first_groove_used": first, "plane_by_grooves": True}


def _check_first_groove(
    pulley: Section, first: int | None, on_back: bool, grooves: int | None, belt: Belt | None
) -> None:
    profile, key = None if belt is None else belt.profile, "first_groove_used"
    if first is None:
        return
    if on_back:
        pulley.refuse(key, f"{first} on the back of the belt", "none: the back runs on a smooth face")
    elif profile is not None and not profile.is_ribbed:
        pulley.refuse(key, f"{first} for {profile.name}, whose grooves have no known pitch", "only for ribbed belts")
    elif not pulley.has("grooves"):
        pulley.refuse(key, f"{first} without `grooves`", "`grooves` beside it: how many the pulley has")
    elif grooves is not None and first > grooves:
        pulley.refuse(key, f"{first} of {grooves} grooves", f"1 to {grooves}, counted from the engine")


def _added_up(plane: Section) -> float | None:
    """The sum of a stack, mm; None where anything in it is wrong."""
    stack = plane.own_names("stack")
    names = tuple(stack.table.entries) if stack and stack.names else ()
    read = [stack.value(name, "NAME") if stack and stack.takes_name(name) else None for name in names]
    good = [each for each in read if each is not None]
    return sum(good) if read and len(good) == len(read) else None


def _groove_given(pulley: Section, plane: Section, on_back: bool, grooves: int | None, belt: Belt | None) -> bool:
    """Whether it is said where the grooves, or the middle of a smooth face, lie at the end of the stack."""
    to, face = plane.value("to"), "face_to_first_groove"
    ribbed = belt is not None and belt.profile.is_ribbed
    ahead = plane.value(face)
    if plane.has(face) and to not in (None, "face"):
        plane.refuse(face, f"{face} beside `to: {to}`", "only with `to: face`")
    elif on_back and to not in (None, "middle"):
        plane.refuse("to", f"{to} on the back of the belt", "middle: a smooth face has no grooves")
    elif to == "face" and not plane.has(face):
        plane.missing(face, "from that face to the middle of the first groove, the one nearest to the engine")
    elif to == "middle" and ribbed and not (on_back or pulley.has("grooves")):
        allowed = "`grooves` of the pulley: they tell where the belt's middle lies"
        plane.refuse("to", "middle without `grooves`", allowed)
    elif to == "middle" and belt is not None and not ribbed and grooves not in (None, 1):
        plane.refuse("to", "middle of several grooves whose pitch is not known", "first_groove")
    else:
        return to is not None and (to != "face" or ahead is not None)
    return False

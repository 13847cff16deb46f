"""The belt of a layout file, and the belts that can be bought."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, cast

from beltplan.drive.belt import ALLOWED, Belt, Friction, is_designation, parse_designation
from beltplan.drive.profiles import PROFILES, LengthKind, Profile
from beltplan.layoutfile.document import Node, Scalar, Table, kind_of, text_of
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.values import comma_missing

_KINDS = "inside, datum, outside (the length of a classical V-belt, some 15 to 70 mm apart)"
_EITHER = f"a belt designation {ALLOWED}, or a mapping"


def read_belt(top: Section) -> Belt | None:
    """The belt of the file, from a designation or a mapping; None where it is wrong."""
    if (node := top.node("belt")) is None:
        top.missing("belt", _EITHER)
    return None if node is None else _belt_at(top, "belt", node)


def read_stock(top: Section, belt: Belt | None) -> tuple[Belt, ...] | None:
    """The belts that can be bought, each with what the file says of its belt; None where not listed."""
    nodes = top.items("stock")
    if nodes is None:
        return None
    read = (_stocked(top, f"stock.{place}", node, belt) for place, node in enumerate(nodes, start=1))
    return tuple(each for each in read if each is not None)


def _belt_at(top: Section, key: str, node: Node) -> Belt | None:
    """What `belt` or an entry of `stock` holds: a designation or a mapping."""
    if isinstance(node, Table) and key == "belt":
        section = top.below(key, node)
        section.check_keys()
        return _belt_of(section)
    if isinstance(node, Table):
        section = top.entry(key, node)
        return _bare_belt(section, section.given())
    try:
        return parse_designation(text_of(node))
    except ValueError as reason:
        why = comma_missing(node.text, is_designation) or f" ({reason})" if isinstance(node, Scalar) else ""
        top.refuse(key, kind_of(node) + why, _EITHER, node.line)
        return None


_LEAST_BACK_MM = 0.5
"""The belt's body over its ribs is thicker: common practice, no source."""
_NOT_PLAIN = ("profile", "ribs", "length_mm", "length_kind", "stretch_fit_percent")
"""Keys that are not fields of a belt as they stand."""


def _belt_of(section: Section) -> Belt | None:
    read, friction = section.given(), section.mapping("friction")
    factors = Friction() if friction is None else Friction(**friction.given())
    bare, stretch = _bare_belt(section, read), _stretch_fit(section, read["stretch_fit_percent"])
    if bare is None:
        return None
    plain = {key: value for key, value in read.items() if key not in _NOT_PLAIN}
    back_mm = plain["back_over_rim_mm"]
    if bare.profile.is_ribbed and back_mm is not None and back_mm < _LEAST_BACK_MM:
        allowed = f"{_LEAST_BACK_MM:g} or more: a ribbed belt lies on the rib tips"
        section.refuse("back_over_rim_mm", f"{back_mm:g}", allowed)
    return replace(bare, stretch_fit=stretch, friction=factors, **plain)


def _bare_belt(section: Section, read: Mapping[str, Any]) -> Belt | None:
    """What a designation would say: profile, ribs and length."""
    if read["profile"] is None:
        return None
    profile = PROFILES[read["profile"]]
    ribs, kind = _ribs(section, profile, read["ribs"]), _length_kind(section, profile, read["length_kind"])
    return None if ribs is None else Belt(profile, ribs, read["length_mm"], kind)


def _ribs(section: Section, profile: Profile, given: int | None) -> int | None:
    if profile.is_ribbed and not section.has("ribs"):
        section.missing("ribs", f"the number of ribs of a {profile.name} belt")
    if not profile.is_ribbed and given not in (None, 1):
        section.refuse("ribs", str(given), f"1, or left out, for a {profile.name} V-belt")
    return given or (None if profile.is_ribbed else 1)


def _length_kind(section: Section, profile: Profile, kind: str | None) -> LengthKind:
    if profile.is_classical:
        if kind == "effective":
            section.refuse("length_kind", kind, _KINDS)
        if section.has("length_mm") and not section.has("length_kind"):
            section.refuse("length_kind", "nothing beside a length", _KINDS)
        return cast(LengthKind, kind or "datum")
    if kind not in (None, "effective"):
        section.refuse("length_kind", str(kind), f"effective, or left out, for a {profile.name} belt")
    return "effective"


def _stretch_fit(section: Section, percent: tuple[float, float] | None) -> tuple[float, float] | None:
    if percent is None:
        return None
    least, most = percent
    if not least < most:
        section.refuse("stretch_fit_percent", f"[{least:g}, {most:g}]", "[least, most], the least first")
    return least / 100.0, most / 100.0


def _stocked(top: Section, key: str, node: Node, belt: Belt | None) -> Belt | None:
    listed = _belt_at(top, key, node)
    if listed is None or belt is None:
        return None
    if (listed.profile.name, listed.ribs) != (belt.profile.name, belt.ribs):
        top.refuse(key, _section_of(listed), f"belts as the layout's own: {_section_of(belt)}", node.line)
    elif listed.length_mm is None and isinstance(node, Scalar):
        top.refuse(key, kind_of(node), "a designation with its length, such as 6PK1500", node.line)
    return replace(belt, length_mm=listed.length_mm, length_kind=listed.length_kind)


def _section_of(belt: Belt) -> str:
    return f"{belt.ribs}{belt.profile.name}" if belt.profile.is_ribbed else belt.profile.name

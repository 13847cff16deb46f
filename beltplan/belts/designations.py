"""Belt designations: 6PK1500, AV13x1000, A1400 datum."""

from __future__ import annotations

import re

from beltplan.belts.belt import Belt
from beltplan.belts.profile_data import PROFILES
from beltplan.belts.profiles import LengthKind

MM_PER_INCH = 25.4
MOST_RIBS = 30

_NUMBER = r"(?P<length>\d{2,5}(?:\.\d{1,2})?)"
_RIBBED = re.compile(rf"(?P<ribs>\d{{1,2}})\s*(?P<profile>P[HJKLM])\s*(?:{_NUMBER})?", re.IGNORECASE)
_AUTOMOTIVE = re.compile(rf"(?P<profile>AV1[03])\s*(?:x\s*{_NUMBER})?", re.IGNORECASE)
_CLASSICAL = re.compile(rf"(?P<profile>[AB])\s*(?:{_NUMBER}\s*(?P<kind>inside|datum|outside)?)?", re.IGNORECASE)

ALLOWED = "such as 6PK, 6PK1500, AV13x1000 or 'A1400 datum' (profiles " + ", ".join(PROFILES) + ")"


def parse_designation(text: str) -> Belt:
    """Read a belt designation, with or without its length.

    Ribbed: ribs, profile, effective length in mm (6PK1500). Automotive V: AV13x1000, effective length in mm.
    Classical V: section, length in mm and which length it is (A1400 datum).
    Raises ValueError, in words fit for the user, where the text is no designation or its length is ambiguous.
    Source: designations of ISO 9981/9982 (ribbed), ISO 2790 (automotive V) and ISO 4184 (classical), the last two
    from memory, medium confidence.
    """
    match = next((m for pattern in (_RIBBED, _AUTOMOTIVE, _CLASSICAL) if (m := pattern.fullmatch(text.strip()))), None)
    if match is None:
        raise ValueError("not a belt designation")
    return _belt_of(match.groupdict())


def _belt_of(parts: dict[str, str | None]) -> Belt:
    profile = PROFILES[str(parts["profile"]).upper()]
    length = None if parts["length"] is None else float(parts["length"])
    ribs = int(parts.get("ribs") or 1)
    if not 1 <= ribs <= MOST_RIBS:
        raise ValueError(f"{ribs} ribs; a belt has 1 to {MOST_RIBS}")
    if length is not None and not length > 0.0:
        raise ValueError("its length is not above zero")
    return Belt(profile, ribs, length, _kind(profile.is_classical, length, parts.get("kind")))


def _kind(classical: bool, length: float | None, kind: str | None) -> LengthKind:
    if not classical:
        return "effective"
    if length is not None and kind is None:
        raise ValueError(
            "the number of a classical V-belt may be its inside, datum or outside length, "
            "some 15 to 70 mm apart: say which, and give it in mm ('A1400 datum')"
        )
    kinds: dict[str, LengthKind] = {"inside": "inside", "datum": "datum", "outside": "outside"}
    return kinds[kind.lower()] if kind else "datum"


def format_designation(belt: Belt) -> str:
    """Designation of a belt, with its length where it has one: 6PK1500, AV13x1000, A1400 datum."""
    name = belt.profile.name
    number = "" if belt.length_mm is None else f"{belt.length_mm:.10g}"
    if belt.profile.is_ribbed:
        return f"{belt.ribs}{name}{number}"
    if belt.profile.is_classical:
        return f"{name}{number} {belt.length_kind}" if number else name
    return f"{name}x{number}" if number else name

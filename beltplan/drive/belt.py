"""The belt: what the user measured or was told of it, its designation, and the lengths that one belt has."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import cast

from beltplan.drive.profiles import PROFILES, LengthKind, Profile
from beltplan.geometry.vectors import TURN


@dataclass(frozen=True)
class Friction:
    """Friction of the belt as the user gives it; None where the default holds. Kept for the slip study."""

    dry: float | None = None
    wet: float | None = None
    design: float | None = None


@dataclass(frozen=True)
class Belt:
    """A belt as the layout names it; a length is there only when one belt is to be tested.

    ribs: number of ribs (1 for a V-belt). length_mm: number in the designation, of the kind `length_kind`.
    stretch_fit: least and most stretch of a belt that needs no adjuster, as shares of its length.
    back_over_rim_mm: how far the belt's back stands over the rib tips of a pulley, as measured.
    cord_below_back_mm, tolerance_mm, mass_kg_per_m, stiffness_N, friction, loss_factor: replace the usual values.
    mass and stiffness are those of the whole belt, all ribs together.
    """

    profile: Profile
    ribs: int = 1
    length_mm: float | None = None
    length_kind: LengthKind = "effective"
    stretch_fit: tuple[float, float] | None = None
    back_over_rim_mm: float | None = None
    cord_below_back_mm: float | None = None
    tolerance_mm: float | None = None
    mass_kg_per_m: float | None = None
    stiffness_N: float | None = None
    friction: Friction = Friction()
    loss_factor: float | None = None

    @property
    def back_mm(self) -> float | None:
        """Height of the back over the effective line; None where the profile has no default and none was measured.

        A measured `back_over_rim_mm` counts from the rim, which lies below the effective line of a ribbed pulley.
        """
        if self.back_over_rim_mm is None:
            return self.profile.back_mm
        return self.back_over_rim_mm + self.profile.rim_minus_line_mm / 2.0

    @property
    def cord_depth_mm(self) -> float:
        if self.cord_below_back_mm is None:
            return self.profile.cord_below_back_mm
        return self.cord_below_back_mm

    @property
    def pitch_line_mm(self) -> float:
        """Pitch line over the followed line: of an automotive V-belt the cord, as deep as it lies under the back."""
        return self.outer_mm - self.cord_depth_mm if self.profile.is_automotive else self.profile.pitch_line_mm

    @property
    def kind_words(self) -> str:
        """What it is called without a length: 6PK, AV13, A."""
        return format_designation(replace(self, length_mm=None))

    @property
    def outer_mm(self) -> float:
        """How far the belt stands over the followed line, for clearances.

        Where the back was neither given nor measured: what stands out of the groove, since the line lies near the rim;
        for classical sections what lies over the datum line.
        """
        if self.back_mm is not None:
            return self.back_mm
        above = self.profile.outside_above_mm
        return self.profile.thickness_mm - self.profile.climb_mm if above is None else above / TURN

    @property
    def inner_mm(self) -> float:
        """How far the belt reaches under the followed line, for clearances."""
        return max(0.0, self.profile.thickness_mm - self.outer_mm)

    @property
    def measuring_N(self) -> float:
        """Tension of one span at which the belt's length is measured, all ribs together."""
        return self.profile.measuring_force_N * self.ribs

    @property
    def hand_set_N(self) -> float:
        """Tension of one span to which a run-in belt is set where the layout says nothing, all ribs together."""
        return self.profile.hand_set_N * self.ribs

    @property
    def full_stiffness_N(self) -> float | None:
        """Force per unit strain, all ribs together; None where it is neither given nor known of the profile."""
        return self.stiffness_N or (self.profile.stiffness_N or 0.0) * self.ribs or None

    @property
    def full_mass_kg_per_m(self) -> float | None:
        """Its mass, likewise."""
        return self.mass_kg_per_m or (self.profile.mass_kg_per_m or 0.0) * self.ribs or None

    def tolerance_of(self, length_mm: float) -> float:
        """Length tolerance, either way, of a belt of that length; mm."""
        if self.tolerance_mm is not None:
            return self.tolerance_mm
        return max(self.profile.tolerance_least_mm, self.profile.tolerance_share * length_mm)


# Belt designations: 6PK1500, AV13x1000, A1400 datum.

MM_PER_INCH = 25.4
MM_PER_UNIT: Mapping[str, float] = {"mm": 1.0, "in": MM_PER_INCH}
"""By the word of a file for it."""
LBF_N = 4.4482216152605
"""By definition: 0.45359237 kg times 9.80665 m/s2."""
MOST_RIBS = 30
_MOST_IN = 300.0
"""A classical belt's number under it is one of inches: shorter in mm goes round no two pulleys (our own choice)."""

_NUMBER = r"(?P<length>\d{2,5}(?:\.\d{1,2})?)"
_RIBBED = re.compile(rf"(?P<ribs>\d{{1,2}})\s*(?P<profile>P[HJKLM])\s*(?:{_NUMBER})?", re.IGNORECASE)
_AUTOMOTIVE = re.compile(rf"(?P<profile>AV1[03])\s*(?:x\s*{_NUMBER})?", re.IGNORECASE)
_CLASSICAL = re.compile(
    rf"(?P<profile>[AB])\s*(?:{_NUMBER}\s*(?P<inches>in\b|\")?\s*(?P<kind>inside|datum|outside)?)?", re.IGNORECASE
)

ALLOWED = "such as 6PK, 6PK1500, AV13x1000 or 'A1400 datum' (profiles " + ", ".join(PROFILES) + ")"


def parse_designation(text: str) -> Belt:
    """Read a belt designation, with or without its length.

    Ribbed: ribs, profile, effective length in mm (6PK1500). Automotive V: AV13x1000, effective length in mm.
    Classical V: section, length in mm, or in inches that are said, and which length it is (A1400 datum, A48 in inside).
    Raises ValueError, in words fit for the user, where the text is no designation or its length is ambiguous.
    Source: designations of ISO 9981/9982 (ribbed), ISO 2790 (automotive V) and ISO 4184 (classical), the last two
    from memory, medium confidence.

    >>> belt = parse_designation("6PK1500")
    >>> belt.profile.name, belt.ribs, belt.length_mm
    ('PK', 6, 1500.0)
    >>> parse_designation("A1400 datum").length_kind
    'datum'
    """
    if (match := _matched(text)) is None:
        # A ribbed belt, its letters and numbers in any order.
        letters = {*re.sub(r"MM$|[^A-WYZ]", "", text.strip().upper())}
        numbers = sorted(re.findall(r"\d+", text), key=len)
        named = next((name for name in PROFILES if {*name} == letters), "")
        turned = "".join([*numbers[:1], named, *numbers[1:]])
        raise ValueError(f"write {turned}" if _matched(turned) else "not a belt designation")
    parts: dict[str, str | None] = match.groupdict()
    profile = PROFILES[str(parts["profile"]).upper()]
    number, unit_mm = parts["length"], MM_PER_INCH if parts.get("inches") else 1.0
    length = None if number is None else round(float(number) * unit_mm, 3)
    ribs, kind = int(parts.get("ribs") or 1), parts.get("kind")
    if not 1 <= ribs <= MOST_RIBS:
        raise ValueError(f"{ribs} ribs; a belt has 1 to {MOST_RIBS}")
    if length is not None and not length > 0.0:
        raise ValueError("its length is not above zero")
    if profile.is_classical and length is not None and kind is None:
        in_inches = unit_mm > 1.0 or length < _MOST_IN
        by_inches = f", or in inches, by which it is sold: '{profile.name}{number} in inside'?" * in_inches
        raise ValueError(
            "the number of a classical V-belt may be its inside, datum or outside length, "
            f"some 15 to 70 mm apart: say which, and give it in mm ('A1400 datum'){by_inches}"
        )
    return Belt(profile, ribs, length, cast(LengthKind, kind.lower()) if kind else profile.line_name)


def is_designation(text: str) -> bool:
    """Whether a text has the form of a belt designation."""
    return _matched(text) is not None


def _matched(text: str) -> re.Match[str] | None:
    return next((m for pattern in (_RIBBED, _AUTOMOTIVE, _CLASSICAL) if (m := pattern.fullmatch(text.strip()))), None)


def with_article(designation: str) -> str:
    """A designation as it stands in a sentence: a 6PK1500, an 8PK2360, an AV13x1425, an SPA1250.

    >>> [with_article(name) for name in ("6PK1500", "8PK2360", "AV13x1000")]
    ['a 6PK1500', 'an 8PK2360', 'an AV13x1000']
    """
    # Letters and numbers are spoken: F, H, L, M, N, R, S, X and the vowels but U begin with one; so do 8, 11 and 18.
    ribs = designation[: len(designation) - len(designation.lstrip("0123456789"))]
    vowel = ribs in ("11", "18") or ribs.startswith("8") if ribs else designation[:1] in tuple("AEFHILMNORSX")
    return f"an {designation}" if vowel else f"a {designation}"


def format_designation(belt: Belt) -> str:
    """Designation of a belt, with its length where it has one: 6PK1500, AV13x1000, A1400 datum."""
    name = belt.profile.name
    number = "" if belt.length_mm is None else f"{belt.length_mm:.10g}"
    if belt.profile.is_ribbed:
        return f"{belt.ribs}{name}{number}"
    if belt.profile.is_classical:
        return f"{name}{number} {belt.length_kind}" if number else name
    return f"{name}x{number}" if number else name


# The lengths that one belt has: effective, pitch and outside, or inside, datum and outside, kept apart.


def line_length_mm(belt: Belt) -> float:
    """Length of a belt along the followed line: effective, or datum for a classical section; mm.

    Raises ValueError for a belt without a length.
    Source: classical sections, ANSI/RMA IP-20 and ISO 4183 as noted in `profile_data`.

    >>> line_length_mm(parse_designation("A1300 inside"))
    1333.02
    """
    if belt.length_mm is None:
        raise ValueError("the belt has no length")
    below, above = belt.profile.inside_below_mm or 0.0, belt.profile.outside_above_mm or 0.0
    shift = {"inside": below, "outside": -above, "datum": 0.0, "effective": 0.0}[belt.length_kind]
    return belt.length_mm + shift


def length_words(profile: Profile, *line_mm: float, inches: bool = False) -> str:
    """A length along the followed line, or two as an interval. Of a classical section always with its kind and with the
    inside length, mm and inches, by which it is sold: the two are some 33 mm apart.

    >>> length_words(PROFILES["PK"], 1500.0, 1510.0)
    '1500.0 to 1510.0 mm'
    >>> length_words(PROFILES["A"], 1333.02)
    '1333.0 mm datum (1300.0 mm inside, 51.18 in)'
    """
    words, below = _interval(line_mm, 1, "mm"), profile.inside_below_mm
    if below is not None:
        inside = tuple(length - below for length in line_mm)
        return f"{words} datum ({_interval(inside, 1, 'mm')} inside, {_inches(inside)})"
    return f"{words} ({_inches(line_mm)})" if inches else words


def any_words(what: str, profile: Profile, line_mm: tuple[float, float], does: str, inches: bool = False) -> str:
    """Which belts do, by an interval of lengths along the followed line; one length where it is under 1 mm.

    >>> any_words("6PK", PROFILES["PK"], (1500.0, 1510.0), "will do")
    'any 6PK from 1500.0 to 1510.0 mm will do'
    >>> any_words("6PK", PROFILES["PK"], (1835.4, 1836.2), "would do", inches=True)
    'just one length, 1835.8 mm (72.28 in), would do'
    """
    least, most = line_mm
    if most - least < 1.0:
        return f"just one length, {length_words(profile, (least + most) / 2.0, inches=inches)}, {does}"
    return f"any {what} from {length_words(profile, least, most, inches=inches)} {does}"


def designation_inches(belt: Belt) -> str:
    """The number of a belt's designation in inches, so of the kind that it states."""
    return f"{(belt.length_mm or 0.0) / MM_PER_INCH:.2f}"


def _inches(lengths_mm: tuple[float, ...]) -> str:
    return _interval(tuple(length / MM_PER_INCH for length in lengths_mm), 2, "in")


def _interval(values: tuple[float, ...], digits: int, unit: str) -> str:
    return f"{' to '.join(f'{value:.{digits}f}' for value in values)} {unit}"


def pitch_length_mm(belt: Belt, line_mm: float) -> float:
    """Length along the pitch line of a belt whose followed line is `line_mm` long; mm.

    Source: parallel curves, L(pitch) - L(effective) = 2 pi b_e (Steiner); b_e of ISO 9981/9982.

    >>> round(pitch_length_mm(parse_designation("6PK1500"), 1500.0), 2)
    1512.57
    """
    return line_mm + TURN * belt.pitch_line_mm


def outside_length_mm(belt: Belt, line_mm: float) -> float | None:
    """Length over the belt's back, mm; None where the height of the back is not known."""
    if belt.profile.outside_above_mm is not None:
        return line_mm + belt.profile.outside_above_mm
    return None if belt.back_mm is None else line_mm + TURN * belt.back_mm


def rim_reading_spread_mm(belt: Belt, wraps_rad: float) -> tuple[float, float]:
    """How far the needed length may lie from the nominal, for pulleys read over the rim with that much wrap in all.

    Returns the least and the most change in mm, from the range of the rim's height under the line.
    """
    nominal = belt.profile.rim_minus_line_mm
    ends = [0.5 * (nominal - end) * wraps_rad for end in belt.profile.rim_range_mm]
    return min(ends), max(ends)

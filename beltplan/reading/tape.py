"""A length as a tape reads it: 14 7/8, 14-7/8", 1' 2 7/8", 381.5 mm."""

from __future__ import annotations

import re
from fractions import Fraction

from beltplan.belts.designations import MM_PER_INCH
from beltplan.reading.document import Node, Scalar, kind_of
from beltplan.reading.key import Key
from beltplan.reading.values import COMMA_HINT, Misread

DENOMINATORS = (2, 4, 8, 16, 32, 64)
"""The parts into which tapes and rules divide an inch (common practice, no source)."""
INCHES_IN_A_FOOT = 12
LONGEST = 40
EXAMPLES = "such as 14 7/8, 14.875 or 381.5 mm"

_MM = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "inch": MM_PER_INCH, "inches": MM_PER_INCH, '"': MM_PER_INCH}
_LENGTH = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?:(?P<feet>\d+)\s*(?:'|ft)\s*-?\s*)?
    (?:(?:(?P<whole>\d+)(?:\s+|\s?-\s?))?(?P<top>\d+)\s?/\s?(?P<bottom>\d+)
      |(?P<number>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?))?
    \s*(?P<unit>mm|cm|inches|inch|in|")?""",
    re.ASCII | re.VERBOSE,
)
_COMMA = re.compile(r"[+-]?\d+,\d+\s*(?:mm|cm|in|\")?", re.ASCII)
# What keyboards make of fractions and of the marks for feet and inches.
_PLAIN = str.maketrans(
    {
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
        "\u2044": "/", "\u2033": '"', "\u201d": '"', "\u2032": "'", "\u2019": "'",
    }
)  # fmt: skip


class NotALength(ValueError):
    """A text that no tape reads; the words say why, as far as that is known."""


def read_length(node: Node, key: Key, unit_mm: float) -> float:
    """A length within the key's range, mm. unit_mm: mm for one unit of the file. Raises Misread."""
    allowed = f"{key.allowed(unit_mm)}, {EXAMPLES}"
    if not isinstance(node, Scalar):
        raise Misread(kind_of(node), allowed, node.line)
    try:
        value = length_mm(node.text, unit_mm)
    except NotALength as fault:
        why = f" ({fault})" if str(fault) else ""
        raise Misread(kind_of(node) + why, allowed, node.line) from None
    if not (key.least <= value <= key.most) or (key.above and value == key.least):
        raise Misread(kind_of(node), allowed, node.line)
    return value


def length_mm(text: str, unit_mm: float) -> float:
    """A length from its text, mm. unit_mm: mm for one unit where the text gives none. Raises NotALength."""
    if len(text) > LONGEST:
        raise NotALength
    plain = text.translate(_PLAIN).strip()
    if _COMMA.fullmatch(plain):
        raise NotALength(COMMA_HINT.strip(" ()"))
    match = _LENGTH.fullmatch(plain)
    if match is None:
        raise NotALength
    parts = match.groupdict()
    if parts["feet"] is None and parts["number"] is None and parts["top"] is None:
        raise NotALength
    size = _size(parts) * (_unit_mm(parts, unit_mm) if parts["feet"] is None else _inches_mm(parts))
    return -size if parts["sign"] == "-" else size


def _size(parts: dict[str, str | None]) -> float:
    """How many units the text says."""
    whole = INCHES_IN_A_FOOT * int(parts["feet"] or 0)
    if parts["top"] is None:
        return whole + float(parts["number"] or 0)
    return float(whole + int(parts["whole"] or 0) + _fraction(int(parts["top"]), int(parts["bottom"] or 0)))


def _fraction(top: int, bottom: int) -> Fraction:
    if bottom not in DENOMINATORS:
        raise NotALength(f"a tape has {', '.join(map(str, DENOMINATORS[:-1]))} or {DENOMINATORS[-1]} parts to an inch")
    if top >= bottom:
        raise NotALength("its fraction is one or more")
    return Fraction(top, bottom)


def _inches_mm(parts: dict[str, str | None]) -> float:
    unit_mm = _MM[parts["unit"] or "in"]
    if unit_mm != MM_PER_INCH or (parts["unit"] and parts["number"] is None and parts["top"] is None):
        raise NotALength("feet go with inches")
    return unit_mm


def _unit_mm(parts: dict[str, str | None], unit_mm: float) -> float:
    unit = parts["unit"]
    found = unit_mm if unit is None else _MM[unit]
    if parts["top"] is not None and found != MM_PER_INCH:
        raise NotALength(f"a fraction goes with inches: {_inches(parts)}")
    return found


def _inches(parts: dict[str, str | None]) -> str:
    whole = f"{parts['whole']} " if parts["whole"] else ""
    return f"{whole}{parts['top']}/{parts['bottom']} in"

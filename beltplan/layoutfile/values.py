"""Values of the file from their raw text, by our own rules: no octal, no base 60; lengths as a tape reads them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from fractions import Fraction
from typing import Any

from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.own_units import own_unit_value, units_of
from beltplan.faults import quoted
from beltplan.layoutfile.document import NUMBER, Node, Scalar, Sequence, Table, kind_of, text_of
from beltplan.layoutfile.keys import FILE_UNIT, LENGTHS, Key
from beltplan.layoutfile.synonyms import meant_by

LONGEST_NAME = 40
LONGEST_TEXT = 200

_TAPE = re.compile(r"\d\s*(?:/\s*\d|[\"'½¼¾⅛⅜⅝⅞]|(?:mm|cm|in|inch|inches|ft)\b)", re.ASCII | re.IGNORECASE)
_COMMA = re.compile(r"[+-]?\d+,\d+(\s*[a-zA-Z\"].*)?", re.ASCII)
_POINTED = re.compile(r"[+-]?(?!\d{3,},\d{3})(?:\d+,\d+|\d+\.?\d*)\s*(?:mm|cm|in)?", re.ASCII)
"""A number that may have a comma for its decimal point."""
_PARTED = re.compile(r"([+-]?[1-9]\d{0,2})[.,](\d{3})(\s*[a-zA-Z].*|\s*\")?", re.ASCII)
"""A number whose thousands may be parted."""
_PERCENT = re.compile(r"(\d+\.?\d*)\s*%", re.ASCII)
_OWN_UNIT = re.compile(r"[+-]?\.?\d[\d.]*\s*[a-zA-Z\u00b0].*", re.ASCII)
_WITH_UNIT = re.compile(r"[+-]?\.?\d.*[a-df-z\"'\u00b0%].*", re.ASCII | re.IGNORECASE)
LEAST_USUAL = {"rpm": 100.0, "N": 10.0, "bar": 1.0, "kW": 0.01, "stiffness_N": 1000.0}
"""Below these a number with three digits behind its point is asked for, and none is told to be written in another unit
(common practice, no source), by unit or key.
"""
_LEAST_MM = {
    **dict.fromkeys(("position_mm", "distance_mm", "offset_mm", "uncertainty_mm"), 0.1), "diameter_mm": 0.01,
    **dict.fromkeys(("min_clearance_mm", "min_strand_gap_mm"), 2.0), "min_rim_gap_mm": 1.0,
}  # fmt: skip
"""Below these a bare number of a file in inches is hardly in mm (common practice, no source), by key."""


class Misread(Exception):
    """A value that is not what its key allows. line: where it stands, None for the key's own line."""

    def __init__(self, got: str, allowed: str, line: int | None = None) -> None:
        super().__init__(got, allowed)
        self.got, self.allowed, self.line = got, allowed, line


def wrong_name(name: str) -> tuple[str, str] | None:
    """What is wrong with a name of the user's own, and what is allowed; None where it is right."""
    if name.strip() and name.isprintable() and len(name) <= LONGEST_NAME:
        return None
    return f"the name {quoted(name)}", f"a name of 1 to {LONGEST_NAME} printable characters"


def is_number(node: Node) -> bool:
    return isinstance(node, Scalar) and node.plain and NUMBER.fullmatch(node.text) is not None


def has_unit(text: str) -> bool:
    """Whether a number carries its own unit.

    >>> [has_unit(text) for text in ('30 lbf', '6 1/2"', '6 1/2', '1e3', 'idler2')]
    [True, True, False, False, False]
    """
    return _WITH_UNIT.fullmatch(text) is not None


def number(node: Node, key: Key, scale: float = 1.0) -> float:
    """A finite number within the key's range. A length comes out in mm, and may carry its unit, as read off a tape."""
    unit_mm = scale if key.unit == FILE_UNIT else 1.0
    text = text_of(node)
    if is_number(node):
        value = float(text) * unit_mm
    elif key.unit in LENGTHS and _TAPE.search(text):
        return read_length(node, key, unit_mm)
    elif (own := own_unit_value(text, key.unit)) is not None:
        value = own
    else:
        raise Misread(kind_of(node) + _hint(node, key), key.allowed(scale))
    if meant := _point_meant(text, key, value) or _inches_meant(text, key, value, scale):
        raise Misread(f"{text} ({meant})", key.allowed(scale))
    if not key.holds(value):
        short = is_number(node) and len(text) < LONGEST_NAME
        percent = f" (in percent? Write {value / 100.0:g})" if key.most == 1.0 and 10.0 <= value <= 100.0 else ""
        raise Misread((text if short else kind_of(node)) + percent, key.allowed(scale))
    return value


def whole_number(node: Node, key: Key, _: float = 1.0) -> int:
    value = number(node, key)
    if not value.is_integer():
        raise Misread(kind_of(node), key.allowed())
    return int(value)


def _inches_meant(text: str, key: Key, value: float, scale: float) -> str:
    """What is asked of a number in mm that is likely in the inches of its file; else empty."""
    if scale != MM_PER_INCH or not NUMBER.fullmatch(text) or not 0.0 < value < _LEAST_MM.get(key.name, 0.0):
        return ""
    return f"a key in mm: is it in inches? Write {text} in, or {text} mm"


def _hint(node: Node, key: Key) -> str:
    if isinstance(node, Sequence):
        texts = [*map(text_of, node.items)]
        alone = len(texts) == 1 and bool(texts[0])
        if node.bare:
            return _comma_hint(",".join(texts), key.unit) if all(texts) else ""
        return f" (write {texts[0]}, without brackets)" if alone else ""
    if not isinstance(node, Scalar):
        return ""
    if not node.plain and NUMBER.fullmatch(node.text):
        return " in quotes (write it without)"
    if NUMBER.fullmatch(bare := node.text.rstrip(",; ")):
        return f" (write {bare})"
    if key.most == 1.0 and (percent := _PERCENT.fullmatch(node.text)):
        return f" (write {float(percent[1]) / 100.0:g})"
    if _COMMA.fullmatch(node.text):
        return _comma_hint(node.text, key.unit)
    if (digits := _with_digits(node.text)) != node.text and NUMBER.match(digits):
        return f" (a letter for a digit? Write {digits})"
    return f" (its unit may be {units})" if (units := _other_units(node.text, key.unit)) else ""


def _with_digits(text: str) -> str:
    """A text with 0 and 1 for the letters that look like them, where they stand in a number.

    >>> _with_digits("2O9.5 mm"), _with_digits("l2.OO"), _with_digits("2.0l oil")
    ('209.5 mm', '12.00', '2.0l oil')
    """
    zeros = re.sub(
        r"(?<=[\d.])[oO]+(?![a-zA-Z])|(?<![a-zA-Z])[oO]+(?=[\d.])|^[oO]$", lambda each: "0" * len(each[0]), text
    )
    return re.sub(r"(?<![a-zA-Z])[lI](?=[\d.])", "1", zeros)


def _other_units(text: str, unit: str) -> str:
    """Units of a key, where a number stands at it with another one or a word behind; else empty."""
    if own_unit_value(text, unit) is not None or not _OWN_UNIT.fullmatch(text):
        return ""
    match = _LENGTH.fullmatch(text.lower()) if unit in LENGTHS else None
    return "" if match else ", ".join(("mm", "cm", "in") if unit in LENGTHS else units_of(unit))


def _comma_hint(text: str, unit: str) -> str:
    """What to write for a number with a comma, which may part thousands where three digits follow it."""
    parted, pointed = _PARTED.fullmatch(text), text.replace(",", ".")
    if not _COMMA.fullmatch(text):
        return " (write the decimal point as a point, not a comma)"
    if parted is None and (units := _other_units(pointed, unit)):
        return f" (with a decimal point: {pointed}; and its unit may be {units})"
    if parted is None:
        return f" (write {pointed}, with a decimal point)"
    whole, rest, behind = parted.groups("")
    pointed = f"{whole}.{rest}{behind}"
    value = own_unit_value(pointed, unit) or float(f"{whole}.{rest}")
    either = "" if abs(value) < LEAST_USUAL.get(unit, 0.0) else f", or {pointed}?"
    return f" (no comma in a number: write {whole}{rest}{behind}{either})"


def _point_meant(text: str, key: Key, value: float) -> str:
    """What is asked of a number whose point may part thousands; else empty."""
    parted = _PARTED.fullmatch(text)
    if parted is None or not abs(value) < LEAST_USUAL.get(key.name, LEAST_USUAL.get(key.unit, 0.0)):
        return ""
    whole, rest, behind = parted.groups("")
    return f"no point in thousands: write {whole}{rest}{behind}, or {float(f'{whole}.{rest}'):g}{behind}?"


_ONE = r"[+-]?(?:(?:\d+\s+)?\d+/\d+|[\d.]+)"
_TWO = re.compile(
    rf"(?!.?\d+\s\d+/\d+$)[(\[]?\s*({_ONE})(?:\s*[;,]\s*|\s+(?:to|[-/])\s+|\s+)({_ONE})\s*[)\]]?", re.ASCII
)
"""Two numbers in a row; 14 7/8 alone is one."""


def two_numbers(node: Node, key: Key, scale: float = 1.0) -> tuple[float, float]:
    """A list of just two numbers, such as a point."""
    if not isinstance(node, Sequence) or node.bare or len(node.items) != 2:
        raise Misread(_not_two(node, key.unit == FILE_UNIT and scale == 1.0), key.allowed(scale))
    first, second = row(node, (key, key), key.allowed(scale), scale)
    return first, second


def _not_two(node: Node, in_mm: bool) -> str:
    nodes = node.items if isinstance(node, Sequence) else (node,)
    if isinstance(node, Table) and {*map(str.lower, node.entries)} == {"x", "y"}:
        nodes = tuple(entry.value for _, entry in sorted(node.entries.items()))
    text = ",".join(each.text if isinstance(each, Scalar) else "?" for each in nodes)
    two = _TWO.fullmatch(text)
    unit = " in" * (in_mm and two is not None and "/" in two[1] + two[2])
    meant = f"[{two[1]}{unit}, {two[2]}{unit}]" if two else " or ".join(_two_with_points(text))
    if two and two[1][0] == "-" and two[2][0] not in "+-" and re.search(r"\s-\s", text):
        meant += f" or [{two[1]}{unit}, -{two[2]}{unit}]"
    write = "decimal commas? Write" if "," in text and not two else "write"
    hint = f" ({write} {meant})" if meant else ""
    if not isinstance(node, Sequence) or node.bare:
        return kind_of(node) + " without brackets" * is_bare(node) + hint
    if len(nodes) == 1 and two:
        return f"[{two[0]}]: a comma is missing between the two numbers{hint}"
    return f"a list of {len(nodes)} (two are wanted{f'; {write} {meant}' if meant else ''})"


def _two_with_points(text: str) -> Iterator[str]:
    """The ways to read two numbers of which one or both have a comma for a point, as they are to be written.

    A nought is a third number where three digits stand before it; so is what has three itself.
    """
    parts = re.split(r"\s*[,;]\s*|(?<=[\dmn])\s+(?=[-+\d])", with_points(text.strip("[]() ")))
    for cut in range(1, 1 if parts[2:] == ["0"] and len(parts[1]) > 2 else len(parts)):
        two = ",".join(parts[:cut]), ",".join(parts[cut:])
        if all(map(_POINTED.fullmatch, two)):
            yield f"[{two[0]}; {two[1]}]".replace(",", ".").replace(";", ",")


def with_points(text: str) -> str:
    """Numbers in a row, with a point in each before whose unit a comma stands in its place.

    >>> with_points("35,2 cm, 40"), with_points("35, 40 cm")
    ('35.2 cm, 40', '35, 40 cm')
    """
    return re.sub(r"(?<![\d./])(\d+),(\d\d?\s*[mc]m\b)", r"\1.\2", text)


def commas_in(node: Sequence) -> tuple[str, str] | None:
    """What was got and what is allowed where lengths in a list seem to have a comma for their point."""
    text = ", ".join(item.text for item in node.items if isinstance(item, Scalar))
    meant = ", ".join(with_points(text.replace(", ", ",")).split(","))
    return None if meant == text else (f"[{text}] (decimal commas? Write [{meant}])", "a unit on each, or on none")


def row(node: Node, keys: tuple[Key, ...], allowed: str, scale: float = 1.0) -> tuple[float, ...]:
    """A list of one number for each key. Raises Misread."""
    if not isinstance(node, Sequence) or len(node.items) != len(keys):
        raise Misread(f"a list of {len(node.items)}" if isinstance(node, Sequence) else kind_of(node), allowed)
    read = list[float]()
    for item, key in zip(node.items, keys, strict=True):
        try:
            read.append(number(item, key, scale))
        except Misread as fault:
            raise Misread(fault.got, fault.allowed, item.line) from None
    return tuple(read)


def comma_missing(text: str, known: Callable[[str], bool]) -> str:
    """What is said of words of a list with no comma between, each of which is known alone; else empty."""
    names = re.split(r"[ .;>]+", text.strip())
    return f": a comma is missing between {' and '.join(names)}" if len(names) > 1 and all(map(known, names)) else ""


def is_bare(node: Node) -> bool:
    """Whether a value is a list without its brackets."""
    return "," in node.text if isinstance(node, Scalar) else isinstance(node, Sequence) and node.bare


def choice(node: Node, key: Key, _: float = 1.0) -> str:
    if not isinstance(node, Scalar):
        raise Misread(kind_of(node) + _hint(node, key), key.allowed())
    if node.text not in key.choices:
        hint = meant_by(node.text, key.choices)
        raise Misread(kind_of(node) + hint, ", ".join(key.choices) if hint else key.allowed())
    return node.text


def flag(node: Node, key: Key, _: float = 1.0) -> bool:
    if not isinstance(node, Scalar) or not node.plain or node.text not in ("true", "false"):
        hint = meant_by(node.text, ("true", "false")) if isinstance(node, Scalar) else _hint(node, key)
        raise Misread(kind_of(node) + hint, key.allowed())
    return node.text == "true"


def text(node: Node, key: Key, _: float = 1.0) -> str:
    """A text on one line, as it stands in the file."""
    allowed = f"a text of 1 to {LONGEST_TEXT} printable characters on one line"
    if not isinstance(node, Scalar):
        raise Misread(kind_of(node) + _hint(node, key), f"{allowed}: {key.meaning}")
    if not (node.text.strip() and node.text.isprintable() and len(node.text) <= LONGEST_TEXT):
        raise Misread(quoted(node.text) if node.text else "an empty text", allowed)
    return node.text


READERS: Mapping[str, Callable[[Node, Key, float], Any]] = {
    "text": text,
    "choice": choice,
    "true or false": flag,
    "whole number": whole_number,
    **dict.fromkeys(("point", "two numbers", "point or mapping", "list"), two_numbers),
}
"""How a value of each kind is read, or an entry of a list; all others are numbers."""


# A length as a tape reads it: 14 7/8, 14-7/8", 1' 2 7/8", 381.5 mm.

DENOMINATORS = (2, 4, 8, 16, 32, 64)
"""The parts into which tapes and rules divide an inch (common practice, no source)."""
_INCHES_IN_A_FOOT = 12
_LONGEST = 40
_EXAMPLES = {MM_PER_INCH: "14 7/8, 14.875 or 381.5 mm", 1.0: "381.5 or 14 7/8 in"}
"""Of lengths, by mm for one unit where the text gives none."""

_MM = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "inch": MM_PER_INCH, "inches": MM_PER_INCH, '"': MM_PER_INCH}
_LENGTH = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?:(?P<feet>\d+)\s*(?:'|ft)\s*-?\s*)?
    (?:(?:(?P<whole>\d+)(?:\s+|\s?-\s?))?(?P<top>\d+)\s?/\s?(?P<bottom>\d+)
      |(?P<number>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?))?
    \s*(?P<unit>mm|cm|inches|inch|in|")?""",
    re.ASCII | re.VERBOSE,
)
UNIT_BETWEEN = re.compile(
    r"""(?<![/\d.])(?P<whole>[+-]?\s*\d+)\s*(?P<unit>mm|cm|in|inch|inches|")\s*(?P<fraction>\d+\s?/\s?\d+)
    \s*(?:in|inch|inches|")?""",
    re.ASCII | re.IGNORECASE | re.VERBOSE,
)
"""A whole number with a unit, and a fraction of an inch behind that."""
# What keyboards make of fractions and of the marks for feet and inches.
_PLAIN = str.maketrans(
    {
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
        "\u2044": "/", "\u2033": '"', "\u201d": '"', "\u2032": "'", "\u2019": "'",
        "\u2212": "-", "\u2013": "-", "\u00a0": " ",
    }
)  # fmt: skip


class NotALength(ValueError):
    """A text that no tape reads; the words say why, as far as that is known."""


def read_length(node: Node, key: Key, unit_mm: float) -> float:
    """A length within the key's range, mm. unit_mm: mm for one unit of the file. Raises Misread."""
    why = ""
    if isinstance(node, Scalar):
        try:
            if key.holds(value := length_mm(node.text, unit_mm)):
                return value
            why = f" ({value / MM_PER_INCH:.6g} in)" * ("ft" in node.text or "'" in node.text)
        except NotALength as fault:
            meant = _fraction_meant(node.text, unit_mm) or str(fault)
            why = f" ({meant})" if meant else _hint(node, key)
    else:
        why = _hint(node, key)
    raise Misread(kind_of(node) + why, f"{key.allowed(unit_mm)}, such as {_EXAMPLES[unit_mm]}", node.line)


def _fraction_meant(text: str, unit_mm: float) -> str:
    """What to write for a fraction whose two parts stand apart otherwise than a tape shows it; else empty."""
    between = UNIT_BETWEEN.fullmatch(text.translate(_PLAIN))
    if between and _is_length(inches := f"{between['whole']} {between['fraction']} in", unit_mm):
        return f"a fraction goes with inches: is it {inches}?" if between["unit"][-1] in "mM" else f"write {inches}"
    plain = re.sub(r"\s*(?:\+|&|\band\b|\.)\s*(?=\d+\s*/)", " ", text.replace("\\", "/"))
    parted = [re.sub(rf"^(\d+)(\d{{{tops}}}/\d+)", r"\1 \2", plain) for tops in (2, 1)]
    turned, dashed = re.sub(r"(?<!\d)(\d+)/(\d+)", r"\2/\1", plain), re.sub(r"(?<=\d )(\d+)-(?=\d)", r"\1/", plain)
    joined = [re.sub(r"^(\d) (\d-\d+/\d+)$", meant, plain) for meant in (r"\1\2 in", r"\1 ft \2 in")]
    # A fraction without a unit, in a file in mm, has a message of its own; where its stroke is another, this is it.
    for every in ((plain,), (turned,), (dashed,), (f"{dashed} in",) * (dashed != text), parted, joined):
        # 715/16 is 7 15/16, or 71 5/16.
        if good := [meant for meant in dict.fromkeys(every) if _is_length(meant, unit_mm)]:
            return f"write {' or '.join(good)}" if text not in good else ""
    return ""


def _is_length(text: str, unit_mm: float) -> bool:
    with suppress(NotALength):
        return length_mm(text, unit_mm) is not None
    return False


def length_mm(text: str, unit_mm: float) -> float:
    """A length from its text, mm. unit_mm: mm for one unit where the text gives none. Raises NotALength."""
    plain = text.translate(_PLAIN).strip().lower() if len(text) <= _LONGEST else ""
    match = _LENGTH.fullmatch(plain)
    if match is None or not any(match.group("feet", "top", "number")):
        raise NotALength
    sign, feet, whole, top, bottom, decimal, unit = match.groups()
    mm = _MM[unit] if unit else MM_PER_INCH if feet else unit_mm
    if feet and (mm != MM_PER_INCH or (unit and not (decimal or top))):
        raise NotALength("feet go with inches")
    if feet and top and not (whole or unit):
        raise NotALength(f"write {sign}{feet} ft {top}/{bottom} in, or {sign}{feet} {top}/{bottom} in")
    size: float = _INCHES_IN_A_FOOT * int(feet or 0) + float(decimal or 0)
    if top:
        size = float(_INCHES_IN_A_FOOT * int(feet or 0) + int(whole or 0) + _fraction(int(top), int(bottom)))
    if top and mm != MM_PER_INCH:
        inches = f"{sign}{f'{whole} ' if whole else ''}{top}/{bottom} in"
        raise NotALength(f"a fraction goes with inches: {inches}; else a decimal: {sign}{size:g}")
    return -size * mm if sign == "-" else size * mm


def _fraction(top: int, bottom: int) -> Fraction:
    if bottom not in DENOMINATORS:
        raise NotALength(f"a tape has {', '.join(map(str, DENOMINATORS[:-1]))} or {DENOMINATORS[-1]} parts to an inch")
    if top >= bottom:
        raise NotALength("its fraction is one or more")
    return Fraction(top, bottom)

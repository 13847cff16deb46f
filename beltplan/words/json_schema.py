"""The table of keys as a JSON Schema (draft 2020-12), by which an editor completes and checks a file while it is typed.

It takes every file that the readers take. What it cannot see: whether names are known and belong together, geometry,
the range of a length as text, and of a number that only the file's unit makes too large or too small.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any, Literal

from beltplan.checks.limits import LIMIT_KEYS
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.loads import USUAL
from beltplan.drive.own_units import spellings_of, units_of
from beltplan.layoutfile.keys import FILE_UNIT, LENGTHS, USERS, Key
from beltplan.layoutfile.layout_file import MEASURED_BY
from beltplan.layoutfile.schema import FORMS, GAP, KEYS, MEASUREMENT_KEYS, Forms, key_at, limit_at
from beltplan.layoutfile.values import LONGEST_NAME, LONGEST_TEXT

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_Schema = dict[str, Any]
_Part = Literal["layout", "measurements", "variant"]
"""What a mapping is part of: a variant needs no key, and measurements find places and sizes."""

_EVERY = (*KEYS, *MEASUREMENT_KEYS)
_SCALAR: _Schema = {"type": ["string", "number", "boolean"]}
"""A text or name, which may look like a number."""
_NULL: _Schema = {"type": "null"}
_NOUGHT: _Schema = {"type": ["array", "null"], "items": {"const": 0}, "minItems": 2, "maxItems": 2}
"""A place in a file of measurements: that of the origin, or none."""

# Patterns as ECMAScript has them too: a length by `values.length_mm`, a designation by `belt.parse_designation`.
_NUMBER = r"([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?"
_FRACTION = r"([0-9]+(\s+|\s?-\s?))?[0-9]+\s?[/\u2044]\s?(2|4|8|16|32|64)|([0-9]+(\s*|\s?-))?[½¼¾⅛⅜⅝⅞]"


def _any_case(words: str) -> str:
    return "".join(f"[{each.upper()}{each.lower()}]" if each.isalpha() else each for each in words)


_LENGTH = (
    rf"(?=.*[0-9½¼¾⅛⅜⅝⅞])\s*[+-]?\s*([0-9]+\s*(['\u2032\u2019]|[Ff][Tt])\s*-?\s*)?({_FRACTION}|{_NUMBER})?\s*"
    rf"""({_any_case("mm|cm|inches|inch|in")}|["\u2033\u201d])?\s*$"""
)
_MORE_THAN_A_NUMBER = r"(?=.*[^-+.0-9eE\s])"
"""In a layout a number in quotes is no length."""
_PAIR = r"\S\s+[-\u2013\u2014]\s+\S"


_BELT_LENGTH = r"[0-9]{2,5}(\.[0-9]{1,2})?"
_DESIGNATION = (
    rf"^\s*([0-9]{{1,2}}\s*[Pp][HJKLMhjklm]\s*({_BELT_LENGTH})?|[Aa][Vv]1[03]\s*([Xx]\s*{_BELT_LENGTH})?"
    rf"|[ABab]\s*({_BELT_LENGTH}\s*([Ii][Nn]\b|\")?\s*({_any_case('inside|datum|outside')}))?)\s*$"
)
DEFINED: _Schema = {
    "length": {"type": "string", "pattern": f"^{_MORE_THAN_A_NUMBER}{_LENGTH}"},
    "reading": {"type": "string", "pattern": f"^{_LENGTH}"},
    "designation": {"type": "string", "pattern": _DESIGNATION},
}
_NAMES: _Schema = {"minLength": 1, "maxLength": LONGEST_NAME}
"""Of names of the user's own."""


def schema_text(of_measurements: bool) -> str:
    """The schema of a layout file, or of a measurements file, as JSON."""
    top = _mapping("", "measurements" if of_measurements else "layout")
    if of_measurements:
        top["anyOf"] = [_with((key,), ()) for key in MEASURED_BY]
    title = f"{'Measurements' if of_measurements else 'Layout'} of a belt drive"
    return json.dumps({"$schema": _DRAFT, "title": title, "$defs": DEFINED, **top}, indent=1)


def _mapping(path: str, part: _Part) -> _Schema:
    if path == "variants.NAME":
        return _mapping("", "variant")
    word = next((word for word in USERS if any(key.path.startswith(f"{path}.{word}") for key in _EVERY)), None)
    if word is not None:
        return _by_name(f"{path}.{word}", part)
    table = _EVERY if path or part == "measurements" else KEYS
    below = [key for key in table if key.parent == path and (key.path, part) != ("variants", "variant")]
    found: _Schema = {
        "type": "object",
        "properties": {key.name: _described(key, part) for key in below},
        "additionalProperties": False,
    }
    needed = [key.name for key in below if _is_needed(key, part)]
    groups = [_just_one(path, forms, part) for forms in FORMS.get(path, ()) if part != "variant"]
    return found | ({"required": needed} if needed else {}) | ({"allOf": groups} if groups else {})


def _by_name(path: str, part: _Part) -> _Schema:
    named = path in {key.path for key in _EVERY}
    below = _described(key_at(path), part) if named else _or_null(_mapping(path, part))
    if path == "limits.LIMIT":
        limits = {name: _limit(name, below) for name in LIMIT_KEYS}
        return {"type": "object", "properties": limits, "additionalProperties": False}
    least, most = key_at(path.rpartition(".")[0]).entries
    found = {"type": "object", "additionalProperties": below, "minProperties": 0 if part == "variant" else least}
    names = {"pattern": _PAIR} if path.endswith("PAIR") else _NAMES
    return found | {"propertyNames": names} | ({"maxProperties": most} if most else {})


def _limit(name: str, described: _Schema) -> _Schema:
    own, each = (_number(limit_at(path, name)) for path in ("limits.LIMIT", "limits.LIMIT.NAME"))
    below = {"description": key_at("limits.LIMIT.NAME").in_words, **_or_null(each)}
    named = {"type": "object", "additionalProperties": below, "propertyNames": _NAMES}
    return {"description": described["description"], **_or_null(_either(own, named))}


def _is_needed(key: Key, part: _Part) -> bool:
    """Whether a mapping must have a key, whatever else is in it."""
    with_others = {each for forms in FORMS.get(key.parent, ()) for form, own in forms.items() for each in (form, *own)}
    found = part == "measurements" and (_is_place(key) or key.parent == "")
    return key.needed and part != "variant" and key.name not in with_others and not found


def _is_place(key: Key) -> bool:
    return key.kind == "point" and key.path.startswith("pulleys.")


def _just_one(path: str, forms: Forms, part: _Part) -> _Schema:
    """That just one of some keys is there, with what goes with it and nothing that does not."""
    every = dict.fromkeys(key for form, own in forms.items() for key in (form, *own))
    ways = []
    for form, own in forms.items():
        needed = (form, *(key for key in own if key_at(f"{path}.{key}").needed))
        ways.append(_with(needed, [key for key in every if key not in (form, *own)]))
    if part == "measurements" and path == "pulleys.NAME":
        ways.append(_with((), every))
    return {"anyOf": ways}


def _with(there: Iterable[str], absent: Iterable[str]) -> _Schema:
    needed = list(there)
    properties = {key: {"not": _NULL} for key in needed} | dict.fromkeys(absent, _NULL)
    return {"required": needed, "properties": properties}


def _or_null(schema: _Schema) -> _Schema:
    if "enum" in schema:
        return {**schema, "enum": [*schema["enum"], None]}
    if "anyOf" in schema:
        return {**schema, "anyOf": [*schema["anyOf"], _NULL]}
    kinds = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    return {**schema, "type": [*kinds, "null"]}


def _described(key: Key, part: _Part) -> _Schema:
    """What a key may hold, with its meaning in words, and its default where that is a value."""
    held = _NOUGHT if part == "measurements" and _is_place(key) else _value(key, part)
    read = key.kind in ("length, mapping or list", "angle, mapping or list")
    alone = (key.needed and part != "variant") or read or held is _NOUGHT
    return {"description": key.in_words, **_default(key), **(held if alone else _or_null(held))}


def _default(key: Key) -> _Schema:
    if key.default in key.choices:
        return {"default": key.default}
    if key.kind == "true or false" and key.default == "false":
        return {"default": False}
    return {"default": float(key.default)} if key.default.replace(".", "").isdigit() else {}


def _value(key: Key, part: _Part) -> _Schema:
    alone, _, other = key.kind.partition(" or ")
    if other == "list":
        return _readings(key, part)
    if alone == "mapping":
        return _list(_SCALAR, key.entries) if other and part == "measurements" else _mapping(key.path, part)
    found = _alone(alone, key, part)
    return _either(found, _mapping(key.path, part)) if other == "mapping" else found


def _alone(kind: str, key: Key, part: _Part) -> _Schema:
    """What a key may hold where that is no mapping."""
    match kind:
        case "text":
            return {**_SCALAR, "minLength": 1, "maxLength": LONGEST_TEXT}
        case "choice":
            return {"enum": list(key.choices)}
        case "true":
            return {"type": "boolean"}
        case "usual":
            return {"enum": [USUAL]}
        case "designation":
            return {"$ref": "#/$defs/designation"}
        case "whole number":
            return {**_number(key), "type": "integer"}
        case "number" | "length":
            return _number(key)
        case "point" | "two numbers":
            return _list(_number(key), (2, 2))
        case _:
            return _list(_item(key, part), key.entries)


def _number(key: Key) -> _Schema:
    """A number in its range; of the file's unit in either range, or as a tape reads it."""
    inch = MM_PER_INCH if key.unit == FILE_UNIT else 1.0
    least = "exclusiveMinimum" if key.above else "minimum"
    found = {"type": "number", least: min(key.least, key.least / inch), "maximum": max(key.most, key.most / inch)}
    text = {"$ref": f"#/$defs/{'reading' if key in MEASUREMENT_KEYS else 'length'}"}
    if key.unit in LENGTHS:
        return _either(found, text)
    if not units_of(key.unit):
        return found
    return _either(
        found, {"type": "string", "pattern": rf"^\s*[+-]?({_NUMBER})\s*({_any_case(spellings_of(key.unit))})\s*$"}
    )


def _either(*ways: _Schema) -> _Schema:
    """One of several schemas, those of one that has several itself laid out flat."""
    return {"anyOf": [each for way in ways for each in way.get("anyOf", [way])]}


def _list(items: _Schema, entries: tuple[int, int]) -> _Schema:
    return {"type": "array", "items": items, "minItems": entries[0], "maxItems": entries[1]}


def _item(key: Key, part: _Part) -> _Schema:
    """An entry of a list: what its kind says; else a point where it has a unit, a belt in `stock`, else a name."""
    match key.kind:
        case "numbers":
            return _number(key)
        case "list of readings":
            return _list({"type": "number"}, (3, 3))
        case "list of holes":
            return _list(_number(key), (3, 3))
        case "list of slots":
            return _mapping(f"{key.path}.ENTRY", part)
    if key.unit:
        return _list(_number(key), (2, 2))
    belt = _alone("designation", key, part)
    return _either(belt, _mapping(f"{key.path}.ENTRY", part)) if key.path == "stock" else _SCALAR


def _readings(key: Key, part: _Part) -> _Schema:
    """What was read once or several times: a value, or a mapping of it and what is said of it."""
    own = _mapping(key.path, part)
    if "value" in own["properties"] and key.path == GAP.parent:
        own["properties"]["value"] |= _number(GAP)
    once = own if key.kind == "mapping or list" else _either(_number(key_at(f"{key.path}.value")), own)
    return _either(once, _list(once, key.entries))

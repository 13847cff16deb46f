"""The JSON Schema of both kinds of file, as a library for it reads them (jsonschema, draft 2020-12).

The rule: what a reader takes, the schema takes, so that an editor never marks what is right. What the schema refuses, a
reader refuses. What only the readers see is listed below.
"""

import json
import random
import re
from collections.abc import Callable, Iterator
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from beltplan.faults import LayoutFaults
from beltplan.layoutfile.document import Scalar
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.layout_file import read_every_layout
from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS
from beltplan.layoutfile.values import Misread, NotALength, length_mm, number
from beltplan.measure.measurements_file import read_measurements
from beltplan.words.json_schema import DEFINED, _value, schema_text
from tests.for_each import mostly_long
from tests.fuzz.mutations import TREE_WAYS, FastLoader
from tests.layoutfile.test_measurement_starter import used as used_part
from tests.layoutfile.test_starter import unused_lines, used
from tests.starters import MEASUREMENT_STARTER, STARTER
from tests.words.core_yaml import loaded

ROOT = Path(__file__).parents[2]
FILES = sorted(
    (*ROOT.glob("layouts/*.yaml"), *ROOT.glob("tests/cases/**/*.yaml"), *ROOT.glob("tests/fuzz/found/*.yaml"))
)
KINDS: dict[bool, Callable[[str], object]] = {False: read_every_layout, True: read_measurements}
"""How a file is read, by whether it is of measurements."""


@cache
def validator(of_measurements: bool) -> Draft202012Validator:
    return Draft202012Validator(json.loads(schema_text(of_measurements)))


def is_taken(of_measurements: bool, tree: Any) -> bool:
    """Whether the schema takes the values of a file."""
    return bool(validator(of_measurements).is_valid(tree))


def is_read(of_measurements: bool, path: Path) -> bool:
    """Whether the reader takes a file."""
    try:
        KINDS[of_measurements](str(path))
    except LayoutFaults:
        return False
    return True


def both(of_measurements: bool, folder: Path, tree: Any) -> tuple[bool, bool]:
    """Whether the schema and the reader take a tree, which is written as JSON: all JSON is YAML."""
    path, text = folder / "file.yaml", json.dumps(tree, ensure_ascii=False)
    path.write_text(text, encoding="utf-8")
    return is_taken(of_measurements, json.loads(text)), is_read(of_measurements, path)


def full_starter() -> str:
    """The starter with everything in use, but for what needs a file beside it."""
    text = STARTER
    for line in unused_lines():
        text = used(text, line)
    return text


def full_measurements() -> str:
    """The measurements to begin with, every part in use that can be beside the others."""
    text = MEASUREMENT_STARTER
    for part in ("#marks:", "#  guide:", "#  belt on hand:", "#points:"):
        text = used_part(text, part)
    return text


FULL = {False: full_starter(), True: full_measurements()}


@pytest.mark.parametrize("of_measurements", KINDS)
def test_it_is_a_schema(of_measurements: bool) -> None:
    Draft202012Validator.check_schema(json.loads(schema_text(of_measurements)))
    assert schema_text(of_measurements).isascii(), "so that `>` writes it in any encoding"


def test_what_is_read_is_taken() -> None:
    """Every layout that is shipped, every case and what fuzzing found; nearly all are read as one kind or the other."""
    kinds = [(kind, file) for file in FILES for kind in KINDS if is_read(kind, file)]
    assert len(kinds) > 0.8 * len(FILES)
    assert [each for each in kinds if not is_taken(each[0], loaded(each[1].read_text(encoding="utf-8")))] == []


@pytest.mark.parametrize("of_measurements", KINDS)
def test_starters_are_taken_as_what_they_are(of_measurements: bool, tmp_path: Path) -> None:
    for text in ((STARTER, MEASUREMENT_STARTER)[of_measurements], FULL[of_measurements]):
        assert both(of_measurements, tmp_path, loaded(text)) == (True, True)
        assert not is_taken(not of_measurements, loaded(text))


def test_a_starter_with_any_one_unused_line_is_taken() -> None:
    assert [line for line in unused_lines() if not is_taken(False, loaded(used(STARTER, line)))] == []


def test_the_starters_say_how_the_schema_is_written() -> None:
    assert "`beltplan words --schema > layout.schema.json`" in STARTER.splitlines()[1]
    assert "`beltplan words --schema --measurements > measurements.schema.json`" in MEASUREMENT_STARTER.splitlines()[2]


def descriptions(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        yield from (node["description"],) if isinstance(node.get("description"), str) else ()
        yield from (each for below in node.values() for each in descriptions(below))
    elif isinstance(node, list):
        yield from (each for below in node for each in descriptions(below))


def test_every_key_is_told_with_its_unit_and_default() -> None:
    """But for the names of limits, and of stock, whose keys are told by their own."""
    known = set(descriptions(json.loads(schema_text(True))))
    assert {key.path for key in (*KEYS, *MEASUREMENT_KEYS) if key.in_words not in known} == set()
    layout = set(descriptions(json.loads(schema_text(False))))
    assert {key.path for key in KEYS if key.in_words not in layout} == set()


def places(node: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to everything in a file."""
    below = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in below:
        yield (*way, key)
        yield from places(value, (*way, key))


def at(tree: Any, way: tuple[Any, ...]) -> Any:
    for key in way:
        tree = tree[key]
    return tree


tree_of = cache(loaded)


def put(text: str, way: tuple[Any, ...], value: Any) -> Any:
    """The tree of a text with one value replaced or added."""
    tree = deepcopy(tree_of(text))
    at(tree, way[:-1])[way[-1]] = value
    return tree


def not_refused(of_measurements: bool, folder: Path, ways: list[tuple[Any, ...]], value: Any) -> list[tuple[Any, ...]]:
    """The places in a full file where a value is not refused by both."""
    text = FULL[of_measurements]
    return [way for way in ways if both(of_measurements, folder, put(text, way, value)) != (False, False)]


@pytest.mark.parametrize("share", mostly_long(range(4), 0))
@pytest.mark.parametrize("of_measurements", KINDS)
def test_what_breaks_a_rule_of_the_schema_is_refused_by_both(of_measurements: bool, share: int, tmp_path: Path) -> None:
    """At every place of a file: a value of a wrong kind, a number far out of range, an unknown key.

    Where the names are the user's own, what stands under the unknown one is of no kind that is known.
    """
    tree = loaded(FULL[of_measurements])
    ways = list(places(tree))
    numbers = [way for way in ways if type(at(tree, way)) in (int, float)]
    keys = [(*way, "colour") for way in ((), *ways) if isinstance(at(tree, way), dict)]
    assert len(ways) > 130 and len(numbers) > 40 and len(keys) > 15
    assert not_refused(of_measurements, tmp_path, ways[share::4], {"colour": {"red": [1]}}) == []
    assert not_refused(of_measurements, tmp_path, ways[share::8], [["red"]]) == []
    assert not_refused(of_measurements, tmp_path, numbers[share::4], 1e13) == []
    assert not_refused(of_measurements, tmp_path, keys[share::4], {"red": [1]}) == []


def test_ranges_and_sizes_end_where_the_reader_has_them_end() -> None:
    """Each number at both ends of its range and next to them, but for lengths; each list at its least and most."""
    for key in (*KEYS, *MEASUREMENT_KEYS):
        part = Draft202012Validator({"$defs": DEFINED, **_value(key, "layout")})
        if key.kind in ("number", "whole number"):
            step = 1.0 if key.kind == "whole number" else 1e-6 * (key.most - key.least)
            ends = (key.least - step, key.least, key.least + step, key.most - step, key.most, key.most + step)
            assert [part.is_valid(end) for end in ends] == [_is_number(end, key) for end in ends], key.path
        elif key.kind in ("names", "numbers"):
            one: Any = "crank" if key.kind == "names" else key.most
            sizes = (key.entries[0] - 1, *key.entries, key.entries[1] + 1)
            assert [part.is_valid([one] * size) for size in sizes] == [False, True, True, False], key.path


def _is_number(value: float, key: Key) -> bool:
    try:
        number(Scalar(1, repr(value), True), key)
    except Misread:
        return False
    return True


def test_damage_that_a_reader_takes_is_taken(tmp_path: Path) -> None:
    """So what the schema refuses is refused by the reader, whatever was done to the file."""
    judged = [both_of_damaged(seed, tmp_path) for seed in range(90)]
    assert (False, True) not in judged
    assert judged.count((False, False)) > 30 and judged.count((True, True)) > 9


def both_of_damaged(seed: int, folder: Path) -> tuple[bool, bool] | None:
    """Whether the schema and the reader take a damaged file; None where it is no tree of values any more."""
    rng = random.Random(f"schema {seed}")
    of_measurements = seed % 3 == 0
    tree = yaml.load(FULL[of_measurements] if seed % 2 else rng.choice(FILES).read_text(encoding="utf-8"), FastLoader)
    rng.choice(TREE_WAYS)(rng, tree)
    try:
        return both(of_measurements, folder, tree)
    except (RecursionError, ValueError, TypeError):
        return None


ONLY_READ = {
    "a name": (("route", 0), "nobody"),
    "names that belong together": (("duty", "all on"), ["guide"]),
    "one number by another": (("engine", "idle_rpm"), 5000),
    "geometry": (("obstacles", "bracket", "polygon"), [[0, 0], [10, 10], [0, 10], [10, 0]]),
    "the range of a length as text": (("pulleys", "crank", "diameter"), "90000 mm"),
    "a range in the file's unit": (("pulleys", "crank", "diameter"), 0.5),
    "what a profile asks for": (("belt", "ribs"), None),
}
"""What a schema cannot see, or only at the price of one for each unit."""


@pytest.mark.parametrize("kind", ONLY_READ)
def test_what_only_the_reader_sees(kind: str, tmp_path: Path) -> None:
    assert both(False, tmp_path, put(STARTER, *ONLY_READ[kind])) == (True, False)


@pytest.mark.parametrize(
    ("way", "value"),
    [
        (("pulleys", "crank", "arm"), {"pivot": [0, 0], "length": 50, "stops": [0, 40]}),
        (("pulleys", "crank", "rim_diameter"), 150),
        (("pulleys", "crank", "spring"), {"torque_Nm": 5, "at_deg": 0, "rate_Nm_per_deg": 0.1}),
        (("pulleys", "pump", "load"), {"power_kW": 1, "voltage_V": 14}),
        (("pulleys", "pump", "load"), {"power_kW": 1, "torque_Nm": 14}),
        (("pulleys", "pump", "load"), {"current_A": 1}),
        (("pulleys", "tensioner", "spring", "force_N"), 400),
        (("obstacles", "hose", "polygon"), [[0, 0], [10, 0], [0, 10]]),
        (("obstacles", "hose", "turn_deg"), 20),
        (("pulleys", "crank", "role"), None),
        (("belt",), "six ribs"),
        (("pulleys", "crank", "at"), ["1/3 in", 0]),
        (("pulleys", "crank", "at"), ["14", 0]),
        (("limits", "min_turns"), 5),
    ],
    ids=str,
)
def test_what_must_not_stand_together_is_refused_by_both(way: tuple[str, ...], value: Any, tmp_path: Path) -> None:
    assert both(False, tmp_path, put(STARTER, way, value)) == (False, False)


@pytest.mark.parametrize(
    "way",
    [("pulleys", "pump", "turns"), ("engine",), ("obstacles", "hose"), ("pulleys", "tensioner", "spring"), ("title",)],
)
def test_what_stands_empty_is_taken_by_both(way: tuple[str, ...], tmp_path: Path) -> None:
    assert both(False, tmp_path, put(STARTER, way, None)) == (True, True)


def test_every_length_that_is_read_is_a_length_of_the_schema() -> None:
    """20,000 texts of a tape's own characters; of the others few, for reasons that only their numbers or units tell."""
    rng, pattern = random.Random(8), DEFINED["reading"]["pattern"]
    parts = ("14", " ", "-", "7/8", "1/3", "½", ".5", "'", '"', "mm", "in", "ft", "e", "+", "2", "\u2044")
    texts = {"".join(rng.choices(parts, k=rng.randint(1, 6))) for _ in range(20_000)}
    read = {text for text in texts if _is_length(text)}
    assert len(read) > 200 and [text for text in read if not re.match(pattern, text)] == []
    assert len({text for text in texts - read if re.match(pattern, text)}) < 0.01 * len(texts)


def _is_length(text: str) -> bool:
    try:
        length_mm(text, 1.0)
    except NotALength:
        return False
    return True

"""What a file must have is asked for by the schema where the reader asks for it, and is not where it does not."""

import re
from collections import defaultdict
from copy import deepcopy
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator

from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS
from beltplan.words.json_schema import DEFINED, _described
from tests.words.test_json_schema import FULL, at, both, is_taken, places, tree_of

NEEDED = {key.name for key in (*KEYS, *MEASUREMENT_KEYS) if key.needed}
PARTLY = {"at_deg"}
"""Needed of a spring alone, and there only beside some keys: the reader says so."""
A_NAME = 4
"""Places of one key that are tried."""


def test_a_key_that_is_needed_and_left_out_is_refused_by_both(tmp_path: Path) -> None:
    """Each in a file with all in use; whatever the schema refuses the reader refuses."""
    refused, tried = set[str](), defaultdict[str, int](int)
    for of_measurements in (False, True):
        for way in places(tree_of(FULL[of_measurements])):
            name = way[-1]
            if name not in NEEDED - refused or way[0] == "variants" or tried[name] > A_NAME:
                continue
            tried[name] += 1
            if not is_taken(of_measurements, tree := _without(of_measurements, way)):
                assert both(of_measurements, tmp_path, tree) == (False, False), way
                refused.add(name)
    assert refused == set(tried) - PARTLY and len(refused) > 20


def test_a_default_is_told_where_it_is_a_value_and_is_one_that_the_key_takes() -> None:
    """A word that may be chosen, or a plain number: by pattern; what is told in a sentence is none."""
    told = 0
    for key in (*KEYS, *MEASUREMENT_KEYS):
        schema = _described(key, "layout")
        plain = re.fullmatch(r"\d+(\.\d+)?", key.default) is not None
        assert ("default" in schema) == (key.default in (*key.choices, "false") or plain), key.path
        if "default" in schema:
            assert Draft202012Validator({"$defs": DEFINED, **schema}).is_valid(schema["default"]), key.path
            assert key.default in (schema["default"], str(schema["default"]).lower()) or plain
            assert not plain or schema["default"] == float(key.default)
            told += 1
    assert told > 10


def _without(of_measurements: bool, way: tuple[Any, ...]) -> Any:
    tree = deepcopy(tree_of(FULL[of_measurements]))
    del at(tree, way[:-1])[way[-1]]
    return tree

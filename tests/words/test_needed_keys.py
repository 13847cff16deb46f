"""What a file must have is asked for by the schema where the reader asks for it, and is not where it does not."""

from collections import defaultdict
from copy import deepcopy
from pathlib import Path
from typing import Any

from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS
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


def _without(of_measurements: bool, way: tuple[Any, ...]) -> Any:
    tree = deepcopy(tree_of(FULL[of_measurements]))
    del at(tree, way[:-1])[way[-1]]
    return tree

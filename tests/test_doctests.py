"""Every example in a docstring of the engine and its reports does what it says."""

import doctest
from importlib import import_module

from tests.for_each import for_each
from tests.test_floors import SOURCES, _module, _package

SHOWN = [
    name for name in map(_module, SOURCES) if _package(name) in ("geometry", "drive", "checks", "report", "faults")
]


@for_each(*SHOWN)
def test_examples_of_a_file(name: str) -> None:
    assert doctest.testmod(import_module(name)).failed == 0


def test_the_engine_teaches_by_example() -> None:
    finder = doctest.DocTestFinder(exclude_empty=True)
    shown = sum(bool(found.examples) for name in SHOWN for found in finder.find(import_module(name)))
    assert shown > 40

"""`for_each`: one test over many cases that are one rule: all are run, and a failure names those that fail.

Where a case is slow, or a rule of its own, `pytest.mark.parametrize` makes it a test of its own.
"""

import functools
import inspect
from collections.abc import Callable, Iterable
from typing import Any

import pytest

Test = Callable[..., None]
LONGEST = 120
"""Letters of a case that a failure shows."""


def for_each(*cases: Any, ids: Callable[[Any], object] | Iterable[str] | None = None) -> Callable[[Test], Test]:
    """One test over all cases, which are values of its last parameters: it fails with a line for every case that fails.

    A tuple holds a value for each of them, anything else is the value of the last one.
    """
    every = [case if isinstance(case, tuple) else (case,) for case in cases]
    labels = None if ids is None or callable(ids) else list(ids)
    words_of = ids if callable(ids) else repr
    assert every and (labels is None or len(labels) == len(every))
    (width,) = {len(case) for case in every}

    def over_all(test: Test) -> Test:
        parameters = [*inspect.signature(test).parameters.values()]
        names = [parameter.name for parameter in parameters[-width:]]
        assert list(every[0]) != names, "unlike parametrize: names are the test's own"

        @functools.wraps(test)
        def run(**fixtures: Any) -> None:
            failed: list[tuple[str, BaseException]] = []
            for number, values in enumerate(every):
                try:
                    test(**fixtures, **dict(zip(names, values, strict=True)))
                except (Exception, pytest.fail.Exception) as error:
                    failed.append((labels[number] if labels else _label(values, words_of), error))
            if failed:
                told = "\n".join(f"[{label}] {type(error).__name__}: {error}" for label, error in failed)
                raise AssertionError(f"{len(failed)} of {len(every)}:\n{told}") from failed[0][1]

        run.__signature__ = inspect.Signature(parameters[:-width])  # type: ignore[attr-defined]
        return run

    return over_all


def mostly_long(cases: Iterable[Any], *kept: int) -> list[Any]:
    """Cases for `pytest.mark.parametrize`, of which only those at some places run each time; the others are `long`."""
    every = [case if isinstance(case, tuple) else (case,) for case in cases]
    return [pytest.param(*case, marks=() if i in kept else pytest.mark.long) for i, case in enumerate(every)]


def _label(values: tuple[Any, ...], words: Callable[[Any], object]) -> str:
    return "-".join(str(words(value) or repr(value)) for value in values)[:LONGEST]

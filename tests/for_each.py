"""`for_each`: one test over many cases that are one rule: all are run, and a failure names those that fail.

Where a case is slow, or a rule of its own, `pytest.mark.parametrize` makes it a test of its own.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pytest

Test = Callable[..., None]
LONGEST = 120
"""Letters of a case that a failure shows."""


def for_each(
    names: str | Sequence[str], cases: Iterable[Any], ids: Callable[[Any], object] | Iterable[str] | None = None
) -> Callable[[Test], Test]:
    """As `pytest.mark.parametrize`, but one test: it fails with a line for every case that fails."""
    words = [word.strip() for word in names.split(",")] if isinstance(names, str) else list(names)
    every = [_values(case, len(words)) for case in cases]
    labels = None if ids is None or callable(ids) else list(ids)
    words_of = ids if callable(ids) else repr
    assert every and (labels is None or len(labels) == len(every))

    def over_all(test: Test) -> Test:
        @functools.wraps(test)
        def run(**fixtures: Any) -> None:
            failed: list[tuple[str, BaseException]] = []
            for number, values in enumerate(every):
                try:
                    test(**fixtures, **dict(zip(words, values, strict=True)))
                except (Exception, pytest.fail.Exception) as error:
                    failed.append((labels[number] if labels else _label(values, words_of), error))
            if failed:
                told = "\n".join(f"[{label}] {type(error).__name__}: {error}" for label, error in failed)
                raise AssertionError(f"{len(failed)} of {len(every)}:\n{told}") from failed[0][1]

        rest = [value for name, value in inspect.signature(test).parameters.items() if name not in words]
        run.__signature__ = inspect.Signature(rest)  # type: ignore[attr-defined]
        return run

    return over_all


def mostly_long(cases: Iterable[Any], *kept: int) -> list[Any]:
    """Cases for `pytest.mark.parametrize`, of which only those at some places run each time; the others are `long`."""
    every = [case if isinstance(case, tuple) else (case,) for case in cases]
    return [pytest.param(*case, marks=() if i in kept else pytest.mark.long) for i, case in enumerate(every)]


def _values(case: Any, count: int) -> tuple[Any, ...]:
    return (case,) if count == 1 else tuple(case)


def _label(values: tuple[Any, ...], words: Callable[[Any], object]) -> str:
    return "-".join(str(words(value) or repr(value)) for value in values)[:LONGEST]

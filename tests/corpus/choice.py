"""A sample of the runs that is worth its time: what the runs go through, this does, most of it several times."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

CHOSEN = Path(__file__).parent / "sample.txt"
"""The sample: one command line a line."""
BUDGET_S = 45.0
"""Of computing, for the whole sample."""
LEAST_S = 0.02
"""What a test takes besides its run."""


@dataclass(frozen=True, slots=True)
class Course:
    """A run by its command line, how long it computes, and a number for every step from line to line that it goes."""

    name: str
    seconds: float
    steps: NDArray[np.int64]


def chosen(courses: Sequence[Course], budget_s: float = BUDGET_S) -> Iterator[str]:
    """Names, the best first: by the steps that are new, for every second. A step that n others go counts 2 ** -n."""
    _, places = np.unique(np.concatenate([each.steps for each in courses]), return_inverse=True)
    own = np.split(places, np.cumsum([len(each.steps) for each in courses])[:-1])
    worth = np.ones(len(places))
    left = {i: max(each.seconds, LEAST_S) for i, each in enumerate(courses)}
    while left := {i: seconds for i, seconds in left.items() if seconds <= budget_s}:
        best = max(left, key=lambda i: worth[own[i]].sum() / left[i])
        budget_s -= left.pop(best)
        worth[own[best]] /= 2.0
        yield courses[best].name


def write(names: Sequence[str], path: Path = CHOSEN) -> None:
    """Keep a sample."""
    path.write_text("".join(f"{name}\n" for name in sorted(names)), encoding="utf-8")


def read(path: Path = CHOSEN) -> tuple[str, ...]:
    """The sample that was chosen last."""
    return tuple(path.read_text(encoding="utf-8").splitlines())

"""Many runs in two processes of their own, each with a folder of its own."""

import multiprocessing
import pkgutil
import shlex
import signal
import tempfile
import time
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import TypeVar

import numpy as np

from tests.corpus.answers import answer
from tests.corpus.choice import Course
from tests.corpus.entry import main
from tests.corpus.files import lay_out
from tests.corpus.runs import Run
from tests.corpus.store import Answers

WORKERS = 2
LIMIT_S = 45.0
"""Of computing, for one run: what takes longer has no answer, and says so."""
MOST_LINES = 10_000
"""No file has as many."""
PACKAGE = main.__module__.partition(".")[0]
_folder: list[tempfile.TemporaryDirectory[str]] = []
"""This process's own, once it has begun."""

Told = TypeVar("Told")


def answers_to(runs: Sequence[Run], slowest: int = 0) -> Answers:
    """What comes of every run. slowest: so many are told with their time."""
    rows = _each(_timed, runs)
    for name, _, seconds in sorted(rows, key=lambda row: -row[2])[:slowest]:
        print(f"{seconds:7.2f} s  {name}")
    return {name: said for name, said, _ in rows}


def courses_of(runs: Sequence[Run]) -> list[Course]:
    """How long every run takes, and what it goes through."""
    return _each(_course, runs)


def _each(told: Callable[[Run], Told], runs: Sequence[Run]) -> list[Told]:
    with multiprocessing.get_context("spawn").Pool(WORKERS, _begin) as pool:
        return list(pool.imap_unordered(told, runs))


def _begin() -> None:
    signal.signal(signal.SIGVTALRM, _too_long)
    _folder.append(tempfile.TemporaryDirectory(prefix="corpus-"))
    lay_out(_place())


def _too_long(*_: object) -> None:
    raise TimeoutError(f"more than {LIMIT_S:.0f} s of computing")


def _place() -> Path:
    return Path(_folder[0].name).resolve()


def _timed(run: Run) -> tuple[str, str, float]:
    start = time.process_time()
    signal.setitimer(signal.ITIMER_VIRTUAL, LIMIT_S)
    said = answer(run, _place())
    signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
    return shlex.join(run), said, time.process_time() - start


def _course(run: Run) -> Course:
    """Run twice: counting steps takes time of its own."""
    from coverage import Coverage

    # What is done once for all, as reading the package's files, belongs to no run.
    package = Path(import_module(PACKAGE).__file__ or "").parent
    for module in pkgutil.walk_packages([str(package)], f"{PACKAGE}."):
        import_module(module.name)
    name, _, seconds = _timed(run)
    counter = Coverage(data_file=None, branch=True, source=[str(package)], config_file=False)
    with counter.collect():
        answer(run, _place())
    data, files = counter.get_data(), sorted(map(str, package.rglob("*.py")))
    steps = [
        (number * MOST_LINES + line) * MOST_LINES + after
        for number, file in enumerate(files)
        for line, after in data.arcs(file) or ()
    ]
    return Course(name, seconds, np.array(steps, np.int64))

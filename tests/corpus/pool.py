"""Many runs in two processes of their own, each with a folder of its own."""

import multiprocessing
import shlex
import signal
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from tests.corpus.answers import answer
from tests.corpus.files import lay_out
from tests.corpus.runs import Run
from tests.corpus.store import Answers

WORKERS = 2
LIMIT_S = 45.0
"""Of computing, for one run: what takes longer has no answer, and says so."""
_folder: list[tempfile.TemporaryDirectory[str]] = []
"""This process's own, once it has begun."""


def answers_to(runs: Sequence[Run], slowest: int = 0) -> Answers:
    """What comes of every run. slowest: so many are told with their time."""
    with multiprocessing.get_context("spawn").Pool(WORKERS, _begin) as pool:
        rows = list(pool.imap_unordered(_timed, runs))
    for name, _, seconds in sorted(rows, key=lambda row: -row[2])[:slowest]:
        print(f"{seconds:7.2f} s  {name}")
    return {name: said for name, said, _ in rows}


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

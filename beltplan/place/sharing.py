"""Work in parts that this process and a copy of it share: each takes the next part that is left."""

from __future__ import annotations

import os
import pickle
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any, BinaryIO, TypeVar

import numpy as np

_Part = TypeVar("_Part")
_Answer = TypeVar("_Answer")


def shared_out(
    stage: Callable[[_Part], _Answer], parts: Sequence[_Part], progress: Callable[[float], None]
) -> list[_Answer]:
    """What a stage comes to for each of some parts, in their order; what the copy fails to do is done here.

    Two threads are hardly quicker than one: numpy lets go of the interpreter for microseconds, then waits for it.
    """
    left, filling = os.pipe()
    os.write(filling, np.arange(len(parts), dtype="<u2").tobytes())
    os.close(filling)

    def taken() -> Iterator[tuple[int, _Answer]]:
        while number := os.read(left, 2):
            yield (at := int.from_bytes(number, "little")), stage(parts[at])

    answers: dict[int, _Answer] = {}
    try:
        with _in_a_copy(lambda: dict(taken()), len(parts) > 1) as copied:
            for number, answer in taken():
                answers[number] = answer
                progress((number + 1) / len(parts))
            answers |= copied()
    finally:
        os.close(left)
    return [answers[number] if number in answers else stage(part) for number, part in enumerate(parts)]


@contextmanager
def _in_a_copy(work: Callable[[], dict[int, _Answer]], wanted: bool) -> Iterator[Callable[[], dict[int, _Answer]]]:
    """Have a copy of this process do work; called, what it came to, or nothing where there is no copy or it failed."""
    reading, writing = os.pipe()
    with open(reading, "rb") as told, open(writing, "wb") as telling:
        process = _copied() if wanted else None
        if process == 0:
            try:
                told.close()
                pickle.dump(work(), telling, pickle.HIGHEST_PROTOCOL)
                telling.flush()
            finally:
                os._exit(0)
        telling.close()
        try:
            yield lambda: _read(told)
        finally:
            if process is not None:
                with suppress(OSError):  # where nobody waits for children the system has cleared it away
                    os.kill(process, signal.SIGKILL)
                    os.waitpid(process, 0)


def _copied() -> int | None:
    """0 in the copy, its number in this process; None where none can be made."""
    if sys.platform != "linux":  # elsewhere a copy may not survive the libraries that numpy calls
        return None
    with suppress(OSError):
        return os.fork()
    return None


def _read(told: BinaryIO) -> dict[int, Any]:
    with suppress(EOFError, pickle.UnpicklingError):
        return dict(pickle.load(told))
    return {}

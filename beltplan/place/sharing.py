"""Work in parts that this process and a copy of it share: each takes the next part that is left."""

from __future__ import annotations

import os
import pickle
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import BinaryIO, TypeVar

import numpy as np

_Part = TypeVar("_Part")
_Answer = TypeVar("_Answer")


def shared_out(
    stage: Callable[[_Part], _Answer], parts: Sequence[_Part], progress: Callable[[float], None]
) -> list[_Answer]:
    """What a stage comes to for each of some parts, in their order; what the copy fails to do is done here.

    Two threads are hardly quicker than one: numpy lets go of the interpreter for microseconds, then waits for it.
    """
    reading, writing = os.pipe()
    os.write(writing, np.arange(len(parts), dtype="<u2").tobytes())
    os.close(writing)
    answers: dict[int, _Answer] = {}
    with open(reading, "rb", buffering=0) as left:

        def taken() -> Iterator[tuple[int, _Answer]]:
            while number := left.read(2):
                yield (at := int.from_bytes(number, "little")), stage(parts[at])

        with _in_a_copy(lambda: dict(taken()), len(parts) > 1) as copied:
            for number, answer in taken():
                answers[number] = answer
                progress((number + 1) / len(parts))
            with suppress(EOFError, pickle.UnpicklingError):
                answers |= pickle.load(copied)
    return [answers[number] if number in answers else stage(part) for number, part in enumerate(parts)]


@contextmanager
def _in_a_copy(work: Callable[[], object], wanted: bool) -> Iterator[BinaryIO]:
    """Have a copy of this process do work, and read what it came to: nothing where there is no copy or it failed."""
    reading, writing = os.pipe()
    with open(reading, "rb") as told, open(writing, "wb") as telling:
        process = None
        if wanted and sys.platform == "linux":  # elsewhere a copy may not survive the libraries that numpy calls
            with suppress(OSError):
                process = os.fork()
        if process == 0:
            try:
                told.close()
                pickle.dump(work(), telling, pickle.HIGHEST_PROTOCOL)
                telling.flush()
            finally:
                os._exit(0)
        telling.close()
        try:
            yield told
        finally:
            if process is not None:
                with suppress(OSError):  # where nobody waits for children the system has cleared it away
                    os.kill(process, signal.SIGKILL)
                    os.waitpid(process, 0)

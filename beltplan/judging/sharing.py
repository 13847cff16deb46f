"""Work in parts that this process and a copy of it share: each takes the next part that is left."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from multiprocessing import current_process, get_context
from multiprocessing.connection import Connection, Pipe
from typing import TypeVar

import numpy as np

_Part = TypeVar("_Part")
_Answer = TypeVar("_Answer")


def shared_out(
    stage: Callable[[_Part], _Answer], parts: Sequence[_Part], progress: Callable[[float], None]
) -> list[_Answer]:
    """What a stage comes to for each of some parts, in their order; what the copy fails to do is done here.

    Two threads are hardly quicker than one: numpy lets go of the interpreter for microseconds, then waits for it.
    """
    # The numbers of the parts stand in a pipe, not behind a lock: a copy that dies holding one would stop this process.
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
            with suppress(EOFError):
                answers |= copied.recv()
    return [answers[number] if number in answers else stage(part) for number, part in enumerate(parts)]


@contextmanager
def _in_a_copy(work: Callable[[], object], wanted: bool) -> Iterator[Connection]:
    """Have a copy of this process do work, and receive what it came to: nothing where there is none or it failed."""
    told, telling = Pipe(duplex=False)

    def tell() -> None:
        with suppress(BaseException):
            telling.send(work())

    # Elsewhere a copy may not survive the libraries that numpy calls; a worker of a pool may start none.
    wanted = wanted and sys.platform == "linux" and not current_process().daemon
    copy = get_context("fork").Process(target=tell, daemon=True) if wanted else None
    with told:
        with telling, suppress(OSError):
            if copy is not None:
                copy.start()
        try:
            yield told
        finally:
            if copy is not None and copy.pid is not None:
                copy.kill()
                copy.join()

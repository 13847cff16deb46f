"""Work that a process and its copy share: the same answers whoever does it, and nothing left behind."""

import os
import signal
import sys
import time
from collections.abc import Callable
from multiprocessing import get_context

import pytest

from beltplan.judging.sharing import shared_out
from tests.for_each import for_each

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="no copies are made elsewhere")
HERE, PARTS = os.getpid(), range(40)


def _slow(part: int) -> tuple[int, int]:
    time.sleep(0.005)
    return part, os.getpid()


def _left_behind() -> tuple[int, bool]:
    """Open files, and whether a child is still there."""
    try:
        os.waitpid(-1, os.WNOHANG)
    except ChildProcessError:
        return len(os.listdir("/proc/self/fd")), False
    return len(os.listdir("/proc/self/fd")), True


def test_two_processes_do_every_part_once_and_in_order() -> None:
    before, shares = _left_behind(), list[float]()
    answers = shared_out(_slow, PARTS, shares.append)
    assert [part for part, _ in answers] == list(PARTS) and len({process for _, process in answers}) == 2
    assert shares == sorted(shares) and shares[0] > 0.0 and shares[-1] <= 1.0
    assert _left_behind() == before


@for_each(0, 1)
def test_what_cannot_be_shared_is_done_here(count: int) -> None:
    assert shared_out(_slow, range(count), lambda share: None) == [(0, os.getpid())][:count]


def _fails_in_the_copy(part: int) -> tuple[int, int]:
    if os.getpid() != HERE and part > 3:
        raise MemoryError
    return _slow(part)


def _dies_in_the_copy(part: int) -> tuple[int, int]:
    if os.getpid() != HERE:
        os.kill(os.getpid(), signal.SIGKILL)
    return _slow(part)


@for_each(_fails_in_the_copy, _dies_in_the_copy)
def test_what_the_copy_fails_to_do_is_done_here(
    capfd: pytest.CaptureFixture[str], stage: Callable[[int], tuple[int, int]]
) -> None:
    before = _left_behind()
    assert shared_out(stage, PARTS, lambda share: None) == [(part, HERE) for part in PARTS]
    assert _left_behind() == before and capfd.readouterr() == ("", "")


def test_without_a_further_process(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused() -> int:
        raise BlockingIOError

    monkeypatch.setattr(os, "fork", refused)
    assert shared_out(_slow, PARTS, lambda share: None) == [(part, HERE) for part in PARTS]


@for_each(KeyboardInterrupt, MemoryError)
def test_what_ends_the_work_here_ends_the_copy(error: type[BaseException]) -> None:
    before = _left_behind()

    def stopped(share: float) -> None:
        raise error

    with pytest.raises(error):
        shared_out(_slow, PARTS, stopped)
    assert _left_behind() == before


def test_a_worker_of_a_pool_works_alone() -> None:
    """Python lets no such worker start a process of its own."""
    with get_context("fork").Pool(1) as pool:
        answers = pool.apply(shared_out, (_slow, PARTS, _untold))
    assert [part for part, _ in answers] == list(PARTS) and len({process for _, process in answers} - {HERE}) == 1


def _untold(share: float) -> None:
    pass

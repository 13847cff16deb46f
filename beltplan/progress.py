"""Telling what share of some work is done, 0 to 1."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[float], None]
"""Is told the share that is done, now and then."""


def unseen(share: float) -> None:
    """Progress that nobody watches."""


def part_of(progress: Progress, start: float, end: float) -> Progress:
    """What to tell while a part of the work is done that begins and ends at shares of the whole."""
    return lambda share: progress(start + (end - start) * share)

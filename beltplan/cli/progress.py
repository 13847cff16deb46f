"""A progress bar on standard error: only on a terminal, and only where the work takes more than a second."""

from __future__ import annotations

import shutil
import sys
import time
from typing import Self

_WIDTH, _LEFT = 40, 25
"""Columns of the bar at most, and of the words after it."""
_NARROW = (72, 24)
"""A terminal whose size is not known."""
_PATIENCE_S = 0.3
"""So long nothing is shown; what is then still to come is estimated."""
_LONG_S = 1.0


class Bar:
    """Shows how much of the work is done. Call it with the share that is; `done`, or leaving it, wipes it out again."""

    def __init__(self, what: str) -> None:
        self._what, self._start, self._shown = what, time.monotonic(), -1
        self._watched = sys.stderr is not None and sys.stderr.isatty()
        # A line that is wider than the terminal could not be wiped.
        self._width = min(_WIDTH, shutil.get_terminal_size(_NARROW).columns - len(what) - _LEFT - 5)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *raised: object) -> None:
        self.done()

    def __call__(self, share: float) -> None:
        passed = time.monotonic() - self._start
        filled = int(self._width * min(share, 1.0))
        if not self._watched or filled == self._shown or passed < _PATIENCE_S:
            return
        if self._shown < 0 and passed < _LONG_S * share:
            return
        self._shown = filled
        left = f"{100.0 * share:3.0f} %, about {passed * (1.0 / share - 1.0):.0f} s to go" if share > 0.0 else ""
        sys.stderr.write(f"\r{self._what} [{'#' * filled}{'.' * (self._width - filled)}] {left:<{_LEFT}}")
        sys.stderr.flush()

    def done(self) -> None:
        if self._shown >= 0:
            sys.stderr.write("\r" + " " * (len(self._what) + self._width + 4 + _LEFT) + "\r")
            sys.stderr.flush()

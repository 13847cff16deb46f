"""A progress bar on standard error: only on a terminal, and only where the work takes more than a second."""

from __future__ import annotations

import sys
import time

WIDTH = 40
PATIENCE_S = 0.3
"""So long nothing is shown; what is then still to come is estimated."""
LONG_S = 1.0


class Bar:
    """Shows how much of the work is done. Call it with the share that is; `done` wipes it out again."""

    def __init__(self, what: str) -> None:
        self._what, self._start, self._shown = what, time.monotonic(), -1
        self._watched = sys.stderr is not None and sys.stderr.isatty()

    def __call__(self, share: float) -> None:
        passed = time.monotonic() - self._start
        filled = int(WIDTH * min(share, 1.0))
        if not self._watched or filled == self._shown or passed < PATIENCE_S:
            return
        if self._shown < 0 and passed < LONG_S * share:
            return
        self._shown = filled
        sys.stderr.write(f"\r{self._what} [{'#' * filled}{'.' * (WIDTH - filled)}] {100.0 * share:3.0f} %")
        sys.stderr.flush()

    def done(self) -> None:
        """Wipe the line, if there is one."""
        if self._shown >= 0:
            sys.stderr.write("\r" + " " * (len(self._what) + WIDTH + 10) + "\r")
            sys.stderr.flush()

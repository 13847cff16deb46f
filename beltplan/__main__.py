"""`python -m beltplan`, and where the console script starts."""

from __future__ import annotations

import gc
import os
import signal
import sys

_GARBAGE_THRESHOLD = 500_000
"""New objects before a search for unused cycles: a short run never gets there, and saves a tenth of its time."""

_STOPPED, _TERMINATED = 130, 143


def start() -> int:
    """Run the command line in a process of its own."""
    gc.set_threshold(_GARBAGE_THRESHOLD)
    # Systems of a hundred unknowns: threads that wait for each other on a busy machine take ten times as long as one.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(_TERMINATED))  # so that what is half-written is cleared away
    try:
        from beltplan.cli.main import main  # after the threshold is set: imports make most of the objects

        return _leave(main())
    except KeyboardInterrupt:  # before or after the command itself, which tells what it wrote
        print("stopped; nothing was written", file=sys.stderr)
        return _leave(_STOPPED)


def _leave(code: int) -> int:
    """Leave at once: everything is written, and taking numpy and shapely apart would cost a tenth of a short run."""
    if "matplotlib" in sys.modules:  # it has a folder to tidy up
        return code
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:
            stream.flush()
    os._exit(code)


if __name__ == "__main__":
    sys.exit(start())

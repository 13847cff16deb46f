"""What the whole operation of a drive costs: tensions, slip and hub loads over the speed range. Run by hand.

    python -m tests.benchmarks.bench_operation

Seven pulleys on a sprung arm, 101 speeds and the cruising one, 3 conditions, 4 duties; the least of ten runs. The
target is 5 ms.
"""

import time

from beltplan.drive.operation import operation_of
from beltplan.drive.route import route_of
from tests.drive.loaded_drives import SLIDE_SPRING, on_slide, seven

RUNS = 10
DUTIES = {
    "all on": ("pump", "generator", "steering", "cooling"),
    "cruising": ("pump", "generator"),
    "parking": ("pump", "generator", "steering"),
    "bare": ("pump",),
}
DRIVES = {
    "sprung arm": seven(duties=DUTIES),
    "sprung slide": on_slide(spring=SLIDE_SPRING, duties=DUTIES),
    "locked slide": on_slide(tension_N=500.0, duties=DUTIES),
}


def main() -> None:
    """Print the time of each drive, after checking that it has all its states."""
    for name, given in DRIVES.items():
        route, times = route_of(given), []
        for _ in range(RUNS):
            start = time.perf_counter()
            operation = operation_of(route)
            times.append(time.perf_counter() - start)
        if operation is None or operation.utilisation.shape != (3, 4, 102, 7):
            raise SystemExit(f"{name}: not every state is there")
        print(f"{name}: {min(times) * 1e3:.2f} ms for 3 x 4 x 102 states of 7 pulleys")


if __name__ == "__main__":
    main()

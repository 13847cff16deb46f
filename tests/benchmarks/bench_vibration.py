"""What it costs to shake a drive at every speed and duty, against a plain loop over the states. Run by hand.

    python -m tests.benchmarks.bench_vibration

Seven pulleys on a sprung arm, 200 speeds, 4 duties; the least of ten runs. The target is 20 ms without one-way pulleys.
"""

import time
from collections.abc import Callable

import numpy as np

from beltplan.drive.balance import Tensions, tensions_at
from beltplan.drive.layout import Layout
from beltplan.drive.operation import Operation, duties_of, torques_Nm
from beltplan.drive.shaking import Shaken, shaken_of
from tests.benchmarks.bench_operation import DUTIES
from tests.drive.drives import with_pulley
from tests.drive.loaded_drives import operation, seven

RUNS = 10


def _states(run: Operation, given: Layout) -> Tensions:
    rpm = np.linspace(float(run.driver_rpm[0]), float(run.driver_rpm[-1]), 200)
    torque = torques_Nm(given.belt, run.route.pulleys, rpm, duties_of(given))
    return tensions_at(run.route, run.mechanics, np.broadcast_to(rpm, torque.shape[:-1]), torque)


def _seconds(work: Callable[[], object], runs: int) -> float:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print the time of each drive, and its ratio to that of a loop over every state of the first."""
    plain = seven(duties=DUTIES)
    for name, given in {"sprung arm": plain, "one-way": with_pulley(plain, "generator", one_way=True)}.items():
        run = operation(given)
        state = _states(run, given)

        def whole(run: Operation = run, state: Tensions = state) -> Shaken | None:
            return shaken_of(run.route, run.mechanics, state)

        def looped(run: Operation = run, given: Layout = given) -> None:
            for duty in range(4):
                for rpm in run.driver_rpm[:50]:
                    torque = torques_Nm(given.belt, run.route.pulleys, rpm[None], duties_of(given))[duty]
                    shaken_of(run.route, run.mechanics, tensions_at(run.route, run.mechanics, rpm[None], torque))

        found = whole()
        if found is None or found.span_swing_N.shape != (4, 200, 7):
            raise SystemExit(f"{name}: not every state is there")
        once, loop = _seconds(whole, RUNS), 4.0 * _seconds(looped, 1)
        print(f"{name}: {once * 1e3:.1f} ms for 4 x 200 states of 7 pulleys, a loop {loop / once:.0f} times as long")


if __name__ == "__main__":
    main()

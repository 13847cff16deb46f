"""What a map of places costs: whole, against `check`'s own function place by place, and against a compiled loop.

    python tests/benchmarks/bench_place.py [LAYOUT PULLEY]

By hand, not in the suite. Every map runs in a process of its own, so that its peak memory is its own, and twice: the
lesser time counts. Wanted are 2.0 s and 700 MB for 1,000,000 places of a seven-pulley layout on two cores, every
check judged. The plain loop runs `plan_of` on every place of a sample, with the same answers; the compiled loop does
the geometry of one setting alone (length and wraps), one core, for scale.
"""

import math
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numba
import numpy as np

from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Layout
from beltplan.drive.travel import Circuit, circuit_of
from beltplan.drive.way_round import NoBeltPath
from beltplan.geometry.vectors import TOUCHING_RAD, Floats
from beltplan.judging.stages import STATES, JudgedPlaces, judged_places, moved
from beltplan.layoutfile.layout_file import read_layout
from beltplan.place.study import Grid, bounds_of

ROOT = Path(__file__).resolve().parents[2]
COUNTS = (40_000, 1_000_000)
SAMPLE = 1500


def given() -> tuple[Layout, str]:
    """The layout and the pulley that is moved: of the command line, else the railcar's alternator."""
    path, pulley = sys.argv[1:3] if len(sys.argv) > 2 else (str(ROOT / "layouts" / "railcar.yaml"), "alternator")
    return read_layout(path, None).layout, pulley


def grid(layout: Layout, count: int) -> Floats:
    """About so many places over the default box, (N, 1, 2)."""
    low, high = bounds_of(layout)
    step = math.sqrt((high[0] - low[0]) * (high[1] - low[1]) / count)
    return Grid(low, high, step).points()[:count, None]


def one_map(count: int) -> None:
    """Make one map twice and print its seconds and the peak memory."""
    layout, pulley = given()
    places, seconds = grid(layout, count), []
    for _ in range(2):
        start = time.perf_counter()
        judged = judged_places(layout, (pulley,), places)
        seconds.append(time.perf_counter() - start)
    counts = np.bincount(judged.state, minlength=len(STATES))
    # Of this process and of its copy, what both have in common counted twice.
    peaks = [resource.getrusage(whose).ru_maxrss for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    megabytes = sum(peaks) / 1024.0
    words = ", ".join(f"{n:,} {state}" for n, state in zip(counts, STATES, strict=True))
    start = time.perf_counter()
    judged_places(layout, (pulley,), places, slip=False)
    without = time.perf_counter() - start
    told = f"peak {megabytes:.0f} MB ({words}); without what needs tensions {without:.2f} s"
    print(f"{len(places):,} places: {min(seconds):.2f} s, {told}")


def plain_loop(layout: Layout, pulley: str, places: Floats) -> list[str]:
    """What every place comes to by the functions of a single layout, in a loop."""
    return [_alone(layout, pulley, float(x), float(y)) for x, y in places[:, 0]]


def _alone(layout: Layout, pulley: str, x: float, y: float) -> str:
    try:
        plan = plan_of(moved(layout, (pulley,), [(x, y)]))
    except NoBeltPath:
        return "no path"
    return "problem" if plan.count("problem") else "caution" if plan.count("caution") else "sound"


def agreement(judged: JudgedPlaces, alone: list[str]) -> float:
    """Share of the sample in which both come to the same; no path and no belt count as a problem."""
    lost = ("no path", "no belt fits")
    pairs = [(STATES[state], other) for state, other in zip(judged.state, alone, strict=True)]
    return float(np.mean([a == b or (a in (*lost, "problem") and b in (*lost, "problem")) for a, b in pairs]))


def _geometry(places: Floats, index: int, centre: Floats, radius: Floats, sense: Floats) -> tuple[Floats, Floats]:
    count, n = len(places), len(radius)
    wrap, length = np.empty((count, n)), np.empty(count)
    span, ux, uy = np.empty(n), np.empty(n), np.empty(n)
    for k in range(count):
        centre[index, 0], centre[index, 1] = places[k, 0, 0], places[k, 0, 1]
        for i in range(n):
            j = i + 1 if i + 1 < n else 0
            dx, dy = centre[j, 0] - centre[i, 0], centre[j, 1] - centre[i, 1]
            offset = sense[i] * radius[i] - sense[j] * radius[j]
            square = dx * dx + dy * dy
            rest = square - offset * offset
            span[i] = math.sqrt(rest) if rest > 0.0 else math.nan
            ux[i], uy[i] = (span[i] * dx - offset * dy) / square, (span[i] * dy + offset * dx) / square
        total = 0.0
        for i in range(n):
            h = i - 1 if i > 0 else n - 1
            swept = math.atan2(sense[i] * (ux[h] * uy[i] - uy[h] * ux[i]), ux[h] * ux[i] + uy[h] * uy[i])
            if swept < -TOUCHING_RAD:
                swept += 2.0 * math.pi
            wrap[k, i] = swept = max(swept, 0.0)
            total += span[i] + swept * radius[i]
        length[k] = total
    return wrap, length


def compiled(circuit: Circuit, index: int, places: Floats) -> float:
    """Seconds of the compiled loop, compiling left out."""
    loop: Callable[..., tuple[Floats, Floats]] = numba.njit()(_geometry)
    rest = (index, np.array(circuit.centre), circuit.radius, circuit.sense)
    loop(places[:10], *rest)
    return _seconds(lambda: loop(places, *rest))


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    """Print the times and the ratios."""
    if "--one" in sys.argv:
        count = int(sys.argv[-1])
        del sys.argv[-2:]
        one_map(count)
        return
    for count in COUNTS:
        subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.bench_place", *sys.argv[1:], "--one", str(count)],
            cwd=ROOT,
            check=True,
        )
    layout, pulley = given()
    every = grid(layout, COUNTS[1])
    sample = every[np.random.default_rng(1).choice(len(every), SAMPLE, replace=False)]
    start = time.perf_counter()
    alone = plain_loop(layout, pulley, sample)
    each = (time.perf_counter() - start) / SAMPLE
    agreed = agreement(judged_places(layout, (pulley,), sample), alone)
    whole = min(_seconds(lambda: judged_places(layout, (pulley,), every)) for _ in range(2))
    circuit = circuit_of(layout)
    index = next(i for i, p in enumerate(circuit.pulleys) if p.name == pulley)
    bare = compiled(circuit, index, every)
    print(f"plain loop: {each * 1e3:.2f} ms a place, {each * len(every) / whole:.0f} times the map; {agreed:.2%} agree")
    print(f"compiled loop of the geometry at one setting: {bare:.2f} s, the whole map {whole / bare:.1f} times that")


if __name__ == "__main__":
    main()

"""What a pulley held by the mouse costs, a step of the hand and the rest after it. Run by hand, not in the suite.

    python -m tests.benchmarks.bench_drag [LAYOUT PULLEY]

Processor time of this process, the middle of forty steps. Targets: belt, wraps, clearances and findings 20 ms, what is
drawn 20 ms more; all checks, slip and labels 150 ms after the hand rests.
"""

import sys
import time
from collections.abc import Callable
from statistics import median

from matplotlib.backend_bases import MouseButton, MouseEvent
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from beltplan.drag.bench import Bench
from beltplan.drag.hand import put
from beltplan.drag.live import live_of
from beltplan.drag.window import SIZE_IN, Window
from tests.shipped import FOLDER

STEPS = 40


def _spent_ms(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return 1e3 * (time.process_time() - start)


def main() -> None:
    """Print the times of judging, of a whole step, and of the rest."""
    path, name = sys.argv[1:3] if len(sys.argv) > 2 else (str(FOLDER / "railcar.yaml"), "alternator")
    figure = Figure(figsize=SIZE_IN)
    canvas = FigureCanvasAgg(figure)
    bench = Bench(path, None, lambda source, after: "")
    window = Window(figure, bench)
    x, y = bench.live.centres[name]
    judged = [_spent_ms(lambda i=i: live_of(put(bench.now, name, (x + 0.1 * i, y)), False)) for i in range(STEPS)]  # type: ignore[misc]

    def mouse(kind: str, by_mm: float) -> None:
        at = window.axes.transData.transform((x + by_mm, y))
        MouseEvent(kind, canvas, int(at[0]), int(at[1]), MouseButton.LEFT)._process()  # type: ignore[attr-defined]

    mouse("button_press_event", 0.0)
    moved = [_spent_ms(lambda i=i: mouse("motion_notify_event", 1.5 * i)) for i in range(STEPS)]  # type: ignore[misc]
    rested = [_spent_ms(window.rest) for _ in range(5)]
    print(f"judged while moving: {median(judged):.1f} ms (target 20)")
    print(f"a step with what is drawn: {median(moved):.1f} ms (target 40)")
    print(f"all checks, slip and labels at rest: {median(rested):.1f} ms (target 150)")


if __name__ == "__main__":
    main()

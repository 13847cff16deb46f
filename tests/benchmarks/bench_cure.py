"""How long the search for cures takes on every shipped layout and variant. Run by hand.

    python -m tests.benchmarks.bench_cure

The target is 10 s each, on two cores.
"""

import time

from beltplan.cure.study import cures_of
from beltplan.layoutfile.layout_file import read_every_layout
from tests.shipped import SHIPPED_LAYOUTS

TARGET_S = 10.0


def main() -> None:
    """Print the time of each layout, what was looked at and judged, and what came of it."""
    for path in SHIPPED_LAYOUTS:
        for file in read_every_layout(str(path)):
            start = time.perf_counter()
            found = cures_of(file.layout)
            took = time.perf_counter() - start
            looked_at, judged = (sum(getattr(each, what) for each in found.tried) for what in ("looked_at", "judged"))
            cured = f"{found.found} kinds of cure" if found.found else "not cured"
            came = cured if found.wanted else "nothing to cure"
            name = f"{path.stem} {file.layout.variant or ''}".strip()
            words = (
                f"{took:5.2f} s ({took / TARGET_S:.2f} of the target), {looked_at} looked at, {judged} judged, {came}"
            )
            print(f"{name:24} {words}")


if __name__ == "__main__":
    main()

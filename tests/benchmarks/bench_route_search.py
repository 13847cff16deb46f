"""How long the search for a route takes. Run by hand, not in the suite.

    python -m tests.benchmarks.bench_route_search

Nine pulleys with both sides of two idlers open, ten layouts of a kind: target 10 s each on two cores. Then larger
ones, as far as the beam; and each shipped layout. All but these invented at random.
"""

import time
from pathlib import Path

from beltplan.drive.layout import Layout
from beltplan.drive.way_round import NoBeltPath
from beltplan.layoutfile.layout_file import read_layout
from beltplan.routes.study import search_routes
from tests.routes.drives import scattered, starred

ROOT = Path(__file__).resolve().parents[2]


def _timed(name: str, layout: Layout) -> float:
    start = time.perf_counter()
    try:
        search = search_routes(layout)
        how = "all tried" if search.exhaustive else "a beam"
        found = f"{search.found} routes of {search.orders:.3g}, {how}, {len(search.routes)} judged"
    except NoBeltPath as refusal:
        found = f"none: {refusal}"[:100]
    taken = time.perf_counter() - start
    print(f"{name}: {taken:.2f} s; {found}")
    return taken


NINE: dict[str, dict[str, float]] = {
    "two open": {"open_sides": 2, "size": 0.05},
    "two open, two on the back": {"open_sides": 2, "backs": 2, "size": 0.05},
    "two open, six optional": {"open_sides": 2, "optional": 6, "size": 0.05},
    "all but the driver open": {"open_sides": 8, "size": 0.05},
}


def main() -> None:
    """Print the worst of ten layouts of every kind, larger ones, and the shipped ones."""
    for kind, given in NINE.items():
        worst = max(_timed(f"nine pulleys, {kind}, {seed}", scattered(seed, 9, **given)) for seed in range(10))  # type: ignore[arg-type]
        print(f"nine pulleys, {kind}: worst {worst:.2f} s (target 10 s)\n")
    for count in (9, 12, 14, 18):
        worst = max(_timed(f"star of {count}, its backs open, {seed}", starred(seed, count, True)) for seed in range(4))
        print(f"star of {count}: worst {worst:.2f} s\n")
    for size in (12, 16, 24, 40):
        _timed(f"{size} pulleys, half of them open", scattered(2, size, size // 2, size=0.1))
    for stem in ("camper", "orchard_sprayer", "railcar", "workboat", "too_tight"):
        _timed(stem, read_layout(str(ROOT / "layouts" / f"{stem}.yaml")).layout)


if __name__ == "__main__":
    main()

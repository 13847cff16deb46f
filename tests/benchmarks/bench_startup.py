"""What a whole run of the program costs against the bare imports it cannot do without. Run by hand, not in the suite.

    python -m tests.benchmarks.bench_startup [LAYOUT]

Whole processes, turn about, the least of ten each, after one run that fills a bytecode cache of its own (an installed
package has one; elsewhere writing it may be switched off). Targets: a check as JSON at most 1.6 times importing numpy,
yaml and shapely; a check with a picture at most 2.5 times importing matplotlib.figure.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RUNS = 10
ROOT = Path(__file__).resolve().parents[2]
UNDERSTOOD = (0, 1)
"""Exit statuses of a layout that could be checked, without and with a problem."""


def environment(cache: str) -> dict[str, str]:
    """The environment, with compiled modules kept in a folder of our own."""
    return {**os.environ, "PYTHONPYCACHEPREFIX": cache, "PYTHONDONTWRITEBYTECODE": ""}


def _seconds(arguments: list[str], env: dict[str, str]) -> float:
    start = time.perf_counter()
    done = subprocess.run([sys.executable, *arguments], cwd=ROOT, env=env, capture_output=True, check=False)
    taken = time.perf_counter() - start
    if done.returncode not in UNDERSTOOD:
        raise SystemExit(f"{arguments} ended with {done.returncode}: {done.stderr.decode()}")
    return taken


def compare(name: str, ours: list[str], bare: list[str], target: float, env: dict[str, str]) -> None:
    """Time two commands turn about and print their ratio."""
    times = [(_seconds(ours, env), _seconds(bare, env)) for _ in range(RUNS + 1)][1:]
    ours_s, bare_s = (min(column) for column in zip(*times, strict=True))
    print(
        f"{name}: {ours_s * 1e3:.0f} ms, bare imports {bare_s * 1e3:.0f} ms, "
        f"ratio {ours_s / bare_s:.2f} (target {target})"
    )


def main() -> None:
    """Print both ratios."""
    layout = sys.argv[1] if len(sys.argv) > 1 else str(ROOT / "layouts" / "railcar.yaml")
    check = ["-m", "beltplan", "check", layout]
    with tempfile.TemporaryDirectory() as folder:
        env, picture = environment(folder), str(Path(folder) / "routing.png")
        compare("check --json", [*check, "--json"], ["-c", "import numpy, yaml, shapely"], 1.6, env)
        compare("check --picture", [*check, "--picture", picture], ["-c", "import matplotlib.figure"], 2.5, env)


if __name__ == "__main__":
    main()

"""Change one thing at a time in a copy of the package, and see whether a test notices. Run by hand, not in the suite.

    python -m tests.mutation --count 100 --seed 1
    python -m tests.mutation --count 20 --seed 7 --folder checks --folder drive

Changes are drawn from all that there are; of one seed, the first of a hundred are those of forty. About each the files
of `tests_of` are asked, until one is red. A change that none notices survives: mostly a gap in the tests, now and then
a change that makes no difference. What is out of time, for ever or
on a busy machine, is told apart. Exit status 1 where any survives or is undecided.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.mutation.changes import Change, changes
from tests.mutation.tests_of import tests_of

ROOT = Path(__file__).resolve().parents[2]
ENGINE = ("geometry", "drive", "checks", "place", "cure", "measure")
NICENESS = 10
OUT_OF_TIME = "out of time"
RED = re.compile(r"^(?:FAILED|ERROR) ([^\s\[]+)", re.MULTILINE)


def main() -> int:
    """Draw, try, tell."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description="Do tests notice single changes?")
    parser.add_argument("--count", type=int, default=100, help="how many changes (100)")
    parser.add_argument("--skip", type=int, default=0, help="how many of them to pass over, to go on with a trial (0)")
    parser.add_argument("--seed", type=int, default=1, help="which changes are drawn (1)")
    parser.add_argument("--folder", action="append", metavar="NAME", help=f"part of the package ({', '.join(ENGINE)})")
    parser.add_argument("--wide", action="store_true", help="ask every test file that imports the changed one, too")
    parser.add_argument("--timeout-s", type=float, default=400.0, help="what takes longer is left undecided (400)")
    chosen = parser.parse_args()
    drawn = draw(tuple(chosen.folder or ENGINE), chosen.seed)[chosen.skip : chosen.count]
    survivors, undecided = [], []
    with tempfile.TemporaryDirectory() as folder:
        copy = _copied(Path(folder))
        for number, change in enumerate(drawn, chosen.skip + 1):
            start = time.perf_counter()
            said = _noticed_by(copy, change, tests_of(copy, change.file, chosen.wide), chosen.timeout_s)
            survivors += [] if said else [change]
            undecided += [change] if said.startswith(OUT_OF_TIME) else []
            print(f"{number:4} {time.perf_counter() - start:4.0f} s  {change}\n{'':13}{said or 'SURVIVED'}", flush=True)
    noticed = len(drawn) - len(survivors) - len(undecided)
    print("\n".join([f"{noticed} of {len(drawn)} noticed; survivors:", *map(str, survivors)]))
    print("\n".join([f"{len(undecided)} undecided, out of time:", *map(str, undecided)]))
    return 1 if survivors or undecided else 0


def draw(folders: tuple[str, ...], seed: int) -> list[Change]:
    """All changes of these folders in an order of chance."""
    files = sorted(path for folder in folders for path in (ROOT / "beltplan" / folder).glob("*.py"))
    every = [change for path in files for change in changes(path.relative_to(ROOT).as_posix(), path.read_bytes())]
    return random.Random(seed).sample(every, len(every))


def _copied(folder: Path) -> Path:
    """The project in a folder of its own, where files may be broken."""
    for part in ("beltplan", "tests", "layouts", "gallery"):
        shutil.copytree(ROOT / part, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
    for part in ("README.md", "pyproject.toml"):
        shutil.copy(ROOT / part, folder)
    return folder


def _noticed_by(copy: Path, change: Change, tests: list[str], timeout_s: float) -> str:
    """The test that is red with the change and green without, '' if none is."""
    path = copy / change.file
    sound = path.read_bytes()
    path.write_bytes(change.applied(sound))
    red = _red(copy, tests, timeout_s)
    path.write_bytes(sound)
    if "::" in red and _red(copy, [red], timeout_s):
        raise SystemExit(f"{red} is red without any change")
    return red


def _red(copy: Path, names: list[str], timeout_s: float) -> str:
    """The first test that is red, '' where all are green."""
    command = [sys.executable, "-B", "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "--tb=no", "-rfE", *names]
    surroundings = {**os.environ, "PYTHONPATH": str(copy)}
    try:
        done = subprocess.run(
            ["nice", "-n", str(NICENESS), *command],
            cwd=copy, env=surroundings, capture_output=True, text=True, check=False, timeout=timeout_s,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return f"{OUT_OF_TIME} after {timeout_s:.0f} s"
    found = RED.search(done.stdout)
    return "" if done.returncode == 0 else found.group(1) if found else done.stdout[-300:] + done.stderr[-300:]


if __name__ == "__main__":
    sys.exit(main())

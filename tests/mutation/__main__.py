"""Change one thing at a time in a copy of the package, and see whether a test notices. Run by hand, not in the suite.

    python -m tests.mutation --learn
    python -m tests.mutation --count 100 --seed 1
    python -m tests.mutation --count 20 --seed 7 --folder checks --folder drive

First the tests are run once, to learn which lines each of them goes through; `--learn drive` learns a folder anew.
Changes are drawn from all that there are; of one seed, the first of a hundred are those of forty. About each the tests
of `tests_of` are asked, until one is red, and then the whole runs, whose answers are stored and explained by no test.
A change that none notices survives: mostly a gap in the tests, now and then a change that makes no difference. What is
out of time, for ever or on a busy machine, is told apart. Exit status 1 where any survives or is undecided.
"""

import argparse
import os
import random
import re
import resource
import shutil
import sys
import tempfile
import time
from importlib import import_module
from pathlib import Path
from typing import NoReturn

import pytest

from tests.mutation.changes import Change, changes
from tests.mutation.learnt import SAMPLE, learn, name_of
from tests.mutation.tests_of import learnt, tests_of, whole_runs

ROOT = Path(__file__).resolve().parents[2]
ENGINE = ("geometry", "drive", "checks", "judging", "place", "cure", "measure")
NEAREST_S = 5.0
"""Tests of so many seconds are asked first: most changes are noticed by them."""
LOADED = ("fontTools.subset", "hypothesis", "matplotlib.pyplot", "scipy.optimize", "shapely", "xdist.scheduler", "yaml")
"""What nearly every test imports takes a second: loaded once, and tests are asked in a copy of this process."""
OUT_OF_TIME = "out of time"
GREEN: set[str] = set()
RED_ANYWAY: set[str] = set()
"""Tests, and files of them, that were run without any change: those that need git's files are red in a copy."""
RED = re.compile(r"^(?:FAILED|ERROR) ([^\s\[]+(?:\[.*?\])?)(?: - |$)", re.MULTILINE)


def main() -> int:
    """Draw, try, tell."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description="Do tests notice single changes?")
    parser.add_argument("--count", type=int, default=100, help="how many changes (100)")
    parser.add_argument("--skip", type=int, default=0, help="how many of them to pass over, to go on with a trial (0)")
    parser.add_argument("--seed", type=int, default=1, help="which changes are drawn (1)")
    parser.add_argument("--folder", action="append", metavar="NAME", help=f"part of the package ({', '.join(ENGINE)})")
    parser.add_argument(
        "--learn", nargs="*", metavar="NAME", help="run tests, all or of a folder, to see what they call"
    )
    parser.add_argument(
        "--tests-s", type=float, default=30.0, help="seconds of tests that are asked about a change (30)"
    )
    parser.add_argument("--most-s", type=float, default=90.0, help="processor seconds; longer is left undecided (90)")
    chosen = parser.parse_args()
    if chosen.learn is not None:
        learn(chosen.learn)
        return 0
    if not learnt():
        parser.error("no test was listened to yet: --learn")
    drawn = draw(tuple(chosen.folder or ENGINE), chosen.seed)[chosen.skip : chosen.count]
    survivors, undecided, by_run = [], [], 0
    for name in LOADED:
        import_module(name)
    with tempfile.TemporaryDirectory() as folder:
        copy = _copied(Path(folder))
        for number, change in enumerate(drawn, chosen.skip + 1):
            start = time.perf_counter()
            said = _said_about(copy, change, chosen.tests_s, chosen.most_s)
            survivors += [] if said else [change]
            by_run += said.startswith(SAMPLE)
            undecided += [change] if said.startswith(OUT_OF_TIME) else []
            print(f"{number:4} {time.perf_counter() - start:4.0f} s  {change}\n{'':13}{said or 'SURVIVED'}", flush=True)
    noticed = len(drawn) - len(survivors) - len(undecided)
    print(
        "\n".join(
            [f"{noticed} of {len(drawn)} noticed, {by_run} by whole runs alone; survivors:", *map(str, survivors)]
        )
    )
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


def _said_about(copy: Path, change: Change, tests_s: float, most_s: float) -> str:
    """Which test notices a change: those nearest are asked, then the others, then whole runs; '' if none does."""
    nearest, tests = tests_of(copy, change, NEAREST_S), tests_of(copy, change, tests_s)
    rounds = (nearest, [name for name in tests if name not in nearest], whole_runs(copy, change))
    return next(filter(None, (_noticed_by(copy, change, names, most_s) for names in rounds)), "")


def _noticed_by(copy: Path, change: Change, tests: list[str], most_s: float) -> str:
    """The test that is red with the change and green without, '' if none is."""
    path = copy / change.file
    sound = path.read_bytes()
    while True:
        _put(path, change.applied(sound))
        red = _red(copy, [name for name in tests if not {name, name.split("::")[0]} & RED_ANYWAY], most_s)
        _put(path, sound)
        if not red.startswith("tests/") or red in GREEN:
            return red
        (RED_ANYWAY if _red(copy, [red], most_s) else GREEN).add(red)


def _put(path: Path, text: bytes) -> None:
    """Write, a minute later than the last time: Python compiles anew what is of another time."""
    at = path.stat().st_mtime + 60.0
    path.write_bytes(text)
    os.utime(path, (at, at))


def _red(copy: Path, names: list[str], most_s: float) -> str:
    """The first test that is red, '' where all are green."""
    if not names:
        return ""
    with tempfile.TemporaryFile() as told:
        child = os.fork()
        if child == 0:
            _ask(copy, names, most_s, told.fileno())
        status = os.waitpid(child, 0)[1]
        told.seek(0)
        text = told.read().decode(errors="replace")
    found = RED.search(text)
    if os.WIFSIGNALED(status):
        return f"{OUT_OF_TIME} after {most_s:.0f} s"
    return "" if status == 0 else name_of(found.group(1)) if found else text[-600:]


def _ask(copy: Path, names: list[str], most_s: float, told: int) -> NoReturn:
    """In a process of its own, which has what every test needs (`LOADED`) and nothing of the project."""
    try:
        os.dup2(told, 1)
        os.dup2(told, 2)
        resource.setrlimit(resource.RLIMIT_CPU, (int(most_s), int(most_s)))
        os.chdir(copy)
        os.environ["PYTHONPATH"] = str(copy)
        sys.path[:] = [str(copy), *(each for each in sys.path if Path(each).resolve() not in (ROOT, copy))]
        for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "beltplan")]:
            del sys.modules[name]
        options = ("-q", "-x", "--tb=no", "-rfE", "--hypothesis-profile=unshrunk")
        status = int(pytest.main([*options, "-p", "no:cacheprovider", "-p", "no:randomly", *names]))
        sys.stdout.flush()
        os._exit(status)
    finally:
        os._exit(99)


if __name__ == "__main__":
    sys.exit(main())

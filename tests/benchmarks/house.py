"""The numbers of the house: how much there is, how much hangs on how much, what a short run loads. Run by hand.

    python -m tests.benchmarks.house
    python -m tests.benchmarks.house --cases --startup

Counting cases takes as long as pytest takes to collect them; start-up is timed by `bench_startup`.
"""

import argparse
import ast
import re
import statistics
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks import bench_startup
from tests.test_floors import SOURCES, TESTS, _body_lines, _module, _modules_imported, _public, _tree

ROOT = Path(__file__).resolve().parents[2]
LOADED = """
import contextlib, io, sys
from beltplan.cli.main import main
with contextlib.redirect_stdout(io.StringIO()):
    main(["check", "layouts/railcar.yaml"])
print(sum(name.split(".")[0] == "beltplan" for name in sys.modules))
"""


def main() -> None:
    """Print a line a number."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.house", description="The numbers of the house.")
    parser.add_argument("--cases", action="store_true", help="count the tests' cases too")
    parser.add_argument("--startup", action="store_true", help="time a check against bare imports too")
    chosen = parser.parse_args()
    for name, value in [*sizes(), *shapes(), *([("test cases", cases())] if chosen.cases else [])]:
        print(f"{name:36} {value}")
    if chosen.startup:
        sys.argv[1:] = []
        bench_startup.main()


def sizes() -> Iterator[tuple[str, object]]:
    """Lines and files."""
    yield "product lines / files", f"{_lines(SOURCES)} / {len(SOURCES)}"
    yield "test lines / files", f"{_lines(TESTS)} / {len(TESTS)}"


def shapes() -> Iterator[tuple[str, object]]:
    """What is in the product's files, and what hangs on what."""
    classes = [node for path in SOURCES for node in ast.walk(_tree(path)) if isinstance(node, ast.ClassDef)]
    nodes = (node for path in SOURCES for node in ast.walk(_tree(path)))
    bodies = sorted(_body_lines(node) for node in nodes if isinstance(node, ast.FunctionDef))
    yield "file-to-file arrows", sum(len(_modules_imported(path) - {_module(path)}) for path in SOURCES)
    yield "dataclasses", sum("dataclass" in ast.unparse(each) for node in classes for each in node.decorator_list)
    yield "public names", sum(len(_names(path)) for path in SOURCES)
    yield "public functions, classes, methods", sum(len(list(_public(_tree(path)))) for path in SOURCES)
    yield "modules loaded by check", _output([sys.executable, "-c", LOADED]).strip()
    p90 = statistics.quantiles(bodies, n=10)[-1]
    yield "lines a body: median / p90 / longest", f"{statistics.median(bodies):.0f} / {p90:.0f} / {bodies[-1]}"


def cases() -> int:
    """Tests as pytest counts them."""
    said = _output([sys.executable, "-m", "pytest", "--collect-only", "-q", "-o", "addopts=", "-p", "no:cacheprovider"])
    found = re.search(r"^(\d+) tests? collected", said, re.MULTILINE)
    return int(found.group(1)) if found else 0


def _lines(paths: list[Path]) -> int:
    return sum(len(path.read_bytes().splitlines()) for path in paths)


def _names(path: Path) -> set[str]:
    """What a file defines at its top and others may use."""
    found: set[str] = set()
    for node in _tree(path).body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            found.add(node.name)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            found |= {name.id for target in targets for name in ast.walk(target) if isinstance(name, ast.Name)}
    return {name for name in found if not name.startswith("_")}


def _output(command: list[str]) -> str:
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False).stdout


if __name__ == "__main__":
    main()

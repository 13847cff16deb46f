"""Which tests are asked about a change: those seen to call the changed function, the nearest and fastest first.

Nearest are those that share a word with the function's name, then the files that import the changed one, those of its
folder and of what is cited; of all others as many as the time allows. What stands in no function, as a table, is asked
of all that import or call its file.
"""

import ast
import json
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.mutation.changes import Change
from tests.mutation.learnt import MEMORY

LEFT_OUT = ("tests/corpus/", "tests/fuzz/")
"""The corpus stores every answer, and would hide what no test explains; what damages inputs takes too long."""


@dataclass(frozen=True, slots=True)
class Caller:
    """A test: how long it takes, and the functions that it calls."""

    name: str
    seconds: float
    calls: frozenset[str]

    @property
    def file(self) -> str:
        return self.name.split("::")[0]


def tests_of(root: Path, change: Change, most_s: float) -> list[str]:
    """Names of tests, in the order in which they are run; together they take about `most_s`."""
    function = f"{change.file}:{_function(root / change.file, change.line)}"
    module, folder = ".".join(Path(change.file).with_suffix("").parts), Path(change.file).parent.name
    callers = [caller for caller in learnt() if function in caller.calls] or [
        caller
        for caller in learnt()
        if module in _imported(root, caller.file) or any(name.startswith(f"{change.file}:") for name in caller.calls)
    ]

    words = [word.removesuffix("s") for word in re.findall(r"[a-z]{4,}", function.split(":")[1])]

    def distance(caller: Caller) -> tuple[bool, int, float]:
        near = (
            module in _imported(root, caller.file),
            caller.file.startswith(f"tests/{folder}/"),
            caller.file.startswith("tests/cited/"),
            True,
        )
        return not any(word in caller.name for word in words), near.index(True), caller.seconds

    chosen: list[str] = []
    spent_s = 0.0
    for caller in sorted(callers, key=distance):
        if not chosen or spent_s + caller.seconds <= most_s:
            chosen.append(caller.name)
            spent_s += caller.seconds
    return chosen


@cache
def learnt() -> tuple[Caller, ...]:
    """Every test that was listened to and still stands."""
    told = {name: each for path in sorted(MEMORY.glob("*.json")) for name, each in json.loads(path.read_text()).items()}
    return tuple(
        Caller(name, each["seconds"], frozenset(each["calls"]))
        for name, each in told.items()
        if not name.startswith(LEFT_OUT) and _stands(name)
    )


@cache
def _text(file: str) -> str:
    path = MEMORY.parents[1] / file
    return path.read_text(encoding="utf-8") if path.exists() else ""


def _stands(test: str) -> bool:
    return f"def {test.split('::')[-1]}(" in _text(test.split("::")[0])


def _function(path: Path, line: int) -> str:
    """The function or method in which a line stands, the outermost one; '' where it stands in none, or in one whose
    answers are kept: only the first of many tests is heard to call that.
    """
    for node in ast.walk(ast.parse(path.read_bytes())):
        for child in node.body if isinstance(node, ast.Module | ast.ClassDef) else ():
            if isinstance(child, ast.FunctionDef) and child.lineno <= line <= (child.end_lineno or 0):
                kept = any("cache" in ast.unparse(each) for each in child.decorator_list)
                return "" if kept else f"{node.name}.{child.name}" if isinstance(node, ast.ClassDef) else child.name
    return ""


@cache
def _imported(root: Path, name: str) -> frozenset[str]:
    """Full names of what a test file imports."""
    found: set[str] = set()
    for node in ast.walk(ast.parse((root / name).read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return frozenset(found)

"""Which tests are asked about a change: those seen to go through the changed line, the nearest and fastest first.

Nearest are those that share a word with the function's name, then the files that import the changed one, those of its
folder and of what is cited; of all others as many as the time allows, and of those that go elsewhere in the function.
What stands in no function, as a table, is asked of all that import or go through its file. Whole runs are for the end.
"""

import ast
import json
import re
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from coverage import CoverageData

from tests.mutation.changes import Change
from tests.mutation.learnt import MEMORY, ROOT, SAMPLE

LEFT_OUT = ("tests/corpus/test_corpus.py", "tests/fuzz/")
"""What looks at the stored answers alone, and what damages inputs, which takes too long."""


@dataclass(frozen=True, slots=True)
class Caller:
    """A test, and how long it takes."""

    name: str
    seconds: float

    @property
    def file(self) -> str:
        return self.name.split("::")[0]


def tests_of(root: Path, change: Change, most_s: float) -> list[str]:
    """Names of tests, in the order in which they are run; together they take about `most_s`. Without whole runs."""
    module, folder = ".".join(Path(change.file).with_suffix("").parts), Path(change.file).parent.name
    function, around, own = _places(root / change.file, change.line)
    through, near = _callers(change.file, own), _callers(change.file, around)
    if not function:
        near |= {caller for caller in _learnt() if module in _imported(root, caller.file)}
    words = [word.removesuffix("s") for word in re.findall(r"[a-z]{4,}", function)]

    def distance(caller: Caller) -> tuple[bool, bool, int, float]:
        near = (
            module in _imported(root, caller.file),
            caller.file.startswith(f"tests/{folder}/"),
            caller.file.startswith("tests/cited/"),
            True,
        )
        return caller not in through, not any(word in caller.name for word in words), near.index(True), caller.seconds

    chosen: list[str] = []
    spent_s = 0.0
    for caller in sorted((caller for caller in near | through if caller.file != SAMPLE), key=distance):
        if not chosen or spent_s + caller.seconds <= most_s:
            chosen.append(caller.name)
            spent_s += caller.seconds
    return chosen


def whole_runs(root: Path, change: Change) -> list[str]:
    """Names of the whole runs that go through a change, the fastest first."""
    _, around, own = _places(root / change.file, change.line)
    runs = {caller for caller in _callers(change.file, own or around) if caller.file == SAMPLE}
    return [caller.name for caller in sorted(runs, key=lambda caller: caller.seconds)]


def _places(path: Path, line: int) -> tuple[str, range, range]:
    """The outermost function in which a line stands, its lines, and those of the statement.

    Of what stands in none, as a table, or in one whose answers are kept, so that only the first of many tests is heard
    there: '', the file's lines, and none.
    """
    text = path.read_text(encoding="utf-8")
    whole = range(text.count("\n") + 2)
    nodes = [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.stmt) and line in _lines(node)]
    functions = [node for node in nodes if isinstance(node, ast.FunctionDef)]
    if not functions or any("cache" in ast.unparse(each) for each in functions[0].decorator_list):
        return "", whole, range(0)
    own = min(nodes, key=lambda node: len(_lines(node)))
    if isinstance(own, ast.FunctionDef):
        return functions[0].name, _lines(functions[0]), _lines(own)
    body = getattr(own, "body", None)
    return functions[0].name, _lines(functions[0]), range(own.lineno, body[0].lineno) if body else _lines(own)


def _lines(node: ast.stmt) -> range:
    return range(node.lineno, (node.end_lineno or node.lineno) + 1)


@cache
def _learnt() -> frozenset[Caller]:
    """Every test that was listened to and still stands."""
    return frozenset(
        caller for memory in MEMORY.glob("*.json") for users in _users(memory).values() for caller in users
    )


def learnt() -> bool:
    return bool(_learnt())


@cache
def _users(memory: Path) -> Mapping[str, set[Caller]]:
    """The tests of a folder, by what they use: fixtures, answers that are remembered, and themselves."""
    users: dict[str, set[Caller]] = defaultdict(set)
    for name, each in json.loads(memory.read_text()).items():
        if not name.startswith(LEFT_OUT) and _stands(name):
            for used in each["uses"]:
                users[used].add(Caller(name, each["seconds"]))
    return users


@cache
def _heard(file: str, memory: Path) -> Mapping[int, list[str]]:
    """By line of a file of the package, what goes through it."""
    data = CoverageData(str(memory.with_suffix(".lines")))
    data.read()
    return data.contexts_by_lineno(str(ROOT / file))


def _callers(file: str, lines: Collection[int]) -> set[Caller]:
    """The tests that go through any of these lines."""
    found: set[Caller] = set()
    for memory in MEMORY.glob("*.json"):
        heard = _heard(file, memory)
        for name in {name for line in lines for name in heard.get(line, ())}:
            found |= _users(memory).get(name, set())
    return found


@cache
def _text(file: str) -> str:
    path = ROOT / file
    return path.read_text(encoding="utf-8") if path.exists() else ""


def _stands(test: str) -> bool:
    file, *_, name = test.split("[")[0].split("::")
    return f"def {name}(" in _text(file)


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

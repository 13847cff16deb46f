"""Which test files are asked about a changed file: its mirror folder, what else imports it, what is cited, a sample."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

SAMPLE = ("tests/test_layouts.py", "tests/test_cases.py", "tests/corpus/test_corpus.py")
"""Asked about every change, last: shipped layouts, cases with a stated exit status, a sample of stored answers."""


def tests_of(root: Path, file: str) -> list[str]:
    """Names of test files, in the order in which they are run: those that import the file stand first."""
    folder = Path(file).parent.name
    module = ".".join(Path(file).with_suffix("").parts)
    every = sorted(path.relative_to(root).as_posix() for path in root.glob("tests/*/test_*.py"))
    mirror = [name for name in every if name.startswith(f"tests/{folder}/")]
    near = [name for name in every if module in _imported(root, name)]
    cited = [name for name in every if name.startswith("tests/cited/")]
    first = [name for name in mirror if name in near]
    return list(dict.fromkeys([*first, *near, *mirror, *cited, *SAMPLE]))


@cache
def _imported(root: Path, name: str) -> frozenset[str]:
    """Modules that a test file imports itself, or through a helper of the tests."""
    found: set[str] = set()
    for node in ast.walk(ast.parse((root / name).read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return frozenset(found)

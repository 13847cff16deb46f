"""Which test files are asked about a changed file: its mirror folder, what is cited, a sample, and those that use it.

Where many use it, those outside its folder are asked only on demand.
"""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

SAMPLE = ("tests/test_layouts.py",)
"""Asked about every change. The corpus is left out: it stores every answer, and would hide what no test explains."""

FEW = 12
"""So many files that import the changed one are all asked."""


def tests_of(root: Path, file: str, wide: bool = False) -> list[str]:
    """Names of test files, in the order in which they are run: those that import the file stand first."""
    module, folder = ".".join(Path(file).with_suffix("").parts), Path(file).parent.name
    every = sorted(path.relative_to(root).as_posix() for path in root.glob("tests/*/test_*.py"))
    near = [name for name in every if module in _imported(root, name)]
    mirror, cited = ([name for name in every if name.startswith(f"tests/{each}/")] for each in (folder, "cited"))
    first = [name for name in mirror if name in near]
    return list(dict.fromkeys([*first, *(near if wide or len(near) <= FEW else []), *mirror, *cited, *SAMPLE]))


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

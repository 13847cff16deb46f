"""The house rules, read from the source itself: floors, where libraries may be used, sizes, docstrings, words."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "beltplan"

FLOORS = {
    "geometry": 0, "belts": 1, "tension": 2, "checks": 3, "studies": 4, "reading": 5, "plots": 5, "report": 5, "cli": 6
}  # fmt: skip
TOP = 7
"""The package's own entry stands over every floor."""

AT_HOME = {"yaml": "reading/", "matplotlib": "plots/", "shapely": "geometry/clearance.py"}
"""Where alone a library may be imported."""
TESTS_ONLY = (
    "scipy",
    "hypothesis",
    "numba",
    "pytest",
    "PIL",
    "ezdxf",
    "pdfplumber",
    "pypdfium2",
    "svgpathtools",
    "tests",
)

MOST_LINES, MOST_BODY_LINES = 350, 40

SOURCES = sorted(PACKAGE.rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def _floor(path: Path) -> int:
    parts = path.relative_to(PACKAGE).parts
    return FLOORS[parts[0]] if len(parts) > 1 else TOP


def _imports(tree: ast.AST, path: Path) -> Iterator[str]:
    """Full names of everything imported, wherever in the file."""
    package = path.relative_to(ROOT).with_suffix("").parts[:-1]
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) + 1 - node.level] if node.level else ()
            stem = ".".join((*base, *([node.module] if node.module else [])))
            yield from (f"{stem}.{alias.name}" for alias in node.names)


def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


EVERY_SOURCE = pytest.mark.parametrize("path", SOURCES, ids=_name)


def test_there_is_something_to_read() -> None:
    folders = {path.relative_to(PACKAGE).parts[0] for path in SOURCES if path.parent != PACKAGE}
    assert {"geometry", "belts"} <= folders <= set(FLOORS)
    assert len(SOURCES) > 20


@EVERY_SOURCE
def test_imports_point_down_only(path: Path) -> None:
    own = path.relative_to(PACKAGE).parts[0]
    above = []
    for name in _imports(_tree(path), path):
        parts = name.split(".")
        if parts[0] != "beltplan" or parts[1] not in FLOORS or parts[1] == own:
            continue
        if FLOORS[parts[1]] >= _floor(path):
            above.append(name)
    assert above == []


@EVERY_SOURCE
def test_libraries_stay_where_they_belong(path: Path) -> None:
    inside = path.relative_to(PACKAGE).as_posix()
    strangers = [
        name
        for name in _imports(_tree(path), path)
        if not inside.startswith(AT_HOME.get(name.split(".")[0], "")) or name.split(".")[0] in TESTS_ONLY
    ]
    assert strangers == []


@EVERY_SOURCE
def test_no_pyplot(path: Path) -> None:
    assert [name for name in _imports(_tree(path), path) if "pyplot" in name or "pylab" in name] == []


@pytest.mark.parametrize("path", [path for path in SOURCES if _floor(path) >= FLOORS["cli"]], ids=_name)
def test_pictures_are_imported_only_where_they_are_drawn(path: Path) -> None:
    """A check without a picture must not wait for matplotlib."""
    tree = _tree(path)
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
    within = {name for function in functions for name in _imports(function, path)}
    plots = [name for name in _imports(tree, path) if name.startswith(("beltplan.plots", "matplotlib"))]
    at_top = [name for node in tree.body for name in _imports(node, path) if not _is_function(node)]
    assert [name for name in plots if name not in within] == []
    assert [name for name in at_top if name.startswith(("beltplan.plots", "matplotlib"))] == []


def _is_function(node: ast.AST) -> bool:
    return isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)


@pytest.mark.parametrize("path", SOURCES + TESTS, ids=_name)
def test_files_are_short(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


@pytest.mark.parametrize("path", SOURCES + TESTS, ids=_name)
def test_functions_are_short(path: Path) -> None:
    """Lines of the body, docstring left out."""
    long = [
        f"{node.name}: {lines} lines"
        for node in ast.walk(_tree(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        if (lines := _body_lines(node)) > MOST_BODY_LINES
    ]
    assert long == []


def _body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


@EVERY_SOURCE
def test_everything_public_has_a_docstring(path: Path) -> None:
    tree = _tree(path)
    bare = [name for name, node in _public(tree) if ast.get_docstring(node) is None]
    if path.stat().st_size and ast.get_docstring(tree) is None:
        bare.append("the module itself")
    assert bare == []


@pytest.mark.parametrize("path", [path for path in TESTS if path.stat().st_size], ids=_name)
def test_every_test_file_says_what_it_is_about(path: Path) -> None:
    assert ast.get_docstring(_tree(path)) is not None


def _public(
    tree: ast.Module | ast.ClassDef,
) -> Iterator[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef]]:
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) or node.name.startswith("_"):
            continue
        yield node.name, node
        if isinstance(node, ast.ClassDef):
            yield from _public(node)


# Words that have no place in the repository, in pieces so that this file does not hold them.
FORBIDDEN = tuple(
    "".join(pieces)
    for pieces in (
        (r"\bTO", r"DO\b"),
        (r"\bFIX", r"ME\b"),
        (r"\bXX", r"X\b"),
        (r"\bNot", "Implemented"),
        ("(?i)trans", "cript"),
        ("(?i)seed[ _-]", "document"),
        (r"\b(layout-file|check-values|domain|scenarios|style)", r"\.md"),
        ("/work/", "(shared|main|notes)"),
    )
)
TEXT = {".py", ".md", ".yaml", ".yml", ".toml", ".txt", ".json", ".svg", ".csv", ".cfg", ".sh", ""}
NOT_OURS = {"__pycache__", "build", "dist"}


def _texts() -> Iterator[Path]:
    for path in sorted(ROOT.rglob("*")):
        folders = path.relative_to(ROOT).parts[:-1]
        hidden = any((part.startswith(".") and part != ".ci") or part in NOT_OURS for part in folders)
        if path.is_file() and path.suffix in TEXT and not hidden and not any("egg-info" in part for part in folders):
            yield path


def test_no_forbidden_words() -> None:
    found = [
        f"{_name(path)}:{number}: {line.strip()[:80]}"
        for path in _texts()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if any(re.search(word, line) for word in FORBIDDEN)
    ]
    assert found == []


@pytest.mark.parametrize(
    "pieces",
    [("# TO", "DO later"), ("raise Not", "ImplementedError"), ("a Trans", "cript of it"), ("see domain", ".md")],
)
def test_forbidden_words_would_be_found(pieces: tuple[str, str]) -> None:
    assert any(re.search(word, "".join(pieces)) for word in FORBIDDEN)

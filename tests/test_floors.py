"""The house rules, read from the source itself: floors, where libraries may be used, sizes, docstrings, words."""

import ast
import re
import subprocess
from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

from tests.for_each import for_each

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "beltplan"

FLOORS: Mapping[str, int] = {
    "geometry": 0, "faults": 0, "files": 0, "progress": 0, "drive": 1, "checks": 2, "judging": 3, "outlines": 3,
    "layoutfile": 4, "report": 5, "picture": 6, "cli": 7,
}  # fmt: skip
"""Shared floors, the lowest first: each imports those under it; neighbours on a floor do not see each other."""
FEATURES = (
    "compare", "routes", "place", "tolerance", "cure", "drawing", "measure", "squeal", "vibration",
    "page", "drag", "words",
)  # fmt: skip
"""Packages over all floors. They import floors, and no feature sees another but by the arrows of `ALLOWED`."""
FEATURE_FLOOR = 8
TOP = ("api", "__init__", "__main__")
"""Over all features, the lowest first: what a program imports, and the package and its command, which only lead on."""
ALLOWED: frozenset[tuple[str, str]] = frozenset({
    ("beltplan.words.word_list", "beltplan.tolerance.study"),
    ("beltplan.drag.live", "beltplan.place.study"),
})  # fmt: skip
"""File to file, the only arrows from one feature to another."""

AT_HOME = {
    "yaml": ("layoutfile/",),
    "matplotlib": ("picture/", "drag/window.py", "vibration/picture.py"),
    "PIL": ("picture/painter.py",),
    "shapely": (
        "geometry/shapes.py",
        "picture/framing.py",
        "picture/labels.py",
        "measure/picture.py",
        "drawing/picture.py",
        "drawing/strokes.py",
    ),
}
"""Where alone a library may be imported."""
TESTS_ONLY = {
    "scipy", "hypothesis", "numba", "pytest", "ezdxf", "pdfplumber", "pypdfium2", "svgpathtools",
    "jsonschema", "tests"
}  # fmt: skip

MOST_BODY_LINES = 40


def _tracked(folder: str, *endings: str) -> list[Path]:
    """Files that belong to the project: what git tracks, and new ones that it does not ignore."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard", "--", folder],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    paths = sorted(ROOT / name for name in listed.split("\0") if name)
    return [path for path in paths if path.is_file() and (not endings or path.suffix in endings)]


SOURCES = _tracked("beltplan", ".py")
TESTS = _tracked("tests", ".py")


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def _inside(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def _package(module: str) -> str:
    """The floor or feature of a full module name: its second part, '' for the package itself."""
    return [*module.split("."), ""][1]


def _floor(package: str) -> int:
    if package in TOP:
        return FEATURE_FLOOR + 1 + TOP.index(package)
    return FEATURE_FLOOR if package in FEATURES else FLOORS[package]


def _module(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


@cache
def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def _statements(node: ast.AST) -> Iterator[ast.AST]:
    """A statement and all in it; expressions are not looked through."""
    yield node
    for within in (getattr(node, each, ()) for each in ("body", "orelse", "finalbody", "handlers", "cases")):
        for child in within if isinstance(within, list) else ():
            yield from _statements(child)


def _imports(tree: ast.AST) -> Iterator[str]:
    """Full names of everything imported, wherever in the file; the package imports by full names only."""
    for node in _statements(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@cache
def _modules() -> frozenset[str]:
    return frozenset(map(_module, SOURCES))


@cache
def _modules_imported(path: Path) -> set[str]:
    """Modules of the package that a file imports."""
    every = _modules()
    names = [name for name in _imports(_tree(path)) if name.split(".")[0] == "beltplan"]
    return {name if name in every else name.rpartition(".")[0] for name in names}


def test_there_is_something_to_read() -> None:
    packages = {_package(_module(path)) for path in SOURCES if path.parent != PACKAGE}
    assert {"geometry", "drive", "place"} <= packages <= {*FLOORS, *FEATURES}
    assert len(SOURCES) > 20 and len(TESTS) > 20


def test_imports_point_down_only() -> None:
    above = [
        f"{_name(path)} imports {module}"
        for path in SOURCES
        for module in sorted(_modules_imported(path))
        if (own := _package(_module(path))) != (other := _package(module)) and other
        if _floor(other) >= _floor(own) and (_module(path), module) not in ALLOWED
    ]
    assert above == []


def test_no_circles() -> None:
    """Files import each other in one direction, inside a package too."""
    arrows = {_module(path): _modules_imported(path) for path in SOURCES}
    done: set[str] = set()

    def walk(module: str, way: tuple[str, ...]) -> None:
        assert module not in way, " -> ".join((*way, module))
        if module not in done:
            for other in sorted(arrows.get(module, ())):
                if other != module:
                    walk(other, (*way, module))
            done.add(module)

    for module in sorted(arrows):
        walk(module, ())


def test_libraries_stay_where_they_belong() -> None:
    strangers = [
        f"{_name(path)} imports {name}"
        for path in SOURCES
        for name in _imports(_tree(path))
        if not _inside(path).startswith(AT_HOME.get(name.split(".")[0], ("",))) or name.split(".")[0] in TESTS_ONLY
    ]
    assert strangers == []


def test_pyplot_only_where_a_window_is_opened() -> None:
    using = [_inside(path) for path in SOURCES if re.search("pyplot|pylab", path.read_text(encoding="utf-8"))]
    assert using == ["drag/window.py"]


def test_pictures_are_imported_only_where_they_are_drawn() -> None:
    """A command without a picture must not wait for matplotlib: what draws is imported inside a function."""
    early = [
        f"{_name(path)} imports {name} at its top"
        for path in SOURCES
        if path.name.startswith("cli") or _package(_module(path)) in ("cli", "api")
        for node in _tree(path).body
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in _imports(node)
        if _package(name) == "picture" or name.split(".")[2:3] == ["picture"] or name.startswith("matplotlib")
    ]
    assert early == []


def test_functions_are_short() -> None:
    """Lines of the body, docstring left out."""
    long = [
        f"{_name(path)}: {node.name} has {lines} lines"
        for path in SOURCES + TESTS
        for node in _statements(_tree(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        if (lines := _body_lines(node)) > MOST_BODY_LINES
    ]
    assert long == []


def _body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


TAUGHT = ("geometry", "drive", "checks")
"""Packages whose public functions and values all say what they are: the engine. A method may leave it to its name."""


def test_the_engine_says_what_it_is() -> None:
    bare = [
        f"{_name(path)}: {name}"
        for path in SOURCES
        if _package(_module(path)) in TAUGHT
        for name, node in _public(_tree(path))
        if node in _tree(path).body and ast.get_docstring(node) is None
    ]
    assert bare == []


def test_every_file_says_what_it_is_about() -> None:
    assert [_name(path) for path in SOURCES + TESTS if path.stat().st_size and not ast.get_docstring(_tree(path))] == []


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
TEXT = (".py", ".md", ".yaml", ".yml", ".toml", ".txt", ".json", ".svg", ".csv", ".cfg", ".sh", "")


def test_no_forbidden_words() -> None:
    found: dict[str, list[str]] = defaultdict(list)
    for path in _tracked(".", *TEXT):
        text = path.read_text(encoding="utf-8")
        for place in (match.start() for word in FORBIDDEN for match in re.finditer(word, text)):
            found[_name(path)].append(f"{text.count(chr(10), 0, place) + 1}: {text[place : place + 80]!r}")
    assert found == {}


@for_each(
    (("# TO", "DO later"),),
    (("raise Not", "ImplementedError"),),
    (("a Trans", "cript of it"),),
    (("see domain", ".md"),),
)
def test_forbidden_words_would_be_found(pieces: tuple[str, str]) -> None:
    assert any(re.search(word, "".join(pieces)) for word in FORBIDDEN)

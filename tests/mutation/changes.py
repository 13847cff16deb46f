"""Single changes of a source file: one operator, sign, comparison, number or condition, as other text for one piece.

Left out is what a test cannot or need not see: docstrings and other text, annotations, decorators, numbers under a
thousandth (tolerances), `strict` and whatever stands in an f-string.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass

OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Mod: ast.Mult,
}  # fmt: skip
COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
CALLS = {
    "min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "nanmin": "nanmax", "nanmax": "nanmin",
    "any": "all", "all": "any", "sin": "cos", "cos": "sin", "floor": "ceil", "ceil": "floor",
}  # fmt: skip
TOLERANCE = 1e-3
GROWTH = 1.1
"""A number that is no whole one grows by this factor."""


@dataclass(frozen=True, slots=True)
class Change:
    """Bytes `start` to `end` of a file become `now`."""

    file: str
    line: int
    start: int
    end: int
    was: str
    now: str

    def applied(self, source: bytes) -> bytes:
        return source[: self.start] + self.now.encode() + source[self.end :]

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {' '.join(self.was.split())}  ->  {self.now}"


def changes(file: str, source: bytes) -> list[Change]:
    """Every change of a file, in the order in which they stand."""
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found = []
    for node in _seen(ast.parse(source)):
        start, end = starts[node.lineno - 1] + node.col_offset, starts[(node.end_lineno or 0) - 1]
        end += node.end_col_offset or 0
        found += [
            Change(file, node.lineno, start, end, source[start:end].decode(), f"({ast.unparse(other)})")
            for other in _others(node)
        ]
    return sorted(found, key=lambda change: (change.start, change.end, change.now))


def _seen(node: ast.AST) -> Iterator[ast.expr]:
    """Expressions that are computed and may be changed, with all under them."""
    for name, value in ast.iter_fields(node):
        if name in {"annotation", "returns", "decorator_list", "type_params"}:
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or isinstance(child, ast.JoinedStr) or _spared(child):
                continue
            if isinstance(child, ast.expr):
                yield child
            yield from _seen(child)


def _spared(node: ast.AST) -> bool:
    """A flag that only guards, or what only a type checker reads."""
    if isinstance(node, ast.keyword):
        return node.arg in {"strict", "slots", "frozen", "stacklevel"}
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)


def _others(node: ast.expr) -> list[ast.expr]:
    """What may stand in place of an expression."""
    match node:
        case ast.BinOp(left, operator, right) if type(operator) in OPERATORS and not (
            _is_text(left) or _is_text(right)
        ):
            return [ast.BinOp(left, OPERATORS[type(operator)](), right)]
        case ast.Compare(left, [operator], [right]):
            return [ast.Compare(left, [COMPARISONS[type(operator)]()], [right])]
        case ast.UnaryOp(ast.USub() | ast.Not(), operand):
            return [operand]
        case ast.BoolOp(operator, values):
            return [ast.BoolOp(ast.Or() if isinstance(operator, ast.And) else ast.And(), values)]
        case ast.IfExp(test, body, orelse):
            return [ast.IfExp(test, orelse, body)]
        case ast.Call(ast.Name(name), given, named) if name in CALLS:
            return [ast.Call(ast.Name(CALLS[name]), given, named)]
        case ast.Call(ast.Attribute(owner, name), given, named) if name in CALLS:
            return [ast.Call(ast.Attribute(owner, CALLS[name]), given, named)]
        case ast.Constant(value):
            return [ast.Constant(other) for other in _numbers(value)]
    return []


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr | ast.List | ast.Tuple) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str | bytes)
    )


def _numbers(value: object) -> list[bool | int | float]:
    match value:
        case bool():
            return [not value]
        case int():
            return [value + 1]
        case float() if value == 0.0:
            return [1.0]
        case float() if abs(value) >= TOLERANCE:
            return [value * GROWTH]
    return []

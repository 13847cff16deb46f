"""The rows of a comparison: what is said of every column, with its difference to the first one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from beltplan.checks.comparison import Column, Comparison
from beltplan.checks.limits import SEVERITIES, Severity
from beltplan.checks.plan import Plan
from beltplan.drive.operation import WorstPoint

UNKNOWN = "-"
SLACK = "slack"
NO_PATH = "no belt path"
MARKS = (
    "In brackets: difference to the first column; * says that the first column has it otherwise; - that it is not "
    "known."
)


@dataclass(frozen=True)
class Row:
    """One row of the table. key: its name where another program or a picture wants it; cells: one a column."""

    key: str
    label: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class _Kind:
    """How a row of numbers or words is made. digits: after the point."""

    key: str
    label: str
    of: Callable[[Plan], float | str | None]
    digits: int = 0


def compare_verdict(column: Column) -> str:
    """The verdict of a column."""
    return NO_PATH if column.judged is None else column.judged.verdict


def unjudged_words(comparison: Comparison) -> str:
    """A warning where slip is known of some columns only, else nothing."""
    judged = [column for column in comparison.columns if column.judged is not None]
    blind = [column.name for column in judged if column.judged is not None and column.judged.wet is None]
    if not blind or len(blind) == len(judged):
        return ""
    return f"Slip is not judged for {', '.join(blind)}, so its rank leaves slip out: give loads and speeds to be fair."


def compare_rows(comparison: Comparison) -> tuple[Row, ...]:
    """Every row, cells in the order of the columns."""
    columns = comparison.columns
    rank = Row("rank", "rank", tuple(str(rank) for rank in comparison.ranks))
    verdict = Row("verdict", "verdict", tuple(map(compare_verdict, columns)))
    judged = [column.judged for column in columns if column.judged is not None]
    adjusted, revving = any(j.route.travel is not None for j in judged), any(j.revving for j in judged)
    idle = (() if adjusted else _ADJUSTED) + (() if revving else _REVVING)
    middle = [kind for kind in _MIDDLE if kind.key not in idle]
    kinds = [*_COUNTS, *_FIRST, *_belts(columns), *middle, *_alternators(columns), *_LAST]
    return (rank, verdict, *(_row(kind, columns) for kind in kinds))


def _row(kind: _Kind, columns: tuple[Column, ...]) -> Row:
    values = [None if column.judged is None else kind.of(column.judged) for column in columns]
    marked = columns[0].judged is not None
    cells = (
        _cell(value, values[0], kind.digits) if marked and column.judged is not None else _shown(value, kind.digits)
        for value, column in zip(values, columns, strict=True)
    )
    return Row(kind.key, kind.label, tuple(cells))


def _shown(value: float | str | None, digits: int) -> str:
    if value is None or isinstance(value, str):
        return value or UNKNOWN
    # The sum takes the sign off a zero.
    return f"{round(value, digits) + 0.0:.{digits}f}" if math.isfinite(value) else SLACK


def _cell(value: float | str | None, first: float | str | None, digits: int) -> str:
    shown = _shown(value, digits)
    if value is None or shown == _shown(first, digits):
        return shown
    if isinstance(value, str) or isinstance(first, str) or first is None or not math.isfinite(value - first):
        return f"{shown}*"
    return f"{shown} ({round(value, digits) - round(first, digits):+.{digits}f})"


def _counted(severity: Severity) -> _Kind:
    return _Kind(f"{severity}s", f"{severity}s", lambda judged: judged.count(severity))


def _belts(columns: tuple[Column, ...]) -> list[_Kind]:
    """The best stock belt; and the one judged, where it is another one in any column."""
    best = _Kind("best_stock", "best stock belt", best_stock)
    judged = [column.judged for column in columns if column.judged is not None]
    if all(each.route.designation in (None, best_stock(each)) for each in judged):
        return [best]
    return [best, _Kind("belt", "belt judged", lambda each: each.route.designation)]


def best_stock(judged: Plan) -> str | None:
    """Designation of the best belt that can be bought, None where none fits."""
    return judged.route.stock[0].designation if judged.route.stock else None


def smallest_reserve_mm(judged: Plan) -> float | None:
    """What the belt that is judged leaves in hand at the worse end, None where none fits."""
    return None if judged.route.judged is None else judged.route.judged.reserve_mm


def _alternators(columns: tuple[Column, ...]) -> list[_Kind]:
    judged = [column.judged for column in columns if column.judged is not None]
    names = dict.fromkeys(own.name for each in judged for own in each.alternators)
    return [kind for name in names for kind in (_speed(name, "idle"), _speed(name, "max"))]


def _speed(name: str, at: str) -> _Kind:
    def of(judged: Plan) -> float | None:
        return next((own.rpm[at] for own in judged.alternators if own.name == name), None)

    return _Kind(f"{name} {at}", f"{name} at {'idle' if at == 'idle' else 'most'}, rpm", of)


def _position(judged: Plan) -> float | None:
    return None if judged.route.position is None else 100.0 * judged.route.position


def _slip(point: WorstPoint | None, judged: Plan) -> str | None:
    if point is None or judged.operation is None:
        return None
    duties = judged.operation.duties
    duty = f", {duties[point.duty]}" if len(duties) > 1 else ""
    return f"{point.pulley}, {point.rpm:.0f} rpm{duty}"


_COUNTS = tuple(map(_counted, SEVERITIES))
_FIRST: tuple[_Kind, ...] = (
    _Kind("margin", "worst margin, % of limit", lambda j: None if j.margin is None else 100.0 * j.margin.share, 1),
    _Kind("margin_of", "  of", lambda j: None if j.margin is None else f"{j.margin.of}, {j.margin.where}"),
)
_MIDDLE: tuple[_Kind, ...] = (
    _Kind("position", "adjuster at, % of travel", _position),
    _Kind("reserve", "smallest reserve, mm", smallest_reserve_mm, 1),
    _Kind("take_up", "take-up, % of best", lambda j: None if j.adjuster is None else j.adjuster.take_up_percent),
    _Kind("wrap", "wrap over its least, deg", lambda j: None if j.wrap is None else j.wrap.over_deg, 1),
    _Kind("wrap_at", "  at", lambda j: None if j.wrap is None else j.wrap.name),
    _Kind("dry", "slip use, dry", lambda j: None if j.dry is None else j.dry.utilisation, 2),
    _Kind("dry_at", "  at", lambda j: _slip(j.dry, j)),
    _Kind("wet", "slip use, wet", lambda j: None if j.wet is None else j.wet.utilisation, 2),
    _Kind("wet_at", "  at", lambda j: _slip(j.wet, j)),
    _Kind(
        "revving", "slip use, wet, revving", lambda j: None if j.revving_wet is None else j.revving_wet.utilisation, 2
    ),
    _Kind("revving_at", "  at", lambda j: _slip(j.revving_wet, j)),
)
_ADJUSTED = ("position", "take_up")
"""Rows that say nothing where no column has an adjuster."""
_REVVING = ("revving", "revving_at")
"""Rows that say nothing where no column is judged while the engine changes speed."""
_LAST: tuple[_Kind, ...] = (
    _Kind("hub", "largest pull on a hub, N", lambda j: None if j.hub is None else j.hub.maximum_N),
    _Kind("hub_at", "  at", lambda j: None if j.hub is None else j.hub.pulley),
    _Kind("gap", "smallest clearance, mm", lambda j: None if j.gap is None else j.gap.value_mm, 1),
    _Kind("gap_at", "  at", lambda j: None if j.gap is None else j.gap.subject),
)

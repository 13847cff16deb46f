"""Layouts side by side: the one answer that texts and pictures of a ranking, and of before and after, read."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from beltplan.checks.comparison import ORDER, Column, Comparison
from beltplan.checks.limits import SEVERITIES, all_of, begun
from beltplan.checks.margin import Margin
from beltplan.checks.plan import Plan
from beltplan.drive.belt import LBF_N, MM_PER_INCH
from beltplan.drive.layout import Layout, Units
from beltplan.drive.operation import WorstPoint
from beltplan.report.screen import Columns, in_units

UNKNOWN = "-"
NO_PATH = "no belt path"
MARKS = "(+1) against the first column; * differs from it; - unknown or none."


@dataclass(frozen=True, eq=False)
class SideBySide:
    """What is drawn of each layout, and what stands over, under and between the drawings.

    names, verdicts: of every column. said: the answer, without its full stop. note: on the table's signs, and the rule.
    to_do: what the answer asks for, where it asks for something. badges: over the drawings, else their ranks.
    """

    comparison: Comparison
    names: tuple[str, ...]
    verdicts: tuple[str, ...]
    table: Columns
    said: str
    note: str
    to_do: str = ""
    badges: tuple[str, ...] = ()


@dataclass(frozen=True)
class Row:
    """One row of the table. key: its name where another program or a picture wants it; cells: one a column."""

    key: str
    label: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Kind:
    """How a row of numbers or words is made. digits: after the point. unit: of a length or a force, which are told in
    the user's units; per: how much of it is one.
    """

    key: str
    label: str
    of: Callable[[Plan], float | str | None]
    digits: int = 0
    unit: Literal["", "mm", "N"] = ""
    per: float = 1.0

    def value(self, plan: Plan) -> float | str | None:
        value = self.of(plan)
        if not isinstance(value, float):
            return value
        # As in a sentence, pounds are those of the newtons that are told.
        return (round(value, self.digits) if self.unit == "N" else value) / self.per

    def told_in(self, units: Units, pounds: bool) -> Iterator[Kind]:
        if self.unit != "mm" or units == "mm":
            yield replace(self, label=f"{self.label}, {self.unit}") if self.unit else self
        else:
            yield replace(self, label=f"{self.label}, in", digits=max(2, self.digits + 1), per=MM_PER_INCH)
        if self.unit == "N" and pounds:
            yield replace(self, key=f"{self.key}_lbf", label=f"{self.label}, lbf", per=LBF_N)


def compare_verdict(column: Column) -> str:
    return NO_PATH if column.plan is None else column.plan.verdict


def compared(comparison: Comparison) -> SideBySide:
    names = tuple(column.name for column in comparison.columns)
    rows = tuple((row.label, row.cells) for row in compare_rows(comparison) if row.key != "verdict")
    notes = (MARKS, rather_words(comparison), less_words(comparison), unjudged_words(comparison), f"Ranked by {ORDER}.")
    note = " ".join(filter(None, notes))
    verdicts = tuple(map(compare_verdict, comparison.columns))
    best = comparison.best
    verdict = in_units(compare_verdict(best), best.layout.units)
    said = begun(NO_PATH) if best.plan is None else f"Best: {best.name}. It {verdict}"
    return SideBySide(comparison, names, verdicts, Columns(names, rows), said, note)


_BY_FAR = 0.1
"""A worst margin larger by a tenth of the limit is larger by far (our own choice)."""


def rather_words(comparison: Comparison) -> str:
    """Which other layout has more against it than the best, and nothing nearly as bad; '' without one."""
    best = comparison.best.plan
    if best is None or best.margin is None:
        return ""
    least, found = best.margin.share + _BY_FAR, list[tuple[float, str]]()
    for name, plan in ((column.name, column.plan) for column in comparison.columns):
        if plan is not None and plan.margin is not None and plan.margin.share >= least and (more := _more(plan, best)):
            worst = f"its worst is {_beside_limit(plan.margin)}, not {_beside_limit(best.margin)}"
            found.append((plan.margin.share, f"{name} has {more} more, but {worst}."))
    return max(found)[1] if found else ""


def _more(plan: Plan, best: Plan) -> str:
    """How many more problems, or else cautions, than the best; '' where it has none, or the best no problem and this
    one has.
    """
    problems, cautions = (plan.count(each) - best.count(each) for each in ("problem", "caution"))
    more, kind = (problems, "problem") if problems else (cautions, "caution")
    return "" if more <= 0 or (problems and not best.count("problem")) else f"{more} {kind}{'s' * (more > 1)}"


def _beside_limit(margin: Margin) -> str:
    share = 100.0 * margin.share
    off = f"{abs(share):.1f} % {'inside' if share >= 0.0 else 'past'} its limit" if math.isfinite(share) else "slack"
    return f"{off} ({margin.of}, {margin.where})"


def less_given(comparison: Comparison) -> dict[str, list[str]]:
    """Keys by which the engine's swing and slip on revs are judged, that another column gives, by column."""
    judged = [column for column in comparison.columns if column.plan is not None]
    given = {column.name: _given(column.layout) for column in judged}
    known = {key for keys in given.values() for key, value in keys.items() if value is not None}
    if known.isdisjoint({"engine.cylinders", "engine.rev_up_rpm_per_s"}):
        return {}
    less = {name: [key for key in keys if keys[key] is None and key in known] for name, keys in given.items()}
    return {name: keys for name, keys in less.items() if keys}


def _given(layout: Layout) -> dict[str, float | None]:
    turning = [layout.pulleys[name] for name in layout.route if not layout.pulleys[name].guides_only]
    engine = {f"engine.{key}": value for key, value in vars(layout.engine).items()}
    return engine | {f"pulleys.{pulley.name}.inertia_kgm2": pulley.inertia_kgm2 for pulley in turning}


def less_words(comparison: Comparison) -> str:
    alike: dict[str, list[str]] = {}
    for name, keys in less_given(comparison).items():
        alike.setdefault(", ".join(keys), []).append(name)
    told = "; ".join(f"{all_of(names)} (give {keys})" for keys, names in alike.items())
    return f"Judged with less: {told}." if told else ""


def unjudged_words(comparison: Comparison) -> str:
    plans = {column.name: column.plan for column in comparison.columns if column.plan is not None}
    blind = {name: plan.not_judged or "no loads are given" for name, plan in plans.items() if plan.wet is None}
    if not blind or len(blind) == len(plans):
        return ""
    ranks = "its rank leaves" if len(blind) == 1 else "their ranks leave"
    return f"Slip is not judged for {all_of(blind)}, so {ranks} slip out: {'; '.join(dict.fromkeys(blind.values()))}."


def compare_rows(comparison: Comparison, pounds: bool = False) -> tuple[Row, ...]:
    """Every row, cells in the order of the columns; lengths in the units of the first. pounds: beside newtons also
    where these are mm.
    """
    columns, units = comparison.columns, comparison.columns[0].layout.units
    rank = Row("rank", "rank", tuple(str(rank) for rank in comparison.ranks))
    verdict = Row("verdict", "verdict", tuple(re.split("[:,]", compare_verdict(column))[0] for column in columns))
    pounds |= units == "in"
    plans = [column.plan for column in columns if column.plan is not None]
    adjusted, revving = any(each.route.travel is not None for each in plans), any(each.revving for each in plans)
    idle = (() if adjusted else _ADJUSTED) + (() if revving else _REVVING)
    middle = [kind for kind in _MIDDLE if kind.key not in idle]
    kinds = [*COUNTS, *_FIRST, *_belts(plans), *middle, *_alternators(plans), *_LAST]
    kinds = kinds if plans else []
    return (rank, verdict, *(_compared_row(told, columns) for kind in kinds for told in kind.told_in(units, pounds)))


def plain_rows(kinds: Sequence[Kind], plans: Sequence[Plan], units: Units) -> tuple[Row, ...]:
    told = [own for kind in kinds for own in kind.told_in(units, units == "in")]
    return tuple(Row(own.key, own.label, tuple(_shown(own.value(plan), own.digits) for plan in plans)) for own in told)


def _compared_row(kind: Kind, columns: tuple[Column, ...]) -> Row:
    values = [None if column.plan is None else kind.value(column.plan) for column in columns]
    marked = columns[0].plan is not None
    cells = (
        _cell(value, values[0], kind.digits) if marked and column.plan is not None else _shown(value, kind.digits)
        for value, column in zip(values, columns, strict=True)
    )
    return Row(kind.key, kind.label, tuple(cells))


def _shown(value: float | str | None, digits: int) -> str:
    return (value or UNKNOWN) if value is None or isinstance(value, str) else number_words(value, digits)


def number_words(value: float, digits: int) -> str:
    return f"{value:z.{digits}f}" if math.isfinite(value) else "slack"


def _cell(value: float | str | None, first: float | str | None, digits: int) -> str:
    shown = _shown(value, digits)
    if value is None or shown == _shown(first, digits):
        return shown
    if isinstance(value, str) or isinstance(first, str) or first is None or not math.isfinite(value - first):
        return f"{shown}*"
    return f"{shown} ({round(value, digits) - round(first, digits):+.{digits}f})"


def _belts(plans: Sequence[Plan]) -> list[Kind]:
    best = Kind("best_stock", "belt that fits best", best_stock)
    if all(each.route.designation in (None, best_stock(each)) for each in plans):
        return [best]
    return [best, Kind("belt", "chosen belt", lambda each: each.route.designation)]


def best_stock(plan: Plan) -> str | None:
    return plan.route.stock[0].designation if plan.route.stock else None


def smallest_reserve_mm(plan: Plan) -> float | None:
    return None if plan.route.judged is None else plan.route.judged.reserve_mm


def _alternators(plans: Sequence[Plan]) -> list[Kind]:
    names = dict.fromkeys(own.name for each in plans for own in each.alternators)
    return [
        Kind(f"{name} {at}", f"{name} at {at}, rpm", partial(_rpm, name=name, at=at))
        for name in names
        for at in ("idle", "max")
    ]


def _rpm(plan: Plan, name: str, at: str) -> float | None:
    return next((own.rpm.get(at) for own in plan.alternators if own.name == name), None)


def _slip(point: WorstPoint | None, plan: Plan) -> str | None:
    if point is None or plan.operation is None:
        return None
    duties = plan.operation.duties
    duty = f", {duties[point.duty]}" if len(duties) > 1 else ""
    return f"{point.pulley}, {point.rpm:.0f} rpm{duty}"


def _margin_of(plan: Plan) -> str | None:
    margin, caution = plan.margin, ": a caution" * plan.short_is_caution
    return None if margin is None else f"{margin.of}, {margin.where}{caution}"


COUNTS = tuple(Kind(f"{each}s", f"{each}s", partial(Plan.count, severity=each)) for each in SEVERITIES)
RESERVE = Kind("reserve", "smallest reserve", smallest_reserve_mm, 1, "mm")
_FIRST: tuple[Kind, ...] = (
    Kind("margin", "worst margin, % of limit", lambda j: None if j.margin is None else 100.0 * j.margin.share, 1),
    Kind("margin_of", "  of", _margin_of),
)
_MIDDLE: tuple[Kind, ...] = (
    Kind("position", "adjuster at, % of travel", lambda j: j.route.position, per=0.01),
    RESERVE,
    Kind("take_up", "take-up, % of best", lambda j: None if j.adjuster is None else j.adjuster.take_up_percent),
    Kind("wrap", "wrap over its minimum, deg", lambda j: j.wrap.over_deg, 1),
    Kind("wrap_at", "  at", lambda j: j.wrap.name),
    Kind("dry", "grip used, dry", lambda j: None if j.dry is None else j.dry.utilisation, 2),
    Kind("dry_at", "  at", lambda j: _slip(j.dry, j)),
    Kind("wet", "grip used, wet", lambda j: None if j.wet is None else j.wet.utilisation, 2),
    Kind("wet_at", "  at", lambda j: _slip(j.wet, j)),
    Kind(
        "revving", "grip used, wet, revving", lambda j: None if j.revving_wet is None else j.revving_wet.utilisation, 2
    ),
    Kind("revving_at", "  at", lambda j: _slip(j.revving_wet, j)),
)
_ADJUSTED = ("position", "take_up")
"""Rows that say nothing where no column has an adjuster."""
_REVVING = ("revving", "revving_at")
"""Rows that say nothing where no column is judged while the engine changes speed."""
_LAST: tuple[Kind, ...] = (
    Kind("hub", "highest hub load", lambda j: None if j.hub is None else j.hub.high_N, 0, "N"),
    Kind("hub_at", "  at", lambda j: None if j.hub is None else j.hub.pulley),
    Kind("gap", "smallest clearance", lambda j: None if j.gap is None else j.gap.value_mm, 1, "mm"),
    Kind("gap_at", "  at", lambda j: None if j.gap is None else j.gap.subject),
)

"""The one table of limits, each with its source and the overrides of a layout; what a check is, and a finding."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Literal

import numpy as np

from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import Condition
from beltplan.drive.operation import MINIMUM_TAKE_UP_PERCENT, WANTED_USE, Operation
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Bools, Floats, Ints

Kind = Literal["lower", "upper"]
_Verdict = tuple[Literal["problem", "caution"], float, str]

NONE, CAUTION, PROBLEM = range(3)
"""How bad a value is, worst last, so that the largest of several holds."""

CAUTION_BAND = 1.1
"""A value within a tenth of its limit is a caution, unless the limit's own row says otherwise."""

_SCREEN = "project default, a first screen: common practice, no source"
OWN = "the layout file"
_TENTH = f"a tenth inside the limit of {OWN}"
_SLIP = "slip formula of Euler and Shigley: 1 is slip"
_FIFTH = "project default: a fifth to spare"
_TAKE_UP = "derived: change of length against its best, lever x 2 sin(wrap / 2)"
_HALF_TAKE_UP = _TAKE_UP + "; half of that, project default"
_CHIRP = "SAE 1999-01-1709, abstract: guideline; it can chirp below it"


_MOST_DECIMALS = 9
_MOST_OF_A_LIMIT = 4
"""A limit of more decimals than this is rounded as its value is."""


def all_of(names: Iterable[str], last: str = "and") -> str:
    """The names as they are said one after the other; the last of several after `and`, or another word.

    >>> all_of(["crank", "fan", "pump"]), all_of(["crank"])
    ('crank, fan and pump', 'crank')
    """
    every = list(names)
    return f"{', '.join(every[:-1])} {last} {every[-1]}" if every[1:] else "".join(every)


def begun(words: str) -> str:
    """Words as they begin a sentence; names in them stay as they are written.

    >>> begun("an alternator on AV13")
    'An alternator on AV13'
    """
    return words[:1].upper() + words[1:]


def against(value: float, limit: float, decimals: int = 1) -> tuple[str, str, str]:
    """A value, its distance from a limit, and the limit, with as many decimals as show on which side the value lies.

    The three add up as they are read.

    >>> against(109.96, 110.0), against(10.34, 12.75)
    (('109.96', '0.04', '110'), ('10.34', '2.41', '12.75'))
    """
    plain = np.format_float_positional(limit, trim="-")
    own = len(plain.partition(".")[2])
    for digits in range(decimals if own > _MOST_OF_A_LIMIT else max(decimals, own), _MOST_DECIMALS + 1):
        shown, beside = f"{value:z.{digits}f}", f"{limit:z.{digits}f}" if own > _MOST_OF_A_LIMIT else plain
        off = float(shown) - float(beside)
        if value == limit or (off * (value - limit) > 0.0 and float(f"{off:.{digits}f}") != 0.0):
            break
    return shown, f"{abs(off):.{digits}f}", beside


@dataclass(frozen=True)
class Bound:
    """A limit as it applies to one thing: a problem beyond `limit`, a caution from `caution` on.

    It judges values of any shape at once; one that is no number is beyond everything.

    caution_source: where the caution's own number comes from; None where it is a tenth short of the limit, or where
    `only_caution` holds and `limit` itself starts the caution. reached: whether the very limit is already beyond.
    """

    kind: Kind
    limit: float
    unit: str
    source: str
    caution: float | None = None
    caution_source: str | None = None
    only_caution: bool = False
    reached: bool = False

    @property
    def ample(self) -> float:
        """Where the caution ends: nothing is said of a value on the good side of it."""
        if self.only_caution:
            return self.limit
        if self.caution is not None:
            return self.caution
        return self.limit * CAUTION_BAND if self.kind == "lower" else self.limit / CAUTION_BAND

    def severity(self, values: Floats | float) -> Ints:
        """NONE, CAUTION or PROBLEM for every value, (...).

        >>> Bound("lower", 100.0, "deg", "the layout").severity(np.array([99.0, 105.0, 111.0])).tolist()
        [2, 1, 0]
        """
        caution = self._beyond(values, self.ample).astype(np.int8)
        problem = np.multiply(self._beyond(values, self.limit), PROBLEM, dtype=np.int8)
        return caution if self.only_caution else np.maximum(caution, problem)

    def verdict(self, value: float) -> _Verdict | None:
        """Severity of one value, the limit that it crossed, and its source; None where it is well inside."""
        severity = self.severity(value)
        if severity == NONE:
            return None
        if severity == PROBLEM or self.only_caution:
            return ("problem" if severity == PROBLEM else "caution", self.limit, self.source)
        return ("caution", self.limit if self.caution is None else self.caution, self.caution_source or self.source)

    def margin(self, values: Floats | float, limit: float | None = None) -> Floats:
        """Distance from the limit, or another number, on the good side, as a share of it; negative beyond it.

        >>> Bound("upper", 400.0, "mm", "the layout").margin(np.array([300.0, 500.0])).tolist()
        [0.25, -0.25]
        """
        limit = self.limit if limit is None else limit
        distance = np.subtract(values, limit) if self.kind == "lower" else np.subtract(limit, values)
        return np.asarray(distance / abs(limit) if limit else distance)

    def shortfall(self, values: Floats, ample: bool = False) -> Floats:
        """How far beyond the limit, as a share of it, 0 on the good side; ample: beyond where a caution begins."""
        return np.maximum(-self.margin(values, self.ample if ample else None), 0.0)

    def words(self, value: float, of: str, decimals: int = 1) -> str:
        """A value beside its limit, or beside what is recommended where it misses only that. of: unit, and of what.

        >>> Bound("lower", 120.0, "deg", "the layout", 150.0).words(128.0, "deg of wrap")
        '128.0 deg of wrap, 22.0 short of the recommended 150 (minimum 120)'
        """
        unit = f" {self.unit}" if self.unit in ("mm", "N", "Nm") else ""
        end = "minimum" if self.kind == "lower" else "maximum"
        severity, aim, _ = self.verdict(value) or (None, self.limit, "")
        soft = self.only_caution or aim != self.limit
        shown, off, limit = against(value, aim, decimals)
        told = f"{'the recommended' if soft else f'its {end} of'} {limit}{unit}"
        if aim != self.limit:
            told += f" ({end} {against(value, self.limit, decimals)[2]}{unit})"
        if value == aim:
            return f"{shown} {of}, right at {told}"
        side = "over" if value > aim else "short of" if self.kind == "lower" else "under"
        only = "only " if severity == "caution" and not soft else ""
        return f"{shown} {of}, {only}{off}{unit} {side} {told}"

    def _beyond(self, values: Floats | float, limit: float) -> Bools:
        # By what is well inside, so that a value that is no number is not.
        if self.kind == "lower":
            inside = values > limit if self.reached else values >= limit
        else:
            inside = values < limit if self.reached else values <= limit
        return np.asarray(np.logical_not(inside))


USUALLY_SLOW = (
    *("air_conditioning", "air_compressor", "steering_pump", "hydraulic_pump", "vacuum_pump", "water_pump", "fan"),
)
"""Roles that hardly ever turn twice as fast as the crank: common practice, no source."""
_OF_CRANK = "times the crank"
LIMITS: Mapping[tuple[str, str], Bound] = {
    ("min_wrap_deg", "crankshaft"): Bound("lower", 120.0, "deg", _SCREEN, 150.0),
    ("min_wrap_deg", "alternator"): Bound("lower", 120.0, "deg", _SCREEN),
    ("min_wrap_deg", "air_conditioning"): Bound("lower", 110.0, "deg", _SCREEN),
    ("min_wrap_deg", "air_compressor"): Bound("lower", 120.0, "deg", _SCREEN),
    ("min_wrap_deg", "supercharger"): Bound("lower", 150.0, "deg", _SCREEN),
    ("min_wrap_deg", "steering_pump"): Bound("lower", 100.0, "deg", _SCREEN),
    ("min_wrap_deg", "hydraulic_pump"): Bound("lower", 100.0, "deg", _SCREEN),
    ("min_wrap_deg", "vacuum_pump"): Bound("lower", 90.0, "deg", _SCREEN),
    ("min_wrap_deg", "water_pump"): Bound("lower", 90.0, "deg", _SCREEN),
    ("min_wrap_deg", "fan"): Bound("lower", 90.0, "deg", _SCREEN),
    ("min_wrap_deg", "other"): Bound("lower", 90.0, "deg", _SCREEN),
    ("min_wrap_deg", "idler"): Bound("lower", 20.0, "deg", _SCREEN),
    ("min_wrap_deg", "tensioner"): Bound("lower", 45.0, "deg", _SCREEN, 60.0),
    ("min_wrap_on_back_deg", "water_pump"): Bound("lower", 120.0, "deg", _SCREEN),
    ("min_wrap_on_back_deg", "fan"): Bound("lower", 120.0, "deg", _SCREEN),
    ("min_wrap_big_alternator_deg", "alternator"): Bound("lower", 150.0, "deg", _SCREEN),
    ("big_alternator_A", "alternator"): Bound("upper", 160.0, "A", _SCREEN),
    ("max_misalignment_deg", ""): Bound("upper", 0.5, "deg", PRACTICE, 0.33, _CHIRP),
    ("max_misalignment_smooth_deg", ""): Bound("upper", 1.0, "deg", PRACTICE, 0.66, PRACTICE),
    ("min_clearance_mm", ""): Bound("lower", 10.0, "mm", PRACTICE),
    ("min_strand_gap_mm", ""): Bound("lower", 15.0, "mm", PRACTICE),
    ("min_rim_gap_mm", ""): Bound("lower", 5.0, "mm", PRACTICE),
    ("max_free_strand_mm", ""): Bound("upper", 400.0, "mm", PRACTICE, only_caution=True),
    ("min_take_up_percent", ""): Bound("lower", MINIMUM_TAKE_UP_PERCENT, "% of best", _HALF_TAKE_UP, 40.0, _TAKE_UP),
    ("max_slip_use", ""): Bound("upper", 1.0, "of its grip", _SLIP, WANTED_USE, _FIFTH, reached=True),
    ("max_slip_use_design", ""): Bound("upper", 1.0, "of its grip", _SLIP, only_caution=True),
    ("min_likely_diameter_mm", ""): Bound("lower", 10.0, "mm", PRACTICE, only_caution=True),
    ("max_likely_diameter_mm", ""): Bound("upper", 600.0, "mm", PRACTICE, only_caution=True),
    ("min_likely_arm_mm", ""): Bound("lower", 15.0, "mm", PRACTICE, only_caution=True),
    ("max_likely_arm_mm", ""): Bound("upper", 600.0, "mm", PRACTICE, only_caution=True),
    ("max_likely_hole_mm", ""): Bound("upper", 60.0, "mm", PRACTICE, only_caution=True),
    ("max_likely_plane_mm", ""): Bound("upper", 300.0, "mm", PRACTICE, only_caution=True),
    ("max_likely_apart_mm", ""): Bound("upper", 3_000.0, "mm", PRACTICE, only_caution=True),
    ("min_likely_length_mm", ""): Bound("lower", 200.0, "mm", PRACTICE, only_caution=True),
    ("min_likely_overhang_mm", ""): Bound("lower", 8.0, "mm", PRACTICE, only_caution=True),
    ("min_likely_movable_mm", ""): Bound("lower", 2.0, "mm", PRACTICE, only_caution=True),
    ("max_likely_current_A", ""): Bound("upper", 500.0, "A", PRACTICE, only_caution=True),
    ("max_likely_voltage_V", ""): Bound("upper", 100.0, "V", PRACTICE, only_caution=True),
    ("min_likely_idle_rpm", ""): Bound("lower", 150.0, "rpm", PRACTICE, only_caution=True),
    ("max_likely_pressure_bar", ""): Bound("upper", 450.0, "bar", PRACTICE, only_caution=True),
    ("max_likely_ratio", "alternator"): Bound("upper", 4.0, _OF_CRANK, PRACTICE, only_caution=True),
    **{
        ("max_likely_ratio", role): Bound("upper", 2.0, _OF_CRANK, PRACTICE, only_caution=True) for role in USUALLY_SLOW
    },
    ("min_likely_displacement_cm3", ""): Bound("lower", 1.0, "cm3", PRACTICE, only_caution=True),
    ("max_likely_power_kW", ""): Bound("upper", 200.0, "kW", PRACTICE, only_caution=True),
    ("max_likely_power_kW", "water_pump"): Bound("upper", 5.0, "kW", PRACTICE, only_caution=True),
    ("max_likely_power_kW", "vacuum_pump"): Bound("upper", 2.0, "kW", PRACTICE, only_caution=True),
    ("max_likely_power_kW", "steering_pump"): Bound("upper", 12.0, "kW", PRACTICE, only_caution=True),
    ("max_likely_power_kW", "air_conditioning"): Bound("upper", 20.0, "kW", PRACTICE, only_caution=True),
    ("max_spring_outside_deg", ""): Bound("upper", 30.0, "deg", PRACTICE, only_caution=True),
    ("max_spring_outside_mm", ""): Bound("upper", 30.0, "mm", PRACTICE, only_caution=True),
    ("max_spring_off_line_percent", ""): Bound("upper", 5.0, "%", PRACTICE, only_caution=True),
    ("idle_band_percent", ""): Bound("lower", 10.0, "%", PRACTICE, only_caution=True),
    ("drive_resonance_percent", ""): Bound("lower", 10.0, "% clear", PRACTICE, only_caution=True),
    ("min_swung_tension", ""): Bound("lower", 0.05, "of its tension", PRACTICE, 0.15, PRACTICE),
}
"""By key, and by role or '' for every one: what holds where a layout says nothing else."""

THRESHOLDS: Mapping[str, str] = {
    "big_alternator_A": "over which an alternator needs min_wrap_big_alternator_deg",
    "idle_band_percent": "either way of a span's own frequency counts as meeting it",
}
"""Rows that say where another rule begins, and judge nothing themselves."""


def _kind_of(key: str) -> Kind:
    return "lower" if key.startswith("min_") else "upper"


PROFILE_LIMITS: Mapping[str, Kind] = {
    key: _kind_of(key)
    for key in ("min_diameter_mm", "min_back_diameter_mm", "max_belt_speed_m_per_s", "max_strand_N", "min_span_mm")
}
"""Limits whose default belongs to the belt profile."""

LIMIT_KEYS: Mapping[str, Kind] = {**{key: bound.kind for (key, _), bound in LIMITS.items()}, **PROFILE_LIMITS}


def bound_for(
    layout: Layout, key: str, names: tuple[str, ...] = (), role: str = "", default: Bound | None = None
) -> Bound | None:
    """The bound of a limit, None where nothing is demanded.

    names: pulleys, spans' ends or obstacles that the measured thing concerns, the most telling first.
    An override by name wins over one by the role of a named pulley, that over one for all, that over the table. One as
    strict as the table's keeps the table's caution where that begins earlier. default: the bound to use where the table
    has no row, such as one of the belt profile.
    """
    own, table = layout.limits.get(key), default or LIMITS.get((key, role)) or LIMITS.get((key, ""))
    if not own:
        return table
    roles = tuple(layout.pulleys[name].role for name in names if name in layout.pulleys)
    value = next((own[name] for name in (*names, *roles, role, "") if name in own), None)
    if value is None:
        return table
    unit = table.unit if table else key.rpartition("_")[2]
    bound = Bound(LIMIT_KEYS[key], value, unit, OWN, None, _TENTH, bool(table and table.only_caution))
    if table is None or table.caution is None:
        return bound
    as_strict, earlier = table.margin(value) >= 0.0, bound.margin(table.caution, bound.ample) > 0.0
    if not (as_strict and earlier):
        return bound
    return replace(bound, caution=table.caution, caution_source=table.caution_source or table.source)


def demanded(layout: Layout, key: str, names: tuple[str, ...] = (), role: str = "") -> Bound:
    """The bound of a limit that the table holds for everything, or for every role."""
    bound = bound_for(layout, key, names, role)
    if bound is None:
        raise KeyError(key)
    return bound


def makers_bound(pulley: Pulley, key: str) -> Bound | None:
    """What a pulley's maker allows, by its key in the layout file; None where it is not given."""
    value = getattr(pulley, key)
    return None if value is None else Bound(_kind_of(key), value, key.rpartition("_")[2], OWN)


# A finding: what a check has to say of a layout, with the number, the limit and where the limit comes from.

Severity = Literal["problem", "caution", "note"]
SEVERITIES: tuple[Severity, ...] = ("problem", "caution", "note")

NOT_MEASURED = -1.0
"""Margin of a finding that has no number: as bad as missing the whole limit."""
FIRST = -np.inf
"""Margin of a question whose answer may make others void: it comes first."""


class Way(StrEnum):
    """A change that an advice asks for, as far as what others find may forbid it or tell more of it: its words."""

    TIGHTER = "more tension"
    SOONER = "setting it again sooner"
    SLACKER = "less tension"
    MORE_RIBS = "more ribs"
    RIBS_FOR_TENSION = "more ribs and then more tension"
    WIDER = "a wider belt section"
    WIDER_FOR_TENSION = "a wider belt section and then more tension"
    LESS_LOAD = "less load"
    SMALLER_LOAD = "a smaller load"
    LARGER = "a larger pulley"
    SMALLER = "a smaller pulley"


@dataclass(frozen=True, eq=False)
class Finding:
    """One thing that the user should know.

    check: which question. subject: the pulley, span or part it is about. wrong: what is wrong, where, by how much;
    advised: what to do about it, the same words wherever the same would help, each `Way` apart; amount: how much of it
    does for this layout. value and limit in `unit`, None where the finding has no number. source: where the limit comes
    from. margin: distance from the limit as a share of it, negative beyond it. parts: pulley, span and obstacle names
    to mark in a picture. keys: of a value that is asked after, as the layout file nests them. condition: in which a
    pulley slips; low: with the tension low.
    """

    check: str
    severity: Severity
    subject: str
    wrong: str
    source: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    margin: float = NOT_MEASURED
    parts: tuple[str, ...] = ()
    advised: tuple[str, ...] = ()
    amount: str = ""
    keys: tuple[str, ...] = ()
    condition: Condition | None = None
    low: bool = False

    @property
    def advice(self) -> str:
        return "".join(self.advised) + self.amount

    def by(self, way: Way, instead_of: Way, *more: str) -> Finding:
        """The same with another way in its advice, and more behind it."""
        return replace(self, advised=(*(way if each == instead_of else each for each in self.advised), *more))

    @property
    def asks_first(self) -> bool:
        """Whether it asks after the whole file or the route, so that the answer may make all others void."""
        return self.margin == FIRST

    @property
    def misses_all(self) -> bool:
        """Whether its number misses the whole limit."""
        return self.value is not None and self.margin <= NOT_MEASURED

    @property
    def message(self) -> str:
        return f"{self.wrong}: {self.advice}" if self.advice else self.wrong

    @property
    def issue(self) -> tuple[str, str]:
        """What makes two findings the same one, whatever their numbers."""
        return self.check, self.subject

    @property
    def about(self) -> str:
        """What is wrong, begun with what it is about."""
        # Of a gap between two parts it begins with the first; any other may begin with a word like a name.
        first, between, _ = self.subject.partition(" / ")
        begun = between != "" and self.wrong.startswith(f"{first} ")
        return self.wrong if begun else f"{self.subject}: {self.wrong}"


def problems_of(findings: Iterable[Finding]) -> list[Finding]:
    """Those with which the drive does not work."""
    return [each for each in findings if each.severity == "problem"]


def new_in(found: Iterable[Finding], before: Iterable[Finding]) -> list[Finding]:
    """Those that were not there before, or milder."""
    was = {each.issue: SEVERITIES.index(each.severity) for each in before}
    return [each for each in found if SEVERITIES.index(each.severity) < was.get(each.issue, len(SEVERITIES))]


def in_order(findings: list[Finding]) -> tuple[Finding, ...]:
    """Findings by severity, then the worst margin, then check and subject."""
    return tuple(sorted(findings, key=lambda f: (SEVERITIES.index(f.severity), f.margin, f.check, f.subject)))


def _nothing(_: object) -> list[Finding]:
    return []


@dataclass(frozen=True, eq=False)
class Check:
    """A question that is asked of every drive: this record, beside the function that asks it, is all of it.

    name: what JSON calls it. meaning: what it finds, for the word list. of_route, of_operation: how it is asked of the
    belt as it lies, and of the drive running. limits: keys of the limits by which it judges, which a layout overrides.
    source: where its findings come from that no limit stands behind. called: its name for people, where that is not
    `name` in words apart. by_swing: whether it goes by the crank's swing, so has only notes where that is assumed.
    """

    name: str
    meaning: str
    of_route: Callable[[Route], list[Finding]] = _nothing
    of_operation: Callable[[Operation], list[Finding]] = _nothing
    limits: tuple[str, ...] = ()
    source: str = OWN
    called: str = ""
    by_swing: bool = False

    def judge(
        self,
        subject: str,
        value: float,
        bound: Bound,
        wrong: str,
        *advised: str,
        parts: tuple[str, ...] | None = None,
    ) -> list[Finding]:
        """The finding that a measured value deserves against its bound: none, a caution or a problem.

        parts: to mark in a picture; None for the subject alone.

        >>> WRAP = Check("wrap", "too little wrap")
        >>> [(f.severity, f.margin) for f in WRAP.judge("fan", 72.0, Bound("lower", 90.0, "deg", "the layout"), "")]
        [('problem', -0.2)]
        """
        verdict = bound.verdict(value)
        if verdict is None:
            return []
        severity, limit, source = verdict
        numbers = (value, limit, bound.unit, float(bound.margin(value, limit)))
        return [self.find(severity, subject, wrong, *advised, source=source, parts=parts, numbers=numbers)]

    def find(
        self,
        severity: Severity,
        subject: str,
        wrong: str,
        *advised: str,
        source: str = "",
        parts: tuple[str, ...] | None = None,
        numbers: tuple[float | None, float | None, str, float] = (None, None, "", NOT_MEASURED),
    ) -> Finding:
        """A finding that no bound decides; of the whole belt it marks nothing. numbers: value, limit, unit, margin."""
        marked = (subject,) if parts is None and subject != "belt" else parts or ()
        return Finding(self.name, severity, subject, wrong, source or self.source, *numbers, marked, advised)

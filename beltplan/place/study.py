"""The map of one pulley: what every place of a grid comes to, the best, and how far the nearest sound one is."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from itertools import chain
from typing import Any, TypeVar

import numpy as np

from beltplan.checks.comparison import MARGIN_DIGITS
from beltplan.checks.every_check import CALLED
from beltplan.checks.limits import PROBLEM as PROBLEM_FOUND
from beltplan.checks.limits import Finding
from beltplan.drive.belt import Belt, format_designation
from beltplan.drive.fit import NO_BELT, UNLISTED, belts_on_offer
from beltplan.drive.layout import Layout
from beltplan.drive.route import NoBeltPath, route_of, with_known_push
from beltplan.drive.travel import Travel, joined_travels, travel_round
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.place.judge import Moving, Verdicts, Words, found_everywhere, judged, moving_of
from beltplan.place.running import BY_RUNNING, Running, running_of, with_running
from beltplan.place.sharing import shared_out

_ROUND_MM = 150.0
"""How far round the layout's pulleys the default grid reaches."""
_USUAL_PLACES = 40_000
MOST_PLACES = 4_000_000


@dataclass(frozen=True)
class Grid:
    """Places from `low` on in steps of `step_mm`, up to `high` at most; row by row, x first."""

    low: tuple[float, float]
    high: tuple[float, float]
    step_mm: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        columns, rows = (
            math.floor((high - low) / self.step_mm + 1e-9) + 1 for low, high in zip(self.low, self.high, strict=True)
        )
        return rows, columns

    @property
    def count(self) -> int:
        """How many places there are."""
        rows, columns = self.shape
        return rows * columns

    @property
    def x_mm(self) -> Floats:
        """Columns."""
        return np.asarray(self.low[0] + self.step_mm * np.arange(self.shape[1]), dtype=np.float64)

    @property
    def y_mm(self) -> Floats:
        """Rows."""
        return np.asarray(self.low[1] + self.step_mm * np.arange(self.shape[0]), dtype=np.float64)

    def points(self) -> Floats:
        """Every place, (rows x columns, 2) mm."""
        x, y = np.meshgrid(self.x_mm, self.y_mm)
        return np.stack((x.ravel(), y.ravel()), axis=-1)


def bounds_of(layout: Layout) -> tuple[tuple[float, float], tuple[float, float]]:
    """Lower left and upper right corner of the box round every pulley's rim, and `_ROUND_MM` more; mm."""
    discs = [(p.at_mm, p.rim_radius_mm(layout.belt)) for p in layout.pulleys.values() if p.at_mm is not None]
    for pulley in layout.routed:
        if pulley.adjuster is not None:
            ends = pulley.adjuster.track.centre_at(np.array(pulley.adjuster.travel))
            discs += [((float(x), float(y)), pulley.rim_radius_mm(layout.belt)) for x, y in ends]
    lows = [min(at[i] - radius for at, radius in discs) - _ROUND_MM for i in (0, 1)]
    highs = [max(at[i] + radius for at, radius in discs) + _ROUND_MM for i in (0, 1)]
    return (lows[0], lows[1]), (highs[0], highs[1])


def grid_of(
    low: tuple[float, float], high: tuple[float, float], step_mm: float | None, through: tuple[float, float] | None
) -> Grid:
    """A grid over a box.

    step_mm: None for about `_USUAL_PLACES`. through: a place that shall be one of the grid, None to begin at `low`.
    """
    if step_mm is None:
        exact_mm = math.sqrt((high[0] - low[0]) * (high[1] - low[1]) / _USUAL_PLACES)
        step_mm = float(f"{exact_mm:.2g}")  # two digits can be said
    if through is not None:
        first = [at - step_mm * math.floor((at - least) / step_mm) for at, least in zip(through, low, strict=True)]
        low = (first[0], first[1])
    return Grid(low, high, step_mm)


# Where may a pulley sit? Every place of a batch judged as `check` would judge the layout moved there.

CHUNK = 16_384
"""Places a task: their arrays stay in the processor's cache, and the interpreter's own time hardly counts."""
_TILE_BITS = 12
"""So often all places are halved, to sort them by where they lie."""
NO_PATH, NO_BELT_FITS, _PROBLEM, CAUTION, SOUND = range(5)
STATES = ("no path", "no belt fits", "problem", "caution", "sound")
"""What a place comes to, worst first; the first three are places where the drive does not work."""

Progress = Callable[[float], None]
"""Told the share of the work that is done, 0 to 1."""
_STAGES = (0.0, 0.15, 0.3, 0.6, 1.0)
"""Share of the work that is done before and after each stage: path, travel, judging, slip."""
_RUNNING_CHUNK = 4096
_Answer = TypeVar("_Answer")


@dataclass(frozen=True, eq=False)
class JudgedPlaces:
    """Places and what they come to.

    names: the k pulleys moved. places: (N, k, 2) mm. state: (N) of `STATES`. belts: on offer, shorter first.
    ways: the judged places with a path, by the way round in which the listed order is run; pulleys: (ways) names in
    the direction of belt travel, for the columns of `wrap_rad`; margins: (ways) names of what a margin belongs to.
    everywhere: what the checks find that is the same at every place with a path.
    """

    names: tuple[str, ...]
    places: Floats
    state: Ints
    belts: tuple[Belt, ...]
    ways: tuple[Verdicts, ...]
    pulleys: tuple[tuple[str, ...], ...]
    margins: tuple[tuple[str, ...], ...]
    everywhere: tuple[Finding, ...]

    def spread(self, field: str, missing: float = np.nan) -> Floats:
        """One value at every place, (N); `missing` where there is no path."""
        values = np.full(len(self.places), missing)
        for way in self.ways:
            values[way.index] = getattr(way, field)
        return values

    def wrap_deg(self, pulley: str) -> Floats:
        """Wrap of one pulley at every place, (N); NaN where there is no path."""
        wrap = np.full(len(self.places), np.nan)
        for way, names in zip(self.ways, self.pulleys, strict=True):
            wrap[way.index] = np.degrees(way.wrap_rad[:, names.index(pulley)])
        return wrap

    @property
    def verdicts(self) -> list[str]:
        """What every place comes to, in words."""
        return [STATES[state] for state in self.state]

    @property
    def designations(self) -> list[str]:
        """The belt that is judged at every place, '' where none on the list is."""
        names = [*(format_designation(belt) for belt in self.belts), ""]
        return [names[max(number, -1)] for number in self.spread("belt", -1.0).astype(int)]

    @property
    def failing(self) -> Words:
        """What the problem of every place is by that the place decides, the farthest beyond its limit; '' without."""
        told: Words = np.full(len(self.places), "", dtype=object)
        for way in self.ways:
            told[way.index] = way.failing
        return told

    @property
    def standing(self) -> tuple[str, ...]:
        """What is a problem whatever the place."""
        return tuple(next((words.split(", ") for way in self.ways for words in way.standing if words), ()))

    @property
    def margin_names(self) -> list[str]:
        """What the worst margin of every place is of, '' where it has none."""
        told = [""] * len(self.places)
        for way, names in zip(self.ways, self.margins, strict=True):
            for number, worst in zip(way.index.tolist(), way.worst.tolist(), strict=True):
                told[number] = names[worst] if worst >= 0 else ""
        return told


def judged_places(
    layout: Layout, names: tuple[str, ...], places: Floats, progress: Progress | None = None, slip: bool = True
) -> JudgedPlaces:
    """Judge a layout with pulleys moved: names of k of its fixed pulleys on the belt; places (N, k, 2) mm.

    slip: whether places that are otherwise without a problem are judged for what needs tensions as well, where these
    can be computed: slip, tensions, hub loads, the spring, resonance. Each place then comes to what `check` finds
    there. As in `check`, the listed order is run the way round that gives a sound path at the design setting.
    """
    layout = with_known_push(layout)
    reverses = (False, True) if len(layout.route) > 2 else (False,)
    state = np.zeros(len(places), dtype=np.uint8)
    left = _neighbours_together(places)
    belts = belts_on_offer(layout)
    ways: list[Verdicts] = []
    every: list[Moving] = []
    everywhere: dict[tuple[str, str], Finding] = {}
    for reverse in reverses:
        own = moving_of(layout, names, belts, reverse)
        work = _Work(own, places, part_of(progress, float(reverse), len(reverses)))
        sound = work.sound(left)
        way = work.judged(left[sound])
        found = _everywhere(layout, names, places, way)
        everywhere |= {finding.issue: finding for finding in found}
        way = _with_findings(way, found)
        ways.append(work.with_running(way) if slip else way)
        every.append(own)
        left = left[~sound]
    for way in ways:
        state[way.index] = _states(way)
    part_of(progress, 0.0, 1)(1.0)
    pulleys, of = (tuple(p.name for p in own.circuit.pulleys) for own in every), (own.names for own in every)
    return JudgedPlaces(names, places, state, belts, tuple(ways), tuple(pulleys), tuple(of), (*everywhere.values(),))


def _everywhere(layout: Layout, names: tuple[str, ...], places: Floats, way: Verdicts) -> tuple[Finding, ...]:
    """What no place changes, asked of the first one that has a path by itself too."""
    for number in way.index:
        try:
            return found_everywhere(route_of(moved(layout, names, places[number].tolist())))
        except NoBeltPath:
            continue
    return ()


def _with_findings(way: Verdicts, found: Sequence[Finding]) -> Verdicts:
    causes = dict.fromkeys(f"{CALLED[each.check]} of {each.subject}" for each in found if each.severity == "problem")
    if not causes:
        return way
    own = [words and f"{words}, " for words in way.standing]
    standing = np.where(way.belt == NO_BELT, "", np.array(own, dtype=object) + ", ".join(causes))
    return replace(way, severity=np.full_like(way.severity, PROBLEM_FOUND), standing=standing)


def part_of(progress: Progress | None, done: float, parts: int) -> Progress:
    return (lambda share: None) if progress is None else lambda share: progress((done + share) / parts)


def _states(way: Verdicts) -> Ints:
    return np.where(way.belt == NO_BELT, NO_BELT_FITS, SOUND - way.severity)


@dataclass(frozen=True, eq=False)
class _Work:
    """Runs the stages over chunks of places."""

    own: Moving
    places: Floats
    progress: Progress

    def sound(self, index: Ints) -> Bools:
        """Which of these places have a sound path at the design setting."""
        own, moved = self.own, frozenset(self.own.moved)
        # What stays must leave a path at all: its rims, spans and arcs meet at no place.
        rest = own.at(np.full((len(own.moved), 2), np.nan))
        others = frozenset(range(len(own.circuit.pulleys))) - moved
        if not rest.rims_apart(rest.base, others) or rest.crossed(rest.base):
            return np.zeros(len(index), dtype=bool)

        def stage(part: Ints) -> Bools:
            return own.at(self.places[part]).sound_at(own.circuit.nominal, moved)

        return np.concatenate(self._over(0, stage, _chunks(index)))

    def judged(self, index: Ints) -> Verdicts:
        """Judge places with a sound path; those with the whole travel and those with a part of it by themselves."""
        own, places = self.own, self.places

        def travel_at(part: Ints) -> Travel:
            return travel_round(own.at(places[part]), own.circuit.nominal)

        travel = joined_travels(self._over(1, travel_at, _chunks(index)))
        whole, cut = np.flatnonzero(travel.whole), np.flatnonzero(~travel.whole)
        parts = [part for own_part in (whole, cut) if len(own_part) for part in _chunks(own_part)] or [whole]

        def stage(at: Ints) -> Verdicts:
            return judged(own, own.at(places[index[at]]), index[at], travel.where(at))

        return _joined(self._over(2, stage, parts))

    def with_running(self, way: Verdicts) -> Verdicts:
        """The same with what needs tensions, where it can be judged: where there is no problem yet."""
        works = _states(way) > _PROBLEM
        if self.own.circuit.adjuster is None:
            works &= way.belt >= 0  # without an adjuster it is the belt that sets the tension
        run = running_of(self.own)
        if run is None or not works.any():
            return way
        states: Running = run

        def stage(part: Ints) -> list[Floats]:
            found = with_running(states, self.places[way.index[part]], _rows(way, part))
            return [getattr(found, name) for name in BY_RUNNING]

        left = np.flatnonzero(works)
        # What neighbours come to is bounded most tightly.
        left = left[_neighbours_together(self.places[way.index[left]])]
        found = self._over(3, stage, _chunks(left, _RUNNING_CHUNK))
        new = {name: getattr(way, name).copy() for name in BY_RUNNING}
        for values, parts in zip(new.values(), zip(*found, strict=True), strict=True):
            values[left] = np.concatenate(parts)
        return replace(way, **new)

    def _over(self, number: int, stage: Callable[[Ints], _Answer], parts: Sequence[Ints]) -> list[_Answer]:
        before, after = _STAGES[number : number + 2]
        return shared_out(stage, parts, lambda share: self.progress(before + (after - before) * share))


def _neighbours_together(places: Floats) -> Ints:
    """Numbers of places in an order (Morton's) that keeps those of a chunk near each other: what is then far off all of
    them is not measured.
    """
    if len(places) == 0:
        return np.zeros(0, dtype=np.intp)
    at = np.ascontiguousarray(places.reshape(len(places), -1).T)
    bits, key = _TILE_BITS // len(at), np.zeros(len(places), dtype=np.int16)
    for axis, own in enumerate(at):
        cell = ((own - own.min()) / (np.ptp(own) + 1e-9) * 2**bits).astype(np.int16)
        for bit in range(bits):
            key |= (cell >> bit & 1) << (bit * len(at) + axis)
    return np.argsort(key, kind="stable")


def _chunks(index: Ints, size: int | None = None) -> list[Ints]:
    return np.array_split(index, max(1, -(-len(index) // (size or CHUNK))))


def _joined(parts: Sequence[Verdicts]) -> Verdicts:
    return Verdicts(*(np.concatenate([getattr(part, own.name) for part in parts]) for own in fields(Verdicts)))


def _rows(places: Verdicts, keep: Ints) -> Verdicts:
    return Verdicts(*(getattr(places, field.name)[keep] for field in fields(places)))


# The map of one pulley: what every place of a grid comes to, the best places, and how far the nearest sound one is.

RULE = (
    "places without a caution before places with one, then the largest worst margin: the smallest distance to a limit, "
    "as a share of that limit, over every wrap, every clearance and, where loads are given, every wet slip, steady "
    "or while the engine changes speed; what a belt lacks of its reserves counts too, as a share of its window, so a "
    "good belt comes before a marginal one; between equals, the same over those that the place changes"
)
"""How the best of the places without a problem is chosen, in words."""


@dataclass(frozen=True)
class Place:
    """One place of a map, with what it comes to.

    at_mm: of every pulley moved. verdict: of `STATES`. belt: designation, None where none on the list fits. margin:
    the worst, a share of its limit; margin_of: which; own_margin, own_margin_of: the same of those that the place
    changes. slip_wet: the highest grip utilisation when wet, steady or revving. Values that a place has not are None.
    """

    at_mm: tuple[tuple[float, float], ...]
    verdict: str
    belt: str | None = None
    position: float | None = None
    reserve_mm: float | None = None
    take_up_percent: float | None = None
    clearance_mm: float | None = None
    span_gap_mm: float | None = None
    rim_gap_mm: float | None = None
    slip_wet: float | None = None
    margin: float | None = None
    own_margin: float | None = None
    margin_of: str | None = None
    own_margin_of: str | None = None

    @property
    def works(self) -> bool:
        """Whether nothing is a problem."""
        return STATES.index(self.verdict) >= CAUTION


MARGIN_STEPS = (0.02, 0.05, 0.1, 0.2)
"""Where a map's colour changes (our own choice)."""


@dataclass(frozen=True, eq=False)
class Shaded:
    """Cells of a grid by the margin that the place decides: (rows, columns), how many of `MARGIN_STEPS` it reaches; -1
    where there is a problem.
    """

    grid: Grid
    classes: Ints

    @staticmethod
    def of(grid: Grid, good: Bools, margin: Floats) -> Shaded:
        return Shaded(grid, np.where(good, np.digitize(np.nan_to_num(margin, nan=0.0), MARGIN_STEPS), -1))

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top edge of the cells, mm."""
        x, y, half = self.grid.x_mm, self.grid.y_mm, 0.5 * self.grid.step_mm
        return float(x[0]) - half, float(y[0]) - half, float(x[-1]) + half, float(y[-1]) + half

    @property
    def reached(self) -> Shaded | None:
        """No more of it than holds all places without a problem; None where there is none."""
        rows, columns = np.nonzero(self.classes >= 0)
        if not len(rows):
            return None
        (r0, r1), (c0, c1) = ((int(each.min()), int(each.max())) for each in (rows, columns))
        (x, y), step = self.grid.low, self.grid.step_mm
        grid = Grid((x + c0 * step, y + r0 * step), (x + c1 * step, y + r1 * step), step)
        return Shaded(grid, self.classes[r0 : r1 + 1, c0 : c1 + 1])


@dataclass(frozen=True, eq=False)
class PlaceMap:
    """A map of one pulley. judged: the grid's places, row by row, and the present place after them."""

    layout: Layout
    pulley: str
    grid: Grid
    judged: JudgedPlaces

    @property
    def names(self) -> tuple[str, ...]:
        return self.judged.names

    @property
    def present(self) -> Place:
        """Where the pulley stands now."""
        return place_of(self.judged, self.grid.count)

    @property
    def counts(self) -> dict[str, int]:
        """How many places of the grid come to what."""
        found = np.bincount(self.judged.state[:-1], minlength=len(STATES))
        return {state: int(count) for state, count in zip(STATES, found, strict=True)}

    @cached_property
    def failing(self) -> dict[str, int]:
        """How many places of the grid have a problem by what, each counted under the worst that it decides; the most
        first.
        """
        told = (way.failing[way.index < self.grid.count].tolist() for way in self.judged.ways)
        return {cause: count for cause, count in Counter(chain.from_iterable(told)).most_common() if cause}

    @property
    def best_by_belt(self) -> tuple[Place, ...]:
        """The best place for each belt that some place without a problem is judged with, best first."""
        order = self.working()
        belt = self.judged.spread("belt", -1.0)[order]
        _, first = np.unique(belt, return_index=True)
        return tuple(place_of(self.judged, int(order[row])) for row in np.sort(first))

    def nearest(self, state: int) -> tuple[Place, float] | None:
        """The place of the grid nearest to the present one that comes at least to a state, and how far it is, mm."""
        if self.judged.state[-1] >= state:
            return self.present, 0.0
        keep = np.flatnonzero(self._on_grid() & (self.judged.state >= state))
        if not len(keep):
            return None
        step = self.judged.places[keep, 0] - self.judged.places[-1, 0]
        away = np.hypot(step[:, 0], step[:, 1])
        first = int(np.argmin(away))
        return place_of(self.judged, int(keep[first])), float(away[first])

    def field(self, name: str) -> Floats:
        """One value at every place of the grid, (rows, columns); NaN where there is no path."""
        return self.judged.spread(name)[:-1].reshape(self.grid.shape)

    @property
    def states(self) -> Ints:
        """What every place comes to, (rows, columns), numbers of `STATES`."""
        return self.judged.state[:-1].reshape(self.grid.shape)

    @property
    def shaded(self) -> Shaded:
        return Shaded.of(self.grid, self.states >= CAUTION, self.field("own_margin"))

    def working(self) -> Ints:
        """Numbers of the grid's places without a problem, best first by `RULE`."""
        return in_order_of(self.judged, self._on_grid() & (self.judged.state >= CAUTION))

    def _on_grid(self) -> Bools:
        keep = np.ones(len(self.judged.state), dtype=bool)
        keep[-1] = False
        return keep


def place_map(layout: Layout, pulley: str, grid: Grid, progress: Progress | None = None) -> PlaceMap:
    """Judge every place of a grid for one pulley, fixed and on the belt."""
    present = layout.pulleys[pulley].at_mm
    if present is None:
        raise ValueError(f"pulley {pulley} has no place of its own")
    places = np.concatenate((grid.points(), [present]))[:, None]
    return PlaceMap(layout, pulley, grid, judged_places(layout, (pulley,), places, progress))


def in_order_of(judged: JudgedPlaces, among: Bools) -> Ints:
    """Numbers of places, best first by `RULE`; of equals the first comes first."""
    keep = np.flatnonzero(among)
    margin, own = (np.round(judged.spread(name)[keep], MARGIN_DIGITS) for name in ("margin", "own_margin"))
    return np.asarray(keep[np.lexsort((-own, -margin, -judged.state[keep].astype(int)))])


def place_of(judged: JudgedPlaces, number: int) -> Place:
    """One place by its number."""
    at = tuple((float(x), float(y)) for x, y in judged.places[number])
    verdict = STATES[int(judged.state[number])]
    for way, names in zip(judged.ways, judged.margins, strict=True):
        for row in np.flatnonzero((way.index == number) & (way.belt != NO_BELT)):
            belt = None if way.belt[row] == UNLISTED else format_designation(judged.belts[int(way.belt[row])])
            worst, own = (names[number] if number >= 0 else None for number in (way.worst[row], way.own_worst[row]))
            told: dict[str, Any] = {name: _number(getattr(way, name)[row]) for name in _TOLD}
            return Place(at, verdict, belt, **told, margin_of=worst, own_margin_of=own)
    return Place(at, verdict)


_TOLD = (
    "position",
    "reserve_mm",
    "take_up_percent",
    "clearance_mm",
    "span_gap_mm",
    "rim_gap_mm",
    "margin",
    "own_margin",
    "slip_wet",
)
"""Values that are told of a place, by their names in `Place`."""


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def moved(layout: Layout, names: Sequence[str], at_mm: Sequence[tuple[float, float]]) -> Layout:
    """The layout with pulleys moved to places, mm."""
    places = zip(names, at_mm, strict=True)
    return replace(
        layout, pulleys={**layout.pulleys, **{name: replace(layout.pulleys[name], at_mm=at) for name, at in places}}
    )

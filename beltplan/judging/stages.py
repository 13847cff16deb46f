"""Every place of a batch judged as `check` would judge the layout moved there, in four stages."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from beltplan.checks.comparison import WORST_MARGIN
from beltplan.checks.every_check import CALLED
from beltplan.checks.limits import PROBLEM as PROBLEM_FOUND
from beltplan.checks.limits import Finding, problems_of
from beltplan.drive.belt import Belt, format_designation
from beltplan.drive.fit import NO_BELT, UNLISTED, belts_on_offer
from beltplan.drive.layout import Layout
from beltplan.drive.route import routes_of, with_known_push
from beltplan.drive.travel import Travel, joined_travels, travel_round
from beltplan.geometry.crossing import crosses
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.judging.judge import BY_ROW, Freed, Verdicts, Words, found_everywhere, freed_of, verdicts_of
from beltplan.judging.running import BY_RUNNING, Running, running_of, with_running
from beltplan.judging.sharing import shared_out
from beltplan.progress import Progress, part_of, unseen

CHUNK = 16_384
"""Places a task: their arrays stay in the processor's cache, and the interpreter's own time hardly counts."""
NO_PATH, NO_BELT_FITS, _PROBLEM, CAUTION, SOUND = range(5)
STATES = ("no path", "no belt fits", "problem", "caution", "sound")
"""What a place comes to, worst first; the first three are places where the drive does not work."""

_STAGES = (0.0, 0.15, 0.3, 0.6, 1.0)
"""Share of the work that is done before and after each stage: path, travel, judging, slip."""
_RUNNING_CHUNK = 4096
_WORTH_A_COPY = 6000
"""Fewer places are judged sooner than a copy of the process is made to share them with."""
_Answer = TypeVar("_Answer")


RULE = (
    "first those without a caution, then those with a belt on the list; then the largest worst margin, the largest "
    f"that a move changes, the most room, the shortest move. {WORST_MARGIN}"
)
"""How the best of the places without a problem is chosen, in words."""
SHARE_DIGITS, _ROOM_DIGITS = 3, 1
"""Decimals of shares and mm that are told: what a reader cannot see decides no rank."""


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

    @property
    def room_mm(self) -> float | None:
        """The smallest gap of any kind."""
        return min((gap for name in _GAPS if (gap := getattr(self, name)) is not None), default=None)


_GAPS = ("clearance_mm", "span_gap_mm", "rim_gap_mm")
_TOLD = ("position", "reserve_mm", "take_up_percent", *_GAPS, "margin", "own_margin", "slip_wet")
"""Values that are told of a place, by their names in `Place`."""


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


@dataclass(frozen=True, eq=False)
class JudgedPlaces:
    """Places and what they come to.

    names: the k pulleys moved. places: (N, k, 2) mm. state: (N) of `STATES`. belts: on offer, shorter first.
    ways: the judged places with a path, by the way round in which the listed order is run. everywhere: what the checks
    find that is the same at every place with a path.
    """

    names: tuple[str, ...]
    places: Floats
    state: Ints
    belts: tuple[Belt, ...]
    ways: tuple[tuple[Freed, Verdicts], ...]
    everywhere: tuple[Finding, ...]

    def again(self, places: Floats, progress: Progress = unseen) -> JudgedPlaces:
        """Judge other places of the same pulleys; what none of them changes is not laid anew."""
        freed = tuple(freed for freed, _ in self.ways)
        return judged_places(freed[0].layout, self.names, places, progress, freed=freed)

    def spread(self, field: str, missing: float = np.nan) -> Floats:
        """One value at every place, (N); `missing` where there is no path."""
        return self._spread(lambda _, way: getattr(way, field), missing)

    def wrap_deg(self, pulley: str) -> Floats:
        """Wrap of one pulley at every place, (N); NaN where there is no path."""
        return self._spread(lambda freed, way: np.degrees(way.wrap_rad[:, freed.pulleys.index(pulley)]), np.nan)

    def _spread(self, of: Callable[[Freed, Verdicts], Any], missing: float | str) -> NDArray[Any]:
        told = np.full(len(self.places), missing, dtype=object if isinstance(missing, str) else np.float64)
        for freed, way in self.ways:
            told[way.index] = of(freed, way)
        return told

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
        """What the problem of every place is by that the place decides, or without any a caution; '' without."""
        return self._spread(lambda _, way: way.failing, "")

    @property
    def standing(self) -> tuple[str, ...]:
        """What is a problem whatever the place."""
        return next((way.standing for _, way in self.ways if way.standing and (way.belt != NO_BELT).any()), ())

    @property
    def margin_names(self) -> list[str]:
        """What the worst margin of every place is of, '' where it has none."""
        return [*self._spread(lambda _, way: way.worst, "")]

    def place(self, number: int) -> Place:
        """One place by its number."""
        at = tuple((float(x), float(y)) for x, y in self.places[number])
        verdict = STATES[int(self.state[number])]
        for _, way in self.ways:
            for row in np.flatnonzero((way.index == number) & (way.belt != NO_BELT)):
                belt = None if way.belt[row] == UNLISTED else format_designation(self.belts[int(way.belt[row])])
                told: dict[str, Any] = {name: _number(getattr(way, name)[row]) for name in _TOLD}
                told |= {"margin_of": way.worst[row] or None, "own_margin_of": way.own_worst[row] or None}
                return Place(at, verdict, belt, **told)
        return Place(at, verdict)

    def picked(self, numbers: Ints) -> JudgedPlaces:
        """Only some of the places, each once, in that order."""
        order = np.full(len(self.places), -1)
        order[numbers] = np.arange(len(numbers))
        kept = ((freed, _rows(way, np.flatnonzero(order[way.index] >= 0))) for freed, way in self.ways)
        ways = tuple((freed, replace(way, index=order[way.index])) for freed, way in kept)
        return replace(self, places=self.places[numbers], state=self.state[numbers], ways=ways)

    def best_first(self, among: Bools) -> Ints:
        """Numbers of places, best first by `RULE`; of equals the first. among: of the first ones, or of all."""
        keep = np.flatnonzero(among)
        present = [self.ways[0][0].layout.pulleys[name].at_mm for name in self.names]
        move_mm = np.hypot(*(self.places[keep] - np.array(present, dtype=float)).T).sum(axis=0)
        margin, own = (np.round(self.spread(name)[keep], SHARE_DIGITS) for name in ("margin", "own_margin"))
        room_mm = np.round(np.minimum.reduce([self.spread(name)[keep] for name in _GAPS]), _ROOM_DIGITS)
        listed = self.spread("belt")[keep] >= 0.0
        return np.asarray(
            keep[np.lexsort((move_mm, -room_mm, -own, -margin, -listed.astype(int), -self.state[keep].astype(int)))]
        )


def judged_places(
    layout: Layout,
    names: tuple[str, ...],
    places: Floats,
    progress: Progress = unseen,
    slip: bool = True,
    freed: tuple[Freed, ...] = (),
) -> JudgedPlaces:
    """Judge a layout with pulleys moved: names of k of its fixed pulleys on the belt; places (N, k, 2) mm.

    slip: whether places that are otherwise without a problem are judged for what needs tensions as well, where these
    can be computed: slip, tensions, hub loads, the spring, resonance. Each place then comes to what `check` finds
    there. As in `check`, the listed order is run the way round that gives a sound path at the design setting. freed:
    the same pulleys of the same layout, one a way round, where they have been freed before.
    """
    layout = with_known_push(layout)
    reverses = (False, True) if len(layout.route) > 2 else (False,)
    state = np.zeros(len(places), dtype=np.uint8)
    left = np.arange(len(places))
    belts = freed[0].belts if freed else belts_on_offer(layout)
    ways: list[tuple[Freed, Verdicts]] = []
    everywhere: dict[tuple[str, str], Finding] = {}
    for reverse in reverses:
        if not len(left):
            break
        part = part_of(progress, reverse / len(reverses), (reverse + 1) / len(reverses))
        own = freed[reverse] if reverse < len(freed) else freed_of(layout, names, belts, reverse)
        work = _Work(own, places, part)
        sound = work.sound(left)
        way = work.judged(left[sound])
        if own.everywhere is None:
            own = replace(own, everywhere=_everywhere(layout, names, places, way))
        found = own.everywhere or ()
        everywhere |= {finding.issue: finding for finding in found}
        way = _with_findings(way, found)
        way = work.with_running(way) if slip else way
        ways.append((own, way))
        state[way.index] = _states(way)
        left = left[~sound]
    progress(1.0)
    return JudgedPlaces(names, places, state, belts, tuple(ways), (*everywhere.values(),))


def _everywhere(layout: Layout, names: tuple[str, ...], places: Floats, way: Verdicts) -> tuple[Finding, ...] | None:
    """What no place changes, asked of the first one that has a path by itself too; None where none has."""
    laid = (routes_of([moved(layout, names, places[number].tolist())])[0] for number in way.index)
    return next((found_everywhere(route) for route in laid if route), None)


def _with_findings(way: Verdicts, found: Sequence[Finding]) -> Verdicts:
    causes = dict.fromkeys(f"{CALLED[each.check]} of {each.subject}" for each in problems_of(found))
    if not causes:
        return way
    own = np.where(way.severity == PROBLEM_FOUND, way.failing, "")
    severity = np.full_like(way.severity, PROBLEM_FOUND)
    return replace(way, severity=severity, failing=own, standing=(*way.standing, *causes))


def _states(way: Verdicts) -> Ints:
    return np.where(way.belt == NO_BELT, NO_BELT_FITS, SOUND - way.severity)


@dataclass(frozen=True, eq=False)
class _Work:
    """Runs the stages over chunks of places."""

    freed: Freed
    places: Floats
    progress: Progress

    def sound(self, index: Ints) -> Bools:
        """Which of these places have a sound path at the design setting."""
        freed, moved = self.freed, frozenset(self.freed.indices)
        # What stays must leave a path at all: its rims, spans and arcs meet at no place.
        rest = freed.at(np.full((len(moved), 2), np.nan))
        others = frozenset(range(len(freed.circuit.pulleys))) - moved
        if not rest.rims_apart(rest.base, others) or crosses(rest.base):
            return np.zeros(len(index), dtype=bool)

        def stage(part: Ints) -> Bools:
            return freed.at(self.places[part]).sound_at(freed.circuit.nominal, moved)

        return np.concatenate(self._over(0, stage, _chunks(index)))

    def judged(self, index: Ints) -> Verdicts:
        """Judge places with a sound path; those with the whole travel and those with a part of it by themselves."""
        freed, places = self.freed, self.places

        def travel_at(part: Ints) -> Travel:
            return travel_round(freed.at(places[part]), freed.circuit.nominal)

        travel = joined_travels(self._over(1, travel_at, _chunks(index)))
        whole, cut = np.flatnonzero(travel.whole), np.flatnonzero(~travel.whole)
        parts = [part for each in (whole, cut) if len(each) for part in _chunks(each)] or [whole]

        def stage(at: Ints) -> Verdicts:
            return verdicts_of(freed, freed.at(places[index[at]]), index[at], travel.where(at))

        return _joined(self._over(2, stage, parts))

    def with_running(self, way: Verdicts) -> Verdicts:
        """The same with what needs tensions, where it can be judged: where there is no problem yet."""
        works = _states(way) > _PROBLEM
        if self.freed.circuit.adjuster is None:
            works &= way.belt >= 0  # without an adjuster it is the belt that sets the tension
        run = running_of(self.freed)
        if run is None or not works.any():
            return way
        states: Running = run

        def stage(part: Ints) -> list[Floats]:
            found = with_running(states, self.places[way.index[part]], _rows(way, part))
            return [getattr(found, name) for name in BY_RUNNING]

        left = np.flatnonzero(works)
        found = self._over(3, stage, _chunks(left, _RUNNING_CHUNK))
        new = {name: getattr(way, name).copy() for name in BY_RUNNING}
        for values, parts in zip(new.values(), zip(*found, strict=True), strict=True):
            values[left] = np.concatenate(parts)
        return replace(way, **new)

    def _over(self, number: int, stage: Callable[[Ints], _Answer], parts: Sequence[Ints]) -> list[_Answer]:
        if sum(map(len, parts)) < _WORTH_A_COPY:
            return [stage(part) for part in parts]
        return shared_out(stage, parts, part_of(self.progress, *_STAGES[number : number + 2]))


def _chunks(index: Ints, size: int | None = None) -> list[Ints]:
    return np.array_split(index, max(1, -(-len(index) // (size or CHUNK))))


def _joined(parts: Sequence[Verdicts]) -> Verdicts:
    standing = next((part.standing for part in parts if part.standing), ())
    every = {name: np.concatenate([getattr(part, name) for part in parts]) for name in BY_ROW}
    return Verdicts(**every, standing=standing)


def _rows(way: Verdicts, keep: Ints) -> Verdicts:
    return replace(way, **{name: getattr(way, name)[keep] for name in BY_ROW})


def moved(layout: Layout, names: Sequence[str], at_mm: Sequence[tuple[float, float]]) -> Layout:
    """The layout with pulleys moved to places, mm."""
    for name, at in zip(names, at_mm, strict=True):
        layout = layout.with_pulley(layout.pulleys[name].planned_at(at))
    return layout

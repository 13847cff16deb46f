"""Where may a pulley sit? Every place of a batch judged as `check` would judge the layout moved there."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields
from typing import TypeVar

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.circuit import circuit_of
from beltplan.belts.layout import Layout
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.studies.place_belts import NO_BELT, belts_on_offer
from beltplan.studies.place_ground import ground_of
from beltplan.studies.place_judge import Judged, Questions, judged, questions_of, with_slip
from beltplan.studies.place_mover import Mover, mover_of
from beltplan.studies.place_slip import drive_of
from beltplan.studies.place_travel import Scan, ended, scanned

CHUNK = 32_768
"""Places a task: their arrays stay in the processor's cache, and the interpreter's own time hardly counts."""
WORKERS = 2
NO_PATH, NO_BELT_FITS, PROBLEM, CAUTION, SOUND = range(5)
STATES = ("no path", "no belt fits", "problem", "caution", "sound")
"""What a place comes to, worst first; the first three are places where the drive does not work."""

Progress = Callable[[float], None]
"""Told the share of the work that is done, 0 to 1."""
STAGES = (0.0, 0.15, 0.3, 0.6, 1.0)
"""Share of the work that is done before and after each stage: path, travel, judging, slip."""
SLIP_CHUNK = 256
Answer = TypeVar("Answer")


@dataclass(frozen=True, eq=False)
class JudgedPlaces:
    """Places and what they come to.

    names: the k pulleys moved. places: (N, k, 2) mm. state: (N) of `STATES`. belts: on offer, shorter first.
    ways: the judged places with a path, by the way round in which the listed order is run; pulleys: (ways) names in
    the direction of belt travel, for the columns of `wrap_rad`; margins: (ways) names of what a margin belongs to.
    """

    names: tuple[str, ...]
    places: Floats
    state: Ints
    belts: tuple[Belt, ...]
    ways: tuple[Judged, ...]
    pulleys: tuple[tuple[str, ...], ...]
    margins: tuple[tuple[str, ...], ...]

    def spread(self, field: str, missing: float = np.nan) -> Floats:
        """One value at every place, (N); `missing` where there is no path."""
        values = np.full(len(self.places), missing)
        for way in self.ways:
            values[way.index] = getattr(way, field)
        return values


def judged_places(
    layout: Layout, names: tuple[str, ...], places: Floats, progress: Progress | None = None, slip: bool = True
) -> JudgedPlaces:
    """Judge a layout with pulleys moved: names of k of its fixed pulleys on the belt; places (N, k, 2) mm.

    slip: whether places that are otherwise without a problem are judged for slip as well, where loads are given.

    A place is judged with the adjuster where the chosen belt puts it; clearances there and at both ends of its usable
    travel, where `check` looks at more settings. As in `check`, the listed order is run the way round that gives a
    sound path at the design setting.
    """
    reverses = (False, True) if len(layout.route) > 2 else (False,)
    state = np.zeros(len(places), dtype=np.uint8)
    left = np.arange(len(places))
    belts = belts_on_offer(layout)
    ways: list[Judged] = []
    every: list[Questions] = []
    with ThreadPoolExecutor(WORKERS) as pool:
        for reverse in reverses:
            mover = mover_of(layout, circuit_of(layout, reverse), names)
            questions = questions_of(ground_of(mover), belts)
            work = _Work(pool, questions, places, _part_of(progress, float(reverse), len(reverses)))
            sound = work.sound(left)
            way = work.judged(left[sound])
            ways.append(work.with_slip(way) if slip else way)
            every.append(questions)
            left = left[~sound]
    for way in ways:
        state[way.index] = _states(way)
    _part_of(progress, 0.0, 1)(1.0)
    pulleys = tuple(tuple(p.name for p in q.mover.circuit.pulleys) for q in every)
    return JudgedPlaces(names, places, state, belts, tuple(ways), pulleys, tuple(q.names for q in every))


def _part_of(progress: Progress | None, done: float, parts: int) -> Progress:
    return (lambda share: None) if progress is None else lambda share: progress((done + share) / parts)


def _states(way: Judged) -> Ints:
    kind = np.where(way.caution, CAUTION, SOUND)
    return np.where(way.belt == NO_BELT, NO_BELT_FITS, np.where(way.problem, PROBLEM, kind))


@dataclass(frozen=True, eq=False)
class _Work:
    """Runs the stages over chunks of places, several at a time: numpy lets go of the interpreter while it computes."""

    pool: ThreadPoolExecutor
    questions: Questions
    places: Floats
    progress: Progress

    @property
    def mover(self) -> Mover:
        return self.questions.mover

    def sound(self, index: Ints) -> Bools:
        """Which of these places have a sound path at the design setting."""
        if not self.mover.rest_is_sound():
            return np.zeros(len(index), dtype=bool)
        return np.concatenate(self._over(0, lambda own: self.mover.sound_at_design(self.places[own]), _chunks(index)))

    def judged(self, index: Ints) -> Judged:
        """Judge places with a sound path; those with the whole travel and those with a part of it by themselves."""
        scan = _stuck(self._over(1, lambda own: scanned(self.mover, self.places[own]), _chunks(index, CHUNK // 4)))
        whole, cut = np.flatnonzero(scan.whole), np.flatnonzero(~scan.whole)
        parts = [own for part in (whole, cut) if len(part) for own in _chunks(part)] or [whole]
        return _in_order(_stuck(self._over(2, lambda at: self._judged(index[at], scan.where(at)), parts)))

    def with_slip(self, way: Judged) -> Judged:
        """The same with slip judged, where it can be: where there is no problem yet."""
        works = ~way.problem & (way.belt != NO_BELT)
        if self.mover.circuit.adjuster is None:
            works &= way.belt >= 0  # without an adjuster it is the belt that sets the tension
        drive = drive_of(self.mover)
        if drive is None or not works.any():
            return way

        def stage(own: Ints) -> Judged:
            return with_slip(self.questions, drive, self.places[way.index[own]], _rows(way, own))

        done = self._over(3, stage, _chunks(np.flatnonzero(works), SLIP_CHUNK))
        return _in_order(_stuck([*done, _rows(way, np.flatnonzero(~works))]))

    def _judged(self, index: Ints, scan: Scan) -> Judged:
        places = self.places[index]
        return judged(self.questions, places, index, ended(self.mover, places, scan))

    def _over(self, number: int, stage: Callable[[Ints], Answer], parts: Sequence[Ints]) -> list[Answer]:
        before, after = STAGES[number : number + 2]
        answers: list[Answer] = []
        for answer in self.pool.map(stage, parts):
            answers.append(answer)
            self.progress(before + (after - before) * len(answers) / len(parts))
        return answers


def _chunks(index: Ints, size: int | None = None) -> list[Ints]:
    return np.array_split(index, max(1, -(-len(index) // (size or CHUNK))))


Batch = TypeVar("Batch", Judged, Scan)


def _stuck(parts: Sequence[Batch]) -> Batch:
    """Results of chunks as one."""
    first = parts[0]
    columns: Iterable[str] = (field.name for field in fields(first))
    return type(first)(*(np.concatenate([getattr(part, name) for part in parts]) for name in columns))


def _in_order(places: Judged) -> Judged:
    return _rows(places, np.argsort(places.index))


def _rows(places: Judged, keep: Ints) -> Judged:
    return Judged(*(getattr(places, field.name)[keep] for field in fields(places)))

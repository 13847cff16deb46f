"""Where to put it: the best place that stays good when it is met a little off, or to stay where it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.comparison import ranks_of
from beltplan.checks.placing import may_be_off_mm
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.layout import Layout, Units
from beltplan.drive.way_round import NoBeltPath
from beltplan.geometry.vectors import TURN, from_angle
from beltplan.judging.room import Stays, stays_at
from beltplan.judging.stages import CAUTION, SOUND, STATES, Place, moved
from beltplan.place.closer import closest, wanted_of
from beltplan.place.study import PlaceMap
from beltplan.progress import Progress, unseen
from beltplan.report.screen import length_text

_TRIED = 24
"""Places checked in full at most, best first, until one ranks no lower than the present one."""


_REACH_MM = 15.0
"""So far round a place is looked at least (our own choice)."""
_WORTH_A_MOVE = 0.01
"""Of margin, the least gain that a bracket is moved for (our own choice)."""
_RINGS, _WAYS = 7, 49
"""Where margins are looked at round a place (our own choice)."""


@dataclass(frozen=True, eq=False)
class Proof:
    """A place with all that `check` finds there.

    problem, caution: how far it stays without one; None where it has one, and where that is not asked. one_belt: how
    far it stays so with the belt that is best at its place, where elsewhere it may be another.
    """

    place: Place
    plan: Plan
    problem: Stays | None = None
    caution: Stays | None = None
    one_belt: Stays | None = None

    @property
    def stays(self) -> Stays | None:
        return self.problem if self.caution is None else self.caution

    @property
    def surely_mm(self) -> float:
        return 0.0 if self.stays is None else self.stays.at_least_mm


def proof_of(layout: Layout, names: Sequence[str], place: Place) -> Proof | None:
    """Check a place; None where there is no belt path."""
    try:
        return Proof(place, plan_of(moved(layout, names, place.at_mm)))
    except NoBeltPath:
        return None


@dataclass(frozen=True, eq=False)
class Advice:
    """What a search comes to. needed_mm: so far off its place the pulley may sit, two standard deviations.

    best: where to put it, None where every place has a problem; the present place where nothing is gained by a move.
    now: the present place, None without a belt path. stay: why not to move, '' where a move is advised.
    """

    needed_mm: float
    best: Proof | None
    now: Proof | None
    stay: str = ""

    @property
    def move(self) -> Proof | None:
        """Where a move is advised to."""
        return None if self.stay else self.best

    @property
    def robust(self) -> bool:
        """Whether the best place stays as good as it is, as far as it may be off."""
        return self.best is not None and self.best.surely_mm >= self.needed_mm


def advice_of(found: PlaceMap, progress: Progress = unseen) -> Advice:
    """The place with the largest margin, by the rule of the map, of those that stay good as far as they may be off.

    Free of cautions where there is such a place, else of problems; where none stays so, the one that stays good
    farthest. None ranks lower than the present place by the rule of `compare`, and a gain that the error of placing
    may take away is none.
    """
    needed = may_be_off_mm(found.layout, found.pulley)
    close, wanted = closest(found, needed, progress), wanted_of(found, needed).numbers[:_TRIED]
    now, best, stay = proof_of(found.layout, found.names, found.present), None, ""
    now = now and staying(found.layout, found.names, now, needed)
    for number, place in enumerate((*close, *map(found.judged.place, wanted.tolist()))):
        if stay and number >= len(close):
            break
        own = proof_of(found.layout, found.names, place)
        if own is not None and not own.plan.count("problem") and (now is None or not _is_lower(own, now)):
            own = staying(found.layout, found.names, own, needed)
            why = "" if now is None else _why_stay(found, own, now, needed)
            best, stay = (own, why) if best is None or not why else (best, stay)
            if not why:
                break
    if best is None and now is not None and now.place.works and len(found.working()):
        stay = "no other place of the map is better and stays good when it sits a little off"
    return Advice(needed, now if stay else best and _with_one_belt(found, best), now, stay)


def staying(layout: Layout, names: Sequence[str], proof: Proof, needed_mm: float) -> Proof:
    """The same with how far each of its pulleys stays so, the others at their places: the least of them."""
    if not proof.place.works:
        return proof
    at_mm, reach_mm, each = proof.place.at_mm, max(_REACH_MM, needed_mm), []
    for i, name in enumerate(names):
        others = moved(layout, (*names[:i], *names[i + 1 :]), (*at_mm[:i], *at_mm[i + 1 :]))
        each.append(stays_at(others, name, at_mm[i], reach_mm))
    problem, caution = (None if None in of_all else min(filter(None, of_all)) for of_all in zip(*each, strict=True))
    return replace(proof, problem=problem, caution=caution)


def _with_one_belt(found: PlaceMap, best: Proof) -> Proof:
    judged, layout = best.plan.route.judged, found.layout
    if judged is None or best.place.belt is None or layout.belt.length_mm is not None or not best.surely_mm:
        return best
    named, state = replace(layout, belt=judged.belt), CAUTION if best.caution is None else SOUND
    (one_belt,) = stays_at(named, found.pulley, best.place.at_mm[0], best.surely_mm, (state,))
    return replace(best, one_belt=one_belt)


def _is_lower(best: Proof, now: Proof) -> bool:
    first, second = ranks_of([now.plan.rank_key, best.plan.rank_key])
    return second > first


def _why_stay(found: PlaceMap, best: Proof, now: Proof, needed_mm: float) -> str:
    """Why the present place is as good as the best one of the map; '' where it is not."""
    before, after = (STATES.index(each.place.verdict) for each in (now, best))
    worse = before < after or best.plan.count("caution") < now.plan.count("caution")
    then, today = best.place.own_margin, now.place.own_margin
    if worse or now.surely_mm < min(needed_mm, best.surely_mm) or then is None or today is None:
        return ""
    gain, worth = then - today, then - _least_margin(found, best.place.at_mm[0], needed_mm)
    if gain > max(worth, _WORTH_A_MOVE):
        return ""
    if gain < 0.0005:
        return "no place of the map leaves more margin"
    at = at_words(best.place.at_mm[0], found.layout.units)
    return (
        f"the best of the map ({at}) gains only {100.0 * gain:.1f} % of margin, and {needed_mm:.1f} mm off it may "
        f"lose {100.0 * worth:.1f} %: not worth a move"
    )


def at_words(at_mm: tuple[float, float], units: Units) -> str:
    """A place as it is told, rounded once."""
    x, y = (length_text(along, 1, units) for along in at_mm)
    return f"x {x}, y {y} {units}"


def _least_margin(found: PlaceMap, at_mm: tuple[float, float], off_mm: float) -> float:
    """The smallest margin that the place decides at a place and so far round it."""
    rings = off_mm * np.linspace(0.0, 1.0, _RINGS)[:, None, None] * from_angle(np.linspace(0.0, TURN, _WAYS))
    judged = found.judged.again((np.array(at_mm) + rings).reshape(-1, 1, 2))
    return float(np.nanmin(judged.spread("own_margin")))

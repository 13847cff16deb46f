"""Is a reading misread? Which one, by how much, and in which way?"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from beltplan.geometry.vectors import Floats, norm
from beltplan.measure.causes import (
    Cause,
    alike_pairs,
    exchanged,
    names_exchanged,
    one_otherwise,
    paired,
    seen_otherwise,
    whole_set,
)
from beltplan.measure.misreadings import OTHER_END, Misreading, mispicked, misreadings_in
from beltplan.measure.network import Network, surveyed
from beltplan.measure.readings import Diameter, Measured, Pick, Reading
from beltplan.measure.solutions import (
    Solution,
    contradicted,
    fall_of,
    fits,
    is_as_seen,
    points_above,
    rank_of,
    rims_clash,
    single_limit,
    solved,
    unlike,
)
from beltplan.measure.starts import laid_layouts
from beltplan.progress import Progress, part_of, unseen

_MOST_GROSS_ERRORS = 3
_TRIED, _MOST_TRIED = 8, 24
"""Sets of readings, the most suspicious first, that are really left out: fewest and most."""
_ROUGH = 0.1
"""Share of a fall of the sum by which its first order may be wrong."""
_HARDLY, _MUCH = 1e-6, 0.3
"""A rim is left out that takes more than this share of the sum, to first order; none that nothing checks."""
_BEAM, _COMPARED = 40, 2
"""Sets that are enlarged by one more reading, and solutions by which sets are compared."""
_GROWN, _MORE = 2, 4
"""Smaller sets that are really left out and enlarged by one more reading, and how many are tried for each."""
_STARTS, _LAID, _TURNED = 5, 6, 4
"""Solutions, bare layouts and such with one angle read otherwise, from which the rest is settled again: a misreading
may make a mirror solution look better."""
_CAPPED = 30.0
"""Most that one row counts against a layout with an angle read otherwise: others may be misread as well."""
NO_WORSE = 10.83
"""A reading whose absence leaves a sum larger by more than this is not to blame: chi-squared, 1 in 1000, 1 degree."""
_AS_MUCH = 0.5
"""Beside a suspect stands what is off by so little less, in what chance makes of it: our own choice, odds of 1 to 4."""
_NEAR_SDS = 5.0
"""A pick stands where another is missed within so many of its standard deviations: those of the places stand beside."""
SAME_MM = 1.0
"""Mirror solutions nearer than this are the same to whoever measures."""
_ONE_STEP = 2
"""How open a reading is that one whole step explains, as a tape begun at its 100 mm."""
_RARELY = 2.5
"""By how much a misread diameter is less open: a step of a tape comes first, what no slip explains does not."""


class _Trial(NamedTuple):
    """Readings that are left out, the best that is left, and all that fits as well: its mirror solutions too."""

    readings: tuple[Reading, ...]
    solution: Solution
    ends: tuple[Solution, ...]


@dataclass(frozen=True, eq=False)
class GrossError:
    """A reading that does not fit the others. error: how much it reads too much, with its standard deviation, its unit;
    of a place on an image the distance.

    places: where the points lie without it, (points, 2) mm. enlarged: how many times larger deviations are
    without it, inf where more than it is left out. causes: what explains it, the likeliest first. elsewhere: the same
    where the points may lie as well without it, as on the other side of a line, and it is off by less.
    """

    reading: Reading
    error: float
    sd: float
    places: Floats
    enlarged: float
    causes: tuple[Misreading, ...] = ()
    elsewhere: tuple[GrossError, ...] = ()

    @property
    def misreading(self) -> Misreading | None:
        """The likeliest that tells what the reading should be, and not that it was taken elsewhere."""
        return next((each for each in self.causes if each.kind != OTHER_END), None)


@dataclass(frozen=True, eq=False)
class GrossErrorsFound:
    """The solution that holds after gross errors are left out.

    gross_errors: left out, since nothing else explains the residuals. suspects: readings of which one is wrong (or
    two, where no single one explains it), none of them left out, since the others cannot tell which; also such as are
    further off than chance often makes them. fits: whether what is left agrees with its standard deviations. cause: one
    slip behind all of it.
    """

    solution: Solution
    gross_errors: tuple[GrossError, ...] = ()
    suspects: tuple[GrossError, ...] = ()
    fits: bool = True
    cause: Cause | None = None

    @property
    def doubted(self) -> tuple[Reading, ...]:
        """Readings that were left out, then suspects, each once."""
        return tuple(dict.fromkeys(each.reading for each in (*self.gross_errors, *self.suspects)))

    @property
    def sound(self) -> bool:
        """Whether all agree, and no reading is in doubt."""
        return self.fits and not (self.doubted or self.cause)

    @property
    def undecided(self) -> bool:
        """Whether readings are in doubt and none is left out: all places are less sure then."""
        return not self.fits or (len(self.suspects) > 0 and not self.gross_errors)


def blamed_alone(measured: Measured, solutions: tuple[Solution, ...]) -> list[Reading]:
    """Readings without any one of which all the rest fits, near the solutions alone, which takes little time."""
    seen = tuple(each for each in solutions if is_as_seen(measured, each.places)) or solutions
    starts = [each.at.unknowns for each in seen[:_COMPARED]]
    trials = _without(measured, seen, starts, _suspicious(seen, starts, 1), unseen)
    able = _able(measured, [trial for trial in trials if is_as_seen(measured, trial.solution.places)])
    return [reading for trial in able for reading in trial.readings]


def names_exchanged_in(measured: Measured, network: Network) -> GrossErrorsFound | None:
    """Without two places of a picture whose names are exchanged; None where no such two explain all."""
    entry = exchanged(measured, network, paired(names_exchanged(measured)))
    return None if entry is None else _behind_all(measured, *entry)


def gross_errors_in(
    measured: Measured, solutions: tuple[Solution, ...], progress: Progress = unseen
) -> GrossErrorsFound:
    """Look for one misreading that explains all, then for two, then for three; name what no other explains as well.

    solutions: the best first. Those that lie as they are seen are judged, where there are such; if no misreading saves
    them and another fits, it is taken: then it is the sides that are wrong. Where only points that lie otherwise than
    they are seen explain it, no reading is named: those that would have to be left out are suspects.
    """
    seen = tuple(each for each in solutions if is_as_seen(measured, each.places)) or solutions
    if fits(seen[0]) and is_as_seen(measured, seen[0].places):
        return GrossErrorsFound(seen[0], (), _rare(measured, seen[0]))
    elsewhere, starts = seen_otherwise(measured, solutions), _starts(measured, seen)
    trials, first, unseen_able = list[_Trial](), list[_Trial](), list[_Trial]()
    for many in range(1, _MOST_GROSS_ERRORS + 1):
        own = part_of(progress, (many - 1) / _MOST_GROSS_ERRORS, many / _MOST_GROSS_ERRORS)
        smaller = _grown_from(measured, trials)
        starts += [trial.solution.at.unknowns for trial in smaller]
        sets = _suspicious(seen, starts, many) + _grown_sets(smaller) + (_rims(seen[0]) if many == 1 else [])
        trials = _without(measured, seen, starts, list(dict.fromkeys(sets)), own)
        able = _able(measured, [trial for trial in trials if is_as_seen(measured, trial.solution.places)])
        if (found := _explained(measured, seen[0], elsewhere, many, trials, able)) is not None:
            return found
        unseen_able = unseen_able or _able(measured, trials)
        first = first or trials
    doubted = _doubted(measured, (unseen_able or first)[:_MOST_GROSS_ERRORS])
    return GrossErrorsFound(seen[0], (), _explained_first(doubted), False)


def _rare(measured: Measured, best: Solution) -> tuple[GrossError, ...]:
    """Readings off by more than chance often makes of them, where none is by more than it may, and what is off nearly
    as much; the worst first.
    """
    network, redundancy = best.network, best.precision.redundancy
    shares = {each: best.share(each) or 0.0 for each in network.readings}
    most, rare = max(shares.values(), default=0.0), best.rare
    every = [each for each in shares if shares[each] > min(rare, most - _AS_MUCH)] if most > rare else []
    # Of as many standard deviations the one that the others know least of.
    far = sorted(every, key=lambda each: (-round(shares[each], 1), min(redundancy[list(network.rows[each])])))
    without = solved(network, [best.at.unknowns] * len(far), [network.rows[each] for each in far]) if far else []
    told = _told(measured, [_Trial((each,), end, ()) for each, end in zip(far, without, strict=True)])
    return _explained_first(told)


def _explained(
    measured: Measured,
    raw: Solution,
    elsewhere: tuple[Cause | None, Solution] | None,
    many: int,
    trials: list[_Trial],
    able: list[_Trial],
) -> GrossErrorsFound | None:
    """What explains all with so many readings left out, the plainest first; None where nothing does.

    raw: the best solution with nothing left out. elsewhere: one that lies otherwise than it is seen, and why.
    """
    cause = elsewhere[0] if elsewhere else None
    one_side = cause is not None and bool(cause.sides)
    is_first = many == 1 and not able and not one_side
    own = (*(trial.readings for trial in able), *_picked_for_it(able))
    pairs = alike_pairs(measured) if is_first else paired(own)
    if (entry := exchanged(measured, raw.network, pairs)) is not None:
        return _behind_all(measured, *entry)
    if elsewhere is not None and cause is not None and all(map(_open, _told(measured, able[:1]))):
        return GrossErrorsFound(elsewhere[1], cause=cause)
    if able:
        return _left_out(measured, raw, trials, able)
    if elsewhere is not None:
        return GrossErrorsFound(elsewhere[1])
    if many == 1 and (shared := whole_set(measured, raw.network)) is not None:
        return _behind_all(measured, *shared)
    return None


def _picked_for_it(able: list[_Trial]) -> list[tuple[Reading, ...]]:
    """A pick that is wrong alone, and the one that stands on its picture where all the others have its point."""
    found = list[tuple[Reading, ...]]()
    for (one, *more), solution, _ in able:
        if isinstance(one, Pick) and not (more or one.is_of_rim):
            residuals, _ = solution.network.equations(solution.at.unknowns)
            seen = np.array(one.at) + one.sd * residuals[list(solution.network.rows[one])]
            near = (each for each in one.on.picks if math.dist(each.at, seen) <= _NEAR_SDS * one.sd)
            found += [(one, other) for other in near if not (other.is_of_rim or other is one)]
    return found


def _left_out(measured: Measured, raw: Solution, trials: list[_Trial], able: list[_Trial]) -> GrossErrorsFound:
    if len(able) == 1 and able[0].solution.degrees < 1:
        # Nothing is left that could disagree: that the rest fits is no evidence against what was left out.
        return _one_of(measured, trials[:_MOST_GROSS_ERRORS], raw)
    # Several places of one image at once: rather the image itself is wrong.
    images = Counter(each.image for each in able[0].readings if each.image is not None)
    if len(able) == 1 and max(images.values(), default=0) <= 1:
        return _named(measured, able[0])
    return _one_of(measured, able, raw)


def _rims(raw: Solution) -> list[tuple[Reading, ...]]:
    """The rims by calipers, each by itself, that would take away much: they are so sure that hardly a fall is seen."""
    found = list[tuple[Reading, ...]]()
    for each in raw.network.readings:
        (row, *_), redundancy = raw.network.rows[each], raw.precision.redundancy
        if isinstance(each, Diameter) and raw.at.residuals[row] ** 2 > _MUCH * raw.cost * redundancy[row] > _HARDLY:
            found.append((each,))
    return found


def _able(measured: Measured, trials: list[_Trial]) -> list[_Trial]:
    near = [trial for trial in trials if trial.solution.cost <= trials[0].solution.cost + NO_WORSE]
    able = [_plainest(measured, trial) for trial in near if fits(trial.solution)]
    # Of a rim by calipers, read so surely, only a plain slip is in doubt beside what hangs on it.
    rims = [each for each in able if isinstance(each.readings[0], Diameter)]
    unlikely = [each for each in rims if any(map(_open, _told(measured, [each])))]
    return [each for each in able if each not in unlikely] or able


def _plainest(measured: Measured, trial: _Trial) -> _Trial:
    """With the mirror solution in which a slip explains what was left out.

    Without a reading a point may lie on either side of a line: what it should have read is another for each.
    """
    every = (trial._replace(solution=end) for end in trial.ends)
    return min(every, key=lambda each: max(map(_open, _told(measured, [each])), default=0))


def _behind_all(measured: Measured, cause: Cause, without: Solution) -> GrossErrorsFound:
    """With the readings that share one slip left out; nothing else is said of any of them."""
    out = tuple(each for each in cause.readings if each in without.network.readings)
    told = _told(measured, [_Trial(out, without, ())])
    own = [tuple(slip for slip in each.causes if slip.kind == cause.kind) for each in told]
    bare = tuple(replace(each, causes=slips) for each, slips in zip(told, own, strict=True))
    return GrossErrorsFound(without, bare, cause=cause)


def _named(measured: Measured, trial: _Trial) -> GrossErrorsFound:
    """With what has to be left out: a reading that is hardly off by the rest has its say again."""
    readings, solution, network = trial.readings, trial.solution, trial.solution.network
    told = _told(measured, [trial])
    needed = tuple(each.reading for each in told if _is_beyond(each, len(network.readings)))
    if len(needed) < len(readings):
        rows = tuple(row for each in needed for row in network.rows[each])
        (again,) = solved(network, [solution.at.unknowns], [rows])
        if fits(again):
            return GrossErrorsFound(again, _told(measured, [_Trial(needed, again, ())]))
    return GrossErrorsFound(solution, told)


def _one_of(measured: Measured, able: list[_Trial], raw: Solution) -> GrossErrorsFound:
    """Leaving out any of several explains the rest: a slip that a tape could read tells which, if none has another.

    What has a slip comes first.
    """
    open_by = {each.reading: _open(each) for each in _told(measured, able)}

    def doubt(trial: _Trial) -> int:
        return max(open_by[reading] for reading in trial.readings)

    # Calipers are rarely misread: a whole step of a tape comes before digits of a diameter.
    able = sorted(able, key=lambda trial: (_RARELY if isinstance(trial.readings[0], Diameter) else 0) + doubt(trial))
    told, readings = _doubted(measured, able), able[0].readings
    plain = [doubt(trial) for trial in able]
    if plain[0] or {0, _ONE_STEP} & {*plain[1:]} or len(able) > _MOST_GROSS_ERRORS:
        return GrossErrorsFound(raw, (), _explained_first(told), False)
    doubted = tuple(each for each in told if each.reading not in readings)
    return GrossErrorsFound(able[0].solution, _told(measured, able[:1]), _explained_first(doubted))


def _explained_first(suspects: tuple[GrossError, ...]) -> tuple[GrossError, ...]:
    """Suspects, those first that something explains, then by another point, which may lie there by chance."""

    def rank(error: GrossError) -> int:
        return (not error.causes) + all(slip.kind == OTHER_END and slip.small for slip in error.causes)

    return tuple(sorted(suspects, key=rank))


def _open(error: GrossError) -> int:
    """0 where a slip that a tape could read tells what was wrong, 1 where one would fit, then one step, one taken
    to another point of the same adjuster, one step that may be, none.
    """
    slip = error.misreading
    if slip is not None and not (slip.steps and slip.small):
        return _ONE_STEP if slip.steps else int(slip.small)
    elsewhere = any(each.kind == OTHER_END and not each.small for each in error.causes)
    return _ONE_STEP + (1 if elsewhere else 2 if slip else 3)


def _without(
    measured: Measured,
    seen: tuple[Solution, ...],
    starts: list[Floats],
    sets: list[tuple[Reading, ...]],
    progress: Progress,
) -> list[_Trial]:
    network, held = seen[0].network, ~seen[0].undetermined
    free, clash = is_as_seen(measured, seen[0].places), rims_clash(measured, seen[0].places)
    trials = list[_Trial]()
    outs = [tuple(row for each in readings for row in network.rows[each]) for readings in sets]
    ends = solved(network, starts * len(sets), [out for out in outs for _ in starts], progress)
    for i, readings in enumerate(sets):
        own = ends[i * len(starts) : (i + 1) * len(starts)]
        fair = [end for end in own if end.can_be and is_as_seen(measured, end.places) >= free]
        if fair:
            # Where no rims overlap with the reading, none do without it: that would be an impossible mirror solution.
            fair = [end for end in fair if clash or not rims_clash(measured, end.places)] or fair
            ranked = sorted(((rank_of(measured, end, held), end) for end in fair), key=lambda each: each[0])
            (otherwise, least, _), best = ranked[0]
            as_well = tuple(end for rank, end in ranked if rank[0] == otherwise and rank[1] <= least + NO_WORSE)
            trials.append(_Trial(readings, best, as_well))
    place = network.readings.index
    return sorted(trials, key=lambda trial: (round(trial.solution.cost, 6), [place(each) for each in trial.readings]))


def _starts(measured: Measured, seen: tuple[Solution, ...]) -> list[Floats]:
    """Unknowns to settle from without a reading: the first solutions, and layouts that it could not draw after it.

    Of those that cost the same one is the mirror solution of the other, and so its ends: the one with more above stays.
    """
    network, held = seen[0].network, ~seen[0].undetermined
    origin = network.origin
    laid = [places - places[origin] for places in laid_layouts(network)]
    as_seen = [places for places in laid if is_as_seen(measured, places)]
    rest = [] if is_as_seen(measured, seen[0].places) else [places for places in laid if contradicted(measured, places)]
    laid = sorted([*as_seen, *rest][:_LAID], key=lambda places: -points_above(places[held]))
    first: dict[float, Floats] = {}
    with np.errstate(all="ignore"):  # a layout may lie where a photo sees its horizon
        settled_from = (each.at.unknowns for each in seen[:_STARTS])
        for unknowns in (*settled_from, *map(network.unknowns_at, [*laid, *_turned(measured, origin)])):
            residuals, _ = network.equations(unknowns)
            first.setdefault(round(float(residuals @ residuals), 3), unknowns)
    return list(first.values())


def _turned(measured: Measured, origin: int) -> list[Floats]:
    """The likeliest layouts as they are seen with one angle read otherwise: such a slip turns all that hangs on it."""
    found = list[tuple[float, Floats]]()
    for changed in one_otherwise(measured):
        network = surveyed(changed)
        for places in (each - each[origin] for each in laid_layouts(network)):
            if is_as_seen(measured, places):
                residuals, _ = network.equations(network.unknowns_at(places))
                found.append((float(np.minimum(residuals**2, _CAPPED).sum()), places))
    return [places for _, places in sorted(found, key=lambda each: each[0])[:_TURNED]]


def _suspicious(seen: tuple[Solution, ...], starts: list[Floats], many: int) -> list[tuple[Reading, ...]]:
    """Sets of readings without which least would be left, to first order; all that come near the first of them.

    Then those that are furthest off where a start lies: a gross one bends what settles with it until all are off.
    """
    network = seen[0].network

    def left(own: tuple[int, ...]) -> float:
        rows = [row for i in own for row in network.rows[network.readings[i]]]
        return min(each.cost - fall_of(each, rows) for each in seen[:_COMPARED])

    sets: list[tuple[float, tuple[int, ...]]] = [(seen[0].cost, ())]
    for _ in range(many):
        grown = {
            tuple(sorted({*own, i})) for _, own in sets[:_BEAM] for i in range(len(network.readings)) if i not in own
        }
        sets = sorted((left(own), own) for own in grown)
    near = sets[0][0] + 2.0 * NO_WORSE + _ROUGH * (seen[0].cost - sets[0][0]) if sets else 0.0
    kept = [own for i, (rest, own) in enumerate(sets[:_MOST_TRIED]) if i < _TRIED or rest <= near]
    squares = [network.equations(start)[0] ** 2 for start in starts]
    worst = [[float(each[list(network.rows[reading])].sum()) for reading in network.readings] for each in squares]
    kept += [tuple(sorted(np.argsort(each)[-many:].tolist())) for each in worst]
    return [tuple(network.readings[i] for i in own) for own in dict.fromkeys(kept)]


def _grown_from(measured: Measured, trials: list[_Trial]) -> list[_Trial]:
    """The best of smaller sets, those whose points lie as they are seen first; none without angles and sides.

    A wrong angle or mirror turns so much that the first order of all readings together tells little.
    """
    if not measured.sides and not measured.directions:
        return []
    as_seen = [trial for trial in trials if is_as_seen(measured, trial.solution.places)]
    return list(dict.fromkeys([*as_seen[:_GROWN], *trials[:_GROWN]]))


def _grown_sets(trials: list[_Trial]) -> list[tuple[Reading, ...]]:
    grown = list[tuple[Reading, ...]]()
    for readings, solution, _ in trials:
        network = solution.network
        falls = {each: fall_of(solution, list(network.rows[each])) for each in network.readings if each not in readings}
        more = sorted(falls, key=lambda each: -falls[each])[:_MORE]
        grown += [tuple(sorted((*readings, each), key=network.readings.index)) for each in more]
    return grown


def _told(measured: Measured, trials: list[_Trial]) -> tuple[GrossError, ...]:
    """Each reading once, by the best trial without it; those that more trials blame come first."""
    blamed = Counter(reading for trial in trials for reading in trial.readings)
    best = {reading: trial.solution for trial in reversed(trials) for reading in trial.readings}
    first = {reading: i for i, trial in reversed(list(enumerate(trials))) for reading in trial.readings}
    every = sorted(best, key=lambda reading: (-blamed[reading], first[reading]))
    return tuple(_error_of(measured, reading, best[reading]) for reading in every)


def _error_of(measured: Measured, reading: Reading, best: Solution) -> GrossError:
    network = best.network
    rows = list(network.rows[reading])
    residuals, jacobian = (each[rows] for each in network.equations(best.at.unknowns))
    # Of a place on an image the distance, and how sure it is that way.
    off = -float(residuals[0]) if len(rows) == 1 else float(norm(residuals))
    slope = residuals @ jacobian / max(abs(off), 1e-12)
    error = reading.sd * off
    sd = reading.sd * math.sqrt(1.0 + float(slope @ best.precision.covariance @ slope))
    if isinstance(reading, Pick) and not (reading.is_of_rim or reading.on.given):
        causes = mispicked(reading, np.array(reading.at) + reading.sd * residuals, error, sd)
    else:
        # A rim that is only traced is as wide as all the others find it.
        sized = {each.pulley for each in measured.diameters}
        radii_mm = zip(network.radii_mm, best.at.unknowns[network.radii], strict=True)
        traced = (Diameter(name, 2.0 * float(mm), 0.0) for name, mm in radii_mm if name not in sized)
        known = replace(measured, diameters=(*measured.diameters, *traced))
        causes = misreadings_in(known, reading, error, sd, best.places)
    enlarged = best.enlarged if [*best.left_out] == rows else math.inf
    return GrossError(reading, error, sd, best.places, enlarged, causes)


def _doubted(measured: Measured, trials: list[_Trial]) -> tuple[GrossError, ...]:
    """Those told that are further off than chance allows: what was left out beside them for nothing is no suspect.

    One without which alone the rest fits is a suspect however little the others know of it.
    """
    told, many = _told(measured, trials), len(trials[0].solution.network.readings)
    alone = {trial.readings for trial in trials if fits(trial.solution)}
    kept = tuple(each for each in told if _is_beyond(each, many) or (each.reading,) in alone) or told
    return tuple(replace(each, elsewhere=_elsewhere(measured, each, trials)) for each in kept)


def _elsewhere(measured: Measured, error: GrossError, trials: list[_Trial]) -> tuple[GrossError, ...]:
    _, best, ends = next(trial for trial in trials if error.reading in trial.readings)
    others = unlike((best, *ends), ~best.undetermined, SAME_MM)[1:]
    every = (_error_of(measured, error.reading, end) for end in others)
    # A tape that would be off by yet more is no likelier for the belt that could run there.
    return tuple(each for each in every if abs(each.error) < abs(error.error))


def _is_beyond(error: GrossError, readings: int) -> bool:
    """Whether it is further off than chance allows, of so many readings that are looked at."""
    return (error.error / error.sd) ** 2 > single_limit(readings, error.reading.rows)

"""Where everything is, by what was measured: places with their standard deviations, and how far each is checked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import combinations, permutations
from typing import NamedTuple

import numpy as np

from beltplan.checks.limits import all_of
from beltplan.drive.way_round import PathFault
from beltplan.geometry.vectors import Floats, left_normal, norm
from beltplan.measure import advice
from beltplan.measure.causes import Cause, agreeing, mirrored, scaled
from beltplan.measure.gross_errors import (
    NO_WORSE,
    SAME_MM,
    GrossError,
    GrossErrorsFound,
    blamed_alone,
    gross_errors_in,
    names_exchanged_in,
)
from beltplan.measure.images import mapped
from beltplan.measure.misreadings import OTHER_END, mispicked_length, misreadings_in
from beltplan.measure.network import Network, PlacedImage, surveyed, without_motion
from beltplan.measure.readings import Diameter, Distance, Image, LoopLength, Measured, Pick, Reading
from beltplan.measure.solutions import (
    CHECKED,
    Solution,
    fits,
    is_as_seen,
    rims_clash,
    shows_at,
    solutions_of,
    solved,
    sum_limit,
    turn_seen,
    turned,
    unlike,
)
from beltplan.measure.values import as_read, listed, value_words
from beltplan.progress import Progress, part_of, unseen

_PLACING = 0.2
"""Share of the time for placing the points; the rest goes to looking for misreadings."""
_LOOK = "look which way its second coordinate runs, and whether it shows the pulleys from the front"
_WORTH_READING = 0.2
"""A distance that sharpens the places by a smaller share need not be read."""


@dataclass(frozen=True, eq=False)
class Centre:
    """Where a point lies. covariance_mm2: of its coordinates, (2, 2), zero for the origin.

    None where nothing holds the point: its place is a guess then. mark: whether it carries no pulley and no adjuster.
    """

    name: str
    at_mm: tuple[float, float]
    covariance_mm2: Floats | None
    mark: bool = False

    @property
    def is_undetermined(self) -> bool:
        return self.covariance_mm2 is None

    @property
    def sds_mm(self) -> list[float]:
        """One standard deviation of x and of y; empty where nothing holds it."""
        return [] if self.covariance_mm2 is None else np.sqrt(np.diagonal(self.covariance_mm2)).tolist()

    @property
    def sd_mm(self) -> float | None:
        """One standard deviation for both coordinates: the root of the mean of their squares."""
        return None if self.covariance_mm2 is None else float(np.sqrt(np.diagonal(self.covariance_mm2).mean()))

    @property
    def correlation(self) -> float | None:
        x, y = self.sds_mm or (0.0, 0.0)
        return float(self.covariance_mm2[0, 1] / (x * y)) if self.covariance_mm2 is not None and x * y > 0.0 else None

    @cached_property
    def half_axes_mm(self) -> Floats:
        """Of the standard ellipse, the short one before the long one, (2, 2); none where nothing holds it."""
        values, axes = np.linalg.eigh(np.zeros((2, 2)) if self.covariance_mm2 is None else self.covariance_mm2)
        return np.asarray((axes * np.sqrt(np.maximum(values, 0.0))).T)

    @property
    def widest_mm(self) -> float:
        return float(norm(self.half_axes_mm[1]))


class Checked(NamedTuple):
    """A reading against what all together say.

    error: how much it reads too much, in its unit, the residual with its sign turned; of a place on an image the
    distance. share: that over one standard deviation of it, None where nothing checks the reading. redundancy: share of
    an error of the reading that shows in its residual. shows: smallest error that would be noticed, None where none is.
    """

    reading: Reading
    error: float
    share: float | None
    redundancy: float
    shows: float | None
    left_out: bool


class Trust(NamedTuple):
    """How well an image agrees with all else. mm_per_px: its scale amid its places.

    rms_px: root mean square of its residuals; factor: by how much they exceed the stated one, None where nothing
    checks the image. trusted: whether chance alone may make them so large, None likewise. alone: whether all else
    agrees without an image that is not trusted. spare: readings more than it needs among its places that have a say.
    """

    image: Image
    mm_per_px: float
    rms_px: float
    factor: float | None
    trusted: bool | None
    alone: bool = False
    spare: float = 0.0


@dataclass(frozen=True, eq=False)
class Measuring:
    """What was found. centres: in the order of the file. covariance_mm2: (2 points, 2 points), x before y of each.

    diameters: over the rim, by all that was measured. factor: all standard deviations are enlarged by it where the
    readings do not agree, else 1. level_rad: the angle at which a line was laid, because nothing says what is level.
    level_by: the only reading that says what is level, where no other checks it.
    unseen: whether no solution lies where the user sees it. clashes: why no belt can run over the places, where they
    are those of a layout; clearing: suspects without which one can, where else none can; mending: what to write so
    that one can. springs: what `check` asks of where a spring is given. arms_stand: which way an
    arm points at its stops, as they are written. loops_show_mm: from how much belt on an error
    of an arm that nothing checks would show in a wire laid round, and in a belt on hand.
    """

    measured: Measured
    errors: GrossErrorsFound
    centres: tuple[Centre, ...]
    covariance_mm2: Floats
    checked: tuple[Checked, ...]
    diameters: tuple[Diameter, ...]
    images: tuple[Trust, ...]
    undetermined: tuple[advice.Undetermined, ...]
    mirrors: tuple[advice.Mirror, ...]
    settling: advice.Settling
    further: tuple[advice.Further, ...]
    factor: float
    level_rad: float
    level_by: Reading | None
    unseen: bool
    clashes: tuple[PathFault, ...] = ()
    clearing: tuple[GrossError, ...] = ()
    mending: str = ""
    springs: tuple[str, ...] = ()
    arms_stand: tuple[str, ...] = ()
    loops_show_mm: tuple[float, float] | None = None

    @property
    def degrees(self) -> int:
        return self.errors.solution.degrees

    @property
    def settled(self) -> bool:
        """Whether every point has its one place: none undetermined, no mirror solution open, all as it is seen.

        Nor has it where an arm counts its angles from a level that nothing says.
        """
        return not (self.undetermined or self.loose_sides or self.unseen or self.measured.needs_level)

    @property
    def loose_sides(self) -> list[str]:
        """Points that have a mirror solution for all that was measured, whichever way pictures are turned."""
        return list(dict.fromkeys(name for mirror in self.mirrors if not mirror.picture for name in mirror.points))

    @property
    def level_is_open(self) -> bool:
        """Whether an arm counts its angles from a level that nothing says, or one reading that nothing checks."""
        return self.measured.needs_level or (self.level_by is not None and bool(self.measured.carried_mm))

    @property
    def clashing(self) -> tuple[str, ...]:
        """The pulleys that all clashes have in common, else those of the first."""
        first = self.clashes[0].pulleys if self.clashes else ()
        return tuple(name for name in first if all(name in each.pulleys for each in self.clashes)) or first

    @cached_property
    def hanging(self) -> list[advice.Hanging]:
        """Readings that nothing checks, and the points that lie elsewhere where they are misread."""
        bare = {each.reading for each in self.checked if each.shows is None}
        return [each for each in advice.hanging_of(self.measured, self.errors.solution) if each[0] in bare]

    @property
    def arms_show(self) -> dict[str, float]:
        """From how much belt on, mm, an error of each arm shows in a loop with the arm's angle; inf where in none."""
        shown = dict.fromkeys(self.measured.carried_mm, math.inf)
        for each in self.checked:
            for own in each.reading.around if isinstance(each.reading, LoopLength) else ():
                shown[own.point] = min(shown.get(own.point, math.inf), each.shows or math.inf)
        return {arm: shown[point] for arm, point in zip(self.measured.arms, self.measured.carried_mm, strict=True)}

    @property
    def unchecked_arms(self) -> str:
        """Those of which no loop with the arm's angle checks length and angles; empty where none is."""
        return all_of(arm for arm, mm in self.arms_show.items() if math.isinf(mm))

    @property
    def sound(self) -> bool:
        """Whether nothing stands against the places: settled, no reading in doubt, all agree, and a belt can run."""
        images = all(trust.trusted is not False for trust in self.images)
        open_still = self.clashes or self.mirrors or self.level_is_open
        return self.settled and self.errors.sound and not open_still and images

    @property
    def enough(self) -> bool:
        """Whether no further reading is needed: sound, no point hangs on what a distance more would check, and the best
        sharpens it little.

        Source: how little is our own choice.
        """
        gain = max((1.0 - each.after_mm / each.before_mm for each in self.further), default=0.0)
        hangs = any(each.checks for each in self.further)
        return self.sound and self.degrees > 0 and not hangs and gain < _WORTH_READING

    @property
    def places(self) -> Floats:
        """Where every point lies, (points, 2) mm."""
        return np.array([centre.at_mm for centre in self.centres])

    @property
    def rims_mm(self) -> dict[str, float]:
        """Radius over the rim of each point that is fixed, as far as known: by all readings, else as it was read."""
        radii = {each.pulley: 0.5 * each.value_mm for each in (*self.measured.diameters, *self.diameters)}
        held = {centre.name for centre in self.centres if not centre.is_undetermined}
        return {name: radius for name, radius in radii.items() if name in held and radius > 0.0}

    @cached_property
    def shape_mm(self) -> float:
        """The widest half axis of any standard ellipse, marks left out, once the whole may turn about the origin.

        A belt minds how points lie to each other, not how level they stand together; but the pulley on an arm does not
        turn with them.
        """
        carried = self.measured.carried_mm
        held = [i for i, centre in enumerate(self.centres) if not centre.is_undetermined]
        ends = [i for i in held if self.centres[i].name in carried]
        every = [*held, *ends]
        places = self.places[every]
        places[len(held) :] += np.array([carried[self.centres[i].name] for i in ends]).reshape(-1, 2)
        rows = [row for i in every for row in (2 * i, 2 * i + 1)]
        shape = without_motion(places, self.covariance_mm2[np.ix_(rows, rows)], shifts=False)
        own = [slice(2 * k, 2 * k + 2) for k, i in enumerate(every) if not self.centres[i].mark]
        return float(np.sqrt(max((float(np.linalg.eigvalsh(shape[at, at])[-1]) for at in own), default=0.0)))

    def centre(self, name: str) -> Centre:
        return next(centre for centre in self.centres if centre.name == name)


def measuring_of(measured: Measured, progress: Progress = unseen) -> Measuring:
    """Find every point by least squares, look for misreadings and mirror solutions, and say what to measure next.

    progress: is told what share of the work is done, now and then.
    """
    turn, network = 0.0, surveyed(measured)
    first = part_of(progress, 0.0, 0.5 if measured.frame_is_open and measured.sides else 1.0)
    solutions = solutions_of(measured, network, part_of(first, 0.0, _PLACING))
    found, swapped = _slip_of_picture(measured, solutions)
    if found is not None:
        return found
    verdict = swapped or gross_errors_in(measured, solutions, part_of(first, _PLACING, 1.0))
    if (found := _rescaled(measured, [each.reading for each in verdict.gross_errors], verdict.fits)) is not None:
        return found
    if measured.frame_is_open and (turn := turn_seen(measured, verdict.solution.places) or 0.0):
        network = surveyed(measured, turn)
        starts = [network.unknowns_at(turned(each.places, turn)) for each in solutions]
        solutions = tuple(solved(network, starts, [each.left_out for each in solutions]))
        swapped = swapped and names_exchanged_in(measured, network)
        verdict = swapped or gross_errors_in(measured, solutions, part_of(progress, 0.5, 1.0))
    best, factor = verdict.solution, _enlarged(verdict)
    n = 2 * len(measured.points)
    covariance = factor**2 * best.precision.covariance[:n, :n] + _doubt(verdict)
    believed = measured if verdict.cause is None else verdict.cause.believed(measured)
    mirrors = _mirrors(believed, best, solutions, turn if verdict.fits else None)
    return Measuring(
        measured,
        verdict,
        tuple(_centre(measured, verdict, i, covariance) for i in range(len(measured.points))),
        covariance,
        tuple(_check(best, reading, factor) for reading in network.readings),
        _sizes(best, factor),
        tuple(_trust(best, image) for image in network.images),
        advice.undetermined_of(measured, best),
        mirrors,
        advice.settling_of(measured, best, mirrors),
        () if verdict.undecided else advice.further_of(measured, best),
        factor,
        turn,
        _level_by(best),
        not is_as_seen(measured, best.places),
    )


def _enlarged(verdict: GrossErrorsFound) -> float:
    """How many times larger standard deviations are than by the accuracies, where undecided: by the residuals, those
    that are left without one suspect where that is less.
    """
    if not verdict.undecided:
        return 1.0
    return min(verdict.solution.enlarged, *(each.enlarged for each in verdict.suspects), math.inf)


def _doubt(verdict: GrossErrorsFound) -> Floats | float:
    """What doubt which suspect is wrong adds to the covariance of places: how far they move without each, as likely.

    Source: law of total variance; checked against drawn readings in the tests.
    """
    if not (verdict.undecided and verdict.suspects):
        return 0.0
    off = np.array([(each.places - verdict.solution.places).reshape(-1) for each in verdict.suspects])
    return np.asarray(off.T @ off / len(off))


def _sizes(best: Solution, factor: float) -> tuple[Diameter, ...]:
    """The rims by all readings together."""
    mm, sds = best.at.unknowns, factor * np.sqrt(np.diagonal(best.precision.covariance))
    radii = enumerate(best.network.radii_mm, start=best.network.radii.start)
    return tuple(Diameter(name, 2.0 * float(mm[i]), 2.0 * float(sds[i])) for i, name in radii)


def _mirrors(
    measured: Measured, best: Solution, solutions: tuple[Solution, ...], turn: float | None
) -> tuple[advice.Mirror, ...]:
    """Where points may lie instead; unless turn is None, also if a picture is the other way round."""
    others = [("", each) for each in _others(measured, best.network, best, solutions)]
    for words, changed in mirrored(measured) if turn is not None else ():
        network = surveyed(changed, turn or 0.0)
        others += [(words, each) for each in _others(changed, network, best, solutions_of(changed, network))]
    found = (advice.mirror_of(measured, best, other, words) for words, other in others)
    return tuple(each for each in found if each is not None)


def _slip_of_picture(
    measured: Measured, solutions: tuple[Solution, ...]
) -> tuple[Measuring | None, GrossErrorsFound | None]:
    """All without the one slip of a picture that explains everything, or what two exchanged names leave; else neither.

    It is sooner found than several readings that are misread, and is looked for only where not one of them is.
    """
    if (found := _mirrored(measured, solutions[0])) is not None or not measured.images or any(map(fits, solutions)):
        return found, None
    blamed = blamed_alone(measured, solutions)
    swapped = None if blamed else names_exchanged_in(measured, solutions[0].network)
    return None if swapped else _rescaled(measured, blamed, bool(blamed)), swapped


def _mirrored(measured: Measured, best: Solution) -> Measuring | None:
    """All by a picture the other way round, where only so everything fits."""
    if fits(best) and is_as_seen(measured, best.places):
        return None
    fitting = (each for each in mirrored(measured) if agreeing(each[1]))
    return next((_believed(changed, f"everything fits with {words}: {_LOOK}") for words, changed in fitting), None)


def _believed(changed: Measured, words: str) -> Measuring:
    """All by what would have been written without one slip, which is told."""
    found = measuring_of(changed)
    return replace(found, errors=replace(found.errors, cause=Cause("picture", words)))


def _rescaled(measured: Measured, blamed: Sequence[Reading], explained: bool) -> Measuring | None:
    """All by a scale that is left open, of a picture or what is known of it, where so alone everything fits.

    None where nothing checks the picture then, or where another scale would do it as well. blamed: readings without
    which the rest fits, where all is explained by that.
    """
    ends = {name for image in measured.images if image.given for name in image.places}
    # A bar has two ends: where its length is wrong, leaving out either of them or its pick makes all fit as well.
    barred = any(each.image is not None and {*each.points} & ends for each in blamed)
    fitting = _scales_that_fit(measured) if barred or not explained else ()
    for free, changed in fitting if len(fitting) == 1 else ():
        found = _believed(changed, "")
        trust = next(each for each in found.images if each.image.name == free.of)
        words = _known_apart(found, free) if free.given else _scale_words(free, trust.mm_per_px)
        if trust.trusted:
            return replace(found, errors=replace(found.errors, cause=Cause("scale", words)))
    return None


@lru_cache(maxsize=1)
def _scales_that_fit(measured: Measured) -> tuple[tuple[Image, Measured], ...]:
    return tuple(each for each in scaled(measured) if agreeing(each[1]))


def _scale_words(free: Image, mm_per_px: float) -> str:
    fits = f"`mm_per_px: {mm_per_px:.3g}` at {free.name} (line {free.line_of('mm_per_px')})"
    return f"everything fits with {fits}, where {1.0 / free.px_per_mm:.4g} is written: look at what its scale is"


def _known_apart(found: Measuring, known: Image) -> str:
    """How far apart the ends of a scale bar are by all the others, and the slip that would explain it.

    Of more than two places the two that are written furthest apart.
    """
    measured, places = found.measured, found.places
    names = max(combinations(known.places, 2), key=lambda pair: math.dist(*(known.places[name] for name in pair)))
    step = np.subtract(known.places[names[1]], known.places[names[0]])
    starts = [known.places[name] for name in names]
    written_mm, (first, second) = float(norm(step)), (measured.points.index(name) for name in names)
    way = places[second] - places[first]
    apart_mm, both = float(norm(way)), [2 * first, 2 * first + 1, 2 * second, 2 * second + 1]
    slope = np.concatenate((-way, way)) / apart_mm
    sd_mm = math.hypot(known.sd_px, math.sqrt(float(slope @ found.covariance_mm2[np.ix_(both, both)] @ slope)))
    # One number was written where one place is [0, 0] and the other straight beside it or over it.
    is_bare = 0.0 in step and (0.0, 0.0) in starts
    bare = f"{written_mm / measured.unit_mm:.6g}" if is_bare else ""
    line = known.lines.get((names[1], None), known.line)
    taped = Distance(*names, written_mm, known.sd_px, written=bare, line=line)
    slips = misreadings_in(measured, taped, written_mm - apart_mm, sd_mm, places) if bare else ()
    # Many steps of ten lie near whatever a wrong pick makes of it.
    told = [f"it was {each.told}" for each in slips if each.kind != OTHER_END][:1]
    (picture,) = (each for each in found.images if each.image.name == known.of)
    picks = [each for name in names for each in picture.image.picks if each.point == name and not each.is_of_rim]
    told += _mispicked(picks, written_mm / picture.mm_per_px, sd_mm / picture.mm_per_px)
    slip = f"; it would fit if {', or if '.join(told)}" if told else ""
    lines = [*dict.fromkeys(str(each.line) for each in picks)]
    return (
        f"everything fits with {apart_mm:.1f} mm from {names[0]} to {names[1]}, where {known.name} (line {line}) "
        f"says {as_read(value_words(taped, measured.in_inches))}{slip}. Look at its length, whether it lies in "
        f"the plane of the faces, and at both picks (line{'s' * (len(lines) > 1)} {listed(lines)})"
    )


def _mispicked(ends: list[Pick], length_px: float, sd_px: float) -> list[str]:
    """Slips of the pen in a pick of either end of a bar that make its length wrong, in words; none at a slant."""
    pairs = permutations(ends, 2) if len(ends) == 2 and ends[0].on.model != "slanted" else ()
    return [
        f"{one.words} was {told}" for one, other in pairs for told in mispicked_length(one, other.at, length_px, sd_px)
    ]


def _centre(measured: Measured, verdict: GrossErrorsFound, index: int, covariance: Floats) -> Centre:
    """A point; a mark is held by nothing where a cause speaks against a reading of it that has its say."""
    best, name, own = verdict.solution, measured.points[index], slice(2 * index, 2 * index + 2)
    is_mark, (x_mm, y_mm) = name in measured.marks, best.places[index].tolist()
    against = (each for each in verdict.cause.readings if name in each.points) if verdict.cause and is_mark else ()
    is_open = any({*best.network.rows.get(each, ())} - {*best.left_out} for each in against)
    return Centre(name, (x_mm, y_mm), None if best.undetermined[index] or is_open else covariance[own, own], is_mark)


def _check(best: Solution, reading: Reading, factor: float) -> Checked:
    rows = list(best.network.rows[reading])
    residuals, redundancy = best.at.residuals[rows], float(np.min(best.precision.redundancy[rows]))
    out = rows[0] in best.left_out
    error = -reading.sd * float(residuals[0]) if len(rows) == 1 else reading.sd * float(np.linalg.norm(residuals))
    shows = None if out else shows_at(len(best.network.readings), factor * reading.sd, redundancy)
    return Checked(reading, error, best.share(reading), 0.0 if out else redundancy, shows, out)


def _level_by(best: Solution) -> Reading | None:
    """The reading that most of the turn of the whole hangs on, where no other checks it; None where none is such."""
    held, n = ~best.undetermined, 2 * len(best.undetermined)
    turning = (left_normal(best.places) * held[:, None]).reshape(-1)
    rows = (best.at.jacobian @ best.precision.covariance[:, :n] @ turning) ** 2
    most = int(np.argmax(rows)) if len(rows) else 0
    if not rows[most:].any() or rows[most] < 0.5 * rows.sum() or best.precision.redundancy[most] > CHECKED:
        return None
    return next((each for each in best.network.readings if most in best.network.rows[each]), None)


def _trust(best: Solution, placed: PlacedImage) -> Trust:
    image = placed.image
    rows = [row for pick in image.picks for row in best.network.rows[pick] if row not in best.left_out]
    residuals, redundancy = best.at.residuals[rows], float(np.sum(best.precision.redundancy[rows]))
    middle = best.places[placed.points].mean(axis=0)[None, :]
    _, by_point, _ = mapped(image.model, image.px_per_mm, best.at.unknowns[placed.numbers], middle)
    scale = float(np.sqrt(abs(np.linalg.det(by_point[0]))))
    rms = image.sd_px * float(np.sqrt(np.mean(residuals**2))) if rows else 0.0
    if not redundancy > 0.5:
        return Trust(image, 1.0 / scale, rms, None, None, spare=redundancy)
    degrees, total = max(1, round(redundancy)), float(residuals @ residuals)
    trusted, factor = total <= sum_limit(degrees), float(np.sqrt(total / redundancy))
    alone = not trusted and fits(solved(best.network, [best.at.unknowns], [(*best.left_out, *rows)])[0])
    return Trust(image, 1.0 / scale, rms, factor, trusted, alone, redundancy)


def _others(
    measured: Measured, network: Network, best: Solution, solutions: tuple[Solution, ...]
) -> tuple[Solution, ...]:
    """Solutions that fit as well as the best, without what was left out there, and lie as they are seen.

    None in which rims overlap, where those of the best do not.
    """
    again = solved(network, [each.at.unknowns for each in solutions], [best.left_out] * len(solutions))
    free = is_as_seen(measured, best.places)
    fair = [each for each in again if each.cost <= best.cost + NO_WORSE and is_as_seen(measured, each.places) >= free]
    clash = rims_clash(measured, best.places)
    fair = [each for each in fair if clash or not rims_clash(measured, each.places)]
    return tuple(unlike(fair, ~best.undetermined, SAME_MM))

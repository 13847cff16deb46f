"""Where everything is, by what was measured: places with their deviations, and how far each measurement is checked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.geometry.sheets import Sheet, mapped
from beltplan.geometry.vectors import Floats
from beltplan.studies.measured import Measured, Picture
from beltplan.studies.measured_network import Reading, Surveyed, level_taken, surveyed
from beltplan.studies.measuring_advice import Further, Loose, Mirror, further_of, loose_of, mirrors_of
from beltplan.studies.measuring_blunders import NO_WORSE, Judged, judged
from beltplan.studies.measuring_limits import CHECKED, shows_at, sum_limit
from beltplan.studies.measuring_sides import is_as_seen, turn_seen, turned
from beltplan.studies.measuring_solutions import Solution, solutions_of, solved


@dataclass(frozen=True, eq=False)
class Centre:
    """Where a point lies, with one standard deviation of each coordinate and their correlation.

    The deviations are None where nothing holds the point, nought for the origin.
    """

    name: str
    x_mm: float
    y_mm: float
    deviation_x_mm: float | None
    deviation_y_mm: float | None
    correlation: float | None

    @property
    def deviation_mm(self) -> float | None:
        """One deviation for both coordinates: the root of the mean of their squares."""
        if self.deviation_x_mm is None or self.deviation_y_mm is None:
            return None
        return float(np.sqrt(0.5 * (self.deviation_x_mm**2 + self.deviation_y_mm**2)))


@dataclass(frozen=True, eq=False)
class Checked:
    """A reading against what all together say.

    residual: how much it reads too much, in its unit; of a place on a picture the distance. share: that over what
    chance makes of it (one standard deviation), None where nothing checks the reading. redundancy: share of an error
    of the reading that shows in its residual. shows: smallest error that would be noticed, None where none is.
    """

    reading: Reading
    residual: float
    share: float | None
    redundancy: float
    shows: float | None
    left_out: bool


@dataclass(frozen=True, eq=False)
class Trust:
    """How well a picture agrees with all else. mm_per_px: its scale amid its places.

    rms_px: root mean square of its residuals; factor: by how much they exceed the stated deviation, None where nothing
    checks the picture. trusted: whether chance alone may make them so large, None likewise.
    """

    picture: Picture
    mm_per_px: float
    rms_px: float
    factor: float | None
    trusted: bool | None


@dataclass(frozen=True, eq=False)
class FoundSize:
    """A diameter over the rim, by all that was measured."""

    pulley: str
    diameter_mm: float
    deviation_mm: float


@dataclass(frozen=True, eq=False)
class Measuring:
    """What was found. centres: in the order of the file. covariance_mm2: (2 points, 2 points), x before y of each.

    factor: all deviations are enlarged by it where the readings do not agree, else 1. level: the line that was laid at
    an angle of our own, `level_rad`, because nothing says what is level. unseen: whether no solution lies where the
    user sees it.
    """

    measured: Measured
    judged: Judged
    centres: tuple[Centre, ...]
    covariance_mm2: Floats
    checked: tuple[Checked, ...]
    sizes: tuple[FoundSize, ...]
    pictures: tuple[Trust, ...]
    loose: tuple[Loose, ...]
    mirrors: tuple[Mirror, ...]
    further: tuple[Further, ...]
    factor: float
    level: tuple[str, str] | None
    level_rad: float
    unseen: bool

    @property
    def degrees(self) -> int:
        """Readings more than are needed."""
        return self.judged.solution.degrees

    @property
    def settled(self) -> bool:
        """Whether every point has its one place: none loose, no mirror image open, all as it is seen."""
        return not (self.loose or self.mirrors or self.unseen)

    @property
    def sound(self) -> bool:
        """Whether nothing stands against the places: settled, nothing misread, and the rest agrees."""
        pictures = all(trust.trusted is not False for trust in self.pictures)
        return self.settled and self.judged.fits and not self.judged.misread and pictures

    def centre(self, name: str) -> Centre:
        """The centre of a name."""
        return next(centre for centre in self.centres if centre.name == name)


def measuring_of(measured: Measured) -> Measuring:
    """Find every point by least squares, look for misreadings and mirror images, and say what to measure next."""
    turn, survey = 0.0, surveyed(measured)
    solutions = solutions_of(measured, survey)
    verdict = judged(measured, survey, solutions)
    if measured.frame_is_open and (turn := turn_seen(measured, verdict.solution.places) or 0.0):
        survey = surveyed(measured, turn)
        solutions = tuple(_turned(survey, each, turn) for each in solutions)
        verdict = judged(measured, survey, solutions)
    best = verdict.solution
    factor = 1.0 if verdict.fits or best.degrees < 1 else max(1.0, float(np.sqrt(best.cost / best.degrees)))
    n = 2 * len(measured.points)
    covariance = factor**2 * best.precision.covariance[:n, :n]
    return Measuring(
        measured,
        verdict,
        _centres(measured, best, covariance),
        covariance,
        _checked(survey, best, factor),
        _sizes(survey, best, factor),
        tuple(_trust(survey, picture, sheet, best) for picture, sheet in _sheets(measured, survey)),
        loose_of(measured, best),
        mirrors_of(measured, best, _others(measured, survey, best, solutions)),
        further_of(measured, best, factor),
        factor,
        level_taken(measured) if measured.frame_is_open else None,
        turn,
        not is_as_seen(measured, best.places),
    )


def _turned(survey: Surveyed, solution: Solution, turn_rad: float) -> Solution:
    return solved(survey, survey.network.unknowns_at(turned(solution.places, turn_rad)), solution.left_out)


def _centres(measured: Measured, best: Solution, covariance: Floats) -> tuple[Centre, ...]:
    return tuple(
        _centre(name, best.places[i], covariance[2 * i : 2 * i + 2, 2 * i : 2 * i + 2], bool(best.loose[i]))
        for i, name in enumerate(measured.points)
    )


def _centre(name: str, at: Floats, covariance: Floats, loose: bool) -> Centre:
    if loose:
        return Centre(name, float(at[0]), float(at[1]), None, None, None)
    x, y = np.sqrt(np.maximum(np.diagonal(covariance), 0.0))
    correlation = float(covariance[0, 1] / (x * y)) if x * y > 0.0 else None
    return Centre(name, float(at[0]), float(at[1]), float(x), float(y), correlation)


def _checked(survey: Surveyed, best: Solution, factor: float) -> tuple[Checked, ...]:
    count = len(survey.readings)
    return tuple(_check(reading, best, count, factor) for reading in survey.readings)


def _check(reading: Reading, best: Solution, count: int, factor: float) -> Checked:
    rows = list(reading.rows)
    misfit, redundancy = best.at.misfit[rows], float(np.min(best.precision.redundancy[rows]))
    out = rows[0] in best.left_out
    residual = -reading.deviation * float(misfit[0]) if len(rows) == 1 else reading.deviation * _root(misfit)
    seen = redundancy > CHECKED and not out
    share = float(np.max(np.abs(misfit) / np.sqrt(np.maximum(best.precision.redundancy[rows], CHECKED)))) / factor
    shows = None if out else shows_at(count, factor * reading.deviation, redundancy)
    return Checked(reading, residual, share if seen else None, 0.0 if out else redundancy, shows, out)


def _root(values: Floats) -> float:
    return float(np.sqrt(np.sum(values**2)))


def _sizes(survey: Surveyed, best: Solution, factor: float) -> tuple[FoundSize, ...]:
    first = 2 * survey.network.points
    return tuple(
        FoundSize(
            name, 2.0 * float(best.at.unknowns[i]), 2.0 * factor * float(np.sqrt(best.precision.covariance[i, i]))
        )
        for i, name in enumerate(survey.radii, start=first)
    )


def _sheets(measured: Measured, survey: Surveyed) -> zip[tuple[Picture, Sheet]]:
    return zip(measured.pictures, survey.network.sheets, strict=True)


def _trust(survey: Surveyed, picture: Picture, sheet: Sheet, best: Solution) -> Trust:
    rows = [row for row in _rows_of(survey, sheet) if row not in best.left_out]
    misfit, redundancy = best.at.misfit[rows], float(np.sum(best.precision.redundancy[rows]))
    middle = best.places[sheet.picks[0]].mean(axis=0)[None, :]
    _, by_point, _ = mapped(sheet.model, sheet.scale, best.at.unknowns[sheet.numbers], middle)
    scale = float(np.sqrt(abs(np.linalg.det(by_point[0]))))
    rms = sheet.deviation_px * float(np.sqrt(np.mean(misfit**2))) if rows else 0.0
    if not redundancy > 0.5:
        return Trust(picture, 1.0 / scale, rms, None, None)
    degrees, total = max(1, round(redundancy)), float(misfit @ misfit)
    return Trust(picture, 1.0 / scale, rms, float(np.sqrt(total / redundancy)), total <= sum_limit(degrees))


def _rows_of(survey: Surveyed, sheet: Sheet) -> range:
    kinds = survey.network.kinds
    first = sum(kind.count for kind in kinds[: kinds.index(sheet)])
    return range(first, first + sheet.count)


def _others(
    measured: Measured, survey: Surveyed, best: Solution, solutions: tuple[Solution, ...]
) -> tuple[Solution, ...]:
    """Solutions that fit as well as the best, without what was left out there, and lie as they are seen."""
    again = [solved(survey, each.at.unknowns, best.left_out) for each in solutions]
    seen = is_as_seen(measured, best.places)
    kept: list[Solution] = []
    for each in again:
        alike = any(np.max(np.abs(each.places - other.places)[~best.loose], initial=0.0) < 1.0 for other in kept)
        fair = not seen or is_as_seen(measured, each.places)
        if not alike and fair and each.cost <= best.cost + NO_WORSE:
            kept.append(each)
    return tuple(kept)

"""A layout file written from what was measured, with one standard deviation for each pulley."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from beltplan.checks.doubts import shape_doubts, spring_place
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Layout
from beltplan.drive.mounts import Mark
from beltplan.drive.pulleys import Arm, Pulley, Slide, stops_words
from beltplan.drive.route import Route, route_of
from beltplan.drive.way_round import NoBeltPath, PathFault, overlap_faults
from beltplan.geometry.loops import length_by_centre, overlap
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.edits import CannotEdit, Keys, name_text, with_value, without_keys
from beltplan.layoutfile.layout_file import LayoutFile
from beltplan.layoutfile.rewriting import head_lines, number_text, point_text, read_back, write_edited
from beltplan.layoutfile.schema import measuring_under
from beltplan.layoutfile.values import LONGEST_TEXT
from beltplan.measure.gross_errors import GrossError
from beltplan.measure.loop_reader import usual_sd
from beltplan.measure.measurements_file import MeasurementsFile
from beltplan.measure.network import without_motion
from beltplan.measure.solutions import shows_at
from beltplan.measure.study import Measuring
from beltplan.measure.values import listed
from beltplan.measure.words import contradicting_words

_LEAST_MM = 0.01
_DIGITS = 2
_MOST_POSITION_MM, _MOST_DIAMETER_MM = 100.0, 50.0
"""The largest standard deviations that a layout takes."""
_MOST_ENLARGED = 5.0
"""Readings that disagree by more than so many times their accuracies make no layout (common practice, no source)."""
_MEASURED = ("at", "pivot", "from", "to")
"""Keys of places."""
_Edit = tuple[Keys, str | tuple[str, ...]]


def points_of(pulley: Pulley) -> Mapping[str, Keys]:
    """The points that were measured for a pulley, with the key of each: centre, pivot, or the ends of a slide."""
    if pulley.adjuster is None:
        return {pulley.name: ("at",)}
    return {f"{pulley.name}.{end}": (pulley.adjuster.kind, end) for end in pulley.adjuster.points}


def spread_of(found: Measuring, layout: Layout) -> Mapping[str, float]:
    """One standard deviation of the place of every pulley, mm, for errors taken as independent of one another.

    A turn or shift of the whole, which neither belt nor wraps mind, is taken out; marks do not count, since no belt
    runs over them. Then all are scaled alike, so that the belt length at the design setting spreads as it does by the
    covariance of all places. layout: with the places found in it; where it has no belt path, nothing is scaled.
    Source: the scaling is our own choice.
    """
    measured = {pulley.name: points_of(pulley) for pulley in layout.pulleys.values()}
    number = {centre.name: i for i, centre in enumerate(found.centres)}
    wanted = [i for name, i in number.items() if any(name in points for points in measured.values())]
    rows = np.array([(2 * i, 2 * i + 1) for i in wanted]).reshape(-1)
    apart = without_motion(found.places[wanted], found.covariance_mm2[np.ix_(rows, rows)])
    own = np.full(len(number), np.nan)
    own[wanted] = np.maximum(np.diagonal(apart).reshape(-1, 2).mean(axis=1), 0.0)
    variance = {name: float(np.mean(own[[number[point] for point in points]])) for name, points in measured.items()}
    every = {number[point]: each for name, each in variance.items() for point in measured[name]}
    scale = _scale(found, layout, every)
    return {name: max(_LEAST_MM, scale * math.sqrt(each)) for name, each in variance.items()}


def _scale(found: Measuring, layout: Layout, own: Mapping[int, float]) -> float:
    """own: variance of each point that counts, mm2, by its number."""
    try:
        gradient = _gradient(route_of(layout), found)
    except NoBeltPath:
        return 1.0
    flat = gradient.reshape(-1)
    really = float(flat @ found.covariance_mm2 @ flat)
    apart = sum(variance * float(gradient[i] @ gradient[i]) for i, variance in own.items())
    return math.sqrt(really / apart) if really > 0.0 and apart > 0.0 else 1.0


def _gradient(route: Route, found: Measuring) -> Floats:
    """Change of the belt length at the design setting with every point, (n, 2) mm per mm."""
    number = {centre.name: i for i, centre in enumerate(found.centres)}
    adjuster = route.circuit.adjuster
    by_centre = length_by_centre(route.circuit.loop_at(0.0 if adjuster is None else adjuster.nominal))
    gradient = np.zeros((len(number), 2))
    for pulley, own in zip(route.pulleys, by_centre, strict=True):
        along, shares = pulley.adjuster, [1.0]
        if isinstance(along, Slide):
            shares = [1.0 - along.nominal / along.length_mm, along.nominal / along.length_mm]
        for name, share in zip(points_of(pulley), shares, strict=True):
            gradient[number[name]] += share * own
    return gradient


def _placed_layout(source: MeasurementsFile, found: Measuring) -> tuple[Layout, tuple[_Edit, ...]]:
    """The layout with every place found, and the edits of its text that say so. Raises CannotEdit."""
    layout, scale = source.layout, source.measured.unit_mm
    if layout is None:
        raise CannotEdit(f"a layout needs {', '.join(source.missing)} as well, which {source.path} does not have")
    bare = {name: _sized(_placed(pulley, found), source, found, scale) for name, pulley in layout.pulleys.items()}
    placed, least_sure = {}, max(found.centres, key=lambda centre: centre.widest_mm).name
    for name, sd_mm in spread_of(found, replace(layout, pulleys=bare)).items():
        rounded = _sd(sd_mm, scale, _MOST_POSITION_MM, f"the position of {least_sure}")
        placed[name] = replace(bare[name], uncertainty=replace(bare[name].uncertainty, position_mm=rounded))
    edits = [
        (("pulleys", name, *keys), value)
        for name, pulley in placed.items()
        for keys, value in _edits(pulley, source, found, scale)
    ]
    marks = tuple(_marks(source, found, scale))
    for mark in marks:
        at = ", ".join(point_text(mark.at_mm, scale))
        edits.append((("marks", mark.name), f"{{at: [{at}], uncertainty_mm: {_sd_text(mark.uncertainty_mm, scale)}}}"))
    return replace(layout, pulleys=placed, marks=marks), tuple(edits)


def _placed(pulley: Pulley, found: Measuring) -> Pulley:
    at, adjuster = [found.centre(name).at_mm for name in points_of(pulley)], pulley.adjuster
    if adjuster is None:
        return replace(pulley, at_mm=at[0])
    if isinstance(adjuster, Arm):
        return replace(pulley, adjuster=replace(adjuster, pivot_mm=at[0]))
    return replace(pulley, adjuster=replace(adjuster, start_mm=at[0], end_mm=at[1]))


def _sized(pulley: Pulley, source: MeasurementsFile, found: Measuring, scale: float) -> Pulley:
    """The pulley with the diameter over its rim that was measured, where the file gives no size of its own.

    By all that was measured, else by calipers alone.
    """
    if pulley.name in source.sized:
        return pulley
    whole = [(size.value_mm, size.sd_mm) for size in found.diameters if size.pulley == pulley.name]
    weights = [(size.sd_mm**-2, size.value_mm) for size in source.diameters if size.pulley == pulley.name]
    total = sum(weight for weight, _ in weights)
    size, sd = whole[0] if whole else (sum(weight * size for weight, size in weights) / total, total**-0.5)
    rounded = _sd(sd, scale, _MOST_DIAMETER_MM, f"the diameter of {pulley.name}")
    unsure = replace(pulley.uncertainty, diameter_mm=rounded)
    return replace(pulley, diameter_mm=size, reading="line" if pulley.on_back else "rim", uncertainty=unsure)


def _sd(value_mm: float, scale: float, most_mm: float, what: str) -> float:
    """Rounded up in the file's unit, so that it is read back as it is. scale: mm for one of them."""
    rounded = rounded_up(value_mm / scale) * scale
    if rounded > most_mm:
        raise CannotEdit(f"{what} is known to {rounded:.2g} mm only: measure it better first")
    return rounded


def _sd_text(value_mm: float | None, scale: float) -> str:
    """Of a key in mm, in which a length in inches carries its unit."""
    return f"{(value_mm or 0.0) / scale:.10g}{' in' if scale == MM_PER_INCH else ''}"


def rounded_up(value: float) -> float:
    """A standard deviation with two digits, never less than it is."""
    if not value > 1e-6:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(value)) - _DIGITS + 1)
    return float(f"{math.ceil(value / step - 1e-9) * step:.{_DIGITS}g}")


def _marks(source: MeasurementsFile, found: Measuring, scale: float) -> Iterator[Mark]:
    for centre in map(found.centre, source.marks):
        if centre.sd_mm is not None and centre.sd_mm <= _MOST_POSITION_MM and centre.name not in found.loose_sides:
            yield Mark(centre.name, centre.at_mm, rounded_up(centre.sd_mm / scale) * scale)


def _edits(pulley: Pulley, source: MeasurementsFile, found: Measuring, scale: float) -> Iterator[_Edit]:
    for name, keys in points_of(pulley).items():
        yield keys, point_text(found.centre(name).at_mm, scale)
    if pulley.name not in source.sized:
        # A smooth face has but one diameter; of grooves it is the rim that shows.
        yield ("diameter" if pulley.on_back else "rim_diameter",), number_text(pulley.diameter_mm, scale)
        yield ("uncertainty", "diameter_mm"), _sd_text(pulley.uncertainty.diameter_mm, scale)
    yield ("uncertainty", "position_mm"), _sd_text(pulley.uncertainty.position_mm, scale)


def with_clashes(source: MeasurementsFile, found: Measuring) -> Measuring:
    """What was found with why no belt can run over it, as where rims overlap: the plainest sign of a misreading.

    None is told while a pulley is open. Without a layout whose places they are, rims that overlap are. Suspects
    without which no belt can run, wherever the points may lie then, come last; others are told where one can.
    """
    if source.laid is not None:
        asked = spring_place(source.laid.layout)
        arms = ((name, each.adjuster) for name, each in source.laid.layout.pulleys.items())
        stand = tuple(f"{name}: its arm points {stops_words(arm)}" for name, arm in arms if isinstance(arm, Arm))
        springs = tuple(f"{each.subject}: {each.message}" for each in asked)
        found = replace(found, springs=springs, arms_stand=stand)
    if _unsettled(found) or (clashes := _clashes_of(source, found)) is None:
        return found
    judged = [(each, _running(source, found, each)) for each in found.errors.suspects]
    clearing = tuple(running for _, running in judged if running is not None)
    others = tuple(each for each, running in judged if running is None)
    errors = replace(found.errors, suspects=(*clearing, *others))
    if not clashes and found.unchecked_arms and source.layout is not None:
        found = replace(found, loops_show_mm=_loops_show(source, found))
    found = replace(found, errors=errors, clashes=clashes, clearing=clearing if clashes or others else ())
    return _mended(source, source.laid, found) if clashes and source.laid else found


def _loops_show(source: MeasurementsFile, found: Measuring) -> tuple[float, float]:
    """From how much belt on, mm, an error of an arm would show in one wire more round the route, and in one belt."""
    route = route_of(_placed_layout(source, found)[0])
    by_places = _gradient(route, found).reshape(-1)
    arms = [math.hypot(*carried) for carried in found.measured.carried_mm.values()]
    path_sd = math.sqrt(max(float(by_places @ found.covariance_mm2 @ by_places), 0.0))
    sds = (usual_sd(source.accuracy, belt, route.needed_mm or 0.0, arms) for belt in (None, route.layout.belt))
    wire, belt = (shows_at(len(found.checked) + 1, math.hypot(sd, path_sd), 1.0) or math.inf for sd in sds)
    return wire, belt


def _running(source: MeasurementsFile, found: Measuring, suspect: GrossError) -> GrossError | None:
    """A suspect where a belt can run without it, at its own places or elsewhere; None where none can."""
    for each in (suspect, *suspect.elsewhere):
        laid = zip(found.centres, each.places.tolist(), strict=True)
        moved = replace(found, centres=tuple(replace(centre, at_mm=(x, y)) for centre, (x, y) in laid))
        if _clashes_of(source, moved) == ():
            return each
    return None


def _mended(source: MeasurementsFile, laid: LayoutFile, found: Measuring) -> Measuring:
    """With the lines of what clashes and, where all readings agree, what to write; places are as measured."""

    def lines(names: tuple[str, ...]) -> str:
        if len(names) == len(laid.layout.pulleys):
            return f"`route`: line {laid.line_of('route')}"
        return ", ".join(f"{name}: line {laid.line_of('pulleys', name)}" for name in names)

    told = tuple(replace(each, got=f"{each.got} ({lines(each.pulleys)})") for each in found.clashes)
    if not (found.errors.fits and found.clashes[0].allowed):
        return replace(found, clashes=told)
    from beltplan.checks.questions import mends_told  # only where no belt runs

    placed, _ = _placed_layout(source, found)
    mending = mends_told(placed, found.clashes, found.clashing, laid.line_of, _MEASURED)
    return replace(found, clashes=told, mending=mending)


def _clashes_of(source: MeasurementsFile, found: Measuring) -> tuple[PathFault, ...] | None:
    """Why no belt can run over the places; None where no layout can be made of them, so that nobody knows."""
    if source.layout is None:
        names, rims = list(found.rims_mm), np.array([*found.rims_mm.values()])
        depth, pairs = overlap(np.array([found.centre(name).at_mm for name in names]).reshape(-1, 2), rims)
        return overlap_faults(names, rims, pairs, depth)
    try:
        layout = _placed_layout(source, found)[0]
    except CannotEdit:
        return None
    try:
        route_of(layout)
    except NoBeltPath as refusal:
        # No reading speaks for the length of an arm: where it is a strange one, that is why.
        arms = [each for each in shape_doubts(layout) if each.keys[2:3] == ("arm",)]
        asked = (PathFault(each.parts, f"{each.wrong} ({each.subject}): {each.advice}", "") for each in arms)
        return (*asked,) or refusal.faults
    return ()


def write_measured(
    path: str, source: MeasurementsFile, found: Measuring, notes: Sequence[str], overwrite: bool
) -> None:
    """Write the layout of a measurements file, with the places that were found.

    The new file is the measurements file's own text, comments and order kept. notes: comments to lead it.
    Raises CannotEdit where places are not settled, readings disagree wildly, or the text cannot be edited,
    FileExistsError, OSError.
    """
    _refuse_unsettled(found)
    placed, edits = _placed_layout(source, found)
    again = contradicting_words(found, ascii(os.path.basename(source.path))[1:-1])
    after = replace(placed, in_doubt=again and again[:LONGEST_TEXT])

    def measured(text: str) -> str:
        text = without_keys(text, (*measuring_under(""), "marks", "in_doubt"))
        if after.in_doubt:
            text = with_value(text, ("in_doubt",), name_text(after.in_doubt))
        for keys, value in edits:
            text = with_value(text, keys, value)
        return head_lines(text, notes) + text

    def check(beside: str) -> None:
        read_back(beside, after)

    write_edited(path, source.path, measured, overwrite, check)


def _refuse_unsettled(found: Measuring) -> None:
    why = _unsettled(found)
    if found.errors.undecided and (times := found.errors.solution.enlarged) > _MOST_ENLARGED:
        why.append(f"the readings contradict each other by {times:.0f} times what their accuracies allow")
    why += [f"no belt can run there: {fault.got}" for fault in found.clashes]
    if why:
        raise CannotEdit("; ".join(why))


def _unsettled(found: Measuring) -> list[str]:
    """Why the pulleys have no place yet. A mark that is open keeps nothing else open: it is left out."""
    marks, why = found.measured.marks, []
    if loose := [each.point for each in found.undetermined if each.point not in marks]:
        why.append(f"no reading fixes {listed(loose)} yet")
    if points := [name for name in found.loose_sides if name not in marks]:
        why.append(f"{listed(points)} can lie in more than one place")
    if found.unseen:
        why.append("no place agrees with `sides`")
    if found.measured.needs_level:
        why.append(f"nothing says what is level, and {listed(found.measured.arms)} counts its angles from there")
    return why

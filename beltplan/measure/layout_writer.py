"""A layout file written from what was measured, with one standard deviation for each pulley."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Layout
from beltplan.drive.mounts import Mark
from beltplan.drive.pulleys import Arm, Pulley, Slide
from beltplan.drive.route import NoBeltPath, PathFault, Route, overlap_faults, route_of
from beltplan.faults import LayoutFaults
from beltplan.geometry.loops import length_by_centre, overlap
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.edits import (
    CannotEdit,
    Keys,
    refuse_aliases,
    with_value,
    without_keys,
)
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.rewriting import number_text, same, write_edited
from beltplan.layoutfile.schema import measuring_under
from beltplan.measure.measurements_file import MeasurementsFile
from beltplan.measure.network import without_motion
from beltplan.measure.study import Measuring

_LEAST_MM = 0.01


_DIGITS = 2
_MOST_POSITION_MM = 100.0
"""The largest standard deviation that a layout takes."""
_MOST_DIAMETER_MM = 50.0
_Edit = tuple[Keys, str | tuple[str, ...]]
_MOST_ENLARGED = 5.0
"""Readings that disagree by more than so many times their accuracies make no layout (common practice, no source)."""


def points_of(pulley: Pulley) -> tuple[str, ...]:
    """Names of the points that were measured for a pulley: its centre, the pivot of its arm, the ends of its slide."""
    if pulley.adjuster is None:
        return (pulley.name,)
    return tuple(f"{pulley.name}.{end}" for end in pulley.adjuster.points)


def spread_of(found: Measuring, layout: Layout) -> Mapping[str, float]:
    """One standard deviation of the place of every pulley, mm, for errors taken as independent of one another.

    A turn or shift of the whole, which neither belt nor wraps mind, is taken out. Then all are scaled alike, so that
    the belt length at the design setting spreads as it does by the covariance of all places. layout: with the places
    found in it; where it has no belt path, nothing is scaled.
    Source: the scaling is our own choice.
    """
    measured = {pulley.name: points_of(pulley) for pulley in layout.pulleys.values()}
    apart = _apart(found, {point for points in measured.values() for point in points})
    variance = {
        name: float(np.mean([apart[point] for point in points]))
        for name, points in measured.items()
        if apart.keys() >= set(points)
    }
    every = {point: variance[name] for name in variance for point in measured[name]}
    scale = _scale(found, layout, every)
    return {name: max(_LEAST_MM, scale * float(np.sqrt(each))) for name, each in variance.items()}


def _apart(found: Measuring, wanted: set[str]) -> dict[str, float]:
    """Variance of each wanted point by its name, mean of both coordinates, with shift and turn of them taken out, mm2.

    Marks do not count: no belt runs over them.
    """
    centres = [(i, centre) for i, centre in enumerate(found.centres) if centre.name in wanted]
    rows = np.array([(2 * i, 2 * i + 1) for i, _ in centres]).reshape(-1)
    places = found.places[[i for i, _ in centres]]
    variance = np.diagonal(without_motion(places, found.covariance_mm2[np.ix_(rows, rows)]))
    own = variance.reshape(-1, 2).mean(axis=1)
    return {centre.name: max(float(each), 0.0) for (_, centre), each in zip(centres, own, strict=True)}


def _scale(found: Measuring, layout: Layout, own: dict[str, float]) -> float:
    """own: variance of each point that counts, mm2."""
    try:
        gradient = _gradient(found, route_of(layout))
    except NoBeltPath:
        return 1.0
    flat = gradient.reshape(-1)
    really = float(flat @ found.covariance_mm2 @ flat)
    pairs = zip(found.centres, gradient, strict=True)
    apart = sum(own.get(centre.name, 0.0) * float(slope @ slope) for centre, slope in pairs)
    return float(np.sqrt(really / apart)) if really > 0.0 and apart > 0.0 else 1.0


def _gradient(found: Measuring, route: Route) -> Floats:
    """Change of the belt length at the design setting with every point, (n, 2) mm per mm."""
    adjuster = route.circuit.adjuster
    by_centre = length_by_centre(route.circuit.loop_at(0.0 if adjuster is None else adjuster.nominal))
    number = {centre.name: i for i, centre in enumerate(found.centres)}
    gradient = np.zeros((len(number), 2))
    for pulley, own in zip(route.pulleys, by_centre, strict=True):
        for name, share in zip(points_of(pulley), _shares(pulley), strict=True):
            if name in number:
                gradient[number[name]] += share * own
    return gradient


def _shares(pulley: Pulley) -> tuple[float, ...]:
    """How far a pulley's centre moves with each of its points."""
    if not isinstance(pulley.adjuster, Slide):
        return (1.0,)
    along = pulley.adjuster.nominal / pulley.adjuster.length_mm
    return (1.0 - along, along)


def _placed_layout(source: MeasurementsFile, found: Measuring) -> tuple[Layout, tuple[_Edit, ...]]:
    """The layout with every place found, and the edits of its text that say so. Raises CannotEdit."""
    layout = source.layout
    if layout is None or not source.has_layout:
        raise CannotEdit(f"a layout needs {', '.join(source.missing)} as well, which {source.path} does not have")
    bare = {name: _sized(_placed(pulley, found), source, found) for name, pulley in layout.pulleys.items()}
    spread = spread_of(found, replace(layout, pulleys=bare))
    placed = {name: _unsure(pulley, spread[name]) for name, pulley in bare.items()}
    edits = [
        (("pulleys", name, *keys), value) for name in placed for keys, value in _edits(placed[name], source, found)
    ]
    marks = tuple(_marks(source, found))
    edits += [(("marks", mark.name), _mark_text(mark, _scale_of(source))) for mark in marks]
    return replace(layout, pulleys=placed, marks=marks), tuple(edits)


def _scale_of(source: MeasurementsFile) -> float:
    return MM_PER_INCH if source.measured.in_inches else 1.0


def _marks(source: MeasurementsFile, found: Measuring) -> Iterator[Mark]:
    """The marks that have one place, each with its standard deviation rounded up; the others are left out."""
    open_points = {point for mirror in found.mirrors for point in mirror.points}
    for name in source.marks:
        centre = found.centre(name)
        if centre.sd_mm is not None and centre.sd_mm <= _MOST_POSITION_MM and name not in open_points:
            yield Mark(name, centre.at_mm, rounded_up(centre.sd_mm))


def _mark_text(mark: Mark, scale: float) -> str:
    x, y = (number_text(number, scale) for number in mark.at_mm)
    return f"{{at: [{x}, {y}], uncertainty_mm: {mark.uncertainty_mm:.10g}}}"


def _edits(pulley: Pulley, source: MeasurementsFile, found: Measuring) -> Iterator[_Edit]:
    """Of the keys of a pulley: its places, its size where that was measured, and how sure these are."""
    scale = _scale_of(source)
    for keys, at_mm in _places_of(pulley, found).items():
        yield keys, tuple(number_text(number, scale) for number in at_mm)
    if pulley.name not in source.sized:
        # A smooth face has but one diameter; of grooves it is the rim that shows.
        yield ("diameter" if pulley.on_back else "rim_diameter",), number_text(pulley.diameter_mm, scale)
        yield ("uncertainty", "diameter_mm"), f"{pulley.uncertainty.diameter_mm:.10g}"
    yield ("uncertainty", "position_mm"), f"{pulley.uncertainty.position_mm:.10g}"


def clashes_of(source: MeasurementsFile, found: Measuring) -> tuple[PathFault, ...]:
    """Why no belt can run over the places found, as where rims overlap: the plainest sign of a misreading.

    None is told while a point is open. Without a layout whose places they are, rims that overlap are.
    """
    if not found.settled:
        return ()
    if not source.has_layout:
        names, rims = list(found.rims_mm), np.array([*found.rims_mm.values()])
        depth, pairs = overlap(np.array([found.centre(name).at_mm for name in names]).reshape(-1, 2), rims)
        return overlap_faults(names, rims, pairs, depth)
    try:
        route_of(_placed_layout(source, found)[0])
    except CannotEdit:
        return ()
    except NoBeltPath as refusal:
        return refusal.faults
    return ()


def _places_of(pulley: Pulley, found: Measuring) -> dict[Keys, tuple[float, float]]:
    """The keys of each place of a pulley, with the place that was found."""
    adjuster = pulley.adjuster
    keys: list[Keys] = [("at",)] if adjuster is None else [(adjuster.kind, end) for end in adjuster.points]
    return {key: found.centre(name).at_mm for key, name in zip(keys, points_of(pulley), strict=True)}


def _placed(pulley: Pulley, found: Measuring) -> Pulley:
    at, adjuster = _places_of(pulley, found), pulley.adjuster
    if isinstance(adjuster, Arm):
        adjuster = replace(adjuster, pivot_mm=at["arm", "pivot"])
    elif adjuster is not None:
        adjuster = replace(adjuster, start_mm=at["slide", "from"], end_mm=at["slide", "to"])
    return replace(pulley, at_mm=at.get(("at",)), adjuster=adjuster)


def _unsure(pulley: Pulley, spread_mm: float) -> Pulley:
    """The same with the standard deviation of its place, rounded up."""
    position = rounded_up(spread_mm)
    if position > _MOST_POSITION_MM:
        raise CannotEdit(f"the position of {pulley.name} is known to {position:.2g} mm only: measure it better first")
    return replace(pulley, uncertainty=replace(pulley.uncertainty, position_mm=position))


def rounded_up(value: float) -> float:
    """A standard deviation with two digits, never less than it is."""
    if not value > 1e-6:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(value)) - _DIGITS + 1)
    return float(f"{math.ceil(value / step - 1e-9) * step:.{_DIGITS}g}")


def _sized(pulley: Pulley, source: MeasurementsFile, found: Measuring) -> Pulley:
    """The pulley with the size that was measured, where the file gives none of its own."""
    if pulley.name in source.sized:
        return pulley
    size, deviation = _size(pulley.name, source, found)
    deviation = rounded_up(deviation)
    if deviation > _MOST_DIAMETER_MM:
        raise CannotEdit(f"the diameter of {pulley.name} is known to {deviation:.2g} mm only: measure it better first")
    uncertainty = replace(pulley.uncertainty, diameter_mm=deviation)
    reading: Literal["line", "rim"] = "line" if pulley.on_back else "rim"
    return replace(pulley, diameter_mm=size, reading=reading, uncertainty=uncertainty)


def _size(name: str, source: MeasurementsFile, found: Measuring) -> tuple[float, float]:
    """A diameter over the rim, with its standard deviation: by all that was measured, else by calipers alone."""
    whole = next((size for size in found.diameters if size.pulley == name), None)
    if whole is not None:
        return whole.diameter_mm, whole.sd_mm
    weights = [(size.sd_mm**-2, size.value_mm) for size in source.diameters if size.pulley == name]
    total = sum(weight for weight, _ in weights)
    return sum(weight * diameter for weight, diameter in weights) / total, total**-0.5


def write_measured(
    path: str, source: MeasurementsFile, found: Measuring, notes: Sequence[str], overwrite: bool
) -> None:
    """Write the layout of a measurements file, with the places that were found.

    The new file is the measurements file's own text, comments and order kept. notes: comments to lead it.
    Raises CannotEdit where places are not settled, readings disagree wildly, or the text cannot be edited,
    FileExistsError, OSError.
    """
    _refuse_unsettled(found)
    after, edits = _placed_layout(source, found)
    write_edited(
        path,
        source.path,
        lambda text: _measured_text(text, edits, notes),
        overwrite,
        lambda beside: _check(beside, after),
    )


def _measured_text(text: str, edits: Sequence[_Edit], notes: Sequence[str]) -> str:
    """A text with what was measured taken out and values put in, led by comments. Raises CannotEdit."""
    measuring = (*measuring_under(""), "marks")
    refuse_aliases(text, measuring)
    text = without_keys(text, measuring)
    for keys, value in edits:
        text = with_value(text, keys, value)
    newline = "\r\n" if "\r\n" in text else "\n"
    return "".join(f"# {note}".rstrip() + newline for note in notes) + text


def _refuse_unsettled(found: Measuring) -> None:
    # A mark that is open keeps nothing else open: it is left out.
    marks, why = found.measured.marks, []
    if loose := [each.point for each in found.undetermined if each.point not in marks]:
        why.append(f"no reading fixes {', '.join(loose)} yet")
    open_points = (point for mirror in found.mirrors for point in mirror.points)
    if points := dict.fromkeys(point for point in open_points if point not in marks):
        why.append(f"{', '.join(points)} can lie in more than one place")
    if found.unseen:
        why.append("no place agrees with `sides`")
    if found.factor > _MOST_ENLARGED:
        why.append(f"the readings contradict each other by {found.factor:.0f} times what their accuracies allow")
    why += [f"no belt can run there: {fault.got}" for fault in found.clashes]
    if why:
        raise CannotEdit("; ".join(why))


def _check(beside: str, after: Layout) -> None:
    try:
        read = read_layout(beside).layout
    except LayoutFaults as faults:
        first = faults.faults[0]
        raise CannotEdit(f"the text would not be a layout: {first.key}: got {first.got}") from None
    if not same(read, after):
        raise CannotEdit("the text would not say what was meant; unusual notation stands in the way")

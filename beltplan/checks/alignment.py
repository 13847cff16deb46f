"""Do the pulleys stand in one plane, for every span, and if not, which of them are to be moved and how far?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby

import numpy as np

from beltplan.checks.limits import Bound, Check, Finding, demanded
from beltplan.drive.belt import MM_PER_INCH, MM_PER_UNIT
from beltplan.drive.layout import Layout, Units
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats, Ints

_STRAIGHT_MM = 0.05
"""Nobody measures less between two planes."""
THINNEST_MM = 0.2
"""Spacers start there (common practice, no source): a smaller movement is no advice."""
_SQUARE_DEG = 0.005
"""A smaller tilt would be told as none."""


def _alignment_findings(route: Route) -> list[Finding]:
    unmeasured = tuple(pulley.name for pulley in route.pulleys if pulley.plane_mm is None)
    if not is_measured(route):
        return [MISALIGNMENT.find("note", "belt", "alignment not judged", "give `plane` for each pulley")]
    wrong = f"no `plane` is given for {', '.join(unmeasured)}: taken as 0, not as measured"
    found = [MISALIGNMENT.find("note", "belt", wrong, parts=unmeasured)] if unmeasured else []
    angles = entry_angles_deg(route)
    bounds = [maximum_misalignment(route.layout, *ends) for ends in route.spans]
    askew = [i for i, bound in enumerate(bounds) if bound.severity(angles[i])]
    offsets = shims(route) if askew else {}
    moves = shim_words(route, offsets)
    return found + [finding for i in askew for finding in _askew(route, i, float(angles[i]), bounds[i], moves)]


def is_measured(route: Route) -> bool:
    """Whether alignment can be judged: a plane or a tilt of any pulley is given."""
    return any(pulley.plane_mm is not None or any(pulley.tilt_deg) for pulley in route.pulleys)


def entry_angles_deg(route: Route) -> Floats:
    """How far every span of a route runs askew, (n)."""
    each = zip(route.spans, route.loop.span, route.loop.direction, strict=True)
    return np.array([float(misalignment_deg(*ends, span, along)) for ends, span, along in each])


def _askew(route: Route, index: int, angle_deg: float, bound: Bound, moves: dict[str, str]) -> list[Finding]:
    names = route.circuit.ends(index)
    wrong = f"{_causes(route, index)} {bound.words(angle_deg, 'deg', decimals=2)}"
    squared = {pulley.name: squaring_words(pulley) for pulley in tilted(route)}
    first = next((moves[name] for name in names if name in moves), "")
    advice = ", and ".join([*(squared[name] for name in names if name in squared), *([first] if first else [])])
    advice = advice or next(_planned_words(route, index), _MEASURE_AGAIN)
    return MISALIGNMENT.judge(" to ".join(names), angle_deg, bound, wrong, advice, parts=names)


_MEASURE_AGAIN = f"measure again: it lacks less than the thinnest spacer, {THINNEST_MM:g} mm"


def _planned_words(route: Route, index: int) -> Iterator[str]:
    """How to hang what is only planned at an end of a span, of which nothing is measured yet: straight between both."""
    n, planes = len(route.pulleys), [_plane_mm(pulley) for pulley in route.pulleys]
    for i in (index, (index + 1) % n):
        straight_mm = np.interp(
            0.0, [-route.loop.span[i - 1], route.loop.span[i]], [planes[i - 1], planes[(i + 1) % n]]
        )
        by_mm, pulley = float(straight_mm) - planes[i], route.pulleys[i]
        if pulley.planned and abs(by_mm) >= _STRAIGHT_MM:
            yield f"{pulley.name} is only planned: hang it {abs(by_mm):.1f} mm {way_words(by_mm)}"


_STEPS: Mapping[Units, Mapping[float, str]] = {
    "in": {MM_PER_INCH: "a whole inch"},
    "mm": {10.0: "10 mm", 100.0: "100 mm"},
}
_NEAR_MM = 1.0
"""A plane so near to one whole step of its tape out of line may be misread by it: common practice, no source."""


def misread_words(layout: Layout, offsets: Mapping[str, float]) -> str:
    """The question whether planes were misread by a whole step, before they are moved by so much; '' otherwise."""
    asked = dict[str, dict[str, float]]()
    for name, offset_mm in offsets.items():
        plane_mm, unit_mm = layout.pulleys[name].plane_mm, MM_PER_UNIT[layout.units]
        steps = (each for each in _STEPS[layout.units].items() if abs(abs(offset_mm) - each[0]) <= _NEAR_MM)
        for mm, step in steps if plane_mm is not None else ():
            asked.setdefault(step, {})[name] = (plane_mm + np.copysign(mm, offset_mm)) / unit_mm
    words = ""
    for step, meant in asked.items():
        words += f"is `plane` of {' and '.join(meant)} misread by {step}?"
        # Where several are off, or there are but two, another one may be misread instead.
        if len(meant) == 1 and len(layout.route) > 2:
            (plane,) = meant.values()
            words += f" Then write `plane: {round(plane, 5) + 0.0:g}`."
        words += " Else "
    return words


def _causes(route: Route, index: int) -> str:
    (start, end), span = route.spans[index], float(route.loop.span[index])
    offset, leaning = abs(_plane_mm(end) - _plane_mm(start)), leaning_words(route, index)
    if not leaning:
        return f"{offset:.1f} mm out of line over {span:.0f} mm is"
    return f"{offset:.1f} mm out of line over {span:.0f} mm, {leaning}:" if offset >= _STRAIGHT_MM else f"{leaning}:"


def leaning_words(route: Route, index: int) -> str:
    """How far the face leans, in words, at the end where a span runs more askew; empty where it does not."""
    (start, end), span, along = route.spans[index], route.loop.span[index], route.loop.direction[index]
    run = float(np.degrees(np.arctan2(_plane_mm(end) - _plane_mm(start), span)))
    lean, name = max(
        ((float(_leaning_deg(pulley, along)), pulley.name) for pulley in (start, end)),
        key=lambda each: abs(run - each[0]),
    )
    return f"the face of {name} leans {abs(lean):.2f} deg along it" if abs(lean) >= _SQUARE_DEG else ""


def tilted(route: Route) -> list[Pulley]:
    """Pulleys whose tilt alone puts a span beside them beyond its caution: no shim helps, they are to be set square."""
    ample = [maximum_misalignment(route.layout, *ends).ample for ends in route.spans]
    along = route.loop.direction
    return [
        pulley
        for i, pulley in enumerate(route.pulleys)
        if any(abs(_leaning_deg(pulley, along[j])) > ample[j] for j in (i - 1, i))
    ]


def way_words(mm: float) -> str:
    """Which way a movement along the crank's axis goes: + is toward the viewer."""
    return f"toward the {'viewer' if mm > 0.0 else 'engine'}"


def squaring_words(pulley: Pulley) -> str:
    """What sets a pulley's face square, in words."""
    steps = [
        f"its {edge} edge {abs(deg):.2f} deg ({pulley.diameter_mm * np.tan(np.radians(abs(deg))):.1f} mm across its "
        f"face) {way_words(-deg)}"
        for edge, deg in zip(("right", "top"), pulley.tilt_deg, strict=True)
        if deg
    ]
    return f"set {pulley.name} square, {' and '.join(steps)}"


def shim_words(route: Route, offsets: Mapping[str, float]) -> dict[str, str]:
    """What to move, in words, for each pulley of `shims`; neighbours that are moved together share one sentence."""
    moves: dict[str, str] = {}
    for names in _moved_together(route, offsets):
        each = [route.layout.pulleys[name] for name in names]
        unmeasured = [pulley.name for pulley in each if pulley.plane_mm is None and not pulley.planned]
        first = f"measure `plane` of {' and '.join(unmeasured)} first"
        moves |= dict.fromkeys(names, first if unmeasured else _move_words(route, names, offsets))
    return moves


def shim_steps(route: Route, offsets: Mapping[str, float]) -> str:
    """What to move, of each pulley by how much and which way, and nothing else."""
    return " and ".join(f"move {_steps(names, offsets)}" for names in _moved_together(route, offsets))


def _moved_together(route: Route, offsets: Mapping[str, float]) -> list[list[str]]:
    runs = groupby(route.pulleys, lambda pulley: pulley.name in offsets)
    return [[pulley.name for pulley in run] for moved, run in runs if moved]


def _steps(names: list[str], offsets: Mapping[str, float]) -> str:
    ways = (
        (way_words(side), [f"{name} {abs(offsets[name]):.1f} mm" for name in names if offsets[name] * side > 0.0])
        for side in (-1.0, 1.0)
    )
    return ", ".join(f"{' and '.join(steps)} {way}" for way, steps in ways if steps)


def _move_words(route: Route, names: list[str], offsets: Mapping[str, float]) -> str:
    after = {pulley.name: _plane_mm(pulley) + offsets.get(pulley.name, 0.0) for pulley in route.pulleys}
    spans = [(a.name, b.name) for a, b in route.spans if a.name in names or b.name in names]
    lean = any(any(pulley.tilt_deg) for pulley in route.pulleys if any(pulley.name in ends for ends in spans))
    straight = not lean and all(abs(after[a] - after[b]) < _STRAIGHT_MM for a, b in spans)
    whose = "both its" if len(names) == 1 else "all their"
    asked = misread_words(route.layout, {name: offsets[name] for name in names})
    return f"{asked}move {_steps(names, offsets)}: then {whose} spans are straight{'' if straight else ' enough'}"


def _plane_mm(pulley: Pulley) -> float:
    return pulley.plane_mm or 0.0


def misalignment_deg(start: Pulley, end: Pulley, span_mm: Floats, along: Floats) -> Floats:
    """How far a span runs askew to the faces at its ends, the worse of both, for spans of any length and direction,
    (...); no leading axes where it is in line for all. along: (..., 2), its unit vector.

    Source: entry = atan(difference of plane / span length) - slope of the pulley's plane along the span.

    >>> ahead, behind = Pulley("a", "idler", 60.0, plane_mm=2.0), Pulley("b", "idler", 60.0, plane_mm=0.0)
    >>> misalignment_deg(ahead, behind, np.array([200.0, 400.0]), np.array([1.0, 0.0])).round(2).tolist()
    [0.57, 0.29]
    >>> leaning = Pulley("c", "idler", 60.0, plane_mm=0.0, tilt_deg=(0.5, 0.0))
    >>> ways = np.radians([0.0, 30.0, 60.0, 90.0])
    >>> along = np.stack((np.cos(ways), np.sin(ways)), axis=-1)
    >>> misalignment_deg(leaning, behind, np.array(200.0), along).round(2).tolist()
    [0.5, 0.43, 0.25, 0.0]
    """
    offset = _plane_mm(end) - _plane_mm(start)
    if not (offset or any(start.tilt_deg) or any(end.tilt_deg)):
        return np.zeros(())
    return _askew_deg(np.asarray(offset), span_mm, along, (start, end))


def _askew_deg(offset_mm: Floats, span_mm: Floats, along: Floats, ends: tuple[Pulley, Pulley]) -> Floats:
    """The same where the second pulley stands so far ahead of the first, (...), whatever planes are given."""
    run = np.degrees(np.arctan2(offset_mm, span_mm))
    return np.asarray(np.maximum(*(np.abs(run - _leaning_deg(pulley, along)) for pulley in ends)))


def _leaning_deg(pulley: Pulley, along: Floats) -> Floats:
    """Slope of a pulley's plane along a direction, (..., 2) -> (...); + where it leads toward the viewer."""
    return np.asarray(along @ np.array(pulley.tilt_deg))


def maximum_misalignment(layout: Layout, start: Pulley, end: Pulley) -> Bound:
    """How far askew a span may run: the grooved limit where either end is grooved."""
    smooth = start.on_back and end.on_back
    return demanded(layout, "max_misalignment_smooth_deg" if smooth else "max_misalignment_deg", (start.name, end.name))


# Which pulleys to move, and how far, so that every span is straight enough.

_STEEPEST_DEG = 89.0
_NOISE_MM = 1e-9


def shims(route: Route, least_mm: float = THINNEST_MM) -> dict[str, float]:
    """The fewest pulleys to move fore and aft so that no span is askew by more than its caution allows.

    Returns, for each pulley to be moved, by name in the belt's order, the offset in mm: + toward the viewer, - toward
    the engine. Empty where all spans are straight enough already. The driver stays: the others are brought into line
    with it. Of sets of one size, one with fewer pulleys that were not measured, then the smallest movement in all.
    Moved pulleys stand on a straight line between the nearest that stay, so that what play there is is shared. A
    pulley whose tilt alone is too much counts as set square. Movements of less than least_mm are left out.
    """
    n, plane = len(route.pulleys), np.array([_plane_mm(pulley) for pulley in (*route.pulleys, route.pulleys[0])])
    # How far each may stand ahead of the driver, as all before it stand as far back, or ahead, as they may.
    low, high, play = (np.append(0.0, np.cumsum(each)) for each in _play_mm(route))
    # Round the belt from the driver to the driver, from one pulley that stays to the next: the best way to each.
    best: list[tuple[tuple[int, int, float], dict[str, float]]] = [((0, 0, 0.0), {})]
    for j in range(1, n + 1):
        ways = []
        for i in range(j):
            if low[j] - low[i] - _NOISE_MM <= plane[j] - plane[i] <= high[j] - high[i] + _NOISE_MM:
                (count, guessed, far), moved = best[i]
                between = slice(i, j + 1)
                offsets = _between(plane[between], low[between], high[between], play[between]) - plane[i + 1 : j]
                new = {pulley.name: float(by) for pulley, by in zip(route.pulleys[i + 1 : j], offsets, strict=True)}
                guessed += sum(pulley.plane_mm is None for pulley in route.pulleys[i + 1 : j])
                ways.append(((count + len(new), guessed, far + float(np.abs(offsets).sum())), moved | new))
        # All between may be moved, so there is always a way from the driver, once round to it.
        best.append(min(ways, key=lambda way: way[0], default=((n + 1, 0, 0.0), {})))
    return {name: by for name, by in best[n][1].items() if abs(by) > least_mm - _NOISE_MM}


def _between(plane: Floats, low: Floats, high: Floats, play: Floats) -> Floats:
    """Planes of pulleys between two that stay, whose own are the first and the last: on a straight line where that is
    straight enough; else, since faces lean, at the same share of the play of each.
    """
    straight = np.interp(play, play[[0, -1]], plane[[0, -1]])
    steps = np.diff(straight)
    if not ((np.diff(low) - _NOISE_MM <= steps) & (steps <= np.diff(high) + _NOISE_MM)).all():
        low, high, step = low - low[0], high - high[0], plane[-1] - plane[0]
        # Where nothing has any play, high is low.
        straight = plane[0] + low + (high - low) * (step - low[-1]) / max(high[-1] - low[-1], _NOISE_MM)
    return np.asarray(straight[1:-1])


def _play_mm(route: Route) -> tuple[Floats, Floats, Floats]:
    """How far the end of every span may stand behind its start (negative), and ahead of it, before it is a caution;
    and the same of faces that do not lean. One that is to be set square counts as square.
    """
    ample = np.array([min(maximum_misalignment(route.layout, *ends).ample, _STEEPEST_DEG) for ends in route.spans])
    askew = {pulley.name for pulley in tilted(route)}
    lean = np.array(
        [
            [0.0 if pulley.name in askew else float(_leaning_deg(pulley, along)) for pulley in ends]
            for ends, along in zip(route.spans, route.loop.direction, strict=True)
        ]
    )
    angles = np.stack((lean.max(axis=1) - ample, lean.min(axis=1) + ample, ample))
    low, high, play = route.loop.span * np.tan(np.radians(np.clip(angles, -_STEEPEST_DEG, _STEEPEST_DEG)))
    return low, high, play


MISALIGNMENT = Check(
    "misalignment",
    "a span that runs askew, between pulleys out of line fore and aft or with tilted faces",
    _alignment_findings,
    limits=("max_misalignment_deg", "max_misalignment_smooth_deg"),
)


# In which grooves of wide pulleys the belt lines up best.


_STAY = 1e-9
"""What a change costs, so that of equal choices the belt stays where it is."""
_LEAST_DEG = 1e-3
"""A caution at nothing would leave no share to compare."""


def best_grooves(route: Route) -> dict[str, int]:
    """The first groove to use, counted from the engine, of every pulley where another than the present one is better.

    Best is the smallest sum of squares over all spans of the entry angle as a share of where its caution begins.
    """
    pulleys, ribs = route.pulleys, route.layout.belt.ribs
    firsts = [
        np.arange(1, p.grooves - ribs + 2)
        if p.grooves is not None and p.grooves > ribs and p.plane_mm is not None and not p.on_back
        else np.array([p.first_groove_used])
        for p in pulleys
    ]
    if all(len(first) == 1 for first in firsts):
        return {}
    present = [int(np.abs(first - p.first_groove_used).argmin()) for first, p in zip(firsts, pulleys, strict=True)]
    costs = _costs(route, firsts)
    chosen = min((_round(costs, start) for start in range(len(firsts[0]))), key=lambda way: _cost(costs, way))
    if not _cost(costs, chosen) < _cost(costs, present):
        return {}
    better = zip(pulleys, firsts, chosen, strict=True)
    return {p.name: int(first[i]) for p, first, i in better if first[i] != p.first_groove_used}


def _costs(route: Route, firsts: list[Ints]) -> list[Floats]:
    pitch, costs = route.layout.belt.profile.pitch_mm or 0.0, list[Floats]()
    moved = [first - p.first_groove_used for first, p in zip(firsts, route.pulleys, strict=True)]
    planes = [(p.plane_mm or 0.0) + pitch * by for p, by in zip(route.pulleys, moved, strict=True)]
    for i, ends in enumerate(route.spans):
        j = (i + 1) % len(planes)
        angle = _askew_deg(planes[j] - planes[i][:, None], route.loop.span[i], route.loop.direction[i], ends)
        ample = max(maximum_misalignment(route.layout, *ends).ample, _LEAST_DEG)
        costs.append((angle / ample) ** 2 + _STAY * (moved[j] != 0))
    return costs


def _round(costs: list[Floats], start: int) -> list[int]:
    """The cheapest way round the belt that begins and ends with that groove of the driver, the best way to each."""
    total, back = costs[0][start], list[Ints]()
    for cost in costs[1:]:
        ways = total[:, None] + cost
        back.append(ways.argmin(axis=0))
        total = ways.min(axis=0)
    way = [start]
    for earlier in reversed(back):
        way.append(int(earlier[way[-1]]))
    return [start, *reversed(way[1:])]


def _cost(costs: list[Floats], way: list[int]) -> float:
    return sum(float(cost[i, j]) for cost, i, j in zip(costs, way, way[1:] + way[:1], strict=True))

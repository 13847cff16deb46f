"""Do the pulleys stand in one plane, for every span, and if not, which of them are to be moved and how far?"""

from __future__ import annotations

from itertools import groupby

import numpy as np

from beltplan.checks.limits import Bound, Check, Finding, demanded
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats

_STRAIGHT_MM = 0.05
"""Nobody measures less between two planes."""


def alignment_findings(route: Route) -> list[Finding]:
    """Spans whose ends stand too far out of one plane for their length."""
    unmeasured = tuple(pulley.name for pulley in route.pulleys if pulley.plane_mm is None)
    if len(unmeasured) == len(route.pulleys):
        return [MISALIGNMENT.find("note", "belt", "alignment not judged", "give `plane` for each pulley")]
    wrong = f"no `plane` is given for {', '.join(unmeasured)}: taken as 0, not as measured"
    found = [MISALIGNMENT.find("note", "belt", wrong, parts=unmeasured)] if unmeasured else []
    askew = []
    for (start, end), span in zip(route.spans, route.loop.span, strict=True):
        bound, angle = maximum_misalignment(route.layout, start, end), float(misalignment_deg(start, end, span))
        if bound.severity(angle):
            askew.append((start, end, float(span), angle, bound))
    moves = _moves(route) if askew else {}
    return found + [finding for each in askew for finding in _askew(*each, moves)]


def _askew(
    start: Pulley, end: Pulley, span_mm: float, angle_deg: float, bound: Bound, moves: dict[str, str]
) -> list[Finding]:
    offset, ends = abs(_plane_mm(end) - _plane_mm(start)), (start.name, end.name)
    wrong = f"{offset:.1f} mm out of line over {span_mm:.0f} mm is {bound.words(angle_deg, 'deg', decimals=2)}"
    advice = next((moves[name] for name in ends if name in moves), "")
    return MISALIGNMENT.judge(" to ".join(ends), angle_deg, bound, wrong, advice, parts=ends)


def _moves(route: Route) -> dict[str, str]:
    """What to move, in words, for each pulley of `shims`; neighbours that are moved together share one sentence."""
    offsets = shims(route)
    moves: dict[str, str] = {}
    for moved, together in groupby(route.pulleys, lambda pulley: pulley.name in offsets):
        run = tuple(together)
        names, unmeasured = [p.name for p in run], [p.name for p in run if p.plane_mm is None]
        if moved and unmeasured:
            moves |= dict.fromkeys(names, f"measure `plane` of {' and '.join(unmeasured)} first")
        elif moved:
            moves |= dict.fromkeys(names, _move_words(route, names, offsets))
    return moves


def _move_words(route: Route, names: list[str], offsets: dict[str, float]) -> str:
    ways = (
        (way, [f"{name} {abs(offsets[name]):.1f} mm" for name in names if (offsets[name] > 0.0) == ahead])
        for way, ahead in (("engine", False), ("viewer", True))
    )
    steps = ", ".join(f"{' and '.join(steps)} toward the {way}" for way, steps in ways if steps)
    after = {pulley.name: _plane_mm(pulley) + offsets.get(pulley.name, 0.0) for pulley in route.pulleys}
    spans = [(a.name, b.name) for a, b in route.spans if a.name in names or b.name in names]
    straight = all(abs(after[a] - after[b]) < _STRAIGHT_MM for a, b in spans)
    whose = "both its" if len(names) == 1 else "all their"
    return f"move {steps}: then {whose} spans are straight{'' if straight else ' enough'}"


def _plane_mm(pulley: Pulley) -> float:
    return pulley.plane_mm or 0.0


def misalignment_deg(start: Pulley, end: Pulley, span_mm: Floats) -> Floats:
    """How far a span runs askew, for spans of any length, (...); no leading axes where it is in line for all.

    Source: angle = atan(|difference of plane| / span length).

    >>> ahead, behind = Pulley("a", "idler", 60.0, plane_mm=2.0), Pulley("b", "idler", 60.0, plane_mm=0.0)
    >>> misalignment_deg(ahead, behind, np.array([200.0, 400.0])).round(2).tolist()
    [0.57, 0.29]
    """
    offset = abs(_plane_mm(end) - _plane_mm(start))
    return np.asarray(np.degrees(np.arctan2(offset, span_mm))) if offset else np.zeros(())


def maximum_misalignment(layout: Layout, start: Pulley, end: Pulley) -> Bound:
    """How far askew a span may run: the grooved limit where either end is grooved."""
    smooth = start.on_back and end.on_back
    return demanded(layout, "max_misalignment_smooth_deg" if smooth else "max_misalignment_deg", (start.name, end.name))


# Which pulleys to move, and how far, so that every span is straight enough.

_STEEPEST_DEG = 89.0
_NOISE_MM = 1e-9


def shims(route: Route) -> dict[str, float]:
    """The fewest pulleys to move fore and aft so that no span is askew by more than its caution allows.

    Returns, for each pulley to be moved, by name in the belt's order, the offset in mm: + toward the viewer, - toward
    the engine. Empty where all spans are straight enough already. The driver stays: the others are brought into line
    with it. Of sets of one size, one with fewer pulleys that were not measured, then the smallest movement in all.
    Moved pulleys stand on a straight line between the nearest that stay, so that what play there is is shared.
    """
    n, plane = len(route.pulleys), np.array([_plane_mm(pulley) for pulley in (*route.pulleys, route.pulleys[0])])
    along = np.append(0.0, np.cumsum(_play_mm(route)))
    # Round the belt from the driver to the driver, from one pulley that stays to the next: the best way to each.
    best: list[tuple[tuple[int, int, float], dict[str, float]]] = [((0, 0, 0.0), {})]
    for j in range(1, n + 1):
        ways = []
        for i in range(j):
            if abs(plane[j] - plane[i]) <= along[j] - along[i] + _NOISE_MM:
                (count, guessed, far), moved = best[i]
                offsets = np.interp(along[i + 1 : j], along[[i, j]], plane[[i, j]]) - plane[i + 1 : j]
                new = {pulley.name: float(by) for pulley, by in zip(route.pulleys[i + 1 : j], offsets, strict=True)}
                guessed += sum(pulley.plane_mm is None for pulley in route.pulleys[i + 1 : j])
                ways.append(((count + len(new), guessed, far + float(np.abs(offsets).sum())), moved | new))
        # All between may be moved, so there is always a way from the driver, once round to it.
        best.append(min(ways, key=lambda way: way[0], default=((n + 1, 0, 0.0), {})))
    return best[n][1]


def _play_mm(route: Route) -> Floats:
    """How far the ends of every span may stand out of one plane before it is a caution."""
    ample = [min(maximum_misalignment(route.layout, *ends).ample, _STEEPEST_DEG) for ends in route.spans]
    return np.asarray(route.loop.span * np.tan(np.radians(ample)))


MISALIGNMENT = Check(
    "misalignment",
    "a span that runs askew between two pulleys out of line fore and aft",
    alignment_findings,
    limits=("max_misalignment_deg", "max_misalignment_smooth_deg"),
)

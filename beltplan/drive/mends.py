"""What one change would give a belt a path that has none: other sides of the belt, other orders, slips at a place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Pulley, Slide
from beltplan.drive.route import NoBeltPath, Route, route_of
from beltplan.drive.travel import place_of
from beltplan.geometry.crossing import WHOLE_LOOP_TURNS, is_sound
from beltplan.geometry.loops import close_loop
from beltplan.geometry.vectors import Bools

_AT_ONCE = 64
_MOST_LAID = 12
"""So many of those with a sound path at the design setting are laid as a whole."""
_MOST_TOLD = 4


@dataclass(frozen=True, eq=False)
class Mend:
    """One change that makes a path. keys: where in the file. question: what may be the slip. words: what to write.
    route: the belt then.
    """

    keys: tuple[str, ...]
    question: str
    words: str
    route: Route


def mends_of(layout: Layout, first: Sequence[str] = (), overlap: bool = False) -> tuple[Mend, ...]:
    """Single changes with which the belt has a path: other sides, slips at a place, other orders, last pulleys put in.

    first: names of pulleys that are looked at before all others. overlap: whether these overlap, so that only another
    place of one of them can help.
    """
    ways = [_flips(layout, first), _slips(layout, layout.route), _moves(layout), _joins(layout)]
    kinds = [list(kind) for kind in ([_slips(layout, first)] if overlap else ways)]
    good = (ok for kind in kinds for ok in _sound([changed for *_, changed in kind]))
    sound = (change for change, ok in zip((each for kind in kinds for each in kind), good, strict=True) if ok)
    laid = ((change, _laid(change[-1])) for change in islice(sound, _MOST_LAID))
    return tuple(Mend(*change[:3], route) for change, route in laid if route)


def mends_text(mends: Iterable[tuple[Mend, int]]) -> str:
    """The changes that leave no problem; where each leaves some, the number that it leaves, the fewest first."""
    left = sorted(mends, key=lambda mend: mend[1])
    told = [(mend, "it works (tried)") for mend, problems in left if not problems] or [
        (mend, f"a belt can be laid, with {problems} problem{'s'[: problems > 1]} (tried)") for mend, problems in left
    ]
    words = [f"{mend.words} {works}" for mend, works in told[:_MOST_TOLD]]
    return told[0][0].question + "With " + ". Or: with ".join(words)


_Point = tuple[float, float]
_Change = tuple[tuple[str, ...], str, str, Layout]
_ROUTE = ("route",)


def _joins(layout: Layout) -> Iterator[_Change]:
    """Each accessory that the route leaves out, put in at each place."""
    for pulley in layout.unrouted:
        for place in range(len(layout.route) if pulley.at_mm is not None and not pulley.guides_only else 0):
            order = (*layout.route[: place + 1], pulley.name, *layout.route[place + 1 :])
            between = f"between {order[place]} and {order[(place + 2) % len(order)]}"
            question, words = f"Is {pulley.name} forgotten in `route`? ", f"{pulley.name} {between} in `route`"
            yield _ROUTE, question, words, replace(layout, route=order)


def _flips(layout: Layout, first: Sequence[str]) -> Iterator[_Change]:
    for name in sorted(layout.route, key=lambda name: name not in first):
        pulley, to_back = layout.pulleys[name], layout.pulleys[name].belt_side == "ribbed"
        if pulley.drives or (to_back and (layout.belt.back_mm is None or pulley.grooves is not None)):
            continue
        flipped = replace(pulley, belt_side="back" if to_back else "ribbed")
        side, word = ("back", "back") if to_back else ("ribs", "ribbed")
        question, words = f"Does {name} run on the belt's {side}? ", f"`belt_side: {word}` for {name}"
        yield ("pulleys", name, "belt_side"), question, words, layout.with_pulley(flipped)


def _slips(layout: Layout, names: Sequence[str]) -> Iterator[_Change]:
    """Each place with x and y exchanged, and with the other sign at one of them."""
    scale = MM_PER_INCH if layout.units == "in" else 1.0
    for pulley in map(layout.pulleys.__getitem__, names):
        exchanged, sign = f"Are x and y of {pulley.name} exchanged? ", f"Has {pulley.name} a wrong sign? "
        for key, (x, y), moved in _placed(pulley):
            for question, slip in ((exchanged, (y, x)), (sign, (-x, y)), (sign, (x, -y))):
                words = f"`{key}: [{slip[0] / scale:.6g}, {slip[1] / scale:.6g}]` for {pulley.name}"
                if slip != (x, y):
                    yield ("pulleys", pulley.name, key), question, words, layout.with_pulley(moved(slip))


def _placed(pulley: Pulley) -> Iterator[tuple[str, _Point, Callable[[_Point], Pulley]]]:
    """The key of each point that places a pulley, the point, and the pulley with another in its place."""
    held = pulley.adjuster
    if pulley.at_mm is not None:
        yield "at", pulley.at_mm, lambda slip: replace(pulley, at_mm=slip)
    elif isinstance(held, Arm):
        yield "pivot", held.pivot_mm, lambda slip: replace(pulley, adjuster=replace(held, pivot_mm=slip))
    elif isinstance(held, Slide):
        yield "from", held.start_mm, lambda slip: replace(pulley, adjuster=replace(held, start_mm=slip))
        yield "to", held.end_mm, lambda slip: replace(pulley, adjuster=replace(held, end_mm=slip))


def _moves(layout: Layout) -> Iterator[_Change]:
    """Each other order that comes of one pulley taken out and put in elsewhere, once."""
    seen = {_one_of_both_ways(layout.route)}
    for name in layout.route:
        rest = tuple(other for other in layout.route if other != name)
        for place in range(len(rest)):
            order = (*rest[: place + 1], name, *rest[place + 1 :])
            if (shape := _one_of_both_ways(order)) not in seen:
                seen.add(shape)
                words = f"{name} between {rest[place]} and {rest[(place + 1) % len(rest)]} in `route`"
                yield _ROUTE, "", words, replace(layout, route=order)


def _one_of_both_ways(order: Sequence[str]) -> tuple[str, ...]:
    """The same for an order from any start, either way round."""
    turned = [tuple(way) for way in (order, order[::-1])]
    starts = [way.index(min(way)) for way in turned]
    return min(way[start:] + way[:start] for way, start in zip(turned, starts, strict=True))


def _sound(layouts: Sequence[Layout]) -> list[bool]:
    """Whether each has a sound path at its design setting, one way round or the other."""
    found: list[bool] = []
    for start in range(0, len(layouts), _AT_ONCE):
        routed = [layout.routed for layout in layouts[start : start + _AT_ONCE]]
        ways = [_sound_one_way(layouts[0], [pulleys[::step] for pulleys in routed]) for step in (1, -1)]
        found += [bool(each) for each in ways[0] | ways[1]]
    return found


def _sound_one_way(layout: Layout, orders: Sequence[tuple[Pulley, ...]]) -> Bools:
    place = {id(pulley): place_of(pulley) for order in orders for pulley in order}
    centre = np.array([[place[id(pulley)] for pulley in order] for order in orders])
    radius = np.array([[pulley.line_radius_mm(layout.belt) for pulley in order] for order in orders])
    sense = np.array([[layout.sense_of(pulley) for pulley in order] for order in orders], dtype=float)
    # Most orders do not make one turn: only the others are looked at for crossings.
    found = np.abs(close_loop(centre, radius, sense).turns - layout.loop_sense) < WHOLE_LOOP_TURNS
    found[found] = is_sound(close_loop(centre[found], radius[found], sense[found]), layout.loop_sense)
    return np.asarray(found)


def _laid(layout: Layout) -> Route | None:
    try:
        return route_of(layout)
    except NoBeltPath:
        return None

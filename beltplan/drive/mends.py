"""What one change would give a belt a path that has none: other sides of the belt, other orders, slips at a place."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice

import numpy as np

from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Pulley, Slide
from beltplan.drive.route import NoBeltPath, Route, route_of
from beltplan.drive.travel import place_of
from beltplan.geometry.crossing import WHOLE_LOOP_TURNS, is_sound
from beltplan.geometry.loops import close_loop
from beltplan.geometry.vectors import Bools

_AT_ONCE = 64
_MOST_LAID = 12
_MOST_RARE = 7
_MOST_PULLEYS = 16
"""So many of those with a sound path at the design setting are laid as a whole, of common changes and of rare ones;
rare ones are not tried with more pulleys, for they would take too long.
"""
_MOST_TOLD = 4


@dataclass(frozen=True, eq=False)
class Mend:
    """One change that makes a path. keys: where in the file. question: what may be the slip. words: what to write.
    route: the belt then. rare: a slip that is only told where it leaves no problem.
    """

    keys: tuple[str, ...]
    question: str
    words: str
    route: Route
    rare: bool = False


def mends_of(layout: Layout, first: Sequence[str] = (), overlap: bool = False) -> tuple[Mend, ...]:
    """Single changes with which the belt has a path: other sides, slips at a place, other orders, last pulleys put in.

    first: names of pulleys that are looked at before all others. overlap: whether these overlap, so that only another
    place or size of one of them can help.
    """
    if overlap:
        common, rare = [_slips(layout, first, _turned)], [_sizes(layout, first), _retypings(layout, first)]
    else:
        common = [_flips(layout, first), _slips(layout, layout.route, _turned), _moves(layout), _joins(layout)]
        rare = [_exchanges(layout), _retypings(layout, layout.route)]
    return (*_laid_first(common), *_rare(layout, rare))


def tries_of(layout: Layout, names: Sequence[str], strange: bool) -> tuple[Mend, ...]:
    """Single changes of a belt that lies as typed, but badly. names: pulleys with a problem.

    strange: whether so much is wrong that places are in doubt, not only orders, sides and sizes.
    """
    plain = [_moves(layout, near=True), _flips(layout, names), _sizes(layout, names)]
    places = [_exchanges(layout), _retypings(layout, names)] if strange else []
    # Only so many are laid: those of the pulleys with a problem come first.
    slips = _laid_first([_slips(layout, tuple(dict.fromkeys((*names, *layout.route))), _turned)])
    return (*slips, *_rare(layout, plain), *_rare(layout, places))


def _rare(layout: Layout, ways: Iterable[Iterable[_Change]]) -> Iterator[Mend]:
    return _laid_first(ways if len(layout.route) <= _MOST_PULLEYS else (), _MOST_RARE)


def _laid_first(ways: Iterable[Iterable[_Change]], most: int = _MOST_LAID) -> Iterator[Mend]:
    kinds = [list(way) for way in ways]
    good = (ok for kind in kinds for ok in _sound([changed for *_, changed in kind]))
    sound = (change for change, ok in zip((each for kind in kinds for each in kind), good, strict=True) if ok)
    laid = ((change, _laid(change[-1])) for change in islice(sound, most))
    return (Mend(*change[:3], route, most == _MOST_RARE) for change, route in laid if route)


def mends_text(mends: Iterable[tuple[Mend, int]]) -> str:
    """The changes that leave no problem, rare ones where no other does; else the number that each leaves."""
    left = sorted(mends, key=lambda mend: (mend[1], mend[0].rare))
    clean = [mend for mend, problems in left if not problems]
    told = [(mend, "it works (tried)") for mend in clean if mend.rare == clean[0].rare] or [
        (mend, f"a belt can be laid, with {problems} problem{'s'[: problems > 1]} (tried)")
        for mend, problems in left
        if not mend.rare
    ]
    if not told:
        return ""
    words = [f"{mend.words} {works}" for mend, works in told[:_MOST_TOLD]]
    doubted = ". Or is a place wrong?" if left[0][1] and told[0][0].keys == _ROUTE else ""
    return told[0][0].question + "With " + ". Or: with ".join(words) + doubted


_Point = tuple[float, float]
_Slip = tuple[str, _Point]
_Change = tuple[tuple[str, ...], str, str, Layout]
_Sized = tuple[tuple[str, ...], float, tuple[tuple[str, float], ...], str, Callable[[float], Pulley]]
"""Keys of a size, it in mm, ways to misread it (question and factor), what it is of, and the pulley with another."""
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


def _slips(layout: Layout, names: Sequence[str], of: Callable[[float, float], Iterable[_Slip]]) -> Iterator[_Change]:
    """Each place as it may have been meant."""
    scale = MM_PER_UNIT[layout.units]
    for pulley in map(layout.pulleys.__getitem__, names):
        for key, (x, y), moved in _placed(pulley):
            for question, slip in of(x / scale, y / scale):
                words = f"`{key}: [{slip[0]:.6g}, {slip[1]:.6g}]` for {pulley.name}"
                at = (slip[0] * scale, slip[1] * scale)
                if at != (x, y):
                    yield (
                        ("pulleys", pulley.name, key),
                        question.format(pulley.name),
                        words,
                        layout.with_pulley(moved(at)),
                    )


_WIDER = 1.5
"""No place is put right that makes the drive so many times as large: common practice, no source."""


def _retypings(layout: Layout, names: Sequence[str]) -> Iterator[_Change]:
    """Each place with a digit of it typed another way."""
    return (
        change for change in _slips(layout, names, _other_digits) if _spread(change[-1]) <= _WIDER * _spread(layout)
    )


def _spread(layout: Layout) -> float:
    return float(np.ptp([place_of(pulley) for pulley in layout.routed], axis=0).max())


def _turned(x: float, y: float) -> Iterator[_Slip]:
    yield "Are x and y of {} exchanged? ", (y, x)
    yield from (("Has {} a wrong sign? ", point) for point in ((-x, y), (x, -y)))


def _other_digits(x: float, y: float) -> Iterator[_Slip]:
    """A digit lost or too many, or two of them swapped, at one of both."""
    yield from (("Is a digit of {} wrong? ", point) for point in either_otherwise(x, y, retyped))


def either_otherwise(x: float, y: float, ways: Callable[[float], list[float]]) -> list[_Point]:
    """A place with one of its numbers in each other way.

    >>> either_otherwise(12.0, 5.0, swapped_digits)
    [(21.0, 5.0)]
    """
    return [*((other, y) for other in ways(x)), *((x, other) for other in ways(y))]


def retyped(number: float) -> list[float]:
    """A number with a digit lost or too many, or two of them swapped.

    >>> retyped(-32.5)
    [-23.5, -320.5, -302.5, -3.5]
    """
    whole, rest = f"{abs(number):.4f}".split(".")
    meant = [each for each in (whole + "0", f"{whole[0]}0{whole[1:]}", whole[:-1]) if each.strip("0")]
    lost = {math.copysign(float(f"{each}.{rest}"), number) for each in meant}
    return [*swapped_digits(number), *sorted(lost - {number})]


def swapped_digits(number: float) -> list[float]:
    """The number with two neighbouring digits exchanged.

    >>> swapped_digits(-32.5)
    [-23.5]
    """
    whole, rest = f"{abs(number):.4f}".split(".")
    ways = {whole[:i] + whole[i + 1] + whole[i] + whole[i + 2 :] for i in range(len(whole) - 1)} - {whole}
    return [math.copysign(float(f"{each}.{rest}"), number) for each in sorted(ways) if each[0] != "0"]


def _exchanges(layout: Layout) -> Iterator[_Change]:
    """Each two pulleys with each other's place."""
    placed = [p for p in layout.routed if p.at_mm is not None and not p.drives]
    for one, other in combinations(placed, 2):
        swapped = layout.with_pulley(replace(one, at_mm=other.at_mm)).with_pulley(replace(other, at_mm=one.at_mm))
        question = f"Are the places of {one.name} and {other.name} exchanged? "
        yield ("pulleys", one.name, "at"), question, f"`at` of {one.name} and {other.name} exchanged", swapped


_TOO_SMALL = (("Is this the radius of {}? ", 2.0), ("Has {} a digit too few? ", 10.0))
_TOO_LARGE = (("Is this the circumference of {}? ", 1.0 / math.pi), ("Has {} a digit too many? ", 0.1))
_ARM = (*_TOO_SMALL[1:], *_TOO_LARGE[1:], ("Is this twice the arm of {}? ", 0.5))
_LARGEST_ROLLER_MM = 130.0
"""No idler or tensioner is taken for a part of a larger one than this: common practice, no source."""
_ODD = 1.3
"""A size is asked after where all others are so many times larger, or smaller: common practice, no source."""


def _sizes(layout: Layout, names: Sequence[str]) -> Iterator[_Change]:
    """The smallest pulley and the largest in another size, where they differ much from all others; an arm too."""
    scale = MM_PER_UNIT[layout.units]
    for pulley in map(layout.pulleys.__getitem__, names):
        for keys, size, ways, of, changed in _sized(layout, pulley):
            swapped = [
                ("Are two digits of {} swapped? ", each / (size / scale)) for each in swapped_digits(size / scale)
            ]
            for question, factor in (*ways, *swapped):
                meant = f"{factor * size / scale:.6g}"
                words = f"`{keys[-1]}: {meant}` for {of}"
                yield keys, question.format(pulley.name), words, layout.with_pulley(changed(float(meant) * scale))


def _sized(layout: Layout, pulley: Pulley) -> Iterator[_Sized]:
    size, held = pulley.diameter_mm, pulley.adjuster
    others = [each.diameter_mm for each in layout.routed if each is not pulley]
    ways = _TOO_SMALL if _ODD * size < min(others) else _TOO_LARGE if size > _ODD * max(others) else ()
    most = max(size, _LARGEST_ROLLER_MM) if pulley.guides_only else np.inf
    # Of a size in cm its unit is asked after.
    if not pulley.in_cm:
        keys, fair = ("pulleys", pulley.name, pulley.size_key), tuple(way for way in ways if way[1] * size <= most)
        yield keys, size, fair, pulley.name, lambda mm: replace(pulley, diameter_mm=mm)
    if isinstance(held, Arm):
        at, of = ("pulleys", pulley.name, "arm", "length"), f"the arm of {pulley.name}"
        yield at, held.length_mm, _ARM, of, lambda mm: replace(pulley, adjuster=replace(held, length_mm=mm))


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


def _moves(layout: Layout, near: bool = False) -> Iterator[_Change]:
    """Each other order that comes of one pulley taken out and put in elsewhere, once. near: exchanged with the next."""
    seen = {_one_of_both_ways(layout.route)}
    for index, name in enumerate(layout.route):
        rest = tuple(other for other in layout.route if other != name)
        for place in [index % len(rest)] if near else range(len(rest)):
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

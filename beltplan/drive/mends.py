"""What one change would give a belt a path that has none: other sides of the belt, other orders, slips at a place;
and which pulley moved a little makes one fit that nothing adjusts."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import compress, islice, product
from statistics import median_low
from typing import Any, NamedTuple

import numpy as np

from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.fit import setting_for, window_of
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley, Slide, slide_track
from beltplan.drive.route import Route, routes_of
from beltplan.drive.travel import Circuit, place_of, travel_round
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import close_loop, length_by_centre
from beltplan.geometry.vectors import Bools, norm

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
    route: the belt then. rare: a slip that is only told where it leaves no problem. problems: so many are left then.
    eases: whether the words say what it does, for it may leave as many as there were.
    """

    keys: tuple[str, ...]
    question: str
    words: str
    route: Route
    rare: bool = False
    problems: int = 0
    eases: bool = False

    @property
    def is_size(self) -> bool:
        return self.keys[-1] in ("diameter", "rim_diameter", "length")


def mends_of(layout: Layout, first: Sequence[str] = (), overlap: bool = False) -> tuple[Mend, ...]:
    """Single changes with which the belt has a path: other sides, slips at a place, other orders, last pulleys put in.

    first: names of pulleys that are looked at before all others. overlap: whether these overlap, so that only another
    place or size of one of them can help.
    """
    names = first if overlap else layout.route
    arms, slips = _arms(layout, names), _slips(layout, names, _turned)
    every = [_flips(layout, first), arms, slips, _moves(layout), _joins(layout)]
    return (*_laid_first([slips, arms] if overlap else every), *_rare(layout, names))


def tries_of(layout: Layout, names: Sequence[str], places: bool) -> tuple[Mend, ...]:
    """Single changes of a belt that lies as typed, but badly. names: pulleys with a problem, which come first.

    places: whether so much is wrong that places and sizes are in doubt, not only the order and sides.
    """
    plain = tuple(_laid_first([_arms(layout, layout.route), _moves(layout, near=True), _flips(layout, names)]))
    if not places:
        return plain
    slips = _laid_first([_slips(layout, tuple(dict.fromkeys((*names, *layout.route))), _turned)])
    return (*slips, *plain, *_rare(layout, names))


def back_tries_of(layout: Layout) -> tuple[Mend, ...]:
    """Smooth idlers and tensioners beside grooved pulleys, each taken from the ribs to the back of the belt."""
    guides = {pulley.name for pulley in layout.routed if pulley.guides_only and not pulley.on_back}
    flips = _flips(layout, ()) if any(pulley.grooves for pulley in layout.routed) else ()
    return tuple(_laid_first([[change for change in flips if change[0][1] in guides]]))


def _rare(layout: Layout, names: Sequence[str]) -> Iterator[Mend]:
    """Each place and size with a digit of it typed another way."""
    few, most = len(layout.route) <= _MOST_PULLEYS, _WIDER * _spread(layout)
    slips = _slips(layout, names, _other_digits) if few else ()
    return _laid_first([[change for change in slips if _spread(change[-1]) <= most]], _MOST_RARE)


def _laid_first(ways: Iterable[Iterable[_Change]], most: int = _MOST_LAID) -> Iterator[Mend]:
    kinds = [list(way) for way in ways]
    good = (ok for kind in kinds for ok in _sound([changed for *_, changed in kind]))
    sound = [*islice(compress((each for kind in kinds for each in kind), good), most)]
    laid = zip(sound, routes_of([changed for *_, changed in sound]), strict=True)
    return (Mend(*change[:3], route, most == _MOST_RARE) for change, route in laid if route)


def mends_text(mends: Iterable[Mend], works: str = "a belt can be laid, with {}") -> str:
    """The changes that leave no problem, rare ones where no other does; else the number that each leaves.

    works: how that number is told.
    """
    left = sorted(mends, key=lambda mend: (mend.problems, mend.rare))
    clean = [mend for mend in left if not mend.problems]
    sizes = {mend.keys for mend in clean if mend.is_size}
    # A size that works is not the one that is meant for that: others as likely are told beside it.
    likely = [mend for mend in left if not (clean and mend.problems) or mend.keys in sizes]
    told = [mend for mend in likely if mend.rare == (bool(clean) and clean[0].rare)]
    if not told:
        return ""
    words = [f"{mend.words}{_works(mend, works)} (tried)" for mend in told[:_MOST_TOLD]]
    doubted = ". Or is a place wrong?" if not clean and told[0].keys == _ROUTE else ""
    return told[0].question + "With " + ". Or: with ".join(words) + doubted


def _works(mend: Mend, works: str) -> str:
    left = works.format(f"{mend.problems} problem{'s'[: mend.problems > 1]}") if mend.problems else "it works"
    return "" if mend.eases else f" {left}"


_Numbers = tuple[float, ...]
_Slip = tuple[str, _Numbers]
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


_SIGN, _PLUMB = "Have the angles of {} a wrong sign? ", "Are the angles of {} read from plumb? "
_COUNTED: tuple[tuple[str, Callable[[float], float], str], ...] = (
    (_SIGN, lambda deg: -deg, ""),
    (_PLUMB, lambda deg: 90.0 - deg, " if read clockwise from straight up"),
    (_PLUMB, lambda deg: deg + 90.0, " if read counter-clockwise from straight up"),
    (_PLUMB, lambda deg: deg - 90.0, " if read counter-clockwise from straight down"),
)
"""How an arm's angles may have been read, and what they are as the file counts: common practice, no source."""


def _arms(layout: Layout, names: Sequence[str]) -> Iterator[_Change]:
    """Each arm with its angles read another way."""
    every = map(layout.pulleys.__getitem__, names)
    arms = [(pulley, pulley.adjuster) for pulley in every if isinstance(pulley.adjuster, Arm)]
    for (pulley, arm), (question, meant, how) in product(arms, _COUNTED):
        if read := _read_as(arm, meant):
            keys, changed = ("pulleys", pulley.name, "arm", "stops"), replace(pulley, adjuster=read[0])
            words = f"{', '.join(read[1])} for {pulley.name}{how}"
            yield keys, question.format(pulley.name), words, layout.with_pulley(changed)


def _read_as(arm: Arm, meant: Callable[[float], float]) -> tuple[Arm, list[str]] | None:
    """The arm with its angles as meant, and what to write; its spring's stays where it lies in the travel only so.

    None where a spring's readings would have to change as well.
    """
    stops, at, marks, spring = arm.stops_rad, arm.at_rad, arm.marks_rad, arm.spring

    def read(rad: float) -> float:
        return math.radians(meant(math.degrees(rad)))

    turned = replace(
        arm,
        stops_rad=(read(stops[0]), read(stops[1])),
        at_rad=None if at is None else read(at),
        marks_rad=marks and (read(marks[0]), read(marks[1])),
    )
    # 0 deg is no tiny number, nor -0.
    first, second, nominal = np.degrees([*turned.stops_rad, turned.nominal]).round(4) + 0.0
    told = [f"`stops: [{first:g}, {second:g}]`", *([f"`at_deg: {nominal:g}`"] if at is not None else [])]
    told += ["its `marks` likewise"] if marks else []
    if spring is None or (_holds(turned, spring) and not _holds(arm, spring)):
        return turned, told
    if spring.readings:
        return None
    deg = round(meant(spring.at_deg), 4) + 0.0
    return replace(turned, spring=replace(spring, at_deg=deg)), [*told, f"`spring.at_deg: {deg:g}`"]


def _holds(arm: Arm, spring: ArmSpring) -> bool:
    """Whether the spring's angle lies in the travel."""
    low, high = sorted(np.degrees(arm.stops_rad))
    return bool(low <= spring.at_deg <= high)


def _slips(layout: Layout, names: Sequence[str], of: Callable[[_Numbers, float], Iterable[_Slip]]) -> Iterator[_Change]:
    for pulley in map(layout.pulleys.__getitem__, names):
        for keys, given_mm, changed in _typed(pulley):
            path = ("pulleys", pulley.name, *keys)
            other = "mm" if layout.units == "in" else "in"
            own = other if layout.has_own_unit(*path) else layout.units
            given = tuple(mm / MM_PER_UNIT[own] for mm in given_mm)
            rim = 0.5 * pulley.diameter_mm / MM_PER_UNIT[own] if keys[-1] == "length" else 0.0
            for question, meant in of(given, rim):
                # The same number of one length stands for it in the other unit.
                unit = other if meant == given and len(given) == 1 else own
                mm = tuple(each * MM_PER_UNIT[unit] for each in meant)
                shown = ", ".join(f"{each:.6g} {unit * (unit != layout.units)}".rstrip() for each in meant)
                about = " or so" * (_digits(meant) > _digits(given))
                words = f"`{keys[-1]}: {f'[{shown}]' if len(meant) > 1 else shown}`{about} for {pulley.name}"
                if mm != given_mm and (len(mm) > 1 or _is_likely(layout, given_mm[0], mm[0])):
                    yield path, question.format(pulley.name), words, layout.with_pulley(changed(mm))


def _digits(numbers: _Numbers) -> int:
    """How many digits numbers have in all: which one is lost, where more are meant, is not known."""
    return sum(len(f"{each:.6g}".replace(".", "").lstrip("-0")) for each in numbers)


_SEVERAL_TIMES = 3.0
"""No size is put right by so much that it becomes less like the others: common practice, no source."""


def _is_likely(layout: Layout, given_mm: float, meant_mm: float) -> bool:
    usual_mm = median_low(pulley.diameter_mm for pulley in layout.routed)
    given, meant = (abs(math.log(each / usual_mm)) for each in (given_mm, meant_mm))
    return meant < given or abs(math.log(meant_mm / given_mm)) < math.log(_SEVERAL_TIMES)


_WIDER = 1.5
"""No place or size is put right that makes the drive so many times as large: common practice, no source."""


def _spread(layout: Layout) -> float:
    return float(np.ptp([place_of(pulley) for pulley in layout.routed], axis=0).max())


def _turned(numbers: _Numbers, rim: float) -> Iterator[_Slip]:
    """rim: half the diameter of the pulley on an arm of that length; 0 of all else."""
    if len(numbers) == 2:
        x, y = numbers
        yield "Are x and y of {} exchanged? ", (y, x)
        yield from (("Has {} a wrong sign? ", point) for point in ((-x, y), (x, -y)))
    else:
        number = numbers[0]
        yield from (("Is a digit of {} wrong, or its unit? ", (each,)) for each in (*_misplaced(number), number))
        if number > rim > 0.0:
            yield "Is the arm of {} measured to the far rim of its pulley? ", (number - rim,)


def _other_digits(numbers: _Numbers, _: float) -> Iterator[_Slip]:
    for i, number in enumerate(numbers):
        for other in (*_retyped(number), *(_misplaced(number) if len(numbers) > 1 else ())):
            yield "Is a digit of {} wrong? ", (*numbers[:i], other, *numbers[i + 1 :])


def _misplaced(number: float) -> list[float]:
    """A number with one of two like digits, or its point put in or moved on. Of 47 no digit is too many: 4.7 is meant
    rather than 4; but 60.3 has its point.
    """
    whole, rest = f"{abs(number):.4f}".split(".")
    once = {f"{whole[:i]}{whole[i + 1 :]}.{rest}" for i in range(1, len(whole)) if whole[i] == whole[i - 1]}
    meant = [math.copysign(float(each), number) for each in sorted(once)]
    return [*meant, round(10.0 * number, 5), *[round(0.1 * number, 5)] * float(number).is_integer()]


def _retyped(number: float) -> list[float]:
    """A number with a nought lost, or two neighbouring digits exchanged, whatever is behind its point."""
    whole, rest = f"{abs(number):.4f}".split(".")
    swapped = {whole[:i] + whole[i + 1] + whole[i] + whole[i + 2 :] for i in range(len(whole) - 1)}
    ways = [*sorted(swapped), whole + "0", f"{whole[0]}0{whole[1:]}"]
    meant = (math.copysign(float(f"{each}.{rest}"), number) for each in ways if each.strip("0"))
    return [each for each in dict.fromkeys(meant) if each != number]


def _typed(pulley: Pulley) -> Iterator[tuple[tuple[str, ...], _Numbers, Callable[[Any], Pulley]]]:
    """The keys of each place and size of a pulley, its numbers, mm, and the pulley with others in their place."""
    held = pulley.adjuster
    yield (pulley.size_key,), (pulley.diameter_mm,), lambda mm: replace(pulley, diameter_mm=mm[0])
    if pulley.at_mm is not None:
        yield ("at",), pulley.at_mm, lambda mm: replace(pulley, at_mm=mm)
    elif isinstance(held, Arm):
        yield ("arm", "pivot"), held.pivot_mm, lambda mm: replace(pulley, adjuster=replace(held, pivot_mm=mm))
        yield ("arm", "length"), (held.length_mm,), lambda mm: replace(pulley, adjuster=replace(held, length_mm=mm[0]))
    elif isinstance(held, Slide):
        yield ("slide", "from"), held.start_mm, lambda mm: replace(pulley, adjuster=replace(held, start_mm=mm))
        yield ("slide", "to"), held.end_mm, lambda mm: replace(pulley, adjuster=replace(held, end_mm=mm))


def _moves(layout: Layout, near: bool = False) -> Iterator[_Change]:
    """Each other order that comes of one pulley taken out and put in elsewhere, once. near: exchanged with the next."""
    seen = {_neighbours(layout.route)}
    for index, name in enumerate(layout.route):
        rest = tuple(other for other in layout.route if other != name)
        for place in [index % len(rest)] if near else range(len(rest)):
            order = (*rest[: place + 1], name, *rest[place + 1 :])
            if (shape := _neighbours(order)) not in seen:
                seen.add(shape)
                words = f"{name} between {rest[place]} and {rest[(place + 1) % len(rest)]} in `route`"
                yield _ROUTE, "", words, replace(layout, route=order)


def _neighbours(order: Sequence[str]) -> frozenset[frozenset[str]]:
    """The same for an order from any start, either way round."""
    return frozenset(map(frozenset, zip(order, (*order[1:], order[0]), strict=True)))


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
    return is_sound(close_loop(centre, radius, sense), layout.loop_sense)


# Which way and how far a pulley would have to move to make a belt fit a drive without an adjuster.

_FARTHEST_MM = 200.0


class _Move(NamedTuple):
    """A movement of one pulley's centre: distance in mm, direction in rad counter-clockwise from +x."""

    distance_mm: float
    direction_rad: float
    pulley: str


def shortest_move(route: Route, length_mm: float) -> _Move | None:
    """The smallest straight movement of one pulley, the driver left alone, that makes the path a given length.

    Each pulley is moved along its steepest change of length (dL/dc), as a slide would take it.
    None where no pulley within 200 mm does it with a sound path all the way.
    """
    indices = range(1, len(route.pulleys))
    moves = [move for i in indices if (move := _move_of(route.layout, route.circuit, i, length_mm)) is not None]
    return min(moves, default=None)


def _move_of(layout: Layout, circuit: Circuit, index: int, length_mm: float) -> _Move | None:
    gradient, start = length_by_centre(circuit.base.whole)[index], circuit.centre[index]
    steepness = float(norm(gradient))
    if not steepness > 0.0:
        return None
    way = gradient / steepness * np.sign(length_mm - circuit.base.length)
    slide = replace(circuit, moving=index, track=slide_track(start, start + _FARTHEST_MM * way, np.zeros(())))
    travel = travel_round(slide, slide.nominal)
    window = window_of(layout, slide, travel).single
    if not window.shortest <= length_mm <= window.longest:
        return None
    distance = setting_for(slide, travel, window, np.asarray(length_mm))
    return _Move(float(distance), float(np.arctan2(way[1], way[0])), circuit.pulleys[index].name)

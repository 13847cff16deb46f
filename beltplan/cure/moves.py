"""Cures by the pulleys: another diameter, another place, another order, one idler more."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, permutations

import numpy as np

from beltplan.checks.pulleys import minimum_diameter
from beltplan.cure.changes import GRID_MM, Change, bought, with_own
from beltplan.cure.screen import Pool, Screen, at_once
from beltplan.drive.layout import Layout, Units
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import ADDED_IDLER, Pulley, Side, shifted
from beltplan.drive.travel import Circuit
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import close_loop
from beltplan.geometry.pieces import pieces_of
from beltplan.geometry.vectors import TURN, Floats, from_angle, left_normal, norm
from beltplan.report.screen import tape_words

_STEPS: dict[Units, float] = {"mm": 5.0, "in": 3.0}
_SHARE = 0.2
"""Where the layout lists no diameters: steps of so many grid widths up and down, within a share of what there is."""


def other_diameter(pulley: str, diameter_mm: float, before_mm: float, units: Units = "mm", read: str = "") -> Change:
    """Another diameter, read as the pulley's own is (`read`: in words). Its size is the change as a share of it."""
    size, before = bought(diameter_mm, units) + read, tape_words(before_mm, units == "in")
    words, share = f"fit a pulley of {size} on {pulley} (now {before})", abs(diameter_mm / before_mm - 1.0)
    return Change("diameter", pulley, share, words, with_own(pulley, diameter_mm=diameter_mm), frozenset({pulley}))


def diameters_of(pulley: Pulley, units: Units = "mm", sold_mm: Sequence[float] = ()) -> tuple[float, ...]:
    """The other diameters of a pulley, mm: those listed, where it only guides the belt `sold_mm`; else within a fifth,
    in steps of 5 mm or 3/16 in; where it only guides the belt, common sizes of these and above in place of the steps
    beside them.
    """
    grid, own = GRID_MM[units], pulley.diameter_mm
    steps = int(_SHARE * own / (_STEPS[units] * grid) + 1e-9)
    found = [round((round(own / grid) + _STEPS[units] * k) * grid, 6) for k in range(-steps, steps + 1) if k]
    if pulley.guides_only:
        sold = [size for size in SIZES_MM[units] if size >= (1.0 - _SHARE) * own]
        near = 0.5 * _STEPS[units] * grid
        found = [size for size in found if all(abs(size - each) >= near for each in sold)] + sold
    had = pulley.diameters_mm or (sold_mm if pulley.guides_only else ())
    return tuple(size for size in had or sorted({*found}) if size != own)


def _others(layout: Layout, pulley: Pulley) -> list[tuple[Pulley, Change]]:
    """A pulley in its other diameters, and the change to each."""
    read = " over the rim" if pulley.reading == "rim" and not pulley.on_back else ""
    sizes = diameters_of(pulley, layout.units, layout.idler_sizes_mm)
    return [
        (other, other_diameter(pulley.name, size, pulley.diameter_mm, layout.units, read))
        for size in sizes
        if (other := replace(pulley, diameter_mm=size)).line_radius_mm(layout.belt) > 1.0
    ]


def other_diameters(layout: Layout, base: Circuit) -> Pool | None:
    found = [(i, *each) for i, pulley in enumerate(base.pulleys) for each in _others(layout, pulley)]
    if not found:
        return None
    count = len(found)
    radius, rim = (np.repeat(part[:, None], count, axis=1) for part in (base.radius, base.rim))
    for row, (i, other, _) in enumerate(found):
        radius[i, row], rim[i, row] = other.line_radius_mm(layout.belt), other.rim_radius_mm(layout.belt)
    circuit = replace(base, base=pieces_of(base.centre, radius, base.sense), rim=rim)
    changes = [change for *_, change in found]
    return Pool(((circuit, None),), np.array([change.size for change in changes]), lambda number, size: changes[number])


# Cures by moving one pulley, where the layout says that it may be moved.

_DIRECTIONS, _RINGS = 24, 12

_Point = tuple[float, float]


def moved(target: str, step: _Point, adjusted: bool, units: Units = "mm") -> Change:
    """One pulley moved, or its whole arm or slide. step: in x and y, mm."""

    def made(layout: Layout) -> Layout:
        own = layout.pulleys[target]
        at_mm, adjuster = own.at_mm and shifted(own.at_mm, step), own.adjuster and own.adjuster.shifted(step)
        return layout.with_pulley(own.planned_at(at_mm, adjuster))

    what = f"{target} with its adjuster" if adjusted else target
    x, y = (f"{'' if along < 0.0 else '+'}{tape_words(along, units == 'in')}" for along in step)
    words = f"move {what} by x {x}, y {y}"
    return Change("move", target, float(np.hypot(*step)), words, made, frozenset({target}))


def moves(base: Circuit, units: Units = "mm", only: int | None = None) -> Pool | None:
    """Every movable pulley moved, or only one, one at a time, by whole steps of the grid out to what it may."""
    able = [(i, pulley.movable_mm) for i, pulley in enumerate(base.pulleys) if only in (None, i)]
    by_pulley = [(i, _steps(movable_mm, GRID_MM[units])) for i, movable_mm in able]
    found = [(base.pulleys[i], step) for i, steps in by_pulley for step in steps]
    if not found:
        return None

    def change_of(number: int, size: float) -> Change:
        pulley, step = found[number]
        return moved(pulley.name, step, pulley.adjuster is not None, units)

    parts = [(base.moved({i: base.centre[i] + steps}), frozenset({i})) for i, steps in by_pulley if steps]
    return Pool(tuple(parts), norm(np.array([step for _, step in found])), change_of)


def enlarged(base: Circuit, layout: Layout, at: int) -> tuple[Change, Pool] | None:
    """A pulley over which the belt bends too sharply: the first size that is best for it, and its moves with that."""
    own = base.pulleys[at]
    larger = [each for each in _others(layout, own) if each[0].diameter_mm > own.diameter_mm]
    if not larger:
        return None

    def rank(each: tuple[Pulley, Change]) -> tuple[int, float]:
        bent = minimum_diameter(layout, own).severity(each[0].line_diameter_mm(layout.belt))
        return int(bent), each[0].diameter_mm

    best, change = min(larger, key=rank)
    radius, rim = base.radius.copy(), base.rim.copy()
    radius[at], rim[at] = best.line_radius_mm(layout.belt), best.rim_radius_mm(layout.belt)
    pool = moves(replace(base, base=pieces_of(base.centre, radius, base.sense), rim=rim), layout.units, at)
    return None if pool is None else (change, pool)


def _steps(most_mm: float, grid_mm: float) -> list[_Point]:
    """Whole steps of the grid in every direction, in rings, none farther than allowed."""
    if most_mm < grid_mm:
        return []
    ring = np.linspace(0.0, most_mm, _RINGS + 1)[1:]
    angle = np.arange(_DIRECTIONS) * TURN / _DIRECTIONS
    steps = _gridded(ring[:, None, None] * from_angle(angle)[None], grid_mm).reshape(-1, 2)
    inside = steps[(norm(steps) <= most_mm + 1e-9) & (norm(steps) > 0.0)]
    return list(dict.fromkeys((float(x), float(y)) for x, y in inside))


def _gridded(places: Floats, grid_mm: float) -> Floats:
    return np.asarray(np.round(np.round(places / grid_mm) * grid_mm, 6) + 0.0)


# Cures by the order: the same pulleys on the same sides of the belt, passed in another order.

_EVERY_ORDER = 7
"""Up to so many pulleys every order is tried; above, two pulleys change places, or one goes elsewhere."""

_Order = tuple[int, ...]


def other_order(names: tuple[str, ...], new_spans: float) -> Change:
    """Another order round the loop; pulleys that another change has added stay behind the one they followed."""

    def made(layout: Layout) -> Layout:
        route = list(names)
        for name in layout.route:
            if name not in names:
                before = layout.route[layout.route.index(name) - 1]
                route.insert(route.index(before) + 1, name)
        return replace(layout, route=tuple(route))

    words = f"lead the belt in the order {', '.join(names)}"
    return Change("order", "route", new_spans, words, made, frozenset(names))


def other_orders(
    base: Circuit, screen: Screen, done: Callable[[], None] = lambda: None
) -> tuple[tuple[Change, ...], int]:
    """Every other order with a sound path, the least short first; and how many were looked at.

    done: called after each step of the work. Source: all orders of up to `_EVERY_ORDER` pulleys, many at once.
    """
    every = list(_orders(len(base.pulleys)))
    ranked: list[tuple[float, _Order]] = []
    many = at_once(len(base.pulleys))
    for first in range(0, len(every), many):
        index = np.array(every[first : first + many])
        loop = close_loop(np.array(base.centre)[index], base.radius[index], base.sense[index])
        for number in np.flatnonzero(is_sound(loop, float(screen.layout.loop_sense))):
            ranked.append((_shortfall(base, every[first + number], screen), every[first + number]))
        done()
    found = (
        other_order(tuple(base.pulleys[i].name for i in order), _new_spans(order))
        for _, order in sorted(ranked, key=lambda pair: pair[0])
    )
    return tuple(found), len(every)


def _shortfall(base: Circuit, order: _Order, screen: Screen) -> float:
    index = np.array(order)
    path = pieces_of([base.centre[i] for i in order], base.radius[index], base.sense[index])
    pulleys = tuple(base.pulleys[i] for i in order)
    return float(screen.shortfall(replace(base, pulleys=pulleys, base=path, rim=base.rim[index])).short[0])


def _orders(count: int) -> Iterator[_Order]:
    """Orders that begin with the driver, other than the own one, listed forward or backward."""
    own = tuple(range(count))
    backward = (0, *own[:0:-1])
    every = ((0, *rest) for rest in permutations(range(1, count)))
    found = every if count <= _EVERY_ORDER else _swaps(count)
    yield from (order for order in dict.fromkeys(found) if order not in (own, backward))


def _swaps(count: int) -> Iterator[_Order]:
    own = list(range(count))
    for i, j in combinations(range(1, count), 2):
        swapped = own.copy()
        swapped[i], swapped[j] = swapped[j], swapped[i]
        yield tuple(swapped)
    for i in range(1, count):
        rest = own[:i] + own[i + 1 :]
        yield from (tuple([*rest[:j], i, *rest[j:]]) for j in range(1, count) if j != i)


def _new_spans(order: _Order) -> float:
    before = {frozenset((i, (i + 1) % len(order))) for i in range(len(order))}
    return float(len({frozenset((order[i - 1], order[i])) for i in range(len(order))} - before))


# Cures by one idler more, on either side of the belt, in any span.

SIZES_MM: dict[Units, tuple[float, ...]] = {"mm": (65.0, 75.0, 90.0), "in": (63.5, 76.2, 90.4875)}
_SHIM_MM: dict[Units, float] = {"mm": 0.1, "in": 0.127}
SIZES_SOURCE = f"sizes of idlers where the file lists none: {PRACTICE}"

_ALONG = np.linspace(0.1, 0.9, 17)
"""Places along the span, as shares of it."""
DEPTH_MM = np.array([4.0, 8.0, 12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 42.0, 50.0, 60.0, 72.0, 86.0, 105.0, 130.0, 160.0])
"""How far the idler's face pushes the span aside."""


def added_idler(idler: Pulley, follows: str, ends: tuple[str, str], longer_mm: float, units: Units = "mm") -> Change:
    """One idler more in the span between two pulleys. follows: that after which it stands in the file's route."""

    def made(layout: Layout) -> Layout:
        name, route = _free_name(layout), list(layout.route)
        route.insert(route.index(follows) + 1, name)
        return replace(layout.with_pulley(replace(idler, name=name)), route=tuple(route))

    kind, side = ("smooth", "back") if idler.on_back else ("grooved", "ribbed side" if idler.grooves else "inner side")
    x, y = (tape_words(along, units == "in") for along in idler.at_mm or (0.0, 0.0))
    size = bought(idler.diameter_mm, units)
    # Without its plane it would be hung in that of the crankshaft, and its spans run askew.
    plane = f", plane {round(idler.plane_mm, 2):g} mm" if idler.plane_mm else ""
    words = f"add a {kind} idler of {size} on the belt's {side} at x {x}, y {y}{plane}, between {' and '.join(ends)}"
    return Change("idler", f"{' to '.join(ends)}, {idler.belt_side}", longer_mm, words, made, frozenset(ends))


def idlers(layout: Layout, base: Circuit, one_size: bool = False) -> Iterator[Pool]:
    """One pool for every span, side and size, or the largest size alone."""
    name, sizes = _free_name(layout), layout.idler_sizes_mm or SIZES_MM[layout.units]
    sides: tuple[Side, ...] = ("ribbed",) if layout.belt.back_mm is None else ("back", "ribbed")
    for span in range(len(base.pulleys)):
        for side in sides:
            for size in [max(sizes)] if one_size else sizes:
                grooves = layout.belt.ribs if side == "ribbed" and layout.belt.profile.is_ribbed else None
                idler = Pulley(name, "idler", size, grooves=grooves, belt_side=side, planned=True)
                yield _pool(layout, base, span, idler)


def _free_name(layout: Layout) -> str:
    taken = {*layout.pulleys, *(obstacle.name for obstacle in layout.obstacles)}
    return next(name for i in range(1, 100) if (name := ADDED_IDLER if i == 1 else f"{ADDED_IDLER}_{i}") not in taken)


def _plane(base: Circuit, span: int, units: Units, at: Floats) -> float | None:
    """Between the planes of its neighbours, as far as they are known, to a shim: as its centre divides the way from
    one to the other, so that both its spans run alike.
    """
    ends = (span, (span + 1) % len(base.pulleys))
    known = {end: plane for end in ends if (plane := base.pulleys[end].plane_mm) is not None}
    if not known:
        return None
    far = [float(norm(at - base.centre[end])) for end in reversed(ends)]
    weights = [weight for end, weight in zip(ends, far, strict=True) if end in known]
    shim = _SHIM_MM[units]
    return round(round(float(np.average(list(known.values()), weights=weights)) / shim) * shim + 0.0, 6)


def _pool(layout: Layout, base: Circuit, span: int, idler: Pulley) -> Pool:
    radius, rim = idler.line_radius_mm(layout.belt), idler.rim_radius_mm(layout.belt)
    sense = float(layout.sense_of(idler))
    places = _gridded(_places(base, span, radius, sense), GRID_MM[layout.units])
    after = span + 1
    path = pieces_of(
        (*base.centre[:after], places, *base.centre[after:]),
        np.insert(base.radius, after, radius),
        np.insert(base.sense, after, sense),
    )
    pulleys = (*base.pulleys[:after], idler, *base.pulleys[after:])
    circuit = replace(base, pulleys=pulleys, base=path, rim=np.insert(base.rim, after, rim))
    (start, end), route = base.ends(span), layout.route
    # The file may list the route against the belt's travel.
    follows = start if route[(route.index(start) + 1) % len(route)] == end else end

    def change(number: int, size: float) -> Change:
        x, y = places[number].tolist()
        placed = replace(idler, at_mm=(x, y), plane_mm=_plane(base, span, layout.units, places[number]))
        return added_idler(placed, follows, (start, end), size, layout.units)

    return Pool(((circuit, frozenset({after})),), None, change)


def _places(base: Circuit, span: int, radius: float, sense: float) -> Floats:
    """Centres, (k, 2), from which the idler pushes the span aside, away from itself."""
    own = base.base.free_span(span)
    # A pulley that turns counter-clockwise stands on the left of the belt.
    towards = sense * left_normal(own.direction)
    along = own.start + _ALONG[:, None] * own.length * own.direction
    centres = along[:, None] + (radius - DEPTH_MM)[:, None] * towards
    return centres.reshape(-1, 2)

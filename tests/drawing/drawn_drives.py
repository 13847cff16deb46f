"""Drives to be drawn: shipped layouts, random ones, and the same drive turned, shifted and mirrored. All invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from beltplan.drawing.study import Arc, Line, Outline, Part, Ring
from beltplan.drive.layout import Circle, Layout, Obstacle, Polygon, Rotation
from beltplan.drive.mounts import Hole, Mark, Mount, Slot
from beltplan.drive.pulleys import Adjuster, Arm, Pulley
from beltplan.drive.route import Route, route_of
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.layout_file import read_layout
from tests.drive.drives import layout, pulley, railcar
from tests.geometry.random_loops import sound_mixed

FOLDER = Path(__file__).parents[2] / "layouts"
SHIPPED: tuple[tuple[str, str | None], ...] = (
    ("railcar", None), ("camper", None), ("camper", "with idler"), ("orchard_sprayer", None), ("workboat", None),
    ("workboat", "alternator low"), ("workboat", "sides swapped"), ("too_tight", None),
)  # fmt: skip
BACK_MM = 2.2
"""Height of the back of a PK belt over its effective line, as in `profile_data`."""

Motion = Callable[[Floats], Floats]
Place = tuple[float, float]


@cache
def shipped(name: str, variant: str | None) -> Route:
    return route_of(read_layout(str(FOLDER / f"{name}.yaml"), variant).layout)


@cache
def random_routes() -> tuple[Route, ...]:
    """Fixed drives of six pulleys, two of them on the back, drawn at random; half of them the other way round."""
    drives = sound_mixed(11, 60)
    rows = zip(drives.centre, drives.radius, drives.sense, strict=True)
    found = [_fixed(centre, radius, sense) for centre, radius, sense in rows]
    return tuple(route_of(mirrored(each) if i % 2 else each) for i, each in enumerate(found[:40]))


def _fixed(centre: Floats, radius: Floats, sense: Floats) -> Layout:
    pulleys = [
        pulley(
            f"p{i}",
            float(at[0]),
            float(at[1]),
            float(2.0 * (r if s > 0 else r - BACK_MM)),
            belt_side="ribbed" if s > 0 else "back",
        )
        for i, (at, r, s) in enumerate(zip(centre, radius, sense, strict=True))
    ]
    return layout([replace(pulleys[0], role="crankshaft"), *pulleys[1:]], rotation="counterclockwise")


def with_everything() -> Layout:
    """The manual's drive with obstacles of both kinds, a pulley off the belt, marks, and mounts of three kinds."""
    given = railcar(
        obstacles=(Circle("hose", (400.0, 40.0), 30.0), Polygon("plate", ((420, 90), (470, 95), (440, 160))))
    )
    holes = (Hole((-40.0, 25.0), 10.5), Hole((40.0, 25.0), 8.0))
    mount = Mount(holes, (Slot((0.0, -60.0), (12.0, -55.0), 9.0),), ((-20.0, -10.0), (20.0, -10.0), (0.0, 25.0)))
    own = {
        "spare": pulley("spare", -330.0, 20.0, 84.0, mount=mount),
        "tensioner": replace(given.pulleys["tensioner"], mount=Mount(holes[:1])),
    }
    return replace(given, pulleys={**given.pulleys, **own}, marks=(Mark("dowel", (60.0, -45.0)),))


def turned(given: Layout, angle: float) -> Layout:
    """The same layout turned about the origin, counter-clockwise."""
    return _moved(given, turn(angle), lambda stop: stop + angle)


def shifted(given: Layout, x: float, y: float) -> Layout:
    return _moved(given, shift(x, y), lambda stop: stop)


def mirrored(given: Layout) -> Layout:
    """The same layout seen from behind: x changes sign, and the driver turns the other way."""
    other: Rotation = "clockwise" if given.rotation == "counterclockwise" else "counterclockwise"
    return replace(_moved(given, mirror, lambda stop: np.pi - stop), rotation=other)


def turn(angle: float) -> Motion:
    c, s = np.cos(angle), np.sin(angle)
    return lambda at: np.asarray(at @ np.array([[c, s], [-s, c]]))


def shift(x: float, y: float) -> Motion:
    return lambda at: np.asarray(at + np.array([x, y]))


def mirror(at: Floats) -> Floats:
    return np.asarray(at * np.array([-1.0, 1.0]))


def _moved(given: Layout, motion: Motion, angle: Callable[[float], float]) -> Layout:
    def to(at: Place) -> Place:
        x, y = motion(np.asarray(at, dtype=float))
        return float(x), float(y)

    def pulley_to(each: Pulley) -> Pulley:
        at, adjuster = each.at_mm, each.adjuster
        return replace(
            each,
            at_mm=None if at is None else to(at),
            adjuster=None if adjuster is None else adjuster_to(adjuster),
            turns=None,
            mount=None if each.mount is None else mount_to(each.mount),
        )

    def mount_to(each: Mount) -> Mount:
        x, y = to((0.0, 0.0))
        holes = tuple(replace(hole, at_mm=to(hole.at_mm)) for hole in each.holes)
        slots = tuple(replace(slot, start_mm=to(slot.start_mm), end_mm=to(slot.end_mm)) for slot in each.slots)
        # Of a shift only the place moves, not what is measured from it.
        return Mount(holes, slots, tuple(map(to, each.outline_mm))).at((-x, -y))

    def adjuster_to(each: Adjuster) -> Adjuster:
        if not isinstance(each, Arm):
            return replace(each, start_mm=to(each.start_mm), end_mm=to(each.end_mm))
        first, last = map(angle, each.stops_rad)
        at = None if each.at_rad is None else angle(each.at_rad)
        spring = each.spring
        if spring is not None:
            spring = replace(spring, at_deg=float(np.degrees(angle(np.radians(spring.at_deg)))))
        return replace(each, pivot_mm=to(each.pivot_mm), stops_rad=(first, last), at_rad=at, spring=spring)

    def obstacle_to(each: Obstacle) -> Obstacle:
        if isinstance(each, Circle):
            return replace(each, at_mm=to(each.at_mm))
        return replace(each, corners_mm=tuple(map(to, each.corners_mm)))

    pulleys = {name: pulley_to(each) for name, each in given.pulleys.items()}
    marks = tuple(replace(mark, at_mm=to(mark.at_mm)) for mark in given.marks)
    return replace(given, pulleys=pulleys, obstacles=tuple(map(obstacle_to, given.obstacles)), marks=marks)


def without_slots(given: Layout) -> Layout:
    """The same without slots, which run clockwise however they lie: a mirror would turn them the other way."""
    bare = {
        name: replace(each, mount=each.mount and replace(each.mount, slots=())) for name, each in given.pulleys.items()
    }
    return replace(given, pulleys=bare)


def points_of(part: Part) -> Floats:
    """Points that tell where a part lies and which way it runs, (n, 2) mm."""
    if isinstance(part, Line):
        return np.array([part.start_mm, part.end_mm])
    if isinstance(part, Arc):
        return np.array([part.centre_mm, *(part.place_at(share) for share in (0.0, 0.3, 0.5, 0.8, 1.0))])
    if isinstance(part, Ring):
        return np.array([part.centre_mm])
    return np.array(part.corners_mm if isinstance(part, Outline) else [part.at_mm])

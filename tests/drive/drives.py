"""Drives that the tests of this folder share. All invented, but for the layout of the manual's own example."""

from dataclasses import replace
from typing import Any

import numpy as np

from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Adjuster, Arm, ArmSpring, Pulley, Slide, Turns

SPRING = ArmSpring(torque_Nm=26.0, at_deg=285.0, rate_Nm_per_deg=0.35)


def arm(pivot: tuple[float, float], length: float, stops_deg: tuple[float, float], **more: Any) -> Arm:
    """An arm from degrees."""
    first, last = np.radians(stops_deg)
    return Arm(pivot, length, (float(first), float(last)), **more)


def layout(pulleys: list[Pulley], belt: str = "6PK", **more: Any) -> Layout:
    """A layout in the listed order; the first pulley drives."""
    named = {p.name: replace(p, drives=(i == 0)) for i, p in enumerate(pulleys)}
    values: dict[str, Any] = {
        "title": "invented", "belt": parse_designation(belt), "pulleys": named, "route": tuple(named)
    }  # fmt: skip
    return Layout(**{**values, **more})


def pulley(name: str, x: float, y: float, diameter: float, **more: Any) -> Pulley:
    """A fixed pulley, an accessory of no particular kind unless said."""
    return Pulley(**{"name": name, "role": "other", "diameter_mm": diameter, "at_mm": (x, y), **more})


def railcar(**more: Any) -> Layout:
    """The example of the manual: five pulleys, a sprung arm on the back; the profile's own back height."""
    swing = arm((-150.0, 215.0), 85.0, (265.0, 300.0), at_rad=float(np.radians(285.0)), spring=SPRING)
    return layout(
        [
            pulley("crank", 0, 0, 190, role="crankshaft", grooves=6),
            Pulley("tensioner", "tensioner", 72.0, adjuster=swing, belt_side="back"),
            pulley("pump", -190, 300, 130, role="water_pump", turns="clockwise"),
            pulley("guide", 0, 245, 76, role="idler", belt_side="back"),
            pulley("generator", 235, 300, 60, role="alternator", max_rpm=15000.0, turns="either"),
        ],
        **more,
    )


def with_belt(given: Layout, **changes: Any) -> Layout:
    """The same layout with something else said of its belt."""
    return replace(given, belt=replace(given.belt, **changes))


def with_pulley(given: Layout, name: str, **changes: Any) -> Layout:
    """The same layout with something else said of one pulley."""
    return replace(given, pulleys={**given.pulleys, name: replace(given.pulleys[name], **changes)})


def on_slide(start: tuple[float, float] = (300.0, 0.0), end: tuple[float, float] = (360.0, 0.0), **more: Any) -> Layout:
    """Two pulleys of 100 mm; the second slides away from the first. Path length 2 x distance + 100 pi."""
    return layout(
        [
            pulley("crank", 0, 0, 100, role="crankshaft"),
            Pulley("generator", "alternator", 100.0, adjuster=Slide(start, end, **more)),
        ]
    )


def fixed(distance: float = 300.0, belt: str = "6PK") -> Layout:
    """Two fixed pulleys of 100 mm. Path length 2 x distance + 100 pi."""
    return layout(
        [pulley("crank", 0, 0, 100, role="crankshaft"), pulley("pump", distance, 0, 100, role="water_pump")], belt
    )


_OTHER_WAY: dict[str, Turns] = {"clockwise": "counterclockwise", "counterclockwise": "clockwise", "either": "either"}


def mirrored(given: Layout) -> Layout:
    """The same seen from behind, without obstacles."""
    flipped = {name: _flip(own) for name, own in given.pulleys.items()}
    return replace(given, pulleys=flipped, rotation="counterclockwise", obstacles=())


def _flip(own: Pulley) -> Pulley:
    own = replace(own, turns=None if own.turns is None else _OTHER_WAY[own.turns])
    if own.adjuster is not None:
        return replace(own, adjuster=_flip_adjuster(own.adjuster))
    assert own.at_mm is not None
    return replace(own, at_mm=(-own.at_mm[0], own.at_mm[1]))


def _flip_adjuster(adjuster: Adjuster) -> Adjuster:
    if isinstance(adjuster, Slide):
        (x1, y1), (x2, y2) = adjuster.start_mm, adjuster.end_mm
        return replace(adjuster, start_mm=(-x1, y1), end_mm=(-x2, y2))
    first, last = (np.pi - stop for stop in adjuster.stops_rad)
    spring = adjuster.spring and replace(adjuster.spring, at_deg=180.0 - adjuster.spring.at_deg)
    x, y = adjuster.pivot_mm
    return replace(adjuster, pivot_mm=(-x, y), stops_rad=(first, last), at_rad=np.pi - adjuster.nominal, spring=spring)

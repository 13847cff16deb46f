"""Invented drives for the pictures, built by hand, and every layout that comes with the project."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache, lru_cache

import numpy as np

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Circle, Layout, Obstacle, Polygon
from beltplan.drive.operation import operation_of
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley, Slide
from beltplan.drive.route import Route, route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.routing import routing_scene
from beltplan.picture.scene import Scene
from tests.shipped import SHIPPED_LAYOUTS


def layout_of(
    title: str, belt: str, pulleys: list[Pulley], route: list[str], obstacles: tuple[Obstacle, ...] = ()
) -> Layout:
    return Layout(title, parse_designation(belt), {p.name: p for p in pulleys}, tuple(route), obstacles=obstacles)


def railcar() -> Route:
    """Five pulleys, sprung arm, two obstacles: every kind of thing that a picture holds."""
    stops = (float(np.radians(265.0)), float(np.radians(300.0)))
    spring = ArmSpring(26.0, 285.0, 0.35)
    arm = Arm((-150.0, 215.0), 85.0, stops, float(np.radians(285.0)), spring=spring)
    pulleys = [
        Pulley("crank", "crankshaft", 190.0, at_mm=(0.0, 0.0), grooves=6, drives=True),
        Pulley("pump", "water_pump", 130.0, at_mm=(-190.0, 300.0), turns="clockwise"),
        Pulley("generator", "alternator", 60.0, at_mm=(235.0, 300.0), turns="either"),
        Pulley("guide", "idler", 76.0, at_mm=(0.0, 245.0), belt_side="back"),
        Pulley("tensioner", "tensioner", 72.0, belt_side="back", adjuster=arm),
    ]
    obstacles = (
        Circle("hose", (260.0, 120.0), 30.0),
        Polygon("head", ((-60.0, 330.0), (60.0, 330.0), (60.0, 380.0), (-60.0, 380.0))),
    )
    order = ["crank", "tensioner", "pump", "guide", "generator"]
    return route_of(layout_of("Railcar (invented)", "6PK1685", pulleys, order, obstacles))


def two_pulleys() -> Route:
    """A V-belt over two pulleys with a slide, and one pulley that is not on the belt."""
    pulleys = [
        Pulley("crank", "crankshaft", 140.0, at_mm=(0.0, 0.0), drives=True),
        Pulley("dynamo", "alternator", 80.0, adjuster=Slide((180.0, 200.0), (240.0, 250.0))),
        Pulley("old pump", "water_pump", 90.0, at_mm=(-150.0, 140.0)),
    ]
    return route_of(layout_of("Two pulleys (invented)", "AV13x1000", pulleys, ["crank", "dynamo"]))


def dense() -> Route:
    """Nine pulleys close together, no adjuster, with obstacles between them."""
    pulleys = [
        Pulley("crankshaft damper", "crankshaft", 180.0, at_mm=(0.0, 0.0), drives=True),
        Pulley("hydraulic pump", "hydraulic_pump", 140.0, at_mm=(-260.0, 60.0)),
        Pulley("idler low", "idler", 80.0, at_mm=(-150.0, 130.0), belt_side="back"),
        Pulley("compressor", "air_compressor", 130.0, at_mm=(-240.0, 250.0)),
        Pulley("water pump", "water_pump", 120.0, at_mm=(-20.0, 205.0), belt_side="back"),
        Pulley("alternator", "alternator", 62.0, at_mm=(210.0, 300.0)),
        Pulley("idler high", "idler", 76.0, at_mm=(298.0, 230.0), belt_side="back"),
        Pulley("steering pump", "steering_pump", 135.0, at_mm=(270.0, 110.0)),
        Pulley("idler right", "idler", 76.0, at_mm=(160.0, -45.0), belt_side="back"),
    ]
    obstacles = (
        Polygon("bracket", ((30.0, 100.0), (80.0, 100.0), (80.0, 140.0), (30.0, 140.0))),
        Circle("radiator hose", (-330.0, 160.0), 60.0),
    )
    return route_of(layout_of("Dense (invented)", "8PK", pulleys, [p.name for p in pulleys], obstacles))


def crowded() -> Route:
    """Almost everything wrong at once: belt through obstacles and a spare pulley, a named belt that is too short."""
    arm = Arm((-190.0, 60.0), 70.0, (np.radians(20.0), np.radians(60.0)))
    pulleys = [
        Pulley("crank", "crankshaft", 170.0, at_mm=(0.0, 0.0), grooves=5, drives=True),
        Pulley("water pump", "water_pump", 110.0, at_mm=(-20.0, 220.0), belt_side="back", turns="clockwise"),
        Pulley("alternator with the big fan", "alternator", 55.0, at_mm=(-200.0, 260.0)),
        Pulley("steering pump", "steering_pump", 120.0, at_mm=(190.0, 250.0)),
        Pulley("guide", "idler", 50.0, at_mm=(60.0, 120.0), belt_side="back"),
        Pulley("tensioner", "tensioner", 65.0, belt_side="back", adjuster=arm),
        Pulley("compressor", "air_conditioning", 110.0, at_mm=(100.0, -40.0)),
    ]
    obstacles = (
        Polygon("bracket", ((-150.0, 100.0), (-90.0, 100.0), (-90.0, 190.0), (-150.0, 190.0))),
        Circle("thermostat housing", (150.0, 110.0), 60.0),
    )
    order = ["crank", "tensioner", "alternator with the big fan", "water pump", "steering pump"]
    return route_of(layout_of("Crowded (invented)", "6PK1300", pulleys, order, obstacles))


def reversed_railcar() -> Route:
    """The railcar with its engine turning the other way."""
    layout = railcar().layout
    return route_of(replace(layout, rotation="counterclockwise"))


BUILT: dict[str, Callable[[], Route]] = {
    "built railcar": railcar,
    "two pulleys": two_pulleys,
    "dense": dense,
    "crowded": crowded,
    "reversed railcar": reversed_railcar,
}


def shipped() -> list[tuple[str, str, str | None]]:
    """Every layout of the project that is one: name, path, variant."""
    found: list[tuple[str, str, str | None]] = []
    for path in SHIPPED_LAYOUTS:
        variants: list[str | None] = [None, *read_layout(str(path)).variants]
        found += [(f"{path.stem} {variant or ''}".strip(), str(path), variant) for variant in variants]
    return found


@cache
def every_route() -> dict[str, Callable[[], Route]]:
    """Every drive to be drawn, built and shipped, by name; each is laid once."""

    def reader(path: str, variant: str | None) -> Callable[[], Route]:
        return lambda: route_of(read_layout(path, variant).layout)

    makers = BUILT | {name: reader(path, variant) for name, path, variant in shipped()}
    return {name: cache(make) for name, make in makers.items()}


def judged(route: Route) -> tuple[Finding, ...]:
    return findings_of(route, operation_of(route))


class Said(Plan):
    """A plan with a verdict of the test's own."""

    verdict = "verdict of the test"


@lru_cache(maxsize=64)
def planned(route: Route) -> Plan:
    operation = operation_of(route)
    return Said(route, operation, findings_of(route, operation))


def scene_of(route: Route) -> Scene:
    return routing_scene(planned(route))

"""The layout: everything the user gave, frozen, in mm and rad; and the deviations that hold for its pulleys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import Literal

from beltplan.drive.belt import Belt
from beltplan.drive.mounts import Mark
from beltplan.drive.pulleys import NOTHING_SAID, TAPE_AND_CALIPERS, Deviations, Pulley, Turns, Uncertainty

Rotation = Literal["clockwise", "counterclockwise"]
Units = Literal["mm", "in"]


@dataclass(frozen=True)
class CrankSwing:
    """How far the crank swings either way of even turning, deg, as it fires: at engine speeds, straight between them,
    ends held; one value without speeds is that at idle.
    """

    deg: tuple[float, ...]
    rpm: tuple[float, ...] = ()


@dataclass(frozen=True)
class Engine:
    """Speeds of the driving pulley, the cylinders, and how unevenly they turn it; None where not given."""

    idle_rpm: float | None = None
    cruise_rpm: float | None = None
    max_rpm: float | None = None
    cylinders: int | None = None
    rev_up_rpm_per_s: float | None = None
    swing_deg: CrankSwing | None = None

    @property
    def firings(self) -> float:
        """Of a four-stroke in a turn: half its cylinders fire; 0 where they are not given."""
        return (self.cylinders or 0) / 2.0

    @property
    def speeds_rpm(self) -> dict[str, float]:
        """Idle, cruise and max by these names, those that are given."""
        speeds = {"idle": self.idle_rpm, "cruise": self.cruise_rpm, "max": self.max_rpm}
        return {name: rpm for name, rpm in speeds.items() if rpm is not None}


Metal = Literal["iron", "aluminium"]


@dataclass(frozen=True)
class Block:
    """What the pulleys are bolted to, and how much hotter (colder: negative) it runs than when the belt was set.

    rise_assumed: whether that is the usual one.
    """

    material: Metal
    rise_K: float
    rise_assumed: bool = False


@dataclass(frozen=True)
class Circle:
    """A round obstacle."""

    name: str
    at_mm: tuple[float, float]
    diameter_mm: float


@dataclass(frozen=True)
class Polygon:
    """An obstacle with straight edges, corners in order."""

    name: str
    corners_mm: tuple[tuple[float, float], ...]


Obstacle = Circle | Polygon


@dataclass(frozen=True)
class Layout:
    """One belt loop as the user gave it.

    pulleys: every pulley of the file by name; route: names in the order listed round the loop.
    stock: belts that can be bought, or None for the built-in list.
    limits: overrides, key -> {pulley name or role, or '' for all: value}.
    idler_sizes_mm: diameters of idlers that can be had, empty where not listed. block: None where heat is left out.
    units: in which the user measures, and is answered; all numbers here are in mm. own_units: keys of the layout file,
    as it nests them, whose values carry their own unit.
    pushes: 1 where the adjuster's setting grows the way in which its spring pushes, else -1; 0 where only the path in
    hand tells.
    in_doubt: readings that contradict each other, in words; None where the places are sure.
    """

    title: str
    belt: Belt
    pulleys: Mapping[str, Pulley]
    route: tuple[str, ...]
    rotation: Rotation = "clockwise"
    engine: Engine = Engine()
    obstacles: tuple[Obstacle, ...] = ()
    stock: tuple[Belt, ...] | None = None
    limits: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    variant: str | None = None
    duties: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    uncertainty: Uncertainty = NOTHING_SAID
    idler_sizes_mm: tuple[float, ...] = ()
    units: Units = "mm"
    block: Block | None = None
    marks: tuple[Mark, ...] = ()
    pushes: int = 0
    own_units: frozenset[tuple[str, ...]] = frozenset()
    in_doubt: str | None = None

    def has_own_unit(self, *keys: str) -> bool:
        """Whether a value of the layout file, or one of those under it, carries its unit: it is not asked for then."""
        return any(path[: len(keys)] == keys for path in self.own_units)

    def with_pulley(self, pulley: Pulley) -> Layout:
        """The same with another pulley in the place of that of its name, or with one more."""
        return replace(self, pulleys={**self.pulleys, pulley.name: pulley})

    @cached_property
    def routed(self) -> tuple[Pulley, ...]:
        """Pulleys on the belt, in the listed order."""
        return tuple(self.pulleys[name] for name in self.route)

    @property
    def unrouted(self) -> tuple[Pulley, ...]:
        """Pulleys of the file that the belt does not go round."""
        return tuple(pulley for name, pulley in self.pulleys.items() if name not in self.route)

    @property
    def placed(self) -> tuple[Pulley, ...]:
        """Pulleys that have a place, on the belt or not."""
        return tuple(each for each in self.pulleys.values() if each.at_mm is not None or each.adjuster is not None)

    @cached_property
    def driver(self) -> Pulley:
        return next(pulley for pulley in self.routed if pulley.drives)

    @property
    def adjusted(self) -> Pulley | None:
        """The pulley that an arm or slide carries, if there is one."""
        return next((pulley for pulley in self.routed if pulley.adjuster is not None), None)

    @property
    def rotation_sense(self) -> int:
        """+1 where the driver turns counter-clockwise seen from the front, -1 clockwise."""
        return 1 if self.rotation == "counterclockwise" else -1

    @cached_property
    def loop_sense(self) -> int:
        """The way the belt goes round: as its ribbed pulleys turn."""
        return -self.rotation_sense if self.driver.on_back else self.rotation_sense

    def sense_of(self, pulley: Pulley) -> int:
        """+1 where the pulley turns counter-clockwise, -1 clockwise, for the belt to be on its side."""
        return -self.loop_sense if pulley.on_back else self.loop_sense

    def turns_of(self, pulley: Pulley) -> Turns:
        """The way a pulley turns, seen from the front."""
        return "counterclockwise" if self.sense_of(pulley) > 0 else "clockwise"


def deviations_of(layout: Layout, pulley: Pulley | None = None) -> Deviations:
    """What holds for a pulley: its own uncertainty, else the layout's, else the usual one.

    pulley: None for what holds where no pulley has its own.
    """
    own = NOTHING_SAID if pulley is None else pulley.uncertainty
    every, usual = layout.uncertainty, TAPE_AND_CALIPERS
    given = ([getattr(each, field.name) for each in (own, every, usual)] for field in fields(Deviations))
    return Deviations(*(next(value for value in values if value is not None) for values in given))

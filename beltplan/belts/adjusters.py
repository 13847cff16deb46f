"""What moves a pulley to tighten the belt: an arm or a slide, with a spring or locked by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np

from beltplan.geometry.vectors import Floats, from_angle, left_normal


@dataclass(frozen=True)
class ArmSpring:
    """Spring of an arm: torque at an angle, falling by |rate| for each degree toward longer path."""

    torque_Nm: float
    at_deg: float
    rate_Nm_per_deg: float


@dataclass(frozen=True)
class SlideSpring:
    """Spring of a slide: force at a distance from `start`, falling by |rate| for each mm toward longer path."""

    force_N: float
    at_mm: float
    rate_N_per_mm: float


@dataclass(frozen=True)
class Arm:
    """A pulley on a swinging arm. Its setting is the arm's angle in rad, counter-clockwise from +x.

    stops_rad: travel from the first to the second. at_rad: where the design has it (None: mid-travel).
    marks_rad: (new, worn) angles that bound the reserve, where the arm carries such marks.
    tension_N: strand tension to which an arm without spring is set, engine stopped.
    """

    pivot_mm: tuple[float, float]
    length_mm: float
    stops_rad: tuple[float, float]
    at_rad: float | None = None
    marks_rad: tuple[float, float] | None = None
    spring: ArmSpring | None = None
    tension_N: float | None = None

    kind: ClassVar[Literal["arm"]] = "arm"
    points: ClassVar[tuple[str, ...]] = ("pivot",)
    """What is measured of where it is, by the keys of the layout."""

    @property
    def travel(self) -> tuple[float, float]:
        """First and last setting."""
        return self.stops_rad

    def push_at(self, setting: Floats, longer: Floats | int) -> Floats:
        """Torque of the spring toward longer path, (...) rad -> (...) N mm; nothing without a spring.

        longer: +1 where the setting grows toward longer path, else -1. The spring falls by |rate| that way, to nothing.
        """
        if self.spring is None:
            return np.zeros(np.shape(setting))
        past_deg = longer * np.degrees(np.asarray(setting) - np.radians(self.spring.at_deg))
        torque = self.spring.torque_Nm - abs(self.spring.rate_Nm_per_deg) * past_deg
        return np.asarray(1000.0 * np.maximum(torque, 0.0))

    @property
    def nominal(self) -> float:
        """Setting of the design: as given, else the middle of the travel."""
        return self.middle if self.at_rad is None else self.at_rad

    @property
    def middle(self) -> float:
        """Setting half way between the stops."""
        return 0.5 * (self.stops_rad[0] + self.stops_rad[1])

    @property
    def marks(self) -> tuple[float, float] | None:
        """Settings that bound the reserve, or None."""
        return self.marks_rad

    @property
    def lever_mm(self) -> float:
        """Movement of the pulley's centre for one unit of the setting: the arm's length per rad."""
        return self.length_mm

    def centre_at(self, setting: Floats) -> Floats:
        """Centre of the pulley, (...) rad -> (..., 2) mm."""
        return np.asarray(self.pivot_mm) + self.length_mm * from_angle(setting)

    def motion_at(self, setting: Floats) -> Floats:
        """Movement of the centre with the setting, (...) rad -> (..., 2) mm per rad."""
        return self.length_mm * left_normal(from_angle(setting))


@dataclass(frozen=True)
class Slide:
    """A pulley on a straight slide or slotted bracket. Its setting is the distance from `start_mm` in mm.

    at: where the design has it, a fraction from `start_mm` (None: the middle). tension_N: strand tension to which a
    slide without spring is set, engine stopped.
    """

    start_mm: tuple[float, float]
    end_mm: tuple[float, float]
    at: float | None = None
    spring: SlideSpring | None = None
    tension_N: float | None = None

    kind: ClassVar[Literal["slide"]] = "slide"
    points: ClassVar[tuple[str, ...]] = ("from", "to")
    marks: ClassVar[None] = None
    lever_mm: ClassVar[float] = 1.0

    @property
    def length_mm(self) -> float:
        """Length of the slide."""
        return float(np.hypot(self.end_mm[0] - self.start_mm[0], self.end_mm[1] - self.start_mm[1]))

    @property
    def travel(self) -> tuple[float, float]:
        """First and last setting."""
        return (0.0, self.length_mm)

    def push_at(self, setting: Floats, longer: Floats | int) -> Floats:
        """Force of the spring toward longer path, (...) mm -> (...) N; nothing without a spring.

        longer: +1 where the setting grows toward longer path, else -1. The spring falls by |rate| that way, to nothing.
        """
        if self.spring is None:
            return np.zeros(np.shape(setting))
        past_mm = longer * (np.asarray(setting) - self.spring.at_mm)
        return np.asarray(np.maximum(self.spring.force_N - abs(self.spring.rate_N_per_mm) * past_mm, 0.0))

    @property
    def nominal(self) -> float:
        """Setting of the design: as given (a fraction from `start_mm`), else the middle."""
        return self.middle if self.at is None else self.at * self.length_mm

    @property
    def middle(self) -> float:
        """Setting half way along."""
        return 0.5 * self.length_mm

    def centre_at(self, setting: Floats) -> Floats:
        """Centre of the pulley, (...) mm -> (..., 2) mm."""
        return np.asarray(self.start_mm) + np.asarray(setting)[..., None] * self._unit()

    def motion_at(self, setting: Floats) -> Floats:
        """Movement of the centre with the setting, (...) mm -> (..., 2), a unit vector."""
        return np.broadcast_to(self._unit(), (*np.shape(setting), 2))

    def _unit(self) -> Floats:
        step = np.asarray(self.end_mm) - np.asarray(self.start_mm)
        return np.asarray(step / self.length_mm)


Adjuster = Arm | Slide

"""The belt as a body: mass, stiffness, friction and strength, with the sources of the defaults."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.pulleys import Pulley
from beltplan.geometry.vectors import Floats

Condition = Literal["dry", "wet", "design"]
CONDITIONS: tuple[Condition, ...] = ("dry", "wet", "design")

RIB_FRICTION: Mapping[Condition, float] = MappingProxyType({"dry": 1.0, "wet": 0.65, "design": np.log(4.0) / np.pi})
V_FRICTION: Mapping[Condition, float] = MappingProxyType({"dry": 1.0, "wet": 0.65, "design": 0.5123})
BACK_FRICTION: Mapping[Condition, float] = MappingProxyType({"dry": 0.35, "wet": 0.2, "design": 0.154})

SOURCES: Mapping[str, str] = MappingProxyType(
    {
        "dry": "from memory, low confidence: friction 0.35 in a 40 deg groove, 0.35 on the back",
        "wet": "Sheng, Lee, Narravula, Song 2011: 30-40 % below dry; back from memory, low confidence",
        "design": "ARPM/RMA IP-26, from memory, high confidence: 4 : 1 at 180 deg (V 5 : 1, Shigley); back scaled",
        "V_belt": "from memory, low confidence: friction as in a PK groove",
        "damping": "common practice, no source: friction of a sprung arm 20-40 % of its torque either way",
    }
)


def source_of(belt: Belt, what: str) -> str:
    """Source of a default of the belt's profile or of `SOURCES`, ribbed belts' friction taken over for V-belts."""
    if what in belt.profile.sources:
        return belt.profile.sources[what]
    return SOURCES["V_belt" if what in ("dry", "wet") and not belt.profile.is_ribbed else what]


DAMPING = 0.30


@dataclass(frozen=True, eq=False)
class Mechanics:
    """A belt's mass (kg/m), stiffness (N per unit strain), tension at which its length is measured, strand limit."""

    mass_kg_per_m: float
    stiffness_N: float
    measuring_N: float
    strand_limit_N: float
    hand_set_N: float


def missing_values(belt: Belt) -> tuple[str, ...]:
    """Keys of the belt that must be given, because its profile has no default for them."""
    needed = {
        "mass_kg_per_m": belt.mass_kg_per_m or belt.profile.mass_kg_per_m,
        "stiffness_N": belt.stiffness_N or belt.profile.stiffness_N,
    }
    return tuple(key for key, value in needed.items() if not value)


def mechanics_of(belt: Belt) -> Mechanics | None:
    """Mechanical values of a belt; None where its mass or stiffness is not known and must be given."""
    profile, ribs = belt.profile, float(belt.ribs)
    mass = belt.mass_kg_per_m or (profile.mass_kg_per_m and profile.mass_kg_per_m * ribs)
    stiffness = belt.full_stiffness_N
    if not mass or not stiffness:
        return None
    return Mechanics(mass, stiffness, belt.measuring_N, profile.strand_limit_N * ribs, belt.hand_set_N)


def friction_of(belt: Belt, pulley: Pulley, condition: Condition) -> float:
    """Effective friction of a pulley: mu / sin(groove angle / 2) in a wedge, mu on the back.

    The layout's own `friction` is the effective one in the grooves; on the back it is taken down by the wedge.
    Source: Shigley, belts chapter, eq. 17-7 ff. for the wedge; defaults see `SOURCES`.
    """
    own = getattr(belt.friction, condition)
    wedge = np.sin(np.radians(belt.profile.groove_angle_deg / 2.0))
    if own is not None:
        return float(own * wedge) if pulley.on_back else float(own)
    if pulley.on_back:
        return BACK_FRICTION[condition]
    return float((RIB_FRICTION if belt.profile.is_ribbed else V_FRICTION)[condition])


def frictions(belt: Belt, pulleys: tuple[Pulley, ...]) -> Floats:
    """Effective friction in every condition, (conditions, n), in the order of `CONDITIONS`."""
    return np.array([[friction_of(belt, pulley, condition) for pulley in pulleys] for condition in CONDITIONS])

"""What turns with a pulley, and what swings with an adjuster: moments of inertia, given or usual for the role."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Adjuster, Pulley, Role

USUAL_KGM2: Mapping[Role, float] = MappingProxyType(
    {
        "alternator": 0.0035,  # up to 0.0042
        "air_conditioning": 0.0026,  # 0.0023 to 0.0029
        "steering_pump": 0.002,  # 0.0018 to 0.0023
        "water_pump": 0.0023,
        "fan": 0.03,  # up to 0.058
        "idler": 0.0004,
        "tensioner": 0.0004,
    }
)
"""kg m2, one value a role, chosen within the range beside it; see `USUAL_SOURCE`."""
USUAL_SOURCE = "ranges of a 2008 industry training text; idlers and tensioners from memory, low confidence"

CRANK_KGM2 = 0.2
"""Of the driver where its inertia is not given, flywheel and all; see `CRANK_SOURCE`."""
CRANK_SOURCE = f"engine with flywheel: {PRACTICE}"
RING_KGM2 = USUAL_KGM2["idler"]
"""Of a one-way pulley's own ring, which stays with the belt when its rotor runs ahead."""
_ARM_KGM2, _SLIDE_KG = 0.002, 0.25
"""Of an arm about its pivot, and of a slide, each with its pulley: from memory, low confidence; the same at 90 mm."""


def inertia_kgm2(pulley: Pulley) -> float | None:
    """Moment of inertia that turns with a pulley: as given, else the usual one; None where its role has none."""
    return USUAL_KGM2.get(pulley.role) if pulley.inertia_kgm2 is None else pulley.inertia_kgm2


def could_be_one_way(pulley: Pulley) -> bool:
    """Whether a one-way pulley would leave a rotor free to run ahead that is heavier than the ring."""
    return not pulley.one_way and not pulley.guides_only and (inertia_kgm2(pulley) or 0.0) > RING_KGM2


def swung(adjuster: Adjuster) -> float:
    """What swings with an adjuster and its pulley: kg m2 about an arm's pivot, kg along a slide; given, else usual."""
    if adjuster.kind == "slide":
        return _SLIDE_KG if adjuster.mass_kg is None else adjuster.mass_kg
    return _ARM_KGM2 if adjuster.inertia_kgm2 is None else adjuster.inertia_kgm2

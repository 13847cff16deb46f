"""What usually turns with a pulley of each role: its moment of inertia, to stand in where the layout gives none."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from beltplan.belts.pulleys import Pulley, Role

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


def inertia_kgm2(pulley: Pulley) -> float | None:
    """Moment of inertia that turns with a pulley: as given, else the usual one; None where its role has none."""
    return USUAL_KGM2.get(pulley.role) if pulley.inertia_kgm2 is None else pulley.inertia_kgm2

"""Can a value of the file be meant as it stands?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.adjusters import Arm
from beltplan.belts.designations import MM_PER_INCH
from beltplan.belts.layout import Layout
from beltplan.belts.route import Route
from beltplan.checks.finding import Finding, judge, plain
from beltplan.checks.limits import OWN, demanded
from beltplan.tension.mechanics import frictions

CHECK = "doubtful_value"
MEANING = "a value that can hardly be meant as it stands: a question to whoever wrote it"
SIZES = "idler_sizes"


def size_findings(route: Route) -> list[Finding]:
    """Pulleys, sizes to be had of them, and idlers of sizes that look like the wrong unit."""
    layout = route.layout
    found = [finding for size in layout.idler_sizes_mm for finding in _size(layout, SIZES, size)]
    for pulley in layout.pulleys.values():
        for size in (pulley.diameter_mm, *pulley.diameters_mm):
            found += _size(layout, pulley.name, size)
    return found


def _size(layout: Layout, name: str, size_mm: float) -> list[Finding]:
    parts = () if name == SIZES else (name,)
    inches = size_mm / MM_PER_INCH
    if size_mm < demanded(layout, "min_likely_diameter_mm", parts).limit:
        key, doubt = "min_likely_diameter_mm", f"are these inches? Then write `{size_mm:g} in`, or `units: in`"
    else:
        key, doubt = (
            "max_likely_diameter_mm",
            f"is it in inches? If {inches:.4g} mm is meant, write `{inches:.4g} mm`",
        )
    message = f"a diameter of {size_mm:g} mm ({inches:.4g} in): {doubt}"
    return judge(CHECK, name, size_mm, demanded(layout, key, parts), message, parts)


def friction_findings(route: Route) -> list[Finding]:
    """Friction that is said to be greater wet than dry."""
    dry, wet, _ = frictions(route.layout.belt, route.pulleys).max(axis=-1)
    if not wet > dry:
        return []
    message = f"friction {wet:g} wet is over {dry:g} dry, but water takes grip away: are they the wrong way round?"
    return [plain(CHECK, "caution", "belt", message, OWN)]


def spring_angle_findings(route: Route) -> list[Finding]:
    """A spring's angle far outside of the stops: its rate is then counted over all the way between."""
    pulley = route.moving
    if pulley is None or not isinstance(pulley.adjuster, Arm) or pulley.adjuster.spring is None:
        return []
    spring, stops = pulley.adjuster.spring, sorted(np.degrees(pulley.adjuster.travel).tolist())
    outside = max(stops[0] - spring.at_deg, spring.at_deg - stops[1], 0.0)
    message = (
        f"spring.at_deg {spring.at_deg:g} lies {outside:.0f} deg outside the stops, {stops[0]:g} to {stops[1]:g}: over "
        f"that way its rate alone makes {abs(spring.rate_Nm_per_deg) * outside:.3g} Nm. Is it the arm's angle, counted "
        "counter-clockwise from the right?"
    )
    bound = demanded(route.layout, "max_spring_outside_deg", (pulley.name,))
    return judge(CHECK, pulley.name, outside, bound, message, (pulley.name,))

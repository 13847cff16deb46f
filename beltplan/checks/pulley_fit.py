"""Do the pulleys suit the belt: grooves enough, and not too small?"""

from __future__ import annotations

from beltplan.belts.pulleys import Pulley
from beltplan.belts.route import Route
from beltplan.checks.finding import Finding, judge
from beltplan.checks.limits import OWN, Bound, bound_for

CHECK = "grooves"
MEANING = "fewer grooves than the belt has ribs"
SMALL_CHECK = "small_pulley"
SMALL_MEANING = "a pulley smaller than the profile allows on that side of the belt"


def groove_findings(route: Route) -> list[Finding]:
    """Pulleys with fewer grooves than the belt has ribs."""
    ribs = route.layout.belt.ribs
    return [
        Finding(
            CHECK,
            "problem",
            pulley.name,
            f"{pulley.grooves} grooves for {ribs} ribs: the outer ribs hang over; a wider pulley or a narrower belt",
            OWN,
            float(pulley.grooves),
            float(ribs),
            "grooves",
            pulley.grooves / ribs - 1.0,
            (pulley.name,),
        )
        for pulley in route.pulleys
        if pulley.grooves is not None and not pulley.on_back and pulley.grooves < ribs
    ]


def small_pulley_findings(route: Route) -> list[Finding]:
    """Pulleys that bend the belt more sharply than its profile allows."""
    return [finding for pulley in route.pulleys for finding in _small(route, pulley)]


def _small(route: Route, pulley: Pulley) -> list[Finding]:
    bound = _least_diameter(route, pulley)
    if bound is None:
        return []
    diameter = pulley.line_diameter_mm(route.layout.belt)
    side = "back" if pulley.on_back else "ribs" if route.layout.belt.profile.is_ribbed else "inner side"
    small = "too small" if diameter < bound.limit else "small"
    message = (
        f"{diameter:.1f} mm is {small} for {route.layout.belt.profile.name} bent over its {side}: "
        "a larger one lets the belt live longer"
    )
    return judge(SMALL_CHECK, pulley.name, diameter, bound, message, (pulley.name,))


def _least_diameter(route: Route, pulley: Pulley) -> Bound | None:
    profile = route.layout.belt.profile
    key, end = ("min_back_diameter_mm", "back") if pulley.on_back else ("min_diameter_mm", "grooved")
    least = profile.back_least_mm if pulley.on_back else profile.grooved_least_mm
    caution = profile.back_caution_mm if pulley.on_back else profile.grooved_caution_mm
    default = None
    if least is not None:
        sources = profile.sources
        default = Bound("lower", least, "mm", sources[f"{end}_least_mm"], caution, sources[f"{end}_caution_mm"])
    return bound_for(route.layout, key, (pulley.name,), pulley.role, default)

"""The ordered tuple of checks, what each name means, and the findings of them all."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from beltplan.belts.route import Route
from beltplan.checks import (
    adjuster,
    alignment,
    belt_fit,
    clearance,
    direction,
    doubt,
    no_adjuster,
    pulley_fit,
    reserve,
    resonance,
    short_span,
    slip,
    speed,
    strand_tension,
    travel,
    turning,
    wrap,
)
from beltplan.checks.finding import Finding, in_order
from beltplan.tension.operation import Operation

Check = Callable[[Route], list[Finding]]
TensionCheck = Callable[[Operation], list[Finding]]

CHECKS: tuple[Check, ...] = (
    wrap.wrap_findings,
    belt_fit.belt_fit_findings,
    no_adjuster.no_adjuster_findings,
    reserve.reserve_findings,
    reserve.fitting_findings,
    travel.travel_findings,
    travel.rim_reading_findings,
    turning.turning_findings,
    speed.rpm_findings,
    speed.belt_speed_findings,
    pulley_fit.groove_findings,
    pulley_fit.small_pulley_findings,
    clearance.clearance_findings,
    clearance.free_strand_findings,
    short_span.short_span_findings,
    alignment.alignment_findings,
    adjuster.take_up_findings,
    adjuster.slack_side_findings,
    direction.direction_findings,
    direction.open_side_findings,
    direction.unrouted_findings,
    doubt.size_findings,
    doubt.friction_findings,
    doubt.spring_angle_findings,
    slip.not_judged_findings,
)

TENSION_CHECKS: tuple[TensionCheck, ...] = (
    slip.slip_findings,
    slip.revving_findings,
    strand_tension.strand_tension_findings,
    strand_tension.hub_load_findings,
    strand_tension.spring_findings,
    resonance.resonance_findings,
    short_span.tight_span_findings,
)

MEANINGS: Mapping[str, str] = {
    wrap.CHECK: wrap.MEANING,
    belt_fit.CHECK: belt_fit.MEANING,
    no_adjuster.CHECK: no_adjuster.MEANING,
    reserve.CHECK: reserve.MEANING,
    reserve.FITTING_CHECK: reserve.FITTING_MEANING,
    travel.CHECK: travel.MEANING,
    travel.READING_CHECK: travel.READING_MEANING,
    turning.CHECK: turning.MEANING,
    speed.CHECK: speed.MEANING,
    speed.BELT_CHECK: speed.BELT_MEANING,
    pulley_fit.CHECK: pulley_fit.MEANING,
    pulley_fit.SMALL_CHECK: pulley_fit.SMALL_MEANING,
    clearance.CHECK: clearance.MEANING,
    clearance.GAP_CHECK: clearance.GAP_MEANING,
    clearance.RIM_CHECK: clearance.RIM_MEANING,
    clearance.FREE_CHECK: clearance.FREE_MEANING,
    short_span.CHECK: short_span.MEANING,
    alignment.CHECK: alignment.MEANING,
    adjuster.CHECK: adjuster.MEANING,
    adjuster.SIDE_CHECK: adjuster.SIDE_MEANING,
    direction.CHECK: direction.MEANING,
    direction.SIDE_CHECK: direction.SIDE_MEANING,
    direction.UNROUTED_CHECK: direction.UNROUTED_MEANING,
    doubt.CHECK: doubt.MEANING,
    slip.CHECK: slip.MEANING,
    slip.REV_CHECK: slip.REV_MEANING,
    strand_tension.CHECK: strand_tension.MEANING,
    strand_tension.HUB_CHECK: strand_tension.HUB_MEANING,
    strand_tension.SPRING_CHECK: strand_tension.SPRING_MEANING,
    resonance.CHECK: resonance.MEANING,
}
"""Every name that `Finding.check` can have, and what it finds."""


def findings_of(route: Route, operation: Operation | None) -> tuple[Finding, ...]:
    """Everything that the checks have to say of a route, worst first.

    operation: the drive in operation, None where `why_not_judged` says why there is none.
    """
    found = [finding for check in CHECKS for finding in check(route)]
    if operation is not None:
        found += [finding for check in TENSION_CHECKS for finding in check(operation)]
    return in_order(found)

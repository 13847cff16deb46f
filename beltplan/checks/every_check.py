"""The ordered tuple of checks, what each name means, and the findings of them all."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from beltplan.checks.belt import (
    BELT_FIT_CHECK,
    BELT_FIT_MEANING,
    FITTING_CHECK,
    FITTING_MEANING,
    NO_ADJUSTER_CHECK,
    NO_ADJUSTER_MEANING,
    READING_CHECK,
    READING_MEANING,
    RESERVE_CHECK,
    RESERVE_MEANING,
    SLACK_SIDE_CHECK,
    SLACK_SIDE_MEANING,
    TAKE_UP_CHECK,
    TAKE_UP_MEANING,
    TRAVEL_CHECK,
    TRAVEL_MEANING,
    belt_fit_findings,
    fitting_findings,
    no_adjuster_findings,
    reserve_findings,
    rim_reading_findings,
    slack_side_findings,
    take_up_findings,
    travel_findings,
)
from beltplan.checks.clearance import (
    FREE_CHECK,
    FREE_MEANING,
    SHORT_SPAN_CHECK,
    SHORT_SPAN_MEANING,
    clearance_findings,
    free_span_findings,
    short_span_findings,
    tight_span_findings,
)
from beltplan.checks.gaps import (
    CLEARANCE_CHECK,
    CLEARANCE_MEANING,
    GAP_CHECK,
    GAP_MEANING,
    RIM_CHECK,
    RIM_MEANING,
)
from beltplan.checks.limits import Finding, in_order
from beltplan.checks.pulleys import (
    ALIGNMENT_CHECK,
    ALIGNMENT_MEANING,
    BELT_CHECK,
    BELT_MEANING,
    DIRECTION_CHECK,
    DIRECTION_MEANING,
    DOUBT_CHECK,
    DOUBT_MEANING,
    OPEN_SIDE_CHECK,
    OPEN_SIDE_MEANING,
    PULLEY_FIT_CHECK,
    PULLEY_FIT_MEANING,
    SMALL_CHECK,
    SMALL_MEANING,
    SPEED_CHECK,
    SPEED_MEANING,
    TURNING_CHECK,
    TURNING_MEANING,
    UNROUTED_CHECK,
    UNROUTED_MEANING,
    WRAP_CHECK,
    WRAP_MEANING,
    alignment_findings,
    belt_speed_findings,
    direction_findings,
    friction_findings,
    groove_findings,
    open_side_findings,
    rpm_findings,
    size_findings,
    small_pulley_findings,
    spring_place_findings,
    turning_findings,
    unrouted_findings,
    wrap_findings,
)
from beltplan.checks.tension import (
    HUB_CHECK,
    HUB_MEANING,
    RESONANCE_CHECK,
    RESONANCE_MEANING,
    REV_CHECK,
    REV_MEANING,
    SLIP_CHECK,
    SLIP_MEANING,
    SPAN_TENSION_CHECK,
    SPAN_TENSION_MEANING,
    SPRING_CHECK,
    SPRING_MEANING,
    hub_load_findings,
    not_judged_findings,
    resonance_findings,
    revving_findings,
    slip_findings,
    span_tension_findings,
    spring_findings,
)
from beltplan.drive.operation import Operation
from beltplan.drive.route import Route

_Check = Callable[[Route], list[Finding]]
_TensionCheck = Callable[[Operation], list[Finding]]

CHECKS: tuple[_Check, ...] = (
    wrap_findings,
    belt_fit_findings,
    no_adjuster_findings,
    reserve_findings,
    fitting_findings,
    travel_findings,
    rim_reading_findings,
    turning_findings,
    rpm_findings,
    belt_speed_findings,
    groove_findings,
    small_pulley_findings,
    clearance_findings,
    free_span_findings,
    short_span_findings,
    alignment_findings,
    take_up_findings,
    slack_side_findings,
    direction_findings,
    open_side_findings,
    unrouted_findings,
    size_findings,
    friction_findings,
    spring_place_findings,
    not_judged_findings,
)

TENSION_CHECKS: tuple[_TensionCheck, ...] = (
    slip_findings,
    revving_findings,
    span_tension_findings,
    hub_load_findings,
    spring_findings,
    resonance_findings,
    tight_span_findings,
)

MEANINGS: Mapping[str, str] = {
    WRAP_CHECK: WRAP_MEANING,
    BELT_FIT_CHECK: BELT_FIT_MEANING,
    NO_ADJUSTER_CHECK: NO_ADJUSTER_MEANING,
    RESERVE_CHECK: RESERVE_MEANING,
    FITTING_CHECK: FITTING_MEANING,
    TRAVEL_CHECK: TRAVEL_MEANING,
    READING_CHECK: READING_MEANING,
    TURNING_CHECK: TURNING_MEANING,
    SPEED_CHECK: SPEED_MEANING,
    BELT_CHECK: BELT_MEANING,
    PULLEY_FIT_CHECK: PULLEY_FIT_MEANING,
    SMALL_CHECK: SMALL_MEANING,
    CLEARANCE_CHECK: CLEARANCE_MEANING,
    GAP_CHECK: GAP_MEANING,
    RIM_CHECK: RIM_MEANING,
    FREE_CHECK: FREE_MEANING,
    SHORT_SPAN_CHECK: SHORT_SPAN_MEANING,
    ALIGNMENT_CHECK: ALIGNMENT_MEANING,
    TAKE_UP_CHECK: TAKE_UP_MEANING,
    SLACK_SIDE_CHECK: SLACK_SIDE_MEANING,
    DIRECTION_CHECK: DIRECTION_MEANING,
    OPEN_SIDE_CHECK: OPEN_SIDE_MEANING,
    UNROUTED_CHECK: UNROUTED_MEANING,
    DOUBT_CHECK: DOUBT_MEANING,
    SLIP_CHECK: SLIP_MEANING,
    REV_CHECK: REV_MEANING,
    SPAN_TENSION_CHECK: SPAN_TENSION_MEANING,
    HUB_CHECK: HUB_MEANING,
    SPRING_CHECK: SPRING_MEANING,
    RESONANCE_CHECK: RESONANCE_MEANING,
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

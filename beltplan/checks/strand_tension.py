"""Are the strands and the hubs loaded within what they stand, and does the spring hold?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.fit import is_sprung
from beltplan.checks.clearance import strand_name
from beltplan.checks.finding import Finding, judge, plain
from beltplan.checks.limits import OWN, Bound, bound_for
from beltplan.tension.mechanics import SOURCES
from beltplan.tension.operation import Operation

CHECK = "strand_tension"
MEANING = "a strand pulled harder than the belt stands, or hanging slack"
HUB_CHECK = "hub_load"
HUB_MEANING = "a pull on a pulley's hub over its max_hub_load_N"
SPRING_CHECK = "spring"
SPRING_MEANING = "a sprung adjuster that runs against a stop"
BALANCE = "computed balance of spring, belt stretch and loads"


def strand_tension_findings(operation: Operation) -> list[Finding]:
    """Strands over the belt's limit, and strands that go slack."""
    n = len(operation.route.pulleys)
    return [finding for i in range(n) for finding in _too_tight(operation, i) + _too_slack(operation, i)]


def _too_tight(operation: Operation, index: int) -> list[Finding]:
    tension = np.append(operation.running.total_N[..., index], operation.stopped.total_N[index])
    limit = operation.mechanics.strand_limit_N
    default = Bound("upper", limit, "N", SOURCES["strand_limit_N"])
    route = operation.route
    ends = tuple(pulley.name for pulley in route.strands[index])
    bound = bound_for(route.layout, "max_strand_N", ends, default=default) or default
    name, worst = strand_name(route, index), float(tension.max())
    message = f"pulled with up to {worst:.0f} N, {bound.limit:.0f} is the most: less tension, more ribs, or less load"
    return judge(CHECK, name, worst, bound, message, (name,))


def _too_slack(operation: Operation, index: int) -> list[Finding]:
    tractive = operation.running.tractive_N[..., index]
    duty, speed = np.unravel_index(int(np.argmin(tractive)), tractive.shape)
    worst, name = float(tractive[duty, speed]), strand_name(operation.route, index)
    if worst > 0.0:
        return []
    message = (
        f"hangs slack at {operation.driver_rpm[speed]:.0f} rpm, duty '{operation.duties[duty]}': no tension is left to "
        "grip with; more tension, or the adjuster on the slack side"
    )
    return [Finding(CHECK, "problem", name, message, BALANCE, worst, 0.0, "N", -1.0, (name,))]


def hub_load_findings(operation: Operation) -> list[Finding]:
    """Hubs pulled harder than their makers allow."""
    running = operation.hub_size_N.max(axis=(0, 1))
    stopped = np.hypot(*np.moveaxis(operation.stopped.hub_load_N, -1, 0))
    found: list[Finding] = []
    for pulley, load in zip(operation.route.pulleys, np.maximum(running, stopped), strict=True):
        if pulley.max_hub_load_N is not None:
            message = f"pulled with up to {load:.0f} N, {pulley.max_hub_load_N:g} allowed: less tension or less wrap"
            bound = Bound("upper", pulley.max_hub_load_N, "N", OWN)
            found += judge(HUB_CHECK, pulley.name, float(load), bound, message, (pulley.name,))
    return found


def spring_findings(operation: Operation) -> list[Finding]:
    """A sprung adjuster that cannot follow: against a stop, running or stopped."""
    moving = operation.route.moving
    if moving is None or not is_sprung(operation.route.circuit):
        return []
    if not (operation.stopped.tractive_N > 0.0).all():
        message = "the spring gives no push where the belt puts it: check its torque (or force) and its rate"
        return [plain(SPRING_CHECK, "problem", moving.name, message, BALANCE, (moving.name,))]
    if not bool(operation.running.at_stop.any() | operation.stopped.at_stop):
        return []
    message = (
        "the spring, the belt's stretch and the loads do not balance inside the travel: the adjuster runs against a "
        "stop, where the spring no longer sets the tension; another spring, belt or arm position"
    )
    return [plain(SPRING_CHECK, "problem", moving.name, message, BALANCE, (moving.name,))]

"""Are the strands and the hubs loaded within what they stand, and does the spring hold?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.fit import is_sprung
from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley
from beltplan.belts.travel import END_WORDS
from beltplan.checks.clearance import strand_name
from beltplan.checks.finding import Finding, judge, plain
from beltplan.checks.limits import OWN, Bound, bound_for
from beltplan.tension.mechanics import Mechanics, source_of
from beltplan.tension.operation import Operation, end_of_travel

CHECK = "strand_tension"
MEANING = "a strand pulled harder than the belt stands, or hanging slack"
HUB_CHECK = "hub_load"
HUB_MEANING = "a pull on a pulley's hub over its max_hub_load_N"
SPRING_CHECK = "spring"
SPRING_MEANING = "a sprung adjuster that runs against a stop"
BALANCE = "computed balance of spring, belt stretch and loads"


def strand_tension_findings(operation: Operation) -> list[Finding]:
    """Strands over the belt's limit, and strands that go slack: the worst of each kind, naming the others."""
    return _tightest(operation) + _slackest(operation)


def _tightest(operation: Operation) -> list[Finding]:
    running, stopped = operation.running.total_N.max(axis=(0, 1)), operation.stopped.total_N
    most = np.maximum(running, stopped)
    bounds = [_most_tension(operation, i) for i in range(len(most))]
    over = sorted((i for i in range(len(most)) if bounds[i].verdict(most[i])), key=lambda i: bounds[i].limit - most[i])
    if not over:
        return []
    worst, bound = float(most[over[0]]), bounds[over[0]]
    message = (
        f"pulled with up to {worst:.0f} N, {bound.limit:.0f} is the most{_others(operation, over)}: less tension, more "
        "ribs, or less load"
    )
    names = tuple(strand_name(operation.route, i) for i in over)
    return judge(CHECK, names[0], worst, bound, message, names)


def _most_tension(operation: Operation, index: int) -> Bound:
    ends = tuple(pulley.name for pulley in operation.route.strands[index])
    return most_tension(operation.route.layout, operation.mechanics, ends)


def most_tension(layout: Layout, mechanics: Mechanics, ends: tuple[str, ...]) -> Bound:
    """The most tension of the strand between two pulleys, by their names."""
    default = Bound("upper", mechanics.strand_limit_N, "N", source_of(layout.belt, "strand_limit_N"))
    return bound_for(layout, "max_strand_N", ends, default=default) or default


def most_hub_load(pulley: Pulley) -> Bound | None:
    """The most pull on a pulley's hub; None where its maker's number is not given."""
    return None if pulley.max_hub_load_N is None else Bound("upper", pulley.max_hub_load_N, "N", OWN)


def _slackest(operation: Operation) -> list[Finding]:
    tractive = operation.running.tractive_N
    least = tractive.min(axis=(0, 1))
    slack = [int(i) for i in np.argsort(least) if not least[i] > 0.0]
    if not slack:
        return []
    first = tractive[..., slack[0]]
    duty, speed = np.unravel_index(int(np.argmin(first)), first.shape)
    message = (
        f"hangs slack at {operation.driver_rpm[speed]:.0f} rpm, duty '{operation.duties[duty]}'"
        f"{_others(operation, slack)}: no tension is left to grip with; {_tighter(operation)}"
    )
    names = tuple(strand_name(operation.route, i) for i in slack)
    return [Finding(CHECK, "problem", names[0], message, BALANCE, float(first.min()), 0.0, "N", -1.0, names)]


def _tighter(operation: Operation) -> str:
    if operation.route.travel is None:
        return "a shorter belt, or less load"
    return "more tension, or the adjuster on the slack side"


def _others(operation: Operation, strands: list[int]) -> str:
    names = [strand_name(operation.route, i) for i in strands[1:]]
    return f" (also {', '.join(names)})" if names else ""


def hub_load_findings(operation: Operation) -> list[Finding]:
    """Hubs pulled harder than their makers allow."""
    running = operation.hub_size_N.max(axis=(0, 1))
    stopped = np.hypot(*np.moveaxis(operation.stopped.hub_load_N, -1, 0))
    found: list[Finding] = []
    for pulley, load in zip(operation.route.pulleys, np.maximum(running, stopped), strict=True):
        bound = most_hub_load(pulley)
        if bound is not None:
            message = f"pulled with up to {load:.0f} N, {bound.limit:g} allowed: less tension or less wrap"
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
    end = end_of_travel(operation)
    if end is None:
        return []
    at = f"{np.degrees(end[1]):.1f} deg" if _on_arm(operation) else f"{end[1]:.1f} mm"
    message = (
        "the spring, the belt's stretch and the loads do not balance inside the travel: the adjuster "
        f"{END_WORDS[end[0]]}, at {at}, and the spring no longer sets the tension; another spring, belt or arm position"
    )
    return [plain(SPRING_CHECK, "problem", moving.name, message, BALANCE, (moving.name,))]


def _on_arm(operation: Operation) -> bool:
    adjuster = operation.route.circuit.adjuster
    return adjuster is not None and adjuster.kind == "arm"

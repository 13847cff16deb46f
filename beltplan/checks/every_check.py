"""All the checks, as they stand in the files beside this one, and the findings of them all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from beltplan.checks import alignment, belt, charging, clearance, doubts, pulleys, resonance, shaking, slip, tension
from beltplan.checks.advice import with_agreeing_advice
from beltplan.checks.limits import Check, Finding, in_order
from beltplan.drive.operation import Operation
from beltplan.drive.route import Route

CHECKS: tuple[Check, ...] = tuple(
    check
    for file in (pulleys, doubts, alignment, charging, belt, clearance, slip, tension, resonance, shaking)
    for check in vars(file).values()
    if isinstance(check, Check)
)
"""Every question that is asked of a drive, file by file."""
CALLED: Mapping[str, str] = {check.name: check.called or check.name.replace("_", " ") for check in CHECKS}
"""What people call it, by its name in JSON."""
SHAKEN = frozenset(check.name for check in vars(shaking).values() if isinstance(check, Check))
"""What finds a drive shaken by the firing."""


def new_words(found: Sequence[Finding]) -> str:
    """The worst of what is found that was not there before, in words; '' where nothing is."""
    return "".join(f"a new {each.severity}, {each.subject}: {CALLED[each.check]}" for each in found[:1])


def findings_of(route: Route, operation: Operation | None) -> tuple[Finding, ...]:
    """Everything that the checks have to say of a route, worst first.

    operation: the drive in operation, None where `why_not_judged` says why there is none.
    """
    return in_order(with_agreeing_advice([finding for found in answers(route, lambda: operation) for finding in found]))


def answers(route: Route, running: Callable[[], Operation | None], notes: bool = True) -> Iterator[list[Finding]]:
    """What check after check has to say. running: gives the drive in operation, asked for when it is come to.

    notes: False leaves out checks that have nothing else to say.
    """
    yield from (check.of_route(route) for check in CHECKS)
    operation = running()
    if operation is not None:
        every = notes or route.layout.engine.swing_deg is not None
        yield from (check.of_operation(operation) for check in CHECKS if every or not check.by_swing)

"""All the checks, as they stand in the files beside this one, and the findings of them all."""

from __future__ import annotations

from beltplan.checks import belt, clearance, pulleys, tension
from beltplan.checks.limits import Check, Finding, in_order
from beltplan.drive.operation import Operation
from beltplan.drive.route import Route

CHECKS: tuple[Check, ...] = tuple(
    check for file in (pulleys, belt, clearance, tension) for check in vars(file).values() if isinstance(check, Check)
)
"""Every question that is asked of a drive, file by file."""


def findings_of(route: Route, operation: Operation | None) -> tuple[Finding, ...]:
    """Everything that the checks have to say of a route, worst first.

    operation: the drive in operation, None where `why_not_judged` says why there is none.
    """
    found = [finding for check in CHECKS for finding in check.of_route(route)]
    if operation is not None:
        found += [finding for check in CHECKS for finding in check.of_operation(operation)]
    return in_order(found)

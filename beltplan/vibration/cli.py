"""`beltplan vibration`: how the drive shakes as the engine fires."""

from __future__ import annotations

import argparse

from beltplan.cli.exits import Answer, Commands, add_options, foot_of, route_or_refuse, without_picture, writing
from beltplan.cli.outputs import layout_asked


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "vibration",
        help="how the drive shakes: its modes, where the firing meets them, what that does, what would help",
        description="How the drive shakes as the engine fires: its modes of turning, the speeds to keep away from, "
        "tension and grip at the worst moment, spans that flap, and what would help. "
        "Exit status: 0 no problem found, 1 at least one, 2 input error.",
        epilog="Example: beltplan vibration layouts/railcar.yaml --picture railcar_vibration.png",
    )
    add_options(parser, "layout", "json", picture="the chart", variant="take")
    parser.add_argument("--full", action="store_true", help="tell every mode and every span")
    add_options(parser, "units")


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Shake the drive. Returns what to show, and 1 where a check of it finds a problem, else 0."""
    from beltplan.drive.operation import operation_of
    from beltplan.vibration.report import not_judged_json, not_judged_report, vibration_json, vibration_report
    from beltplan.vibration.study import trials_of, vibration_of, why_none

    file = layout_asked(chosen)
    operation = operation_of(route := route_or_refuse(file))
    vibration = None if operation is None else vibration_of(operation)
    if vibration is None:
        reason = why_none(route, operation) or ""
        told = not_judged_json if chosen.json else not_judged_report
        answer: Answer = told(file.layout, reason)
        return (answer if chosen.picture is None else without_picture(answer, "--picture", reason)), 0
    if chosen.picture is not None:
        from beltplan.vibration.picture import draw_vibration  # matplotlib only where a picture is wanted

        with writing("--picture", chosen.picture):
            draw_vibration(vibration, chosen.picture, foot_of(file))
    trials = trials_of(vibration)
    code = int(any(finding.severity == "problem" for finding in vibration.findings))
    return vibration_json(vibration, trials) if chosen.json else vibration_report(vibration, trials, chosen.full), code

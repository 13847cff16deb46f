"""`beltplan check`: a layout file in, the belt plan and its picture out."""

from __future__ import annotations

import argparse

from beltplan.checks.plan import plan_on
from beltplan.checks.questions import with_questions
from beltplan.cli.exits import PICTURE, Answer, Commands, add_options, draw, foot_of, route_or_refuse, without_picture
from beltplan.cli.outputs import layout_asked


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "check",
        help="judge one layout: belt length, wraps, speeds, adjuster, findings, picture",
        description="Judge one layout. Exit status: 0 no problem found, 1 at least one, 2 input error.",
        epilog="Example: beltplan check layouts/railcar.yaml --picture railcar.png",
    )
    add_options(parser, "layout", "json")
    parser.add_argument("--picture", metavar="FILE", help="draw the routing; the ending says how: .png, .svg or .pdf")
    parser.add_argument("--slip-picture", metavar="FILE", help="draw slip over the speed range and the hub loads")
    add_options(parser, variant="judge", full="spans, adjuster, belts that fit, tension, slip", units="")
    parser.set_defaults(writes={"--picture": PICTURE, "--slip-picture": PICTURE})


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Judge a layout. Returns what to show, and 1 where there is a problem, else 0."""
    file = layout_asked(chosen)
    plan = with_questions(plan_on(route_or_refuse(file, chosen.picture)))
    if chosen.picture is not None:
        from beltplan.picture.routing import routing_scene  # matplotlib only where a picture is wanted

        draw("--picture", chosen.picture, routing_scene(plan), foot_of(file))
    if chosen.slip_picture is not None and plan.operation is not None:
        from beltplan.picture.slip import slip_scene

        draw("--slip-picture", chosen.slip_picture, slip_scene(plan), foot_of(file))
    # Only the one that is wanted is imported.
    if chosen.json:
        from beltplan.report.check_json import result_text

        answer: Answer = result_text(plan)
    else:
        from beltplan.report.check_text import check_report

        answer = check_report(plan, chosen.full)
    if chosen.slip_picture is not None and plan.operation is None:
        answer = without_picture(answer, "--slip-picture", plan.not_judged or "")
    return answer, 1 if plan.count("problem") else 0

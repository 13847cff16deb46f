"""`beltplan check`: a layout file in, the belt plan and its picture out."""

from __future__ import annotations

import argparse

from beltplan.belts.route import Route
from beltplan.checks.every_check import findings_of
from beltplan.checks.finding import Finding
from beltplan.cli.exits import Commands, Refused, read_or_refuse, route_or_refuse
from beltplan.report.json_result import result_text
from beltplan.report.text import report_text
from beltplan.report.words import verdict_of
from beltplan.tension.operation import operation_of


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "check",
        help="judge one layout: belt length, wraps, speeds, adjuster, findings, picture",
        description="Judge one layout. Exit status: 0 no problem found, 1 at least one, 2 no sense in the input.",
        epilog="Example: beltplan check layouts/railcar.yaml --picture railcar.png",
    )
    parser.add_argument("layout", metavar="LAYOUT", help="the layout file (YAML)")
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")
    parser.add_argument("--picture", metavar="FILE", help="draw the routing; the ending says how: .png, .svg or .pdf")
    parser.add_argument("--variant", metavar="NAME", help="judge this variant of the file")
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Judge a layout and show the result. Returns 1 where there is a problem, else 0."""
    if chosen.picture is not None:
        _refuse_other_endings(chosen.picture)
    route = route_or_refuse(read_or_refuse(chosen.layout, chosen.variant))
    operation = operation_of(route)
    findings = findings_of(route, operation)
    if chosen.picture is not None:
        _draw(route, findings, chosen.picture)
    write = result_text if chosen.json else report_text
    print(write(route, findings, operation))
    return 1 if any(finding.severity == "problem" for finding in findings) else 0


def _refuse_other_endings(path: str) -> None:
    if not path.lower().endswith((".png", ".svg", ".pdf")):
        raise Refused(f"--picture: got {path!r}; allowed: a file name ending in .png, .svg or .pdf")


def _draw(route: Route, findings: tuple[Finding, ...], path: str) -> None:
    from beltplan.plots.routing_picture import draw_routing  # matplotlib only where a picture is wanted

    try:
        draw_routing(route, findings, verdict_of(findings), path)
    except OSError as error:
        words = f"got {path!r}, which cannot be written ({error.strerror}); allowed: a place that can"
        raise Refused(f"--picture: {words}") from None

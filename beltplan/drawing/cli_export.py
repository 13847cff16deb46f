"""`beltplan export`: the routing as true lines, arcs and circles in a file that other tools open."""

from __future__ import annotations

import argparse
import os
from typing import TYPE_CHECKING, cast

from beltplan.cli.exits import Answer, Commands, add_options, route_or_refuse, writing
from beltplan.cli.outputs import layout_asked

if TYPE_CHECKING:
    from beltplan.drawing.content import Content
    from beltplan.drawing.report import Form

_ALLOWED = ".dxf, .svg, .csv or .json"


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "export",
        help="write belt, pulleys, centres and obstacles for a drawing or cutting program, or as a table",
        description="Write the belt as true lines and arcs, pulleys as circles, centres as points, the adjuster's "
        "travel and the obstacles, in millimetres at full size, on layers with plain names. "
        "Layers `names` and `notes` hold words and are not to be cut. "
        "Exit status: 0 written and no problem found, 1 written but `check` finds at least one, "
        "2 an input error, nothing written.",
        epilog="Example: beltplan export layouts/railcar.yaml --out railcar.dxf",
    )
    add_options(parser, "layout")
    parser.add_argument("--out", metavar="FILE", required=True, help=f"the file; the ending says how: {_ALLOWED}")
    add_options(parser, force="--out", variant="write", units="")
    parser.set_defaults(writes={"--out": (".dxf", ".svg", ".csv", ".json")})


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Write a file. Returns what to show, and 1 where `check` finds a problem, else 0.

    Raises Refused for a name that cannot be written and for a wrong layout.
    """
    file = layout_asked(chosen)
    from beltplan.checks.plan import plan_on
    from beltplan.drawing.content import Content
    from beltplan.drawing.report import export_report
    from beltplan.drawing.study import parts_of
    from beltplan.files import write_whole

    plan, form = plan_on(route_or_refuse(file)), cast("Form", os.path.splitext(chosen.out)[1][1:].lower())
    content = Content(plan, parts_of(plan.route))
    text = _text(content, form)
    with writing("--out", chosen.out):
        write_whole(chosen.out, text.encode("utf-8"), overwrite=chosen.force)
    return export_report(content, chosen.out, form, file.layout.units), 1 if plan.count("problem") else 0


def _text(content: Content, form: Form) -> str:
    # Only the one that is wanted is imported.
    if form == "dxf":
        from beltplan.drawing.dxf import dxf_text as text_of
    elif form == "svg":
        from beltplan.drawing.svg import svg_text as text_of
    else:
        from beltplan.drawing.content import csv_text, export_json

        text_of = csv_text if form == "csv" else export_json
    return text_of(content)

"""`beltplan template`: a drawing at full scale, to be printed, held against the engine and punched through."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING

from beltplan.checks.plan import Plan, plan_on
from beltplan.cli.exits import Answer, Commands, Refused, add_options, route_or_refuse, writing
from beltplan.cli.outputs import layout_asked
from beltplan.cli.slips import names_asked
from beltplan.drawing.report import template_json, template_report
from beltplan.drive.layout import Layout, Units
from beltplan.report.words import source_words

if TYPE_CHECKING:
    from beltplan.drawing.picture import Template

_USUAL: dict[Units, str] = {"mm": "A4", "in": "letter"}
_TURNED = "sheets are turned as the drawing needs"
_UNNEEDED = dict.fromkeys(("landscape", "portrait"), f"is not needed: {_TURNED}")
"""Words that stand by themselves on a command line, and why nobody need say them."""


def add_to(commands: Commands) -> None:
    from beltplan.picture.paper import PAPER_NAMES  # numbers only

    parser = commands.add_parser(
        "template",
        help="print a layout at full scale, over as many sheets as it takes, to punch centres through",
        description="Draw a layout exactly 1:1 as a PDF: centres with a cross and a dot to punch, rims, the belt, the "
        "adjuster's travel and what stands in the way; over several sheets with marks to join them, and check scales "
        "on every sheet. It is written whatever the checks find, and says on every sheet what they found. "
        "Exit status: 0 no problem found, 1 at least one, 2 an input error or nothing written.",
        epilog="Example: beltplan template layouts/railcar.yaml --out railcar.pdf --paper A3",
    )
    add_options(parser, "layout")
    parser.add_argument("--out", metavar="FILE", required=True, help="the file to write, ending in .pdf")
    parser.add_argument(
        "--paper",
        metavar="SIZE",
        help=f"one of {', '.join(PAPER_NAMES)} (default: {_USUAL['mm']}, of a file in inches {_USUAL['in']})",
    )
    parser.add_argument(
        "--only",
        metavar="NAME,...",
        action="append",
        help="draw just these pulleys and marks, with what bolts them on and two points to lay the print on",
    )
    add_options(parser, variant="draw")
    parser.add_argument("--json", action="store_true", help="print what was written as one JSON object")
    add_options(parser, "units")
    parser.set_defaults(writes={"--out": (".pdf",)}, faults=_paper_faults, unneeded=_UNNEEDED)


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Write a template. Returns what to show, and 1 where the checks found a problem, else 0.

    Raises Refused for wrong options or a wrong layout, and for a file that cannot be written.
    """
    file = layout_asked(chosen)
    only = _only(chosen.only, file.layout)
    plan = plan_on(route_or_refuse(file))
    paper = _USUAL[file.layout.units] if chosen.paper is None else chosen.paper
    template, counts = _written(plan, source_words(file.path), only, paper, chosen.out)
    one_sheet = [name for name, count in counts.items() if count == 1]
    answer = (template_json if chosen.json else template_report)(plan, template, chosen.out, one_sheet)
    return answer, 1 if plan.count("problem") else 0


def _only(asked: list[str] | None, layout: Layout) -> tuple[str, ...] | None:
    """The names asked for, each once. Raises Refused with every one that the layout does not have."""
    if asked is None:
        return None
    known = [*layout.pulleys, *(mark.name for mark in layout.marks)]
    return tuple(dict.fromkeys(names_asked("--only", asked, known)))


def _paper_faults(chosen: argparse.Namespace) -> list[str]:
    from beltplan.picture.paper import PAPER_NAMES, paper_named

    if chosen.paper is not None and paper_named(chosen.paper) is None:
        meant = re.sub(rf"[\s,;-]*({'|'.join(_UNNEEDED)})$", "", chosen.paper, flags=re.IGNORECASE)
        is_turned = meant != chosen.paper and meant in PAPER_NAMES
        hint = f" (write {meant}: {_TURNED})" * is_turned
        return [f"--paper: got {chosen.paper!r}{hint}; allowed: {', '.join(PAPER_NAMES)}"]
    return []


def _written(
    plan: Plan, source: str, only: tuple[str, ...] | None, asked: str, path: str
) -> tuple[Template, dict[str, int]]:
    # matplotlib only where something is written
    from beltplan.drawing.picture import MOST_SHEETS, sheet_counts, template_of, write_template
    from beltplan.drawing.strip import Heading
    from beltplan.drawing.strokes import drawing_of
    from beltplan.picture.painter import WrongPaper
    from beltplan.picture.paper import PAPERS, paper_named

    drawing, heading = drawing_of(plan.route, only), Heading(plan, source)
    counts, paper = sheet_counts(drawing, heading), next(each for each in PAPERS if each == paper_named(asked))
    if counts[paper.name] > MOST_SHEETS:
        larger = [f"{name} ({count})" for name, count in counts.items() if count <= MOST_SHEETS]
        raise Refused(
            f"--paper: {paper.name} takes up to {counts[paper.name]} sheets; "
            f"allowed: at most {MOST_SHEETS} sheets: {', '.join(larger) or 'on no paper of the list'}"
        )
    template = template_of(drawing, heading, paper)
    try:
        with writing("--out", path):
            write_template(template, heading, path)
    except WrongPaper as wrong:
        raise Refused(f"--out: {path}: {wrong}") from None
    return template, counts

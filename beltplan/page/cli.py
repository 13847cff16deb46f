"""`beltplan page`: a layout's whole answer as one HTML file to hand over."""

from __future__ import annotations

import argparse
import os
from dataclasses import replace

from beltplan.checks.plan import plan_on
from beltplan.checks.questions import with_questions
from beltplan.cli import exits
from beltplan.cli.outputs import refuse_to_overwrite
from beltplan.cli.slips import in_quotes
from beltplan.drive.layout import Layout
from beltplan.faults import FaultList, printable
from beltplan.files import write_whole
from beltplan.layoutfile.document import read_text
from beltplan.layoutfile.layout_file import LayoutFile
from beltplan.report.answer import report_of, title_of
from beltplan.report.check_text import buy_blocks, headline_beside
from beltplan.report.screen import Block, Footnotes, Paragraph
from beltplan.report.words import source_words

_MOST_BYTES = 400_000
"""So that it can be sent: where the layout's own text would make it larger, that is left out."""


def add_to(commands: exits.Commands) -> None:
    parser = commands.add_parser(
        "page",
        help="one page to hand over: belt, drawing, what to do, tables, the fitter's card, in a single HTML file",
        description="Write one page for the customer or the shop: a single HTML file that needs no network, opens on a "
        "phone, prints to two sheets (three with many layouts beside it), and can be read back as the layout file. "
        "Exit status: 0 no problem found, 1 at least one, 2 input error.",
        epilog="Example: beltplan page layouts/workboat.yaml --out workboat.html",
    )
    exits.add_options(parser, "layout")
    parser.add_argument("--out", metavar="FILE", required=True, help="the file to write, ending in .html")
    exits.add_options(parser, variant="the page of")
    parser.add_argument(
        "--with",
        dest="layouts",
        metavar="FILE",
        nargs="+",
        default=[],
        help="other layouts to show beside it, as before and after",
    )
    exits.add_options(parser, "units")
    parser.set_defaults(writes={"--out": (".html",)})


def run(chosen: argparse.Namespace) -> tuple[exits.Answer, int]:
    from beltplan.page.report import Origin, page_text  # matplotlib only where something is drawn

    asked = ((chosen.layout, chosen.variant), *((path, None) for path in chosen.layouts))
    own, *beside = exits.read_every_or_refuse(asked)
    file, *others = (next(each for each in every if each.is_asked).told_in(chosen.units) for every in (own, *beside))
    refuse_to_overwrite(chosen, [drawing for each in (file, *others) for drawing in each.drawings])
    same = [each for each in others if each.layout.variant == file.layout.variant]
    if any(os.path.samefile(file.path, each.path) for each in same):
        raise exits.Refused(f"--with: got {file.path!r}, the layout of this page itself; allowed: other layouts")
    plan, drawings = with_questions(plan_on(exits.route_or_refuse(file))), tuple(map(_name, file.drawings))
    origin = Origin(_name(file.path), read_text(file.path, FaultList()) or "", drawings, source_words(file.path))
    variants, named = [each.layout for each in own], _named(others, _name(file.path))
    page = page_text(plan, origin, variants, named).encode("utf-8")
    then = f"and `beltplan check {in_quotes(chosen.out)}` reads it back"
    # Pictures of many layouts may be longer than that without its text.
    if len(page) > _MOST_BYTES >= len(page) - len(origin.text.encode()):
        page = page_text(plan, replace(origin, text=""), variants, named).encode("utf-8")
        then = f"but {file.path} is too long to lie in it: hand it over as well"
    with exits.writing("--out", chosen.out):
        write_whole(chosen.out, page)
    words = f"{chosen.out}: any browser opens it, {then}"
    told: list[list[Block]] = [
        [title_of(plan.layout), headline_beside(plan)],
        buy_blocks(plan),
        [Paragraph(words, "WRITTEN  ")],
    ]
    return report_of(plan.layout.units, told, Footnotes(), full=False, more=""), 1 if plan.count("problem") else 0


def _name(path: str) -> str:
    return printable(os.path.basename(path)) or "layout"


def _named(files: list[LayoutFile], own: str) -> list[tuple[str, Layout]]:
    """Each layout with the name of its file, and its folder where two have one name. own: name of the page's file."""
    names = [_name(each.path) for each in files]
    told = (name if [own, *names].count(name) == 1 else printable(each.path)
            for name, each in zip(names, files, strict=True))  # fmt: skip
    return [(", ".join(filter(None, (name, each.layout.variant))), each.layout)
            for name, each in zip(told, files, strict=True)]  # fmt: skip

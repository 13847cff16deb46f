"""`beltplan squeal`: from the noise to the cause."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterator

from beltplan.cli.exits import Answer, Commands, Refused, add_options, route_or_refuse
from beltplan.cli.outputs import layout_asked
from beltplan.cli.slips import names_asked


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "squeal",
        help="find why it squeals: every cause, most likely first",
        description="Weigh every cause of noise that a layout can show against what was heard, most likely first. "
        "WORD: cold, wet, hot, idle, revving, letting_off, full_load, always. Exit status: 0, or 2 input error.",
        epilog="Example: beltplan squeal layouts/camper.yaml --when wet,idle --water louder",
    )
    add_options(parser, "layout")
    parser.add_argument(
        "--when", metavar="WORD,...", action="append", help="when it is heard; all of the words hold together"
    )
    parser.add_argument(
        "--water",
        metavar="WORD",
        action="append",
        help="what plain water on the belt's running side does: louder, quieter or same",
    )
    add_options(parser, "json", variant="take")
    parser.add_argument("--full", action="store_true", help="tell all causes in full")
    add_options(parser, "units")
    parser.set_defaults(faults=_faults)


def _faults(chosen: argparse.Namespace) -> Iterator[str]:
    for option in ("--when", "--water"):
        try:
            _said(chosen, option)
        except Refused as refusal:
            yield str(refusal)


def _said(chosen: argparse.Namespace, option: str) -> tuple[str, ...]:
    from beltplan.squeal.readings import WORDS
    from beltplan.squeal.study import WATERS

    texts, known = (chosen.when, WORDS) if option == "--when" else (chosen.water, WATERS)
    return () if texts is None else names_asked(option, texts, tuple(known))


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Weigh the causes. Returns what to show, and 0: a cause is no verdict on the layout."""
    from beltplan.checks.plan import plan_on
    from beltplan.checks.questions import with_questions
    from beltplan.squeal.readings import WORDS, Heard
    from beltplan.squeal.report import squealing_json, squealing_report
    from beltplan.squeal.study import WATERS, squealing_of

    file = layout_asked(chosen)
    water = next((word for word in WATERS if word in _said(chosen, "--water")), None)
    heard = Heard(tuple(word for word in WORDS if word in _said(chosen, "--when")), water)
    variant = [] if chosen.variant is None else ["--variant", chosen.variant]
    plan = with_questions(plan_on(route_or_refuse(file)))
    squealing = squealing_of(plan, heard, shlex.join([chosen.layout, *variant]))
    return squealing_json(squealing) if chosen.json else squealing_report(squealing, chosen.full), 0

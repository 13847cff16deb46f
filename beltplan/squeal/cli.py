"""`beltplan squeal`: from the noise to the cause."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterator

from beltplan.cli.exits import Answer, Commands, add_layout, add_units, route_or_refuse
from beltplan.cli.outputs import layout_asked
from beltplan.faults import did_you_mean, quoted


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "squeal",
        help="find why it squeals: every cause, most likely first",
        description="Weigh every cause of noise that a layout can show against what was heard, most likely first. "
        "WORD: cold, wet, hot, idle, revving, letting_off, full_load, always. Exit status: 0, or 2 input error.",
        epilog="Example: beltplan squeal layouts/camper.yaml --when wet,idle --water louder",
    )
    add_layout(parser, as_json=False)
    parser.add_argument("--when", metavar="WORD,...", help="when it is heard; all of the words hold together")
    parser.add_argument("--water", metavar="WORD", help="what plain water on the ribs does: louder, quieter or same")
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")
    parser.add_argument("--variant", metavar="NAME", help="take this variant of the file")
    parser.add_argument("--full", action="store_true", help="tell all causes in full")
    add_units(parser)
    parser.set_defaults(run=run, writes={}, faults=_faults)


def _faults(chosen: argparse.Namespace) -> Iterator[str]:
    from beltplan.squeal.readings import WORDS
    from beltplan.squeal.study import WATERS

    for option, given, allowed in (("--when", _when(chosen), WORDS), ("--water", _water(chosen), WATERS)):
        for word in given:
            if word not in allowed:
                hint = did_you_mean(word, allowed)
                yield f"{option}: got {quoted(word)}{hint}; allowed: {', '.join(allowed)}"


def _when(chosen: argparse.Namespace) -> list[str]:
    words = [] if chosen.when is None else chosen.when.split(",")
    return list(dict.fromkeys(word.strip() for word in words))


def _water(chosen: argparse.Namespace) -> list[str]:
    return [] if chosen.water is None else [chosen.water.strip()]


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Weigh the causes. Returns what to show, and 0: a cause is no verdict on the layout."""
    from beltplan.checks.plan import plan_on
    from beltplan.checks.questions import with_questions
    from beltplan.squeal.readings import WORDS, Heard
    from beltplan.squeal.report import squealing_json, squealing_report
    from beltplan.squeal.study import WATERS, squealing_of

    file = layout_asked(chosen)
    water = next((word for word in WATERS if word in _water(chosen)), None)
    heard = Heard(tuple(word for word in WORDS if word in _when(chosen)), water)
    variant = [] if chosen.variant is None else ["--variant", chosen.variant]
    plan = with_questions(plan_on(route_or_refuse(file)))
    squealing = squealing_of(plan, heard, shlex.join([chosen.layout, *variant]))
    return squealing_json(squealing) if chosen.json else squealing_report(squealing, chosen.full), 0

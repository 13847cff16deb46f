"""`beltplan fit`: the fitter's card."""

from __future__ import annotations

import argparse
from contextlib import suppress

from beltplan.checks.card import USUAL_PRESS_N
from beltplan.cli.exits import Answer, Commands, add_options, route_or_refuse
from beltplan.cli.outputs import layout_asked
from beltplan.drive.own_units import own_unit_value

_MOST_PRESS_N = 1e4


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "fit",
        help="the fitter's card: line up, put the belt on, read the pointer, set the tension, what pulls on brackets",
        description="The fitter's card, in the order of the work at the engine: line the pulleys up, put the belt on, "
        "read the pointer, set or check the tension, and what pulls on the brackets. "
        "Exit status: 0 no problem found, 1 at least one, 2 input error.",
        epilog="Example: beltplan fit layouts/camper.yaml",
    )
    add_options(parser, "layout", "json", variant="the card of")
    default = f"98 or 22lbf (default: {USUAL_PRESS_N:g} N)"
    press = f"with what force the longest span is pressed to see its tension, as {default}"
    parser.add_argument("--press", metavar="N", type=_press_N, default=USUAL_PRESS_N, help=press)
    add_options(parser, "units")


def _press_N(text: str) -> float:
    with suppress(ValueError):
        own = own_unit_value(text, "N")
        if 0.0 < (newton := float(text) if own is None else own) <= _MOST_PRESS_N:
            return newton
    raise argparse.ArgumentTypeError(f"got {text!r}; allowed: a force above 0 to {_MOST_PRESS_N:g} N, or 22lbf, 10kgf")


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    from beltplan.checks.card import card_of
    from beltplan.checks.plan import plan_on
    from beltplan.checks.questions import with_questions
    from beltplan.report.card import card_json, card_report

    plan = with_questions(plan_on(route_or_refuse(layout_asked(chosen))))
    card = card_of(plan, chosen.press)
    return card_json(card) if chosen.json else card_report(card), 1 if plan.count("problem") else 0

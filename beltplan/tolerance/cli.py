"""`beltplan tolerance`: what the errors of measuring and the belt's own tolerance do to a layout."""

from __future__ import annotations

import argparse

from beltplan.cli.exits import Answer, Commands, add_options, draw, foot_of, route_or_refuse, whole_number
from beltplan.cli.outputs import layout_asked
from beltplan.cli.progress import Bar
from beltplan.tolerance.study import DRAWS, SEED, tolerance_of

_FEWEST_DRAWS, _MOST_DRAWS = 100, 200_000
_LARGEST_SEED = 2**32 - 1


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "tolerance",
        help="what errors of measuring do: the belt with the best chance, and what to measure again",
        description="Lay a layout many times over, every measurement a little off as it may be, and tell the "
        "chance of every belt, the spread of every wrap, gaps too small, and which measurement matters most. "
        "Exit status: 0 a belt is worth buying or asking for, 1 none is or a problem stands, 2 input error.",
        epilog="Example: beltplan tolerance layouts/workboat.yaml --picture tolerance.png",
    )
    add_options(parser, "layout", "json", picture="the spreads", variant="judge")
    parser.add_argument(
        "--draws",
        metavar="N",
        type=whole_number(_FEWEST_DRAWS, _MOST_DRAWS),
        default=DRAWS,
        help=f"how many times it is laid, {_FEWEST_DRAWS} to {_MOST_DRAWS} (default: {DRAWS})",
    )
    parser.add_argument(
        "--seed",
        metavar="N",
        type=whole_number(0, _LARGEST_SEED),
        default=SEED,
        help=f"where chance begins; the same number gives the same answer (default: {SEED})",
    )
    add_options(parser, full="every table in full, and how it was found", units="")


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Study a layout. Returns what to show, and 0 where no problem stands and a belt is worth buying or asking for."""
    from beltplan.tolerance.report import tolerance_json, tolerance_report

    file = layout_asked(chosen)
    route = route_or_refuse(file)
    with Bar("drawing layouts") as bar:
        study = tolerance_of(route, chosen.draws, chosen.seed, bar)
    if chosen.picture is not None:
        from beltplan.report.answer import picture_words
        from beltplan.tolerance.picture import tolerance_scene  # matplotlib only where a picture is wanted
        from beltplan.tolerance.report import answers

        told = picture_words(answers(study), file.layout.units)
        draw("--picture", chosen.picture, tolerance_scene(study, told), foot_of(file))
    answer = tolerance_json(study) if chosen.json else tolerance_report(study, chosen.full)
    buys = (study.best is not None or study.worth_asking) and not study.plan.count("problem")
    return answer, 0 if buys else 1

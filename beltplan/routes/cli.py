"""`beltplan route`: which order, and which side of each pulley, makes one belt work?"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from beltplan.cli.exits import Answer, Commands, Refused, add_options, draw, foot_of, no_path, whole_number
from beltplan.cli.outputs import layout_asked
from beltplan.cli.progress import Bar
from beltplan.cli.slips import names_asked

if TYPE_CHECKING:
    from beltplan.layoutfile.layout_file import LayoutFile

_LISTED, _DRAWN, _MOST_ALLOWED = 6, 4, 24
"""Routes listed and drawn where nothing is said, and at most."""
_FEWEST_KEPT = 4
"""Three names or fewer stand in one order only, either way round."""


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "route",
        help="find the order and the sides that make one belt work",
        description="Find every route that one belt can take round the pulleys, whatever the file's own, judge each by "
        "every check, and rank them by the rule of `compare`. "
        "Exit status: 0 the best has no problem, 1 each has at least one, 2 input error, or no route at all.",
        epilog="Example: beltplan route layouts/camper.yaml --picture routes.png",
    )
    add_options(parser, "layout", "json", picture="the best at one scale")
    parser.add_argument(
        "--most",
        metavar="N",
        type=whole_number(1, _MOST_ALLOWED),
        help=f"list and draw so many, 1 to {_MOST_ALLOWED} (default: list {_LISTED}, draw {_DRAWN})",
    )
    parser.add_argument(
        "--keep-order-of", metavar="A,B,C,D", help="pulleys that stay in this order round the loop, either way round"
    )
    add_options(parser, variant="take", full="how routes are looked for and ranked, notes", units="")


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Search a layout's routes. Returns what to show, and 0 where the best has no problem, else 1.

    Raises Refused for faults of the file and of the options, and where there is no route at all.
    """
    from beltplan.drive.way_round import NoBeltPath
    from beltplan.routes.report import route_json, route_report, side_by_side
    from beltplan.routes.study import search_routes

    file = layout_asked(chosen)
    kept = _kept(file, chosen.keep_order_of)
    with Bar("judging routes") as bar:
        try:
            search = search_routes(file.layout, kept, bar)
        except NoBeltPath as refusal:
            raise no_path(file, refusal.faults, "pulleys") from None
    if chosen.picture is not None:
        from beltplan.picture.cells import compare_scene

        shown = side_by_side(search, chosen.most or _DRAWN)
        draw("--picture", chosen.picture, compare_scene(shown, _MOST_ALLOWED), foot_of(file))
    most = chosen.most or _LISTED
    answer = route_json(search, most) if chosen.json else route_report(search, most, chosen.full)
    return answer, 1 if search.best.plan.count("problem") else 0


def _kept(file: LayoutFile, text: str | None) -> tuple[str, ...]:
    if text is None:
        return ()
    names = names_asked("--keep-order-of", [text], tuple(file.layout.pulleys))
    faults = [f"got {name!r} twice; allowed: each once" for name in dict.fromkeys(names) if names.count(name) > 1]
    if not faults and len(names) < _FEWEST_KEPT:
        faults = [f"got {len(names)} names; allowed: {_FEWEST_KEPT} or more, since fewer stand in one order only"]
    if faults:
        raise Refused("\n".join(f"--keep-order-of: {fault}" for fault in faults))
    return names

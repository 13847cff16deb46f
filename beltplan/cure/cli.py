"""`beltplan cure`: the small change that best takes the problems of a layout away, or its cautions."""

from __future__ import annotations

import argparse
from functools import partial
from typing import TYPE_CHECKING

from beltplan.cli.exits import Answer, Commands, add_options, draw, foot_of, route_or_refuse
from beltplan.cli.outputs import layout_asked
from beltplan.cli.progress import Bar
from beltplan.cli.rewrites import write_changed
from beltplan.report.answer import NOTHING_WRITTEN, Written

if TYPE_CHECKING:
    from beltplan.cure.trials import Trial
    from beltplan.drive.layout import Layout


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "cure",
        help="find the small change that takes a layout's problems away",
        description="Try small changes of many kinds, alone, in pairs, and one more beside the best. Where there are "
        "problems, list what takes all of them away: the fewest changes first, then the fewest cautions. Where there "
        "is none, list what leaves fewer cautions, the fewest first. "
        "Exit status: 0 cured or no problem to cure, 1 no cure found, 2 input error.",
        epilog="Example: beltplan cure layouts/camper.yaml --write cured.yaml",
    )
    written = "the first cure, else the nearest to one, as a new layout file"
    add_options(parser, "layout", "json", picture="before and after", write=written)
    parser.add_argument("--smallest", action="store_true", help="put the cure that changes least first")
    add_options(parser, force="--write", variant="cure", full="every cure before and after, what was tried", units="")


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Look for cures. Returns what to show, and 0 where there is one or no problem to cure, else 1."""
    from beltplan.checks.plan import counted
    from beltplan.cure.report import cure_json, cure_report, side_by_side
    from beltplan.cure.study import cures_of

    file = layout_asked(chosen)
    route_or_refuse(file)
    with Bar("trying changes") as bar:
        cures = cures_of(file.layout, bar)
    cures = cures.smallest_first() if chosen.smallest else cures
    if chosen.picture is not None:
        from beltplan.picture.cells import compare_scene

        draw("--picture", chosen.picture, compare_scene(side_by_side(cures)), foot_of(file))
    written = NOTHING_WRITTEN if chosen.write is None else Written(remark="no better layout was found")
    if chosen.write is not None and (first := cures.best or cures.nearest):
        trial = first.trial
        left = "" if cures.best else f"no cure: it leaves {counted(trial.findings, 'problem')}"
        done, changes = f"Changed by `beltplan cure`{left and f' ({left})'}", [change.words for change in trial.changes]
        written = write_changed(chosen.write, file, trial.layout, done, changes, chosen.force, partial(_fault, trial))
        written = written._replace(remark=left)
    status = 0 if cures.healthy or cures.best is not None else 1
    if chosen.json:
        return cure_json(cures, file.path, written), status
    return cure_report(cures, written, chosen.full), status


def _fault(first: Trial, read: Layout) -> str | None:
    from beltplan.cure.trials import trial_of

    trial = trial_of((), read)
    if trial is None or trial.counts > first.counts:
        return "with its numbers rounded it comes to more problems or cautions"
    return None

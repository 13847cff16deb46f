"""A layout file written anew with what a command has changed: the words that lead it, and what stands in the way."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence

from beltplan.cli.exits import Refused, read_every_or_refuse, writing
from beltplan.cli.slips import in_quotes
from beltplan.drive.layout import Layout
from beltplan.drive.way_round import NoBeltPath
from beltplan.layoutfile.layout_file import BASE, LayoutFile
from beltplan.report.answer import Written
from beltplan.report.screen import in_units


def notes_of(file: LayoutFile, done: str, changes: Sequence[str] = ()) -> list[str]:
    """Comments to lead a changed file. done: by which command, as 'Changed by `beltplan cure`'."""
    name = ascii(os.path.basename(file.path))[1:-1]
    variant = f", variant {file.layout.variant!r}" if file.layout.variant else ""
    return [
        f"{done} from {name}{variant}; a plan on paper, not an approval{':' if changes else '.'}",
        *(f"  - {in_units(words, file.layout.units)}" for words in changes),
        "The old comments are kept; those beside a changed value may be wrong now.",
        "",
    ]


def write_changed(
    path: str,
    file: LayoutFile,
    after: Layout,
    done: str,
    changes: Sequence[str],
    overwrite: bool,
    fault: Callable[[Layout], str | None],
) -> Written:
    """Write a layout file with changes, in words as well, to the path that --write names. Other layouts of the file may
    come off worse: a change to the base goes into every variant that does not replace it.

    fault: what is wrong with the layout that is read back, None where nothing is. Raises Refused.
    """
    from beltplan.layoutfile.edits import CannotEdit
    from beltplan.layoutfile.rewriting import write_rewritten

    before = _problems_of_others(file, file.path)
    with writing("--write", path):
        try:
            write_rewritten(path, file, after, notes_of(file, done, changes), overwrite, fault)
        except CannotEdit as reason:
            words = f"{file.path} cannot be edited in place: {reason}; make the change by hand: "
            raise Refused(f"--write: {words}{in_units('; and '.join(changes), file.layout.units)}") from None
    now = _problems_of_others(file, path)
    pairs = {name: (count, now[name]) for name, count in before.items()}
    worse = {name: (old, new) for name, (old, new) in pairs.items() if old is not None and (new is None or new > old)}
    return Written(path, worse=worse, asked=asked_by(path, after), of_variant=after.variant is not None)


def asked_by(path: str, layout: Layout) -> str:
    """What a command names a layout in the file of that path by, as it is typed."""
    return in_quotes(path) + ("" if layout.variant is None else f" --variant {in_quotes(layout.variant)}")


def _problems_of_others(source: LayoutFile, path: str) -> dict[str, int | None]:
    (every,) = read_every_or_refuse([(path, None)])
    others = (file.layout for file in every if file.layout.variant != source.layout.variant)
    return {BASE if layout.variant is None else layout.variant: _problems(layout) for layout in others}


def _problems(layout: Layout) -> int | None:
    from beltplan.checks.plan import plan_of

    try:
        return plan_of(layout).count("problem")
    except NoBeltPath:
        return None

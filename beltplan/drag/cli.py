"""`beltplan drag`: a window in which a pulley is moved by hand, and the drive answers at once."""

from __future__ import annotations

import argparse
import os
from functools import partial
from itertools import count

from beltplan.cli.exits import Answer, Commands, Refused, add_options
from beltplan.cli.outputs import refuse_to_overwrite
from beltplan.cli.rewrites import asked_by, notes_of
from beltplan.drive.layout import Layout
from beltplan.faults import LayoutFaults
from beltplan.files import written
from beltplan.layoutfile.layout_file import LayoutFile

_NO_WINDOW = (
    "drag: got no screen that a window can be opened on; allowed: a desktop, with Python's tkinter installed "
    "(Debian: apt install python3-tk). `beltplan place` makes the map of a pulley without a window"
)


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "drag",
        help="move a pulley with the mouse, and see at once what it does",
        description="Open a window with the drive: hold a pulley and move it; belt, wraps, adjuster, clearances and "
        "findings follow. The key ? tells all keys. The file stays as it is: s writes what was changed into another.",
        epilog="Example: beltplan drag layouts/camper.yaml --save moved.yaml",
    )
    add_options(parser, layout="; saved in an editor, it is shown anew", variant="begin with")
    parser.add_argument("--save", metavar="FILE", help="where the key s writes (default: a new name beside the layout)")
    add_options(parser, force="--save")
    parser.set_defaults(writes={"--save": ()})


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Show the window until it is closed. Returns what was saved, and 0. Raises Refused."""
    from beltplan.drag.bench import Bench

    try:
        bench = Bench(chosen.layout, chosen.variant, partial(_saved, path=chosen.save, force=chosen.force))
    except LayoutFaults as faults:
        raise Refused(str(faults)) from None
    refuse_to_overwrite(chosen, bench.drawings)
    from beltplan.drag.window import NoWindow, open_window

    try:
        open_window(bench)
    except NoWindow:
        raise Refused(_NO_WINDOW) from None
    return "\n".join(f"saved: {path}" for path in dict.fromkeys(written)) or "nothing was saved", 0


def _saved(source: LayoutFile, after: Layout, path: str | None, force: bool) -> str:
    from beltplan.layoutfile.edits import CannotEdit
    from beltplan.layoutfile.rewriting import write_rewritten

    stem = os.path.splitext(source.path)[0]
    target = path if force and path is not None else _free_name(path or f"{stem}_moved.yaml")
    try:
        write_rewritten(
            target, source, after, notes_of(source, "Moved by hand in `beltplan drag`"), force, lambda read: None
        )
    except CannotEdit as reason:
        return f"not saved: {source.path} cannot be edited in place: {reason}"
    except OSError as error:
        return f"not saved: {target!r} cannot be written ({error.strerror or error})"
    return f"saved: {target}   (beltplan check {asked_by(target, source.layout)})"


def _free_name(path: str) -> str:
    """The path, or with the first number behind it that makes a name that is not taken."""
    stem, ending = os.path.splitext(path)
    names = (path if n == 1 else f"{stem}_{n}{ending}" for n in count(1))
    return next(name for name in names if not os.path.lexists(name))

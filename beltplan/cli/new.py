"""`beltplan new`: a starter file, of a layout or of measurements, with a comment on every key."""

from __future__ import annotations

import argparse

from beltplan.cli.exits import Commands, writing
from beltplan.cli.slips import in_quotes
from beltplan.files import write_whole


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "new",
        help="write a starter file, of a layout or of measurements, with a comment on every key",
        description="Write a starter layout with a comment on every key, or a file of measurements that "
        "`beltplan measure` makes a layout of. An existing file is never touched.",
        epilog="Example: beltplan new my_engine.yaml",
    )
    parser.add_argument("file", metavar="FILE", help="the file to write")
    parser.add_argument(
        "--measurements", action="store_true", help="a file of measurements instead, where no places are known"
    )
    parser.add_argument("--units", choices=("mm", "in"), default="mm", help="of the lengths in it (default: mm)")
    parser.set_defaults(writes={"FILE": ()})


def run(chosen: argparse.Namespace) -> tuple[str, int]:
    """Write the starter file. Returns the text to show, and 0.

    Raises Refused where the file exists or cannot be written.
    """
    from beltplan.layoutfile.starter import starter_of  # only this command wants it

    text = starter_of(chosen.measurements, chosen.units)
    with writing("FILE", chosen.file):
        write_whole(chosen.file, text.encode("utf-8"), overwrite=False)
    typed = f"beltplan {'measure' if chosen.measurements else 'check'} {in_quotes(chosen.file)}"
    return f"{chosen.file} written, lengths in {chosen.units}: put your own numbers in it, then type: {typed}", 0

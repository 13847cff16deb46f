"""`beltplan new`: a starter layout with a comment on every key."""

from __future__ import annotations

import argparse

from beltplan.cli.exits import Commands, Refused


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "new",
        help="write a starter layout with a comment on every key",
        description="Write a starter layout with a comment on every key. An existing file is never touched.",
        epilog="Example: beltplan new my_engine.yaml",
    )
    parser.add_argument("file", metavar="FILE", help="the layout file to write")
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> tuple[str, int]:
    """Write the starter layout. Returns the text to show, and 0.

    Raises Refused where the file exists or cannot be written.
    """
    from beltplan.reading.starter import STARTER  # only this command wants it

    try:
        with open(chosen.file, "x", encoding="utf-8") as file:
            file.write(STARTER)
    except FileExistsError:
        raise Refused(f"new: got {chosen.file!r}, which exists already; allowed: a name that is not taken") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise Refused(
            f"new: got {chosen.file!r}, which cannot be written ({reason}); allowed: a place that can"
        ) from None
    return f"{chosen.file} written: put your own numbers in it, then run: beltplan check {chosen.file}", 0

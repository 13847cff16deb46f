"""`beltplan words`: the word list."""

from __future__ import annotations

import argparse

from beltplan.cli.exits import Commands


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "words",
        help="print the word list: keys, roles, belt profiles, limits and findings",
        description="Print every key of a layout file, every role, belt profile, limit with its source, and finding.",
        epilog="Example: beltplan words",
    )
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> tuple[str, int]:
    """The word list, and 0."""
    from beltplan.reading.keys import KEYS
    from beltplan.report.word_list import KeyRow, word_list  # only this command wants it

    rows = [KeyRow(key.path, key.kind, key.unit, key.default, key.meaning) for key in KEYS]
    return word_list(rows), 0

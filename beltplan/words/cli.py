"""`beltplan words`: the word list."""

from __future__ import annotations

import argparse

from beltplan.cli.exits import Commands


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "words",
        help="print the word list: keys, roles, belt profiles, limits and findings",
        description="Print every key of a layout file and of a measurements file, every role, belt profile, limit with "
        "its source, and finding.",
        epilog="Example: beltplan words",
    )
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> tuple[str, int]:
    """The word list, and 0."""
    from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS
    from beltplan.words.word_list import word_list  # only this command wants it

    return word_list(KEYS, MEASUREMENT_KEYS), 0

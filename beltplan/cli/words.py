"""`beltplan words`: the word list."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from beltplan.cli.exits import Commands

if TYPE_CHECKING:
    from beltplan.reading.key import Key


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
    from beltplan.reading.keys import KEYS
    from beltplan.reading.measurement_keys import MEASUREMENT_KEYS
    from beltplan.report.word_list import KeyRow, word_list  # only this command wants it

    def rows(keys: Sequence[Key]) -> list[KeyRow]:
        return [KeyRow(key.path, key.kind, key.unit, key.default, key.meaning) for key in keys]

    return word_list(rows(KEYS), rows(MEASUREMENT_KEYS)), 0

"""`beltplan words`: the word list, and the schema of a file for editors."""

from __future__ import annotations

import argparse

from beltplan.cli.exits import Commands, Refused


def add_to(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "words",
        help="print the word list: keys, roles, belt profiles, limits and findings",
        description="Print every key of a layout file and of a measurements file, every role, belt profile, limit with "
        "its source, and finding; or the keys alone as a JSON Schema (draft 2020-12), by which an editor completes and "
        "checks a file while you type.",
        epilog="Example: beltplan words --schema > layout.schema.json",
    )
    parser.add_argument("--schema", action="store_true", help="print the JSON Schema of a layout file")
    parser.add_argument("--measurements", action="store_true", help="with --schema: that of a measurements file")
    parser.set_defaults(run=run, writes={})


def run(chosen: argparse.Namespace) -> tuple[str, int]:
    """The word list or a schema, and 0."""
    # Only this command wants these.
    if chosen.schema:
        from beltplan.words.json_schema import schema_text

        return schema_text(chosen.measurements), 0
    if chosen.measurements:
        raise Refused("--measurements: got it without --schema; allowed: beltplan words --schema --measurements")
    from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS
    from beltplan.words.word_list import word_list

    return word_list(KEYS, MEASUREMENT_KEYS), 0

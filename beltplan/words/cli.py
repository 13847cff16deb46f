"""`beltplan words`: the word list, and the schema of a file for editors."""

from __future__ import annotations

import argparse

from beltplan.cli.exits import Answer, Commands


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "words",
        help="say what a word means: a key, role, belt profile, limit, finding or term, with default and source",
        description="Say what one word means, with its default, unit and source: a key of a layout file or of a "
        "measurements file, a role, belt profile, limit, finding or term; alone, tell which words there are. Or print "
        "the keys as a JSON Schema (draft 2020-12), by which an editor completes and checks a file while you type.",
        epilog="Example: beltplan words min_wrap_deg",
    )
    parser.add_argument("word", metavar="WORD", nargs="*", help="the word: belt_side, alternator, PK, grip used, ...")
    parser.add_argument("--all", action="store_true", help="print the whole list")
    schema = "print the JSON Schema of a layout file: beltplan words --schema > layout.schema.json"
    parser.add_argument("--schema", action="store_true", help=schema)
    parser.add_argument("--measurements", action="store_true", help="with --schema: that of a measurements file")
    parser.set_defaults(faults=_faults)


def _faults(chosen: argparse.Namespace) -> list[str]:
    asked = [name for name in ("word", "all", "schema") if getattr(chosen, name)]
    faults = []
    if len(asked) > 1:
        faults.append("words: got several wishes; allowed: one of a word, --all and --schema")
    if chosen.measurements and not chosen.schema:
        faults.append("--measurements: got it without --schema; allowed: beltplan words --schema --measurements")
    return faults


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """The word, the list or a schema, and 0. Raises Refused where there is no such word."""
    # Only this command wants these.
    if chosen.schema:
        from beltplan.words.json_schema import schema_text

        return schema_text(chosen.measurements), 0
    from beltplan.words.report import answer, overview, whole_list

    if chosen.word:
        return answer(" ".join(chosen.word)), 0
    return whole_list() if chosen.all else overview(), 0

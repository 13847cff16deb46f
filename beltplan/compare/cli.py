"""`beltplan compare`: layouts and their variants side by side, ranked by one rule."""

from __future__ import annotations

import argparse
import os
from collections.abc import Sequence
from dataclasses import replace
from itertools import chain, count
from typing import TYPE_CHECKING

from beltplan.cli.exits import (
    Answer,
    Commands,
    Refused,
    add_options,
    draw,
    mend_of,
    read_every_or_refuse,
    route_or_refuse,
)
from beltplan.cli.outputs import refuse_to_overwrite
from beltplan.cli.progress import Bar
from beltplan.layoutfile.layout_file import BASE
from beltplan.report.words import source_words

if TYPE_CHECKING:
    from beltplan.layoutfile.layout_file import LayoutFile


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "compare",
        help="set layouts and their variants side by side, and rank them",
        description="Set layouts, each with its variants, side by side, and rank them by one rule. "
        "Exit status: 0 the best has no problem, 1 each has at least one, 2 input error.",
        epilog="Example: beltplan compare layouts/workboat.yaml --picture compare.png",
    )
    parser.add_argument("layouts", metavar="LAYOUT", nargs="+", help="a layout file (YAML), with all its variants")
    add_options(parser, "json", picture="all at one scale", full="every row, notes, the rule of the ranking", units="")


def run(chosen: argparse.Namespace) -> tuple[Answer, int]:
    """Compare layouts. Returns what to show, and 0 where the best one has no problem, else 1.

    Raises Refused for a layout given twice, for faults of any file, and where no layout has a belt path.
    """
    from beltplan.checks.comparison import compare
    from beltplan.compare.report import compare_json, compare_report

    _refuse_doubles(chosen.layouts)
    every = read_every_or_refuse((path, None) for path in chosen.layouts)
    files = [file.told_in(chosen.units) for files in every for file in files]
    refuse_to_overwrite(chosen, [drawing for file in files for drawing in file.drawings])
    with Bar("judging layouts") as bar:
        comparison = compare(list(zip(_names_of(files), (file.layout for file in files), strict=True)), bar)
    paths = tuple(file.path for file in files)
    if chosen.picture is not None:
        from beltplan.picture.cells import compare_scene
        from beltplan.report.rows import compared

        draw("--picture", chosen.picture, compare_scene(compared(comparison)), source_words(*paths))
    plan = comparison.best.plan
    if plan is None:
        words: list[str] = []
        for file in files:
            try:
                route_or_refuse(file)
            except Refused as refusal:
                words += str(refusal).splitlines()
        raise Refused("\n".join(dict.fromkeys(words)))
    pairs = zip(comparison.columns, files, strict=True)
    columns = tuple(replace(column, mend=mend_of(file, column.refusal)) for column, file in pairs)
    comparison = replace(comparison, columns=columns)
    answer = compare_json(comparison, paths) if chosen.json else compare_report(comparison, chosen.full)
    return answer, 1 if plan.count("problem") else 0


def _refuse_doubles(paths: Sequence[str]) -> None:
    # A path with a null byte is told by the reader.
    real = [path if "\0" in path else os.path.realpath(path) for path in paths]
    if doubles := [path for i, path in enumerate(paths) if real[i] in real[:i]]:
        raise Refused("\n".join(f"LAYOUT: got {path!r} twice; allowed: each layout once" for path in doubles))


def _names_of(files: Sequence[LayoutFile]) -> tuple[str, ...]:
    """A name of its own for every column: the variant's, led by the file's where there are several files."""
    paths = list(dict.fromkeys(file.path for file in files))
    stems = [os.path.splitext(os.path.basename(path))[0] for path in paths]
    short = {path: stem if stems.count(stem) == 1 else path for path, stem in zip(paths, stems, strict=True)}
    told = {path: text if text.isprintable() else ascii(text) for path, text in short.items()}
    lead = {path: "" if len(paths) == 1 else told[path] for path in paths}
    taken: list[str] = []
    for file in files:
        name = ": ".join(part for part in (lead[file.path], file.layout.variant) if part) or BASE
        numbered = (f"{name} ({number})" for number in count(2))
        taken.append(next(own for own in chain([name], numbered) if own not in taken))
    return tuple(taken)

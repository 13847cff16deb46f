"""`beltplan measure`: where every pulley is, by tape, level, calipers and photo, and which reading is wrong."""

from __future__ import annotations

import argparse
import os
from dataclasses import replace
from typing import TYPE_CHECKING

from beltplan.cli.exits import Answer, Commands, Refused, add_options, draw, writing
from beltplan.cli.outputs import refuse_to_overwrite
from beltplan.cli.progress import Bar
from beltplan.report.words import source_words

if TYPE_CHECKING:
    from beltplan.measure.measurements_file import MeasurementsFile
    from beltplan.measure.study import Measuring


def add_to(commands: Commands) -> None:
    parser = commands.add_parser(
        "measure",
        help="find where the pulleys are from tape, level, calipers and photo, and which reading is wrong",
        description="Find the position of every pulley from all that was measured, by least squares; tell how sure it "
        "is, which reading is misread, what no reading fixes, where a mirror solution fits as well, and what to "
        "measure next; and write a layout file for the other commands. Exit status: 0 nothing stands against it, 1 a "
        "reading is wrong or something is open, 2 input error, or nothing that could be written (all else is told).",
        epilog="Example: beltplan measure layouts/buggy_measured.yaml --write buggy.yaml",
    )
    parser.add_argument("measurements", metavar="MEASUREMENTS", help="the measurements file (YAML)")
    add_options(parser, write="the layout file with the places that were found", force="--write")
    add_options(parser, "json", picture="what was found", full="every reading, diameters, accuracies, and how")
    add_options(parser, "units")


def run(chosen: argparse.Namespace) -> tuple[Answer, int] | tuple[Answer, int, str]:
    """Find the places. Returns what to show, and 0 where nothing stands against them, else 1.

    Where no layout can be written from them: what to show, 2, and why.
    """
    from beltplan.faults import LayoutFaults
    from beltplan.measure.layout_writer import with_clashes
    from beltplan.measure.measurements_file import read_measurements
    from beltplan.measure.report import measure_json, measure_report
    from beltplan.measure.study import measuring_of
    from beltplan.measure.values import plain
    from beltplan.measure.words import answers

    try:
        file = read_measurements(chosen.measurements)
    except LayoutFaults as faults:
        raise Refused(str(faults)) from None
    file = replace(file, measured=replace(file.measured, asked=chosen.units))
    refuse_to_overwrite(chosen, file.drawings)
    with Bar("fitting the readings") as bar:
        found = with_clashes(file, measuring_of(file.measured, bar))
    scene = None
    if chosen.picture is not None:
        from beltplan.measure.picture import measure_scene  # matplotlib only where a picture is wanted

        told = tuple((lead, plain(words, found.measured.units)) for lead, words in answers(found))
        scene = measure_scene(found, told)
    not_written = "" if chosen.write is None else _write(file, found, chosen.write, chosen.force)
    if scene is not None:
        draw("--picture", chosen.picture, scene, source_words(file.path))
    written = None if not_written else chosen.write
    answer = measure_json(found, written) if chosen.json else measure_report(found, written, chosen.full)
    return (answer, 2, not_written) if not_written else (answer, 0 if found.sound else 1)


def _write(file: MeasurementsFile, found: Measuring, path: str, force: bool) -> str:
    """Write the layout. Returns why none can be written, if none can."""
    from beltplan.layoutfile.edits import CannotEdit
    from beltplan.measure.layout_writer import write_measured
    from beltplan.measure.report import measure_notes
    from beltplan.measure.values import plain

    with writing("--write", path):
        try:
            write_measured(path, file, found, measure_notes(found, os.path.basename(file.path)), force)
        except CannotEdit as reason:
            words = f"--write: {path} was not written: no layout can be written from {file.path}: {reason}"
            return plain(words, found.measured.units)
    return ""

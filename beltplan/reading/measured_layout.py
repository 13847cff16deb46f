"""A layout file from a measurements file: its own text, with the places put in and what was measured taken out."""

from __future__ import annotations

import os
from collections.abc import Sequence

import yaml

from beltplan.belts.layout import Layout
from beltplan.reading.checked_file import write_checked
from beltplan.reading.faults import FaultList, LayoutFaults
from beltplan.reading.layout_file import read_layout
from beltplan.reading.measured_places import Edit, placed_layout
from beltplan.reading.measurement_keys import measuring_under
from beltplan.reading.measurements_file import MeasurementsFile
from beltplan.reading.moved_files import with_files_from
from beltplan.reading.rewriting import same
from beltplan.reading.text_edits import CannotEdit, with_value
from beltplan.reading.text_file import read_text
from beltplan.reading.text_removal import refuse_aliases, without_keys
from beltplan.studies.measuring import Measuring

MOST_ENLARGED = 5.0
"""Readings that disagree by more than so many times their accuracies make no layout (common practice, no source)."""


def write_measured(
    path: str, source: MeasurementsFile, found: Measuring, notes: Sequence[str], overwrite: bool
) -> None:
    """Write the layout of a measurements file, with the places that were found.

    The new file is the measurements file's own text, comments and order kept. notes: comments to lead it.
    Raises CannotEdit where places are not settled, readings disagree wildly, or the text cannot be edited,
    FileExistsError, OSError.
    """
    _refuse_unsettled(found)
    after, edits = placed_layout(source, found)
    text = read_text(source.path, FaultList())
    if text is None:
        raise CannotEdit(f"{source.path} can no longer be read")
    try:
        new = measured_text(text, edits, notes)
    except (yaml.YAMLError, RecursionError):
        raise CannotEdit(f"{source.path} has changed and can no longer be read") from None
    folder = os.path.dirname(os.path.realpath(path))
    new = with_files_from(new, os.path.dirname(os.path.realpath(source.path)), folder)
    write_checked(path, new, overwrite, lambda beside: _check(beside, after))


def measured_text(text: str, edits: Sequence[Edit], notes: Sequence[str]) -> str:
    """A text with what was measured taken out and values put in, led by comments. Raises CannotEdit."""
    measuring = measuring_under("")
    refuse_aliases(text, measuring)
    text = without_keys(text, measuring)
    for keys, value in edits:
        text = with_value(text, keys, value)
    newline = "\r\n" if "\r\n" in text else "\n"
    return "".join(f"# {note}".rstrip() + newline for note in notes) + text


def _refuse_unsettled(found: Measuring) -> None:
    # A mark does not stand in a layout: one that is open keeps nothing else open.
    marks, why = found.measured.marks, []
    if loose := [each.point for each in found.loose if each.point not in marks]:
        why.append(f"nothing holds {', '.join(loose)} yet")
    open_points = (point for mirror in found.mirrors for point in mirror.points)
    if points := dict.fromkeys(point for point in open_points if point not in marks):
        why.append(f"{', '.join(points)} can lie in more than one place")
    if found.unseen:
        why.append("no place agrees with `sides`")
    if found.factor > MOST_ENLARGED:
        why.append(f"the readings disagree by {found.factor:.0f} times what their accuracies allow")
    if why:
        raise CannotEdit("; ".join(why))


def _check(beside: str, after: Layout) -> None:
    try:
        read = read_layout(beside).layout
    except LayoutFaults as faults:
        first = faults.faults[0]
        raise CannotEdit(f"the text would not be a layout: {first.key}: got {first.got}") from None
    if not same(read, after):
        raise CannotEdit("the text would not say what was meant; unusual notation stands in the way")

"""A changed layout written as a new file: read back and compared before it takes its name, so never half-written."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence

import yaml

from beltplan.belts.layout import Layout
from beltplan.reading.checked_file import write_checked
from beltplan.reading.faults import FaultList, LayoutFaults
from beltplan.reading.layout_file import LayoutFile, read_layout
from beltplan.reading.moved_files import with_files_from
from beltplan.reading.rewriting import rewritten, same
from beltplan.reading.text_edits import CannotEdit
from beltplan.reading.text_file import read_text

Fault = Callable[[Layout], str | None]


def write_rewritten(
    path: str, source: LayoutFile, after: Layout, notes: Sequence[str], overwrite: bool, fault: Fault
) -> None:
    """Write the file of a layout with the changes that lead to another one.

    source: the file that is edited, as a text; it stays as it is. notes: comments to lead the new one. fault: asked
    for what is wrong with the layout that was read back, None where nothing is.
    Raises CannotEdit where the text cannot be edited in place, FileExistsError, OSError.
    """
    text = read_text(source.path, FaultList())
    if text is None:
        raise CannotEdit(f"{source.path} can no longer be read")
    try:
        new = rewritten(text, source.layout, after, notes)
    except yaml.YAMLError:
        raise CannotEdit(f"{source.path} has changed and can no longer be read") from None
    folder = os.path.dirname(os.path.realpath(path))
    new = with_files_from(new, os.path.dirname(os.path.realpath(source.path)), folder)
    write_checked(path, new, overwrite, lambda beside: _check(_read_back(beside, after), fault))


def _check(read: Layout, fault: Fault) -> None:
    wrong = fault(read)
    if wrong is not None:
        raise CannotEdit(wrong)


def _read_back(path: str, after: Layout) -> Layout:
    try:
        read = read_layout(path, after.variant).layout
    except LayoutFaults as faults:
        raise CannotEdit(f"the edited text would not be a layout: {faults.faults[0].got}") from None
    if not same(read, after):
        raise CannotEdit("the edited text would not say what was meant; anchors or unusual notation stand in the way")
    return read

"""A changed layout written as a new file: read back and compared before it takes its name, so never half-written."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Sequence

import yaml

from beltplan.belts.layout import Layout
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
    path = os.path.realpath(path)  # a link stays a link to what is written
    new = with_files_from(new, os.path.dirname(os.path.realpath(source.path)), os.path.dirname(path))
    beside = os.path.join(os.path.dirname(path), f".{os.path.basename(path)}.{os.getpid()}.part")
    try:
        with open(beside, "x", encoding="utf-8", newline="") as file:
            file.write(new)
        _check(_read_back(beside, after), fault)
        _into_place(beside, path, overwrite)
    finally:
        if os.path.exists(beside):
            os.unlink(beside)


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


def _into_place(beside: str, path: str, overwrite: bool) -> None:
    if os.path.lexists(path):
        if not overwrite:
            raise FileExistsError(path)
        shutil.copymode(path, beside)
    os.replace(beside, path)

"""A text written as a new file: looked at before it takes its name, so never half-written and never wrong."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable


def write_checked(path: str, text: str, overwrite: bool, check: Callable[[str], None]) -> None:
    """Write a text beside a path, have the file there checked, and give it the path.

    check: raises where what it reads there is wrong; then nothing is left behind.
    Raises FileExistsError where the path is taken and must stay, OSError.
    """
    path = os.path.realpath(path)  # a link stays a link to what is written
    beside = os.path.join(os.path.dirname(path), f".{os.path.basename(path)}.{os.getpid()}.part")
    try:
        with open(beside, "x", encoding="utf-8", newline="") as file:
            file.write(text)
        check(beside)
        _into_place(beside, path, overwrite)
    finally:
        if os.path.exists(beside):
            os.unlink(beside)


def _into_place(beside: str, path: str, overwrite: bool) -> None:
    if os.path.lexists(path):
        if not overwrite:
            raise FileExistsError(path)
        shutil.copymode(path, beside)
    os.replace(beside, path)

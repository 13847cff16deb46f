"""Files written whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable


def write_whole(
    path: str, content: bytes, overwrite: bool = True, check: Callable[[str], None] = lambda beside: None
) -> None:
    """Write a file beside a path, have it checked there, and give it the path: nothing half-written is ever left.

    A link stays a link to what is written, and a file that is replaced keeps its permissions.
    check: raises where what it reads there is wrong.
    Raises FileExistsError where the path is taken and must stay, OSError.
    """
    path = os.path.realpath(path)
    beside = os.path.join(os.path.dirname(path), f".{os.path.basename(path)}.{os.getpid()}.part")
    try:
        with open(beside, "wb") as file:
            file.write(content)
        check(beside)
        if os.path.lexists(path):
            if not overwrite:
                raise FileExistsError(path)
            shutil.copymode(path, beside)
        os.replace(beside, path)
    finally:
        if os.path.exists(beside):
            os.unlink(beside)

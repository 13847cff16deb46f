"""Files written whole or not at all."""

from __future__ import annotations

import errno
import os
import re
import shutil
from collections.abc import Callable, Iterable
from contextlib import suppress

written: list[str] = []
"""Paths of the files that this run has written, for whoever stops it."""


def write_whole(
    path: str,
    content: bytes | Iterable[bytes],
    overwrite: bool = True,
    check: Callable[[str], None] = lambda beside: None,
) -> None:
    """Write a file beside a path, have it checked there, and give it the path: nothing half-written is ever left.

    A link stays a link to what is written, and a file that is replaced keeps its permissions. What a run that was
    killed left beside the path is cleared away.
    content: all of it, or piece by piece. check: raises where what it reads there is wrong.
    Raises FileExistsError where the path is taken and must stay, PermissionError where it is protected, OSError.
    """
    named, path = path, os.path.realpath(path)
    if is_protected(path):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), path)
    _clear_away(path)
    folder, name = os.path.split(path)
    beside = os.path.join(folder, f".{name}.{os.getpid()}.part")
    try:
        with open(beside, "wb") as file:
            file.writelines((content,) if isinstance(content, bytes) else content)
        check(beside)
        if os.path.lexists(named) and not overwrite:
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), path)
        if os.path.lexists(path):
            shutil.copymode(path, beside)
        os.replace(beside, path)
        written.append(named)
    finally:
        if os.path.exists(beside):
            os.unlink(beside)


def is_protected(path: str) -> bool:
    """Whether a file is there and nobody, or not this user, may write to it."""
    return os.path.exists(path) and not (os.stat(path).st_mode & 0o222 and os.access(path, os.W_OK))


def _clear_away(path: str) -> None:
    """Unlink what runs that are no more have left beside a path."""
    folder, name = os.path.split(path)
    with suppress(OSError):  # a folder that cannot be listed, or a file of another user: no reason not to write
        for left in os.listdir(folder):
            found = re.fullmatch(rf"\.{re.escape(name)}\.(\d+)\.part", left)
            if found is not None and not _is_running(int(found[1])):
                os.unlink(os.path.join(folder, left))


def _is_running(process: int) -> bool:
    """Whether a process is there. Windows, where asking would end it, lets no open file be unlinked anyway."""
    if os.name == "nt":
        return False
    try:
        with suppress(PermissionError):
            os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    return True

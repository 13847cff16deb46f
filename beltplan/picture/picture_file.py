"""Picture files: which endings can be written, and writing a file whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

ENDINGS = ("png", "svg", "pdf")


def picture_ending(path: str) -> str | None:
    """The kind of picture that a file name asks for: png, svg or pdf; None where it is none of these."""
    ending = Path(path).suffix.lower().removeprefix(".")
    return ending if ending in ENDINGS else None


def ending_or_error(path: str) -> str:
    """The same, for a name that must be one. Raises ValueError."""
    ending = picture_ending(path)
    if ending is None:
        raise ValueError(f"a picture file ends in {', '.join('.' + end for end in ENDINGS)}, got {path}")
    return ending


def write_whole(path: str, content: bytes) -> None:
    """Write a file by way of a temporary one beside it, so that nothing half-written is ever left.

    Raises OSError where the folder cannot be written.
    """
    target = Path(path)
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(content)
        os.replace(beside, target)
    finally:
        beside.unlink(missing_ok=True)

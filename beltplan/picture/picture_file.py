"""Picture files: which endings can be written."""

from __future__ import annotations

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

"""What stands beside a layout file."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from beltplan.reading.outline_choice import Found
    from beltplan.reading.outline_drawing import Drawing, WrongDrawing

Asked = tuple[str, str | None, str | None, float]
"""Which outline: the drawing's path, `units`, `outline`, and mm for one unit of the layout."""


@dataclass(frozen=True, eq=False)
class Beside:
    """The folder of a layout file, and what was read from it already, for the file's variants.

    folder: that of the file itself, where the path given is a link.
    """

    folder: str
    drawings: dict[str, Drawing | WrongDrawing] = field(default_factory=dict)
    outlines: dict[Asked, Found | WrongDrawing] = field(default_factory=dict)

"""A comparison as a picture file."""

from __future__ import annotations

from beltplan.plots.compare_scene import compare_scene
from beltplan.plots.compare_table import Table
from beltplan.plots.painter import paint
from beltplan.plots.picture_file import ending_or_error
from beltplan.studies.compare import Comparison


def draw_comparison(comparison: Comparison, verdicts: tuple[str, ...], table: Table, path: str) -> None:
    """Write the picture of a comparison; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    ending = ending_or_error(path)
    paint(compare_scene(comparison, verdicts, table), path, ending)

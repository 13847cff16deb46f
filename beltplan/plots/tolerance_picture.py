"""A tolerance study as a picture file."""

from __future__ import annotations

from beltplan.plots.painter import paint
from beltplan.plots.picture_file import ending_or_error
from beltplan.plots.tolerance_scene import Answers, tolerance_scene
from beltplan.studies.tolerance import Tolerance


def draw_tolerance(study: Tolerance, answers: Answers, path: str) -> None:
    """Write the picture of a tolerance study; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    ending = ending_or_error(path)
    paint(tolerance_scene(study, answers), path, ending)

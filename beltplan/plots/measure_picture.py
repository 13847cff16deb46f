"""A measured drive as a picture file."""

from __future__ import annotations

from beltplan.plots.measure_scene import Answers, measure_scene
from beltplan.plots.painter import picture_bytes
from beltplan.plots.picture_file import ending_or_error
from beltplan.studies.measuring import Measuring


def measure_picture(found: Measuring, answers: Answers, path: str) -> bytes:
    """The picture as the content of a file; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending.
    """
    return picture_bytes(measure_scene(found, answers), ending_or_error(path))

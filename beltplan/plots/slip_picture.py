"""Slip use over the speed range and hub loads as a picture file."""

from __future__ import annotations

from beltplan.belts.route import Route
from beltplan.checks.finding import Finding
from beltplan.plots.painter import paint
from beltplan.plots.picture_file import ending_or_error
from beltplan.plots.slip_scene import slip_scene
from beltplan.tension.operation import Operation


def draw_slip(route: Route, findings: tuple[Finding, ...], operation: Operation, verdict: str, path: str) -> None:
    """Write the slip picture of a drive; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    ending = ending_or_error(path)
    paint(slip_scene(route, findings, operation, verdict), path, ending)

"""A belt routing as a picture file."""

from __future__ import annotations

from beltplan.belts.route import Route
from beltplan.checks.finding import Finding
from beltplan.plots.painter import paint
from beltplan.plots.picture_file import ending_or_error
from beltplan.plots.routing_scene import routing_scene


def draw_routing(route: Route, findings: tuple[Finding, ...], verdict: str, path: str) -> None:
    """Write the picture of a routing; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    ending = ending_or_error(path)
    paint(routing_scene(route, findings, verdict), path, ending)

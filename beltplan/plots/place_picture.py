"""A map of places, or the best pair of places, as a picture file."""

from __future__ import annotations

from beltplan.belts.route import Route
from beltplan.plots.painter import paint
from beltplan.plots.picture_file import ending_or_error
from beltplan.plots.place_scene import Marked, place_scene
from beltplan.studies.place_map import PlaceMap


def draw_places(
    route: Route,
    found: PlaceMap | None,
    marked: tuple[Marked, ...],
    moved: tuple[str, ...],
    words: tuple[str, ...],
    path: str,
) -> None:
    """Write the picture of a map; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    ending = ending_or_error(path)
    paint(place_scene(route, found, marked, moved, words), path, ending)

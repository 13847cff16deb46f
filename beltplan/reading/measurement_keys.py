"""Every key that a measurements file has beside those of a layout: the one place to add a measuring key."""

from __future__ import annotations

from functools import lru_cache
from typing import get_args

from beltplan.reading.key import FAR_MM, FILE_UNIT, MUST, NONE, Key
from beltplan.studies.measured import Side

LEAST_MM, LEAST_DEG, LEAST_PX = 0.001, 0.001, 0.001
"""A standard deviation of nothing would be a measurement that no other can correct."""
USUAL_MM, USUAL_DEG, USUAL_OFFSET_MM, USUAL_DIAMETER_MM, USUAL_PX = 1.0, 0.5, 1.0, 0.2, 1.5
USUAL_SOURCE = "common practice, no source"
"""Where the deviations come from that hold where the file gives none."""
FAR_PX = 1e6
WORDS_OF_SIDES = get_args(Side)
TAPE = "as a tape reads it"
"""How a length may be written: `reading.tape`."""

_AS_ALL = "as `accuracy`"


def _accuracy(name: str, unit: str, usual: float, meaning: str, least: float, most: float) -> Key:
    return Key(f"accuracy.{name}", "number", unit, f"{usual:g}, {USUAL_SOURCE}", meaning, least, most)


def _own(path: str, unit: str, least: float, most: float) -> Key:
    return Key(path, "number", unit, _AS_ALL, "one standard deviation of this one", least, most)


_FRAME = (
    Key("origin", "text", "", "the crankshaft, else the first name", "the point that stands at [0, 0]"),
    Key("level", "names", "", "by angles and offsets", "two points on a level line, the second to the right"),
    Key("marks", "names", "", NONE, "points that are no pulleys, where the file has `pulleys`"),
    Key("sides", "mapping", "", NONE, "where points are seen from the origin: picks one of two mirror images"),
    Key("sides.NAME", "text", "", MUST, f"one or two of {', '.join(WORDS_OF_SIDES)}: above right", needed=True),
)

_ACCURACY = (
    Key("accuracy", "mapping", "", "usual values", "one standard deviation of each kind of measurement"),
    _accuracy("distance_mm", "mm", USUAL_MM, "of a distance", LEAST_MM, 100.0),
    _accuracy("angle_deg", "deg", USUAL_DEG, "of an angle", LEAST_DEG, 45.0),
    _accuracy("offset_mm", "mm", USUAL_OFFSET_MM, "of an offset", LEAST_MM, 100.0),
    _accuracy("diameter_mm", "mm", USUAL_DIAMETER_MM, "of a diameter", LEAST_MM, 50.0),
    _accuracy("place_px", "px", USUAL_PX, "of each coordinate of a place on a picture", LEAST_PX, 1_000.0),
)

_TAPE = (
    Key("distances", "mapping", "", NONE, "distances between two points, by PAIR"),
    Key(
        "distances.PAIR",
        "length, mapping or list",
        FILE_UNIT,
        MUST,
        f"centre to centre, {TAPE}: 14 7/8, 381.5 mm; a list where it was read more than once",
        needed=True,
    ),
    Key("distances.PAIR.value", "length", FILE_UNIT, MUST, f"the distance, {TAPE}", 0.0, above=True, needed=True),
    Key("distances.PAIR.outside", "true or false", "", "false", "whether it runs over the two far rims"),
    Key("distances.PAIR.gap", "true or false", "", "false", "whether it runs between the two near rims"),
    _own("distances.PAIR.accuracy_mm", "mm", LEAST_MM, 100.0),
    Key("diameters", "mapping", "", NONE, "diameters over the rim by calipers, by point, for `outside` and `gap`"),
    Key(
        "diameters.NAME",
        "length, mapping or list",
        FILE_UNIT,
        "the pulley's own rim",
        f"over the rim tips or the smooth face, {TAPE}",
    ),
    Key("diameters.NAME.value", "length", FILE_UNIT, MUST, f"the diameter, {TAPE}", 1.0, 5_000.0, needed=True),
    _own("diameters.NAME.accuracy_mm", "mm", LEAST_MM, 50.0),
)

_SQUARE = (
    Key("angles", "mapping", "", NONE, "angles of the line from the first point of PAIR to the second"),
    Key(
        "angles.PAIR",
        "angle, mapping or list",
        "deg",
        MUST,
        "counter-clockwise from level to the right; a list where it was read more than once",
        needed=True,
    ),
    Key("angles.PAIR.value", "number", "deg", MUST, "the angle", -360.0, 360.0, needed=True),
    Key(
        "angles.PAIR.from",
        "choice",
        "",
        "level",
        "what it counts from: level to the right, or plumb, straight up",
        choices=("level", "plumb"),
    ),
    _own("angles.PAIR.accuracy_deg", "deg", LEAST_DEG, 45.0),
    Key("offsets", "mapping", "", NONE, "how far points lie to the right of another and above it, by a square"),
    Key("offsets.NAME", "mapping or list", "", MUST, "x, y or both", needed=True),
    Key("offsets.NAME.x", "length", FILE_UNIT, NONE, f"to the right, {TAPE}; to the left with a minus"),
    Key("offsets.NAME.y", "length", FILE_UNIT, NONE, f"up, {TAPE}; down with a minus"),
    Key("offsets.NAME.from", "text", "", "the origin", "the point that it is measured from"),
    _own("offsets.NAME.accuracy_mm", "mm", LEAST_MM, 100.0),
)

_PICTURES = (
    Key("points", "mapping", "", NONE, "places picked on photos, scans or tracings, each by a name of your own"),
    Key("points.NAME.places", "mapping", "", MUST, "what was picked on it", needed=True),
    Key("points.NAME.places.NAME", "two numbers", "px", MUST, "where a point is on it", -FAR_PX, FAR_PX, needed=True),
    Key(
        "points.NAME.y_runs",
        "choice",
        "",
        "down",
        "which way the second coordinate runs: down, as pixels do, or up",
        choices=("down", "up"),
    ),
    Key(
        "points.NAME.seen_from",
        "choice",
        "",
        "front",
        "back where it shows the pulleys from behind, or mirrored",
        choices=("front", "back"),
    ),
    Key(
        "points.NAME.slant",
        "true or false",
        "",
        "false",
        "whether it was taken at a slant; needs four or more places that are known from elsewhere",
    ),
    Key("points.NAME.mm_per_px", "number", "mm/px", "by all else", "its scale where that is known", 1e-6, 1e3),
    Key(
        "points.NAME.known",
        "mapping",
        "",
        NONE,
        "places on it whose coordinates are known, as the corners of a sheet of paper, in a frame of their own",
    ),
    Key(
        "points.NAME.known.NAME",
        "point",
        FILE_UNIT,
        MUST,
        f"[x, y], each {TAPE}: x to the right and y up as the picture shows it, any turn",
        needed=True,
    ),
    _own("points.NAME.accuracy_px", "px", LEAST_PX, 1_000.0),
    Key(
        "points.NAME.accuracy_mm",
        "number",
        "mm",
        "as `accuracy.distance_mm`",
        "one standard deviation of the coordinates that are known",
        LEAST_MM,
        100.0,
    ),
    Key("circles", "mapping", "", NONE, "rims traced on a picture, by pulley: give its centre and its diameter"),
    Key("circles.NAME", "mapping or list", "", MUST, "one rim, or a list of them on several pictures", needed=True),
    Key("circles.NAME.picture", "text", "", "the only one", "name of the picture among `points`"),
    Key("circles.NAME.rim", "list", "px", MUST, "three or more places on it", -FAR_PX, FAR_PX, needed=True),
)

MEASUREMENT_KEYS: tuple[Key, ...] = (*_FRAME, *_ACCURACY, *_TAPE, *_SQUARE, *_PICTURES)
"""Every measuring key, in the order of the file. NAME is a point or a picture, PAIR two points: A - B."""

BY_PATH = {key.path: key for key in MEASUREMENT_KEYS}


@lru_cache(maxsize=32)
def measuring_under(parent: str) -> tuple[str, ...]:
    """The measuring keys allowed in the mapping of that path."""
    return tuple(key.name for key in MEASUREMENT_KEYS if key.parent == parent)


GAP = Key("distances.PAIR.value", "length", FILE_UNIT, MUST, "a gap, which may be nothing", 0.0, FAR_MM)
"""What a gap may be: rims that touch have none between them."""

"""Every key of the layout file and of the measurements file: the one place to add a key."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, get_args

from beltplan.drive.belt import MOST_RIBS
from beltplan.drive.layout import Rotation
from beltplan.drive.loads import ALTERNATOR_EFFICIENCY, OUTPUT_WORDS, PUMP_EFFICIENCY, Growth
from beltplan.drive.profiles import PROFILES, LengthKind
from beltplan.drive.pulleys import DEVIATIONS_SOURCE, TAPE_AND_CALIPERS, Role, Side, Turns
from beltplan.layoutfile.values import FAR_MM, FILE_UNIT, MUST, NONE, Key, rpm_key, uncertainty_keys

EITHER_SIDE = "either"
"""A belt side that is left open."""


def _curve_rpm(path: str) -> Key:
    return Key(path, "numbers", "rpm", MUST, "shaft speeds, rising", 0.0, 1e6, needed=True)


_OF_ALL = "as the whole layout"

PULLEY_KEYS = (
    Key("pulleys.NAME.role", "choice", "", MUST, "what the pulley drives", choices=get_args(Role), needed=True),
    Key("pulleys.NAME.at", "point", FILE_UNIT, "by arm or slide", "centre, seen from the front: x right, y up"),
    Key(
        "pulleys.NAME.diameter",
        "length",
        FILE_UNIT,
        "rim_diameter",
        "effective diameter, as drawings give it; outside diameter of a smooth pulley",
        1.0,
        5_000.0,
    ),
    Key(
        "pulleys.NAME.rim_diameter",
        "length",
        FILE_UNIT,
        "diameter",
        "what calipers read over the rib tips, never over side flanges",
        1.0,
        5_000.0,
    ),
    Key("pulleys.NAME.flange_height", "length", FILE_UNIT, "0", "height of a side flange over the rim", 0.0, 1_000.0),
    Key("pulleys.NAME.grooves", "whole number", "", "enough", "number of grooves", 1, 60),
    Key(
        "pulleys.NAME.belt_side",
        "choice",
        "",
        "ribbed",
        f"side of the belt that touches it; {EITHER_SIDE}: a smooth idler or tensioner that `route` may lay both ways, "
        "judged on the back by all else",
        choices=(*get_args(Side), EITHER_SIDE),
    ),
    Key("pulleys.NAME.optional", "true or false", "", "false", "whether `route` may leave this idler out"),
    Key("pulleys.NAME.plane", "length", FILE_UNIT, NONE, "fore-and-aft place of its belt line, + to the viewer"),
    Key("pulleys.NAME.turns", "choice", "", NONE, "which way the accessory may turn", choices=get_args(Turns)),
    rpm_key("pulleys.NAME.max_rpm", "highest speed of the accessory"),
    rpm_key("pulleys.NAME.min_rpm", "speed that the accessory needs at idle"),
    Key("pulleys.NAME.rated_A", "number", "A", NONE, "rated current of an alternator", 0.0, 10_000.0, above=True),
    Key("pulleys.NAME.inertia_kgm2", "number", "kg m2", "usual for its role", "moment of inertia", 0.0, 10_000.0),
    Key("pulleys.NAME.drives", "true or false", "", "the crankshaft", "whether it drives the belt"),
    Key("pulleys.NAME.one_way", "true or false", "", "false", "whether it freewheels when the belt slows"),
    Key(
        "pulleys.NAME.max_hub_load_N",
        "number",
        "N",
        NONE,
        "the maker's highest load on the shaft",
        0.0,
        1e7,
        above=True,
    ),
    Key("pulleys.NAME.movable_mm", "number", "mm", "0", "how far `cure` may move it, or its adjuster", 0.0, 1_000.0),
    Key(
        "pulleys.NAME.diameters",
        "numbers",
        FILE_UNIT,
        "5 mm steps",
        "diameters that can be had of it, for `cure`; read as its own",
        1.0,
        5_000.0,
    ),
    Key("pulleys.NAME.uncertainty", "mapping", "", _OF_ALL, "one standard deviation of this pulley's measurements"),
    *uncertainty_keys("pulleys.NAME.uncertainty", (_OF_ALL, _OF_ALL, _OF_ALL)),
    Key("pulleys.NAME.arm", "mapping", "", NONE, "adjuster: a swinging arm"),
    Key("pulleys.NAME.arm.pivot", "point", FILE_UNIT, MUST, "centre of the arm's pivot", needed=True),
    Key("pulleys.NAME.arm.length", "length", FILE_UNIT, MUST, "pivot to pulley centre", 0.1, FAR_MM, needed=True),
    Key(
        "pulleys.NAME.arm.stops",
        "two numbers",
        "deg",
        MUST,
        "angles of the stops, counter-clockwise from x; travel runs from first to second",
        -1080.0,
        1080.0,
        needed=True,
    ),
    Key("pulleys.NAME.arm.at_deg", "number", "deg", "middle of the travel", "angle of the design", -1080.0, 1080.0),
    Key("pulleys.NAME.arm.marks", "mapping", "", NONE, "angles of the marks that bound the reserve"),
    Key("pulleys.NAME.arm.marks.new", "number", "deg", MUST, "mark for a new belt", -1080.0, 1080.0, needed=True),
    Key("pulleys.NAME.arm.marks.worn", "number", "deg", MUST, "mark for a worn belt", -1080.0, 1080.0, needed=True),
    Key("pulleys.NAME.slide", "mapping", "", NONE, "adjuster: a straight slide or slot"),
    Key("pulleys.NAME.slide.from", "point", FILE_UNIT, MUST, "pulley centre at one end", needed=True),
    Key("pulleys.NAME.slide.to", "point", FILE_UNIT, MUST, "pulley centre at the other end", needed=True),
    Key("pulleys.NAME.slide.at", "number", "", "0.5", "place of the design, a fraction of the way", 0.0, 1.0),
    Key(
        "pulleys.NAME.tension_N",
        "number",
        "N",
        "usual for the belt",
        "strand tension that an arm or slide without spring is set to, engine stopped",
        0.0,
        1e6,
        above=True,
    ),
    Key("pulleys.NAME.spring", "mapping", "", "set by hand and locked", "spring of the arm or slide beside it"),
    Key("pulleys.NAME.spring.torque_Nm", "number", "Nm", MUST, "arm: torque at `at_deg`", 0.0, 10_000.0, needed=True),
    Key("pulleys.NAME.spring.at_deg", "number", "deg", MUST, "arm: angle of that torque", -1080.0, 1080.0, needed=True),
    Key(
        "pulleys.NAME.spring.rate_Nm_per_deg",
        "number",
        "Nm/deg",
        MUST,
        "arm: its fall for each degree",
        -1e3,
        1e3,
        needed=True,
    ),
    Key("pulleys.NAME.spring.force_N", "number", "N", MUST, "slide: force at `at_mm`", 0.0, 1e6, needed=True),
    Key("pulleys.NAME.spring.at_mm", "number", "mm", MUST, "slide: distance from `from` of that force", needed=True),
    Key(
        "pulleys.NAME.spring.rate_N_per_mm",
        "number",
        "N/mm",
        MUST,
        "slide: its fall for each mm",
        -1e5,
        1e5,
        needed=True,
    ),
)

LOAD_KEYS = (
    Key("pulleys.NAME.load", "mapping", "", NONE, "what the shaft takes, at its own speed, in one of five forms"),
    Key("pulleys.NAME.load.current_A", "number", "A", NONE, "alternator: current asked of it", 0.0, 10_000.0),
    Key("pulleys.NAME.load.voltage_V", "number", "V", MUST, "alternator: voltage", 0.1, 2_000.0, needed=True),
    Key(
        "pulleys.NAME.load.efficiency",
        "number",
        "",
        f"alternator {ALTERNATOR_EFFICIENCY:g}, pump {PUMP_EFFICIENCY:g}",
        "power that comes out of it over the power that its shaft takes",
        0.01,
        1.0,
    ),
    Key(
        "pulleys.NAME.load.output",
        "mapping",
        "",
        f"{OUTPUT_WORDS}; without rated_A current_A stands as it is",
        "alternator: what it can give at each shaft speed; it never takes more",
    ),
    _curve_rpm("pulleys.NAME.load.output.rpm"),
    Key("pulleys.NAME.load.output.A", "numbers", "A", MUST, "current at each of them", 0.0, 10_000.0, needed=True),
    Key("pulleys.NAME.load.pressure_bar", "number", "bar", NONE, "pump: pressure", 0.0, 10_000.0),
    Key(
        "pulleys.NAME.load.displacement_cm3",
        "number",
        "cm3",
        MUST,
        "pump: volume for one turn",
        0.0,
        1e6,
        above=True,
        needed=True,
    ),
    Key("pulleys.NAME.load.torque_Nm", "number", "Nm", NONE, "the same torque at every speed", 0.0, 1e6),
    Key("pulleys.NAME.load.power_kW", "number", "kW", NONE, "power, at `at_rpm` where it grows", 0.0, 1e5),
    Key(
        "pulleys.NAME.load.at_rpm", "number", "rpm", "only where the power grows", "shaft speed of that power", 1.0, 1e6
    ),
    Key(
        "pulleys.NAME.load.grows",
        "choice",
        "",
        "constant",
        "how the power grows with the speed (fan: cube)",
        choices=get_args(Growth),
    ),
    Key("pulleys.NAME.load.table", "mapping", "", NONE, "torque by shaft speed, straight between, ends held"),
    _curve_rpm("pulleys.NAME.load.table.rpm"),
    Key("pulleys.NAME.load.table.torque_Nm", "numbers", "Nm", MUST, "torque at each of them", 0.0, 1e6, needed=True),
)


# Every key of the layout file: the one place to add a key; those of a pulley stand in `pulley_keys`.

_USUAL = tuple(
    f"{value:g}, {DEVIATIONS_SOURCE}"
    for value in (TAPE_AND_CALIPERS.position_mm, TAPE_AND_CALIPERS.diameter_mm, TAPE_AND_CALIPERS.angle_deg)
)

_FILE = (
    Key("title", "text", "", "the file's name", "name of the layout"),
    Key(
        "units",
        "choice",
        "",
        "mm",
        "unit of the lengths in the file, which may also be written as 14 7/8 in or 381.5 mm; keys ending in _mm are "
        "always mm",
        choices=("mm", "in"),
    ),
    Key(
        "rotation",
        "choice",
        "",
        "clockwise",
        "which way the driving pulley turns, seen from the front",
        choices=get_args(Rotation),
    ),
    Key("belt", "designation or mapping", "", MUST, "designation (6PK, 6PK1685) or mapping of the belt", needed=True),
    Key("engine", "mapping", "", NONE, "speeds of the driving pulley"),
    Key("pulleys", "mapping", "", MUST, "every pulley by a name of your own", needed=True),
    Key("route", "list", "", MUST, "names of the pulleys in their order round the loop, any start", needed=True),
    Key("duty", "mapping", "", "all loads act", "which loads act together, by a name of your own"),
    Key("duty.NAME", "list", "", NONE, "names of the pulleys whose loads act; none in the list: nothing acts"),
    Key("obstacles", "mapping", "", NONE, "what the belt must keep clear of, by a name of your own"),
    Key("stock", "list", "", "built-in list", "belts that can be bought, and no others: designations or mappings"),
    Key("uncertainty", "mapping", "", "usual values", "one standard deviation of the measurements, for `tolerance`"),
    *uncertainty_keys("uncertainty", (_USUAL[0], _USUAL[1], _USUAL[2])),
    Key("limits", "mapping", "", "built-in limits", "limits of your own, by the limit's name"),
    Key("idler_sizes", "numbers", FILE_UNIT, "common sizes", "diameters of idlers to be had, for `cure`", 1.0, 5_000.0),
    Key("variants", "mapping", "", NONE, "changes by name, each laid over the rest of the file; null deletes"),
    Key("variants.NAME", "mapping", "", NONE, "the keys that this variant changes"),
    rpm_key("engine.idle_rpm", "speed at idle"),
    rpm_key("engine.cruise_rpm", "speed at which it runs most"),
    rpm_key("engine.max_rpm", "highest speed"),
    Key("engine.cylinders", "whole number", "", NONE, "number of cylinders (four-stroke)", 1, 64),
    Key("engine.rev_up_rpm_per_s", "number", "rpm/s", NONE, "how fast the engine gains speed", 0.0, 1e6, above=True),
)

_BELT = (
    Key("belt.profile", "choice", "", MUST, "profile of the belt", choices=tuple(PROFILES), needed=True),
    Key("belt.ribs", "whole number", "", "1 for V-belts", "number of ribs", 1, MOST_RIBS),
    Key("belt.length_mm", "number", "mm", NONE, "length of the one belt to be tested", 10.0),
    Key(
        "belt.length_kind",
        "choice",
        "",
        "effective",
        "which length that is; V-belts A and B must say it",
        choices=get_args(LengthKind),
    ),
    Key(
        "belt.stretch_fit_percent",
        "two numbers",
        "%",
        NONE,
        "least and most stretch of a belt that needs no adjuster",
        0.0,
        20.0,
    ),
    Key(
        "belt.back_over_rim_mm",
        "number",
        "mm",
        "by profile",
        "how far the belt's back stands over the rib tips, as measured",
        0.5,
        50.0,
    ),
    Key(
        "belt.cord_below_back_mm",
        "number",
        "mm",
        "by profile",
        "depth of the pulling cord under the back",
        0.0,
        50.0,
        above=True,
    ),
    Key("belt.tolerance_mm", "number", "mm", "by profile", "length tolerance, either way", 0.0, 1_000.0),
    Key("belt.mass_kg_per_m", "number", "kg/m", "by profile", "mass of the whole belt", 0.0001, 100.0),
    Key("belt.stiffness_N", "number", "N", "by profile", "force per unit strain of the whole belt", 1.0, 1e9),
    Key("belt.friction", "mapping", "", "by profile", "friction factors of the belt in its grooves"),
    Key("belt.friction.dry", "number", "", "by profile", "dry", 0.001, 10.0),
    Key("belt.friction.wet", "number", "", "by profile", "wet", 0.001, 10.0),
    Key("belt.friction.design", "number", "", "by profile", "cautious value for design", 0.001, 10.0),
    Key("stock.ENTRY.profile", "choice", "", MUST, "profile, as that of `belt`", choices=tuple(PROFILES), needed=True),
    Key("stock.ENTRY.ribs", "whole number", "", "1 for V-belts", "ribs, as those of `belt`", 1, MOST_RIBS),
    Key("stock.ENTRY.length_mm", "number", "mm", MUST, "length of the belt", 10.0, needed=True),
    Key(
        "stock.ENTRY.length_kind",
        "choice",
        "",
        "effective",
        "which length that is; V-belts A and B must say it",
        choices=get_args(LengthKind),
    ),
)

_AROUND = (
    Key("obstacles.NAME.circle", "mapping", "", NONE, "a round obstacle"),
    Key("obstacles.NAME.circle.at", "point", FILE_UNIT, MUST, "its centre", needed=True),
    Key(
        "obstacles.NAME.circle.diameter",
        "length",
        FILE_UNIT,
        MUST,
        "its diameter",
        0.0,
        20_000.0,
        above=True,
        needed=True,
    ),
    Key("obstacles.NAME.polygon", "list", FILE_UNIT, NONE, "an obstacle with straight edges: its corners in order"),
    Key("obstacles.NAME.file", "text", "", NONE, "a .csv, .dxf or .svg with its outline, by the path from here"),
    Key(
        "obstacles.NAME.at",
        "point",
        FILE_UNIT,
        "[0, 0]",
        "where the origin of the drawing in `file` lies",
    ),
    Key("obstacles.NAME.turn_deg", "number", "deg", "0", "turn of the drawing about its origin", -360.0, 360.0),
    Key(
        "obstacles.NAME.units",
        "choice",
        "",
        "what the drawing says",
        "unit of the drawing, over what it says itself; a DXF or CSV that says none: the layout's",
        choices=("mm", "in"),
    ),
    Key("obstacles.NAME.outline", "text", "", "the only one", "which outline: its layer (DXF) or id (SVG)"),
    Key("limits.LIMIT", "mapping", "", "built-in limits", "one value for all, or by pulley name or role", 0.0, 1e9),
    Key(
        "limits.LIMIT.NAME",
        "number",
        "",
        "built-in limits",
        "value for one pulley or role; a name wins over a role",
        0.0,
        1e9,
    ),
)

KEYS: tuple[Key, ...] = (*_FILE, *_BELT, *PULLEY_KEYS, *LOAD_KEYS, *_AROUND)
"""Every key, in the order of the file."""

_BY_PATH = {key.path: key for key in KEYS}


def key_at(path: str) -> Key:
    """The key of that path, a measuring key among them, with NAME, ENTRY, LIMIT and PAIR for the user's own words."""
    return _BY_PATH.get(path) or _measuring_key(path)


@lru_cache(maxsize=64)
def names_under(parent: str) -> tuple[str, ...]:
    """The keys allowed in the mapping of that path; at the top those of a layout alone."""
    return tuple(key.name for key in KEYS if key.parent == parent) or _measuring_under(parent)


# Only a measurements file asks for these, so that a layout need not load their table.


def _measuring_key(path: str) -> Key:

    return BY_PATH[path]


def _measuring_under(parent: str) -> tuple[str, ...]:

    return measuring_under(parent)


# Every key that a measurements file has beside those of a layout: the one place to add a measuring key.

SeenSide = Literal["left", "right", "above", "below"]

LEAST_MM, LEAST_DEG, LEAST_PX = 0.001, 0.001, 0.001
"""A standard deviation of nothing would be a measurement that no other can correct."""
USUAL_MM, USUAL_DEG, USUAL_OFFSET_MM, USUAL_DIAMETER_MM, USUAL_PX = 1.0, 0.5, 1.0, 0.2, 1.5
USUAL_SOURCE = "common practice, no source"
"""Where the deviations come from that hold where the file gives none."""
FAR_PX = 1e6
WORDS_OF_SIDES = get_args(SeenSide)
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

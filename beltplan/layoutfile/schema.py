"""Every key of the layout file and of the measurements file: the one place to add a key."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Literal, get_args

from beltplan.drive.belt import MOST_RIBS
from beltplan.drive.forced import LOSS_FACTOR, LOSS_SOURCE
from beltplan.drive.layout import Metal, Rotation
from beltplan.drive.loads import ALTERNATOR_EFFICIENCY, OUTPUT_WORDS, PUMP_EFFICIENCY, Growth
from beltplan.drive.operation import USUAL_RISE_K
from beltplan.drive.own_units import units_of
from beltplan.drive.profiles import PRACTICE, PROFILES, LengthKind
from beltplan.drive.pulleys import DEVIATIONS_SOURCE, TAPE_AND_CALIPERS, Role, Side, Turns
from beltplan.layoutfile.keys import (
    FAR_MM,
    FILE_UNIT,
    MUST,
    NONE,
    Key,
    choice,
    flag,
    length,
    mapping,
    number,
    numbers,
    pair,
    point,
    rpm,
    several,
    text,
    under,
    whole,
)

EITHER_SIDE = "either"
"""A belt side that is left open."""
_MOST_PULLEYS, MOST_POINTS = 64, 100
_SIZES_LISTED, _CURVE = (1, 50), (2, 200)
"""How many entries a list of sizes, and of speeds or values at them, may have."""


def _uncertainty(default: str, meaning: str, first: str, second: str, third: str) -> tuple[Key, ...]:
    """How far measurements may be off. first, second, third: what holds of places, diameters and angles."""
    return mapping("uncertainty", default, meaning,
        number("position_mm", "mm", first, "of each x and y, and of an arm's length", 0.0, 100.0),
        number("diameter_mm", "mm", second, "of each diameter", 0.0, 50.0),
        number("angle_deg", "deg", third, "of each angle of an arm", 0.0, 45.0),
    )  # fmt: skip


def _curve(name: str, default: str, meaning: str, value: str, unit: str, what: str, most: float) -> tuple[Key, ...]:
    return mapping(name, default, meaning,
        numbers("rpm", "rpm", MUST, "shaft speeds, rising", 0.0, 1e6, _CURVE),
        numbers(value, unit, MUST, f"{what} at each of them", 0.0, most, _CURVE),
    )  # fmt: skip


_OF_ALL = "as the whole layout"
_USUAL = [f"{each:g}, {DEVIATIONS_SOURCE}" for each in (
    TAPE_AND_CALIPERS.position_mm, TAPE_AND_CALIPERS.diameter_mm, TAPE_AND_CALIPERS.angle_deg)]  # fmt: skip
_KIND = choice("length_kind", "effective", "which length that is; V-belts A and B must say it", get_args(LengthKind))
_UNITS = ("mm", "in")

_FILE = (
    text("title", "the file's name", "name of the layout"),
    text("in_doubt", NONE, "readings that contradict each other, as `measure` writes it; `check` cautions of it"),
    choice("units", "mm", "unit of the lengths in the file, which may also be written as 14 7/8 in or 381.5 mm; a "
           "number alone of a key ending in _mm is mm; other values may be written as 1230 psi, 150 lbf, 1.5 "
           "hp", _UNITS, ". One length may carry its own: `at: [24.1 cm, 5 cm]`"),
    choice("rotation", "clockwise", "which way the driving pulley turns, seen from the front", get_args(Rotation)),
    Key("belt", "designation or mapping", "", MUST, "designation (6PK, 6PK1685), or the belt's numbers"),
    *mapping("engine", NONE, "speeds of the driving pulley"),
    *mapping("block", "heat left out", "what the pulleys are bolted to: its heat tightens a belt that is set by hand",
        choice("material", MUST, "its metal", get_args(Metal)),
        number("rise_K", "K", f"{USUAL_RISE_K:g}, assumed: set cold, then an engine at work; {PRACTICE}",
               "how much hotter it runs than when the belt was set; negative: colder", -150.0, 500.0)),
    *mapping("pulleys", MUST, "every pulley by a name of your own", least=1, most=_MOST_PULLEYS),
    several("route", "list", MUST, "names of the pulleys in their order round the loop, any start", (2, _MOST_PULLEYS)),
    *mapping("duty", "all loads act", "which loads act together, by a name of your own",
        several("NAME", "list", NONE, "names of the pulleys whose loads act; none in the list: nothing acts",
                (0, _MOST_PULLEYS)), most=32),
    *mapping("obstacles", NONE, "what the belt must keep clear of, by a name of your own", most=200),
    Key("marks", "mapping or names", "", NONE, "points that are no pulleys, each with its place; in a file of "
        "measurements a list of their names", entries=(1, MOST_POINTS)),
    several("stock", "list", "built-in list", "belts that can be bought, and no others, each as under `belt`",
            (1, 1_000)),
    *_uncertainty("usual values", "one standard deviation of the measurements, for `tolerance`", *_USUAL),
    *mapping("limits", "built-in limits", "limits of your own, by name; recommended stays what was, or is a tenth "
             "inside yours where that is more"),
    numbers("idler_sizes", FILE_UNIT, "common sizes", "diameters of idlers to be had, for `cure`", 1.0, 5e3,
            _SIZES_LISTED),
    *mapping("variants", NONE, "changes by name, each laid over the rest of the file; null deletes",
        *mapping("NAME", NONE, "the keys that this variant changes"), most=64),
    *under("engine",
        rpm("idle_rpm", "speed at idle"),
        rpm("cruise_rpm", "speed at which it runs most"),
        rpm("max_rpm", "maximum speed"),
        whole("cylinders", NONE, "number of cylinders (four-stroke), taken to fire evenly: most V-twins do not", 1, 64),
        number("rev_up_rpm_per_s", "rpm/s", NONE, "how fast the engine gains speed", 0.0, 1e6, above=True),
        Key("swing_deg", "number or mapping", "deg", "usual for its cylinders",
            "how far the crank swings either way as it fires, at idle or by engine speed: ask the engine's maker, or "
            "log its speed tooth by tooth: 57.3 x (highest - lowest) / (highest + lowest) / firings a turn", 0.0, 30.0),
        *under("swing_deg",
            numbers("rpm", "rpm", MUST, "engine speeds, rising", 0.0, 1e6, _CURVE),
            numbers("deg", "deg", MUST, "swing either way at each of them", 0.0, 30.0, _CURVE))),
)  # fmt: skip

_BELT = (
    *under("belt",
        choice("profile", MUST, "profile of the belt", tuple(PROFILES)),
        whole("ribs", "1 for V-belts", "number of ribs", 1, MOST_RIBS),
        number("length_mm", "mm", NONE, "length of the one belt to be tested", 10.0),
        _KIND,
        pair("stretch_fit_percent", "%", NONE, "minimum and maximum stretch of a belt that needs no adjuster", 0.0,
             20.0),
        number("back_over_rim_mm", "mm", "by profile", "how far the belt's back stands over the rib tips, as measured; "
               "of a V-belt over the rim: 0 where it is flush, less where it is worn", -0.5, 50.0),
        number("cord_below_back_mm", "mm", "by profile", "depth of the pulling cord under the back", 0.0, 50.0, True),
        number("tolerance_mm", "mm", "by profile", "length tolerance, either way", 0.0, 1e3),
        number("mass_kg_per_m", "kg/m", "by profile", "mass of the whole belt", 0.0001, 100.0),
        number("stiffness_N", "N", "by profile", "force per unit strain of the whole belt; slip of a belt that is set "
               "by hand and locked does not go by it", 1.0, 1e9),
        number("loss_factor", "", f"{LOSS_FACTOR:g}, {LOSS_SOURCE}", "what the belt damps as it is stretched",
               0.01, 1.0),
        *mapping("friction", "by profile", "friction factors of the belt in its grooves; a given one counts "
                 "less on its back, by the sine of half the groove's angle: 0.34 times for PK, so 0.22 for wet 0.65, "
                 "where 0.20 is assumed",
            number("dry", "", "by profile", "dry", 0.001, 10.0),
            number("wet", "", "by profile", "wet", 0.001, 10.0),
            number("design", "", "by profile", "for design: low, as industrial drives are laid out", 0.001, 10.0))),
    *under("stock.ENTRY",
        choice("profile", MUST, "profile, as that of `belt`", tuple(PROFILES)),
        whole("ribs", "1 for V-belts", "ribs, as those of `belt`", 1, MOST_RIBS),
        number("length_mm", "mm", MUST, "length of the belt", 10.0),
        _KIND),
)  # fmt: skip

_PULLEY = under("pulleys.NAME",
    choice("role", MUST, "what the pulley drives", get_args(Role), " (for all else)"),
    point("at", "by arm or slide", "centre, seen from the front: x right, y up"),
    length("diameter", "rim_diameter", "effective diameter, as drawings give it; outside diameter of a smooth pulley",
           1.0, 5e3),
    length("rim_diameter", "diameter", "what calipers read over the rib tips, never over side flanges", 1.0, 5e3),
    length("flange_height", "0", "height of a side flange over the rim", 0.0, 1e3),
    whole("grooves", "enough", "number of grooves", 1, 60),
    choice("belt_side", "ribbed", f"side of the belt that touches it; {EITHER_SIDE}: a smooth idler or tensioner that "
           "`route` may lay both ways, judged on the back by all else", (*get_args(Side), EITHER_SIDE)),
    flag("optional", "false", "whether `route` may leave this idler off the belt"),
    Key("plane", "length or mapping", FILE_UNIT, NONE, "fore-and-aft position of its belt line, + toward the viewer; "
        "or a stack of parts that leads to it"),
    *under("plane",
        *mapping("stack", MUST, "parts from the datum face on toward the viewer, added up: "
            "{bracket: 19, spacer: 31.5}, the names are yours",
            length("NAME", MUST, "thickness of the part", 0.0)._replace(beside=": each part adds on toward the viewer"),
            least=1, most=50),
        choice("to", MUST, "where the stack ends: in the middle of the groove nearest to the engine, in the middle of "
               "all grooves, or at a face (then with face_to_first_groove)", ("first_groove", "middle", "face")),
        length("face_to_first_groove", "only with `to: face`", "from that face to the middle of the first groove", 0.0,
               1e3)),
    whole("first_groove_used", "1", "first groove that the belt uses, counted from the engine; needs `grooves`", 1, 60),
    pair("tilt_deg", "deg", "[0, 0]", "how its face leans along x (its pitch) and along y (its yaw): + where its right "
         "edge, and its top, stand nearer to the viewer", -10.0, 10.0),
    choice("turns", NONE, "which way the accessory may turn", get_args(Turns)),
    rpm("max_rpm", "maximum speed of the accessory"),
    rpm("min_rpm", "speed that the accessory needs at idle"),
    number("rated_A", "A", NONE, "rated current of an alternator", 0.0, 1e4, above=True),
    number("inertia_kgm2", "kg m2", "usual for its role", "moment of inertia", 0.0, 1e4),
    flag("drives", "the crankshaft", "whether it drives the belt"),
    flag("one_way", "false", "whether it freewheels when the belt slows"),
    number("max_hub_load_N", "N", NONE, "the maker's maximum hub load", 0.0, 1e7, above=True),
    number("overhang_mm", "mm", NONE, "from the middle of the belt to its bearing, or to the nose that it is bolted to",
           0.0, 5e3),
    number("max_moment_Nm", "Nm", NONE, "the maker's maximum bending moment there; needs `overhang_mm`", 0.0, 1e6,
           above=True),
    flag("planned", "false", "whether its place is only planned: `tolerance` counts it as not placed yet"),
    number("movable_mm", "mm", "0", "how far `cure` may move it, or its adjuster", 0.0, 1e3),
    numbers("diameters", FILE_UNIT, "5 mm or 3/16 in apart",
            "diameters that can be had of it, for `cure`; read as its own",
            1.0, 5e3, _SIZES_LISTED),
    *_uncertainty(_OF_ALL, "one standard deviation of this pulley's measurements", _OF_ALL, _OF_ALL, _OF_ALL),
    *mapping("mount", NONE, "what bolts its part on, x and y from its centre; of an arm from the pivot, of a slide "
             "from `from`: it stays there wherever the adjuster stands",
        several("holes", "list of holes", NONE, "round holes: x, y and diameter of each", (1, 50), FILE_UNIT),
        several("slots", "list of slots", NONE, "slots with round ends: `from`, `to` and `width` of each", (1, 50)),
        *under("slots.ENTRY",
            point("from", MUST, "middle of one round end"),
            point("to", MUST, "middle of the other"),
            length("width", MUST, "width of the slot", 0.0, 1e3, above=True)),
        number("turn_deg", "deg", "0", "turn of all of it, counter-clockwise", -360.0, 360.0),
        several("outline", "list", NONE, "its metal in the plane of the belt, which the belt and other rims must "
                "clear: corners in order", (3, 200), FILE_UNIT)),
    *mapping("arm", NONE, "adjuster: a swinging arm",
        point("pivot", MUST, "centre of the arm's pivot"),
        length("length", MUST, "pivot to pulley centre", 0.1),
        pair("stops", "deg", MUST, "angles of the stops, counter-clockwise from x, in either order",
             -1080.0, 1080.0),
        number("at_deg", "deg", "middle of the travel", "angle of the design", -1080.0, 1080.0),
        number("inertia_kgm2", "kg m2", "usual", "moment of inertia about the pivot, with the pulley", 0.0, 1e3, True),
        *mapping("marks", NONE, "angles of the marks that bound the reserve",
            number("new", "deg", MUST, "mark for a new belt", -1080.0, 1080.0),
            number("worn", "deg", MUST, "mark for a worn belt", -1080.0, 1080.0))),
    *mapping("slide", NONE, "adjuster: a straight slide or slot",
        point("from", MUST, "pulley centre at one end"),
        point("to", MUST, "pulley centre at the other end"),
        number("at", "", "0.5", "position of the design, a fraction of the way", 0.0, 1.0),
        number("mass_kg", "kg", "usual", "mass that slides, with the pulley", 0.0, 1e3, True)),
    number("tension_N", "N", "usual for the belt",
           "span tension of a run-in belt on an arm or slide without spring, engine stopped", 0.0, 1e6, above=True),
    number("pointer_radius_mm", "mm", NONE, "arm: radius at which its pointer is read against the marks", 0.0, 5e3,
           above=True),
    *mapping("spring", "none, set by hand and locked", "spring of the arm or slide beside it",
        number("torque_Nm", "Nm", MUST, "arm: torque at `at_deg`", 0.0, 1e4),
        number("at_deg", "deg", MUST, "arm: angle of that torque", -1080.0, 1080.0),
        number("rate_Nm_per_deg", "Nm/deg", MUST, "arm: its fall for each degree", -1e3, 1e3),
        several("readings", "list of readings", NONE, "arm: what a torque wrench in its square reads, instead of the "
                "three above: [deg, Nm turned against the spring, Nm turned with it] at two or more angles", (1, 50)),
        number("force_N", "N", MUST, "slide: force at `at_mm`", 0.0, 1e6),
        number("at_mm", "mm", MUST, "slide: distance from `from` of that force"),
        number("rate_N_per_mm", "N/mm", MUST, "slide: its fall for each mm", -1e5, 1e5)),
    Key("load", "usual or mapping", "", NONE, "what the shaft takes, at its own speed: `usual` for its role, or one of "
        "six forms"),
    *under("load",
        number("current_A", "A", NONE, "alternator: current asked of it", 0.0, 1e4),
        number("voltage_V", "V", MUST, "alternator: voltage, usually 14, or 28 on a 24 V system", 0.1, 2e3),
        number("efficiency", "", f"alternator {ALTERNATOR_EFFICIENCY:g}, pump {PUMP_EFFICIENCY:g}",
               "power that comes out of it over the power that its shaft takes", 0.01, 1.0),
        *_curve("output", f"{OUTPUT_WORDS}; without rated_A current_A stands as it is",
                "alternator: what it can give at each shaft speed; it never takes more", "A", "A", "current", 1e4),
        number("pressure_bar", "bar", NONE, "pump: pressure", 0.0, 1e4),
        number("displacement_cm3", "cm3", MUST, "pump: volume for one turn", 0.0, 1e6, above=True),
        number("torque_Nm", "Nm", NONE, "the same torque at every speed", 0.0, 1e6),
        number("power_kW", "kW", NONE, "power, at `at_rpm` where it grows", 0.0, 1e5),
        number("at_rpm", "rpm", "only where the power grows", "shaft speed of that power", 1.0, 1e6),
        choice("grows", "constant", "how the power grows with the speed: linear at the same torque, cube of a fan",
               get_args(Growth)),
        length("fan_diameter", NONE, "fan: diameter over its blades, for the usual power of that size", 10.0, 5e3),
        *_curve("table", NONE, "torque by shaft speed, straight between, ends held", "torque_Nm", "Nm", "torque", 1e6)),
)  # fmt: skip

_AROUND = (
    *under("obstacles.NAME",
        *mapping("circle", NONE, "a round obstacle",
            point("at", MUST, "its centre"),
            length("diameter", MUST, "its diameter", 0.0, 2e4, above=True)),
        several("polygon", "list", NONE, "an obstacle with straight edges: its corners in order", (3, 1_000),
                FILE_UNIT),
        text("file", NONE, "a .csv, .dxf or .svg with its outline, by the path from here"),
        point("at", "[0, 0]", "where the origin of the drawing in `file` lies"),
        number("turn_deg", "deg", "0", "turn of the drawing about its origin", -360.0, 360.0),
        choice("units", "what the drawing says",
               "unit of the drawing, over what it says itself; a DXF or CSV that says none: the layout's", _UNITS),
        text("outline", "the only one", "which outline: its layer (DXF) or id (SVG)")),
    *under("marks",
        Key("NAME", "point or mapping", FILE_UNIT, MUST, "where it is, [x, y]"),
        *under("NAME",
            point("at", MUST, "where it is"),
            number("uncertainty_mm", "mm", "not known", "one standard deviation of x and of y", 0.0, 100.0))),
    Key("limits.LIMIT", "mapping", "", "built-in limits", "one value for all, or by pulley name or role", 0.0, 1e9,
        beside="; or a mapping by pulley name or role"),
    number("limits.LIMIT.NAME", "", "built-in limits", "value for one pulley or role; a name wins over a role",
           0.0, 1e9),
)  # fmt: skip

KEYS: tuple[Key, ...] = (*_FILE, *_BELT, *_PULLEY, *_AROUND)
"""Every key of a layout, in the order of the file."""

Forms = Mapping[str, tuple[str, ...]]
"""Keys of which a mapping has just one, each with those that go with it and not with every other."""

PLACES: Forms = {"at": (), "arm": ("spring", "tension_N", "pointer_radius_mm"), "slide": ("spring", "tension_N")}
SIZES: Forms = {"diameter": (), "rim_diameter": ()}
LOADS: Forms = {
    "current_A": ("voltage_V", "efficiency", "output"),
    "pressure_bar": ("displacement_cm3", "efficiency"),
    "torque_Nm": (),
    "power_kW": ("at_rpm", "grows"),
    "fan_diameter": (),
    "table": (),
}
SPRINGS: Forms = {"torque_Nm": ("at_deg", "rate_Nm_per_deg"), "force_N": ("at_mm", "rate_N_per_mm"), "readings": ()}
OBSTACLES: Forms = {"circle": (), "polygon": (), "file": ("at", "turn_deg", "units", "outline")}
LOOPS: Forms = {"length": ("along", "thickness"), "belt": ()}
FORMS: Mapping[str, tuple[Forms, ...]] = {
    "pulleys.NAME": (PLACES, SIZES),
    "pulleys.NAME.load": (LOADS,),
    "pulleys.NAME.spring": (SPRINGS,),
    "obstacles.NAME": (OBSTACLES,),
    "loops.NAME": (LOOPS,),
}
_COUNTS_BESIDE = {
    "pulleys.NAME.max_moment_Nm": "overhang_mm",
    "pulleys.NAME.load.at_rpm": "grows",
    "points.NAME.accuracy_mm": "known",
    "loops.NAME.along": "thickness",
}
"""Keys that count only beside another one, whatever the form."""

# Every key that a measurements file has beside those of a layout.

SeenSide = Literal["left", "right", "above", "below"]

LEAST_MM, _LEAST_DEG, _LEAST_PX = 0.001, 0.001, 0.001
"""A standard deviation of nothing would be a measurement that no other can correct."""
USUAL_MM, USUAL_DEG, USUAL_OFFSET_MM, USUAL_DIAMETER_MM, USUAL_PX = 1.0, 0.5, 1.0, 0.2, 1.5
_USUAL_SOURCE = "common practice, no source"
"""Where the deviations come from that hold where the file gives none."""
_FAR_PX = 1e6
WORDS_OF_SIDES = get_args(SeenSide)
_TAPE = "as a tape reads it"
"""How a length may be written: `values.read_length`."""
_TIMES = (1, 50)
"""How often one thing may be read."""
_MOST_ENTRIES = 500


def _by_name(name: str, meaning: str, *keys: Key) -> tuple[Key, ...]:
    return mapping(name, NONE, meaning, *keys, least=1, most=_MOST_ENTRIES)


def _usual(name: str, unit: str, usual: float, meaning: str, least: float, most: float) -> Key:
    return number(name, unit, f"{usual:g}, {_USUAL_SOURCE}", meaning, least, most)


def _own(name: str, unit: str, least: float, most: float) -> Key:
    return number(name, unit, "as `accuracy`", "one standard deviation of this one", least, most)


MEASUREMENT_KEYS: tuple[Key, ...] = (
    text("origin", "the crankshaft, else the first name", "the point that stands at [0, 0]"),
    several("level", "names", "by angles and offsets", "two points on a level line, the second to the right", (2, 2)),
    *_by_name("sides", "where points are seen from the origin: picks one of two mirror solutions",
        text("NAME", MUST, f"one or two of {', '.join(WORDS_OF_SIDES)}: above right")),
    *mapping("accuracy", "usual values", "one standard deviation of each kind of measurement",
        _usual("distance_mm", "mm", USUAL_MM, "of a distance", LEAST_MM, 100.0),
        _usual("angle_deg", "deg", USUAL_DEG, "of an angle", _LEAST_DEG, 45.0),
        _usual("offset_mm", "mm", USUAL_OFFSET_MM, "of an offset", LEAST_MM, 100.0),
        _usual("diameter_mm", "mm", USUAL_DIAMETER_MM, "of a diameter", LEAST_MM, 50.0),
        _usual("place_px", "px", USUAL_PX, "of each coordinate of a place on a picture", _LEAST_PX, 1e3)),
    *_by_name("distances", "distances between two points, by PAIR",
        Key("PAIR", "length, mapping or list", FILE_UNIT, MUST,
            f"centre to centre, {_TAPE}: 14 7/8, 381.5 mm; a list where it was read more than once", entries=_TIMES),
        *under("PAIR",
            length("value", MUST, f"the distance, {_TAPE}", 0.0, above=True),
            flag("outside", "false", "whether it runs over the two far rims"),
            flag("gap", "false", "whether it runs between the two near rims"),
            _own("accuracy_mm", "mm", LEAST_MM, 100.0))),
    *_by_name("diameters", "diameters over the rim by calipers, by point, for `outside` and `gap`",
        Key("NAME", "length, mapping or list", FILE_UNIT, "the pulley's own rim",
            f"over the rim tips or the smooth face, {_TAPE}", entries=_TIMES),
        *under("NAME",
            length("value", MUST, f"the diameter, {_TAPE}", 1.0, 5e3),
            _own("accuracy_mm", "mm", LEAST_MM, 50.0))),
    *_by_name("angles", "angles of the line from the first point of PAIR to the second",
        Key("PAIR", "angle, mapping or list", "deg", MUST,
            "counter-clockwise from level to the right; a list where it was read more than once", entries=_TIMES),
        *under("PAIR",
            number("value", "deg", MUST, "the angle", -360.0, 360.0),
            choice("from", "level", "what it counts from: level to the right, or plumb, straight up",
                   ("level", "plumb")),
            _own("accuracy_deg", "deg", _LEAST_DEG, 45.0))),
    *_by_name("offsets", "how far points lie to the right of another and above it, by a square",
        several("NAME", "mapping or list", MUST, "x, y or both", _TIMES),
        *under("NAME",
            length("x", NONE, f"to the right, {_TAPE}; to the left with a minus"),
            length("y", NONE, f"up, {_TAPE}; down with a minus"),
            text("from", "the origin", "the point that it is measured from"),
            _own("accuracy_mm", "mm", LEAST_MM, 100.0))),
    *_by_name("loops", "lengths of wires or strings laid round pulleys, or of belts on them, by names of your own",
        several("NAME", "mapping or list", MUST, "a loop; a list where it was read more than once", _TIMES),
        *under("NAME",
            length("length", "that of `belt`", f"the loop's length, {_TAPE}", 1.0),
            text("belt", "that of `length`", "a belt on the pulleys, with its length: 6PK1700"),
            several("pulleys", "names", "the route", "what it is laid round, in order, each on its side of the belt",
                    (2, MOST_POINTS)),
            choice("along", "middle", "which line of the wire has that length: its middle (straightened and laid along "
                   "a rule), the face inside the loop, or the outside one", ("inside", "middle", "outside")),
            length("thickness", "0", f"of the wire or string, {_TAPE}", 0.0, 50.0),
            number("arm_deg", "deg", NONE, "angle of the arm while it lay there, where one of the pulleys is on it",
                   -1080.0, 1080.0),
            choice("slide_end", NONE, "the end of its slide at which a pulley stood while it lay there (with it "
                   "between them no loop is read)", ("from", "to")),
            _own("accuracy_mm", "mm", LEAST_MM, 100.0))),
    *mapping("points", NONE, "places picked on photos, scans or tracings, each by a name of your own",
             least=1, most=20),
    *under("points.NAME",
        *mapping("places", MUST, "what was picked on it",
            pair("NAME", "px", MUST, "where a point is on it", -_FAR_PX, _FAR_PX), least=2, most=MOST_POINTS),
        choice("y_runs", "down", "which way the second coordinate runs: down, as pixels do, or up", ("down", "up")),
        choice("seen_from", "front", "back where it shows the pulleys from behind, or mirrored", ("front", "back")),
        flag("slant", "false",
             "whether it was taken at a slant; needs four or more places that are known from elsewhere"),
        number("mm_per_px", "mm/px", "by all else", "its scale where that is known", 1e-6, 1e3),
        *mapping("known", NONE,
            "places on it whose coordinates are known, as the corners of a sheet of paper, in a frame of their own",
            point("NAME", MUST, f"[x, y], each {_TAPE}: x to the right and y up as the picture shows it, any turn"),
            least=2, most=MOST_POINTS),
        _own("accuracy_px", "px", _LEAST_PX, 1e3),
        number("accuracy_mm", "mm", "as `accuracy.distance_mm`",
               "one standard deviation of the coordinates that are known", LEAST_MM, 100.0)),
    *_by_name("circles", "rims traced on a picture, by pulley: give its centre and its diameter",
        several("NAME", "mapping or list", MUST, "one rim, or a list of them on several pictures", _TIMES),
        *under("NAME",
            text("picture", "the only one", "name of the picture among `points`"),
            several("rim", "list", MUST, "three or more places on it", (3, 200), "px", _FAR_PX))),
)  # fmt: skip
"""Every measuring key, in the order of the file. NAME is a point or a picture, PAIR two points: A - B."""

GAP = Key("distances.PAIR.value", "length", FILE_UNIT, MUST, "a gap, which may be nothing", 0.0, FAR_MM)
"""What a gap may be: rims that touch have none between them."""

_BY_PATH = {key.path: key for key in (*KEYS, *MEASUREMENT_KEYS)}


def key_at(path: str) -> Key:
    """The key of that path, with NAME, ENTRY, LIMIT and PAIR for the user's own words."""
    return _BY_PATH[path]


def limit_at(path: str, name: str) -> Key:
    """What a limit of that name may be, at the path for all or for one name: in the unit in which its name ends."""
    unit = name.rpartition("_")[2]
    return key_at(path)._replace(path=f"limits.{name}", unit=unit if units_of(unit) else "")


@lru_cache(maxsize=96)
def names_under(parent: str) -> tuple[str, ...]:
    """The keys allowed in the mapping of that path; at the top those of a layout alone."""
    return _names_in(KEYS, parent) or measuring_under(parent)


@lru_cache(maxsize=32)
def measuring_under(parent: str) -> tuple[str, ...]:
    """The measuring keys allowed in the mapping of that path."""
    return _names_in(MEASUREMENT_KEYS, parent)


def _names_in(keys: tuple[Key, ...], parent: str) -> tuple[str, ...]:
    return tuple(key.name for key in keys if key.parent == parent)


def beside(path: str, name: str) -> list[tuple[str, ...]]:
    """Of a key in the mapping of that path: groups of keys, one of each must stand beside it, else it says nothing.

    Without a form that the mapping must have: it is missed as such.

    >>> beside("pulleys.NAME.load", "at_rpm"), beside("pulleys.NAME", "tension_N")
    ([('power_kW',), ('grows',)], [('arm', 'slide')])
    """
    forms = [tuple(form for form, more in each.items() if name in more) for each in FORMS.get(path, ())]
    own = _COUNTS_BESIDE.get(f"{path}.{name}")
    return [each for each in (*forms, *([(own,)] if own else ())) if each and not key_at(f"{path}.{each[0]}").needed]


def homes_of(name: str) -> list[str]:
    """The paths of the mappings that have a key of that name, '' for the top."""
    return sorted({key.parent for key in _BY_PATH.values() if key.name == name})


_OF_POINTS = ("sides", "diameters", "offsets", "points.NAME.known", "points.NAME.places")


def _named(path: str) -> str:
    return f"each by {'the name of a point' if path in _OF_POINTS else 'a NAME of your own'}"


@lru_cache(maxsize=96)
def written_as(path: str) -> str:
    """How the mapping of that path is written: what it must have, in each of its forms.

    >>> written_as("pulleys.NAME.slide")
    '{from: [x, y], to: [x, y]}'
    """
    keys = [key for key in _BY_PATH.values() if key.parent == path]
    if path == "variants.NAME":
        return "{KEY: ...}"
    if not keys:
        return f"NAME: {written_as(f'{path}.NAME')}, {_named(path)}"
    if [key.name for key in keys] == ["NAME"]:
        return f"{_mapping_of(keys)}, {_named(path)}"
    needed = [key.name for key in keys if key.needed]
    return " or ".join(_mapping_of([key for key in keys if key.name in way] or keys[:3]) for way in _ways(path, needed))


def _ways(path: str, needed: Sequence[str]) -> list[list[str]]:
    """Of a mapping, the keys of each way to write it; where two things may be written in several, the first of each."""
    forms = FORMS.get(path, ())
    in_forms = {name for each in forms for form, more in each.items() for name in (form, *more)}
    common = [name for name in needed if name not in in_forms]
    if len(forms) == 1:
        return [[*common, form, *(name for name in more if name in needed)] for form, more in forms[0].items()]
    return [[*common, *(next(iter(each)) for each in forms)]]


def _mapping_of(keys: Sequence[Key]) -> str:
    return "{" + ", ".join(f"{'A - B' if key.name == 'PAIR' else key.name}: {_value_as(key)}" for key in keys) + "}"


def _value_as(key: Key) -> str:
    if key.kind in ("mapping", "mapping or list"):
        return written_as(key.path)
    two = "[x, y]" if key.unit == FILE_UNIT else "[first, second]"
    listed = f"[{f'{two}, ' * min(key.entries[0], 3)}...]" if key.unit else "[..., ...]"
    return {"point": two, "point or mapping": two, "two numbers": two, "list": listed, "numbers": "[..., ...]"}.get(
        key.kind, "..."
    )

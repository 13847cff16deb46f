"""Every key of a pulley, its adjuster and its load."""

from __future__ import annotations

from typing import get_args

from beltplan.belts.loads import ALTERNATOR_EFFICIENCY, OUTPUT_WORDS, PUMP_EFFICIENCY, Growth
from beltplan.belts.pulleys import Role, Side, Turns
from beltplan.reading.key import FAR_MM, FILE_UNIT, MUST, NONE, Key, rpm_key, uncertainty_keys

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

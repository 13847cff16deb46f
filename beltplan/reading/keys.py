"""Every key of the layout file: the one place to add a key; those of a pulley stand in `pulley_keys`."""

from __future__ import annotations

from functools import lru_cache
from typing import get_args

from beltplan.belts.designations import MOST_RIBS
from beltplan.belts.layout import Rotation
from beltplan.belts.profile_data import PROFILES
from beltplan.belts.profiles import LengthKind
from beltplan.belts.uncertainty import DEVIATIONS_SOURCE, TAPE_AND_CALIPERS
from beltplan.reading.key import FILE_UNIT, MUST, NONE, Key, rpm_key, uncertainty_keys
from beltplan.reading.pulley_keys import LOAD_KEYS, PULLEY_KEYS

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
    from beltplan.reading.measurement_keys import BY_PATH

    return BY_PATH[path]


def _measuring_under(parent: str) -> tuple[str, ...]:
    from beltplan.reading.measurement_keys import measuring_under

    return measuring_under(parent)

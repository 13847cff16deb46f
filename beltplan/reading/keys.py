"""Every key of the layout file: the one place to add a key."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, get_args

from beltplan.belts.designations import MOST_RIBS
from beltplan.belts.layout import Rotation
from beltplan.belts.profile_data import PROFILES
from beltplan.belts.profiles import LengthKind
from beltplan.belts.pulleys import Role, Side, Turns

Kind = Literal[
    "text", "choice", "true or false", "number", "whole number", "length", "point", "two numbers", "list", "mapping",
    "designation or mapping",
]
FAR_MM = 100_000.0
FILE_UNIT = "mm or in"
MUST = "must be given"


@dataclass(frozen=True, slots=True)
class Key:
    """One key: where it stands (NAME, ENTRY and LIMIT are the user's), what it holds and what it means.

    kind: what is written there. unit: of its numbers; FILE_UNIT where the file's own `units` hold.
    default: what holds where the key is left out. least, most: range of its numbers, lengths in mm;
    above: whether `least` itself is shut out. choices: the words allowed. needed: whether it must be there.
    """

    path: str
    kind: Kind
    unit: str
    default: str
    meaning: str
    least: float = -FAR_MM
    most: float = FAR_MM
    above: bool = False
    choices: tuple[str, ...] = ()
    needed: bool = False

    @property
    def name(self) -> str:
        """The last part of the path: the key as it is written."""
        return self.path.rpartition(".")[2]

    @property
    def parent(self) -> str:
        """The path of the mapping that holds the key."""
        return self.path.rpartition(".")[0]

    def allowed(self, scale: float = 1.0) -> str:
        """What may stand there, in words. scale: mm for one unit of the file."""
        if self.choices:
            return ", ".join(self.choices)
        if self.kind in ("true or false", "designation or mapping"):
            return self.kind
        if self.kind == "text":
            return "a text on one line, of printable characters"
        return f"{_WORDS[self.kind]} {self._range(scale)}"

    def _range(self, scale: float) -> str:
        first = "above " if self.above else ""
        unit = "mm" if self.unit == FILE_UNIT else self.unit
        span = f"{first}{self.least:.10g} to {self.most:.10g} {unit}".rstrip()
        if self.unit != FILE_UNIT or scale == 1.0:
            return span
        return f"{span} ({first}{self.least / scale:.6g} to {self.most / scale:.6g} in)"


_WORDS: dict[str, str] = {
    "number": "a number", "whole number": "a whole number", "length": "a length", "point": "[x, y], each",
    "two numbers": "[first, second], each", "list": "[x, y], each", "mapping": "a number",
}
_NONE = "none"


def _rpm(path: str, meaning: str) -> Key:
    return Key(path, "number", "rpm", _NONE, meaning, 0.0, 1e6, above=True)


_FILE = (
    Key("title", "text", "", "the file's name", "name of the layout"),
    Key("units", "choice", "", "mm", "unit of the lengths in the file; keys ending in _mm are always mm",
        choices=("mm", "in")),
    Key("rotation", "choice", "", "clockwise", "which way the driving pulley turns, seen from the front",
        choices=get_args(Rotation)),
    Key("belt", "designation or mapping", "", MUST, "designation (6PK, 6PK1685) or mapping of the belt", needed=True),
    Key("engine", "mapping", "", _NONE, "speeds of the driving pulley"),
    Key("pulleys", "mapping", "", MUST, "every pulley by a name of your own", needed=True),
    Key("route", "list", "", MUST, "names of the pulleys in their order round the loop, any start", needed=True),
    Key("obstacles", "mapping", "", _NONE, "what the belt must keep clear of, by a name of your own"),
    Key("stock", "list", "", "built-in list", "belts that can be bought: designations or mappings"),
    Key("limits", "mapping", "", "built-in limits", "limits of your own, by the limit's name"),
    Key("variants", "mapping", "", _NONE, "changes by name, each laid over the rest of the file; null deletes"),
    Key("variants.NAME", "mapping", "", _NONE, "the keys that this variant changes"),
    _rpm("engine.idle_rpm", "speed at idle"),
    _rpm("engine.cruise_rpm", "speed at which it runs most"),
    _rpm("engine.max_rpm", "highest speed"),
    Key("engine.cylinders", "whole number", "", _NONE, "number of cylinders (four-stroke)", 1, 64),
    Key("engine.rev_up_rpm_per_s", "number", "rpm/s", _NONE, "how fast the engine gains speed", 0.0, 1e6, above=True),
)

_BELT = (
    Key("belt.profile", "choice", "", MUST, "profile of the belt", choices=tuple(PROFILES), needed=True),
    Key("belt.ribs", "whole number", "", "1 for V-belts", "number of ribs", 1, MOST_RIBS),
    Key("belt.length_mm", "number", "mm", _NONE, "length of the one belt to be tested", 10.0),
    Key("belt.length_kind", "choice", "", "effective", "which length that is; V-belts A and B must say it",
        choices=get_args(LengthKind)),
    Key("belt.stretch_fit_percent", "two numbers", "%", _NONE,
        "least and most stretch of a belt that needs no adjuster", 0.0, 20.0),
    Key("belt.back_over_rim_mm", "number", "mm", "by profile",
        "how far the belt's back stands over the rib tips, as measured", 0.5, 50.0),
    Key("belt.cord_below_back_mm", "number", "mm", "by profile", "depth of the pulling cord under the back", 0.0, 50.0,
        above=True),
    Key("belt.tolerance_mm", "number", "mm", "by profile", "length tolerance, either way", 0.0, 1_000.0),
    Key("belt.mass_kg_per_m", "number", "kg/m", "by profile", "mass of the whole belt", 0.0, 100.0, above=True),
    Key("belt.stiffness_N", "number", "N", "by profile", "force per unit strain of the whole belt", 0.0, 1e9,
        above=True),
    Key("belt.friction", "mapping", "", "by profile", "friction factors of the belt in its grooves"),
    Key("belt.friction.dry", "number", "", "by profile", "dry", 0.0, 10.0, above=True),
    Key("belt.friction.wet", "number", "", "by profile", "wet", 0.0, 10.0, above=True),
    Key("belt.friction.design", "number", "", "by profile", "cautious value for design", 0.0, 10.0, above=True),
    Key("stock.ENTRY.profile", "choice", "", MUST, "profile, as that of `belt`", choices=tuple(PROFILES), needed=True),
    Key("stock.ENTRY.ribs", "whole number", "", "1 for V-belts", "ribs, as those of `belt`", 1, MOST_RIBS),
    Key("stock.ENTRY.length_mm", "number", "mm", MUST, "length of the belt", 10.0, needed=True),
    Key("stock.ENTRY.length_kind", "choice", "", "effective", "which length that is; V-belts A and B must say it",
        choices=get_args(LengthKind)),
)

_PULLEY = (
    Key("pulleys.NAME.role", "choice", "", MUST, "what the pulley drives", choices=get_args(Role), needed=True),
    Key("pulleys.NAME.at", "point", FILE_UNIT, "by arm or slide", "centre, seen from the front: x right, y up"),
    Key("pulleys.NAME.diameter", "length", FILE_UNIT, "rim_diameter",
        "effective diameter, as drawings give it; outside diameter of a smooth pulley", 1.0, 5_000.0),
    Key("pulleys.NAME.rim_diameter", "length", FILE_UNIT, "diameter",
        "what calipers read over the rib tips, never over side flanges", 1.0, 5_000.0),
    Key("pulleys.NAME.flange_height", "length", FILE_UNIT, "0", "height of a side flange over the rim", 0.0, 1_000.0),
    Key("pulleys.NAME.grooves", "whole number", "", "enough", "number of grooves", 1, 60),
    Key("pulleys.NAME.belt_side", "choice", "", "ribbed", "side of the belt that touches it", choices=get_args(Side)),
    Key("pulleys.NAME.plane", "length", FILE_UNIT, _NONE, "fore-and-aft place of its belt line, + to the viewer"),
    Key("pulleys.NAME.turns", "choice", "", _NONE, "which way the accessory may turn", choices=get_args(Turns)),
    _rpm("pulleys.NAME.max_rpm", "highest speed of the accessory"),
    _rpm("pulleys.NAME.min_rpm", "speed that the accessory needs at idle"),
    Key("pulleys.NAME.rated_A", "number", "A", _NONE, "rated current of an alternator", 0.0, 10_000.0, above=True),
    Key("pulleys.NAME.inertia_kgm2", "number", "kg m2", _NONE, "moment of inertia", 0.0, 10_000.0),
    Key("pulleys.NAME.drives", "true or false", "", "the crankshaft", "whether it drives the belt"),
    Key("pulleys.NAME.one_way", "true or false", "", "false", "whether it freewheels when the belt slows"),
    Key("pulleys.NAME.max_hub_load_N", "number", "N", _NONE, "the maker's highest load on the shaft", 0.0, 1e7,
        above=True),
    Key("pulleys.NAME.load", "mapping", "", _NONE, "what the accessory takes"),
    Key("pulleys.NAME.arm", "mapping", "", _NONE, "adjuster: a swinging arm"),
    Key("pulleys.NAME.arm.pivot", "point", FILE_UNIT, MUST, "centre of the arm's pivot", needed=True),
    Key("pulleys.NAME.arm.length", "length", FILE_UNIT, MUST, "pivot to pulley centre", 0.1, FAR_MM, needed=True),
    Key("pulleys.NAME.arm.stops", "two numbers", "deg", MUST,
        "angles of the stops, counter-clockwise from x; travel runs from first to second", -1080.0, 1080.0,
        needed=True),
    Key("pulleys.NAME.arm.at_deg", "number", "deg", "middle of the travel", "angle of the design", -1080.0, 1080.0),
    Key("pulleys.NAME.arm.tension_N", "number", "N", _NONE, "strand tension set by hand, engine stopped", 0.0,
        1e6, above=True),
    Key("pulleys.NAME.arm.marks", "mapping", "", _NONE, "angles of the marks that bound the reserve"),
    Key("pulleys.NAME.arm.marks.new", "number", "deg", MUST, "mark for a new belt", -1080.0, 1080.0, needed=True),
    Key("pulleys.NAME.arm.marks.worn", "number", "deg", MUST, "mark for a worn belt", -1080.0, 1080.0, needed=True),
    Key("pulleys.NAME.slide", "mapping", "", _NONE, "adjuster: a straight slide or slot"),
    Key("pulleys.NAME.slide.from", "point", FILE_UNIT, MUST, "pulley centre at one end", needed=True),
    Key("pulleys.NAME.slide.to", "point", FILE_UNIT, MUST, "pulley centre at the other end", needed=True),
    Key("pulleys.NAME.slide.at", "number", "", "0.5", "place of the design, a fraction of the way", 0.0, 1.0),
    Key("pulleys.NAME.slide.tension_N", "number", "N", _NONE, "strand tension set by hand, engine stopped", 0.0,
        1e6, above=True),
    Key("pulleys.NAME.spring", "mapping", "", "set by hand and locked", "spring of the arm or slide beside it"),
    Key("pulleys.NAME.spring.torque_Nm", "number", "Nm", MUST, "arm: torque at `at_deg`", 0.0, 10_000.0, needed=True),
    Key("pulleys.NAME.spring.at_deg", "number", "deg", MUST, "arm: angle of that torque", -1080.0, 1080.0, needed=True),
    Key("pulleys.NAME.spring.rate_Nm_per_deg", "number", "Nm/deg", MUST, "arm: its fall for each degree", -1e3, 1e3,
        needed=True),
    Key("pulleys.NAME.spring.force_N", "number", "N", MUST, "slide: force at `at_mm`", 0.0, 1e6, needed=True),
    Key("pulleys.NAME.spring.at_mm", "number", "mm", MUST, "slide: distance from `from` of that force", needed=True),
    Key("pulleys.NAME.spring.rate_N_per_mm", "number", "N/mm", MUST, "slide: its fall for each mm", -1e5, 1e5,
        needed=True),
)

_AROUND = (
    Key("obstacles.NAME.circle", "mapping", "", _NONE, "a round obstacle"),
    Key("obstacles.NAME.circle.at", "point", FILE_UNIT, MUST, "its centre", needed=True),
    Key("obstacles.NAME.circle.diameter", "length", FILE_UNIT, MUST, "its diameter", 0.0, 20_000.0, above=True,
        needed=True),
    Key("obstacles.NAME.polygon", "list", FILE_UNIT, _NONE, "an obstacle with straight edges: its corners in order"),
    Key("limits.LIMIT", "mapping", "", "built-in limits", "one value for all, or by pulley name or role",
        0.0, 1e9),
    Key("limits.LIMIT.NAME", "number", "", "built-in limits",
        "value for one pulley or role; a name wins over a role", 0.0, 1e9),
)

KEYS: tuple[Key, ...] = (*_FILE, *_BELT, *_PULLEY, *_AROUND)
"""Every key, in the order of the file."""

_BY_PATH = {key.path: key for key in KEYS}


def key_at(path: str) -> Key:
    """The key of that path, with NAME, ENTRY and LIMIT for the user's own words."""
    return _BY_PATH[path]


@lru_cache(maxsize=64)
def names_under(parent: str) -> tuple[str, ...]:
    """The keys allowed in the mapping of that path."""
    return tuple(key.name for key in KEYS if key.parent == parent)

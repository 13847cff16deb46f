"""Invented drives measured with a tape, a level and a photo, in every state that the answer can be in."""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import cache

import numpy as np

from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.readings import Axis, Diameter, Direction, Distance, Image, Measured, Offset
from beltplan.measure.study import Measuring, measuring_of

TRUTH: dict[str, tuple[float, float]] = {
    "crank": (0.0, 0.0),
    "water_pump": (22.0, 214.0),
    "alternator": (247.0, 301.0),
    "steering_pump": (-221.0, 118.0),
    "idler": (-84.0, 337.0),
}
"""Invented."""
RIMS_MM = {"crank": 160.0, "water_pump": 120.0, "alternator": 62.0, "steering_pump": 130.0, "idler": 80.0}
TWELVE = TRUTH | {
    "compressor": (255.0, 40.0),
    "tensioner.pivot": (120.0, 96.0),
    "left bolt": (-140.0, -60.0),
    "dowel": (-60.0, 120.0),
    "bracket hole": (150.0, 240.0),
    "fan": (20.0, 420.0),
    "vacuum_pump": (-230.0, 290.0),
}
SEEN: dict[str, tuple[SeenSide, ...]] = {"water_pump": ("above",), "steering_pump": ("left",)}
INCH = 25.4
PX_PER_MM = 3.2


def tape(pair: str, error_mm: float = 0.0, truth: Mapping[str, tuple[float, float]] = TRUTH, line: int = 1) -> Distance:
    """A reading of a distance between two points, wrong by so much, written in mm to the nearest 0.5."""
    first, second = pair.split(" - ")
    value = round(2.0 * (math.dist(truth[first], truth[second]) + error_mm)) / 2.0
    return Distance(first, second, value, 1.0, written=f"{value:g}", line=line)


def inches(pair: str, error_in: float = 0.0, line: int = 1) -> Distance:
    """The same by a tape in inches, to the nearest eighth, written as a fraction."""
    first, second = pair.split(" - ")
    eighths = round(8.0 * (math.dist(TRUTH[first], TRUTH[second]) / INCH + error_in))
    part = {0: "", 1: " 1/8", 2: " 1/4", 3: " 3/8", 4: " 1/2", 5: " 5/8", 6: " 3/4", 7: " 7/8"}[eighths % 8]
    return Distance(first, second, eighths * INCH / 8.0, 1.0, written=f"{eighths // 8}{part}", line=line)


PAIRS = (
    "crank - water_pump", "crank - alternator", "crank - steering_pump", "crank - idler", "water_pump - alternator",
    "water_pump - steering_pump", "water_pump - idler", "steering_pump - idler", "alternator - idler",
    "alternator - steering_pump",
)  # fmt: skip


def taped(wrong_mm: Mapping[str, float] | None = None, pairs: Iterable[str] = PAIRS) -> tuple[Distance, ...]:
    """Distances between pairs, in the order of the file."""
    wrong = wrong_mm or {}
    return tuple(tape(pair, wrong.get(pair, 0.0), line=i) for i, pair in enumerate(pairs, 5))


def level_to(name: str, error_deg: float = 0.0) -> Direction:
    """What a digital level says of the line from the crankshaft."""
    x, y = TRUTH[name]
    angle = math.degrees(math.atan2(y, x)) + error_deg
    return Direction("crank", name, math.radians(round(angle, 1)), math.radians(0.5), written=f"{angle:.1f}", line=20)


def measured(**changes: object) -> Measured:
    """All ten distances, a level, and where two pulleys are seen; nothing wrong."""
    given = Measured("Invented pump drive", tuple(TRUTH), "crank", taped(), (level_to("alternator"),), sides=SEEN)
    return replace(given, **changes)  # type: ignore[arg-type]


def pixel(at: tuple[float, float], scale: float = PX_PER_MM) -> tuple[float, float]:
    """Where a camera square on, a little turned, sees a place."""
    turn = math.radians(2.0)
    x, y = at
    u = scale * (x * math.cos(turn) - y * math.sin(turn)) + 900.0
    v = scale * (x * math.sin(turn) + y * math.cos(turn)) - 1400.0
    return round(u, 1), round(v, 1)


CARD = {"card 1": (-90.0, -50.0), "card 2": (120.0, -50.0), "card 3": (120.0, 247.0), "card 4": (-90.0, 247.0)}
"""Corners of a sheet of paper that was held beside the crankshaft."""


def known_card() -> Image:
    """The sheet's own corners, mm, as a reader makes a picture of places that are known: a px is a mm."""
    corners = {"card 1": (0.0, 0.0), "card 2": (210.0, 0.0), "card 3": (210.0, 297.0), "card 4": (0.0, 297.0)}
    return Image("front photo, known", "rigid", 1.0, corners, line=33, given=True)


def photo(
    wrong_px: Mapping[str, tuple[float, float]] | None = None,
    rims: Iterable[str] = (),
    more: Mapping[str, tuple[float, float]] | None = None,
) -> Image:
    """A photo of the drive with its centres picked, and eight points of some rims."""
    wrong = wrong_px or {}
    places = {}
    for name, at in (TRUTH | dict(more or {})).items():
        u, v = pixel(at)
        du, dv = wrong.get(name, (0.0, 0.0))
        places[name] = (u + du, v + dv)
    return Image("front photo", "similar", 1.5, places, {name: rim(name) for name in rims}, line=30)


def rim(name: str) -> tuple[tuple[float, float], ...]:
    """Eight points of a rim on the photo."""
    x, y = TRUTH[name]
    radius = 0.5 * RIMS_MM[name]
    turns = np.linspace(0.0, 2.0 * math.pi, 8, endpoint=False)
    return tuple(pixel((x + radius * math.cos(turn), y + radius * math.sin(turn))) for turn in turns)


def over_rims(pair: str, error_mm: float = 0.0) -> Distance:
    """A distance over the two far rims."""
    first, second = pair.split(" - ")
    value = math.dist(TRUTH[first], TRUTH[second]) + 0.5 * (RIMS_MM[first] + RIMS_MM[second]) + error_mm
    return Distance(first, second, round(value, 1), 1.0, "outside", written=f"{value:.1f}, outside", line=12)


def sizes(*names: str) -> tuple[Diameter, ...]:
    """Rims read with calipers."""
    return tuple(Diameter(name, RIMS_MM[name], 0.2, written=f"{RIMS_MM[name]:g}", line=15) for name in names)


def by_square() -> tuple[Offset, ...]:
    """x and y of every pulley from the crankshaft."""
    axes: tuple[Axis, ...] = ("x", "y")
    return tuple(
        Offset(name, "crank", axis, at[i], 1.0, written=f"{at[i]:g}", line=9)
        for name, at in TRUTH.items()
        if name != "crank"
        for i, axis in enumerate(axes)
    )


def _twelve() -> Measured:
    names = tuple(TWELVE)
    rng = np.random.default_rng(12)
    ties = [(a, b) for i, a in enumerate(names) for b in names[:i] if rng.random() < 0.55 or b in names[:2]]
    distances = tuple(tape(f"{a} - {b}", float(rng.normal(0.0, 1.0)), TWELVE, i) for i, (a, b) in enumerate(ties, 5))
    return measured(points=names, distances=distances)


def _inches(wrong: Mapping[str, float] | None = None) -> Measured:
    distances = tuple(inches(pair, (wrong or {}).get(pair, 0.0), i) for i, pair in enumerate(PAIRS, 5))
    return measured(distances=distances, in_inches=True)


PARALLAX = {"alternator": (6.0, 5.0), "steering_pump": (5.0, -6.0), "idler": (-5.0, 5.0)}
TILT = {name: (0.03 * at[0] * PX_PER_MM, -0.03 * at[1] * PX_PER_MM) for name, at in TRUTH.items()}
"""A photo taken at a slant: narrower by some, and lower."""
STATES: dict[str, Callable[[], Measured]] = {
    "sound": measured,
    "inches": _inches,
    "misread in": lambda: _inches({"alternator - steering_pump": 1.0}),
    "misread mm": lambda: measured(distances=taped({"water_pump - alternator": -10.0})),
    "suspects": lambda: measured(
        distances=taped({"water_pump - idler": 14.0}, PAIRS[:8]), directions=(level_to("alternator"),)
    ),
    "loose": lambda: measured(distances=taped(pairs=[p for p in PAIRS if "idler" not in p] + ["crank - idler"])),
    "mirror": lambda: measured(sides={}),
    "mirrors": lambda: measured(
        distances=taped(pairs=[*PAIRS[:3], "water_pump - alternator", "water_pump - steering_pump", "crank - idler",
                               "steering_pump - idler"]),
        sides={},
    ),
    "open frame": lambda: measured(directions=()),
    "mirrors open": lambda: measured(directions=(), sides={}),
    "level given": lambda: measured(directions=(), level=("crank", "steering_pump"), sides={"water_pump": ("above",)}),
    "photo": lambda: measured(images=(photo(rims=("alternator", "idler")),)),
    "photo alone": lambda: measured(
        distances=taped(pairs=["crank - alternator"]), images=(photo(),), sides={"steering_pump": ("left",)}
    ),
    "photo untrusted": lambda: measured(
        distances=taped(pairs=PAIRS[:1]),
        images=(photo(), replace(photo(PARALLAX), name="second photo")),
    ),
    "tilted photo": lambda: measured(images=(replace(photo(TILT), sd_px=0.8),)),
    "card": lambda: measured(
        points=(*TRUTH, *CARD), marks=tuple(CARD), images=(photo(more=CARD), known_card()), distances=taped()[:2]
    ),
    "pick wrong": lambda: measured(images=(photo({"idler": (31.0, -12.0)}),)),
    "nothing checks": lambda: measured(
        distances=taped(pairs=["crank - water_pump", "crank - alternator", "water_pump - alternator"]),
        points=("crank", "water_pump", "alternator"),
        sides={},
    ),
    "offsets": lambda: measured(distances=(), directions=(), sides={}, offsets=by_square()),
    "over rims": lambda: measured(
        distances=(*taped(), over_rims("alternator - idler"), over_rims("crank - alternator")),
        diameters=sizes("crank", "alternator", "idler"),
    ),
    "unseen": lambda: measured(
        sides={"water_pump": ("below",)},
        offsets=(Offset("water_pump", "crank", "y", 214.0, 1.0, written="214", line=9),),
    ),
    "twelve": _twelve,
}  # fmt: skip


@cache
def made(name: str) -> Measuring:
    """The answer of a state."""
    return measuring_of(STATES[name]())

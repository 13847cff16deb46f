"""Invented drives with drawn readings, shared by the tests of measuring. Nothing here is of a real engine."""

from collections.abc import Callable, Iterable, Mapping
from itertools import combinations

import numpy as np

from beltplan.geometry.vectors import Floats, from_angle, norm
from beltplan.measure.images import Model
from beltplan.measure.readings import Diameter, Direction, Distance, Image, Measured, Offset

Places = Mapping[str, tuple[float, float]]
Pair = tuple[str, str]
Sight = Callable[[Floats], Floats]

PLACES: Places = {
    "crank": (0.0, 0.0),
    "alternator": (235.0, 300.0),
    "pump": (-190.0, 300.0),
    "guide": (10.0, 245.0),
    "pivot": (-150.0, 160.0),
    "compressor": (250.0, 60.0),
}
HOMOGRAPHY = np.array([[2.1, 0.3, 900.0], [-0.2, 1.9, 1500.0], [0.0003, -0.0004, 1.0]])
"""A photo at an angle, seen from the front: its determinant is positive."""


def every_pair(places: Places) -> tuple[Pair, ...]:
    """All pairs of names."""
    return tuple(combinations(places, 2))


def apart(places: Places, pair: Pair) -> float:
    """True distance of two points, mm."""
    return float(norm(np.subtract(places[pair[1]], places[pair[0]])))


def taped(
    places: Places,
    pairs: Iterable[Pair],
    rng: np.random.Generator | None,
    sd_mm: float = 1.0,
    errors: Mapping[Pair, float] | None = None,
) -> tuple[Distance, ...]:
    """Distances between centres; true ones where no generator is given. errors: what was misread, mm."""
    found = []
    for pair in pairs:
        off = 0.0 if rng is None else float(rng.normal()) * sd_mm
        value = apart(places, pair) + off + (errors or {}).get(pair, 0.0)
        found.append(Distance(*pair, value, sd_mm, written=f"{value:.1f}"))
    return tuple(found)


def angle(places: Places, pair: Pair, rng: np.random.Generator | None, sd_rad: float = 0.005) -> Direction:
    """The direction from one point to another."""
    step = np.subtract(places[pair[1]], places[pair[0]])
    off = 0.0 if rng is None else float(rng.normal()) * sd_rad
    return Direction(*pair, float(np.arctan2(step[1], step[0])) + off, sd_rad)


def turned_sight(scale: float, turn_rad: float, shift: tuple[float, float]) -> Sight:
    """A square view: turned, scaled, shifted."""
    c, s = scale * np.cos(turn_rad), scale * np.sin(turn_rad)
    return lambda points: points @ np.array([[c, s], [-s, c]]) + shift


def slanted_sight(points: Floats) -> Floats:
    """A view at an angle by HOMOGRAPHY."""
    seen = np.column_stack((points, np.ones(len(points)))) @ HOMOGRAPHY.T
    return np.asarray(seen[:, :2] / seen[:, 2:])


def shot(
    places: Places,
    names: Iterable[str],
    sight: Sight,
    rng: np.random.Generator | None,
    model: Model = "similar",
    sd_px: float = 1.0,
    px_per_mm: float = 1.0,
    rims: Mapping[str, tuple[float, int]] | None = None,
    name: str = "photo",
) -> Image:
    """A picture of some points. rims: radius in mm and how many points were picked round it."""
    here = tuple(names)

    def seen(points: Floats) -> tuple[tuple[float, float], ...]:
        at = sight(points)
        at = at if rng is None else at + sd_px * rng.normal(size=at.shape)
        return tuple((float(u), float(v)) for u, v in at)

    picked = dict(zip(here, seen(np.array([places[each] for each in here]).reshape(-1, 2)), strict=True))
    round_them = {
        each: seen(np.array(places[each]) + radius * from_angle(np.linspace(0.2, 5.8, count)))
        for each, (radius, count) in (rims or {}).items()
    }
    return Image(name, model, sd_px, picked, round_them, px_per_mm)


def scattered(rng: np.random.Generator, count: int) -> dict[str, tuple[float, float]]:
    """Points drawn in a box of 600 x 500 mm, none nearer to another than 90 mm; the first at (0, 0)."""
    found: list[Floats] = []
    while len(found) < count:
        at = rng.uniform((-300.0, -250.0), (300.0, 250.0))
        if all(float(norm(at - other)) > 90.0 for other in found):
            found.append(at)
    return {f"p{i}": (float(at[0] - found[0][0]), float(at[1] - found[0][1])) for i, at in enumerate(found)}


def levelled(places: Places) -> dict[str, tuple[float, float]]:
    """The same turned so that the second point lies level to the right of the first."""
    at = np.array(list(places.values()))
    step = at[1] - at[0]
    turn = -float(np.arctan2(step[1], step[0]))
    turned = turned_sight(1.0, turn, (0.0, 0.0))(at - at[0])
    return {name: (float(x), float(y)) for name, (x, y) in zip(places, turned, strict=True)}


def measured_of(places: Places, distances: tuple[Distance, ...], **more: object) -> Measured:
    """What was measured of a drive, with its first point as origin."""
    names = tuple(places)
    return Measured("drawn", names, names[0], distances, **more)  # type: ignore[arg-type]


def found_places(centres: Iterable[object]) -> Floats:
    """Centres as an array, (points, 2) mm."""
    return np.array([each.at_mm for each in centres])  # type: ignore[attr-defined]


RADII = {"crank": 95.0, "alternator": 30.0, "pump": 65.0}
TRUE = np.array(list(PLACES.values()))
SEEN = turned_sight(2.0, 0.3, (500.0, 400.0))
SIMILAR = (2.0 * float(np.cos(0.3)), 2.0 * float(np.sin(0.3)), 500.0, 400.0)
SIGHTS = {
    "photo": SIMILAR,
    "scan": (0.3, 500.0, 400.0),
    "slanted": tuple((HOMOGRAPHY / HOMOGRAPHY[2, 2]).reshape(-1)[:8]),
}
PAIRS = [pair for pair in every_pair(PLACES) if pair not in (("pump", "compressor"), ("guide", "compressor"))]


def _noise(rng: np.random.Generator | None, deviation: float) -> float:
    return 0.0 if rng is None else deviation * float(rng.normal())


def _over_rims(rng: np.random.Generator | None) -> tuple[Distance, ...]:
    return (
        Distance(
            "crank", "alternator", apart(PLACES, ("crank", "alternator")) + 125.0 + _noise(rng, 1.5), 1.5, "outside"
        ),
        Distance("crank", "pump", apart(PLACES, ("crank", "pump")) - 160.0 + _noise(rng, 0.8), 0.8, "gap"),
    )


def _sizes(rng: np.random.Generator | None, names: tuple[str, ...]) -> tuple[Diameter, ...]:
    return tuple(Diameter(name, 2.0 * RADII[name] + _noise(rng, 0.3), 0.3) for name in names)


def mixed(rng: np.random.Generator | None) -> Measured:
    """Tapes of every kind, calipers, an angle, an offset and a square photo."""
    offset = Offset("compressor", "crank", "y", 60.0 + _noise(rng, 1.0), 1.0)
    return measured_of(
        PLACES,
        (*taped(PLACES, PAIRS[2:9], rng), *_over_rims(rng)),
        directions=(angle(PLACES, ("crank", "guide"), rng),),
        offsets=(offset,),
        diameters=_sizes(rng, ("crank", "alternator", "pump")),
        images=(shot(PLACES, ["crank", "pump", "pivot", "compressor"], SEEN, rng, sd_px=2.0),),
    )


def with_scan(rng: np.random.Generator | None) -> Measured:
    """Rims picked on a scan of known scale, tapes over them."""
    scan = shot(
        PLACES, ["guide", "pivot"], SEEN, rng, "rigid", 1.5, 2.0, {"crank": (95.0, 7), "pump": (65.0, 5)}, "scan"
    )
    return measured_of(
        PLACES,
        (*taped(PLACES, PAIRS[4:], rng), *_over_rims(rng)),
        diameters=_sizes(rng, ("alternator",)),
        images=(scan,),
        directions=(angle(PLACES, ("crank", "alternator"), rng),),
    )


def with_slanted(rng: np.random.Generator | None) -> Measured:
    """A photo at an angle with a rim, tapes, an angle."""
    photo = shot(PLACES, PLACES, slanted_sight, rng, "slanted", 1.0, 1.0, {"alternator": (30.0, 6)}, "slanted")
    return measured_of(
        PLACES,
        taped(PLACES, PAIRS[:9], rng),
        images=(photo,),
        directions=(angle(PLACES, ("crank", "alternator"), rng),),
    )

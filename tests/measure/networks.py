"""Small networks for the tests: points named 0, 1, 2 ..., the first at nought, the second level with it."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from beltplan.geometry.vectors import Floats, norm
from beltplan.measure.images import Model
from beltplan.measure.least_squares import Settled
from beltplan.measure.network import Network, network_of, settled
from beltplan.measure.readings import Direction, Distance, Image, Reading
from beltplan.measure.solutions import Solution, solved

LEVEL_RAD = 1e-6


def distances(places: Floats, pairs: Iterable[tuple[int, int]], off_mm: Floats | float = 0.0) -> tuple[Distance, ...]:
    """Distances between centres with a standard deviation of 1 mm, true but for `off_mm`."""
    both = list(pairs)
    off = np.broadcast_to(off_mm, len(both))
    return tuple(
        Distance(str(i), str(j), float(norm(places[j] - places[i]) + own), 1.0)
        for (i, j), own in zip(both, off, strict=True)
    )


def level(places: Floats) -> tuple[Direction]:
    """The direction from point 0 to point 1 as it is, nearly exact."""
    step = places[1] - places[0]
    return (Direction("0", "1", float(np.arctan2(step[1], step[0])), LEVEL_RAD),)


def image(
    model: Model,
    at: Mapping[int, Floats] | Floats,
    rims: Mapping[int, Floats] | None = None,
    px_per_mm: float = 1.0,
    sd_px: float = 1.0,
) -> Image:
    """An image of points. at: places by number, px; rims: of rim points, (q, 2) px."""
    picked = at.items() if isinstance(at, Mapping) else enumerate(at)
    places = {str(i): (float(u), float(v)) for i, (u, v) in picked}
    traced = {str(i): tuple((float(u), float(v)) for u, v in rim) for i, rim in (rims or {}).items()}
    return Image("photo", model, sd_px, places, traced, px_per_mm)


def network(
    points: int,
    *kinds: Sequence[Reading],
    images: tuple[Image, ...] = (),
    radii_mm: Mapping[int, float] | None = None,
    origin: int = 0,
) -> Network:
    """A network of readings, those picked on images last. radii_mm: those that count, by the number of the point."""
    names = tuple(map(str, range(points)))
    readings = [each for kind in (*kinds, *(image.picks for image in images)) for each in kind]
    radii = {str(i): radius for i, radius in (radii_mm or {}).items()}
    return network_of(names, str(origin), readings, images, radii)


def scattered(rng: np.random.Generator, count: int) -> Floats:
    """Places, (count, 2) mm, the first at nought; none nearer to another than 60 mm."""
    found: list[Floats] = [np.zeros(2)]
    while len(found) < count:
        at = rng.uniform(-300.0, 300.0, 2)
        if all(float(norm(at - other)) > 60.0 for other in found):
            found.append(at)
    return np.array(found)


def settled_at(given: Network, start: Floats, left_out: tuple[int, ...] = ()) -> Settled:
    """The unknowns with the least sum of squares near one start."""
    return settled(given, [start], [left_out])[0]


def solved_at(given: Network, start: Floats, left_out: tuple[int, ...] = ()) -> Solution:
    """The solution near one start."""
    return solved(given, [start], [left_out])[0]

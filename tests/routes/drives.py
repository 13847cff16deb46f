"""Pulleys at random places whose routes are to be found. All invented."""

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Pulley, Side
from beltplan.routes import report, stations
from tests.checks.drives import layout, pulley


def narrowed(patch: pytest.MonkeyPatch, most: int, width: int) -> None:
    """Follow so many part routes at most, and a beam of that width where there are more."""
    for module in (stations, report):
        patch.setattr(module, "BEAM_WIDTH", width)
    patch.setattr(stations, "MOST_GROWING", most)


def scattered(
    seed: int, count: int, open_sides: int = 0, optional: int = 0, backs: int = 0, size: float = 0.5
) -> Layout:
    """A driver, accessories and idlers at random places clear of each other, listed anyhow.

    open_sides: idlers with either side; optional: idlers on the back that may be left out; backs: accessories on the
    back; the others are on the ribs. size: how much of the room
    between them the pulleys fill; small ones leave more routes.
    """
    rng = np.random.default_rng(seed)
    places = _places(rng, count)
    near = np.array([np.delete(np.hypot(*(places - at).T), i).min() for i, at in enumerate(places)])
    diameters = np.clip(near * size * rng.uniform(0.7, 1.0, count), 20.0, 160.0)
    kinds = ["crank", *["open"] * open_sides, *["optional"] * optional, *["back"] * backs]
    kinds += ["ribbed"] * (count - len(kinds))
    pulleys = [_made(kind, i, places[i].tolist(), float(diameters[i])) for i, kind in enumerate(kinds)]
    return layout(*pulleys)


def _places(rng: np.random.Generator, count: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    room = 130.0 * np.sqrt(count)
    places = [rng.uniform(0.0, room, 2)]
    while len(places) < count:
        at = rng.uniform(0.0, room, 2)
        if min(np.hypot(*(at - other)) for other in places) > 90.0:
            places.append(at)
    return np.array(places)


def _made(kind: str, index: int, at: list[float], diameter: float) -> Pulley:
    role = {"crank": "crankshaft", "open": "idler", "optional": "idler"}.get(kind, "fan")
    made = pulley(f"p{index}", role, at[0], at[1], diameter, turns="either" if kind == "back" else None)
    side: Side = "ribbed" if kind in ("crank", "ribbed") else "back"
    # An accessory whose turning is free keeps the side that is written.
    return replace(made, belt_side=side, side_open=kind == "open", optional=kind == "optional")


def starred(seed: int, count: int, open_sides: bool = False) -> Layout:
    """Small pulleys at the corners of a star-shaped polygon, idlers on the back where it turns inward, listed anyhow.

    The polygon itself is a route (it is simple, since its corners go round its middle), and there are mostly more.
    """
    rng = np.random.default_rng(seed)
    turn = (np.arange(count) + rng.uniform(-0.2, 0.2, count)) * 2.0 * np.pi / count
    corner = (35.0 * count * rng.uniform(0.55, 1.0, count))[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    before, after = corner - np.roll(corner, 1, axis=0), np.roll(corner, -1, axis=0) - corner
    inward = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] < 0.0
    first = int(np.flatnonzero(~inward)[0])
    order = [first, *(int(i) for i in rng.permutation(count) if i != first)]
    made = [_made("back" if inward[i] else "crank", i, corner[i].tolist(), 30.0) for i in order]
    return layout(*(replace(p, role="idler", side_open=open_sides and p.on_back) for p in made))

"""Layouts that are well written and geometrically extreme, drawn from a seeded generator."""

import math
import random
from collections.abc import Callable
from typing import Any

import yaml

Tree = dict[str, Any]

BELTS = ("6PK", "6PK", "6PK", "3PK1200", "6PK10", {"profile": "PK", "ribs": 6, "stretch_fit_percent": [0.5, 1.5]})


def extreme(rng: random.Random) -> bytes:
    """One extreme layout as YAML."""
    tree = rng.choice(KINDS)(rng)
    tree.setdefault("belt", rng.choice(BELTS))
    if rng.random() < 0.4:
        tree["obstacles"] = _obstacles(rng)
    return yaml.dump(tree, sort_keys=False, default_flow_style=None).encode()


def _drive(pulleys: Tree, route: list[str] | None = None) -> Tree:
    return {"engine": {"max_rpm": 3000, "idle_rpm": 700}, "pulleys": pulleys, "route": route or list(pulleys)}


def _pulley(x: float, y: float, diameter: float, role: str = "alternator", **more: Any) -> Tree:
    return {"role": role, "at": [x, y], "diameter": diameter, **more}


def _crank(diameter: float = 150.0, x: float = 0.0, y: float = 0.0) -> Tree:
    return _pulley(x, y, diameter, "crankshaft")


def _two(rng: random.Random) -> Tree:
    """Two pulleys: overlapping, touching, concentric, the one inside the other, or far apart."""
    big, small = rng.choice((150.0, 1.0, 5000.0)), rng.choice((60.0, 1.0, 150.0, 5000.0))
    touch = (big + small) / 2.0
    apart = rng.choice((0.0, 1e-9, touch, touch - 1e-10, touch + 1e-10, touch + 1e-3, touch / 2, 300.0, 1e5))
    return _drive({"crank": _crank(big), "far": _pulley(apart, 0.0, small)})


def _collinear(rng: random.Random) -> Tree:
    """Pulleys in one line, of one size or not: contacts without wrap, spans on top of each other."""
    count, size = rng.randint(3, 6), rng.choice((50.0, 100.0))
    step = rng.choice((size, size + 1e-9, 130.0, 250.0))
    side = rng.choice(("ribbed", "back"))
    lift = rng.choice((0.0, 0.0, 1e-9, -1e-9, 1e-3, 10.0))
    rest = {f"p{i}": _pulley(step * i, lift * i, size, "idler", belt_side=side) for i in range(1, count)}
    return _drive({"crank": _crank(size), **rest})


def _ring(rng: random.Random) -> Tree:
    """Up to thirty pulleys on a circle, some on the back, some displaced."""
    count = rng.choice((3, 5, 12, 30, 30))
    radius = rng.choice((120.0, 400.0, 2000.0, 90000.0))
    wobble = rng.choice((0.0, 0.0, 0.02, 0.2)) * radius
    pulleys: Tree = {}
    for i in range(count):
        angle = -2.0 * math.pi * i / count
        x = radius * math.cos(angle) + rng.uniform(-wobble, wobble)
        y = radius * math.sin(angle) + rng.uniform(-wobble, wobble)
        side = rng.choice(("ribbed", "ribbed", "ribbed", "back")) if i else "ribbed"
        pulleys[f"p{i}"] = {**_pulley(x, y, rng.choice((40.0, 60.0, 60.0, 120.0)), "idler"), "belt_side": side}
    pulleys["p0"] = {**pulleys["p0"], "role": "crankshaft"}
    return _drive(pulleys)


def _arm(rng: random.Random) -> Tree:
    """An arm whose travel misses the belt, hits it in part, or passes the turning point."""
    start = rng.uniform(-360.0, 360.0)
    swing = rng.choice((0.1, 5.0, 35.0, 180.0, 360.0, -35.0))
    arm: Tree = {
        "pivot": [rng.uniform(-50, 250), rng.uniform(-150, 150)],
        "length": rng.choice((0.1, 60.0, 100.0, 1e5)),
    }
    arm["stops"] = [start, start + swing]
    if rng.random() < 0.5:
        arm["at_deg"] = start + swing * rng.choice((0.0, 0.5, 1.0, 0.3))
    if rng.random() < 0.3:
        arm["marks"] = {"new": start + 0.2 * swing, "worn": start + 0.9 * swing}
    size, side = rng.choice((1.0, 70.0, 140.0)), rng.choice(("back", "ribbed"))
    tensioner: Tree = {"role": "tensioner", "diameter": size, "belt_side": side, "arm": arm}
    if rng.random() < 0.5:
        tensioner["spring"] = {"torque_Nm": 20, "at_deg": start, "rate_Nm_per_deg": 0.3}
    return _drive({"crank": _crank(), "tensioner": tensioner, "far": _pulley(260.0, rng.choice((0.0, 120.0)), 70.0)})


def _slide(rng: random.Random) -> Tree:
    """A slide of no length, a short one, one along the spans, one through the crankshaft, one very far away."""
    start = [rng.choice((150.0, 300.0, 0.0, 1e5)), rng.choice((0.0, 100.0))]
    step = rng.choice(((0, 0), (0.1, 0), (1e-9, 0), (60, 0), (-400, 0), (0, 60), (-1e5, 5)))
    slide = {"from": start, "to": [start[0] + step[0], start[1] + step[1]], "at": rng.choice((0, 0.5, 1, 0.25))}
    moved: Tree = {"role": "alternator", "diameter": rng.choice((60.0, 150.0)), "slide": slide}
    more = {"guide": _pulley(150.0, 120.0, 60.0, "idler")} if rng.random() < 0.5 else {}
    return _drive({"crank": _crank(), **more, "moved": moved})


def _random(rng: random.Random) -> Tree:
    """Anything anywhere."""
    spread = rng.choice((50.0, 300.0, 300.0, 99000.0))
    count = rng.randint(2, 9)
    pulleys = {
        f"p{i}": {
            "role": "other",
            "at": [rng.uniform(-spread, spread), rng.uniform(-spread, spread)],
            "diameter": rng.choice((1.0, 60.0, 90.0, 5000.0)),
            "belt_side": rng.choice(("ribbed", "ribbed", "back")),
            "plane": rng.choice((0, 0, 3, -1e5)),
        }
        for i in range(count)
    }  # fmt: skip
    pulleys["p0"] = {**pulleys["p0"], "role": "crankshaft"}
    route = list(pulleys)
    rng.shuffle(route)
    return _drive(pulleys, route[: rng.choice((count, count, max(2, count - 1)))])


def _obstacles(rng: random.Random) -> Tree:
    """Obstacles over pulleys, on the belt, of hardly any size, or everywhere."""
    at = [rng.choice((0.0, 130.0, 260.0)), rng.choice((0.0, 75.0, 1e5))]
    x, y, size = *at, rng.choice((1e-6, 10.0, 9000.0))
    corners = [[x - size, y - size], [x + size, y - size], [x, y + size]]
    return {
        "round": {"circle": {"at": at, "diameter": rng.choice((1e-6, 20.0, 20000.0))}},
        "plate": {"polygon": corners},
    }


KINDS: tuple[Callable[[random.Random], Tree], ...] = (_two, _collinear, _ring, _arm, _arm, _slide, _slide, _random)

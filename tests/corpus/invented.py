"""Drives drawn from a seed, as YAML: pulleys round about a ring, and an adjuster of either kind. Knows no package.

Most are drives that could be built; some cross themselves, overlap or find no belt, as first tries do.
"""

import math
import random
from typing import Any

import yaml

Tree = dict[str, Any]

ROLES: tuple[Tree, ...] = (
    {"role": "alternator", "rated_A": 120, "max_rpm": 16000, "load": {"current_A": 90, "voltage_V": 14}},
    {"role": "water_pump", "load": {"power_kW": 1.2, "at_rpm": 3000, "grows": "cube"}},
    {"role": "steering_pump", "max_rpm": 8000, "load": {"pressure_bar": 70, "displacement_cm3": 9}},
    {"role": "air_conditioning", "load": {"power_kW": 3, "at_rpm": 2500, "grows": "linear"}},
    {"role": "vacuum_pump"},
    {"role": "idler"},
)


def ring(seed: int) -> bytes:
    """One drive as YAML."""
    rng = random.Random(f"ring {seed}")
    count = rng.randint(2, 6)
    pulleys = {f"p{i}": _inside(rng, i, count) for i in range(count)}
    if rng.random() < 0.55:
        pulleys["tensioner"] = _tensioner(rng, pulleys[f"p{count - 1}"], pulleys["p0"])
    else:
        _on_slide(rng, pulleys[f"p{count // 2}"])
    tree: Tree = {
        "title": f"Ring {seed}, invented",
        "rotation": rng.choice(("clockwise", "counterclockwise")),
        "belt": f"{rng.randint(3, 8)}PK",
        "engine": {"idle_rpm": 800, "cruise_rpm": 2200, "max_rpm": rng.choice((3000, 5200, 7000)), "cylinders": 4},
        "pulleys": pulleys,
        "route": list(pulleys),
    }
    if rng.random() < 0.4:
        tree["obstacles"] = {"hose": {"circle": {"at": _round(rng.gauss(0, 90), rng.gauss(0, 90)), "diameter": 24}}}
    return yaml.dump(tree, sort_keys=False, default_flow_style=None).encode()


def _inside(rng: random.Random, i: int, count: int) -> Tree:
    angle, far = (i + rng.uniform(-0.25, 0.25)) * math.tau / count, rng.uniform(130, 230)
    kind = {"role": "crankshaft"} if i == 0 else rng.choice(ROLES)
    diameter = rng.uniform(120, 180) if i == 0 else rng.uniform(55, 130)
    at = _round(far * math.cos(angle), far * math.sin(angle))
    return {**kind, "at": at, "diameter": round(diameter, 1), "plane": round(rng.gauss(0, 0.4), 2)}


def _tensioner(rng: random.Random, before: Tree, after: Tree) -> Tree:
    """An idler on the back, pressed from outside on the span between two pulleys; the arm lies along the span."""
    (x, y), (x2, y2) = before["at"], after["at"]
    far = math.hypot(x2 - x, y2 - y) or 1.0
    along = (x2 - x) / far, (y2 - y) / far
    radius, depth = rng.uniform(28, 40), rng.uniform(5, 35)
    out = (before["diameter"] + after["diameter"]) / 4 + radius - depth
    # The ring is listed counter-clockwise: outside is on the right.
    centre = (x + x2) / 2 + out * along[1], (y + y2) / 2 - out * along[0]
    length, turn = rng.uniform(60, 95), rng.uniform(-0.4, 0.4)
    angle = math.atan2(along[1], along[0]) + rng.choice((0.0, math.pi)) + turn
    pivot = _round(centre[0] - length * math.cos(angle), centre[1] - length * math.sin(angle))
    at, swing = round(math.degrees(angle), 1), rng.uniform(10, 25)
    arm = {"pivot": pivot, "length": round(length, 1), "stops": _round(at - swing, at + swing), "at_deg": at}
    spring = {"torque_Nm": round(rng.uniform(12, 32), 1), "at_deg": at, "rate_Nm_per_deg": 0.35}
    return {"role": "tensioner", "diameter": round(2 * radius, 1), "belt_side": "back", "arm": arm, "spring": spring}


def _on_slide(rng: random.Random, pulley: Tree) -> None:
    """Set a pulley on a slide that leads away from the middle."""
    x, y = pulley.pop("at")
    far, travel = math.hypot(x, y) or 1.0, rng.uniform(15, 60)
    pulley["slide"] = {"from": [x, y], "to": _round(x * (1 + travel / far), y * (1 + travel / far))}
    if rng.random() < 0.7:
        pulley["tension_N"] = rng.randrange(150, 600, 10)


def _round(x: float, y: float) -> list[float]:
    return [round(x, 1), round(y, 1)]

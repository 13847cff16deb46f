"""Sound layouts with some numbers at the very ends of what their keys allow: well written, and absurd."""

import random
from typing import Any

import yaml

from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.schema import KEYS
from tests.fuzz.mutations import FastLoader

NUMBERS = tuple(key for key in KEYS if key.kind in ("number", "whole number", "length", "two numbers"))
LOADS = (
    ("torque_Nm",), ("power_kW", "at_rpm"), ("pressure_bar", "displacement_cm3", "efficiency"),
    ("current_A", "voltage_V", "efficiency"),
)  # fmt: skip
_BY_PATH = {key.path: key for key in KEYS}


def bordering(rng: random.Random, seed: bytes) -> bytes:
    """A layout with one to five of its numbers at, or next to, the ends of their ranges."""
    tree = yaml.load(seed, FastLoader)
    if isinstance(tree["belt"], str):
        ribs, profile = tree["belt"][0], tree["belt"][1:3]
        tree["belt"] = {"profile": profile, "ribs": int(ribs)}
    for _ in range(rng.randint(1, 5)):
        _set(rng, tree, rng.choice(NUMBERS))
    if rng.random() < 0.5:
        tree["pulleys"][rng.choice(list(tree["pulleys"]))]["load"] = _load(rng)
    if rng.random() < 0.3:
        tree["engine"] = {"idle_rpm": _near(rng, 1e-6, 100.0), "max_rpm": rng.choice((100.0, 3000.0, 1e6))}
    return bytes(yaml.dump(tree, sort_keys=False, default_flow_style=None, encoding="utf-8"))


def _set(rng: random.Random, tree: dict[str, Any], key: Key) -> None:
    """Put a number at the place of a key, where the tree has the mapping that it belongs in."""
    box: Any = tree
    for part in key.parent.split("."):
        box = rng.choice(list(box.values())) if part == "NAME" and box else box.get(part)
        if not isinstance(box, dict):
            return
    count = 2 if key.kind == "two numbers" else 1
    values = [_within(rng, key) for _ in range(count)]
    box[key.name] = values if count == 2 else values[0]


def _within(rng: random.Random, key: Key) -> float | int:
    value = _near(rng, key.least, key.most)
    return round(value) if key.kind == "whole number" else value


def _near(rng: random.Random, least: float, most: float) -> float:
    spread = most - least
    return rng.choice((least, most, least + 1e-9 * spread, least + 1e-6, most - 1e-6 * spread, least + 1e-3 * spread))


def _load(rng: random.Random) -> dict[str, float | int | str]:
    names = rng.choice(LOADS)
    found = {name: _within(rng, _BY_PATH[f"pulleys.NAME.load.{name}"]) for name in names}
    return {**found, **({"grows": "cube"} if "at_rpm" in names else {})}

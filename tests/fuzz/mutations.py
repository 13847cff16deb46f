"""Broken layouts made from sound ones: bytes, lines, keys, values, nesting. All drawn from one seeded generator."""

import random
from collections.abc import Callable
from typing import Any

import yaml

try:
    from yaml import CSafeLoader as _Loader
except ImportError:  # a machine need not have the compiled one
    from yaml import SafeLoader as _Loader  # type: ignore[assignment]

FastLoader = _Loader
NUMBERS: tuple[Any, ...] = (
    0, -1, -0.0, 1e-6, 1e308, -1e308, 1e400, 1e5, -1e5, 99999.9, 0.1, 1080, 360, float("nan"), float("inf"), 2**70,
    5000, 1,
)  # fmt: skip
VALUES: tuple[Any, ...] = (
    None, True, [], {}, "", " ", "6PK1685", "x" * 300, "naïve", "\u202e", "皮带轮", "1_000", "0x10", "1:30", "1,5", "~",
    "alternator", "back", "crank", [[]], [0, 0], [1, 2, 3], {"at": [0, 0]}, [None], list(range(3000)),
    {"a": {"b": {"c": 1}}},
)  # fmt: skip
TOKENS = (
    b"&a", b"*a", b"*b", b"<<: *a", b"!!python/object:os.system", b"!!binary", b"---\n", b"...\n", b"\t", b"{", b"}",
    b"[", b"]", b": ", b"- ", b"#", b"'", b'"', b"|\n", b"\x00", b"\xff", b"\xe2\x80\xa8", b"\xef\xbb\xbf", b"\r",
    b"\n", b"? ", b"%YAML 9.9\n", b"&a [*a]", b".nan", b"-.inf", b"1e999", b"9" * 400, b"[" * 60, b"{a: " * 40,
    "é".encode(), b"\xed\xa0\x80",
)  # fmt: skip


def nudged(rng: random.Random, seed: bytes) -> bytes:
    """A layout with some of its numbers a little off: still well written, and often still a drive."""
    tree = yaml.load(seed, FastLoader)
    numbers = [(box, key) for box, key in _places(tree) if type(box[key]) in (int, float)]
    for box, key in rng.sample(numbers, rng.randint(1, min(8, len(numbers)))):
        box[key] = round(box[key] * rng.gauss(1.0, 0.15) + rng.gauss(0.0, 5.0), 3)
    return _dumped(tree)


def mutated(rng: random.Random, seed: bytes) -> bytes:
    """A layout with one to four things broken."""
    if rng.random() < 0.35:
        text = seed
        for _ in range(rng.randint(1, 4)):
            text = rng.choice(TEXT_WAYS)(rng, text)
        return text
    tree = yaml.load(seed, FastLoader)
    for _ in range(rng.randint(1, 3)):
        rng.choice(TREE_WAYS)(rng, tree)
    return _dumped(tree)


def _dumped(tree: Any) -> bytes:
    return bytes(yaml.dump(tree, sort_keys=False, allow_unicode=True, default_flow_style=None, encoding="utf-8"))


def _flip(rng: random.Random, text: bytes) -> bytes:
    at = rng.randrange(len(text) or 1)
    return text[:at] + bytes([rng.randrange(256)]) + text[at + 1 :]


def _insert(rng: random.Random, text: bytes) -> bytes:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(TOKENS) + text[at:]


def _cut(rng: random.Random, text: bytes) -> bytes:
    first, last = sorted((rng.randrange(len(text) + 1), rng.randrange(len(text) + 1)))
    return text[:first] + text[last:] if rng.random() < 0.5 else text[:last]


def _lines(rng: random.Random, text: bytes) -> bytes:
    lines = text.splitlines(keepends=True) or [b""]
    i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
    deed = rng.randrange(4)
    if deed == 0:
        lines.insert(j, lines[i])
    elif deed == 1:
        del lines[i]
    elif deed == 2:
        lines[i], lines[j] = lines[j], lines[i]
    else:
        lines[i] = b" " * rng.randint(1, 9) + lines[i].lstrip()
    return b"".join(lines)


TEXT_WAYS: tuple[Callable[[random.Random, bytes], bytes], ...] = (_flip, _insert, _cut, _lines)


def _places(tree: Any) -> list[tuple[Any, Any]]:
    """Every (container, key) of a tree; one that was used twice is met twice, one that holds itself only once."""
    found: list[tuple[Any, Any]] = []
    waiting, seen = [tree], set()
    while waiting and len(found) < 5000:
        node = waiting.pop()
        if not isinstance(node, dict | list) or id(node) in seen:
            continue
        seen.add(id(node))
        for key in list(node) if isinstance(node, dict) else range(len(node)):
            found.append((node, key))
            waiting.append(node[key])
    return found


def _number(rng: random.Random, tree: Any) -> None:
    numbers = [(box, key) for box, key in _places(tree) if isinstance(box[key], int | float)]
    if not numbers:
        return
    box, key = rng.choice(numbers)
    ways = (rng.choice(NUMBERS), box[key] * rng.uniform(-2, 3), -box[key], box[key] + rng.gauss(0, 60))
    box[key] = rng.choice(ways)


def _swap(rng: random.Random, tree: Any) -> None:
    places = [(box, key) for box, key in _places(tree) if isinstance(box[key], int | float)]
    if len(places) > 1:
        (a, i), (b, j) = rng.sample(places, 2)
        a[i], b[j] = b[j], a[i]


def _value(rng: random.Random, tree: Any) -> None:
    box, key = rng.choice(_places(tree) or [({}, "x")])
    box[key] = rng.choice(VALUES)


def _delete(rng: random.Random, tree: Any) -> None:
    box, key = rng.choice(_places(tree) or [({"x": 1}, "x")])
    del box[key]


def _rename(rng: random.Random, tree: Any) -> None:
    named = [(box, key) for box, key in _places(tree) if isinstance(box, dict)]
    if named:
        box, key = rng.choice(named)
        fresh = rng.choice([f"{key}s", key[:-1] if isinstance(key, str) else 7, "皮带", "x" * 60, 3, None, True, "at"])
        box[fresh] = box.pop(key)


def _graft(rng: random.Random, tree: Any) -> None:
    """Hang one part of the tree at another place, as the same object: aliases and, at times, a loop."""
    places = _places(tree)
    if len(places) > 1:
        (a, i), (b, j) = rng.sample(places, 2)
        a[i] = b[j]


def _nest(rng: random.Random, tree: Any) -> None:
    box, key = rng.choice(_places(tree) or [({"x": 1}, "x")])
    for _ in range(rng.choice((1, 2, 40))):
        box[key] = [box[key]] if rng.random() < 0.5 else {"at": box[key]}


TREE_WAYS: tuple[Callable[[random.Random, Any], None], ...] = (
    _number, _number, _number, _number, _swap, _swap, _value, _delete, _rename, _graft, _nest,
)  # fmt: skip

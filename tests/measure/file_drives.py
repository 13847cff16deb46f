"""Invented drives, and what a tape, a protractor, a square and a camera would read of them, for round trips.

Readings are worked out here with numpy alone, from their definitions.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

Place = tuple[float, float]
ACCURATE = "accuracy: {distance_mm: 0.05 mm, angle_deg: 0.01, offset_mm: 0.05 mm, diameter_mm: 0.05 mm, place_px: 0.1}"
"""Said of readings that are exact but for their decimals."""
ROLES = ("crankshaft", "water_pump", "alternator", "steering_pump", "fan", "hydraulic_pump")


@dataclass(frozen=True, eq=False)
class Drive:
    """Places and rim diameters, mm, of pulleys, and of the two ends of a slide or the pivot of an arm."""

    pulleys: Mapping[str, Place]
    rims: Mapping[str, float]
    adjuster: Mapping[str, Place]

    @property
    def points(self) -> dict[str, Place]:
        """Every point that can be measured."""
        return {**self.pulleys, **{f"tight.{key}": at for key, at in self.adjuster.items()}}


def invented(seed: int, count: int, arm: bool) -> Drive:
    """A drive of some pulleys at least 60 mm apart, the first at the origin, none near an axis, and an arm or slide.

    No three lie near one line: about that, others could be mirrored.
    """
    dice = np.random.default_rng(seed)
    places: list[np.ndarray] = [np.zeros(2)]
    extra = 1 if arm else 2
    while len(places) < count + extra:
        new = dice.uniform((-350.0, -100.0), (350.0, 450.0))
        if min(np.hypot(*(new - old)) for old in places) > 60.0 and min(abs(new)) > 30.0 and _bent(places, new):
            places.append(new)
    points = [(float(x), float(y)) for x, y in places]
    names = [f"p{i}" for i in range(count)]
    keys = ("pivot",) if arm else ("from", "to")
    rims = {name: float(dice.uniform(40.0, 220.0)) for name in names}
    return Drive(dict(zip(names, points[:count], strict=True)), rims, dict(zip(keys, points[count:], strict=True)))


def _bent(places: list[np.ndarray], new: np.ndarray) -> bool:
    return all(_height(a, b, new) > 20.0 for a, b in combinations(places, 2))


def _height(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
    """Least height of a triangle."""
    (px, py), (qx, qy) = b - a, c - a
    return float(abs(px * qy - py * qx) / max(np.hypot(px, py), np.hypot(qx, qy), np.hypot(*(c - b))))


def text_of(drive: Drive, measured: str, inches: bool, flow: bool) -> str:
    """A measurements file of a drive: its layout without places, and what was measured of it."""
    unit = 25.4 if inches else 1.0
    lines = ["# invented", f"units: {'in' if inches else 'mm'}", "belt: 6PK", "pulleys:"]
    for i, (name, rim) in enumerate(drive.rims.items()):
        keys = [f"role: {ROLES[i]}", f"rim_diameter: {rim / unit:.6f}"]
        lines += [f"  {name}: {{{', '.join(keys)}}}"] if flow else [f"  {name}:", *(f"    {key}" for key in keys)]
    arm = "pivot" in drive.adjuster
    holder = f"arm: {{length: {70 / unit:.6f}, stops: [10, 60]}}" if arm else "slide: {at: 0.4}"
    tight = ["role: tensioner", f"diameter: {80 / unit:.6f}", "belt_side: back", holder]
    lines += [f"  tight: {{{', '.join(tight)}}}"] if flow else ["  tight:", *(f"    {key}" for key in tight)]
    lines += [f"route: [{', '.join([*drive.rims, 'tight'])}]", ACCURATE, measured]
    return "\n".join(lines)


def _apart(drive: Drive, first: str, second: str) -> float:
    a, b = drive.points[first], drive.points[second]
    return float(np.hypot(b[0] - a[0], b[1] - a[1]))


def distances(drive: Drive, inches: bool) -> str:
    """Every distance between centres, and those over rims or between them, with two angles."""
    unit = 25.4 if inches else 1.0
    lines = ["distances:"]
    for i, (first, second) in enumerate(combinations(drive.points, 2)):
        value = _apart(drive, first, second)
        both = drive.rims.get(first, 0.0) + drive.rims.get(second, 0.0)
        rimmed = first in drive.rims and second in drive.rims
        if rimmed and i % 3 == 1:
            form = f"{{value: {(value + both / 2) / unit:.6f}, outside: true}}"
        elif rimmed and i % 3 == 2 and value > both / 2:
            form = f"{{value: {(value - both / 2) / unit:.6f}, gap: true}}"
        else:
            form = f"{value:.5f} mm" if i % 2 else f"{value / unit:.6f}"
        lines.append(f"  {first} - {second}: {form}")
    return "\n".join([*lines, angles(drive, 2)])


def sides(drive: Drive) -> str:
    """Where every point but the origin is seen from there."""
    words = [
        f"{name}: {'above' if y > 0 else 'below'} {'right' if x > 0 else 'left'}"
        for name, (x, y) in list(drive.points.items())[1:]
    ]
    return f"sides: {{{', '.join(words)}}}"


def angles(drive: Drive, most: int) -> str:
    """Angles of the lines from the origin, by turns from level and from plumb."""
    first, *others = drive.points
    lines = ["angles:"]
    for i, name in enumerate(others[:most]):
        x, y = np.subtract(drive.points[name], drive.points[first])
        angle = float(np.degrees(np.arctan2(y, x)))
        form = f"{{value: {angle - 90:.9f}, from: plumb}}" if i % 2 else f"{angle:.9f}"
        lines.append(f"  {first} - {name}: {form}")
    return "\n".join(lines)


def offsets(drive: Drive, inches: bool) -> str:
    """How far each point lies from the one before it."""
    unit = 25.4 if inches else 1.0
    names = list(drive.points)
    lines = ["offsets:"]
    for before, name in pairwise(names):
        x, y = np.subtract(drive.points[name], drive.points[before]) / unit
        lines.append(f"  {name}: {{x: {x:.6f}, y: {y:.6f}, from: {before}}}")
    return "\n".join(lines)


def scan(drive: Drive, turn_deg: float, mm_per_px: float, back: bool) -> str:
    """Places on a scan of known scale, turned, from the front or the back, and two angles."""
    turn = np.radians(turn_deg)
    matrix = np.array(((np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))))
    lines = ["points:", "  sheet one:", f"    mm_per_px: {mm_per_px}", f"    seen_from: {'back' if back else 'front'}"]
    lines.append("    places:")
    for name, at in drive.points.items():
        u, v = matrix @ at / mm_per_px
        lines.append(f"      {name}: [{-u if back else u:.6f}, {-v:.6f}]")
    return "\n".join([*lines, angles(drive, 2)])


def slanted(drive: Drive) -> str:
    """A photo at a slant on which four corners of a known card and every point are picked, and two angles."""
    bend = np.array(((1.1, 0.08, 900.0), (-0.05, 1.2, 700.0), (2e-4, 1e-4, 1.0)))

    def picked(at: Place) -> str:
        u, v, w = bend @ (at[0], at[1], 1.0)
        return f"[{u / w:.6f}, {-v / w:.6f}]"

    corner, turn = np.array((-150.0, -60.0)), np.radians(20.0)
    card = {"k1": (0.0, 0.0), "k2": (297.0, 0.0), "k3": (297.0, 210.0), "k4": (0.0, 210.0)}
    axes = np.array(((np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))))
    lines = ["points:", "  photo:", "    slant: true", "    accuracy_mm: 0.01", "    places:"]
    lines += [f"      {name}: {picked(at)}" for name, at in drive.points.items()]
    for name, at in card.items():
        x, y = corner + axes @ at
        lines.append(f"      {name}: {picked((float(x), float(y)))}")
    lines.append("    known: {" + ", ".join(f"{name}: [{x} mm, {y} mm]" for name, (x, y) in card.items()) + "}")
    return "\n".join([*lines, angles(drive, 2)])

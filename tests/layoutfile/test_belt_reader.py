"""The belt and the stock.

Sources: designations 6PK1500 of ISO 9981/9982, AV13x1000 of ISO 2790; that the number of a classical V-belt may be
its inside, datum or outside length is common practice, no source. The rest is the layout file's own definition.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.drive.belt import Belt, Friction
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

RIBBED_ONLY = PLAIN.replace(", belt_side: back", "").replace("    belt_side: back\n", "")


def belt_of(folder: Path, belt: str) -> Belt:
    """The belt read from that value of the key."""
    return read_layout(written(folder, RIBBED_ONLY.replace("6PK", belt))).layout.belt


@for_each(
    ("6PK", "PK", 6, None, "effective"),
    ("6PK1685", "PK", 6, 1685.0, "effective"),
    ("'8PK 1500'", "PK", 8, 1500.0, "effective"),
    ("AV13x1000", "AV13", 1, 1000.0, "effective"),
    ("A1400 datum", "A", 1, 1400.0, "datum"),
    ("{profile: PK, ribs: 6, length_mm: 1685}", "PK", 6, 1685.0, "effective"),
    ("{profile: PK, ribs: 6, length_mm: 1685.5, length_kind: effective}", "PK", 6, 1685.5, "effective"),
    ("{profile: B, length_mm: 1400, length_kind: inside}", "B", 1, 1400.0, "inside"),
    ("{profile: AV10, ribs: 1}", "AV10", 1, None, "effective"),
    ("{profile: A}", "A", 1, None, "datum"),
)
def test_belts(tmp_path: Path, text: str, profile: str, ribs: int, length: float | None, kind: str) -> None:
    belt = belt_of(tmp_path, text)
    assert (belt.profile.name, belt.ribs, belt.length_mm, belt.length_kind) == (profile, ribs, length, kind)


OWN = (
    "{profile: PK, ribs: 6, stretch_fit_percent: [0.5, 2], back_over_rim_mm: 2.4, cord_below_back_mm: 1.2, "
    "tolerance_mm: 7, mass_kg_per_m: 0.11, stiffness_N: 1.7e5, friction: {dry: 1, wet: 0.6}}"
)


def test_what_the_user_measured(tmp_path: Path) -> None:
    belt = belt_of(tmp_path, OWN)
    assert belt.stretch_fit == pytest.approx((0.005, 0.02))
    assert (belt.back_over_rim_mm, belt.cord_below_back_mm, belt.tolerance_mm) == (2.4, 1.2, 7.0)
    assert (belt.mass_kg_per_m, belt.stiffness_N) == (0.11, 170_000.0)
    assert belt.friction == Friction(1.0, 0.6, None)


def test_stock_takes_over_what_is_said_of_the_belt(tmp_path: Path) -> None:
    text = PLAIN.replace("6PK", OWN) + "stock: [6PK1500, {profile: PK, ribs: 6, length_mm: 1510.5}]\n"
    stock = read_layout(written(tmp_path, text)).layout.stock
    assert stock is not None
    assert [(belt.length_mm, belt.tolerance_mm, belt.back_over_rim_mm) for belt in stock] == [
        (1500.0, 7.0, 2.4),
        (1510.5, 7.0, 2.4),
    ]


@for_each(
    ("{ribs: 6}", "belt.profile", "nothing"),
    ("{profile: PK}", "belt.ribs", "nothing"),
    ("{profile: PK, ribs: 0}", "belt.ribs", "0"),
    ("{profile: PK, ribs: 31}", "belt.ribs", "31"),
    ("{profile: 6PK, ribs: 6}", "belt.profile", "'6PK'"),
    ("{profile: A, ribs: 2}", "belt.ribs", "2"),
    ("{profile: A, length_mm: 1400}", "belt.length_kind", "nothing beside a length"),
    ("{profile: A, length_mm: 1400, length_kind: effective}", "belt.length_kind", "effective"),
    ("{profile: PK, ribs: 6, length_kind: datum}", "belt.length_kind", "datum"),
    ("{profile: PK, ribs: 6, length_mm: 0}", "belt.length_mm", "0"),
    ("{profile: PK, ribs: 6, stretch_fit_percent: [2, 1]}", "belt.stretch_fit_percent", "[2, 1]"),
    ("{profile: PK, ribs: 6, stretch_fit_percent: 2}", "belt.stretch_fit_percent", "'2'"),
    ("{profile: PK, ribs: 6, back_over_rim_mm: 0}", "belt.back_over_rim_mm", "0"),
    ("{profile: PK, ribs: 6, cord_below_back_mm: 0}", "belt.cord_below_back_mm", "0"),
    ("{profile: PK, ribs: 6, tolerance_mm: -1}", "belt.tolerance_mm", "-1"),
    ("{profile: PK, ribs: 6, mass_kg_per_m: 0}", "belt.mass_kg_per_m", "0"),
    ("{profile: PK, ribs: 6, stiffness_N: 1e99}", "belt.stiffness_N", "1e99"),
    ("{profile: PK, ribs: 6, friction: 0.4}", "belt.friction", "'0.4'"),
    ("{profile: PK, ribs: 6, friction: {dry: 0}}", "belt.friction.dry", "0"),
    ("{profile: PK, ribs: 6, friction: {damp: 1}}", "belt.friction.damp", "an unknown key"),
    ("{profile: PK, ribs: 6, lenght_mm: 1500}", "belt.lenght_mm", "did you mean length_mm?"),
    ("{profile: PK, ribs: 6, length_mm: 1500,1/4, length_kind: effective}", "belt.1/4", "a number after a comma"),
)
def test_wrong_belts(tmp_path: Path, belt: str, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, RIBBED_ONLY.replace("6PK", belt))
    assert (fault.line, fault.key) == (1, key)
    assert words in fault.got


@for_each(
    ("6PK1500", "stock", "'6PK1500'"),
    ("[]", "stock", "a list of 0"),
    ("[6PK1500, 6PK]", "stock.2", "'6PK'"),
    ("[6PK1500, 5PK1500]", "stock.2", "5PK"),
    ("[AV13x1000]", "stock.1", "AV13"),
    ("[A1400]", "stock.1", "inside, datum or outside"),
    ("[6PK1500, nonsense]", "stock.2", "not a belt designation"),
    ("[[6PK1500]]", "stock.1", "a list"),
    ("[{profile: PK, ribs: 6}]", "stock.1.length_mm", "nothing"),
    ("[{profile: PK, ribs: 6, length_mm: 1500, tolerance_mm: 3}]", "stock.1.tolerance_mm", "an unknown key"),
)
def test_wrong_stock(tmp_path: Path, stock: str, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN + f"stock: {stock}\n")
    assert (fault.line, fault.key) == (13, key)
    assert words in fault.got

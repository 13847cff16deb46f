"""`diameters`, `idler_sizes` and `movable_mm`: what is read, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

OF_PUMP = "pump: {role: water_pump, "


def with_pump(keys: str) -> str:
    return PLAIN.replace(OF_PUMP, f"{OF_PUMP}{keys}, ")


def test_read_rising_and_each_once(tmp_path: Path) -> None:
    text = "idler_sizes: [90, 65, 90]\n" + with_pump("diameters: [140, 120], movable_mm: 30")
    layout = read_layout(written(tmp_path, text)).layout
    assert layout.idler_sizes_mm == (65.0, 90.0)
    assert (layout.pulleys["pump"].diameters_mm, layout.pulleys["pump"].movable_mm) == ((120.0, 140.0), 30.0)


def test_nothing_said(tmp_path: Path) -> None:
    layout = read_layout(written(tmp_path, PLAIN)).layout
    assert layout.idler_sizes_mm == ()
    assert (layout.pulleys["pump"].diameters_mm, layout.pulleys["pump"].movable_mm) == ((), 0.0)


def test_sizes_in_inches_but_movable_in_millimetres(tmp_path: Path) -> None:
    """An inch is 25.4 mm exactly (ISO 31-1)."""
    text = "units: in\nidler_sizes: [3]\n" + with_pump("diameters: [5], movable_mm: 30")
    layout = read_layout(written(tmp_path, text)).layout
    assert layout.idler_sizes_mm == pytest.approx((76.2,))
    assert layout.pulleys["pump"].diameters_mm == pytest.approx((127.0,))
    assert layout.pulleys["pump"].movable_mm == 30.0


@for_each(
    ("idler_sizes: 90\n" + PLAIN, "idler_sizes", "'90'"),
    ("idler_sizes: []\n" + PLAIN, "idler_sizes", "a list of 0"),
    ("idler_sizes: [0.5]\n" + PLAIN, "idler_sizes.1", "0.5"),
    ("idler_sizes: [90, big]\n" + PLAIN, "idler_sizes.2", "'big'"),
    (with_pump("diameters: [120, .nan]"), "pulleys.pump.diameters.2", "'.nan'"),
    (with_pump("diameters: {a: 1}"), "pulleys.pump.diameters", "a mapping"),
    (with_pump("movable_mm: -1"), "pulleys.pump.movable_mm", "-1"),
    (with_pump("movable_mm: far"), "pulleys.pump.movable_mm", "'far'"),
)
def test_refused_with_the_line(tmp_path: Path, text: str, key: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, text)
    assert (fault.key, got in fault.got) == (key, True), fault
    assert fault.line >= 1 and fault.allowed

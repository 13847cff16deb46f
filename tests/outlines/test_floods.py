"""Drawings within the stated limits (8 MB, 300,000 points) that nobody draws: 10 s and 1.5 GB are enough for each.

The two bounds are the project's own; the system holds a process to them (`RLIMIT_CPU`, `RLIMIT_AS`).
"""

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from beltplan.geometry.vectors import Floats
from tests.cli.running import process
from tests.for_each import mostly_long
from tests.layoutfile.samples import PLAIN
from tests.outlines.drawings import svg_of

BOUNDED = """\
import resource, sys
resource.setrlimit(resource.RLIMIT_CPU, (10, 10))
resource.setrlimit(resource.RLIMIT_AS, (1_500_000_000, 1_500_000_000))
from beltplan.cli.main import main
sys.exit(main(["check", "flood.yaml"]))
"""
ROUGH = "so rough that"
SPLINE = ["0", "SPLINE", "71", "1", *(f"40\n{i}" for i in range(14_002))]


def table(folder: Path, points: Floats) -> str:
    np.savetxt(folder / "flood.csv", points, fmt="%.4f", delimiter=",")
    return "flood.csv"


def dxf(folder: Path, lines: list[str]) -> str:
    (folder / "flood.dxf").write_text("\n".join(["0\nSECTION\n2\nENTITIES", *lines, "0\nENDSEC\n0\nEOF\n"]))
    return "flood.dxf"


def saw(folder: Path) -> str:
    """Edges so close that a stack of shapely's own would run over."""
    tooth = np.arange(60_001)
    return table(folder, np.vstack((np.column_stack((0.005 * tooth, 5.0 * (tooth % 2))), [[300, -50], [0, -50]])))


def star(folder: Path) -> str:
    """Every edge crosses nearly every other one."""
    angle = np.arange(59_999) * (2.0 * np.pi * 29_999 / 59_999)
    return table(folder, 200.0 * np.column_stack((np.cos(angle), np.sin(angle))))


def noise(folder: Path) -> str:
    angle = np.linspace(0.0, 2.0 * np.pi, 250_000, endpoint=False)
    radius = 200.0 + np.random.default_rng(5).normal(0.0, 0.2, 250_000)
    return table(folder, radius[:, None] * np.column_stack((np.cos(angle), np.sin(angle))))


def arcs(folder: Path) -> str:
    return svg_of(folder, f'<path d="M0 0{"a9 9 0 0 1 1 1a9 9 0 0 1 1-1" * 60_000}"/>')


def bulges(folder: Path) -> str:
    corners = [f"10\n{i % 1000 / 10}\n20\n{i // 1000 / 10}\n42\n.5" for i in range(60_000)]
    return dxf(folder, ["0\nLWPOLYLINE\n70\n1", *corners])


def splines(folder: Path) -> str:
    one = [*SPLINE, *(f"10\n{i % 117}\n20\n{i % 113}" for i in range(14_000))]
    return dxf(folder, one * 18)


def fork(folder: Path) -> str:
    """So many lines from one point that ends which meet by chance are many, too."""
    ends = np.random.default_rng(5).uniform(-1.0, 1.0, (20_000, 2))
    return dxf(folder, [f"0\nLINE\n10\n0\n20\n0\n11\n{x:.4f}\n21\n{y:.4f}" for x, y in ends])


FLOODS = [
    (saw, f"{ROUGH} 60002 corners"),
    (star, f"{ROUGH} 59999 corners"),
    (noise, ROUGH),
    (arcs, "a path of more than 50000 curves"),
    (bulges, "a polyline of more than 50000 arcs"),
    (splines, "more than 300000 points"),
    (fork, "more than two lines that meet at (0, 0)"),
]


@pytest.mark.skipif(sys.platform != "linux", reason="a process is not held to time and memory there")
@pytest.mark.parametrize(
    ("draw", "words"), mostly_long(FLOODS, 1, 3, 4), ids=lambda each: getattr(each, "__name__", "")
)
def test_a_flood_is_refused_in_words_and_in_time(tmp_path: Path, draw: Callable[[Path], str], words: str) -> None:
    (tmp_path / "flood.yaml").write_text(f"{PLAIN}obstacles: {{block: {{file: {draw(tmp_path)}, units: mm}}}}\n")
    ran = process([], tmp_path, BOUNDED)
    assert (ran.code, ran.out) == (2, "") and words in ran.err, ran

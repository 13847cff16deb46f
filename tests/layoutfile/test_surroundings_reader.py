"""Obstacles and limits.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

from __future__ import annotations

import re
from pathlib import Path

from beltplan.drive.layout import Circle, Polygon
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

AROUND = [
    ("obstacles: 5", "obstacles", "'5'"),
    ("obstacles: {o: 5}", "obstacles.o", "'5'"),
    ("obstacles: {o: {}}", "obstacles.o", "an empty mapping"),
    ("obstacles: {o: {square: 3}}", "obstacles.o", "square, none of circle, polygon, file"),
    ("obstacles: {o: {at: [0, 0], diameter: 5}}", "obstacles.o", "at, diameter, none of circle, polygon, file"),
    ("obstacles: {circle: {at: [0, 0], diameter: 5}}", "obstacles.circle", "at, diameter, none of circle"),
    ("obstacles: {o: [[0, 0], [1, 1], [1, 0]]}", "obstacles.o", "a list"),
    ("obstacles: [{circle: {at: [0, 0], diameter: 5}}]", "obstacles", "a list (write it without dashes)"),
    ("obstacles: {o: {circle: [0, 0, 5]}}", "obstacles.o.circle", "a list"),
    ("obstacles: {o: {circle: {at: [0, 0]}}}", "obstacles.o.circle.diameter", "nothing"),
    ("obstacles: {o: {circle: {at: [0, 0], diameter: 0}}}", "obstacles.o.circle.diameter", "0"),
    ("obstacles: {o: {polygon: [[0, 0], [1, 1]]}}", "obstacles.o.polygon", "a list of 2"),
    ("obstacles: {o: {polygon: [[0, 0], [1, 1], [2, 2]]}}", "obstacles.o.polygon", "crosses itself or bounds no area"),
    ("obstacles: {o: {polygon: [[0, 0], [1, 1], [1, 0], [0, 1]]}}", "obstacles.o.polygon", "crosses itself"),
    ("obstacles: {o: {polygon: [[0, 0], [1, x], [1, 0]]}}", "obstacles.o.polygon.2", "'x'"),
    ("obstacles: {o: {polygon: [[0, 0], 5, [1, 0]]}}", "obstacles.o.polygon.2", "'5'"),
    ("obstacles: {o: {circle: {at: [0, 0], diameter: 5}, polygon: [1]}}", "obstacles.o.polygon", "both"),
    ("limits: [1]", "limits", "a list"),
    ("limits: {min_wrap: 5}", "limits.min_wrap", "write min_wrap_deg"),
    ("limits: {min_wrap_deg: -5}", "limits.min_wrap_deg", "-5"),
    ("limits: {min_wrap_deg: [5]}", "limits.min_wrap_deg", "a list"),
    ("limits: {min_wrap_deg: {pomp: 5}}", "limits.min_wrap_deg.pomp", "did you mean pump?"),
    ("limits: {min_wrap_deg: {pump: x}}", "limits.min_wrap_deg.pump", "'x'"),
    ("limits: {" + ", ".join(f"k{n}: 1" for n in range(99)) + "}", "limits.k0", "99 unknown keys"),
]


@for_each(*AROUND)
def test_what_stands_around(tmp_path: Path, more: str, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN + more + "\n")
    assert (fault.line, fault.key) == (13, key)
    assert words in fault.got
    assert fault.allowed


def test_a_corner_given_twice_counts_once(tmp_path: Path) -> None:
    text = "[[0, 0], [9, 0], [9, 0], [9, 5], [0, 5], [0, 0], [0.0, 0]]"
    (box,) = read_layout(written(tmp_path, f"{PLAIN}obstacles: {{box: {{polygon: {text}}}}}\n")).layout.obstacles
    assert isinstance(box, Polygon) and sorted(box.corners_mm) == [(0.0, 0.0), (0.0, 5.0), (9.0, 0.0), (9.0, 5.0)]


def test_a_limit_for_all(tmp_path: Path) -> None:
    layout = read_layout(written(tmp_path, PLAIN + "limits: {min_wrap_deg: 90, min_clearance_mm: {idler: 0}}\n")).layout
    assert layout.limits == {"min_wrap_deg": {"": 90.0}, "min_clearance_mm": {"idler": 0.0}}


@for_each("[{circle: 1}]", "{o: 5}", "{o: {at: [0, 0]}}", "{polygon: [[0, 0], [1, 1]]}")
def test_an_obstacle_of_no_form_is_told_what_to_write(tmp_path: Path, wrong: str) -> None:
    """What the message says, with numbers put in for its letters, is read as it stands."""
    (fault,) = faults_of(tmp_path, f"{PLAIN}obstacles: {wrong}\n")
    told = fault.allowed.replace("diameter: ...", "diameter: 9").replace("x, y", "0, 1")
    round_one, edged = re.findall(r"\{circle: \{.*?\}\}|\{polygon: .*?\}", told)
    corners = edged.replace("[0, 1], [0, 1], [0, 1], ...", "[0, 1], [0, 2], [3, 1]")
    text = f"{PLAIN}obstacles: {{a: {round_one}, b: {corners}}}\n"
    assert read_layout(written(tmp_path, text)).layout.obstacles == (
        Circle("a", (0.0, 1.0), 9.0),
        Polygon("b", ((0.0, 1.0), (0.0, 2.0), (3.0, 1.0))),
    )

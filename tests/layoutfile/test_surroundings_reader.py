"""Obstacles and limits.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Circle, Layout, Polygon
from beltplan.drive.mounts import Hole, Mark, Mount, Slot
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.rewriting import rewritten, same
from beltplan.report.check_json import result_of
from beltplan.report.check_text import check_report
from beltplan.report.screen import Screen, shown
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, RAILCAR, faults_of, written

AROUND = [
    ("obstacles: 5", "obstacles", "'5'"),
    ("obstacles: {o: 5}", "obstacles.o", "'5'"),
    ("obstacles: {o: {}}", "obstacles.o", "an empty mapping"),
    ("obstacles: {o: {square: 3}}", "obstacles.o", "square, none of circle, polygon, file"),
    ("obstacles: {o: {at: [0, 0], diameter: 5}}", "obstacles.o", "at, diameter, none of circle, polygon, file"),
    ("obstacles: {circle: {at: [0, 0], diameter: 5}}", "obstacles.circle", "at, diameter, none of circle"),
    ("obstacles: {o: [[0, 0], [1, 1], [1, 0]]}", "obstacles.o", "a list"),
    ("obstacles: [{circle: {at: [0, 0], diameter: 5}}]", "obstacles", "a list (write it without dashes or [ ])"),
    ("obstacles: {o: {circle: [0, 0, 5]}}", "obstacles.o.circle", "a list"),
    ("obstacles: {o: {circle: {at: [0, 0]}}}", "obstacles.o.circle.diameter", "nothing"),
    ("obstacles: {o: {circle: {at: [0, 0]}, diameter: 5}}", "obstacles.o.diameter", "an unknown key here"),
    ("obstacles: {o: {circle: {at: [0, 0], diameter: 0}}}", "obstacles.o.circle.diameter", "0"),
    ("obstacles: {o: {polygon: [[0, 0], [1, 1]]}}", "obstacles.o.polygon", "a list of 2"),
    ("obstacles: {o: {polygon: [[0, 0], [1, 1], [2, 2]]}}", "obstacles.o.polygon", "crosses itself or bounds no area"),
    ("obstacles: {o: {polygon: [[0, 0], [1, 1], [1, 0], [0, 1]]}}", "obstacles.o.polygon", "crosses itself"),
    ("obstacles: {o: {polygon: [[0, 0], [1, x], [1, 0]]}}", "obstacles.o.polygon.2", "'x'"),
    ("obstacles: {o: {polygon: [[0, 0], 5, [1, 0]]}}", "obstacles.o.polygon.2", "'5'"),
    ("obstacles: {o: {circle: {at: [0, 0], diameter: 5}, polygon: [1]}}", "obstacles.o.polygon", "both"),
    ("limits: [1]", "limits", "a list"),
    ("limits: {min_wrap: 5}", "limits.min_wrap", "write min_wrap_deg"),
    ("limits: {pump: {min_wrap: 5}}", "limits.pump", "write min_wrap_deg: {pump: 5}"),
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


# Mounts and marks: turned by hand, in inches, one wrong thing one fault.


MOUNT = "mount: {holes: [[-40, 25, 10.5], [40, 25, 10.5]], slots: [{from: [0, -60], to: [12, -58], width: 8.5}]}"


def _layout(folder: Path, pump: str = "", top: str = "", variant: str | None = None) -> Layout:
    return read_layout(written(folder, _text(pump, top)), variant).layout


def _text(pump: str = "", top: str = "") -> str:
    return PLAIN.replace("diameter: 130", f"diameter: 130, {pump}" if pump else "diameter: 130") + top


def test_holes_and_slots_stand_from_the_centre(tmp_path: Path) -> None:
    pump = _layout(tmp_path, MOUNT).pulleys["pump"]
    assert pump.mount == Mount(
        (Hole((-40.0, 25.0), 10.5), Hole((40.0, 25.0), 10.5)), (Slot((0.0, -60.0), (12.0, -58.0), 8.5),)
    )
    assert [hole.at_mm for hole in pump.mounted.holes] == [(-230.0, 325.0), (-150.0, 325.0)]
    assert pump.mounted.slots == (Slot((-190.0, 240.0), (-178.0, 242.0), 8.5),)


def test_all_of_it_turns_counter_clockwise(tmp_path: Path) -> None:
    given = "mount: {holes: [[10, 0, 8]], slots: [{from: [0, 5], to: [0, 9], width: 4}], turn_deg: 90, "
    mount = _layout(tmp_path, given + "outline: [[0, 0], [30, 0], [30, 40]]}").pulleys["pump"].mount
    assert mount is not None
    assert mount.holes[0].at_mm == pytest.approx((0.0, 10.0))
    assert mount.slots[0].start_mm == pytest.approx((-5.0, 0.0)) and mount.slots[0].end_mm == pytest.approx((-9.0, 0.0))
    # 30, 40 is 50 long; a quarter turn brings (x, y) to (-y, x).
    assert mount.outline_mm[2] == pytest.approx((-40.0, 30.0)) and math.hypot(*mount.outline_mm[2]) == pytest.approx(50)


def test_an_arm_is_bolted_on_at_its_pivot_and_a_slide_at_its_beginning(tmp_path: Path) -> None:
    holes = "    mount: {holes: [[5, 0, 8]]}\n"
    arm = read_layout(written(tmp_path, PLAIN.replace("    spring:", f"{holes}    spring:"))).layout.pulleys["tight"]
    assert arm.mounted.holes == (Hole((-145.0, 215.0), 8.0),)
    track = "slide: {from: [-150, 130], to: [-120, 130]}"
    slide = PLAIN.replace("arm: {pivot: [-150, 215], length: 85, stops: [265, 300], at_deg: 285}", track)
    slide = slide.split("    spring")[0] + holes + PLAIN[PLAIN.index("route") :]
    assert read_layout(written(tmp_path, slide)).layout.pulleys["tight"].mounted.holes == (Hole((-145.0, 130.0), 8.0),)


def test_inches_and_lengths_with_a_unit_of_their_own(tmp_path: Path) -> None:
    """An inch is 25.4 mm exactly (ISO 31-1)."""
    marks = "units: in\nmarks: {dowel: [2, 3/8], stud: {at: [1, 1], uncertainty_mm: 0.4}}\n"
    given = _layout(tmp_path, "mount: {holes: [[1, 0, 10.5 mm]]}", marks)
    mount = given.pulleys["pump"].mount
    assert mount is not None and mount.holes[0] == Hole((25.4, 0.0), 10.5)
    dowel, stud = given.marks
    assert dowel.at_mm == pytest.approx((50.8, 9.525)) and stud == Mark("stud", (25.4, 25.4), 0.4)


def test_a_variant_changes_and_deletes(tmp_path: Path) -> None:
    more = (
        "marks: {a: [1, 2], b: [3, 4]}\n"
        "variants: {other: {marks: {a: null, b: [5, 6]}, pulleys: {pump: {mount: null}}}}\n"
    )
    other = _layout(tmp_path, MOUNT, more, "other")
    assert other.marks == (Mark("b", (5.0, 6.0)),) and other.pulleys["pump"].mount is None


@for_each(
    ("mount: {}", "mount", "a mount without any of holes, slots, outline"),
    ("mount: 3", "mount", "'3'"),
    ("mount: {hole: [[1, 2, 3]]}", "mount.hole", "did you mean holes?"),
    ("mount: {holes: []}", "mount.holes", "a list of 0"),
    ("mount: {holes: [[1, 2]]}", "mount.holes.1", "a list"),
    ("mount: {holes: [[1, 2, 8], [1, 2, 0]]}", "mount.holes.2", "a diameter of 0"),
    ("mount: {holes: [[1, 2, wide]]}", "mount.holes.1", "'wide'"),
    ("mount: {slots: [[0, 0]]}", "mount.slots.1", "a list"),
    ("mount: {slots: [{radius: 9, from: 10, to: 20, width: 8}]}", "mount.slots.1", "radius, from, to, width"),
    ("mount: {slots: [{at: [0, 0], length: 9, width: 8}]}", "mount.slots.1", "at, length, width"),
    ("mount: {slots: [{from: [0, 0], to: [9, 0], d: 8}]}", "mount.slots.1.d", "write width"),
    ("mount: {slots: [{from: [0, 0], to: [9, 0]}]}", "mount.slots.1.width", "nothing"),
    ("mount: {slots: [{from: [0, 0], to: [0, 0], width: 8}]}", "mount.slots.1.to", "the place of `from`"),
    ("mount: {slots: [{from: [0, 0], to: [9, 0], width: 0}]}", "mount.slots.1.width", "0"),
    ("mount: {slots: [{from: [0, 0], to: [9, 0], widht: 8, width: 8}]}", "mount.slots.1.widht", "`width` is there too"),
    ("mount: {holes: [[1, 2, 8]], turn_deg: 400}", "mount.turn_deg", "400"),
    ("mount: {outline: [[0, 0], [9, 9], [9, 0], [0, 9]]}", "mount.outline", "an outline that crosses itself"),
)  # fmt: skip
def test_one_wrong_thing_one_fault(tmp_path: Path, given: str, key: str, got: str) -> None:
    faults = faults_of(tmp_path, _text(given))
    (fault,) = [fault for fault in faults if fault.key == f"pulleys.pump.{key}"]
    assert fault.line == 4 and got in fault.got and fault.allowed


@for_each(
    ("marks: [dowel]", "marks", "a list"),
    ("marks: {pump: [1, 2]}", "marks.pump", "the name of a pulley"),
    ("marks: {dowel: [1]}", "marks.dowel", "a list of 1"),
    ("marks: {dowel: 7}", "marks.dowel", "'7'"),
    ("marks: {dowel: {uncertainty_mm: 1}}", "marks.dowel.at", "nothing"),
    ("marks: {dowel: {at: [1, 2], uncertainty_mm: -1}}", "marks.dowel.uncertainty_mm", "-1"),
)  # fmt: skip
def test_one_wrong_mark_one_fault(tmp_path: Path, given: str, key: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN + given + "\n")
    assert (fault.line, fault.key) == (13, key) and got in fault.got and fault.allowed


def test_a_moved_pulley_takes_its_holes_along_in_the_file(tmp_path: Path) -> None:
    text = _text(MOUNT, "marks: {dowel: [1, 2]}\n")
    before = read_layout(written(tmp_path, text)).layout
    pump = replace(before.pulleys["pump"], at_mm=(-180.0, 310.0))
    after = replace(before, pulleys={**before.pulleys, "pump": pump})
    read = read_layout(written(tmp_path, rewritten(text, before, after, ()))).layout
    assert same(read, after)
    assert [hole.at_mm for hole in read.pulleys["pump"].mounted.holes] == [(-220.0, 335.0), (-140.0, 335.0)]
    assert read.marks == (Mark("dowel", (1.0, 2.0)),)


def test_check_tells_where_holes_and_marks_lie(tmp_path: Path) -> None:
    marks = "marks: {dowel: {at: [60, -45], uncertainty_mm: 0.4}}\n"
    text = RAILCAR.replace("diameter: 130", f"diameter: 130, {MOUNT}") + marks
    plan = plan_of(read_layout(written(tmp_path, text)).layout)
    told = result_of(plan)
    assert told["marks"] == [{"name": "dowel", "x_mm": 60.0, "y_mm": -45.0, "uncertainty_mm": 0.4}]
    assert [(each["hole"], each["x_mm"], each["y_mm"], each["diameter_mm"]) for each in told["holes"]] == [
        ("hole 1", -230.0, 325.0, 10.5),
        ("hole 2", -150.0, 325.0, 10.5),
        ("slot 1 from", -190.0, 240.0, 8.5),
        ("slot 1 to", -178.0, 242.0, 8.5),
    ]
    rows = [line.split() for line in shown(check_report(plan, full=True), Screen(100)).splitlines()]
    assert ["pump", "hole", "1", "-230.00", "325.00", "10.50", "-"] in rows
    assert ["mark", "dowel", "60.00", "-45.00", "-", "0.40"] in rows
    assert not {"holes", "marks"} & result_of(plan_of(read_layout(written(tmp_path, RAILCAR)).layout)).keys()

"""Planes from a stack of parts, added up by hand; one wrong thing gives one fault, and all of them come at once.

Groove pitch of PK 3.56 mm: ISO 9982:2021, table 2. The middle of a belt of n ribs lies (n - 1) / 2 pitches past its
first groove.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.cure.changes import belt_of_ribs
from beltplan.drive.pulleys import Pulley
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

STACK = "plane: {stack: {bracket: 19, spacer: 31.5}, to: first_groove}"


def pump(folder: Path, given: str, belt: str = "6PK") -> Pulley:
    text = PLAIN.replace("diameter: 130", f"diameter: 130, {given}").replace("belt: 6PK", f"belt: {belt}")
    return read_layout(written(folder, text)).layout.pulleys["pump"]


@for_each(
    (STACK, "6PK", 50.5 + 2.5 * 3.56),
    (STACK, "7PK", 50.5 + 3.0 * 3.56),
    (f"{STACK}, grooves: 8, first_groove_used: 2", "6PK", 50.5 + 3.5 * 3.56),
    ("plane: {stack: {bracket: 19, spacer: 31.5}, to: face, face_to_first_groove: 4}", "6PK", 54.5 + 2.5 * 3.56),
    ("plane: {stack: {bracket: 19}, to: middle}, grooves: 6", "6PK", 19.0),
    ("plane: {stack: {bracket: 19}, to: middle}, grooves: 8", "6PK", 19.0 - 3.56),
    ("plane: {stack: {bracket: 19}, to: middle}, grooves: 8, first_groove_used: 3", "6PK", 19.0 + 3.56),
    ("plane: {stack: {washer: 1/8 in, hub: 2 cm}, to: middle}, grooves: 6", "6PK", 3.175 + 20.0),
)  # fmt: skip
def test_added_up_to_the_middle_of_the_belt(tmp_path: Path, given: str, belt: str, plane: float) -> None:
    assert pump(tmp_path, given, belt).plane_mm == pytest.approx(plane)


def test_in_a_file_in_inches(tmp_path: Path) -> None:
    read = pump(tmp_path, "plane: {stack: {bracket: 3/4, spacer: 1.25}, to: first_groove}", "6PK\nunits: in")
    assert read.plane_mm == pytest.approx(2.0 * 25.4 + 2.5 * 3.56)


def test_a_smooth_pulley_and_a_v_belt_have_their_middle(tmp_path: Path) -> None:
    """One groove of a V-belt: its middle is the belt's."""
    text = PLAIN.replace("diameter: 76", "diameter: 76, plane: {stack: {post: 40}, to: middle}")
    assert read_layout(written(tmp_path, text)).layout.pulleys["idler"].plane_mm == 40.0
    text = PLAIN.replace("belt: 6PK", "belt: {profile: AV13, back_over_rim_mm: 1}").replace(
        "diameter: 130", f"diameter: 130, {STACK}"
    )
    assert read_layout(written(tmp_path, text)).layout.pulleys["pump"].plane_mm == 50.5


def test_a_plane_of_its_own_is_that_of_the_belt_in_whatever_grooves(tmp_path: Path) -> None:
    read = pump(tmp_path, "plane: 12, grooves: 8, first_groove_used: 3")
    assert (read.plane_mm, read.first_groove_used, read.usable_grooves) == (12.0, 3, 6)


@for_each(
    ("plane: {stack: {a: 3}}", "plane.to", "nothing"),
    ("plane: {stack: {a: 3}, to: front}", "plane.to", "'front'"),
    ("plane: {stack: {a: 3}, to: face}", "plane.face_to_first_groove", "nothing"),
    ("plane: {stack: {a: 3}, to: middle}", "plane.to", "middle without `grooves`"),
    ("plane: {stack: {a: 3}, to: first_groove, face_to_first_groove: 4}", "plane.face_to_first_groove", "beside"),
    ("plane: {stack: {a: 3}, to: face, face_to_first_groove: -4}", "plane.face_to_first_groove", "-4"),
    ("plane: {stack: {a: -3}, to: first_groove}", "plane.stack.a", "-3"),
    ("plane: {stack: {a: wide}, to: first_groove}", "plane.stack.a", "'wide'"),
    ("plane: {stack: {a: [3]}, to: first_groove}", "plane.stack.a", "a list"),
    ("plane: {stack: {a: }, to: first_groove}", "plane.stack", "an empty mapping"),
    ("plane: {stack: {}, to: first_groove}", "plane.stack", "an empty mapping"),
    ("plane: {stack: 3, to: first_groove}", "plane.stack", "'3'"),
    ("plane: {to: first_groove}", "plane.stack", "nothing"),
    ("plane: {stak: {a: 3}, to: first_groove}", "plane.stak", "did you mean stack?"),
    ("plane: [3]", "plane", "a list"),
    ("first_groove_used: 2", "first_groove_used", "2 without `grooves`"),
    ("grooves: 6, first_groove_used: 0", "first_groove_used", "0"),
    ("grooves: 6, first_groove_used: 7", "first_groove_used", "7 of 6 grooves"),
    ("tilt_deg: [1]", "tilt_deg", "a list of 1"),
    ("tilt_deg: [0.5, 11]", "tilt_deg", "11"),
    ("tilt_deg: 0.5", "tilt_deg", "'0.5'"),
)  # fmt: skip
def test_one_wrong_thing_one_fault(tmp_path: Path, given: str, key: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {given}"))
    assert (fault.line, fault.key) == (4, f"pulleys.pump.{key}") and got in fault.got and fault.allowed


@for_each(
    ("first_groove_used: 2", "first_groove_used", "2 on the back of the belt"),
    ("plane: {stack: {a: 3}, to: first_groove}", "plane.to", "first_groove on the back of the belt"),
    ("plane: {stack: {a: 3}, to: face, face_to_first_groove: 3}", "plane.to", "face on the back of the belt"),
)  # fmt: skip
def test_a_smooth_face_has_no_grooves(tmp_path: Path, given: str, key: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 76", f"diameter: 76, {given}"))
    assert (fault.line, fault.key, fault.got) == (5, f"pulleys.idler.{key}", got)


def test_v_grooves_have_no_known_pitch(tmp_path: Path) -> None:
    wide = "diameter: 130, grooves: 2, plane: {stack: {a: 3}, to: middle}, first_groove_used: 2"
    text = PLAIN.replace("belt: 6PK", "belt: {profile: AV13, back_over_rim_mm: 1}").replace("diameter: 130", wide)
    assert [fault.key for fault in faults_of(tmp_path, text)] == [
        "pulleys.pump.first_groove_used",
        "pulleys.pump.plane.to",
    ]


def test_of_a_belt_that_cannot_be_read_nothing_is_asked(tmp_path: Path) -> None:
    """A V-belt's one groove needs no number of grooves."""
    given = PLAIN.replace("diameter: 130", "diameter: 130, plane: {stack: {a: 3}, to: middle}")
    (fault,) = faults_of(tmp_path, given.replace("belt: 6PK", "belt: 6QK"))
    assert fault.key == "belt"


def test_everything_wrong_in_a_stack_at_once(tmp_path: Path) -> None:
    given = "diameter: 130, plane: {stack: {a: -3, b: x}, to: front, on: 3}, first_groove_used: 2, tilt_deg: [x, 0]"
    found = {fault.key for fault in faults_of(tmp_path, PLAIN.replace("diameter: 130", given))}
    below = ("plane.stack.a", "plane.stack.b", "plane.to", "plane.on", "first_groove_used", "tilt_deg")
    assert found == {f"pulleys.pump.{key}" for key in below}


def test_one_rib_more_moves_the_belt_as_the_file_would(tmp_path: Path) -> None:
    """Half a pitch: the first groove stays where it is."""
    text = PLAIN.replace("diameter: 130", f"diameter: 130, {STACK}").replace("diameter: 190", "diameter: 190, plane: 1")
    wider = belt_of_ribs(7, "PK").applied(read_layout(written(tmp_path, text)).layout)
    read = read_layout(written(tmp_path, text.replace("belt: 6PK", "belt: 7PK"))).layout
    planes = [{name: p.plane_mm for name, p in each.pulleys.items()} for each in (wider, read)]
    assert planes[0] == pytest.approx(planes[1]) and planes[0]["crank"] == 1.0

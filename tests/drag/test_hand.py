"""What a hand does to a layout, and the way back; what is written, `check` reads as it was meant."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from beltplan.checks.limits import new_in
from beltplan.drag.hand import (
    SNAPS_MM,
    Session,
    other_side,
    part_at,
    place_of_part,
    put,
    resized,
    setting_toward,
    snapped,
)
from beltplan.drag.live import cured_in, live_of
from beltplan.drive.layout import Circle, Layout
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.rewriting import write_rewritten
from tests.shipped import FOLDER

CAMPER = FOLDER / "camper.yaml"
DRAWN = """\
units: in
belt: 6PK1500
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 6}
  alternator: {role: alternator, at: [14, 2], diameter: 2 1/2}
  tensioner: {role: tensioner, diameter: 3, belt_side: ribbed, slide: {from: [6, 9], to: [7, 10]}}
route: [crank, alternator, tensioner]
obstacles:
  tube: {file: tube.csv, at: [20 1/2, 1], units: in}   # traced
  hose: {circle: {at: [20, 10], diameter: 1}}
"""


def camper() -> Layout:
    return read_layout(str(CAMPER)).layout


def test_the_smallest_part_under_a_place_is_taken() -> None:
    layout = camper()
    centres = dict(live_of(layout).centres)
    assert {part_at(layout, centres, centres[name]) for name in centres} == set(centres)
    small = replace(layout.pulleys["house_alternator"], at_mm=(5.0, 5.0))
    crowded = replace(layout, pulleys={**layout.pulleys, small.name: small})
    assert part_at(crowded, {**centres, small.name: (5.0, 5.0)}, (4.0, 4.0)) == small.name
    assert (
        part_at(layout, centres, (100.0, 340.0)) == "engine_mount"
        and part_at(layout, centres, (30.0, 150.0)) == "heater_hose"
    )
    assert part_at(layout, centres, (5000.0, 0.0)) is None


def test_an_obstacle_moves_as_a_whole() -> None:
    moved = put(put(camper(), "sill", (-320.0, -170.0)), "heater_hose", (31.0, 149.0))
    before, after = ({o.name: o for o in each.obstacles} for each in (camper(), moved))
    assert np.ptp(np.subtract(after["sill"].corners_mm, before["sill"].corners_mm), axis=0) == pytest.approx([0.0, 0.0])  # type: ignore[union-attr]
    assert place_of_part(moved, "sill") == (-320.0, -170.0) and after["heater_hose"] == Circle(
        "heater_hose", (31.0, 149.0), 32.0
    )
    assert after["engine_mount"] == before["engine_mount"]


def test_sizes_that_can_be_had_are_the_steps() -> None:
    layout = camper()
    own = replace(layout.pulleys["water_pump"], diameters_mm=(100.0, 135.0, 150.0), diameter_mm=135.0)
    layout = replace(layout, pulleys={**layout.pulleys, own.name: own})
    assert [resized(layout, own.name, n).pulleys[own.name].diameter_mm for n in (-5, -1, 1, 2)] == [
        100.0,
        100.0,
        150.0,
        150.0,
    ]
    free = layout.pulleys["engine_alternator"].diameter_mm
    assert resized(layout, "engine_alternator", -1).pulleys["engine_alternator"].diameter_mm == free - 1.0
    assert resized(layout, "engine_alternator", -900).pulleys["engine_alternator"].diameter_mm == 10.0


def test_snapping() -> None:
    assert snapped((12.4, -3.6), SNAPS_MM[0]) == (12.4, -3.6)
    assert snapped((12.4, -3.6), SNAPS_MM[1]) == (12.0, -4.0)
    assert np.divide(snapped((12.4, -3.6), SNAPS_MM[2]), 25.4) * 16 == pytest.approx([8.0, -2.0])


def test_the_adjusted_pulley_keeps_to_its_travel() -> None:
    adjuster = camper().pulleys["tensioner"].adjuster
    assert adjuster is not None
    for share in (0.0, 0.3, 1.0):
        setting = adjuster.travel[0] + share * (adjuster.travel[1] - adjuster.travel[0])
        x, y = adjuster.track.centre_at(np.asarray(setting))
        assert setting_toward(adjuster, (float(x), float(y))) == pytest.approx(setting, abs=1e-3)


def test_the_way_back_and_forth() -> None:
    start = camper()
    one, two = put(start, "sill", (0.0, -200.0)), other_side(start, "water_pump")
    session = Session(start, start).to(one).to(two)
    assert [session.now, session.undone().now, session.undone().undone().undone().now] == [two, one, start]
    assert session.undone().redone().now is two and session.undone().to(start).redone().now is start
    again = camper()
    assert session.reread(again).now is again and session.reread(again).undone().now is two
    assert session.undone().shift_mm("sill") == (330.0, -40.0) and session.shift_mm("water_pump") is None


def test_new_and_cured_findings_are_told_apart() -> None:
    start = live_of(camper())
    far = live_of(put(camper(), "house_alternator", (345.0, 260.0)))
    assert {each.check for each in new_in(far.findings, start.findings)} == {"free_strand"}
    assert not new_in(start.findings, start.findings) and not cured_in(start, start)
    idler = live_of(read_layout(str(CAMPER), "with idler").layout)
    cured = {(each.check, each.subject) for each in cured_in(idler, start)}
    assert ("wrap", "crank") in cured and not cured & {
        (each.check, each.subject) for each in idler.findings if each.severity != "note"
    }
    assert cured_in(live_of(idler.layout, at_rest=False), start) == ()


@pytest.mark.parametrize("variant", [None, "with idler"])
def test_what_is_written_is_read_as_it_was_meant(variant: str | None, tmp_path: Path) -> None:
    """Places, sides, sizes and obstacles; comments stay."""
    source = read_layout(str(CAMPER), variant)
    after = put(put(source.layout, "sill", (-300.25, -170.0)), "heater_hose", (31.0, 149.0))
    after = other_side(resized(put(after, "water_pump", (-61.5, 312.0)), "water_pump", 2), "water_pump")
    path = tmp_path / "moved.yaml"
    write_rewritten(str(path), source, after, [], False, lambda read: None)
    read = read_layout(str(path), variant).layout
    assert read.pulleys["water_pump"] == after.pulleys["water_pump"] and read.obstacles == after.obstacles
    comments = [line.partition("#")[2] for line in CAMPER.read_text().splitlines() if "#" in line]
    assert all(comment in path.read_text() for comment in comments)


def test_a_drawing_is_moved_by_its_own_place(tmp_path: Path) -> None:
    (tmp_path / "tube.csv").write_text("0,0\n2,0\n2,1\n0,1\n")
    path = tmp_path / "layout.yaml"
    path.write_text(DRAWN)
    source = read_layout(str(path))
    x, y = place_of_part(source.layout, "tube") or (0.0, 0.0)
    after = put(source.layout, "tube", (x + 25.4, y - 12.7))
    write_rewritten(str(tmp_path / "moved.yaml"), source, after, [], False, lambda read: None)
    assert "tube: {file: tube.csv, at: [21.5, 0.5], units: in}   # traced" in (tmp_path / "moved.yaml").read_text()

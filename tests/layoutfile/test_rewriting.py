"""A layout file rewritten: read again it is the layout that was meant, and lines that need no change stand as they did.

What the text holds is read by PyYAML.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley, Slide
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.rewriting import number_text, rewritten, same
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, RAILCAR, written

IDLER = Pulley("added_idler", "idler", 75.0, at_mm=(60.0, 150.0), belt_side="back", plane_mm=0.5)
GROOVED = replace(IDLER, belt_side="ribbed", grooves=6)


def changed(folder: Path, text: str, after: Layout, variant: str | None = None) -> tuple[str, Layout]:
    """The new text, and what is read from it."""
    before = read_layout(written(folder, text), variant).layout
    new = rewritten(text, before, after, ())
    return new, read_layout(written(folder, new), variant).layout


def layout_of(folder: Path, text: str, variant: str | None = None) -> Layout:
    return read_layout(written(folder, text), variant).layout


def with_pulley(layout: Layout, name: str, **what: object) -> Layout:
    pulley = replace(layout.pulleys[name], **what)  # type: ignore[arg-type]
    return replace(layout, pulleys={**layout.pulleys, name: pulley})


def new_lines(old: str, new: str) -> list[str]:
    return [line for line in new.splitlines() if line not in old.splitlines()]


def test_nothing_to_change_changes_nothing(tmp_path: Path) -> None:
    assert changed(tmp_path, RAILCAR, layout_of(tmp_path, RAILCAR))[0] == RAILCAR


@pytest.mark.parametrize(
    ("name", "what", "line"),
    [
        ("crank", {"diameter_mm": 200.0}, "  crank:      {role: crankshaft, at: [0, 0], diameter: 200, grooves: 6}"),
        (
            "guide",
            {"at_mm": (5.0, 240.25)},
            "  guide:      {role: idler, at: [5, 240.25], diameter: 76, belt_side: back}",
        ),
    ],
)
def test_one_value_of_a_pulley(tmp_path: Path, name: str, what: dict[str, object], line: str) -> None:
    after = with_pulley(layout_of(tmp_path, RAILCAR), name, **what)
    new, read = changed(tmp_path, RAILCAR, after)
    assert new_lines(RAILCAR, new) == [line]
    assert same(read, after)


def test_a_rim_stays_a_rim(tmp_path: Path) -> None:
    text = PLAIN.replace("diameter: 130", "rim_diameter: 129.6")
    after = with_pulley(layout_of(tmp_path, text), "pump", diameter_mm=135.0)
    new, read = changed(tmp_path, text, after)
    assert "rim_diameter: 135}" in new and same(read, after)


def test_spring_and_arm(tmp_path: Path) -> None:
    before = layout_of(tmp_path, RAILCAR)
    arm = before.pulleys["tensioner"].adjuster
    assert isinstance(arm, Arm)
    stronger = replace(arm, pivot_mm=(-140.0, 210.0), spring=ArmSpring(39.0, 285.0, 0.525))
    after = with_pulley(before, "tensioner", adjuster=stronger)
    new, read = changed(tmp_path, RAILCAR, after)
    assert new_lines(RAILCAR, new) == [
        "    arm: {pivot: [-140, 210], length: 85, stops: [265, 300], at_deg: 285}",
        "    spring: {torque_Nm: 39, at_deg: 285, rate_Nm_per_deg: 0.525}",
    ]
    assert same(read, after)


def test_a_spring_takes_the_place_of_readings(tmp_path: Path) -> None:
    """What another spring would read is not known."""
    text = PLAIN.replace(
        "{torque_Nm: 26, at_deg: 285, rate_Nm_per_deg: 0.35}", "{readings: [[270, 30, 24], [290, 26, 22]]}"
    )
    before = layout_of(tmp_path, text)
    arm = before.pulleys["tight"].adjuster
    assert isinstance(arm, Arm)
    after = with_pulley(before, "tight", adjuster=replace(arm, spring=ArmSpring(33.15, 280.0, 0.195)))
    new, read = changed(tmp_path, text, after)
    wanted = {"readings": None, "torque_Nm": 33.15, "at_deg": 280, "rate_Nm_per_deg": 0.195}
    assert yaml.safe_load(new)["pulleys"]["tight"]["spring"] == wanted and same(read, after)


def test_a_slide_and_its_tension(tmp_path: Path) -> None:
    arm = PLAIN[PLAIN.index("    arm:") : PLAIN.index("route:")]
    text = PLAIN.replace(arm, "    slide: {from: [-200, 120], to: [-180, 160]}\n")
    before = layout_of(tmp_path, text)
    slide = before.pulleys["tight"].adjuster
    assert isinstance(slide, Slide)
    moved = replace(slide, start_mm=(-190.0, 120.0), end_mm=(-170.0, 160.0), tension_N=700.0)
    new, read = changed(tmp_path, text, with_pulley(before, "tight", adjuster=moved))
    assert "slide: {from: [-190, 120], to: [-170, 160]}\n    tension_N: 700\n" in new
    assert read.pulleys["tight"].adjuster == moved


@pytest.mark.parametrize(
    ("belt", "length", "line"),
    [
        ("belt: 6PK", 1690.0, "belt: 6PK1690"),
        ("belt: 6PK1600   # old", 1690.0, "belt: 6PK1690   # old"),
        ("belt: {profile: PK, ribs: 6}", 1690.0, "belt: {profile: PK, ribs: 6, length_mm: 1690}"),
    ],
)
def test_another_belt(tmp_path: Path, belt: str, length: float, line: str) -> None:
    text = PLAIN.replace("belt: 6PK", belt)
    before = layout_of(tmp_path, text)
    after = replace(before, belt=replace(before.belt, length_mm=length))
    new, read = changed(tmp_path, text, after)
    assert line in new.splitlines() and same(read, after)


def test_a_classical_belt_says_which_length(tmp_path: Path) -> None:
    text = PLAIN.replace("belt: 6PK", "belt: {profile: A, back_over_rim_mm: 2}").replace("130}", "130, grooves: 1}")
    before = layout_of(tmp_path, text)
    after = replace(before, belt=replace(before.belt, length_mm=1640.0, length_kind="datum"))
    new, read = changed(tmp_path, text, after)
    assert yaml.safe_load(new)["belt"]["length_kind"] == "datum" and same(read, after)


def test_one_rib_more(tmp_path: Path) -> None:
    text = PLAIN.replace("belt: 6PK", "belt: {profile: PK, ribs: 6, mass_kg_per_m: 0.12}")
    before = layout_of(tmp_path, text)
    after = replace(before, belt=replace(before.belt, ribs=7, mass_kg_per_m=0.14))
    new, read = changed(tmp_path, text, after)
    assert "belt: {profile: PK, ribs: 7, mass_kg_per_m: 0.14}" in new and same(read, after)


def added(layout: Layout, follows: str, idler: Pulley = IDLER) -> Layout:
    route = list(layout.route)
    route.insert(route.index(follows) + 1, idler.name)
    return replace(layout, pulleys={**layout.pulleys, idler.name: idler}, route=tuple(route))


@for_each((IDLER, "belt_side: back"), (GROOVED, "grooves: 6"))
def test_an_idler_more_comes_in_two_lines(tmp_path: Path, idler: Pulley, side: str) -> None:
    after = added(layout_of(tmp_path, RAILCAR), "generator", idler)
    new, read = changed(tmp_path, RAILCAR, after)
    assert new_lines(RAILCAR, new) == [
        f"  added_idler: {{role: idler, at: [60, 150], diameter: 75, {side}, plane: 0.5}}",
        "route: [crank, tensioner, pump, guide, generator, added_idler]",
    ]
    assert same(read, after)


def test_another_order_and_an_idler_in_a_route_of_several_lines(tmp_path: Path) -> None:
    text = RAILCAR.replace(
        "route: [crank, tensioner, pump, guide, generator]",
        "route:\n  - crank   # first\n  - tensioner\n  - pump\n  - guide\n  - generator",
    )
    before = layout_of(tmp_path, text)
    swapped = replace(before, route=("crank", "generator", "pump", "guide", "tensioner"))
    after = added(swapped, "generator")
    new, read = changed(tmp_path, text, after)
    assert "  - crank   # first\n  - generator\n  - added_idler\n  - pump\n" in new
    assert same(read, after)


def test_a_variant_is_edited_and_the_rest_left_alone(tmp_path: Path) -> None:
    before = layout_of(tmp_path, RAILCAR, "high mount")
    after = with_pulley(with_pulley(before, "generator", at_mm=(212.0, 330.0)), "crank", diameter_mm=195.0)
    new, read = changed(tmp_path, RAILCAR, added(after, "generator"), "high mount")
    assert same(read, added(after, "generator"))
    assert same(layout_of(tmp_path, new), layout_of(tmp_path, RAILCAR))


def test_inches_are_written_as_inches(tmp_path: Path) -> None:
    text = "units: in\n" + PLAIN.replace("190}", "7.5}").replace("130}", "5}").replace("76,", "3,")
    before = layout_of(tmp_path, text)
    after = with_pulley(before, "crank", diameter_mm=200.0)
    new, read = changed(tmp_path, text, after)
    size = yaml.safe_load(new)["pulleys"]["crank"]["diameter"]
    assert size == pytest.approx(200.0 / 25.4, abs=1e-4) and size * 25.4 >= 200.0, "never smaller than meant"
    assert same(read, after)


@pytest.mark.parametrize("null", ["null", "~", ""])
@pytest.mark.parametrize("variant", [None, "in mm"])
def test_units_of_null_are_the_default(tmp_path: Path, null: str, variant: str | None) -> None:
    text = f"units: {'in' if variant else null}\n{PLAIN}variants:\n  in mm:\n    units: {null}\n"
    after = with_pulley(layout_of(tmp_path, text, variant), "crank", diameter_mm=200.0)
    assert after.units == "mm" and same(changed(tmp_path, text, after, variant)[1], after)


def test_notes_lead_the_file(tmp_path: Path) -> None:
    before = layout_of(tmp_path, PLAIN)
    assert rewritten(PLAIN, before, before, ("one", "")).startswith("# one\n#\nbelt: 6PK")


def test_the_same_but_for_rounding_and_title(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, RAILCAR)
    assert same(layout, replace(layout, title="other"))
    assert same(layout, with_pulley(layout, "crank", diameter_mm=190.001))
    assert not same(layout, with_pulley(layout, "crank", diameter_mm=190.01))
    assert not same(layout, replace(layout, route=layout.route[::-1]))
    assert not same(layout, replace(layout, pulleys={**layout.pulleys, "x": IDLER}))
    assert not same(layout, with_pulley(layout, "crank", load=None, grooves=None))


def test_numbers_as_they_are_written() -> None:
    assert [number_text(value, 1.0) for value in (-0.00001, 12.0, 1.23456)] == ["0", "12", "1.2346"]

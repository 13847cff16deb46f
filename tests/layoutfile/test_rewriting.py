"""A layout file rewritten: read again it is the layout that was meant, and lines that need no change stand as they did.

What the text holds is read by PyYAML.
"""

import os
from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import friction_of_arm
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley, Slide
from beltplan.layoutfile.edits import CannotEdit, with_files_from
from beltplan.layoutfile.layout_file import LayoutFile, read_layout
from beltplan.layoutfile.rewriting import number_text, rewritten, same, write_rewritten
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, RAILCAR, written
from tests.outlines.drawings import BLOCK, csv_of

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
        (
            "crank",
            {"plane_mm": -1.5},
            "  crank:      {role: crankshaft, at: [0, 0], diameter: 190, grooves: 6, plane: -1.5}",
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


@for_each((1.1, [[270, 33, 26.4], [290, 28.6, 24.2]]), (0.5, [[270, 15, 12], [290, 13, 11]]))
def test_another_spring_keeps_the_friction_of_its_readings(
    tmp_path: Path, factor: float, wanted: list[list[float]]
) -> None:
    """By hand: (30 + 26 - 24 - 22) / (30 + 26 + 24 + 22) = 10 / 102, whatever the spring is multiplied by."""
    text = PLAIN.replace(
        "{torque_Nm: 26, at_deg: 285, rate_Nm_per_deg: 0.35}", "{readings: [[270, 30, 24], [290, 26, 22]]}"
    )
    before = layout_of(tmp_path, text)
    arm = before.pulleys["tight"].adjuster
    assert isinstance(arm, Arm) and arm.spring is not None and arm.spring.readings is not None
    assert arm.spring.readings.friction == pytest.approx(10.0 / 102.0)
    spring = ArmSpring(factor * 25.5, 280.0, factor * 0.15, arm.spring.readings.times(factor))
    after = with_pulley(before, "tight", adjuster=replace(arm, spring=spring))
    new, read = changed(tmp_path, text, after)
    assert yaml.safe_load(new)["pulleys"]["tight"]["spring"] == {"readings": wanted} and same(read, after)
    held = read.pulleys["tight"].adjuster
    assert friction_of_arm(held)[0] == pytest.approx(10.0 / 102.0)


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


# Writing a changed layout: whole or not at all, and never over a file unless told to.


def nothing_wrong(layout: Layout) -> str | None:
    return None


def larger_crank(file: LayoutFile) -> Layout:
    crank = replace(file.layout.pulleys["crank"], diameter_mm=200.0)
    return replace(file.layout, pulleys={**file.layout.pulleys, "crank": crank})


def test_written_and_read_back(tmp_path: Path) -> None:
    file, target = read_layout(written(tmp_path, PLAIN)), tmp_path / "new.yaml"
    write_rewritten(str(target), file, larger_crank(file), ("note",), False, nothing_wrong)
    assert same(read_layout(str(target)).layout, larger_crank(file))
    assert target.read_text(encoding="utf-8").startswith("# note\nbelt: 6PK\n")
    assert Path(file.path).read_text(encoding="utf-8") == PLAIN


@for_each("\n", "\r\n", "\r")
def test_lines_end_as_they_did(tmp_path: Path, end: str) -> None:
    file, target = read_layout(written(tmp_path, PLAIN.replace("\n", end).encode())), tmp_path / "new.yaml"
    write_rewritten(str(target), file, larger_crank(file), ("note",), True, nothing_wrong)
    data = target.read_bytes().decode()
    assert data == "# note\n".replace("\n", end) + PLAIN.replace("diameter: 190", "diameter: 200").replace("\n", end)


def test_an_existing_file_is_only_replaced_when_told_to(tmp_path: Path) -> None:
    file, target = read_layout(written(tmp_path, PLAIN)), tmp_path / "new.yaml"
    target.write_text("kept", encoding="utf-8")
    with pytest.raises(FileExistsError):
        write_rewritten(str(target), file, larger_crank(file), (), False, nothing_wrong)
    assert target.read_text(encoding="utf-8") == "kept"
    write_rewritten(str(target), file, larger_crank(file), (), True, nothing_wrong)
    assert "diameter: 200" in target.read_text(encoding="utf-8")


def test_the_source_itself_may_be_replaced_when_told_to(tmp_path: Path) -> None:
    file = read_layout(written(tmp_path, PLAIN))
    write_rewritten(file.path, file, larger_crank(file), (), True, nothing_wrong)
    assert same(read_layout(file.path).layout, larger_crank(file))


ANCHORED = PLAIN.replace("diameter: 190", "diameter: &size 190").replace("diameter: 76", "diameter: *size")
"""The idler's diameter is an alias of the crankshaft's."""


@pytest.mark.parametrize("name", ["crank", "idler"])
def test_what_hangs_on_an_anchor_is_refused_and_nothing_left(tmp_path: Path, name: str) -> None:
    file = read_layout(written(tmp_path, ANCHORED))
    before = sorted(tmp_path.iterdir())
    pulley = replace(file.layout.pulleys[name], diameter_mm=100.0)
    after = replace(file.layout, pulleys={**file.layout.pulleys, name: pulley})
    with pytest.raises(CannotEdit, match="alias"):
        write_rewritten(str(tmp_path / "new.yaml"), file, after, (), False, nothing_wrong)
    assert sorted(tmp_path.iterdir()) == before


def test_a_fault_of_what_was_read_back_leaves_nothing(tmp_path: Path) -> None:
    file = read_layout(written(tmp_path, PLAIN))
    before = sorted(tmp_path.iterdir())
    with pytest.raises(CannotEdit, match="too bad"):
        write_rewritten(str(tmp_path / "new.yaml"), file, larger_crank(file), (), False, lambda layout: "too bad")
    assert sorted(tmp_path.iterdir()) == before


def test_a_source_that_is_gone_or_changed_is_told(tmp_path: Path) -> None:
    file = read_layout(written(tmp_path, PLAIN))
    after = larger_crank(file)
    Path(file.path).write_text("belt: [", encoding="utf-8")
    with pytest.raises(CannotEdit, match="has changed"):
        write_rewritten(str(tmp_path / "new.yaml"), file, after, (), False, nothing_wrong)
    Path(file.path).unlink()
    with pytest.raises(CannotEdit, match="can no longer be read"):
        write_rewritten(str(tmp_path / "new.yaml"), file, after, (), False, nothing_wrong)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    file = read_layout(written(tmp_path, PLAIN))
    with pytest.raises(OSError, match="No such file"):
        write_rewritten(str(tmp_path / "no" / "new.yaml"), file, larger_crank(file), (), False, nothing_wrong)


def test_a_drawing_is_found_from_another_folder(tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    (tmp_path / "out").mkdir()
    name = csv_of(tmp_path / "job", BLOCK)
    obstacles = f"obstacles: {{block: {{file: {name}, at: [300, 5]}}}}\n"
    variants = f"variants: {{low: {{obstacles: {{block: {{file: ./{name}}}}}}}}}\n"
    file = read_layout(written(tmp_path / "job", PLAIN + obstacles + variants))
    for target in (tmp_path / "out" / "new.yaml", tmp_path / "job" / "new.yaml"):
        write_rewritten(str(target), file, larger_crank(file), (), False, nothing_wrong)
        for variant in (None, "low"):
            again = read_layout(str(target), variant).layout
            assert again.obstacles == file.layout.obstacles and again.pulleys["crank"].diameter_mm == 200.0
    assert 'file: "../job/block.csv"' in (tmp_path / "out" / "new.yaml").read_text(encoding="utf-8")
    assert "file: block.csv" in (tmp_path / "job" / "new.yaml").read_text(encoding="utf-8")


def test_a_drawing_is_found_through_links(tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    (tmp_path / "far" / "off").mkdir(parents=True)
    csv_of(tmp_path / "job", BLOCK)
    written(tmp_path / "job", PLAIN + "obstacles: {block: {file: block.csv, at: [300, 5]}}\n")
    (tmp_path / "link").symlink_to(tmp_path / "far" / "off", target_is_directory=True)
    (tmp_path / "own.yaml").symlink_to(tmp_path / "job" / "layout.yaml")
    file = read_layout(str(tmp_path / "own.yaml"))
    write_rewritten(str(tmp_path / "link" / "new.yaml"), file, larger_crank(file), (), False, nothing_wrong)
    assert read_layout(str(tmp_path / "far" / "off" / "new.yaml")).layout.obstacles == file.layout.obstacles


# Names of drawings in a text that goes to another folder; what they must lead to is the file system's own answer.


TEXT = """\
# the block, traced
obstacles:
  block: {file: parts/block.csv, at: [0, 0]}   # keep this
  hose:
    file: "höse.svg"
  round: {circle: {at: [0, 0], diameter: 3}}
  fixed: {file: /somewhere/else.dxf}
  empty: {file: }
variants:
  low: {obstacles: {block: {file: ../low.csv}}}
  none:
route: [file, obstacles]
"""


def test_every_relative_name_leads_where_it_led(tmp_path: Path) -> None:
    old, new = tmp_path / "job", tmp_path / "out" / "deep"
    moved = with_files_from(TEXT, str(old), str(new))
    before, after = yaml.safe_load(TEXT), yaml.safe_load(moved)
    for keys in (("obstacles", "block"), ("obstacles", "hose"), ("variants", "low", "obstacles", "block")):
        was, now = before, after
        for key in keys:
            was, now = was[key], now[key]
        assert os.path.normpath(new / now["file"]) == os.path.normpath(old / was["file"])
        assert not os.path.isabs(now["file"])
        was["file"] = now["file"] = ""
    assert after == before, "nothing else has changed"
    assert moved.count("\n") == TEXT.count("\n") and "# keep this" in moved and "/somewhere/else.dxf" in moved


def test_in_the_same_folder_nothing_changes(tmp_path: Path) -> None:
    assert with_files_from(TEXT, str(tmp_path), str(tmp_path)) == TEXT


def test_an_aliased_obstacle_is_rewritten_once(tmp_path: Path) -> None:
    text = "obstacles: {a: &a {file: block.csv}, b: *a}\nvariants: {v: {obstacles: {c: *a}}}\n"
    moved = with_files_from(text, str(tmp_path / "job"), str(tmp_path / "out"))
    assert moved == text.replace("block.csv", '"../job/block.csv"')


def test_a_name_over_several_lines_is_not_edited(tmp_path: Path) -> None:
    text = "obstacles:\n  a:\n    file: |-\n      block.csv\n"
    with pytest.raises(CannotEdit, match="line 3: the name of a file over several lines"):
        with_files_from(text, str(tmp_path / "job"), str(tmp_path / "out"))


@for_each("", "5", "[]", "obstacles:", "obstacles: 3", "obstacles: {a: 3}", "variants: [1]")
def test_texts_without_drawings(tmp_path: Path, text: str) -> None:
    assert with_files_from(text, str(tmp_path / "job"), str(tmp_path / "out")) == text

"""Writing a changed layout: whole or not at all, and never over a file unless told to."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from beltplan.drive.layout import Layout
from beltplan.layoutfile.edits import CannotEdit
from beltplan.layoutfile.layout_file import LayoutFile, read_layout
from beltplan.layoutfile.rewriting import same, write_rewritten
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, written
from tests.outlines.drawings import BLOCK, csv_of


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

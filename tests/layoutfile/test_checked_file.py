"""A file takes its name only once it was looked at: nothing half-written, nothing overwritten by mistake."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from beltplan.layoutfile.rewriting import write_checked


def test_it_is_looked_at_before_it_has_its_name(tmp_path: Path) -> None:
    path, seen = tmp_path / "new.yaml", []

    def check(beside: str) -> None:
        seen.append((Path(beside).read_bytes(), path.exists(), Path(beside).parent == tmp_path))

    write_checked(str(path), "a: é\r\n", False, check)
    assert seen == [("a: é\r\n".encode(), False, True)]
    assert path.read_bytes() == "a: é\r\n".encode() and os.listdir(tmp_path) == ["new.yaml"]


@pytest.mark.parametrize("overwrite", [False, True])
def test_nothing_is_left_where_the_check_fails(tmp_path: Path, overwrite: bool) -> None:
    path = tmp_path / "new.yaml"
    path.write_text("old")

    def check(beside: str) -> None:
        raise ArithmeticError(beside)

    with pytest.raises(ArithmeticError):
        write_checked(str(path), "new", overwrite, check)
    assert path.read_text() == "old" and os.listdir(tmp_path) == ["new.yaml"]


def test_a_taken_name(tmp_path: Path) -> None:
    path = tmp_path / "new.yaml"
    path.write_text("old")
    path.chmod(0o640)
    with pytest.raises(FileExistsError):
        write_checked(str(path), "new", False, lambda beside: None)
    assert path.read_text() == "old" and os.listdir(tmp_path) == ["new.yaml"]
    write_checked(str(path), "new", True, lambda beside: None)
    assert path.read_text() == "new" and path.stat().st_mode & 0o777 == 0o640


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.yaml").write_text("old")
    (tmp_path / "link.yaml").symlink_to("real.yaml")
    write_checked(str(tmp_path / "link.yaml"), "new", True, lambda beside: None)
    assert (tmp_path / "link.yaml").is_symlink() and (tmp_path / "real.yaml").read_text() == "new"

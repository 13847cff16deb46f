"""A file takes its name only once it was looked at: nothing half-written, nothing overwritten by mistake."""

import os
from pathlib import Path

import pytest

from beltplan.files import write_whole


def test_it_is_looked_at_before_it_has_its_name(tmp_path: Path) -> None:
    path, seen = tmp_path / "new.yaml", []

    def check(beside: str) -> None:
        seen.append((Path(beside).read_bytes(), path.exists(), Path(beside).parent == tmp_path))

    write_whole(str(path), "a: é\r\n".encode(), False, check)
    assert seen == [("a: é\r\n".encode(), False, True)]
    assert path.read_bytes() == "a: é\r\n".encode() and os.listdir(tmp_path) == ["new.yaml"]


@pytest.mark.parametrize("overwrite", [False, True])
def test_nothing_is_left_where_the_check_fails(tmp_path: Path, overwrite: bool) -> None:
    path = tmp_path / "new.yaml"
    path.write_text("old")

    def check(beside: str) -> None:
        raise ArithmeticError(beside)

    with pytest.raises(ArithmeticError):
        write_whole(str(path), b"new", overwrite, check)
    assert path.read_text() == "old" and os.listdir(tmp_path) == ["new.yaml"]


def test_a_taken_name(tmp_path: Path) -> None:
    path = tmp_path / "new.yaml"
    path.write_text("old")
    path.chmod(0o640)
    with pytest.raises(FileExistsError):
        write_whole(str(path), b"new", False)
    assert path.read_text() == "old" and os.listdir(tmp_path) == ["new.yaml"]
    write_whole(str(path), b"new", True)
    assert path.read_text() == "new" and path.stat().st_mode & 0o777 == 0o640


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.yaml").write_text("old")
    (tmp_path / "link.yaml").symlink_to("real.yaml")
    write_whole(str(tmp_path / "link.yaml"), b"new", True)
    assert (tmp_path / "link.yaml").is_symlink() and (tmp_path / "real.yaml").read_text() == "new"


def test_a_failed_write_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "a.png"
    target.write_bytes(b"old")

    def full(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OSError, match="disk full"):
        write_whole(str(target), b"new")
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_what_a_run_that_was_killed_left_is_in_nobodys_way(tmp_path: Path) -> None:
    (tmp_path / f".new.yaml.{os.getpid()}.part").write_text("half")
    write_whole(str(tmp_path / "new.yaml"), b"new", False)
    assert (tmp_path / "new.yaml").read_bytes() == b"new" and os.listdir(tmp_path) == ["new.yaml"]

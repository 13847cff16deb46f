"""The bytes of a file. Source: YAML 1.1 specification, 5.1 (character set) and 5.2 (encoding, byte order mark)."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from beltplan.faults import LayoutFaults
from beltplan.layoutfile.document import FIRST_LINE
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written


@for_each(
    (b"belt: 6PK\ntitle: \xff\xfe\n", 2, "not UTF-8"),
    (PLAIN.encode("utf-16"), 1, "not UTF-8"),
    (b"belt: 6PK\x00\n", 1, "control character '\\x00'"),
    (b"belt: 6PK\n\n\x1b[31m: 1\n", 3, "control character '\\x1b'"),
    (b"belt: 6PK\r\ntitle: a\x7fb\r\n", 2, "control character '\\x7f'"),
    # The first of several is told, a byte order mark inside the text among them.
    ("belt: 6PK\ntitle: \ufeffa\nx: \x00\n".encode(), 2, "control character '\\ufeff'"),
    ("belt: 6PK\ntitle: \x00a\nx: \ufeff\n".encode(), 2, "control character '\\x00'"),
    (b"\x89PNG\r\n\x1a\n\x00\x00", 1, "a picture"),
    (b"%PDF-1.4\n%\xe2\xe3", 1, "a PDF"),
    (b"PK\x03\x04\x14", 1, "a spreadsheet"),
    (b"<html><body>", 1, "a page (HTML)"),
    (FIRST_LINE.encode() + b"<p>", 1, "a page with no layout in it"),
    (b"<svg xmlns='a'/>", 1, "a drawing (SVG)"),
    (b"  0\nSECTION\n  2\n", 1, "a drawing (DXF)"),
    (b"name,x,y\ncrank,0,0\n", 1, "a table (CSV)"),
    (b"#" * (256 * 1024 + 1), 1, "more than 256 kB"),
)
def test_bytes_that_are_no_layout(tmp_path: Path, data: bytes, line: int, words: str) -> None:
    (fault,) = faults_of(tmp_path, data)
    assert (fault.line, fault.key) == (line, "file")
    assert words in fault.got


def test_a_byte_order_mark_and_other_line_ends_are_accepted(tmp_path: Path) -> None:
    data = b"\xef\xbb\xbf" + PLAIN.replace("\n", "\r\n").encode("utf-8")
    assert read_layout(written(tmp_path, data)).layout.route == ("crank", "tight", "pump", "idler")


def test_letters_of_any_language_are_accepted(tmp_path: Path) -> None:
    text = PLAIN.replace("idler", "Umlenkrolle größer").replace("role: Umlenkrolle größer", "role: idler")
    assert "Umlenkrolle größer" in read_layout(written(tmp_path, text)).layout.pulleys


@pytest.mark.parametrize("name", ["missing.yaml", "", "a\x00b", "."])
def test_a_path_that_cannot_be_read(tmp_path: Path, name: str) -> None:
    with pytest.raises(LayoutFaults) as caught:
        read_layout(str(tmp_path / name) if name else "")
    (fault,) = caught.value.faults
    assert (fault.line, fault.key) == (0, "file")
    assert any(word in fault.got for word in ("there is no file", "null byte", "a folder", "ermission"))


def test_a_pipe_or_device_is_never_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for path in (str(tmp_path / "pipe"), os.devnull):
        with pytest.raises(LayoutFaults, match="a pipe or device, no plain file"):
            read_layout(path)


def test_a_file_that_is_not_there_is_told_with_its_folder(tmp_path: Path) -> None:
    for path, words in (
        ("nofile.yaml", "there is no file nofile.yaml in this folder"),
        ("layouts/railcar", "there is no file railcar in layouts (did you mean railcar.yaml?)"),
        ("layouts/railcer.yaml", "there is no file railcer.yaml in layouts (did you mean railcar.yaml?)"),
        (str(tmp_path / "a\x1b[31m.yaml"), f"there is no file a\\x1b[31m.yaml in {tmp_path}"),
    ):
        with pytest.raises(LayoutFaults) as caught:
            read_layout(path)
        assert str(caught.value) == words

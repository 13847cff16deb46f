"""The command as a process of its own: streams, pipes, encodings and what is loaded."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import EXAMPLE, OVERLAPPING, PROBLEM, process, surroundings


@pytest.mark.parametrize(("text", "code"), [(None, 0), (PROBLEM, 1), (OVERLAPPING, 2)])
def test_exit_status_and_streams(text: str | None, code: int, tmp_path: Path) -> None:
    file = tmp_path / "layout.yaml"
    file.write_text(EXAMPLE.read_text(encoding="utf-8") if text is None else text, encoding="utf-8")
    ran = process(["check", "layout.yaml"], tmp_path)
    assert ran.code == code
    assert (ran.out == "", ran.err == "") == ((True, False) if code == 2 else (False, True))
    assert "Traceback" not in ran.err


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_a_narrow_encoding_loses_no_result(encoding: str, tmp_path: Path) -> None:
    file = tmp_path / "layout.yaml"
    file.write_text(PROBLEM.replace("far", "皮带"), encoding="utf-8")
    ran = process(["check", "layout.yaml", "--json"], tmp_path, PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    assert ran.code == 1 and json.loads(ran.out)["pulleys"][1]["name"] == "皮带"
    told = process(["check", "layout.yaml"], tmp_path, PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    assert (told.code, told.err) == (1, "") and "\\u76ae" in told.out


@pytest.mark.parametrize("name", ["größer.yaml", "a b.yaml"])
def test_unicode_file_names_in_a_bare_locale(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text(PROBLEM, encoding="utf-8")
    assert process(["check", name], tmp_path, LC_ALL="C", PYTHONUTF8="0").code == 1
    assert process(["new", name], tmp_path, LC_ALL="C", PYTHONUTF8="0").code == 2


@pytest.mark.skipif(sys.platform == "win32", reason="file names are text there")
def test_a_file_name_that_is_no_text(tmp_path: Path) -> None:
    ran = process([b"new", b"a\xff.yaml"], tmp_path)
    assert ran.code == 0 and "written" in ran.out
    gone = process([b"check", b"b\xff.yaml"], tmp_path)
    assert (gone.code, gone.out) == (2, "") and "Traceback" not in gone.err


@pytest.mark.skipif(sys.platform == "win32", reason="other pipes there")
@pytest.mark.parametrize(
    ("arguments", "code"), [(["words"], 0), (["check", str(EXAMPLE)], 0), (["check", "bad.yaml"], 1)]
)
def test_a_reader_that_goes_away_changes_nothing(arguments: list[str], code: int, tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text(PROBLEM)
    reading, writing = os.pipe()
    os.close(reading)
    command = [sys.executable, "-m", "beltplan", *arguments]
    with os.fdopen(writing, "wb") as pipe:
        done = subprocess.run(
            command, cwd=tmp_path, env=surroundings(), stdout=pipe, stderr=subprocess.PIPE, check=False
        )
    assert (done.returncode, done.stderr) == (code, b"")


@pytest.mark.skipif(sys.platform == "win32", reason="shell of its own")
def test_standard_output_closed_or_full(tmp_path: Path) -> None:
    for end, code in ((">&-", 0), (">/dev/full", 2)):
        line = f"{sys.executable} -m beltplan words {end}"
        done = subprocess.run(["sh", "-c", line], cwd=tmp_path, env=surroundings(), capture_output=True, check=False)
        assert done.returncode == code and b"Traceback" not in done.stderr
        assert (b"standard output" in done.stderr) is (code == 2)

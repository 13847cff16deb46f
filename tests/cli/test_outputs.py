"""The files that a command writes take no other's place, and none is ever half there, however the command ends."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from beltplan.checks import plan
from beltplan.files import write_whole
from tests.cli.running import EXAMPLE, PROBLEM, ROOT, Runner, process, surroundings
from tests.for_each import for_each

SQUARE = '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M0 0h9v9z"/></svg>'
BLOCKED = f"{PROBLEM}obstacles: {{block: {{file: block.svg, at: [0, 300]}}}}\n"
MEASURED = {
    **yaml.safe_load((ROOT / "layouts" / "buggy_measured.yaml").read_text(encoding="utf-8")),
    "obstacles": {"block": {"file": "block.svg"}, "other": {"file": "thermostat.csv"}},
}
TAKEN = [
    ("measure", "m.yaml", "--picture", "block.svg"),
    ("measure", "m.yaml", "--write", "thermostat.csv", "--force"),
    ("measure", "m.svg", "--picture", "m.svg"),
    ("measure", "m.svg", "--picture", "./link.svg"),
    ("cure", "layout.yaml", "--write", "block.svg", "--force"),
    ("cure", "layout.yaml", "--write", "./hard.svg", "--force"),
    ("cure", "layout.yaml", "--write", "C.png", "--picture", "c.png"),
    ("check", "layout.yaml", "--picture", "a.png", "--slip-picture", "./a.png"),
    ("check", "layout.yaml", "--picture", "a.png", "--slip-picture", "A.png"),
    ("check", "layout.yaml", "--picture", "here/a.png", "--slip-picture", "a.png"),
    ("check", "layout.yaml", "--slip-picture", "block.svg"),
    ("place", "layout.yaml", "--pulley", "crank", "--picture", "block.svg"),
    ("compare", "layout.yaml", "m.svg", "--picture", "link.svg"),
    ("route", "layout.yaml", "--picture", "block.svg"),
    ("tolerance", "layout.yaml", "--picture", "block.svg"),
    ("export", "layout.yaml", "--out", "block.svg", "--force"),
]


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.fixture
def files(here: Path) -> Path:
    """A folder with layouts, measurements and the drawings that they read."""
    (here / "block.svg").write_text(SQUARE)
    (here / "thermostat.csv").write_text("x,y\n0,0\n9,0\n9,9\n")
    (here / "layout.yaml").write_text(BLOCKED)
    for name in ("m.yaml", "m.svg"):
        (here / name).write_text(yaml.dump(MEASURED, sort_keys=False))
    (here / "link.svg").symlink_to("m.svg")
    (here / "here").symlink_to(".")
    os.link(here / "block.svg", here / "hard.svg")
    return here


@for_each(*((each,) for each in TAKEN))
def test_nothing_read_and_nothing_else_written_is_written_over(
    run: Runner, files: Path, words: tuple[str, ...]
) -> None:
    before = contents(files)
    ran = run(*words)
    assert (ran.code, ran.out) == (2, "") and re.search(
        "; allowed: (another file than|a file name ending in) ", ran.err
    )
    assert contents(files) == before


@for_each(
    (("check", "layout.yaml", "--picture", "kept.svg"),),
    (("export", "layout.yaml", "--out", "kept.svg", "--force"),),
    (("place", "layout.yaml", "--pulley", "crank", "--csv", "kept.csv"),),
    (("measure", "m.yaml", "--write", "kept.yaml", "--force"),),
)
def test_a_file_that_is_read_only_stays_as_it_is(run: Runner, files: Path, words: tuple[str, ...]) -> None:
    kept = files / words[words.index("--force") - 1 if "--force" in words else -1]
    if not kept.exists():
        kept.write_text("mine")
        kept.chmod(0o444)
    ran = run(*words)
    assert (ran.code, ran.out) == (2, "") and "which is write-protected" in ran.err
    assert kept.read_text() == "mine"


def test_a_file_that_is_not_there_is_told_beside_a_wrong_option(run: Runner, here: Path) -> None:
    ran = run("check", "tug", "--picture", "bus")
    assert ran.code == 2 and len(ran.err.splitlines()) == 2 and "as bus.png\nthere is no file tug in" in ran.err
    assert run("check", "tug.yaml").err.count("there is no file tug.yaml") == 1


def test_a_picture_through_a_link(run: Runner, here: Path) -> None:
    (here / "real.svg").write_text("old")
    (here / "link.svg").symlink_to("real.svg")
    assert run("check", EXAMPLE, "--picture", "link.svg").code == 0
    assert (here / "link.svg").is_symlink() and (here / "real.svg").read_text().startswith("<?xml")


FULL = """\
import resource, sys
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
from beltplan.cli.main import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no such limit there")
@pytest.mark.parametrize(
    "words", [["new", "out.yaml"], ["new", "out.yaml", "--measurements"], ["export", str(EXAMPLE), "--out", "out.dxf"]]
)
def test_a_disk_that_fills_up_leaves_nothing(run: Runner, here: Path, words: list[str]) -> None:
    ran = process(words, here, FULL, PYTHONDONTWRITEBYTECODE="1")  # it would be cut short, too
    assert (ran.code, ran.out, os.listdir(here)) == (2, "", []) and "cannot be written (" in ran.err
    assert run(*words).code == 0


@for_each(
    (KeyboardInterrupt(), 130, "stopped; nothing was written\n"),
    (MemoryError(), 3, "beltplan: not enough memory; nothing was written\n"),
    (
        ZeroDivisionError("by\nzero"),
        3,
        "beltplan: a fault of beltplan itself, not of your file (ZeroDivisionError: by\\nzero; test_outputs.py:",
    ),
)
def test_what_nobody_caught_is_one_line(
    run: Runner, here: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException, code: int, words: str
) -> None:
    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr(plan.Plan, "count", fail)
    ran = run("check", EXAMPLE, "--json")
    assert (ran.code, ran.out, ran.err.count("\n")) == (code, "", 1) and ran.err.startswith(words), ran.err
    drawn = run("check", EXAMPLE, "--picture", "a.svg")
    written = [] if "nothing was written" in drawn.err else ["a.svg"]
    assert os.listdir(here) == written and drawn.code == code
    (here / "a.svg").unlink(missing_ok=True)


def test_the_whole_of_a_fault_for_a_developer(run: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BELTPLAN_TRACEBACK", "1")
    monkeypatch.setattr(plan.Plan, "count", lambda *_: 1 / 0)
    assert "Traceback" in run("check", EXAMPLE).err


SLOW = """\
import sys, time, beltplan.files as files, signal
from beltplan.__main__ import start
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background has it ignored
def slowly(path):
    print("here", flush=True)
    time.sleep(60)
whole = files.write_whole
files.write_whole = lambda path, content, overwrite=True: whole(path, content, overwrite, slowly)
sys.exit(start())
"""


@pytest.mark.skipif(sys.platform == "win32", reason="other signals there")
@pytest.mark.parametrize("sent", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_a_signal_in_the_middle_of_writing(tmp_path: Path, sent: signal.Signals) -> None:
    """Stopped, it clears away what it began; killed, it cannot, and the next run of the same output does."""
    (tmp_path / "drive.dxf").write_text("old")
    command = [sys.executable, "-c", SLOW, "export", str(EXAMPLE), "--out", "drive.dxf", "--force"]
    with subprocess.Popen(
        command, cwd=tmp_path, env=surroundings(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as ran:
        assert ran.stdout is not None and ran.stderr is not None and ran.stdout.readline() == "here\n"
        assert len(os.listdir(tmp_path)) == 2
        ran.send_signal(sent)
        told = ran.stderr.read()
    assert (tmp_path / "drive.dxf").read_text() == "old" and "Traceback" not in told
    if sent == signal.SIGINT:
        assert (ran.returncode, told) == (130, "stopped; nothing was written\n")
    assert len(os.listdir(tmp_path)) == (2 if sent == signal.SIGKILL else 1)
    write_whole(str(tmp_path / "drive.dxf"), b"new")
    assert os.listdir(tmp_path) == ["drive.dxf"] and (tmp_path / "drive.dxf").read_text() == "new"


def test_what_another_run_is_writing_is_left_to_it(tmp_path: Path) -> None:
    with subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"]) as other:
        (tmp_path / f".new.yaml.{other.pid}.part").write_text("half")
        write_whole(str(tmp_path / "new.yaml"), b"new")
        assert len(os.listdir(tmp_path)) == 2
        other.kill()
    write_whole(str(tmp_path / "new.yaml"), b"new")
    assert os.listdir(tmp_path) == ["new.yaml"]

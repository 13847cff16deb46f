"""The command as a whole: help with examples that work, and bad command lines."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from beltplan import __version__
from beltplan.cli import check
from beltplan.cli.exits import Refused, tell
from beltplan.cli.main import COMMANDS, parser
from beltplan.cli.slips import names_asked
from tests.cli.running import EXAMPLE, OVERLAPPING, PROBLEM, ROOT, Ran, Runner, process, surroundings
from tests.for_each import for_each

NAMES = COMMANDS


def examples(text: str) -> list[str]:
    """The example lines of a help text, as one would type them."""
    joined = " ".join(text.split())
    return re.findall(r"Examples?: (beltplan [^\n]*?)(?= Example|$)", joined)


@pytest.mark.parametrize("command", ["", *(name for name in NAMES if name != "drag")])  # it opens a window
@pytest.mark.usefixtures("drawn", "less_is_judged")
def test_help_has_an_example_that_works(run: Runner, here: Path, command: str) -> None:
    ran = run(*([command] if command else []), "--help")
    assert (ran.code, ran.err) == (0, "")
    found = examples(ran.out)
    assert len(found) == 1, ran.out
    # As in the root of the project, but with nothing left behind there.
    shutil.copytree(ROOT / "layouts", here / "layouts")
    for example in found:
        tried = run(*shlex.split(example.partition(" > ")[0])[1:])  # what stands behind > is the shell's
        assert tried.code in (0, 1) and tried.err == "" and tried.out, example


@for_each(*NAMES)
def test_every_command_is_named_in_the_help(command: str) -> None:
    assert command in parser([]).format_help()


@for_each(["check"], ["new"], ["check", "a.yaml", "b.yaml"], ["check", "a.yaml", "--picture"], ["--json"])
def test_bad_command_lines(run: Runner, here: Path, arguments: list[str]) -> None:
    ran = run(*arguments)
    assert (ran.code, ran.out) == (2, "") and ran.err.startswith(
        ("usage: beltplan", "'b.yaml' belongs to no option", "there is no command '--json'")
    )


@for_each(
    ("place a.yaml --step 5 mm", "'mm' stands apart from '5': write --step \"5 mm\""),
    ("place a.yaml --within 200, 300, 9, 12", 'write --within "200, 300, 9, 12"'),
    ("squeal a.yaml --when wet, idle", "'idle' stands apart from 'wet,': write --when \"wet, idle\""),
    ("check a.yaml --picture = r.png", "write --picture=r.png"),
    ("check a.yaml \u2013picture r.png", "is no option as it stands: write --picture r.png"),
    ("check a.yaml -- full", "write --full"),
    ("check a.yaml r.png", "'r.png' needs its option: write --picture r.png"),
    ("check a.yaml inches", "write --units in"),
    ("check a.yaml other.yaml", "is one file too many: `beltplan check` takes one; `beltplan compare` takes several"),
    ("check a.yaml --variant low low", "'low' stands there twice: once is enough"),
    ("new my engine.yaml", 'write "my engine.yaml"'),
    ("check a.yaml no such words", "has commas and no blanks (1,2,3)"),
    (
        "fit a.yaml --pointer 39",
        "fit has no option --pointer (a key of the file: write `pointer_radius_mm: ...` beside `arm` there)",
    ),
    ("place a.yaml --pulleys fan", "place has no option --pulleys (did you mean --pulley?)"),
    ("check a.yaml --stock 6PK2030", "check has no option --stock (a key of the file: write `stock: [...]` there)"),
    ("check a.yaml --belt 6PK2030", "check has no option --belt (a key of the file: write `belt: ...` there)"),
    ("fit a.yaml --hot", "fit has no option --hot (a key of the file: write `rise_K: ...` under `block` there)"),
    ("check a.yaml --paper A3", "check has no option --paper (it is one of `beltplan template`)"),
    ("check a.yaml --inches", "write --units in"),
    ("cure a.yaml -o b", "did you mean --picture or --write?"),
    ("CHECK a.yaml", "write `beltplan check a.yaml`"),
    ("a.yaml --full check", "write `beltplan check a.yaml --full`"),
    ("help fit", "write `beltplan fit --help`"),
    ("check a.yaml --full=yes", "--full: got 'yes', but takes no value"),
    ("check a.yaml --picture", "--picture: nothing stands behind it"),
    ("check other.ymal", "did you mean other.yaml?"),
    ("noise a.yaml", "there is no command 'noise' (that is `beltplan squeal`)"),
    ("print a.yaml", "(that is `beltplan template`)"),
    ("dxf a.yaml", "(that is `beltplan export`)"),
    ("belt a.yaml", "(that is `beltplan check`)"),
    ("words problem", "`beltplan words findings` lists all"),
    ("cure a.yaml --write c.png", "allowed: a file name ending in .yaml or .yml, as c.yaml, or --picture c.png"),
    ("new c.dxf", "FILE: got 'c.dxf'; allowed: a file name ending in .yaml or .yml, as c.yaml"),
    ("check below", "did you mean folder/below.yaml?"),
    ("check below.yaml", "did you mean folder/below.yaml?"),
    ("check folder/other.yaml", "did you mean other.yaml?"),
    ("new no/my.yaml", "allowed: a place in a folder that exists"),
)
def test_a_slip_is_told_with_what_to_type(run: Runner, here: Path, line: str, told: str) -> None:
    (here / "folder").mkdir(exist_ok=True)
    for name in ("other.yaml", "folder/below.yaml"):
        (here / name).touch()
    command = line + " --pulley crank" * line.startswith("place")
    ran = run(*command.split())
    assert (ran.code, ran.out) == (2, "") and told in ran.err


def test_names_are_taken_in_other_letters_and_with_other_marks_between_them() -> None:
    known = ("water_pump", "crank", "steering_pump", "with blank")
    for said in (
        "crank,water_pump",
        "Crank, WATER-PUMP",
        "crank water_pump",
        "crank and water_pump",
        "crank > water_pump*",
    ):
        assert names_asked("--only", [said], known) == ("crank", "water_pump")
    assert names_asked("--only", ["with blank,"], known) == ("with blank",)
    with pytest.raises(Refused, match=r"got 'pump' \(write water_pump or steering_pump\); allowed: water_pump, crank"):
        names_asked("--only", ["pump"], known)


OPTIONS_OF_CHECK = (
    "it has --full, --help, --json, --picture, --slip-picture, --units, --variant; "
    "`beltplan check --help` tells of each\n"
)


@for_each(
    (["chek", "a.yaml"], "there is no command 'chek' (did you mean check?); `beltplan --help` lists all\n"),
    (["zzz\x1b[31m"], "there is no command 'zzz\\x1b[31m'; `beltplan --help` lists all\n"),
    (["check", "a.yaml", "--nonsense=3"], f"check has no option --nonsense\n{OPTIONS_OF_CHECK}"),
    (["check", "a.yaml", "-full"], f"check has no option -full (did you mean --full?)\n{OPTIONS_OF_CHECK}"),
    (["check", "a.yaml", "-o", "b.png"], f"check has no option -o (did you mean --picture?)\n{OPTIONS_OF_CHECK}"),
    (["check", "--jsno", "--varaint", "x", "a.yaml"],
     "check has no option --jsno (did you mean --json?)\ncheck has no option --varaint (did you mean --variant?)\n"
     f"{OPTIONS_OF_CHECK}"),
    (["check", "a.yaml", "--picture", "a.gif", "--slip-picture", "b.bmp"],
     "--picture: got 'a.gif'; allowed: a file name ending in .png, .svg or .pdf, as a.png\n"
     "--slip-picture: got 'b.bmp'; allowed: a file name ending in .png, .svg or .pdf, as b.png\n"
     "there is no file a.yaml in this folder\n"),
)  # fmt: skip
def test_all_that_is_wrong_is_told_with_what_was_meant(run: Runner, arguments: list[str], told: str) -> None:
    assert run(*arguments) == Ran(2, "", told)


def test_a_beginning_of_an_option_is_enough_and_a_dash_dash_ends_them(run: Runner, here: Path) -> None:
    assert run("check", EXAMPLE, "--js").code in (0, 1)
    assert "there is no file --gone.yaml" in run("check", "--", "--gone.yaml").err


def test_no_name_brings_codes_to_the_terminal(run: Runner, here: Path) -> None:
    ran = run("new", "a\x1b[31m.yaml")
    assert ran.code == 0 and "\x1b" not in ran.out and r"a\x1b[31m.yaml" in ran.out


def test_a_message_goes_nowhere_where_standard_error_is_closed(
    run: Runner, monkeypatch: pytest.MonkeyPatch, here: Path
) -> None:
    monkeypatch.setattr("sys.stderr", None)
    ran = run("check", "gone.yaml")
    assert (ran.code, ran.out) == (2, "")


def test_alone_it_tells_what_to_type_first_and_every_command_in_the_order_of_the_work(run: Runner) -> None:
    ran = run()
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.index("beltplan new my_engine.yaml") < ran.err.index("beltplan check my_engine.yaml")
    assert re.findall(r"^  ([a-z]+) ", ran.err, re.MULTILINE)[2:] == list(NAMES)
    assert max(map(len, ran.err.splitlines())) <= 100


def test_version(run: Runner) -> None:
    assert run("--version").out == f"beltplan {__version__}\n"


def test_a_command_that_is_refused_midway_has_written_nothing(
    run: Runner, monkeypatch: pytest.MonkeyPatch, here: Path
) -> None:
    from beltplan.cli.exits import Refused

    def half(*_: object) -> str:
        raise Refused("no more")

    monkeypatch.setattr(check, "with_questions", half)
    ran = run("check", EXAMPLE)
    assert (ran.code, ran.out, ran.err) == (2, "", "no more\n")


def test_two_runs_in_one_process_do_not_mix(run: Runner, here: Path) -> None:
    Path("layout.yaml").write_text(PROBLEM)
    first, again = run("check", EXAMPLE), run("check", EXAMPLE)
    assert run("check", "layout.yaml").code == 1 and first == again


def test_a_long_message_is_broken_in_a_window_and_stays_a_line_for_programs(
    run: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = f"pulleys.pump: got 'rol'; allowed: {', '.join(f'key_{i}' for i in range(40))}"
    tell(text)
    assert run("--version").err == text + "\n"
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    tell(text)
    lines = run("--version").err.splitlines()
    assert max(map(len, lines)) <= 80 and " ".join(line.strip() for line in lines) == text


def test_all_wrong_options_of_a_command_line_are_told_at_once(run: Runner) -> None:
    told = run("tolerance", EXAMPLE, "--draws", "5", "--seed", "x", "--units", "inn", "--picture", "a.bmp")
    assert (told.code, told.out) == (2, "")
    assert told.err.splitlines() == [
        "--draws: got '5'; allowed: a whole number 100 to 200000",
        "--seed: got 'x'; allowed: a whole number 0 to 4294967295",
        "--units: got 'inn' (did you mean in?); allowed: mm, in",
        "--picture: got 'a.bmp'; allowed: a file name ending in .png, .svg or .pdf, as a.png",
    ]
    missing = run("template", EXAMPLE, "--units", "inn").err
    assert "--units: got 'inn'" in missing and "are required: --out" in missing
    assert run("check", EXAMPLE, "--units", "in").code == 0, "what was wrong before is forgotten"


# The command as a process of its own: streams, pipes, encodings and what is loaded.


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

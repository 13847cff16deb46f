"""The stored answers hold what they should, and a difference would show.

The stored answers are frozen: our own. Where a change is meant to alter some, read what `python -m tests.corpus` shows,
then store them anew with `--write`.
"""

import re
import shlex
from difflib import unified_diff
from pathlib import Path

import numpy as np
import pytest

from tests.corpus import answers, choice
from tests.corpus.answers import answer
from tests.corpus.differences import MOST_LINES, differences
from tests.corpus.files import CASES, LAYOUTS, made
from tests.corpus.invented import ring
from tests.corpus.runs import COMMANDS, every_run
from tests.corpus.store import Answers, read, write
from tests.corpus.written import text_of


def test_sample_holds_every_command_and_status(stored: Answers) -> None:
    sample = choice.read()
    assert {name.partition(" ")[0] for name in sample} >= set(COMMANDS)
    assert {stored[name].partition("\n")[0] for name in sample} == {f"exit status {code}" for code in (0, 1, 2)}


def test_every_run_is_stored(stored: Answers) -> None:
    names = [shlex.join(run) for run in every_run()]
    assert sorted(names) == sorted(stored) and len(set(names)) == len(names)
    assert set(choice.read()) <= set(names)


def test_no_answer_is_an_exception(stored: Answers) -> None:
    known = {f"exit status {code}" for code in (0, 1, 2)}
    assert [name for name, said in stored.items() if said.partition("\n")[0] not in known] == []


_NEGATIVE_ZERO = re.compile(r"(?<![\w.)(-])-0(?:\.0+)?(?![\w.-])")


def test_no_answer_tells_a_negative_zero(stored: Answers) -> None:
    """Of what is printed; what is written as SVG or PDF has numbers that nobody reads."""
    printed = {name: said.partition("=== out/")[0] for name, said in stored.items()}
    assert {name: found[0] for name, said in printed.items() if (found := _NEGATIVE_ZERO.search(said))} == {}
    assert _NEGATIVE_ZERO.search("reserve -0.0 mm")


def test_every_shipped_file_and_case_is_run(stored: Answers) -> None:
    words = {word for name in stored for word in shlex.split(name)}
    files = {f"layouts/{path.name}" for path in LAYOUTS.glob("*.yaml")}
    files |= {f"cases/{path.relative_to(CASES).as_posix()}" for path in CASES.rglob("*.yaml")}
    files |= {f"made/{name}.yaml" for name in made()}
    assert files - words == {f"cases/faults/{name}.yaml" for name in ("loose30", "photo_two_slips", "slip_0.8")}


def test_a_seed_always_makes_the_same_files() -> None:
    assert made() == made() and len({ring(seed) for seed in range(20)}) == 20


def test_most_invented_drives_have_a_belt_path(stored: Answers) -> None:
    codes = [said.split()[2] for name, said in stored.items() if name.startswith("check made/ring_")]
    assert len(codes) > 2 * codes.count("2") and set(codes) == {"0", "1", "2"}


def test_differences_are_shown_by_line() -> None:
    before = {"gone": "x", "same": "x", "other": "exit status 0\n=== standard output\na\nb\n"}
    shown = list(differences(before, {"new": "x", "same": "x", "other": "exit status 1\n=== standard output\na\nc\n"}))
    assert [text.partition("\n")[0] for text in shown] == ["gone", "new", "other"]
    assert "  -exit status 0\n  +exit status 1\n" in shown[2] and "  -b\n  +c\n" in shown[2]


def test_a_long_difference_is_cut() -> None:
    (shown,) = differences({"x": "\n".join("a" * 100)}, {"x": "\n".join("b" * 100)})
    assert shown.count("\n") == MOST_LINES + 2 and shown.endswith("more lines\n")


def test_stored_answers_read_back(tmp_path: Path) -> None:
    given = {"b": "皮带\u2028 \n", "a": "x"}
    write(given, tmp_path / "one.xz")
    write(dict(reversed(given.items())), tmp_path / "two.xz")
    assert read(tmp_path / "one.xz") == given
    assert (tmp_path / "one.xz").read_bytes() == (tmp_path / "two.xz").read_bytes()


def misbehaving(arguments: list[str]) -> int:
    """A command that writes, talks and fails."""
    Path("out/a.txt").write_text("1.23456789 -0.00000000001 5.25", encoding="utf-8")
    print("words at " + str(Path.cwd()))
    raise ZeroDivisionError("nothing")


def test_an_exception_is_an_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(answers, "main", misbehaving)
    assert answer(["check"], tmp_path) == (
        "exit status none: ZeroDivisionError: nothing\n"
        "=== standard output\nwords at FOLDER\n=== out/a.txt\n1.234568 0.000000 5.25\n"
    )


def test_what_is_long_is_kept_by_its_beginning_and_a_digest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said = []
    for last in "ab":
        monkeypatch.setattr(answers, "main", lambda _, last=last: print("x" * answers.LONGEST + last) or 0)
        said.append(answer(["check"], tmp_path))
    assert said[0] != said[1] and all(len(each) < answers.LONGEST + 200 for each in said)


def test_the_sample_takes_what_is_new_for_its_time() -> None:
    """Values by hand. Of what others went through half counts, then a quarter; what is too long is left out."""
    courses = [
        choice.Course(name, seconds, np.array(steps))
        for name, seconds, steps in (
            ("both", 3.0, [1, 2, 3, 4]),  # 4 / 3 a second, then 2.5 / 3, at last 1.25 / 3
            ("first", 1.0, [1, 2, 3]),  # 3 a second
            ("again", 1.4, [1, 2, 3]),  # 1.5 / 1.4 once `first` is taken
            ("long", 9.0, [5, *range(100, 200)]),
            ("last", 1.0, [4]),  # 1 a second
        )
    ]
    assert list(choice.chosen(courses, 8.0)) == ["first", "again", "last", "both"]
    assert list(choice.chosen(courses, 2.0)) == ["first", "last"]


def test_a_sample_reads_back(tmp_path: Path) -> None:
    choice.write(["words", "check 皮带.yaml --variant 'a b'"], tmp_path / "sample.txt")
    assert choice.read(tmp_path / "sample.txt") == ("check 皮带.yaml --variant 'a b'", "words")


def test_a_print_is_known_by_its_pages(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    texts = []
    for day in (0, 0, 1):
        monkeypatch.setattr(answers, "DAY_S", 1_000_000_000 + 86400 * day)
        answer(shlex.split("template cases/two_pulley.yaml --out out/t.pdf --paper A4"), folder)
        texts.append(text_of(folder / "out" / "t.pdf"))
    assert texts[0] == texts[1] and "CreationDate" not in texts[0]
    pages = [text.partition("endcmap")[0].splitlines() for text in (texts[0], texts[2])]
    assert len(pages[0]) > 500
    otherwise = [
        line for line in unified_diff(pages[0], pages[1], lineterm="", n=0) if not line.startswith(("@@", "---", "+++"))
    ]
    # Every sheet tells its day, and nothing else hangs on it.
    assert 1 <= len(otherwise) < 40

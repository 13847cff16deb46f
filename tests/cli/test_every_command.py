"""What every command does alike with the files that it reads and writes, and what each loads."""

from pathlib import Path

import pytest

from tests.cli.running import EXAMPLE, OVERLAPPING, PROBLEM, ROOT, Runner, process
from tests.for_each import for_each

MAGIC = {"png": b"\x89PNG\r\n\x1a\n", "svg": b"<?xml", "pdf": b"%PDF-"}
CAMPER, WORKBOAT, MEASURED = (
    str(ROOT / "layouts" / f"{stem}.yaml") for stem in ("camper", "workboat", "buggy_measured")
)
PICTURED: dict[str, tuple[str, str, str, int]] = {
    "check": ("check", str(EXAMPLE), "png", 0),
    "compare": ("compare", CAMPER, "svg", 0),
    "route": ("route --most 2", CAMPER, "svg", 1),
    "place": ("place --pulley generator --step 20", str(EXAMPLE), "svg", 0),
    "tolerance": ("tolerance --draws 300", str(EXAMPLE), "svg", 0),
    "cure": ("cure", WORKBOAT, "png", 0),
    "measure": ("measure", MEASURED, "pdf", 1),
}
"""Commands that draw: with options, of what file, with which ending here, and the exit status."""
SLIP = ("check --slip-picture", CAMPER, "svg", 1)
OUTPUTS = {
    **{name: f"{words} LAYOUT --picture" for name, (words, *_) in PICTURED.items()},
    "slip": "check LAYOUT --slip-picture",
    "template": "template LAYOUT --out",
    "export": "export LAYOUT --out",
    "page": "page LAYOUT --out",
    "csv": "place LAYOUT --pulley crank --csv",
    "cured": "cure LAYOUT --write",
    "measured": "measure LAYOUT --write",
}
"""Every option that names a file to be written, by a name of its own."""
ENDINGS = {"template": "pdf", "export": "dxf", "page": "html", "csv": "csv", "cured": "yaml", "measured": "yaml"}


def words_of(output: str, layout: str, name: str) -> list[str]:
    return [layout if word == "LAYOUT" else word for word in OUTPUTS[output].split()] + [name]


def given(output: str) -> str:
    return MEASURED if output.startswith("measure") else str(EXAMPLE)


@pytest.mark.parametrize("name", [*PICTURED, "slip"])
def test_a_picture_is_what_its_ending_says_and_alone(run: Runner, here: Path, name: str) -> None:
    _, file, ending, code = PICTURED.get(name, SLIP)
    ran = run(*words_of(name, file, f"p.{ending}"))
    assert (ran.code, ran.err) == (code, "") and list(here.iterdir()) == [here / f"p.{ending}"]
    assert (here / f"p.{ending}").read_bytes().startswith(MAGIC[ending])


@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_other_endings_of_check_and_json_beside_it(run: Runner, here: Path, ending: str) -> None:
    ran = run("check", EXAMPLE, "--picture", f"p.{ending}", "--json")
    assert (ran.code, ran.err) == (0, "") and (here / f"p.{ending}").read_bytes().startswith(MAGIC[ending])


@for_each(*OUTPUTS)
def test_names_that_nothing_can_be_written_to_are_refused_before_anything_is(
    run: Runner, here: Path, output: str
) -> None:
    ending, free = ENDINGS.get(output, "png"), output in ("cured", "measured")
    (here / f"folder.{ending}").mkdir(exist_ok=True)
    (here / "a.file").write_text("kept")
    before = sorted(here.rglob("*"))
    told = {
        f"gone/a.{ending}": "; allowed: a place in a folder that exists",
        f"a.file/a.{ending}": "; allowed: ",
        f"folder.{ending}": ", a folder; allowed: the name of a file",
        f"a\0b.{ending}": "; allowed: the name of a file to be written",
        "": "; allowed: the name of a file to be written" if free else "; allowed: a file name ending in .",
        **(
            {}
            if free
            else dict.fromkeys(("a.gif", "a", ending, f"a.{ending}.txt"), "; allowed: a file name ending in .")
        ),
    }
    for name, words in told.items():
        ran = run(*words_of(output, given(output), name))
        option = OUTPUTS[output].split()[-1]
        assert (ran.code, ran.out) == (2, "") and "Traceback" not in ran.err, name
        assert ran.err.startswith(f"{option}: got ") and words in ran.err, (name, ran.err)
        assert sorted(here.rglob("*")) == before and (here / "a.file").read_text() == "kept"


@for_each(*OUTPUTS)
def test_files_that_are_no_layout_write_nothing(run: Runner, here: Path, output: str) -> None:
    """An old file of that name stays as it is."""
    name = f"old.{ENDINGS.get(output, 'png')}"
    force = ["--force"] if output in ("cured", "measured", "export") else []
    texts = {"": "layout.yaml:1: file: ", "belt: [": "a closing bracket", PROBLEM[:-30]: "layout.yaml"}
    # A belt that cannot be laid is drawn by `check` and `compare`, and is one place of a map.
    texts |= {} if output in ("check", "compare", "place", "csv") else {OVERLAPPING: "layout.yaml"}
    for text, words in texts.items():
        Path("layout.yaml").write_text(text)
        Path(name).write_text("old")
        ran = run(*words_of(output, "layout.yaml", name), *force)
        assert (ran.code, ran.out) == (2, "") and words in ran.err and "Traceback" not in ran.err, ran.err
        assert Path(name).read_text() == "old" and [*here.glob(".*"), *here.glob("*.part")] == []
    ran = run(*words_of(output, "gone.yaml", name), *force)
    assert (ran.code, ran.out) == (2, "") and "there is no file gone.yaml in this folder" in ran.err


@for_each(*(name for name in OUTPUTS if not name.startswith(("measure", "compare"))))
def test_an_unknown_variant_names_those_there_are(run: Runner, here: Path, output: str) -> None:
    ran = run(*words_of(output, str(EXAMPLE), f"a.{ENDINGS.get(output, 'png')}"), "--variant", "low mount")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert "there is no variant 'low mount'" in ran.err and "high mount" in ran.err


WHAT_IS_LOADED = """\
import shlex, sys
from beltplan.cli.main import main
code = [main(shlex.split(line)) for line in sys.argv[1:]]
print("LOADED", *sys.modules, file=sys.stderr)
sys.exit(max(code))
"""


def test_matplotlib_is_loaded_only_for_a_picture_and_no_other_feature_for_check(tmp_path: Path) -> None:
    """Commands one after the other in one process, none of which draws; then the first that does."""
    plain = [f"check '{EXAMPLE}'", f"check '{EXAMPLE}' --json", "new mine.yaml"]
    checked = process(plain, tmp_path, WHAT_IS_LOADED)
    assert checked.code == 0 and "beltplan.checks.plan" in checked.err and "matplotlib" not in checked.err
    others = {"compare", "routes", "place", "tolerance", "cure", "drawing", "measure", "squeal", "fitting", "page"}
    assert not [name for name in others if f"beltplan.{name}." in checked.err]
    words = ["words", *(f"{name} '{EXAMPLE}'" for name in ("compare", "route", "squeal", "fit", "tolerance"))]
    told = process([*words, f"template '{EXAMPLE}' --out t.gif"], tmp_path, WHAT_IS_LOADED)
    assert told.code == 2 and "LOADED" in told.err and "matplotlib" not in told.err
    drawn = process([f"check '{EXAMPLE}' --picture drive.svg"], tmp_path, WHAT_IS_LOADED)
    assert drawn.code == 0 and "matplotlib" in drawn.err and "pyplot" not in drawn.err

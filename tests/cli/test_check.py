"""`beltplan check`: exit status, what goes to which stream, variants and pictures, as the manual promises them."""

import json
from pathlib import Path

import pytest

from tests.cli.running import EXAMPLE, OVERLAPPING, PROBLEM, Runner
from tests.for_each import for_each

"""First bytes of the formats, by their own standards (ISO/IEC 15948, XML 1.0, ISO 32000)."""


def test_no_problem_is_exit_status_0(run: Runner) -> None:
    ran = run("check", EXAMPLE)
    assert (ran.code, ran.err) == (0, "") and "\nWORKS ON PAPER   " in ran.out


def test_a_problem_is_exit_status_1(run: Runner, here: Path) -> None:
    Path("layout.yaml").write_text(PROBLEM)
    ran = run("check", "layout.yaml")
    assert (ran.code, ran.err) == (1, "") and "  problem  " in ran.out


@pytest.mark.parametrize("more", [[], ["--json"], ["--slip-picture", "p.png"], ["--variant", "none such"]])
def test_no_belt_path_is_exit_status_2_with_file_line_and_key(run: Runner, here: Path, more: list[str]) -> None:
    Path("layout.yaml").write_text(OVERLAPPING)
    ran = run("check", "layout.yaml", *more)
    assert (ran.code, ran.out) == (2, "") and list(here.iterdir()) == [here / "layout.yaml"]
    if "--variant" not in more:
        assert ran.err.startswith("layout.yaml:3: pulleys.crank, pulleys.far: crank and far overlap")
        assert "; wanted: 99.61 mm or more" in ran.err


def test_every_fault_in_one_run_with_its_line_and_key(run: Runner, here: Path) -> None:
    text = PROBLEM.replace("diameter: 100}", "diameter: -5}").replace("role: alternator", "role: alternater")
    Path("layout.yaml").write_text(text.replace("[crank, far]", "[crank, fra]"))
    ran = run("check", "layout.yaml")
    assert (ran.code, ran.out) == (2, "")
    lines = ran.err.splitlines()
    assert [line.split(": got ")[0] for line in lines] == [
        "layout.yaml:3: pulleys.crank.diameter",
        "layout.yaml:4: pulleys.far.role",
        "layout.yaml:5: route.2",
    ]
    assert all("; allowed: " in line for line in lines)
    assert "did you mean alternator?" in lines[1]


@pytest.mark.parametrize(
    ("name", "content"), [("gone.yaml", None), ("empty.yaml", b""), ("folder", None), ("bytes.yaml", b"\xff\xfe\x00")]
)
def test_files_that_cannot_be_read(run: Runner, here: Path, name: str, content: bytes | None) -> None:
    (here / "folder").mkdir()
    if content is not None:
        (here / name).write_bytes(content)
    ran = run("check", name)
    told = {"gone.yaml": "there is no file gone.yaml in this folder", "folder": "'folder' is a folder"}
    assert (ran.code, ran.out) == (2, "") and ran.err.startswith(told.get(name, f"{name}:1: file: got "))
    assert len(ran.err.splitlines()) == 1


@pytest.mark.parametrize("name", ["Motor größer.yaml", "皮带.yaml", "with space.yaml", "-.yaml"])
def test_names_of_files(run: Runner, here: Path, name: str) -> None:
    Path(name).write_text(PROBLEM, encoding="utf-8")
    ran = run("check", "--json", "--", name)
    assert ran.code == 1 and json.loads(ran.out)["title"] == name.removesuffix(".yaml")


def test_json_is_one_object_and_nothing_else(run: Runner) -> None:
    ran = run("check", EXAMPLE, "--json")
    result, end = json.JSONDecoder(parse_constant=pytest.fail).raw_decode(ran.out)
    assert ran.out[end:] == "\n" and result["belt"]["designation"] == "6PK1685"
    assert (ran.code, ran.err) == (0, "")


def test_a_variant_is_judged_by_its_own_numbers(run: Runner) -> None:
    ran = run("check", EXAMPLE, "--json", "--variant", "high mount")
    generator = next(row for row in json.loads(ran.out)["pulleys"] if row["name"] == "generator")
    assert (generator["x_mm"], generator["y_mm"]) == (210.0, 335.0)


@pytest.mark.usefixtures("drawn")
def test_a_picture_of_a_drive_with_problems(run: Runner, here: Path) -> None:
    Path("layout.yaml").write_text(PROBLEM)
    assert run("check", "layout.yaml", "--picture", "drive.PNG").code == 1
    assert (here / "drive.PNG").read_bytes().startswith(b"\x89PNG")


@pytest.mark.usefixtures("drawn")
@for_each(("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF"))
def test_a_belt_that_cannot_be_laid_is_drawn_although_it_is_refused(
    run: Runner, here: Path, ending: str, magic: bytes
) -> None:
    Path("layout.yaml").write_text(OVERLAPPING)
    ran = run("check", "layout.yaml", "--picture", f"drive.{ending}", "--slip-picture", "slip.png")
    assert (ran.code, ran.out) == (2, "") and "crank and far overlap" in ran.err
    assert sorted(here.iterdir()) == [here / f"drive.{ending}", here / "layout.yaml"]
    assert (here / f"drive.{ending}").read_bytes().startswith(magic)
    (here / f"drive.{ending}").unlink()


def test_several_reasons_are_numbered_by_line(run: Runner, here: Path) -> None:
    near = "  mid: {role: fan, at: [45, 20], diameter: 100}\nroute: [crank, far, mid]"
    Path("layout.yaml").write_text(OVERLAPPING.replace("route: [crank, far]", near))
    told = run("check", "layout.yaml").err.splitlines()
    assert [line.split(": ")[2][:4] for line in told] == ["(1) ", "(2) ", "(3) "]
    assert [line.split(":")[1] for line in told] == sorted(line.split(":")[1] for line in told)


# A layout without a belt path is refused in the units of its file.


OVERLAP = """\
units: in
belt: 6PK
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 6}
  pump: {role: water_pump, at: [4, 0], diameter: 5}
  fan: {role: fan, at: [0, 12], diameter: 4}
route: [crank, pump, fan]
"""


def test_an_overlap_in_a_file_in_inches_is_told_in_inches(run: Runner, here: Path) -> None:
    """Radii of 3 and 2 1/2 in reach 5 1/2 in, the centres are 4 in apart, plus the ribs' tips: about 1.5 in."""
    Path("file.yaml").write_text(OVERLAP, encoding="utf-8")
    told = run("check", "file.yaml").err
    assert "overlap by 1." in told and "centres 4.000 in apart" in told and " mm" not in told


ODD = """\
belt: 6PK
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 150}
  pump: {role: water_pump, at: [100, 0], diameter: 150}
  fan:
    role: fan
    at: [0, 300]
    rim_diameter: 6
route: [crank, pump, fan]
idler_sizes:
  [3, 70]
"""


def test_a_doubtful_size_behind_an_overlap_is_told_at_the_line_of_its_own_key(run: Runner, here: Path) -> None:
    Path("file.yaml").write_text(ODD, encoding="utf-8")
    lines = run("check", "file.yaml").err.splitlines()
    asked = {key: line for line in lines for key in ("fan.rim_diameter", "idler_sizes") if f"{key}: " in line}
    assert asked["fan.rim_diameter"].startswith("file.yaml:8: pulleys.fan.rim_diameter: a diameter of 6")
    assert asked["idler_sizes"].startswith("file.yaml:10: idler_sizes: a diameter of 3 mm")

"""Obstacles traced into drawings, through the commands: found by `check`, told in words, and back from `export`."""

import json
from pathlib import Path

import numpy as np
import pytest

from beltplan.drive.layout import Obstacle
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.scene import Scene
from tests.cli.running import ROOT, Runner
from tests.for_each import for_each
from tests.outlines.drawings import csv_of, dxf_of, new_dxf, svg_of

RAILCAR = (ROOT / "layouts" / "railcar.yaml").read_text(encoding="utf-8")
WORKBOAT = (ROOT / "layouts" / "workboat.yaml").read_text(encoding="utf-8")
EYE = "lifting_eye: {polygon: [[2.5, 15.5], [5.5, 15.5], [5.5, 17.5], [2.5, 17.5]]}"
BOX = '<rect x="0" y="0" width="30" height="20"/>'
EYE_MM = 25.4 * np.array([[2.5, 15.5], [5.5, 15.5], [5.5, 17.5], [2.5, 17.5]])


def railcar_with(folder: Path, obstacle: str) -> Path:
    """The railcar with one obstacle more."""
    path = folder / "railcar.yaml"
    path.write_text(RAILCAR.replace("obstacles:\n", f"obstacles:\n  block: {obstacle}\n"), encoding="utf-8")
    return path


def test_a_traced_block_in_the_way_of_a_span_is_found(run: Runner, here: Path, drawn: list[Scene]) -> None:
    """A lug of some 20 mm, of 3,000 points, whose middle lies on the middle of the longest span."""
    route = route_of(read_layout(str(ROOT / "layouts" / "railcar.yaml")).layout)
    longest = int(np.argmax(route.loop.span))
    middle = 0.5 * (route.loop.start[longest] + route.loop.end[longest])
    angle = np.linspace(0.0, 2.0 * np.pi, 3_000, endpoint=False)
    lug = 10.0 * np.column_stack((np.cos(angle), np.sin(angle) + 0.2 * np.cos(5.0 * angle)))
    path = railcar_with(here, f"{{file: {csv_of(here, lug)}, at: [{middle[0]:.3f}, {middle[1]:.3f}]}}")
    ran = run("check", path, "--picture", "railcar.svg", "--json")
    assert (ran.code, ran.err) == (1, "") and drawn[0].named("obstacle block")
    problems = [finding for finding in json.loads(ran.out)["findings"] if finding["severity"] == "problem"]
    start, end = route.spans[longest]
    assert [finding["check"] for finding in problems] == ["clearance"]
    assert all(name in problems[0]["message"] for name in ("block", start.name, end.name))
    assert run("check", railcar_with(here, "{file: block.csv, at: [3000, 3000]}")).code == 0


COMMANDS = [
    (("check",), "csv"),
    (("check",), "dxf"),
    (("check",), "svg"),
    (("compare",), "svg"),
    (("place", "--pulley", "alternator", "--step", "20mm"), "dxf"),
    (("route",), "csv"),
    (("tolerance",), "svg"),
    (("cure",), "dxf"),
]


@pytest.mark.parametrize(("command", "ending"), COMMANDS)
def test_every_command_says_the_same_of_an_obstacle_written_out_or_drawn(
    run: Runner, here: Path, command: tuple[str, ...], ending: str
) -> None:
    name = {"csv": csv, "dxf": dxf, "svg": svg}[ending](here)
    path = here / "workboat.yaml"
    asked = (command[0], path, *command[1:])
    path.write_text(WORKBOAT, encoding="utf-8")
    written_out = run(*asked)
    path.write_text(WORKBOAT.replace(EYE, f"lifting_eye: {{file: {name}}}"), encoding="utf-8")
    assert EYE not in path.read_text(encoding="utf-8")
    drawn = run(*asked)
    assert (drawn.code, drawn.err) == (written_out.code, written_out.err) and written_out.code in (0, 1)
    assert drawn.out == written_out.out


def csv(folder: Path) -> str:
    return csv_of(folder, EYE_MM, header="x_mm,y_mm")


def dxf(folder: Path) -> str:
    document = new_dxf("R2000")
    document.modelspace().add_lwpolyline(EYE_MM.tolist(), close=True)
    return dxf_of(folder, document)


def svg(folder: Path) -> str:
    return svg_of(folder, f'<polygon points="{" ".join(f"{x},{-y}" for x, y in EYE_MM.tolist())}"/>')


def test_a_wrong_drawing_ends_with_2_and_words(run: Runner, here: Path) -> None:
    (here / "block.csv").write_text("x,y\n0,0\n9,o\n9,9\n0,x\n", encoding="utf-8")
    path = railcar_with(here, "{file: block.csv, turn_deg: north}")
    ran = run("check", path)
    assert (ran.code, ran.out) == (2, "")
    line = RAILCAR[: RAILCAR.index("obstacles:")].count("\n") + 2
    got = [text.partition(": got ")[::2] for text in ran.err.splitlines() if ": got " in text]
    assert [where.removeprefix("beltplan: ").rpartition("railcar.yaml")[2] for where, _ in got] == [
        f":{line}: obstacles.block.turn_deg",
        f":{line}: obstacles.block.file",
        f":{line}: obstacles.block.file",
    ]
    assert [words for _, words in got][1:] == [
        "'o' as y, at block.csv:3; allowed: a number",
        "'x' as y, at block.csv:5; allowed: a number",
    ]


@pytest.mark.parametrize("ending", ["dxf", "svg"])
@pytest.mark.parametrize(
    "obstacle",
    [
        "{polygon: [[150, -150], [250.25, -150.125], [260, -40], [200, -90], [150, -40]]}",
        "{circle: {at: [195.5, -105.25], diameter: 44}}",
    ],
)
def test_what_export_wrote_comes_back(run: Runner, here: Path, obstacle: str, ending: str) -> None:
    start, end = RAILCAR.index("obstacles:"), RAILCAR.index("\n", RAILCAR.index("frame_rail:")) + 1

    def read(written: str) -> Obstacle:
        text = f"{RAILCAR[:start]}obstacles: {{block: {written}}}\n{RAILCAR[end:]}"
        (here / "one.yaml").write_text(text, encoding="utf-8")
        return read_layout("one.yaml").layout.obstacles[0]

    before = read(obstacle)
    assert run("export", "one.yaml", "--out", f"one.{ending}").code == 0
    after = read(f"{{file: one.{ending}, outline: obstacles}}")
    assert type(after) is type(before)
    for name in ("corners_mm", "at_mm", "diameter_mm"):
        if hasattr(before, name):
            np.testing.assert_allclose(getattr(after, name), getattr(before, name), atol=1e-6)


@for_each(
    (("check",),),
    (("compare",),),
    (("place", "--pulley", "alternator"),),
    (("route",),),
    (("tolerance",),),
    (("cure",),),
    ids=lambda command: command[0],
)
def test_no_picture_takes_the_place_of_a_drawing(run: Runner, here: Path, command: tuple[str, ...]) -> None:
    """A drawing that an obstacle is read from is the user's own work."""
    path, drawing = railcar_with(here, f"{{file: {svg_of(here, BOX)}, at: [3000, 3000]}}"), here / "block.svg"
    before = drawing.read_bytes()
    ran = run(command[0], path, *command[1:], "--picture", "block.svg")
    assert (ran.code, ran.out) == (2, "")
    assert "--picture: got 'block.svg'; allowed: another file than the drawing of an obstacle" in ran.err
    assert drawing.read_bytes() == before

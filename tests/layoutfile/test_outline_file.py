"""Obstacles from drawings: their place, all three formats alike, variants, thinning, files that cannot be read."""

import math
import os
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drive.layout import Circle, Polygon
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile import obstacle_file as outline_file
from beltplan.layoutfile.document import bytes_of
from beltplan.layoutfile.layout_file import read_every_layout, read_layout
from beltplan.outlines.drawing import MOST_BYTES
from tests.cli.running import process
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written
from tests.outlines.drawings import BLOCK, circle, corners, csv_of, dxf_of, new_dxf, refusal, same_shape, svg_of

FORMATS = ("csv", "dxf", "svg")


def drawn(folder: Path, points: Floats, ending: str) -> str:
    """Write an outline in a format, in mm; its name."""
    if ending == "csv":
        return csv_of(folder, points, header="x_mm,y_mm")
    if ending == "dxf":
        document = new_dxf()
        document.modelspace().add_lwpolyline(points.tolist(), close=True)
        return dxf_of(folder, document)
    return svg_of(folder, f'<path d="M{" ".join(f"{x!r},{-y!r}" for x, y in points.tolist())}z"/>')


@given(st.integers(0, 2**32 - 1), st.integers(3, 90))
def test_the_same_outline_in_every_format(tmp_path_factory: pytest.TempPathFactory, seed: int, count: int) -> None:
    dice = np.random.default_rng(seed)
    angle = 2.0 * np.pi * (np.arange(count) + dice.uniform(0.05, 0.95, count)) / count
    points = dice.uniform(20.0, 90.0, (count, 1)) * np.column_stack((np.cos(angle), np.sin(angle)))
    points = points + dice.uniform(-500.0, 500.0, 2)
    folder = tmp_path_factory.mktemp("drawn")
    for ending in FORMATS:
        np.testing.assert_allclose(corners(folder, drawn(folder, points, ending)), points, atol=1e-9)


@for_each(*FORMATS)
@for_each(((0, 0), 0), ((30, -45.5), 0), ((0, 0), 90), ((-7, 8), -123.4), ((1, 2), 360))
def test_turned_about_its_origin_and_then_shifted(
    tmp_path: Path, ending: str, at: tuple[float, float], turn: float
) -> None:
    """Against shapely's own turn and shift; counter-clockwise is positive there as well."""
    read = corners(tmp_path, drawn(tmp_path, BLOCK, ending), f"at: [{at[0]}, {at[1]}], turn_deg: {turn}")
    turned = shapely.affinity.rotate(shapely.Polygon(BLOCK), turn, origin=(0, 0))
    expected = np.array(shapely.affinity.translate(turned, *at).exterior.coords)
    assert same_shape(read, expected)


def test_the_place_is_in_the_layouts_unit_and_the_angle_in_degrees(tmp_path: Path) -> None:
    read = corners(tmp_path, drawn(tmp_path, BLOCK, "dxf"), "at: [2, -1]", top="units: in\n")
    np.testing.assert_allclose(read, BLOCK + np.array([50.8, -25.4]))


def test_a_layout_without_drawings_loads_none_of_their_readers(tmp_path: Path) -> None:
    """Start-up is watched: only a layout that names a drawing pays for reading one, and only for its format."""
    csv_of(tmp_path, BLOCK)
    code = "import sys; from beltplan.layoutfile.layout_file import read_layout; read_layout('layout.yaml'); "
    code += "print(*sorted(n for n in sys.modules if n.startswith('beltplan.outlines.')))"
    for more, loaded in (("", []), ("obstacles: {block: {file: block.csv}}\n", ["choice", "csv", "curves", "drawing"])):
        written(tmp_path, PLAIN + more)
        assert process([], tmp_path, code).out.split() == [f"beltplan.outlines.{name}" for name in loaded]


def test_endings_in_capitals_and_paths(tmp_path: Path) -> None:
    (tmp_path / "parts").mkdir()
    csv_of(tmp_path / "parts", BLOCK, "BLOCK.CSV")
    np.testing.assert_array_equal(corners(tmp_path, "parts/BLOCK.CSV"), BLOCK)
    np.testing.assert_array_equal(corners(tmp_path, str(tmp_path / "parts" / "BLOCK.CSV")), BLOCK)


def test_the_folder_is_that_of_the_layout_not_of_the_shell(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "job").mkdir()
    (tmp_path / "else").mkdir()
    csv_of(tmp_path / "job", BLOCK)
    path = written(tmp_path / "job", PLAIN + "obstacles: {block: {file: block.csv}}\n")
    monkeypatch.chdir(tmp_path / "else")
    for name in (path, os.path.join("..", "job", "layout.yaml")):
        (block,) = read_layout(name).layout.obstacles
        assert isinstance(block, Polygon) and len(block.corners_mm) == len(BLOCK)
    os.symlink(path, tmp_path / "else" / "link.yaml")
    assert len(read_layout("link.yaml").layout.obstacles) == 1
    monkeypatch.chdir(tmp_path / "job")
    assert len(read_layout("layout.yaml").layout.obstacles) == 1


def test_variants_move_it_and_the_drawing_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    csv_of(tmp_path, BLOCK)
    asked: list[str] = []

    def watched(path: str, most: int) -> bytes | str:
        asked.append(path)
        return bytes_of(path, most)

    monkeypatch.setattr(outline_file, "bytes_of", watched)
    text = PLAIN + "obstacles: {block: {file: block.csv}}\nvariants:\n  there: {obstacles: {block: {at: [5, 6]}}}\n"
    text += "  inch: {obstacles: {block: {units: in}}}\n  gone: {obstacles: {block: null}}\n"
    text += "  round: {obstacles: {block: {file: null, circle: {at: [0, 0], diameter: 3}}}}\n"
    every = {file.layout.variant: file.layout.obstacles for file in read_every_layout(written(tmp_path, text))}
    base, there, inch = (every[name][0] for name in (None, "there", "inch"))
    assert isinstance(base, Polygon) and isinstance(there, Polygon) and isinstance(inch, Polygon)
    np.testing.assert_allclose(np.array(there.corners_mm), np.array(base.corners_mm) + np.array([5.0, 6.0]))
    np.testing.assert_allclose(np.array(inch.corners_mm), np.array(base.corners_mm) * 25.4)
    assert every["gone"] == () and every["round"] == (Circle("block", (0.0, 0.0), 3.0),)
    assert len(asked) == 1


def test_a_wrong_drawing_is_told_once_not_for_every_variant(tmp_path: Path) -> None:
    (tmp_path / "block.csv").write_text("x,y\n1,2\n3,x\n4,5\n", encoding="utf-8")
    text = PLAIN + "obstacles: {block: {file: block.csv}}\nvariants: {a: {obstacles: {block: {at: [5, 6]}}}, b: {}}\n"
    (fault,) = faults_of(tmp_path, text)
    assert (fault.line, fault.key, fault.got) == (13, "obstacles.block.file", "'x' as y, at block.csv:3")


def test_all_faults_at_once(tmp_path: Path) -> None:
    (tmp_path / "block.csv").write_text("x,y\n1,2\n3,x\n4,z\n", encoding="utf-8")
    more = "file: block.csv, at: 5, turn_deg: 400, units: cm, outline: [1], layer: 3"
    faults = faults_of(tmp_path, PLAIN + f"obstacles: {{block: {{{more}}}}}\nlimits: {{min_wrap: 3}}\n")
    assert [(fault.key, fault.line) for fault in faults] == [
        ("obstacles.block.layer", 13),
        ("obstacles.block.at", 13),
        ("obstacles.block.turn_deg", 13),
        ("obstacles.block.units", 13),
        ("obstacles.block.outline", 13),
        ("obstacles.block.file", 13),
        ("obstacles.block.file", 13),
        ("limits.min_wrap", 14),
    ]
    assert faults[1].allowed.startswith("[x, y], each") and faults[3].allowed == "mm, in"


@for_each(
    ("none.csv", "there is no file none.csv in "),
    ("block.dwg", "'block.dwg'"),
    ("block", "'block'"),
    ("folder.svg", "is a folder"),
    ("x" * 190 + "/" + "y.csv", "there is no file y.csv in "),
)
def test_files_that_are_not_there(tmp_path: Path, file: str, got: str) -> None:
    (tmp_path / "folder.svg").mkdir(exist_ok=True)
    fault = refusal(tmp_path, file)
    assert got in fault.got and "a file ending in .csv, .dxf or .svg" in fault.got + fault.allowed


def test_a_pipe_is_never_opened(tmp_path: Path) -> None:
    """Opening a pipe that nobody writes to would wait for ever."""
    os.mkfifo(tmp_path / "block.csv")
    assert "a pipe or device, no plain file" in refusal(tmp_path, "block.csv").got


def test_a_device_is_never_read(tmp_path: Path) -> None:
    os.symlink("/dev/zero", tmp_path / "block.dxf")
    assert "a pipe or device, no plain file" in refusal(tmp_path, "block.dxf").got


def test_a_file_too_large(tmp_path: Path) -> None:
    most = MOST_BYTES
    head = b"x,y\n0,0\n9,0\n9,9\n#"
    (tmp_path / "block.csv").write_bytes(head + b"-" * (most - len(head)))
    assert len(corners(tmp_path, "block.csv")) == 3
    (tmp_path / "block.csv").write_bytes(head + b"-" * (most - len(head) + 1))
    assert "more than 8 MB" in refusal(tmp_path, "block.csv").got


@pytest.mark.parametrize("ending", FORMATS)
def test_too_far_for_a_layout(tmp_path: Path, ending: str) -> None:
    """Coordinates of a layout go to 100 m (the project's own bound)."""
    name = drawn(tmp_path, BLOCK, ending)
    assert corners(tmp_path, name, "at: [99880, 0]")[:, 0].max() == 100_000.0
    assert "reaches to (100001, 0) mm" in refusal(tmp_path, name, "at: [99881, 0]").got
    assert "reaches to (-100001, 0) mm" in refusal(tmp_path, name, "at: [-99881, 0], turn_deg: 180").got


def test_too_large_a_circle(tmp_path: Path) -> None:
    """Circles of a layout go to 20 m (the project's own bound)."""
    document = new_dxf(units=6)
    document.modelspace().add_circle((0, 0), 10.1)
    assert refusal(tmp_path, dxf_of(tmp_path, document)).got == "a circle of 20200 mm"
    assert circle(tmp_path, "block.dxf", "units: mm")[2] == pytest.approx(20.2)


@for_each(
    ("file: a.csv, circle: {at: [0, 0], diameter: 3}", "file", "both circle and file"),
    ("polygon: [[0, 0], [1, 0], [1, 1]], file: a.csv", "file", "both polygon and file"),
    ("circle: {at: [0, 0], diameter: 3}, turn_deg: 5", "turn_deg", "turn_deg without `file`"),
    ("polygon: [[0, 0], [1, 0], [1, 1]], at: [5, 5]", "at", "at without `file`"),
    ("circle: {at: [0, 0], diameter: 3}, outline: edge", "outline", "outline without `file`"),
    ("file: 5.5.5.csv, units: null, at: null", "file", "there is no file"),
    ("file: [a.csv]", "file", "a list"),
)
def test_one_of_three_kinds(tmp_path: Path, keys: str, at: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN + f"obstacles: {{block: {{{keys}}}}}\n")
    assert fault.key == f"obstacles.block.{at}" and got in fault.got


def test_numbers_of_obstacles_are_plain(tmp_path: Path) -> None:
    csv_of(tmp_path, BLOCK)
    (block,) = read_layout(written(tmp_path, PLAIN + "obstacles: {block: {file: block.csv}}\n")).layout.obstacles
    assert isinstance(block, Polygon)
    assert all(type(number) is float and math.isfinite(number) for corner in block.corners_mm for number in corner)

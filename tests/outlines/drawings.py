"""Drawings for the tests of reading obstacles, and layouts that name them. All numbers are invented."""

from pathlib import Path

import ezdxf.filemanagement
import numpy as np
import shapely
from ezdxf.document import Drawing as DxfDocument

from beltplan.drive.layout import Circle, Obstacle, Polygon
from beltplan.faults import Fault
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.layout_file import read_layout
from tests.layoutfile.samples import PLAIN, faults_of, written

BLOCK: Floats = np.array([[0.0, 0.0], [120.0, 0.0], [120.0, 30.0], [45.0, 30.0], [45.0, 80.5], [0.0, 80.5]])
"""The corners of an angle bracket, mm, counter-clockwise."""
FAR = "at: [300, -400]"
"""A place where nothing of the sample layouts is near."""


def obstacle(folder: Path, file: str, more: str = "", top: str = "") -> Obstacle:
    """The obstacle that a drawing in a folder becomes. more: further keys beside `file`."""
    text = top + PLAIN + f"obstacles: {{block: {{file: {file!r}{more and ', '}{more}}}}}\n"
    (read,) = read_layout(written(folder, text)).layout.obstacles
    return read


def corners(folder: Path, file: str, more: str = "", top: str = "") -> Floats:
    """The corners of the polygon that a drawing becomes, (n, 2) mm."""
    read = obstacle(folder, file, more, top)
    assert isinstance(read, Polygon)
    return np.array(read.corners_mm)


def circle(folder: Path, file: str, more: str = "") -> tuple[float, float, float]:
    """Centre and diameter of the circle that a drawing becomes, mm."""
    read = obstacle(folder, file, more)
    assert isinstance(read, Circle)
    return (*read.at_mm, read.diameter_mm)


def refusals(folder: Path, file: str, more: str = "") -> tuple[Fault, ...]:
    """The faults of a layout whose obstacle is a drawing: each at its key, in the layout's line 13."""
    faults = faults_of(folder, PLAIN + f"obstacles: {{block: {{file: {file!r}{more and ', '}{more}}}}}\n")
    assert {(fault.line, fault.key) for fault in faults} == {(13, "obstacles.block.file")}
    return faults


def refusal(folder: Path, file: str, more: str = "") -> Fault:
    """The one fault of a drawing."""
    (fault,) = refusals(folder, file, more)
    return fault


def same_shape(first: Floats, second: Floats, within: float = 1e-6) -> bool:
    """Whether two outlines bound the same area: no point of one farther off the other than `within`."""
    one, other = shapely.Polygon(first).exterior, shapely.Polygon(second).exterior
    return float(one.hausdorff_distance(other)) <= within


def csv_of(folder: Path, points: Floats, name: str = "block.csv", header: str = "x,y") -> str:
    """Write a CSV of points; its name."""
    rows = [f"{x!r},{y!r}" for x, y in np.asarray(points, dtype=float).tolist()]
    (folder / name).write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return name


def new_dxf(version: str = "R2010", units: int = 4) -> DxfDocument:
    """An empty DXF document. units: $INSUNITS."""
    document = ezdxf.filemanagement.new(version)
    document.header["$INSUNITS"] = units
    return document


def dxf_of(folder: Path, document: DxfDocument, name: str = "block.dxf") -> str:
    """Write a DXF document; its name."""
    document.saveas(folder / name)
    return name


def svg_of(folder: Path, inside: str, head: str = 'width="300mm" height="200mm" viewBox="0 0 300 200"') -> str:
    """Write an SVG with elements inside; its name."""
    text = f'<svg xmlns="http://www.w3.org/2000/svg" {head}>\n{inside}\n</svg>\n'
    (folder / "block.svg").write_text(text, encoding="utf-8")
    return "block.svg"

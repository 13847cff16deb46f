"""The painter: sizes, endings, the same file every time, nothing half-written."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest
from matplotlib.colors import to_rgb
from PIL import Image

from beltplan.picture.painter import ENDINGS, figure_of, own_settings, paint, picture_bytes, pixels_of
from beltplan.picture.pens import METAL, OBSTACLE, Pen
from beltplan.picture.scene import Label, Scene, Shape, Stroke, circle, rectangle
from tests.for_each import for_each
from tests.picture.drives import railcar, scene_of


def square_scene() -> Scene:
    """A black square of 20 x 20 points in the middle of 40 x 40, with a hole of 10 x 10."""
    rings = (rectangle((10.0, 10.0, 30.0, 30.0)), rectangle((15.0, 15.0, 25.0, 25.0)))
    return Scene((0.0, 0.0, 40.0, 40.0), (Shape(rings, "#000000"),))


def pixels(content: bytes) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    return np.asarray(Image.open(io.BytesIO(content)).convert("L"))


def test_shape_lands_where_the_scene_says_and_holes_stay_open() -> None:
    grey = pixels(picture_bytes(square_scene(), "png", 72))
    assert grey.shape == (40, 40)
    dark = np.zeros((40, 40), dtype=bool)
    dark[10:30, 10:30] = True
    dark[15:25, 15:25] = False
    np.testing.assert_array_equal(grey < 128, dark)


def test_up_is_up() -> None:
    scene = Scene((0.0, 0.0, 40.0, 40.0), (Stroke(np.array([(0.0, 35.0), (40.0, 35.0)]), Pen("#000000", 2.0)),))
    rows = np.flatnonzero((pixels(picture_bytes(scene, "png", 72)) < 128).any(axis=1))
    assert rows.min() >= 3 and rows.max() <= 6


def test_dollar_signs_are_letters_and_unknown_letters_are_no_fault(recwarn: pytest.WarningsRecorder) -> None:
    label = Label("pump $x^2$ \u6c34", (5.0, 20.0), 6.0, "#000000")
    assert (pixels(picture_bytes(Scene((0.0, 0.0, 90.0, 40.0), (label,)), "png", 72)) < 128).any()
    assert not recwarn.list


def test_size_on_paper() -> None:
    scene = scene_of(railcar())
    height, width = pixels(picture_bytes(scene, "png")).shape
    assert width == 1600
    assert height == pytest.approx(scene.size_pt[1] * 2.0, abs=1.0)


@cache
def twice() -> tuple[Scene, Scene]:
    return scene_of(railcar()), scene_of(railcar())


@for_each(*ENDINGS)
def test_same_scene_gives_the_same_file(ending: str) -> None:
    first, second = (picture_bytes(scene, ending) for scene in twice())
    assert first == second
    starts = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}
    assert first.startswith(starts[ending])
    assert b"CreationDate" not in first and b"dc:date" not in first


@pytest.mark.parametrize("ending", ENDINGS)
def test_writes_over_an_old_file_and_leaves_nothing_else(tmp_path: Path, ending: str) -> None:
    target = tmp_path / f"picture.{ending}"
    target.write_text("old")
    paint(Scene((0.0, 0.0, 9.0, 9.0), (Shape((circle((4.0, 4.0), 3.0),), "#000000"),)), str(target))
    assert target.read_bytes() != b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_folder_that_is_not_there_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(OSError):
        paint(square_scene(), str(tmp_path / "none" / "picture.png"))
    assert not list(tmp_path.iterdir())


def test_svg_holds_its_words_as_text_with_a_title_and_a_description() -> None:
    """Read back as XML. Source of `title` and `desc`: SVG 1.1, 5.4."""
    root = ElementTree.fromstring(picture_bytes(scene_of(railcar()), "svg"))
    name = "{http://www.w3.org/2000/svg}"
    assert root.findtext(f"{name}title") == "Railcar (invented)"
    assert (root.findtext(f"{name}desc") or "").startswith("verdict of the test. Belt 6PK1685")
    words = {"".join(text.itertext()) for text in root.iter(f"{name}text")}
    assert {"generator", "crankshaft, DRIVER", "Railcar (invented)"} <= words


def test_words_with_signs_of_xml_stay_words_in_a_description() -> None:
    scene = replace(square_scene(), title="<b> & co", about="a < b & c")
    root = ElementTree.fromstring(picture_bytes(scene, "svg"))
    told = [root.findtext(f"{{http://www.w3.org/2000/svg}}{tag}") for tag in ("title", "desc")]
    assert told == ["<b> & co", "a < b & c"]


def test_pdf_has_a_title_and_is_a_sheet_of_paper_that_holds_the_picture_at_its_own_size() -> None:
    """Sizes read back with PDFium. Source: ISO 216:2007: A3 is 297 x 420 mm."""
    document = pypdfium2.PdfDocument(picture_bytes(scene_of(railcar()), "pdf"))
    assert document.get_metadata_dict()["Title"] == "Railcar (invented)"
    assert document.get_page_size(0) == pytest.approx((297.0 * 72.0 / 25.4, 420.0 * 72.0 / 25.4), abs=0.01)
    assert "crankshaft, DRIVER" in document[0].get_textpage().get_text_bounded()


def test_png_has_a_palette_and_the_colours_of_the_picture() -> None:
    """No pixel is far from what was drawn, however few have its colour; areas have the colour that was drawn."""
    scene = scene_of(railcar())
    picture = Image.open(io.BytesIO(picture_bytes(scene, "png")))
    assert picture.mode == "P" and picture.info["dpi"] == pytest.approx((144.0, 144.0), abs=0.1)
    with own_settings():
        drawn = pixels_of(figure_of(scene), 144.0).astype(float)
    got = np.asarray(picture.convert("RGB"), dtype=float)
    assert np.abs(got - drawn).max() < 16.0 and (got[:20] == 255.0).all()
    for colour in (255.0 * np.array(list(map(to_rgb, (METAL, OBSTACLE))))).round():
        area = got[(drawn == colour).all(axis=-1)]
        assert len(area) > 1000 and (area == colour).all()

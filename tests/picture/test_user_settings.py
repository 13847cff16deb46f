"""What a user has set for matplotlib, in files, in the environment or in a running notebook, changes no picture."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import matplotlib
import pypdfium2
import pytest

from beltplan.cli.main import main
from beltplan.picture import painter
from beltplan.picture.painter import ENDINGS, WrongPaper, document_bytes, of_sizes, picture_bytes
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Label, Scene, Shape, Stroke, circle
from tests.for_each import for_each

TOP = Path(__file__).parents[2]
SET = """
savefig.bbox: tight
savefig.pad_inches: 4
savefig.dpi: 31
savefig.transparent: True
figure.facecolor: red
figure.constrained_layout.use: True
pdf.use14corefonts: True
pdf.compression: 0
svg.fonttype: none
path.sketch: 1, 100, 2
text.antialiased: False
lines.antialiased: False
image.resample: False
hatch.color: green
font.size: 40
"""
A4_PT = (210.0 * 72.0 / 25.4, 297.0 * 72.0 / 25.4)
"""Source: ISO 216:2007."""


def small_scene() -> Scene:
    pen = Pen("#203040", 1.3, (3.0, 2.0))
    ring = Shape((circle((30.0, 20.0), 15.0),), "#d0d0c0", pen, True)
    words = Label("6PK1500 \N{DEGREE SIGN}", (5.0, 3.0), 9.0, "#000000", True)
    return Scene((0.0, 0.0, 90.0, 40.0), (ring, Stroke(ring.rings[0], pen), words))


@pytest.mark.parametrize("ending", ENDINGS)
def test_settings_of_a_running_notebook_change_no_byte_and_stay_as_they_were(ending: str, tmp_path: Path) -> None:
    plain = picture_bytes(small_scene(), ending)
    (tmp_path / "matplotlibrc").write_text(SET)
    with matplotlib.rc_context(fname=str(tmp_path / "matplotlibrc")):
        before = dict(matplotlib.rcParams)
        assert picture_bytes(small_scene(), ending) == plain
        assert dict(matplotlib.rcParams) == before and before["savefig.bbox"] == "tight"


def _printed(folder: Path, **environment: str) -> bytes:
    out = folder / "print.pdf"
    command = [
        sys.executable,
        "-m",
        "beltplan",
        "template",
        "tests/cases/two_pulley.yaml",
        "--paper",
        "A4",
        "--out",
        str(out),
    ]
    held = {**os.environ, "PYTHONPATH": str(TOP), **environment}
    ran = subprocess.run(command, cwd=TOP, env=held, capture_output=True, text=True, check=False)
    assert ran.returncode in (0, 1) and ran.stderr == ""
    return out.read_bytes()


def test_a_file_of_settings_does_not_take_the_paper_from_a_print(tmp_path: Path) -> None:
    """Sizes read back with PDFium, to a hundredth of a point."""
    (tmp_path / "matplotlibrc").write_text(SET)
    document = pypdfium2.PdfDocument(BytesIO(_printed(tmp_path, MATPLOTLIBRC=str(tmp_path))))
    sizes = [sorted(document.get_page_size(i)) for i in range(len(document))]
    assert sizes and all(size == pytest.approx(A4_PT, abs=0.01) for size in sizes)


def test_a_backend_that_is_not_there_stops_no_picture(tmp_path: Path) -> None:
    assert _printed(tmp_path, MPLBACKEND="module://of_a_notebook.elsewhere").startswith(b"%PDF")


@for_each(((100.0, 50.02),), ((50.0, 100.0),), ((550.0, 646.0),))
def test_pages_of_another_size_are_refused_in_words(size_pt: tuple[float, float]) -> None:
    pdf = document_bytes([Scene((0.0, 0.0, 100.0, 50.0))], "one page")
    assert of_sizes(pdf, [(100.0, 50.0)]) == pdf
    with pytest.raises(WrongPaper, match=r"the pages came out as 35\.3 x 17\.6 mm, wanted .* mm; nothing was written"):
        of_sizes(pdf, [size_pt])


def test_a_page_too_many_and_bytes_without_a_page_are_refused() -> None:
    pdf = document_bytes([Scene((0.0, 0.0, 100.0, 50.0))], "one page")
    for content, sizes in ((pdf, [(100.0, 50.0)] * 2), (b"%PDF-1.4\n", [(100.0, 50.0)])):
        with pytest.raises(WrongPaper):
            of_sizes(content, sizes)


def test_a_print_of_another_size_is_refused_and_not_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(painter, "_PAGE_BOX", re.compile(rb"/Media(Nothing)"))
    assert main(["template", str(TOP / "tests/cases/two_pulley.yaml"), "--out", str(tmp_path / "print.pdf")]) == 2
    assert "the pages came out as" in capsys.readouterr().err and not list(tmp_path.iterdir())

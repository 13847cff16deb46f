"""Wishes in a PDF, read back by general-purpose readers of PDF (pdfplumber, PDFium)."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pdfplumber
import pypdfium2

from beltplan.picture.painter import document_bytes
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Scene, Stroke


def _document() -> bytes:
    stroke = Stroke(np.array([(10.0, 10.0), (60.0, 10.0)]), Pen("#000000"))
    scenes = [Scene((0.0, 0.0, 100.0, 50.0), (stroke,)), Scene((0.0, 0.0, 80.0, 50.0), (stroke,))]
    return document_bytes(scenes, "two pages")


def test_both_readers_find_the_pages_and_the_wishes() -> None:
    pdf = _document()
    with pdfplumber.open(BytesIO(pdf)) as pages:
        assert [(float(page.width), float(page.height)) for page in pages.pages] == [(100.0, 50.0), (80.0, 50.0)]
        wishes = {key: value.name for key, value in pages.doc.catalog["ViewerPreferences"].items()}
        assert wishes == {"PrintScaling": "None", "Duplex": "Simplex"}
        assert pages.metadata["Title"] == "two pages"
    other = pypdfium2.PdfDocument(pdf)
    assert [other.get_page_size(i) for i in range(len(other))] == [(100.0, 50.0), (80.0, 50.0)]

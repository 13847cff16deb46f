"""Wishes added to the end of a PDF, read back by general-purpose readers of PDF (pdfplumber, PDFium)."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pdfplumber
import pypdfium2

from beltplan.picture.painter import WISHES, asking_for_full_size, document_bytes
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Scene, Stroke
from tests.for_each import for_each

PLAIN = b"%PDF-1.4\nno catalogue here\nstartxref\n0\n%%EOF\n"


def _document() -> bytes:
    stroke = Stroke(np.array([(10.0, 10.0), (60.0, 10.0)]), Pen("#000000"))
    scenes = [Scene((0.0, 0.0, 100.0, 50.0), (stroke,)), Scene((0.0, 0.0, 80.0, 50.0), (stroke,))]
    return document_bytes(scenes, "two pages")


def test_both_readers_find_the_pages_and_the_wishes() -> None:
    pdf = _document()
    with pdfplumber.open(BytesIO(pdf)) as pages:
        assert [(float(page.width), float(page.height)) for page in pages.pages] == [(100.0, 50.0), (80.0, 50.0)]
        assert set(pages.doc.catalog["ViewerPreferences"]) == {"PrintScaling", "Duplex"}
        assert pages.metadata["Title"] == "two pages"
    other = pypdfium2.PdfDocument(pdf)
    assert [other.get_page_size(i) for i in range(len(other))] == [(100.0, 50.0), (80.0, 50.0)]


def test_the_first_part_is_left_as_it_was() -> None:
    pdf = _document()
    before = pdf[: pdf.index(b"%%EOF\n") + 6]
    assert WISHES not in before
    assert asking_for_full_size(before) == pdf


@for_each("pdf", [b"", PLAIN, b"%PDF-1.4\n1 0 obj\n<< /Type /Catalog >>\nendobj\n"])
def test_what_is_not_understood_is_left_alone(pdf: bytes) -> None:
    assert asking_for_full_size(pdf) == pdf

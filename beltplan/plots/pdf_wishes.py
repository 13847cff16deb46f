"""What a PDF asks of the program that prints it: its own size, one side of the paper."""

from __future__ import annotations

import re

_CATALOGUE = re.compile(rb"^(\d+) 0 obj\s*<<([^<>]*/Type\s*/Catalog[^<>]*)>>", re.MULTILINE)
_TRAILER = re.compile(rb"trailer\s*<<(.*?)>>\s*startxref\s+(\d+)\s+%%EOF\s*$", re.DOTALL)
_SIZE = re.compile(rb"/Size\s+(\d+)")
WISHES = b"/ViewerPreferences << /PrintScaling /None /Duplex /Simplex >>"
"""Source: ISO 32000-1:2008, 12.2, table 150."""


def asking_for_full_size(pdf: bytes) -> bytes:
    """A PDF with these wishes added at its end; as it is where its plain catalogue and table cannot be found.

    Source: ISO 32000-1:2008, 7.5.6, incremental updates: an object that is written again counts, with a table of its
    own that names the one before.
    """
    catalogue, trailer = _CATALOGUE.search(pdf), _TRAILER.search(pdf)
    if catalogue is None or trailer is None or _SIZE.search(trailer[1]) is None:
        return pdf
    number = int(catalogue[1])
    body = pdf if pdf.endswith(b"\n") else pdf + b"\n"
    again = b"%d 0 obj\n<<%s %s >>\nendobj\n" % (number, catalogue[2].rstrip(), WISHES)
    table = b"xref\n%d 1\n%010d 00000 n \n" % (number, len(body))
    end = b"trailer\n<<%s /Prev %d >>\nstartxref\n%d\n%%%%EOF\n" % (
        trailer[1].rstrip(),
        int(trailer[2]),
        len(body) + len(again),
    )
    return body + again + table + end

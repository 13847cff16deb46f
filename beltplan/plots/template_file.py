"""A template as a PDF file."""

from __future__ import annotations

from beltplan.plots.painter import document_bytes
from beltplan.plots.picture_file import write_whole
from beltplan.plots.template_sheets import Template, page_scenes
from beltplan.plots.template_strip import Heading


def write_template(template: Template, heading: Heading, path: str) -> None:
    """Write all sheets, the file whole or not at all; the same template and date give the same file.

    Raises OSError where the file cannot be written.
    """
    write_whole(path, document_bytes(page_scenes(template, heading), heading.title))

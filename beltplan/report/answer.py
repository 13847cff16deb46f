"""What every report has: its title, parts under each other, sources under letters, SAFETY last."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from beltplan.drive.layout import Layout, Units
from beltplan.report.screen import Block, Footnotes, Paragraph, Report
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT

MORE = "more: --full"


def title_words(layout: Layout) -> str:
    """The title of a layout, and which variant of it."""
    return layout.title + (f" (variant: {layout.variant})" if layout.variant else "")


def title_of(layout: Layout) -> Paragraph:
    """The same as the head of a report."""
    return Paragraph(title_words(layout))


def report_of(units: Units, parts: Iterable[Sequence[Block]], notes: Footnotes, full: bool, more: str = MORE) -> Report:
    """Parts with an empty line between them, the letters' legend, where more stands, and SAFETY."""
    every: list[Sequence[Block]] = [
        *parts,
        [*notes.legend(), *([] if full or not more else [more])],
        [Paragraph(SAFETY if full else SAFETY_IN_SHORT, "SAFETY  ")],
    ]
    return Report(tuple(block for part in every if part for block in [*part, ""])[:-1], units)

"""What every report has: its title, parts under each other, sources under letters, SAFETY last."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from beltplan.drive.layout import Layout, Units
from beltplan.report.screen import Block, Footnotes, Paragraph, Report
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT

MORE = "more: --full"
MadeWorse = Mapping[str, tuple[int | None, int | None]]
"""Other layouts of a file that a change gives more problems, by name: before and after, None for no belt path."""


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


def made_worse_words(worse: MadeWorse) -> str:
    """The other layouts of the file that a change goes into, to their harm."""
    told = (
        f"{name} ({before} before, {'no belt path' if after is None else after} now)"
        for name, (before, after) in worse.items()
    )
    return f"the change goes into these layouts of the file too, and gives them more problems: {', '.join(told)}"


def made_worse_json(worse: MadeWorse) -> list[dict[str, Any]]:
    """The same for JSON."""
    return [
        {"variant": name, "problems_before": before, "problems_after": after} for name, (before, after) in worse.items()
    ]

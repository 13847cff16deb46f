"""A layout before and after its best cure, side by side, as a picture file."""

from __future__ import annotations

from beltplan.checks.comparison import Column, Comparison
from beltplan.cure.changes import words_of
from beltplan.cure.study import Cures
from beltplan.picture.cells import Table, compare_scene
from beltplan.picture.painter import paint
from beltplan.picture.scene import Scene


def draw_cure(cures: Cures, verdicts: tuple[str, ...], table: Table, answer: str, path: str) -> None:
    """Write the picture; the file's ending says which kind: png, svg or pdf.

    verdicts, table: of what is drawn: before, and after where there is a cure or a nearest one.
    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    paint(cure_scene(cures, verdicts, table, answer), path)


def cure_scene(cures: Cures, verdicts: tuple[str, ...], table: Table, answer: str) -> Scene:
    """Before and after at one scale, in the cells of a comparison."""
    after = cures.best or cures.nearest
    columns = [Column("before", cures.layout, cures.before)]
    if after is not None:
        lead = "after" if cures.best is not None else "the nearest, not a cure"
        columns.append(Column(f"{lead}: {words_of(after.changes)}", after.layout, after.judged))
    # Numbered as they follow each other, not ranked.
    which = tuple(range(len(columns)))
    shown = Comparison(tuple(columns), which, tuple(i + 1 for i in which))
    return compare_scene(shown, verdicts, table, answer[:1].upper() + answer[1:])

"""Tables, lengths and forces made at random, as a reader with a ruler finds them on the screen."""

import re
from fractions import Fraction

import numpy as np
import pytest

from beltplan.report.screen import (
    Cell,
    Column,
    Columns,
    Report,
    Screen,
    Table,
    columns_lines,
    in_units,
    shown,
    tape_words,
)
from tests.for_each import for_each

WORDS = ("crank", "tensioner", "water_pump", "idler on the back", "-", "x")
GAP = "  "


def _made(seed: int) -> tuple[Table, list[list[str]]]:
    """A table, and its cells as they are told."""
    rng = np.random.default_rng(seed)
    columns, cells = [Column("name", left=True)], [[f"pulley_{i}" for i in range(5)]]
    told: list[list[Cell]] = [list(cells[0])]
    for i in range(int(rng.integers(2, 9))):
        left = bool(rng.random() < 0.4)
        decimals = int(rng.integers(0, 4))
        numbers = [round(float(each), decimals) for each in rng.normal(0.0, 300.0, 5)]
        own = [str(rng.choice(WORDS)) for _ in range(5)] if left else [f"{each:.{decimals}f}" for each in numbers]
        columns.append(Column(f"head {i}" * int(rng.integers(1, 3)), left, int(rng.integers(0, 4))))
        cells.append(own)
        told.append(list(own))
    columns.append(Column("last", left=True))
    told.append(["end"] * 5)
    cells.append(["end"] * 5)
    return Table(columns, list(zip(*told, strict=True))), cells


@for_each(*range(40))
def test_a_table_leaves_out_the_highest_number_first_until_it_fits(seed: int) -> None:
    table, cells = _made(seed)
    wide = {i: max(len(column.head), *map(len, cells[i])) for i, column in enumerate(table.columns)}
    for width in (30, 60, 80, 100, 200):
        kept = list(wide)
        while sum(wide[i] for i in kept) + len(GAP) * (len(kept) - 1) > width:
            most = max(table.columns[i].drop for i in kept)
            if not most:
                break
            kept = [i for i in kept if table.columns[i].drop != most]
        lines = shown(Report((table,)), Screen(width)).splitlines()
        assert [part for part in re.split(r" {2,}", lines[0].strip())] == [table.columns[i].head for i in kept]
        starts = np.cumsum([0, *(wide[i] + len(GAP) for i in kept)])
        for row, line in enumerate(lines[1:]):
            for i, at in zip(kept, starts.tolist(), strict=False):
                cell = line[at : at + wide[i]]
                assert cell.strip() == cells[i][row], (cell, cells[i][row])
                assert (
                    cell.startswith(cells[i][row]) if table.columns[i].left else cell.rstrip().endswith(cells[i][row])
                )


@for_each(*range(12))
def test_numbers_of_a_column_stand_by_their_point(seed: int) -> None:
    rng = np.random.default_rng(seed)
    cells = [f"{value:.{digits}f}" for value, digits in zip(rng.normal(0, 99, 6), rng.integers(0, 4, 6), strict=True)]
    lines = shown(
        Report((Table((Column("a"), Column("", left=True)), [(c, "|") for c in cells]),)), Screen()
    ).splitlines()
    pointed = [cell for cell in cells if "." in cell]
    assert len({line.find(".") for line in lines[1:] if "." in line}) == (1 if pointed else 0)
    assert [line.split()[0] for line in lines[1:]] == cells


@for_each(*range(16))
def test_columns_side_by_side_hold_every_word_in_their_own(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 7))
    heads = tuple(f"layout_{i}" for i in range(count))
    rows = tuple(
        (f"row {i}", tuple(" ".join(rng.choice(WORDS, int(rng.integers(1, 7)))) for _ in heads)) for i in range(4)
    )
    for width in (72, 100):
        lines = list(columns_lines(Columns(heads, rows), width))
        assert max(map(len, lines)) <= width
        for block in "\n".join(lines).split("\n\n"):
            first, *below = block.splitlines()
            own = first.split()
            at = [first.index(head) for head in own]
            ends = [*at[1:], width]
            for i, head in enumerate(own):
                column = heads.index(head)
                got = " ".join(line[at[i] : ends[i]].strip() for line in below).split()
                assert got == " ".join(cells[column] for _, cells in rows).split()
        assert " ".join(word for line in lines for word in line.split() if word.startswith("layout_")) == " ".join(
            heads
        )


def test_a_tape_shows_sixty_fourths_as_the_smallest_fraction() -> None:
    """By `fractions` of Python; what is no whole number of them is told in thousandths."""
    for parts in range(-200, 700):
        value = Fraction(parts, 64)
        whole, left = divmod(abs(value), 1)
        words = " ".join([str(whole)] * (whole > 0 or not left) + [str(left)] * (left > 0))
        assert tape_words(25.4 * parts / 64, True) == f"{'-' if parts < 0 else ''}{words} in"
        between = 25.4 * (parts + 0.4) / 64
        assert tape_words(between, True) == f"{round(between / 25.4, 3):g} in"
        assert tape_words(25.4 * parts / 64, False) == f"{float(f'{25.4 * parts / 64:.2f}') + 0.0:.10g} mm"


@for_each(0, 1, 2, 3)
def test_lengths_and_forces_in_words_are_those_of_their_numbers(decimals: int) -> None:
    """Inches: one decimal more than the mm have, two at least. Pounds: whole from 10 on, else tenths."""
    rng = np.random.default_rng(decimals)
    for value in [*rng.uniform(0.0, 900.0, 60), *rng.uniform(0.0, 3.0, 20)]:
        told = f"{value:.{decimals}f}"
        inches = in_units(f"at {told} mm of it", "in")
        found = re.fullmatch(r"at (\d+\.\d+) in of it", inches)
        assert found is not None
        given, least = float(told) / 25.4, max(2, decimals + 1)
        digits = len(found[1].partition(".")[2])
        assert digits == least or (digits == least + 1 and 0.0 < given < 0.5 * 10.0**-least)
        assert float(found[1]) == pytest.approx(given, abs=0.501 * 10.0**-digits)
        pounds = re.fullmatch(rf"pulls {re.escape(told)} N \((\d+|\d\.\d) lbf\)", in_units(f"pulls {told} N", "in"))
        assert pounds is not None
        assert float(pounds[1]) == pytest.approx(float(told) / 4.4482216152605, abs=0.501 * 10.0 ** -("." in pounds[1]))
        assert ("." in pounds[1]) == (float(told) / 4.4482216152605 < 10.0)
    assert in_units(f"{1:.{decimals}f} mm", "mm") == f"{1:.{decimals}f} mm"

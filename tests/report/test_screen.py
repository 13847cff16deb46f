"""Blocks on a screen: widths, units, columns that give way, numbers and units together, letters for sources."""

from __future__ import annotations

import io
import re

import pytest
from hypothesis import given as for_any
from hypothesis import strategies as st

from beltplan.checks.limits import against
from beltplan.drive.layout import Units
from beltplan.report.rows import number_words
from beltplan.report.screen import (
    PIPE_WIDTH,
    Column,
    Footnotes,
    Paragraph,
    Report,
    Screen,
    Table,
    in_units,
    screen_of,
    shown,
    told_columns,
)
from tests.for_each import for_each

LONG = "a belt of 2050 mm goes round seven pulleys and leaves 10.6 mm to the short stop and 14.6 mm to the long stop"


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("width", [72, 80, 100, 160])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_paragraph_keeps_within_the_width_and_keeps_numbers_with_their_units(width: int, units: Units) -> None:
    lines = shown(Report((Paragraph(f"{LONG}. {LONG}", "BUY      "),), units), Screen(width)).splitlines()
    assert max(map(len, lines)) <= width
    assert lines[0].startswith("BUY      a belt") and all(line.startswith(" " * 9) for line in lines[1:])
    assert not any(line.split()[0] in ("mm", "in") for line in lines)


@for_each(
    ("12.7 mm of free span", "0.50 in of free span"),
    ("-10.6 and +14.6 mm of belt", "-0.42 and +0.57 in of belt"),
    ("from x -25.4 to 50.8 mm", "from x -1.00 to 2.00 in"),
    ("at x 115, y 91 mm", "at x 4.53, y 3.58 in"),
    ("1,003.3 mm", "39.50 in"),
    ("0.254 mm", "0.0100 in"),
    # What is not zero in mm does not read as zero in inches.
    ("overlap by 0.1 mm", "overlap by 0.004 in"),
    ("0.01 mm of belt a degree", "0.0004 in of belt a degree"),
    ("0.0 mm of free span", "0.00 in of free span"),
    ("2039.4 to 2064.4 mm (80.29 to 81.28 in)", "2039.4 to 2064.4 mm (80.29 to 81.28 in)"),
    ("-1.79 mm/mm, min_gap_mm 15", "-1.79 mm/mm, min_gap_mm 15"),
    ("add an idler of 65 mm at x 10, y 20 mm", "add an idler of 2.56 in (65 mm) at x 0.39, y 0.79 in"),
    ("a pulley of 42 mm would do", "a pulley of 1.65 in (42 mm) would do"),
    ("43.5 mm past a, 36.8 mm short of b. Belts 5 mm", "1.71 in past a, 1.45 in short of b. Belts 0.20 in"),
    ("a pulley of 63.5 mm (2.5 in)", "a pulley of 63.5 mm (2.5 in)"),
)
def test_lengths_are_told_in_inches_but_where_both_stand(mm: str, inches: str) -> None:
    """An inch is 25.4 mm by definition (ISO 31-1)."""
    assert in_units(mm, "in") == inches == in_units(inches, "in")
    assert in_units(mm, "mm") == mm


@for_each(
    ("1202 N toward 233 deg", "1202 N (270 lbf) toward 233 deg"),
    ("301 to 406 N with friction", "301 to 406 N (68 to 91 lbf) with friction"),
    ("1,000 N", "1,000 N (225 lbf)"),
    ("9 N a rib", "9 N (2.0 lbf) a rib"),
    ("353 N (59 N a rib)", "353 N (79 lbf) (59 N, 13 lbf a rib)"),
    ("3.5 N/mm, 12 Nm", "3.5 N/mm, 12 Nm (8.9 ft-lb)"),
)
def test_who_measures_in_inches_reads_pounds_beside_newtons(newton: str, both: str) -> None:
    """A pound-force is 4.4482216 N by definition, a foot-pound 1.3558179 N m (ISO 80000-4, NIST SP 811)."""
    assert in_units(newton, "in") == both
    assert in_units(newton, "mm") == newton


def test_a_table_has_pounds_beside_newtons_where_there_is_room_and_else_alone() -> None:
    table = Table(
        (Column("span", left=True), Column("max N", force="N"), Column("way")), [("crank to fan", 889.6, "1")]
    )
    wide, narrow = (shown(Report((table,), "in"), Screen(width)).splitlines() for width in (40, 28))
    assert wide == ["span          max N  max lbf  way", "crank to fan    890      200    1"]
    assert narrow == ["span          max lbf  way", "crank to fan      200    1"]
    assert shown(Report((table,)), Screen()).splitlines() == ["span          max N  way", "crank to fan    890    1"]


def test_pounds_of_a_table_are_those_of_a_sentence() -> None:
    """1 lbf is 4.4482216 N by definition (NIST SP 811, B.8): 2666.6 N are 599.48, the 2667 N told 599.57."""
    cells = told_columns(Table([Column("max N", force="N")], [[2666.6]]), "in")
    assert [column[1] for _, column in cells] == ["2667", "600"]
    assert in_units("2667 N", "in") == "2667 N (600 lbf)"
    few = told_columns(Table([Column("N a rib", force="N")], [[20.4]]), "in")
    assert [column[1] for _, column in few] == ["20", "4.6"], "tenths are of the force itself"


COLUMNS = (
    *(Column("pulley", left=True), Column("role", left=True, drop=2), Column("x", decimals_mm=1)),
    *(Column("wrap"), Column("idle", drop=1)),
)
ROWS = (("crankshaft_nose", "crankshaft", 0.0, "167.2", "700"), ("guide", "idler", -174.0, "31.25", None))


def test_a_table_tells_lengths_in_the_units_and_aligns_numbers_by_their_point() -> None:
    lines = shown(Report((Table(COLUMNS, ROWS),), "in"), Screen()).splitlines()
    assert lines == [
        "pulley           role         x in    wrap  idle",
        "crankshaft_nose  crankshaft   0.00  167.2    700",
        "guide            idler       -6.85   31.25     -",
    ]


@for_each((50, 5), (40, 4), (30, 3), (5, 3))
def test_a_narrow_screen_leaves_columns_out_and_never_letters(width: int, heads: int) -> None:
    lines = shown(Report((Table(COLUMNS, ROWS),)), Screen(width)).splitlines()
    assert len(lines[0].replace(" mm", "").split()) == heads
    assert lines[1].startswith("crankshaft_nose")


def test_words_in_the_last_column_go_on_below() -> None:
    table = Table(
        (Column("mode"), Column("what moves", left=True)), [("1", "crank and fan against pump"), ("2", "fan")]
    )
    assert shown(Report((table,)), Screen(24)).splitlines() == [
        "mode  what moves", "   1  crank and fan", "      against pump", "   2  fan",
    ]  # fmt: skip


@for_each(*range(40))
def test_a_command_is_not_broken_in_two(blanks: int) -> None:
    text = shown(Report((Paragraph("a " * blanks + "no belt fits: `beltplan check` tells more"),)), Screen(72))
    assert "`beltplan check`" in text


def test_a_severity_is_coloured_on_a_terminal_only_and_keeps_its_word(monkeypatch: pytest.MonkeyPatch) -> None:
    report = Report((Paragraph("crank: slips", "  problem  "),))
    monkeypatch.setenv("COLUMNS", "40")
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert screen_of(Terminal()) == Screen(72, True)
    assert shown(report, screen_of(Terminal())) == "\033[1;31m  problem  \033[0mcrank: slips"
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "120")
    assert screen_of(Terminal()) == Screen(120, False)
    assert screen_of(io.StringIO()) == screen_of(None) == Screen(PIPE_WIDTH, False)


def test_a_source_has_one_letter_however_often_it_is_told() -> None:
    notes = Footnotes()
    assert [notes.mark(text) for text in ("table", "practice", "table")] == ["(a)", "(b)", "(a)"]
    assert shown(Report(tuple(notes.legend())), Screen()) == "(a) table\n(b) practice"


@for_any(st.floats(-1.0, 1.0), st.integers(0, 3), st.sampled_from(["mm", "in"]))
def test_no_number_is_a_negative_zero(value: float, decimals: int, units: Units) -> None:
    table = Table((Column("a", decimals_mm=decimals), Column("b", force="N"), Column("c")), [(value, value, "-")])
    told = [*shown(Report((table,), units), Screen()).split(), number_words(value, decimals)]
    told += [in_units(f"{value:.{decimals}f} mm", "in"), *against(value, 2.0, decimals)]
    assert not [each for each in told if re.match(r"-0(\.0+)?$", each.removesuffix(" in"))]

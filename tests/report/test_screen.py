"""Blocks on a screen: widths, units, columns that give way, numbers and units together, letters for sources."""

import io
import os
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given as for_any
from hypothesis import strategies as st

from beltplan import __version__
from beltplan.checks.limits import Finding, Severity, against
from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Units
from beltplan.report.rows import number_words
from beltplan.report.screen import (
    PIPE_WIDTH,
    Column,
    Columns,
    Footnotes,
    Paragraph,
    Report,
    Screen,
    Table,
    columns_lines,
    in_units,
    screen_of,
    shown,
    told_columns,
)
from beltplan.report.words import KEPT, SAFETY, role_words, source_words, unbroken
from tests.drive.drives import railcar
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
        "pulley           role        x, in    wrap  idle",
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


# The verdict in words, and the caution that always shows.


def of(severity: Severity) -> Finding:
    return Finding("check", severity, "it", "words", "source")


def _verdict(*severities: Severity) -> str:
    return replace(plan_of(railcar()), findings=tuple(map(of, severities))).verdict


@for_each(
    ((), "works on paper: nothing found"), (("note",), "works on paper: nothing found"),
    (("caution", "note"), "works on paper, with 1 caution to"), (("caution", "caution"), "with 2 cautions to"),
    (("problem",), "does not work as it stands: 1 problem"),
    (("caution", "problem", "problem", "note"), "does not work as it stands: 2 problems, 1 caution"),
)  # fmt: skip
def test_verdict(severities: tuple[Severity, ...], expected: str) -> None:
    assert expected in _verdict(*severities)


# What the caution must say is common practice of the trade, no source.
@for_each("engine off", "key out", "battery", "guards", "planning aids", "never an approval", "makers")
def test_the_caution_keeps_its_parts(part: str) -> None:
    assert part in SAFETY


def test_no_verdict_approves() -> None:
    assert "works on paper" in _verdict() and "safe" not in _verdict()


def test_role_in_words() -> None:
    assert role_words("air_conditioning") == "air conditioning"


def test_a_print_tells_its_files_by_name_and_day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """SOURCE_DATE_EPOCH (reproducible-builds.org) takes the place of every day; one beyond the calendar tells none."""
    paths = [str(tmp_path / name) for name in ("a.yaml", "b.yaml")]
    for path, day_s in zip(paths, (1_709_208_000, 1_000_000_000), strict=True):
        Path(path).touch()
        os.utime(path, (day_s, day_s))
    monkeypatch.delenv("SOURCE_DATE_EPOCH")
    version = f"beltplan {__version__}"
    assert source_words(*paths, paths[0]) == f"a.yaml of 2024-02-29, b.yaml of 2001-09-09; {version}"
    assert source_words(str(tmp_path / "gone.yaml"), variant="x") == f"gone.yaml; variant x; {version}"
    for given, day in (("0", " of 1970-01-01"), ("no number", " of 2024-02-29"), ("9" * 30, "")):
        monkeypatch.setenv("SOURCE_DATE_EPOCH", given)
        assert source_words(paths[0]) == f"a.yaml{day}; {version}"


def test_an_inch_is_not_torn_from_its_fraction() -> None:
    assert unbroken("read 16 13/16 in: 1 off") == f"read 16{KEPT}13/16{KEPT}in: 1 off"


# Things side by side: as many tables as the width needs, no name cut, numbers under each other by their point.


NAMES = tuple(f"bracket_of_the_{word}_alternator" for word in ("upper", "lower", "inner", "outer"))
WRAPS = ("7.5", "-128.25 (-135.75)", "slack", "7.5")
TABLE = Columns(NAMES, (("wrap, deg", WRAPS), ("  at", tuple(f"a pulley with the long name {i}" for i in range(4)))))


def test_no_line_passes_the_width_and_every_name_is_whole() -> None:
    for width in (72, 100, 140, 200):
        lines = list(columns_lines(TABLE, width))
        assert max(map(len, lines)) <= width
        assert all(any(name in line.split() for line in lines) for name in NAMES)


def test_what_does_not_fit_stands_in_further_tables_with_its_labels() -> None:
    starts = [sum(line.startswith("wrap, deg") for line in columns_lines(TABLE, width)) for width in (60, 72, 100, 200)]
    assert starts == [4, 4, 2, 1]


def test_words_go_on_below_in_their_own_column() -> None:
    lines = list(columns_lines(Columns(("base", "low"), (("  at", ("one two three four five six", "seven")),)), 34))
    assert [line[: line.find("seven") if "seven" in line else None].split() for line in lines[1:]] == [
        ["at", "one", "two", "three", "four"],
        ["five", "six"],
    ]
    assert lines[2].startswith(" " * (lines[1].index("one")) + "five")


def test_numbers_stand_under_each_other_by_their_point() -> None:
    rows = (("a", ("7.5", "1")), ("b", ("-128.25 (-135.75)", "22*")), ("c", ("slack", "6PK1990")))
    lines = list(columns_lines(Columns(("one", "two"), rows), 100))
    points = [re.search(r"\d\.\d", line) for line in lines[1:3]]
    assert points[0] and points[1] and points[0].start() == points[1].start()
    assert lines[1].rstrip()[-1] == "1" and lines[2].index("22*") == len(lines[1].rstrip()) - 2
    assert lines[3].index("slack") == lines[0].index("one") and lines[3].index("6PK1990") == lines[0].index("two")


def test_no_number_is_torn_from_its_unit() -> None:
    table = Columns(("base", "low"), (("  at", ("belt on alternator, 650 rpm and 12 mm", "crank, 1800 rpm")),))
    told = [line for width in range(72, 40, -1) for line in columns_lines(table, width)]
    assert told and not [line for line in told if re.search(r"\d( {2}|$)|(^|  )(mm|rpm)", line)]

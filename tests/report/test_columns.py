"""Things side by side: as many tables as the width needs, no name cut, numbers under each other by their point."""

from __future__ import annotations

import re

from beltplan.report.screen import Columns, columns_lines

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

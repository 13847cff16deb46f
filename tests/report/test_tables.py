"""Tables and paragraphs that stay inside the width."""

from __future__ import annotations

from beltplan.report.words import WIDTH, paragraph, table


def test_columns_line_up() -> None:
    assert table(["belt", "mm"], [["6PK900", "1.0"], ["x", "900.0"]]) == [
        "belt       mm",
        "6PK900    1.0",
        "x       900.0",
    ]


def test_the_widest_left_column_is_cut_with_an_ellipsis() -> None:
    lines = table(["name", "side", "mm"], [["n" * 150, "ribs", "1.0"]], left=2)
    assert max(len(line) for line in lines) == WIDTH and "n…  ribs  1.0" in lines[1]


def test_numbers_of_a_drive_are_never_cut() -> None:
    # Eight characters hold every coordinate, angle and speed of a drive: -12345.6.
    lines = table(["name", *"abcdefgh"], [["a name of some length " * 4, *["-12345.6"] * 8]])
    assert lines[1].count("-12345.6") == 8 and "…" in lines[1] and len(lines[1]) <= WIDTH


def test_a_word_longer_than_the_page_is_broken() -> None:
    lines = paragraph("w" * 250, "LEAD  ")
    assert lines[0].startswith("LEAD  w") and all(len(line) <= WIDTH for line in lines)
    assert "".join(line.strip() for line in lines).count("w") == 250

"""Widths of text against the font file itself."""

from __future__ import annotations

from pathlib import Path

import matplotlib
import pytest
from matplotlib.ft2font import FT2Font, LoadFlags

from beltplan.picture.scene import one_line, text_width_pt, wrapped
from tests.for_each import for_each

FONTS = Path(matplotlib.get_data_path(), "fonts", "ttf")
WORDS = ["crank", "alternator with the big fan", "Kühlwasserpumpe", "WWW 100 %", "wrap 151\N{DEGREE SIGN}", "lili/(1)"]


def font_width_em(text: str, file: str) -> float:
    """Sum of the advance widths in the font file, read by FreeType."""
    font = FT2Font(str(FONTS / file))
    advance = [font.load_char(ord(letter), flags=LoadFlags.NO_SCALE).horiAdvance for letter in text]
    return float(sum(advance)) / 2048.0


@for_each(*WORDS)
def test_plain_widths_are_those_of_the_font(text: str) -> None:
    assert text_width_pt(text, 10.0) == pytest.approx(10.0 * font_width_em(text, "DejaVuSans.ttf"), rel=1e-9)


@for_each(*WORDS)
def test_bold_widths_are_those_of_the_font(text: str) -> None:
    width = 10.0 * font_width_em(text, "DejaVuSans-Bold.ttf")
    assert text_width_pt(text, 10.0, True) == pytest.approx(width, rel=1e-9)


def test_letters_that_the_font_lacks_have_room() -> None:
    assert text_width_pt("\u6c34", 10.0) >= 10.0


def test_wrapped_lines_hold_every_word_and_keep_to_the_width() -> None:
    text = "lead the belt further round it with an idler beside it"
    lines = wrapped(text, 90.0, 9.0)
    assert " ".join(lines) == text
    assert all(text_width_pt(line, 9.0) <= 90.0 for line in lines) and len(lines) > 2


def test_a_word_too_long_is_cut() -> None:
    lines = wrapped("m" * 50, 60.0, 9.0)
    assert "".join(lines) == "m" * 50
    assert all(text_width_pt(line, 9.0) <= 60.0 for line in lines)


def test_a_word_too_long_is_cut_at_a_joint_and_goes_on_with_the_next() -> None:
    lines = wrapped("engine_bearer_right of it", 80.0, 9.0)
    assert lines == ("engine_bearer_", "right of it")


def test_no_number_is_torn_from_its_unit() -> None:
    for width in range(40, 200, 5):
        lines = wrapped("it is 12 mm long and 45 deg wide at 800 rpm", float(width), 9.0)
        assert not any(line.startswith(("mm", "deg", "rpm")) for line in lines)
        assert " ".join(lines) == "it is 12 mm long and 45 deg wide at 800 rpm"


def test_line_breaks_and_control_letters_go() -> None:
    assert one_line("a\nb\t\x07c") == "a b c" and one_line("set `side: back`") == "set 'side: back'"

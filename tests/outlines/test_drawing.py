"""Numbers of drawings by our own rules, and faults that are counted where they are many."""

from __future__ import annotations

import pytest

from beltplan.outlines.drawing import LARGEST, Wrong, WrongDrawing, counted, number_of, plain_number, refuse_many
from tests.for_each import for_each


@for_each(("5", 5.0), (" -.5 ", -0.5), ("1.", 1.0), ("+2.5E-3", 0.0025), ("1e9", LARGEST), ("-1e9", -LARGEST))
def test_numbers(text: str, value: float) -> None:
    assert number_of(text, 1, "x") == plain_number(text) == value


@for_each("", "nan", "inf", "1_0", "0x1", "1,5", "1e", "٣", "--1", "1 2")
def test_no_numbers(text: str) -> None:
    assert plain_number(text) is None
    with pytest.raises(WrongDrawing) as caught:
        number_of(text, 8, "x")
    (wrong,) = caught.value.wrong
    assert (wrong.got, wrong.allowed, wrong.line) == (f"{text!r} as x", "a number", 8)


@for_each("1.01e9", "-1.01e9", "1e400")
def test_too_large(text: str) -> None:
    with pytest.raises(WrongDrawing, match="at most 1e"):
        number_of(text, 1, "x")


@pytest.mark.parametrize(("count", "told", "last"), [(20, 20, "fault 19"), (21, 21, "1 more fault in the drawing")])
def test_many_faults_are_counted(count: int, told: int, last: str) -> None:
    with pytest.raises(WrongDrawing) as caught:
        refuse_many([Wrong(f"fault {n}", "none", n) for n in range(count)])
    assert len(caught.value.wrong) == told and caught.value.wrong[-1].got == last


def test_many_words_are_counted() -> None:
    assert counted("abc", 3) == "a, b, c" and counted("abcd", 3) == "a, b, c, and 1 more" and counted([]) == ""

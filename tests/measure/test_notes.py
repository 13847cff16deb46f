"""What leads a layout file that was written from measurements."""

from __future__ import annotations

from beltplan.measure.report import measure_notes
from tests.for_each import for_each
from tests.measure.measurings import STATES, made


@for_each(*STATES)
def test_notes_are_plain_and_say_that_this_is_no_approval(name: str) -> None:
    notes = measure_notes(made(name), "w\u00f6rk\n.yaml")
    assert all(note.isascii() and note.isprintable() for note in notes)
    words = " ".join(" ".join(notes).split())
    assert "from w\\xf6rk\\n.yaml" in words and "a plan on paper, not an approval" in words
    assert "one standard deviation of each place" in words


def test_what_is_wrong_is_noted() -> None:
    assert any(note.startswith("MISREAD: water_pump - alternator") for note in measure_notes(made("misread mm"), "a"))
    doubted = measure_notes(made("suspects"), "a")
    assert any(note.startswith("CONFLICT: ") for note in doubted) and any(
        note.startswith("SUSPECT: ") for note in doubted
    )
    assert any(note.startswith("LEVEL: nothing says what is level") for note in measure_notes(made("open frame"), "a"))
    assert any(note.startswith("CHECKED: no spare reading") for note in measure_notes(made("offsets"), "a"))


def test_nothing_wrong_needs_no_more_words() -> None:
    assert len(measure_notes(made("sound"), "a.yaml")) <= 6

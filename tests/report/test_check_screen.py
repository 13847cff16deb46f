"""The answer of `check` on one screen: what to buy first, what to do, the pulleys; everything else only when asked."""

from dataclasses import replace
from pathlib import Path

import pytest

from beltplan.checks.belt import NO_ADJUSTER
from beltplan.checks.plan import plan_of
from beltplan.cli.main import main
from beltplan.drive.mounts import Hole, Mark, Mount
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.answer import findings_blocks
from beltplan.report.check_text import check_report, headline, headline_beside
from beltplan.report.screen import PIPE_WIDTH, Footnotes, Paragraph, Screen, shown
from tests.for_each import for_each
from tests.report.results import LAYOUTS, report_from, text_of
from tests.shipped import SHIPPED_LAYOUTS

LINES, WORDS = 43, 400


MANY = "too_tight"
"""Nineteen findings by design: they take more than a screen."""


@pytest.mark.parametrize("layout", [each for each in SHIPPED_LAYOUTS if each.stem != MANY], ids=lambda path: path.stem)
@pytest.mark.parametrize("width", [72, 100])
def test_the_answer_fits_on_a_screen(layout: Path, width: int) -> None:
    text = shown(check_report(plan_of(read_layout(str(layout)).layout)), Screen(width))
    assert len(text.splitlines()) <= LINES and len(text.split()) <= WORDS
    assert max(map(len, text.splitlines())) <= width


def test_nine_pulleys_with_all_their_loads_take_no_more_words() -> None:
    """Invented: most of it fine, one pulley out of line for both its spans, too little current at idle."""
    plan = plan_of(read_layout(str(Path(__file__).parent / "nine_pulleys.yaml")).layout)
    told = [each for each in plan.findings if each.severity != "note"]
    assert len(plan.pulleys) == 9 and len(plan.slip) == 7
    assert {each.check for each in told} == {"misalignment", "current", "slip_on_revs"} and len(told) == 4
    text = shown(check_report(plan), Screen())
    assert len(text.split()) < WORDS and len(text.splitlines()) <= LINES


@for_each(((), None), (("compressor", "crane_pump"), "compressor, crane_pump"), (("guide",), "guide"))
def test_what_the_firing_shakes_is_not_judged_in_silence(lacking: tuple[str, ...], told: str | None) -> None:
    layout = read_layout(str(LAYOUTS / "railcar.yaml")).layout
    without = {name: replace(layout.pulleys[name], inertia_kgm2=None, role="other") for name in lacking}
    plan = plan_of(replace(layout, pulleys={**layout.pulleys, **without}))
    text, beside = text_of(plan, full=False), headline_beside(plan)
    line = f"\nshaking not judged: give inertia_kgm2 of {told}\n"
    assert line in text if told else "shaking" not in text
    says = told is not None and not plan.count("problem")
    assert beside == f"{headline(plan)}{'; shaking not judged' * says}: see `beltplan check`"


def test_what_is_only_planned_is_said_to_be_not_placed_yet() -> None:
    layout = read_layout(str(LAYOUTS / "railcar.yaml")).layout
    assert "not placed yet" not in text_of(plan_of(layout), full=False)
    planned = layout.with_pulley(replace(layout.pulleys["guide"], planned=True))
    for full in (False, True):
        told = text_of(plan_of(planned), full=full)
        assert "not placed yet: guide; how near to its place it must stand: `beltplan tolerance`" in told


def test_the_belt_to_buy_stands_with_every_length_that_would_do_and_never_with_another() -> None:
    """Path at the design setting is 2058.3 mm: a figure of the tensioner, told with it."""
    plan = plan_of(read_layout(str(LAYOUTS / "railcar.yaml")).layout)
    head = text_of(plan, full=False)
    assert (
        "BUY      8PK2050 (80.71 in), outside length 2064 mm (81.25 in)\n         any 8PK from 2039.4 to 2064.4 mm ("
        in head
    )
    assert "2058.3" not in head and "at its design setting 2058.3 mm" in " ".join(text_of(plan).split())


@for_each((True, False), (False, True), (True, True), (False, False))
def test_a_column_of_holes_and_marks_that_nothing_stands_in_is_left_out(size: bool, unsure: bool) -> None:
    layout = read_layout(str(LAYOUTS / "workboat.yaml")).layout
    idler = replace(layout.pulleys["idler"], mount=Mount((Hole((0.0, 40.0), 8.5),) if size else ()))
    marks = (Mark("card", (25.4, 50.8), 1.27 if unsure else None),)
    text = text_of(plan_of(replace(layout, pulleys={**layout.pulleys, "idler": idler}, marks=marks)))
    (head,) = (line for line in text.splitlines() if line.startswith("hole or mark"))
    assert ("diameter, in" in head, "+-, in" in head) == (size, unsure) and "y, in" in head


def test_a_layout_in_inches_is_answered_in_inches(tmp_path: Path) -> None:
    inches = (
        "units: in\n"
        + """\
belt: 6PK
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 4}
  far: {role: alternator, diameter: 4, slide: {from: [12, 1], to: [14, 1]}}
route: [crank, far]
"""
    )
    text = report_from(inches, tmp_path)
    assert "dia, in  x, in  y, in" in text and "4.00   0.00   0.00" in text and "length, in" in text
    assert (
        " mm" not in "\n".join(line for line in text.splitlines() if not line.startswith(("BUY", "         any")))[:400]
    )


def test_notes_wait_for_the_full_report(tmp_path: Path) -> None:
    given = LAYOUTS / "orchard_sprayer.yaml"
    plan = plan_of(read_layout(str(given)).layout)
    notes = [finding for finding in plan.findings if finding.severity == "note"]
    short, full = (" ".join(text_of(plan, each).split()) for each in (False, True))
    assert f"{len(notes)} notes with --full" in short and len(notes) > 2
    assert all(note.wrong not in short and note.about in full and note.advice in full for note in notes)


@for_each((1, ""), (2, "both"), (3, "all 3"))
def test_advice_says_for_how_many_it_stands(count: int, whose: str) -> None:
    told = [NO_ADJUSTER.find("caution", f"pulley {i}", "it squeals", "a larger one") for i in range(count)]
    _, *found, advice = findings_blocks(told, Footnotes())
    assert isinstance(advice, Paragraph) and len(found) == count
    assert (advice.text, advice.first) == ("a larger one", f"  {whose:8} ")


def test_beside_nothing_to_do_notes_are_no_more() -> None:
    plan = plan_of(read_layout(str(LAYOUTS / "orchard_sprayer.yaml")).layout)
    notes = tuple(finding for finding in plan.findings if finding.severity == "note")
    told = text_of(replace(plan, findings=notes), False).splitlines()
    assert told[told.index("TO DO  nothing") + 1].startswith(f"  {len(notes)} notes with --full")
    told = text_of(replace(plan, findings=notes[:1]), False).splitlines()
    assert told[told.index("TO DO  nothing") + 1].startswith("  1 note with --full")


def test_units_asked_for_are_those_told(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(LAYOUTS / "railcar.yaml"), "--units", "in"])
    told = capsys.readouterr().out
    assert "  7.48  167.2" in told and "wear 0.42 in of belt to the" in " ".join(told.split())
    assert "2039.4 to 2064.4 mm (80.29" in told


def test_full_reaches_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(LAYOUTS / "camper.yaml"), "--full"])
    told = capsys.readouterr().out
    assert "BELTS THAT FIT" in told and max(map(len, told.splitlines())) <= PIPE_WIDTH


def test_nothing_is_to_be_bought_while_a_problem_stands() -> None:
    """A mend of a wrap, an idler or another place, changes the belt's length."""
    for path in SHIPPED_LAYOUTS:
        plan = plan_of(read_layout(str(path)).layout)
        head = " ".join(text_of(plan, full=False).split())
        assert ("BUY no" in head) == bool(plan.count("problem")), path

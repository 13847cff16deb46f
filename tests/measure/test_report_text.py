"""The report of a measured drive: widths, what stands where, tables that agree with the study."""

import re
from dataclasses import replace

import pytest

from beltplan.drive.layout import Units
from beltplan.measure.advice import only_marks_feel
from beltplan.measure.readings import Distance, Measured
from beltplan.measure.report import accuracy_words, measure_report
from beltplan.measure.study import Measuring, measuring_of
from beltplan.measure.values import listed
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from tests.for_each import for_each
from tests.measure.measurings import CARD, STATES, inches, known_card, made, measured, photo, taped

W40 = "W" * 40


def measure_text(found: Measuring, units: Units = "mm", full: bool = True, width: int = 98) -> str:
    found = replace(found, measured=replace(found.measured, asked=units))
    return shown(measure_report(found, "a.yaml", full), Screen(width))


def long_names() -> Measured:
    """Names as long as they may be."""
    names = tuple(f"{i}{W40[1:]}" for i in range(4))
    pairs = [(a, b) for k, a in enumerate(names) for b in names[:k]]
    distances = tuple(
        Distance(a, b, 300.0 + 10.0 * i, 1.0, "outside", written=f"{300 + 10 * i}") for i, (a, b) in enumerate(pairs)
    )
    return Measured("x" * 300, names, names[0], distances, sides={})


@pytest.mark.parametrize("name", STATES)
@pytest.mark.parametrize("width", [72, 98])
def test_no_line_is_over_the_width_and_the_cautions_stand_last(name: str, width: int) -> None:
    for full, safety in ((True, SAFETY), (False, SAFETY_IN_SHORT)):
        text = measure_text(made(name), "in", full, width)
        assert max(len(line) for line in text.splitlines()) <= width
        assert " ".join(text.split()).endswith("SAFETY " + safety)
        assert "nan" not in text.lower().replace("alternan", "") and "inf" not in text


@for_each(*(name for name in STATES if name != "twelve"))
def test_the_short_answer_fits_on_a_screen_and_says_where_the_rest_is(name: str) -> None:
    text = measure_text(made(name), full=False)
    assert len(text.splitlines()) <= 48 and len(text.split()) <= 480
    assert "\nmore: --full\n" in text and "HOW" not in text and len(text) < len(measure_text(made(name)))


def test_long_names_stay_whole() -> None:
    text = measure_text(measuring_of(long_names()))
    assert max(len(line) for line in text.split("READINGS")[0].splitlines()) <= 98
    assert all(name in text.split("PLACES")[1] for name in long_names().points)


@for_each(*STATES)
def test_title_then_the_answers(name: str) -> None:
    lines = measure_text(made(name)).splitlines()
    assert lines[0] == "Invented pump drive" and lines[1].startswith("FOUND    ")


def row(text: str, start: str) -> str:
    return next(line for line in text.splitlines() if line.startswith(start))


@for_each("sound", "misread mm", "photo", "twelve")
def test_places_are_those_of_the_study(name: str) -> None:
    found = made(name)
    text = measure_text(found)
    for centre in found.centres:
        cells = row(text.split("PLACES")[1], centre.name + " ").removeprefix(centre.name).split()
        assert [float(cell) for cell in cells[:2]] == pytest.approx(centre.at_mm, abs=0.0501)
        if centre.name != "crank":
            both = [float(cell) for cell in cells[2:4]]
            assert both == pytest.approx(centre.sds_mm, abs=0.00501)


@for_each("inches", "misread in", "mirrors", "photo")
def test_inches_are_told_in_inches_alone(name: str) -> None:
    """An inch is 25.4 mm. What a tape reads stays as it was written."""
    text, found = measure_text(made(name), "in"), made(name)
    assert re.search(r"point +x, in +y, in", text)
    cells = row(text.split("PLACES")[1], "alternator ").split()
    assert float(cells[1]) == pytest.approx(found.centre("alternator").at_mm[0] / 25.4, abs=0.006)
    tapes = {each.reading.written for each in found.checked}
    assert {number for number in re.findall(r"([\d.]+) mm\b", text)} <= tapes
    assert not re.search(r"\d in\b", measure_text(made("sound"), "mm"))


def test_a_point_that_no_reading_fixes_has_no_place() -> None:
    places = measure_text(made("loose")).split("PLACES")[1]
    assert row(places, "idler ").split()[:5] == ["idler", "?", "?", "not", "fixed"]


def test_what_was_left_out_stands_first_among_the_readings() -> None:
    text = measure_text(made("misread in")).split("READINGS")[1]
    first = text.splitlines()[2]
    assert first.startswith("alternator - steering_pump  20 3/4 in  +24.6 mm  left out")


def test_in_short_only_the_worst_readings_are_told() -> None:
    full, short = (measure_text(made("misread in"), full=full).split("READINGS")[1] for full in (True, False))
    assert short.startswith("  the worst 5\n") and full.startswith("  the worst first\n")
    assert [line.split()[:3] for line in short.splitlines()[1:7]] == [
        line.split()[:3] for line in full.splitlines()[1:7]
    ]


def test_an_unchecked_reading_never_shows() -> None:
    readings = measure_text(made("sound")).split("READINGS")[1]
    assert re.search(r"angle crank - alternator +50\.6 deg +0\.0 deg +- +never +20", readings)


def test_rims_that_nobody_read_are_told() -> None:
    text = measure_text(made("photo"))
    for each in (text, measure_text(made("photo"), full=False)):
        assert re.search(r"alternator +62\.0\d +0\.", each.split("DIAMETERS")[1]), "nobody read it"
    assert "DIAMETERS" not in measure_text(made("over rims"), full=False), "calipers read them"


def test_the_accuracies_that_were_used_are_told() -> None:
    given = measured(distances=(replace(taped()[0], sd_mm=2.0), *taped()[1:]), images=(photo(),))
    words = " ".join(accuracy_words(measuring_of(given)))
    assert "2 mm or 1 mm for each distance" in words and "0.5 deg for each angle" in words
    assert "1.5 px for each pick" in words and "common practice, no source" in words


def test_frame_plane_and_chances_are_told() -> None:
    words = " ".join(measure_text(made("level given")).split())
    assert "x to your right, y up" in words and "crank - steering_pump is level, as given" in words
    assert "All is in one plane" in words and "1 of 100 sets" in words and "80 times of 100" in words
    grown = replace(made("suspects"), factor=1.5)
    assert "every standard deviation is enlarged 1.50 times" in " ".join(measure_text(grown).split())


def test_marks_are_called_marks() -> None:
    found = measuring_of(measured(marks=("idler",)))
    text = measure_text(found)
    assert "idler (mark)" in text and "all 4 points (and 1 mark" in " ".join(text.split())


def test_the_same_pair_read_twice_has_two_lines() -> None:
    twice = (*taped(), inches("crank - idler", line=44))
    readings = measure_text(measuring_of(measured(distances=twice))).split("READINGS")[1]
    assert len(re.findall(r"^crank - idler ", readings, re.M)) == 2 and re.search(r" 44$", readings, re.M)


def test_places_that_are_known_are_told_in_mm() -> None:
    text = measure_text(made("card"))
    off = r"its points are off by 0\.\d mm in each coordinate, with an accuracy of 1 mm"
    assert re.search(rf"front photo, known: can be trusted; {off}", " ".join(text.split()))
    assert re.search(r"^card 2 on front photo, known +0\.\d mm ", text, re.M)
    assert re.search(r"^card 2 on front photo +0\.\d px ", text, re.M)
    assert "card 1 (mark)" in text and "1.5 px or 1 mm for each pick" in " ".join(text.split())


def test_two_known_ends_of_a_rule_are_told_of_only_where_a_pulley_feels_them() -> None:
    """All distances are taped: their length is checked, and where they lie moves nothing. Of one taped, it does."""
    ends = {name: CARD[name] for name in ("card 1", "card 2")}
    given = known_card()
    rule = replace(given, places={name: given.places[name] for name in ends})
    both = {"points": (*STATES["card"]().points[:-2],), "marks": tuple(ends), "images": (photo(more=ends), rule)}
    text = " ".join(measure_text(measuring_of(measured(**both))).partition("PLACES")[0].split())
    assert "PICTURE front photo: can be trusted" in text and "known" not in text and "card" not in text
    alone = measuring_of(measured(distances=(), **both))
    assert "known: nothing checks it" in " ".join(measure_text(alone).split())
    picks = [each.reading for each in alone.checked if each.reading.image is not None]
    assert not any(only_marks_feel(alone.measured, alone.errors.solution, each) for each in picks)


def test_names_with_commas_of_their_own_are_parted_by_semicolons() -> None:
    assert (
        listed(["a - b, gap", "a - c", "d"]) == "a - b, gap; a - c; and d" and listed(["a", "b", "c"]) == "a, b and c"
    )

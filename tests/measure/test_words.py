"""The answers of a measured drive in every state that it can be in."""

import math
import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from beltplan.layoutfile.values import LONGEST_TEXT
from beltplan.measure.measurements_file import read_measurements
from beltplan.measure.readings import Diameter, Direction, Distance, Image, Offset, Pick
from beltplan.measure.report import measure_notes
from beltplan.measure.study import Centre, measuring_of
from beltplan.measure.values import as_read, listed, plain, quantity, value_words
from beltplan.measure.words import answers, contradicting_words, is_tilted
from beltplan.report.screen import tape_words
from tests.for_each import for_each
from tests.measure.measurings import STATES, TRUTH, level_to, made, measured, photo, taped
from tests.measure.samples import measured_of


def told(name: str, lead: str) -> list[str]:
    return [words for each, words in answers(made(name)) if each == lead]


SOUND = ["sound", "inches", "level given", "photo", "photo alone", "offsets", "over rims", "twelve", "card"]


@for_each(*SOUND)
def test_where_nothing_stands_against_it(name: str) -> None:
    assert made(name).sound
    leads = [lead for lead, _ in answers(made(name))]
    assert leads[:3] == ["FOUND", "NEXT", "CHECKED"]
    assert not {"MISREAD", "CONFLICT", "SUSPECT", "OPEN", "MIRROR", "SIDES"} & set(leads)
    assert "Nothing stands against it" in told(name, "FOUND")[0]


@for_each("offsets", "level given", "twelve")
def test_how_sure_all_points_are_is_the_largest_number_of_the_table(name: str) -> None:
    found = made(name)
    widest = max(sd for centre in found.centres for sd in centre.sds_mm if not centre.mark)
    tilted = is_tilted(found)
    words = f"each to {widest:.1f} mm or better{f', {found.shape_mm:.1f} mm between pulleys' * tilted} (one"
    assert words in told(name, "FOUND")[0]
    assert tilted == (name != "offsets"), "frozen"


@for_each(*(name for name in STATES if name not in SOUND))
def test_where_something_does_the_first_answer_says_what(name: str) -> None:
    assert not made(name).sound
    assert "Still open: " in told(name, "FOUND")[0] and "Nothing stands against it" not in told(name, "FOUND")[0]


def test_an_inch_too_much_is_told_with_the_tape_reading_that_would_fit() -> None:
    (words,) = told("misread in", "MISREAD")
    assert words.startswith("alternator - steering_pump, read 20 3/4 in (line 14): ")
    assert re.search(r"24\.\d mm too much by all the others", words)
    assert "it would fit if it was 19 3/4 in, a whole inch less" in words
    assert told("misread in", "NEXT") == ["measure alternator - steering_pump (line 14) again"]


def test_a_gap_over_an_old_pulley_is_told_with_the_diameter_that_would_fit(tmp_path: Path) -> None:
    """Centres 400 mm apart leave 296.8 mm between rims of 100 and 106.4 mm, or of 86.4 and 120."""
    (tmp_path / "old.yaml").write_text(
        "diameters: {c: 100, d: 120}\norigin: a\nlevel: [a, b]\nsides: {c: above, d: above}\n"
        "distances: {a - b: 400, a - c: 300, b - c: 500, a - d: 500, b - d: 300, c - d: {value: 296.8, gap: true}}\n"
        "offsets: {c: {x: 0, y: 300}, d: {x: 400, y: 300}}\n"
    )
    found = answers(measuring_of(read_measurements(str(tmp_path / "old.yaml")).measured))
    (words,) = (words for _, words in found if words.startswith("c - d"))
    fits = re.findall(r"; it would fit if c was ([\d.]+) mm or d was ([\d.]+) mm across$", words)
    assert np.array(fits, dtype=float) == pytest.approx(np.array([[86.4, 106.4]]), abs=0.2), "calipers are good to 0.2"


def test_ten_mm_too_little() -> None:
    (words,) = told("misread mm", "MISREAD")
    words = plain(words, "in")
    assert words.startswith("water_pump - alternator, read 231 mm (line 9): 0.4")
    assert "in too little" in words and "it would fit if it was 241 mm, 10 mm more" in words


def test_a_wrong_pick_is_told_in_px_and_mm() -> None:
    (words,) = told("pick wrong", "MISREAD")
    off_px = re.match(r"idler on front photo \(line 30\): ([\d.]+) px \(([\d.]+) mm\) off by all the others", words)
    assert off_px is not None
    assert told("pick wrong", "NEXT") == ["pick idler on front photo (line 30) again"]
    found = made("pick wrong")
    (error,) = found.errors.gross_errors
    (row,) = (each for each in found.checked if each.reading is error.reading)
    assert float(off_px[1]) == round(row.error, 1) == round(error.error, 1), "the table tells the same distance"
    assert abs(row.error - math.hypot(31.0, 12.0)) < 3.0 * error.sd, "the pick is off by 31 and 12 px"


def test_suspects_are_all_told_and_nothing_left_out() -> None:
    found = made("suspects")
    assert len(told("suspects", "SUSPECT")) == len(found.errors.suspects) >= 2
    (doubt,) = told("suspects", "CONFLICT")
    assert all("if all the others are right" in words for words in told("suspects", "SUSPECT"))
    assert "cannot tell which is wrong" in doubt and doubt.endswith("below covers whichever it is")
    assert any("water_pump - idler, read 176.5 mm" in plain(words, "in") for words in told("suspects", "SUSPECT"))
    assert told("suspects", "MISREAD") == [] and "contradict each other" in told("suspects", "CHECKED")[0]
    first = found.errors.suspects[0].reading
    then = "again first, then the other suspects"
    assert told("suspects", "NEXT") == [f"measure {first.words} (line {first.line}) {then}"]


def test_loose_points_are_told_with_what_holds_them() -> None:
    (words,) = told("loose", "OPEN")
    assert re.fullmatch(
        r"idler: not fixed; it needs 2 more distances, as from .+: with 1 it may lie in two places", words
    )
    assert told("loose", "NEXT") == ["measure to idler, as OPEN says"]
    assert told("loose", "FOUND")[0].startswith("4 of 5 points")


def test_a_mirror_image_is_told_with_the_words_that_settle_it() -> None:
    (words,) = told("mirror", "MIRROR")
    assert "allow a mirror solution for" in words and re.search(r"`sides: \{\w+: (left|right|above|below)\}`", words)
    assert "`, or the opposite word" in words
    assert not re.search("told below|as told", " ".join(told("mirrors", "MIRROR") + told("nothing checks", "MIRROR")))
    assert "allow 7 mirror solutions" in told("mirrors", "MIRROR")[0]
    assert "Read the angle crank - water_pump" in told("nothing checks", "MIRROR")[0]


def test_pictures_are_trusted_or_not_or_not_checked() -> None:
    assert "can be trusted" in told("photo", "PICTURE")[0] and "an accuracy of 1.5 px" in told("photo", "PICTURE")[0]
    assert "nothing checks it" in told("photo alone", "PICTURE")[0]
    assert len(told("photo untrusted", "PICTURE")) == 2
    assert not any("can be trusted" in words for words in told("photo untrusted", "PICTURE"))
    assert "a suspect as well: all else agrees without it" in told("tilted photo", "PICTURE")[0]


def test_a_picture_with_a_pick_left_out_is_in_doubt() -> None:
    """The other points fit, but they cannot tell a wrong pick from a picture at a slant."""
    (words,) = told("pick wrong", "PICTURE")
    assert "fits without idler; too little checks it" in words and "can be trusted" not in words


def test_where_the_other_points_would_show_a_slant_it_is_the_pick() -> None:
    """With three pulleys more: a photo at a slant has four numbers more than one that is square on, and they fit it."""
    more = {"steering": (-190.0, 220.0), "fan": (-60.0, 330.0), "aircon": (230.0, -20.0)}
    where = {**TRUTH, **more}
    tapes = [*taped(), *(_between(where, *pair) for pair in combinations(where, 2) if {*pair} & {*more})]
    images = (photo({"fan": (31.0, -12.0)}, more=more),)
    found = measuring_of(measured(points=tuple(where), distances=tuple(tapes), images=images))
    assert [each.reading.words for each in found.errors.gross_errors] == ["fan on front photo"]
    (words,) = (told for lead, told in answers(found) if lead == "PICTURE")
    assert "its other points fit" in words and "it is the pick of fan" in words and "in doubt" not in words
    beside = replace(found, errors=replace(found.errors, gross_errors=(), suspects=found.errors.gross_errors))
    (words,) = (told for lead, told in answers(beside) if lead == "PICTURE")
    assert "only its pick of fan is in doubt" in words and "too little checks it" not in words


def _between(where: dict[str, tuple[float, float]], first: str, second: str) -> Distance:
    return Distance(first, second, round(math.dist(where[first], where[second])), 1.0)


@for_each((0.5, ""), (9.0, ", to 15.3 mm"))
def test_a_mark_less_sure_than_all_points_is_told_so(tmp_path: Path, sd_mm: float, told: str) -> None:
    """Two tapes of 300 from points 250 apart: by hand x to 9 sqrt 2 / (250 / 300), 15.3."""
    text = (
        "distances: {crank - pump: 250, crank - alt: 280, pump - alt: 240,\n"
        f"  crank - bolt: {{value: 300, accuracy_mm: {sd_mm}}}, pump - bolt: {{value: 300, accuracy_mm: {sd_mm}}}}}\n"
        "marks: [bolt]\nlevel: [crank, pump]\nsides: {pump: right, alt: above, bolt: below}\n"
    )
    found = measuring_of(measured_of(tmp_path, text).measured)
    assert f"(and 1 mark{told})" in dict(answers(found))["FOUND"]


def test_ends_that_are_known_of_a_picture_are_not_counted_as_marks() -> None:
    ends = {f"card {i}" for i in range(1, 5)}
    assert ends <= {*made("card").measured.marks}
    (words,) = told("card", "FOUND")
    assert "mark" not in words
    first, *rest = made("card").centres
    for covariance, is_told in ((np.eye(2), True), (None, False)):
        more = replace(made("card"), centres=(replace(first, mark=True, covariance_mm2=covariance), *rest))
        assert ("(and 1 mark)" in dict(answers(more))["FOUND"]) is is_told, "none that is not fixed"


def test_an_open_frame_says_which_line_was_laid_level() -> None:
    (words,) = told("mirrors open", "LEVEL")
    assert "crank - water_pump is laid level" in words and "an arm's angles would" in words
    (turned,) = told("open frame", "LEVEL")
    assert re.search(r"crank - water_pump is laid at \d+ deg, amid what `sides` allow", turned)
    assert told("level given", "LEVEL") == []


def test_sides_that_agree_with_nothing() -> None:
    """One word that is wrong is named; where many are, all of them are to be looked at."""
    (words,) = told("unseen", "SIDES")
    assert words.startswith("water_pump is written `below`, but by all readings it lies 214.0 mm to the other side")
    assert words.endswith("Look again from the front; if so, write `above`")
    both = replace(made("unseen").measured, sides={"water_pump": ("below",), "idler": ("left", "below")})
    (many,) = [words for lead, words in answers(measuring_of(both)) if lead == "SIDES"]
    assert many.startswith("no way for the points to lie agrees")


def test_what_nothing_checks_is_named() -> None:
    assert told("offsets", "CHECKED")[0].startswith("no spare reading")
    assert "No other reading checks angle crank - alternator" in told("sound", "CHECKED")[0]
    assert told("level given", "CHECKED")[0].endswith("all agree")


@for_each("misread in", "misread mm", "pick wrong")
def test_that_all_agree_never_stands_with_a_misread_one_nor_above_it(name: str) -> None:
    leads = [lead for lead, _ in answers(made(name))]
    assert leads.index("MISREAD") < leads.index("NEXT") < leads.index("CHECKED")
    assert "; all but what is left out agree" in told(name, "CHECKED")[0]


def test_of_many_suspects_a_layout_names_three_so_that_the_name_of_the_file_is_not_cut_off() -> None:
    found = made("suspects")
    words = contradicting_words(found, "a_long_name_of_a_file_of_measurements.yaml")
    assert words is not None and len(words) <= LONGEST_TEXT and len(found.errors.suspects) == 6
    assert words.count(" (line ") == 3 and words.endswith(" and 3 more of a_long_name_of_a_file_of_measurements.yaml")


def test_what_to_measure_next() -> None:
    (words,) = told("offsets", "NEXT")
    best = made("offsets").further[0]
    assert words.startswith(f"measure {best.first} - {best.second}, about ") and best.after_mm < best.before_mm
    assert words.endswith(f"to each other, from {best.before_mm:.2f} mm to {best.after_mm:.2f} mm")
    assert told("sound", "NEXT") == ["no more is needed"]


def test_when_enough_is_measured() -> None:
    """A further distance that would sharpen all by less than a fifth is not asked for."""
    found = made("twelve")
    best = found.further[0]
    assert found.enough and best.after_mm > 0.8 * best.before_mm
    assert told("twelve", "NEXT") == ["no more is needed"]
    assert not replace(found, further=(best._replace(after_mm=0.79 * best.before_mm),)).enough
    assert not any(made(name).enough for name in ("offsets", "misread in", "suspects", "mirror", "loose"))


def test_the_file_that_was_written_stands_last() -> None:
    assert answers(made("sound"), "buggy.yaml")[-1] == ("WRITTEN", "buggy.yaml")


def test_readings_that_do_not_agree_are_told_with_the_file() -> None:
    assert answers(made("suspects"), "buggy.yaml")[-1] == (
        "WRITTEN",
        "buggy.yaml, by readings that contradict each other",
    )


@for_each(*STATES)
def test_what_stands_against_writing(name: str) -> None:
    assert {"OPEN", "MIRROR", "SIDES"}.isdisjoint(lead for lead, _ in answers(made(name))) is made(name).settled


def test_a_slip_is_told_in_words() -> None:
    """312 in where 312 mm were read: 25.4 times too much, an inch being 25.4 mm."""
    given = STATES["sound"]()
    tape = given.distances[0]
    wrong = replace(tape, value_mm=25.4 * tape.value_mm)
    found = measuring_of(replace(given, distances=(wrong, *given.distances[1:]), in_inches=True))
    (words,) = [words for lead, words in answers(found) if lead == "MISREAD"]
    assert words.startswith(f"{tape.first} - {tape.second}, read ")
    assert f"it would fit if it was read in mm: write {tape.value_mm:.5g} mm" in plain(words, "in")
    (next_,) = [words for lead, words in answers(found) if lead == "NEXT"]
    assert next_.startswith("correct what was a slip, else measure ")


def test_several_slips_are_each_to_be_corrected() -> None:
    """Two tapes of a network that nine hold, each 25.4 times too much: an inch being 25.4 mm."""
    given = STATES["sound"]()
    wrong = [replace(tape, value_mm=25.4 * tape.value_mm) for tape in given.distances[:2]]
    found = measuring_of(replace(given, distances=(*wrong, *given.distances[2:]), in_inches=True))
    assert len(found.errors.gross_errors) == 2
    (next_,) = [words for lead, words in answers(found) if lead == "NEXT"]
    assert next_.startswith("correct what was a slip, else measure ")


def test_a_level_read_from_the_other_side() -> None:
    """It shows 180 less the angle: 129.4 deg where the line rises by 50.6 deg."""
    wrong = level_to("alternator")
    wrong = replace(wrong, value_rad=math.pi - wrong.value_rad, written="129.4")
    found = measuring_of(measured(directions=(wrong, level_to("idler"), level_to("water_pump"))))
    (words,) = [words for lead, words in answers(found) if lead == "MISREAD"]
    assert words.startswith("angle crank - alternator, read 129.4 deg (line 20): 78.")
    assert "it would fit if it was read from the other side: write 50.6 deg" in words


def test_a_level_that_only_sides_contradict() -> None:
    """All points hang on it: that, not each of them, is what is open. Read 84.1 deg from the other side it is 95.9."""
    wrong = level_to("water_pump")
    wrong = replace(wrong, value_rad=math.pi - wrong.value_rad, written="95.9")
    given = measured(directions=(wrong,), sides={"water_pump": ("above", "right"), "steering_pump": ("left", "above")})
    told = dict(answers(measuring_of(given)))
    assert "it contradicts `sides` (water_pump: above right), and nothing else checks it" in told["MISREAD"]
    assert told["OPEN"] == "all 4 other points, until angle crank - water_pump is right"


def test_coordinates_of_a_card_are_not_judged_as_a_photo() -> None:
    """A card that nothing checks, in a file that once asked whether its coordinates were taken square on."""
    case = Path(__file__).parents[1] / "cases" / "faults" / "photo_card.yaml"
    said = answers(measuring_of(read_measurements(str(case)).measured))
    assert said[0][1].endswith("Nothing stands against it")
    pictures = [words for lead, words in said if lead == "PICTURE"]
    assert pictures[0].startswith("front: can be trusted")
    assert pictures[-1] == "skew, known: nothing checks it; measure a spare distance or two between its points"


# How readings and lengths are said.


@for_each(
    (18.25 * 25.4, True, "18 1/4 in"), (25.4 / 64.0, True, "1/64 in"), (0.0, True, "0 in"), (2.0 * 25.4, True, "2 in"),
    (18.26 * 25.4, True, "18.26 in"), (371.5, False, "371.5 mm"), (370.0, False, "370 mm"),
)  # fmt: skip
def test_a_length_is_said_as_a_tape_shows_it(length_mm: float, in_inches: bool, words: str) -> None:
    """An inch is 25.4 mm exactly: the yard and pound agreement of 1959 (from memory)."""
    assert tape_words(length_mm, in_inches) == words


def test_what_a_tape_reads_stays_in_its_unit() -> None:
    """An inch is 25.4 mm; 345 mm stand on a tape in mm."""
    said = f"{as_read(tape_words(345.0, False))} read, 25.4 mm too much"
    assert plain(said, "in") == "345 mm read, 1.00 in too much" and plain(said, "mm") == "345 mm read, 25.4 mm too much"


def test_what_rounds_to_nought_has_no_sign() -> None:
    told = [quantity(value, "mm", "mm") for value in (-0.04, 0.04, -0.06, 0.06)]
    assert told == ["0.0 mm", "0.0 mm", "-0.1 mm", "+0.1 mm"]
    assert quantity(-0.04, "deg", "in", False) == "0.0 deg" and quantity(0.12, "mm", "in") == "0.00 in"


def test_lists_name_the_first_and_count_the_rest() -> None:
    assert listed([]) == "" and listed(["a"]) == "a" and listed(["a", "b", "c"]) == "a, b and c"
    assert listed(["a", "b"], last="or") == "a or b"
    assert listed(list("abcdef"), 2) == "a, b and 4 more"


def test_readings_stand_as_they_were_written_with_a_unit() -> None:
    distance = Distance("a", "b", 381.0, 1.0, written="15")
    assert value_words(distance, True) == "15 in" and value_words(distance, False) == "15 mm"
    assert value_words(Distance("a", "b", 381.5, 1.0, written="381.5 mm"), True) == "381.5 mm"
    assert value_words(Distance("a", "b", 381.0, 1.0, written='15"'), True) == '15"'
    assert value_words(Direction("a", "b", math.pi / 2.0, 0.01), False) == "90 deg"
    assert value_words(Offset("a", "b", "x", -12.5, 1.0), False) == "-12.5 mm"
    assert value_words(Diameter("a", 60.0, 0.2, written="60"), False) == "60 mm"
    assert value_words(Pick("a", Image("photo", "similar", 1.0, {}), (1.0, 2.0)), False) == ""


def test_the_ellipse_has_the_axes_of_the_covariance() -> None:
    """Half axes are the roots of the eigenvalues: recomputed from the angle by turning a known diagonal matrix."""
    turn = np.radians(37.0)
    axes = np.array(((np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))))
    covariance = axes @ np.diag((9.0, 0.25)) @ axes.T
    found = Centre("a", (0.0, 0.0), covariance)
    for half, length, way in zip(found.half_axes_mm, (0.5, 3.0), axes.T[::-1], strict=True):
        assert abs(half @ way) == pytest.approx(float(np.hypot(*half))) == pytest.approx(length)
    assert found.widest_mm == pytest.approx(3.0) and Centre("a", (0.0, 0.0), None).widest_mm == 0.0


def test_the_shape_does_not_mind_how_well_the_level_was_read() -> None:
    """A law: a better level sharpens places, and leaves the shape; in a frame laid level by taking the shape is that of
    the places turned freely as well."""
    sharp = level_to("alternator")
    rough = Direction(sharp.first, sharp.second, sharp.value_rad, 3.0 * sharp.sd_rad, written=sharp.written, line=20)
    one, other = measuring_of(measured(directions=(sharp,))), measuring_of(measured(directions=(rough,)))
    wide = [max(centre.widest_mm for centre in found.centres) for found in (one, other)]
    assert wide[1] > 2.5 * wide[0]
    assert one.shape_mm == pytest.approx(other.shape_mm, rel=1e-3)
    assert one.shape_mm < 0.5 * wide[0]


def test_the_shape_of_offsets_is_near_their_own_accuracy() -> None:
    """Offsets of 1 mm in x and y: a circle of 1 mm each; a free turn can only take away."""
    found = made("offsets")
    assert 0.7 < found.shape_mm <= 1.0 + 1e-9


# What leads a layout file that was written from measurements.


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

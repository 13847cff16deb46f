"""The picture of a measured drive: to scale, nothing lies on anything else, what is wrong is marked."""

import math
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon, box

from beltplan.drive.layout import Units
from beltplan.measure.measurements_file import read_measurements
from beltplan.measure.picture import Drawing, enlargement, measure_scene
from beltplan.measure.readings import Distance, Measured
from beltplan.measure.report import measure_report
from beltplan.measure.study import Measuring, measuring_of
from beltplan.picture.scene import Label, Scene, Shape, Stroke
from beltplan.report.screen import Screen, shown
from beltplan.report.words import MEASURED_SAFETY
from tests.for_each import for_each
from tests.measure.measurings import RIMS_MM, STATES, made, measured
from tests.picture.crowding import crowded
from tests.picture.in_mm import in_mm

SLACK_PT = 0.4
DEGREE = "\N{DEGREE SIGN}"
CASES = Path(__file__).parents[1] / "cases"
ANSWERS = (("FOUND", "all points"), ("MISREAD", "one"), ("MISREAD", "another"), ("NEXT", "measure it"))


def scaled(times: float) -> Measured:
    """The drive with every length so many times larger."""
    given = measured()
    return replace(
        given,
        distances=tuple(replace(d, value_mm=times * d.value_mm, sd_mm=times) for d in given.distances),
        tape_mm=times,
    )


def long_names() -> Measured:
    """Names as long as they may be, in wide letters."""
    given = measured()
    names = {name: f"{name} " + "W" * (39 - len(name)) for name in given.points}
    return replace(
        given,
        points=tuple(names.values()),
        origin=names[given.origin],
        distances=tuple(replace(d, first=names[d.first], second=names[d.second]) for d in given.distances),
        directions=tuple(replace(d, first=names[d.first], second=names[d.second]) for d in given.directions),
        sides={names[name]: sides for name, sides in given.sides.items()},
    )


def roughly(sd_mm: float) -> Measured:
    """Every tape that much off."""
    given = measured()
    return replace(given, distances=tuple(replace(d, sd_mm=sd_mm) for d in given.distances))


def case(name: str) -> Measured:
    """The measurements of a case."""
    return read_measurements(str(CASES / f"{name}.yaml")).measured


def bare(*points: str, distances: tuple[Distance, ...] = ()) -> Measured:
    return Measured("Invented", points, points[0], distances)


MORE: dict[str, Callable[[], Measured]] = {
    "long names": long_names,
    "huge": lambda: scaled(40.0),
    "small": lambda: scaled(0.05),
    "one tape": lambda: bare("a", "b", distances=(Distance("a", "b", 300.0, 1.0),)),
    "all loose": lambda: bare("a", "b", "c", "d", distances=(Distance("a", "b", 300.0, 1.0),)),
    "rough": lambda: roughly(90.0),
    "wild": lambda: roughly(4000.0),
    "blunders": lambda: case("m4_blunders"),
    "long title": lambda: replace(measured(), title="A drive " * 40),
}
NAMES = [*STATES, *MORE]


@cache
def answer(name: str) -> Measuring:
    return made(name) if name in STATES else measuring_of(MORE[name]())


@cache
def pictured(name: str) -> Scene:
    return measure_scene(answer(name), ANSWERS)


def shapes(scene: Scene, name: str) -> list[Shape]:
    return [item for item in scene.named(name) if isinstance(item, Shape)]


def texts(scene: Scene, name: str) -> list[str]:
    return [item.text for item in scene.named(name) if isinstance(item, Label)]


@for_each(*NAMES)
def test_no_label_lies_on_another_or_passes_the_frame(name: str) -> None:
    """Measured with the renderer's own letters."""
    assert crowded(pictured(name), SLACK_PT) == []


@for_each(*NAMES)
def test_nothing_drawn_leaves_the_frame(name: str) -> None:
    scene = pictured(name)
    frame = box(*scene.frame)
    for item in scene.items:
        assert frame.contains(box(*item.box)), item.name


@for_each(*NAMES)
def test_names_keep_clear_of_the_lines_of_readings(name: str) -> None:
    scene = pictured(name)
    lines = [(item.name, LineString(item.points)) for item in scene.items
             if isinstance(item, Stroke) and item.name.startswith("read ")]  # fmt: skip
    for label in scene.labels:
        place = box(*label.box).buffer(-1.5)
        if label.name.startswith("name "):
            assert not [words for words, line in lines if line.intersects(place)], label.text


@for_each("sound", "inches", "huge", "twelve")
def test_every_point_has_a_cross_where_it_is_and_says_so(name: str) -> None:
    found, scene = answer(name), in_mm(pictured(name))
    for centre in found.centres:
        arms = [item.points for item in scene.named(f"place {centre.name}") if isinstance(item, Stroke)]
        assert len(arms) == 2
        for arm in arms:
            assert arm.mean(axis=0) == pytest.approx(centre.at_mm, abs=1e-6 * (1.0 + abs(centre.at_mm[0])))
        (at,) = texts(scene, f"at {centre.name}")
        place, _, unit = at.rpartition(" ")
        unit_mm, close = (25.4, 0.005 + 1e-9) if name == "inches" else (1.0, 0.05 + 1e-9)
        assert unit == found.measured.units
        assert [float(part) for part in place.split(", ")] == pytest.approx(np.array(centre.at_mm) / unit_mm, abs=close)


def test_whoever_writes_inches_reads_inches_and_who_asks_for_mm_mm() -> None:
    found = made("inches")
    x_mm = found.centre("alternator").at_mm[0]
    asked = measure_scene(replace(found, measured=replace(found.measured, asked="mm")), ANSWERS)
    for scene, unit, unit_mm, close in ((pictured("inches"), "in", 25.4, 0.0051), (asked, "mm", 1.0, 0.051)):
        every = [item.text for item in scene.items if isinstance(item, Label)]
        (words,) = texts(scene, "at alternator")
        assert words.endswith(unit) and float(words.split(",")[0]) == pytest.approx(x_mm / unit_mm, abs=close)
        assert any(f"y up, from crank, in {unit.replace('in', 'inches')}" in text for text in every)
        assert not any(re.search(rf"\d {'mm' if unit == 'in' else 'in'}$", text) for text in every if " = " not in text)


@for_each("sound", "inches", "misread mm", "photo", "rough")
def test_a_standard_deviation_has_the_digits_of_the_table(name: str) -> None:
    """Independent: the row of the point in the text of the answer."""
    table = shown(measure_report(answer(name)), Screen(98)).partition("PLACES")[2].partition("READINGS")[0]
    rows = {words[0]: words[-2:] for words in map(str.split, table.splitlines()) if words}
    for centre in answer(name).centres:
        for told in texts(pictured(name), f"deviation {centre.name}"):
            assert told.rpartition(" ")[0].replace("\N{PLUS-MINUS SIGN}", "").split(", ") == rows[centre.name]


@for_each("sound", "misread mm", "suspects", "photo", "rough", "blunders")
def test_ellipses_are_standard_ellipses_enlarged_as_the_legend_says(name: str) -> None:
    """Independent: the outline put into the quadratic form of the covariance comes to the enlargement squared."""
    found, scene = answer(name), in_mm(pictured(name))
    (legend,) = (text for text in texts(scene, "legend") if text.startswith("one standard deviation"))
    times = 1.0 if legend.endswith("to scale") else float(legend.split()[-3])
    assert times >= 1.0
    head = [f"Ellipses are drawn {times:g} times larger than the errors that they show."] if times > 1.0 else []
    assert texts(scene, "ellipses") == head
    for i, centre in enumerate(found.centres):
        if centre.name == found.measured.origin:
            assert shapes(scene, f"ellipse {centre.name}") == []
            continue
        (ellipse,) = shapes(scene, f"ellipse {centre.name}")
        away = ellipse.rings[0] - centre.at_mm
        form = np.linalg.inv(found.covariance_mm2[2 * i : 2 * i + 2, 2 * i : 2 * i + 2])
        assert np.einsum("ni,ij,nj->n", away, form, away) == pytest.approx(times**2, rel=1e-4)


@for_each((3.4, 1.2), (0.01, 1.0), (1.0, 26.0), (1.3, 19.0))
def test_enlargements_are_round_and_as_large_as_may_be(longest_mm: float, unit_pt: float) -> None:
    times = enlargement(longest_mm, unit_pt)
    power = 10.0 ** math.floor(math.log10(times * (1.0 + 1e-9)))
    assert min(abs(times / power - step) for step in (1.0, 2.0, 5.0)) < 1e-6
    assert times * longest_mm * unit_pt <= 26.0 + 1e-6 < 2.5 * times * longest_mm * unit_pt + 1e-6
    assert enlargement(0.0, unit_pt) == 1.0


@for_each((500.0, 1.5), (26.1, 1.0), (1e9, 1.0))
def test_no_ellipse_is_smaller_than_life(longest_mm: float, unit_pt: float) -> None:
    assert enlargement(longest_mm, unit_pt) == 1.0


@pytest.mark.parametrize("name", ["blunders", "rough", "wild"])
def test_the_drawing_grows_to_hold_large_ellipses(name: str) -> None:
    drawing = Drawing(answer(name))
    grown = box(*drawing.box)
    assert grown.covers(box(*drawing.least_box))
    assert drawing.whole and all(grown.covers(Polygon(outline)) for outline in drawing.whole.values())
    assert texts(pictured(name), "ellipses") == []


def test_rims_are_circles_of_their_size() -> None:
    scene, found = in_mm(pictured("over rims")), made("over rims")
    for name in ("crank", "alternator", "idler"):
        (rim,) = shapes(scene, f"rim {name}")
        centre = found.centre(name)
        radius = np.hypot(*(rim.rings[0] - centre.at_mm).T)
        assert radius == pytest.approx(0.5 * RIMS_MM[name], abs=0.1)
    assert shapes(scene, "rim water_pump") == []


@for_each("misread in", "misread mm", "suspects", "pick wrong", "photo untrusted")
def test_what_is_in_doubt_is_thick_dashed_and_numbered(name: str) -> None:
    scene, found = pictured(name), made(name)
    numbered = Drawing(found).numbered
    assert len(numbered) == len(found.errors.gross_errors) + len(found.errors.suspects) > 0
    usual = max(item.pen.width_pt for item in scene.items if isinstance(item, Stroke) and item.name.startswith("read "))
    for each in numbered:
        (drawn,) = scene.named(f"doubted {each.mark.number}")
        pen = drawn.pen  # type: ignore[union-attr]
        assert pen is not None and pen.dash and pen.width_pt > usual
        assert texts(scene, f"mark {each.mark.number}") == [str(each.mark.number)]
        corners = len(shapes(scene, f"mark {each.mark.number}")[0].rings[0])
        assert corners == (8 if each.left_out else 4)


def test_answers_are_numbered_as_the_marks_are() -> None:
    told = texts(pictured("sound"), "answer")
    assert told == ["Found: all points", "Misread 1: one", "Misread 2: another", "Next: measure it"]


def test_loose_points_have_a_question_mark_and_no_place() -> None:
    scene = pictured("loose")
    assert texts(scene, "loose idler") == ["?"]
    assert texts(scene, "at idler") == ["not held: drawn by a guess"]
    assert scene.named("place idler") == () and scene.named("ellipse idler") == ()
    assert "not held by the readings" in texts(scene, "legend")
    assert "not held by the readings" not in texts(pictured("sound"), "legend")


@for_each("mirror", "mirrors", "nothing checks")
def test_mirror_images_are_drawn_where_they_are(name: str) -> None:
    scene, found = in_mm(pictured(name)), made(name)
    places = {
        (each, place) for mirror in found.mirrors for each, place in zip(mirror.points, mirror.places, strict=True)
    }
    ghosts = Drawing(found).ghosts
    assert ghosts and places.issuperset(ghosts)
    for ghost, at in ghosts:
        centres = [shape.rings[0].mean(axis=0) for shape in shapes(scene, f"ghost {ghost}")]
        assert min(math.dist(centre, at) for centre in centres) < 1e-6
        assert f"or {ghost}" in texts(scene, f"ghost {ghost}")
    assert any(text.startswith("where it may lie instead") for text in texts(scene, "legend"))


@for_each(*NAMES)
def test_level_frame_and_caution_are_told(name: str) -> None:
    scene = pictured(name)
    assert " ".join(texts(scene, "caution")) == MEASURED_SAFETY
    assert " ".join(texts(scene, "frame")).startswith("Seen from the front, facing the pulleys: x right, y up")
    (level,) = (item for item in scene.named("level") if isinstance(item, Stroke))
    assert np.ptp(level.points[:, 1]) == 0.0


@pytest.mark.parametrize(("units", "place"), [("mm", "0.0, 16.4 mm"), ("in", "0.00, 0.64 in")])
def test_a_place_is_rounded_once_and_a_zero_has_no_sign(units: Units, place: str) -> None:
    """16.36 mm are 0.644 in; 16.4 mm would be 0.646 in."""
    found = made("sound")
    centres = [replace(each, at_mm=(-0.04, 16.36)) if each.name == "idler" else each for each in found.centres]
    scene = measure_scene(replace(found, centres=tuple(centres), measured=measured(asked=units)), ANSWERS)
    assert texts(scene, "at idler") == [place]

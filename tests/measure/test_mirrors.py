"""What settles mirror images: checked by writing the words into the file, or reading the distance, and asking again."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.advice import Mirror, Settling, settling_of
from beltplan.measure.network import surveyed
from beltplan.measure.readings import Direction, Distance
from beltplan.measure.study import Measuring, measuring_of
from beltplan.measure.words import answers
from tests.for_each import for_each
from tests.measure.drives import Places, every_pair, measured_of
from tests.measure.drives import taped as taped_in
from tests.measure.measurings import PAIRS, STATES, TRUTH, made, measured, tape, taped
from tests.measure.networks import solved_at

OPEN = ["mirror", "mirrors", "nothing checks"]


def answered(name: str) -> Measuring:
    """A state, measured again with all that its answer asks for, where the places are as they were told."""
    given, found = STATES[name](), made(name)
    settling = found.settling
    sides = {point: tuple(words) for point, words in settling.sides.items()}
    distances = tuple(Distance(each.first, each.second, each.here, 1.0) for each in settling.distances)
    angles = tuple(
        Direction(each.first, each.second, math.radians(each.here), math.radians(0.5)) for each in settling.angles
    )
    return measuring_of(
        replace(
            given,
            sides={**given.sides, **sides},
            distances=given.distances + distances,
            directions=given.directions + angles,
        )
    )


@for_each(*OPEN)
def test_the_answer_settles_the_images(name: str) -> None:
    assert made(name).mirrors and made(name).settling.unsettled == 0
    again = answered(name)
    assert again.mirrors == () and again.settled
    for before, after in zip(made(name).centres, again.centres, strict=True):
        assert after.at_mm == pytest.approx(before.at_mm, abs=1e-3)


def test_without_a_level_line_the_quarters_settle_the_images() -> None:
    """As the answer asks: the quarters in which two points are seen, in the frame that the drive was invented in."""
    found = made("mirrors open")
    settling = found.settling
    assert found.mirrors and settling.quarters and settling.unsettled == 0
    assert not settling.words and not settling.angles
    sides: dict[str, tuple[SeenSide, ...]] = {"steering_pump": ("above", "left"), "alternator": ("above", "right")}
    again = measuring_of(replace(STATES["mirrors open"](), sides=sides))
    assert again.settled and again.level_rad != 0.0
    pump, alternator = again.centre("steering_pump"), again.centre("alternator")
    assert pump.at_mm[0] < 0.0 < pump.at_mm[1] and alternator.at_mm[0] > 0.0 and alternator.at_mm[1] > 0.0


def test_one_word_is_enough_for_one_image() -> None:
    settling = made("mirror").settling
    assert len(settling.words) == 1 and not settling.distances and not settling.angles


def test_two_words_settle_most_of_seven_images() -> None:
    settling = made("mirrors").settling
    assert len(made("mirrors").mirrors) == 7
    assert len(settling.words) + len(settling.distances) + len(settling.angles) <= 3


def test_images_have_the_same_distances_where_they_were_read() -> None:
    """A law of mirror images: what was read does not tell them apart."""
    found = made("mirrors")
    for mirror in found.mirrors:
        at = {each.name: each.at_mm for each in found.centres} | dict(zip(mirror.points, mirror.places, strict=True))
        for each in found.measured.distances:
            assert math.dist(at[each.first], at[each.second]) == pytest.approx(each.value_mm, abs=1e-3)


def test_nothing_to_settle() -> None:
    settling = made("sound").settling
    assert (settling.words, settling.distances, settling.angles, settling.unsettled) == ((), (), (), 0)


def test_a_distance_settles_what_no_word_does() -> None:
    """A pulley mirrored in the line of two others that stand to the upper right, right and above in both images."""
    pairs = ["crank - alternator", "crank - water_pump", "water_pump - alternator", "crank - steering_pump"]
    given = measured(
        points=("crank", "alternator", "water_pump", "steering_pump"),
        distances=taped(pairs=[*pairs, "alternator - steering_pump"]),
        sides={"steering_pump": ("left",)},
    )
    settling = measuring_of(given).settling
    assert not settling.words and settling.unsettled == 0
    (apart,) = settling.distances
    assert {apart.first, apart.second} == {"water_pump", "steering_pump"}
    assert abs(apart.here - apart.there) > 3.0
    assert f"{apart.first} - {apart.second}" not in pairs and len(PAIRS) == 10


@for_each("mm", "in")
def test_a_mark_that_lies_mirrored_is_settled_by_a_tape_to_it(units: str) -> None:
    """A stud taped from two pulleys, to the upper right in both places; they lie mirrored in the line of the two."""
    truth, axis = TRUTH | {"stud": (220.0, 80.0)}, complex(*TRUTH["alternator"])
    ties = [tape(pair, truth=truth) for pair in ("crank - stud", "alternator - stud")]
    given = replace(measured(in_inches=units == "in"), points=(*TRUTH, "stud"), marks=("stud",))
    found = measuring_of(replace(given, distances=(*given.distances, *ties)))
    here, ((x_mm, y_mm),) = complex(*found.centre("stud").at_mm), found.mirrors[0].places
    other = here.conjugate() * axis / axis.conjugate()
    assert (x_mm, y_mm) == pytest.approx((other.real, other.imag), abs=0.5)
    assert min(abs(each - complex(*truth["stud"])) for each in (here, other)) < 1.5
    (apart,) = found.settling.distances
    assert apart.second == "stud" and found.settling.unsettled == 0 and not found.settling.words
    first = complex(*TRUTH[apart.first])
    assert (apart.here, apart.there) == pytest.approx((abs(here - first), abs(other - first)), abs=1.0)
    (words,) = [words for lead, words in answers(found) if lead == "MIRROR"]
    shown = (x_mm / 25.4, y_mm / 25.4) if units == "in" else (x_mm, y_mm)
    x, y = (f"{value:.{2 if units == 'in' else 1}f}" for value in shown)
    assert words.startswith(f"the readings allow a mirror solution for stud, at {x}, {y} {units}. Measure")
    assert f"Measure {apart.first} - stud: " in words
    settled = Distance(apart.first, "stud", apart.here, 1.0)
    assert measuring_of(replace(found.measured, distances=(*found.measured.distances, settled))).mirrors == ()


def _told_apart(places: Places, there: Places, open_frame: bool = False) -> Settling:
    """What is to tell one mirror solution apart, its points being elsewhere; nothing can be seen at a glance."""
    given = measured_of(
        places, taped_in(places, every_pair(places), None), level=None if open_frame else (*places,)[:2]
    )
    network = surveyed(given)
    best = solved_at(network, network.unknowns_at(np.array(list(places.values()))))
    return settling_of(given, best, [Mirror((*there,), (*there.values(),), None, {})])


@for_each(
    (40.0, 44.9, False), (40.0, 45.2, True), (40.0, 35.1, False), (40.0, 34.8, True), (178.0, -177.1, False),
    (178.0, -176.8, True), (-90.0, 90.0, True),
)  # fmt: skip
def test_an_angle_tells_apart_what_it_differs_by_five_degrees(here_deg: float, there_deg: float, told: bool) -> None:
    """Where every distance is taped; counted the shorter way round (plane geometry)."""
    pump, image = ((200.0 * math.cos(a), 200.0 * math.sin(a)) for a in map(math.radians, (here_deg, there_deg)))
    others = {"crank": (0.0, 0.0), "fan": (300.0, 0.0), "idler": (20.0, -250.0)}
    found = _told_apart({**others, "pump": pump}, {"pump": image})
    assert not found.words and not found.distances and not found.quarters
    assert (len(found.angles), found.unsettled) == ((1, 0) if told else (0, 1))
    for each in found.angles:
        assert (each.first, each.second) == ("crank", "pump")
        assert (each.here, each.there) == pytest.approx((here_deg, there_deg))


def test_without_a_level_line_quarters_are_asked_for_only_where_something_is_left() -> None:
    """All taped, the image of a point is left; of one that moved by nothing else is."""
    places = {"crank": (0.0, 0.0), "fan": (300.0, 0.0), "pump": (80.0, 200.0)}
    left = _told_apart(places, {"pump": (80.0, -200.0)}, open_frame=True)
    assert (left.quarters, left.unsettled, left.angles) == (True, 0, ())
    given = measured_of(places, ())
    network = surveyed(given)
    none = settling_of(given, solved_at(network, network.unknowns_at(np.array(list(places.values())))), [])
    assert (none.quarters, none.unsettled) == (False, 0)

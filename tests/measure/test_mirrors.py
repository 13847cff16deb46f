"""What settles mirror images: checked by writing the words into the file, or reading the distance, and asking again."""

import math
from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest
from scipy.optimize import least_squares
from shapely import MultiPoint, affinity, get_coordinates

from beltplan.geometry.vectors import Floats, cross, norm
from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.advice import Mirror, Settling, settling_of
from beltplan.measure.gross_errors import NO_WORSE
from beltplan.measure.network import surveyed
from beltplan.measure.readings import Direction, Distance, Measured
from beltplan.measure.solutions import is_as_seen, solutions_of, turn_seen, turned
from beltplan.measure.study import Measuring, measuring_of
from beltplan.measure.words import answers
from tests.for_each import for_each
from tests.measure.drives import (
    PLACES,
    Pair,
    Places,
    every_pair,
    levelled,
    measured_of,
    scattered,
    shot,
    slanted_sight,
    turned_sight,
)
from tests.measure.drives import taped as taped_in
from tests.measure.drives import (
    taped as taped_of,
)
from tests.measure.measurings import PAIRS, STATES, TRUTH, made, measured, tape, taped
from tests.measure.networks import solved_at

OPEN = ["mirror", "mirrors", "nothing checks"]


def answered(name: str) -> Measuring:
    """A state, measured again with all that its answer asks for, where the places are as they were told."""
    given, found = STATES[name](), made(name)
    settling = found.settling
    sides = {point: tuple(words) for told in settling.sides[:1] for point, words in told.items()}
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


@for_each(*product(range(6), (False, True)))
def test_without_a_level_line_what_is_told_to_type_settles_it(seed: int, given_some: bool) -> None:
    """Both lines, that of the places found and that of the mirror: each leaves its own solution, and that alone.

    The second time where some sides are written that settle nothing: two points in one quarter.
    """
    places = scattered(np.random.default_rng(seed), 6)
    bare = measured_of(places, taped_in(places, every_pair(places), None), level=None)
    found, lines = measuring_of(bare), list[str]()
    if given_some:
        bare = replace(bare, sides=_alike(found))
        found = measuring_of(bare)
    assert (
        len(found.mirrors) == 1
        and len(found.settling.sides) == 2
        and found.settling.unsettled == 0
        and not found.settling.angles
    )
    for there, words in enumerate(found.settling.sides):
        sides = {**bare.sides, **{name: tuple(own) for name, own in words.items()}}
        again = measuring_of(replace(bare, sides=sides))
        assert again.settled and not again.unseen
        assert _is_clockwise(again) == (_is_clockwise(found) != bool(there))
        lines.append(", ".join(f"{name}: {' '.join(own)}" for name, own in sides.items()))
    (told,) = (words for lead, words in answers(found) if lead == "MIRROR")
    assert f"`sides: {{{lines[0]}}}`; mirrored: `sides: {{{lines[1]}}}`" in told


def _alike(found: Measuring) -> dict[str, tuple[SeenSide, ...]]:
    """The quarter of the point that lies nearest to the middle of one."""
    seen = {each.name: each.at_mm for each in found.centres if each.name != found.measured.origin}
    name = max(seen, key=lambda name: min(map(abs, seen[name])) / math.hypot(*seen[name]))
    x, y = seen[name]
    return {name: ("above" if y > 0.0 else "below", "right" if x > 0.0 else "left")}


def _is_clockwise(found: Measuring) -> bool:
    """The way round from the first three points to one another, which no turn of the whole changes."""
    first, second, third = (np.array(each.at_mm) for each in found.centres[:3])
    return bool(cross(second - first, third - first) < 0.0)


def test_points_that_are_all_seen_in_one_quarter_need_angles() -> None:
    """By hand: two points at 41 and 49 deg, each 4 deg from the middle of a quarter, as their mirror has them."""
    places = {"crank": (0.0, 0.0)} | {
        name: (300.0 * math.cos(a), 300.0 * math.sin(a)) for name, a in (("fan", 0.72), ("pump", 0.85))
    }
    bare = measured_of(
        places,
        taped_in(places, every_pair(places), None),
        level=None,
        sides=dict.fromkeys(("fan", "pump"), ("above", "right")),
    )
    found = measuring_of(bare)
    assert len(found.mirrors) == found.settling.unsettled == 1 and not found.settling.sides
    (told,) = (words for lead, words in answers(found) if lead == "MIRROR")
    assert told.endswith("No quarters tell them apart: read the angles from crank to two of them")
    read = tuple(Direction("crank", name, rad, 0.01) for name, rad in (("fan", 0.72), ("pump", 0.85)))
    assert measuring_of(replace(bare, directions=read)).settled


@for_each(*range(12))
def test_without_a_level_line_quarters_as_they_are_seen_settle_it(seed: int) -> None:
    """Whichever way the drive stands, and whichever hand it has, its own quarters at the points asked for.

    Three times at most: two points may stand so that their quarters settle nothing, and others are asked for then.
    """
    rng = np.random.default_rng(seed)
    places = scattered(rng, 6)
    true = turned(np.array([*places.values()]) * (1.0, (-1.0) ** seed), rng.uniform(0.0, 2.0 * math.pi))
    at = dict(zip(places, true - true[0], strict=True))
    given = measured_of(places, taped_in(places, every_pair(places), None), level=None)
    for _ in range(3):
        found = measuring_of(given)
        seen: dict[str, tuple[SeenSide, ...]] = {
            name: ("above" if at[name][1] > 0.0 else "below", "right" if at[name][0] > 0.0 else "left")
            for name in (found.settling.sides or [{}])[0]
        }
        given = replace(given, sides={**given.sides, **seen})
    assert found.settled
    assert _is_clockwise(found) == bool(cross(true[1] - true[0], true[2] - true[0]) < 0.0)


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
    assert not found.words and not found.distances and not found.there
    assert (len(found.angles), found.unsettled) == ((1, 0) if told else (0, 1))
    for each in found.angles:
        assert (each.first, each.second) == ("crank", "pump")
        assert (each.here, each.there) == pytest.approx((here_deg, there_deg))


def test_without_a_level_line_quarters_are_asked_for_only_where_something_is_left() -> None:
    """All taped, the image of a point is left; of one that moved by nothing else is."""
    places = {"crank": (0.0, 0.0), "fan": (300.0, 0.0), "pump": (80.0, 200.0)}
    left = _told_apart(places, {"pump": (80.0, -200.0)}, open_frame=True)
    assert ([*map(list, left.sides)], left.unsettled, left.angles) == ([["fan", "pump"]] * 2, 0, ())
    given = measured_of(places, ())
    network = surveyed(given)
    none = settling_of(given, solved_at(network, network.unknowns_at(np.array(list(places.values())))), [])
    assert (none.sides, none.unsettled) == ((), 0)


# All mirror images of generic networks, against every choice of sides laid by circles and polished by scipy.


def _generic(rng: np.random.Generator, points: int, more: int, sd_mm: float) -> tuple[Places, list[Pair], Measured]:
    """Each point tied to two drawn from those before it, and some bars more; read with noise."""
    places = levelled(scattered(rng, points))
    names = list(places)
    pairs = [(names[0], names[1])]
    for i in range(2, points):
        first, second = _well_tied(rng, np.array(list(places.values())), i)
        pairs += [(names[first], names[i]), (names[second], names[i])]
    rest = [pair for pair in every_pair(places) if pair not in pairs]
    pairs += [rest[i] for i in rng.permutation(len(rest))[:more]]
    tapes = taped_of(places, pairs, rng, sd_mm)
    return places, pairs, measured_of(places, tapes, level=(names[0], names[1]))


def _well_tied(rng: np.random.Generator, at: Floats, i: int) -> tuple[int, int]:
    """Two points before the i-th, drawn till it lies 25 mm off their line."""
    for _ in range(50):
        first, second = sorted(int(each) for each in rng.permutation(i)[:2])
        along = at[second] - at[first]
        if abs(cross(along, at[i] - at[first])) > 25.0 * norm(along):
            break
    return first, second


def _by_force(measured: Measured) -> list[tuple[float, Floats]]:
    """Every choice of a side for each point after the second, polished by scipy; those that differ, the best first."""
    number = {name: i for i, name in enumerate(measured.points)}
    tapes = [(number[t.first], number[t.second], t.value_mm, t.sd_mm) for t in measured.distances]

    def misfit(x: Floats) -> Floats:
        at = np.concatenate(([0.0], x[:1], x[1::2])) + 1j * np.concatenate(([0.0, 0.0], x[2::2]))
        return np.array([(abs(at[j] - at[i]) - value) / deviation for i, j, value, deviation in tapes])

    found: list[tuple[float, Floats]] = []
    for sides in product((-1.0, 1.0), repeat=len(number) - 2):
        at = np.zeros(len(number), dtype=complex)
        at[1] = tapes[0][2]
        for i in range(2, len(number)):
            (a, _, r, _), (b, _, s, _) = (tape for tape in tapes[: 2 * len(number) - 3] if tape[1] == i)
            apart = abs(at[b] - at[a])
            along = (apart**2 + r**2 - s**2) / (2.0 * apart)
            across = sides[i - 2] * np.sqrt(max(r**2 - along**2, 0.0))
            at[i] = at[a] + (at[b] - at[a]) / apart * complex(along, across)
        start = np.concatenate(([at[1].real], np.column_stack((at[2:].real, at[2:].imag)).reshape(-1)))
        end = least_squares(misfit, start, xtol=1e-12, ftol=1e-12, gtol=1e-12)
        places = np.concatenate(([0.0, 0.0, end.x[0], 0.0], end.x[1:])).reshape(-1, 2)
        if all(norm(places - other).max() > 1.0 for _, other in found):
            found.append((2.0 * float(end.cost), places))
    return sorted(found, key=lambda each: each[0])


@for_each((4, 0), (5, 0), (6, 0), (5, 1), (6, 2))
def test_every_mirror_image_is_found(points: int, more: int) -> None:
    """Those within the limit of the best, no one less, and 2^(points - 2) where no bar is spare.

    Fewer where a point comes to lie in line with its two ties in some image: there circles only just miss.
    """
    full = 0
    for seed in range(6):
        _, _, measured = _generic(np.random.default_rng(100 * points + 10 * more + seed), points, more, 0.2)
        expected = _by_force(measured)
        limit = expected[0][0] + NO_WORSE
        wanted = [places for cost, places in expected if cost <= limit]
        ends = solutions_of(measured, surveyed(measured))
        found = [end.places for end in ends if end.cost <= limit]
        assert len(found) == len(wanted), seed
        for places in wanted:
            assert min(norm(places - other).max() for other in found) < 0.05, seed
        assert len(wanted) <= 2 ** (points - 2)
        full += len(wanted) == 2 ** (points - 2)
    assert full >= (4 if more == 0 else 0)


def test_the_best_comes_first_and_each_once() -> None:
    for seed in range(5):
        _, _, measured = _generic(np.random.default_rng(seed), 6, 2, 1.0)
        ends = solutions_of(measured, surveyed(measured))
        costs = [round(end.cost, 6) for end in ends]
        assert costs == sorted(costs)
        for one, other in combinations(ends, 2):
            assert norm(one.places - other.places).max() > 0.05


def test_what_lies_as_seen_comes_first_whatever_it_costs() -> None:
    """Four points, two bars to spare: seen on the wrong side the best is no longer the first."""
    rng = np.random.default_rng(4)
    places, _, plain = _generic(rng, 5, 1, 0.2)
    name, y = max(((n, at[1]) for n, at in places.items()), key=lambda each: abs(each[1]))
    for side in ("above", "below"):
        seen = measured_of(places, plain.distances, level=plain.level, sides={name: (side,)})
        first = solutions_of(seen, surveyed(seen))[0]
        at = first.places[list(places).index(name)]
        assert (at[1] > 0.0) == (side == "above") and abs(at[1]) > 0.5 * abs(y)
        assert is_as_seen(seen, first.places)


def test_of_equals_the_one_with_more_points_above() -> None:
    places = {name: at for name, at in PLACES.items() if name != "compressor"} | {"low": (200.0, -90.0)}
    names = list(places)
    pairs = every_pair(places)
    ends = solutions_of(m := measured_of(places, taped_of(places, pairs, None)), surveyed(m))
    assert ends[0].cost == pytest.approx(0.0, abs=1e-9) and ends[1].cost == pytest.approx(0.0, abs=1e-9)
    assert [int(np.count_nonzero(end.places[:, 1] > 1e-6)) for end in ends[:2]] == sorted(
        (int(np.count_nonzero(end.places[:, 1] > 1e-6)) for end in ends[:2]), reverse=True
    )
    assert len(names) == 6


@for_each("left", "right", "above", "below")
def test_sides_at_both_ends_of_nought(side: SeenSide) -> None:
    given = Measured("m", ("a", "b"), "a", directions=(Direction("a", "b", 0.0, 0.01),), sides={"b": (side,)})
    signs = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "above": (0.0, 1.0), "below": (0.0, -1.0)}
    for factor in (1e-3, -1e-3):
        places = np.array(((0.0, 0.0), factor * np.array(signs[side])))
        assert is_as_seen(given, places) == (factor > 0.0)
    assert not is_as_seen(given, np.zeros((2, 2)))


def test_a_photo_at_an_angle_settles_the_mirror_image() -> None:
    """It was taken from the front: the layout whose photo would have to be taken from behind is no solution."""
    for seed in range(5):
        rng = np.random.default_rng(seed)
        tapes = taped_of(PLACES, every_pair(PLACES)[:12], rng)
        without = measured_of(PLACES, tapes)
        photo = shot(PLACES, PLACES, slanted_sight, rng, "slanted")
        with_photo = measured_of(PLACES, tapes, images=(photo,))
        costs = [end.cost for end in solutions_of(without, surveyed(without))[:2]]
        assert costs[1] == pytest.approx(costs[0], abs=1e-6)
        first, *rest = solutions_of(with_photo, surveyed(with_photo))
        assert first.cost < 40.0
        assert all(other.cost > first.cost + NO_WORSE for other in rest)
        turned = turned_sight(1.0, -np.arctan2(300.0, 235.0), (0.0, 0.0))(np.array(list(PLACES.values())))
        assert norm(first.places - turned).max() < 6.0


def test_a_negative_radius_is_turned_right_side_out() -> None:
    """A rim point at -r is that at r on the other side: a start of wrong sign ends at the true radius."""
    photo = shot(
        PLACES, ["crank", "alternator"], turned_sight(2.0, 0.2, (300.0, 300.0)), None, rims={"pump": (65.0, 5)}
    )
    measured = measured_of(PLACES, taped_of(PLACES, every_pair(PLACES), None), images=(photo,))
    survey = surveyed(measured)
    start = survey.unknowns_at(np.array(list(PLACES.values())))
    start[12] *= -1.0
    start[survey.images[0].rim[2]] += np.pi
    end = solved_at(survey, start)
    assert end.at.unknowns[12] == pytest.approx(65.0, abs=1e-3)
    assert end.cost == pytest.approx(0.0, abs=1e-6)


def test_degrees_count_readings_left() -> None:
    measured = measured_of(PLACES, taped_of(PLACES, every_pair(PLACES), np.random.default_rng(1)))
    survey = surveyed(measured)
    end = solutions_of(measured, survey)[0]
    assert end.degrees == 15 - 9
    assert solved_at(survey, end.at.unknowns, (0, 5)).degrees == 13 - 9
    assert solved_at(survey, end.at.unknowns, (0, 5)).cost < end.cost


# Where points are seen, and the turn that makes it so; turns against shapely.affinity.


POINTS = ("crank", "pump", "fan")
AT = np.array([(0.0, 0.0), (-100.0, 200.0), (150.0, 120.0)])
QUARTERS: dict[str, tuple[SeenSide, ...]] = {"pump": ("above", "left"), "fan": ("above", "right")}
LEVEL = Direction("crank", "fan", 0.6, 0.01)


def _measured(sides: dict[str, tuple[SeenSide, ...]], directions: tuple[Direction, ...] = ()) -> Measured:
    return Measured("m", POINTS, "crank", directions=directions, sides=sides)


@for_each(-3.0, -1.0, 0.5, 2.0, 3.1)
def test_turned_is_a_turn(angle: float) -> None:
    reference = get_coordinates(affinity.rotate(MultiPoint(AT), angle, origin=(0.0, 0.0), use_radians=True))
    assert turned(AT, angle) == pytest.approx(reference, abs=1e-9)


@for_each(*np.linspace(-3.1, 3.1, 23))
def test_an_open_frame_is_turned_until_all_lie_as_they_are_seen(angle: float) -> None:
    """The true places turned by any angle: some turn puts every point back into its quarter."""
    places = turned(AT, float(angle))
    turn = turn_seen(_measured(QUARTERS), places)
    assert turn is not None and -np.pi <= turn <= np.pi
    assert is_as_seen(_measured(QUARTERS, (LEVEL,)), turned(places, turn)), "where nothing may be turned"
    assert is_as_seen(_measured(QUARTERS), places)


def test_the_turn_is_amid_those_that_do() -> None:
    """The pump at 116.6 deg may be turned -26.6 to 63.4, the fan at 38.7 deg -38.7 to 51.3: amid -26.6 to 51.3."""
    turn = turn_seen(_measured(QUARTERS), AT)
    assert turn is not None
    assert np.degrees(turn) == pytest.approx(0.5 * (51.34 - 26.57), abs=0.5)


@for_each(*np.linspace(-3.1, 3.1, 11))
def test_no_turn_makes_a_mirror_image_right(angle: float) -> None:
    mirrored = turned(AT * (1.0, -1.0), float(angle))
    assert turn_seen(_measured(QUARTERS), mirrored) is None
    assert not is_as_seen(_measured(QUARTERS), mirrored)


def test_a_frame_that_is_fixed_is_not_turned() -> None:
    fixed = _measured(QUARTERS, (LEVEL,))
    assert turn_seen(fixed, AT) == 0.0
    assert turn_seen(fixed, turned(AT, 2.0)) is None


def test_nothing_said_is_always_so() -> None:
    assert turn_seen(_measured({}), AT) == 0.0
    assert is_as_seen(_measured({}), -AT)
    assert turn_seen(_measured({"crank": ("left",)}), AT) is None, "the origin lies on no side of itself"

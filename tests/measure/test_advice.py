"""Advice on what to measure next, against really measuring it and solving again."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from beltplan.geometry.vectors import Floats, norm
from beltplan.measure.advice import Further, further_of, hanging_of, undetermined_of
from beltplan.measure.network import surveyed
from beltplan.measure.readings import Distance, Measured, Offset
from beltplan.measure.solutions import fits, solutions_of
from beltplan.measure.study import Measuring, measuring_of
from beltplan.measure.words import answers
from tests.for_each import for_each
from tests.measure.drives import (
    PLACES,
    Pair,
    Places,
    angle,
    apart,
    every_pair,
    levelled,
    measured_of,
    scattered,
    shot,
    taped,
    turned_sight,
)
from tests.measure.networks import solved_at


def _rms(measured: Measured, start: Places) -> float:
    """Root mean square deviation of the points that are no marks, solved anew from the true places.

    A turn about the origin is projected out of the covariance (numpy), since a belt does not mind it.
    """
    survey = surveyed(measured)
    end = solved_at(survey, survey.unknowns_at(np.array([start[name] for name in measured.points])))
    wanted = [i for i, name in enumerate(measured.points) if name not in measured.marks]
    variances = _variances(end.places, end.precision.covariance[: end.places.size, : end.places.size])
    return float(np.sqrt(sum(variances[2 * i] + variances[2 * i + 1] for i in wanted) / len(wanted)))


def _variances(places: Floats, covariance: Floats) -> Floats:
    turn = np.array([part for x, y in places for part in (-y, x)])
    rest = np.eye(len(turn)) - np.outer(turn, turn) / (turn @ turn)
    return np.diagonal(rest @ covariance @ rest)


def _with(measured: Measured, further: tuple[str, str], value_mm: float) -> Measured:
    return replace(measured, distances=(*measured.distances, Distance(*further, value_mm, measured.tape_mm)))


def _network(seed: int) -> tuple[Places, Measured]:
    """Exact readings, some missing; an angle; one point a mark; a tape of 1.5 mm for what comes."""
    rng = np.random.default_rng(seed)
    places = levelled(scattered(rng, 6))
    names = list(places)
    pairs = [(a, b) for a, b in every_pair(places) if names.index(b) - names.index(a) <= 2]
    given = measured_of(
        places,
        taped(places, pairs, None),
        directions=(angle(places, (names[0], names[1]), None),),
        marks=(names[4],),
        tape_mm=1.5,
    )
    return places, given


def _advice(places: Places, given: Measured) -> tuple[Further, ...]:
    survey = surveyed(given)
    return further_of(given, solved_at(survey, survey.unknowns_at(np.array(list(places.values())))))


def test_what_is_promised_is_what_comes() -> None:
    for seed in range(10):
        places, given = _network(seed)
        for each in _advice(places, given):
            pair = (each.first, each.second)
            assert each.about_mm == pytest.approx(apart(places, pair), abs=1e-3)
            assert each.before_mm == pytest.approx(_rms(given, places), rel=1e-6)
            assert each.after_mm == pytest.approx(_rms(_with(given, pair, apart(places, pair)), places), rel=1e-4)


def test_the_best_is_the_best_of_all_that_could_be_measured() -> None:
    """By force: every pair that was not measured, no mark among them, is added in turn."""
    for seed in range(1, 10):
        places, given = _network(seed)
        done = {frozenset((each.first, each.second)) for each in given.distances}
        open_pairs = [
            pair for pair in combinations(places, 2) if frozenset(pair) not in done and not set(pair) & set(given.marks)
        ]
        by_force = sorted((_rms(_with(given, pair, apart(places, pair)), places), pair) for pair in open_pairs)
        found = _advice(places, given)
        assert [each.after_mm for each in found] == pytest.approx([after for after, _ in by_force[:3]], rel=1e-4)
        assert {found[0].first, found[0].second} == set(by_force[0][1])


YARD: Places = {
    "crank": (0.0, 0.0), "compressor": (174.0, 135.0), "idler": (136.0, 274.0), "slide.from": (193.0, 347.0),
    "slide.to": (231.0, 404.0), "fan": (10.0, 443.0), "pump": (-182.0, 345.0), "stud": (194.0, 7.0),
}  # fmt: skip
"""Invented. The ends of the slide lie nearly on a line with all that they are taped from but the fan."""


def _yard(wrong: Mapping[Pair, float] | None = None, *more: Pair) -> Measured:
    ends = ("slide.from", "slide.to")
    pairs = [pair for pair in every_pair(YARD) if not {*ends, "stud"} & {*pair}]
    pairs += [(name, end) for name in ("crank", "idler", "fan") for end in ends] + [ends]
    pairs += [("crank", "stud"), ("compressor", "stud"), ("idler", "stud"), *more]
    level = angle(YARD, ("crank", "compressor"), None)
    return measured_of(
        YARD, taped(YARD, pairs, None, errors=wrong), directions=(level,), marks=("stud",), sides={"fan": ("above",)}
    )


def test_points_that_hang_on_an_unchecked_reading_are_found() -> None:
    """By force: each tape read 8 mm otherwise, and all settled anew. The sum hardly grows where nothing checks it."""
    given, at = _yard(), np.array(list(YARD.values()))
    awaited = dict[str, set[str]]()
    for each in given.distances:
        wrong = surveyed(_yard({(each.first, each.second): 8.0}))
        end = solved_at(wrong, wrong.unknowns_at(at))
        off = norm(end.places - at)
        hanging = {name for name, own in zip(YARD, off, strict=True) if own > 4.0 and name != "stud"}
        if end.cost < 0.1 * 8.0**2 and hanging:
            awaited[each.words] = hanging
    assert awaited == {"fan - slide.from": {"slide.from"}, "fan - slide.to": {"slide.to"}}
    network = surveyed(given)
    found = hanging_of(given, solved_at(network, network.unknowns_at(at)))
    assert {reading.words: {*names} for reading, names in found} == awaited


@for_each((0.05, True), (0.095, True), (0.105, False), (0.3, False))
def test_a_reading_is_checked_from_a_tenth_of_its_error_on(share: float, bare: bool) -> None:
    """Of two tapes of one length the share of an error of the first that shows in its own residual is 1 / (1 + s^2),
    where the second deviates s times as much (adjustment of observations, redundancy numbers).
    """
    two = {"crank": (0.0, 0.0), "pump": (300.0, 0.0)}
    (tape,) = taped(two, [("crank", "pump")], None)
    tapes = (tape, replace(tape, sd_mm=tape.sd_mm * (1.0 / share - 1.0) ** 0.5))
    given = measured_of(two, tapes, directions=(angle(two, ("crank", "pump"), None),))
    network = surveyed(given)
    found = hanging_of(given, solved_at(network, network.unknowns_at(np.array(list(two.values())))))
    assert (tapes[0] in [reading for reading, _ in found]) == bare


def test_what_is_to_check_it_does() -> None:
    """Misread by 15 mm nothing stands against it, and NEXT names it; with what it asks for the slip is noticed."""
    wrong = {("fan", "slide.to"): -15.0}
    found = measuring_of(_yard(wrong))
    assert found.sound and not found.enough
    asked = [each for each in found.further if each.checks]
    assert {name for each in asked for name in each.checks} == {"fan - slide.from", "fan - slide.to"}
    assert {name for each in asked for name in each.hanging} == {"slide.from", "slide.to"}
    lines = [words for lead, words in answers(found) if lead in ("NEXT", "")]
    told = [f"{each.first} - {each.second}, about {each.about_mm:.1f} mm: " for each in asked]
    assert len(lines) == len(told) and all(each in words for each, words in zip(told, lines, strict=True))
    assert not any("fan" in (each.first, each.second) for each in asked)
    more = [(each.first, each.second) for each in asked]
    errors = measuring_of(_yard(wrong, *more)).errors
    assert "fan - slide.to" in {each.reading.words for each in errors.gross_errors + errors.suspects}
    right = measuring_of(_yard({}, *more))
    assert right.enough and not any(each.checks for each in right.further)


def test_a_planned_place_is_told_as_unchecked_and_never_to_be_measured() -> None:
    """An idler that is not there yet, by offsets from the crank; all else is checked once the two ends are taped."""
    given = _yard({}, ("slide.from", "pump"), ("slide.to", "pump"))
    planned = (Offset("new", "crank", "x", -90.0, 1.0), Offset("new", "crank", "y", 230.0, 1.0))
    found = measuring_of(replace(given, points=(*given.points, "new"), offsets=planned))
    (words,) = [words for lead, words in answers(found) if lead == "NEXT"]
    assert words == "no more is needed, if the offsets of new are right, which nothing checks" and found.enough
    assert found.further and not any("new" in (each.first, each.second) for each in found.further)


def test_every_reading_whose_absence_explains_all_is_a_suspect() -> None:
    """An inch too much on the reading that is checked least: it comes first, before what is further off by the rest."""
    wrong = ("fan", "slide.from")
    given = _yard({wrong: 25.4})
    errors = measuring_of(given).errors
    assert [each.reading.words for each in errors.suspects] == ["fan - slide.from", "idler - slide.from"]
    for each in errors.suspects:
        rest = surveyed(replace(given, distances=tuple(tape for tape in given.distances if tape is not each.reading)))
        assert fits(solved_at(rest, rest.unknowns_at(np.array(list(YARD.values())))))


def test_nothing_to_advise() -> None:
    assert measuring_of(measured_of(PLACES, taped(PLACES, every_pair(PLACES), None))).further == ()
    loose = measuring_of(measured_of(PLACES, taped(PLACES, [("crank", "pump")], None)))
    assert loose.undetermined and loose.further == ()


def test_no_distance_more_is_advised_before_a_contradiction_is_mended() -> None:
    """Readings far beyond their deviation."""
    rng = np.random.default_rng(1)
    pairs = every_pair(PLACES)[:13]
    tapes = tuple(replace(each, sd_mm=0.1) for each in taped(PLACES, pairs, rng, 2.0))
    found = measuring_of(measured_of(PLACES, tapes))
    assert found.factor > 3.0 and found.errors.undecided and not found.further


def _mirrored(seed: int) -> tuple[Places, Measuring]:
    """Drawn points tied by as few tapes as hold them; noise of the tape."""
    rng = np.random.default_rng(seed)
    places = levelled(scattered(rng, 5))
    names = list(places)
    pairs = [(a, b) for a, b in every_pair(places) if names.index(b) - names.index(a) <= 2]
    return places, measuring_of(measured_of(places, taped(places, pairs, rng), level=(names[0], names[1])))


def test_a_distance_that_settles_a_mirror_image_does() -> None:
    """Read as in either of the two, it leaves no other solution near to the one that it speaks against."""
    settled = 0
    for seed in range(3):
        _, found = _mirrored(seed)
        best = np.array([centre.at_mm for centre in found.centres])
        assert len(found.mirrors) == 7, seed
        for mirror in found.mirrors:
            if mirror.further is None:
                continue
            told = mirror.further
            after = measuring_of(_with(found.measured, (told.first, told.second), told.here))
            places = best.copy()
            for name, at in zip(mirror.points, mirror.places, strict=True):
                places[found.measured.points.index(name)] = at
            for left in after.mirrors:
                other = np.array([centre.at_mm for centre in after.centres])
                for name, at in zip(left.points, left.places, strict=True):
                    other[found.measured.points.index(name)] = at
                assert np.abs(other - places).max() > 1.0, (seed, mirror.further)
            assert abs(told.here - told.there) > 5.0 * found.measured.tape_mm
            settled += 1
    assert settled >= 9


def test_one_mirror_image_and_the_distance_that_leaves_none() -> None:
    tapes = taped(
        PLACES, [("crank", "alternator"), ("crank", "pump"), ("alternator", "pump"), ("alternator", "guide")], None
    )
    tapes += taped(PLACES, [("crank", "guide")], None)
    some = {name: PLACES[name] for name in ("crank", "alternator", "pump", "guide")}
    found = measuring_of(
        measured_of(some, tapes, directions=(angle(PLACES, ("crank", "alternator"), None),), sides={"pump": ("left",)})
    )
    (mirror,) = found.mirrors
    assert mirror.points == ("guide",) and mirror.further is not None
    further = mirror.further
    assert {further.first, further.second} == {"pump", "guide"}
    best = found.centre("guide")
    assert min(abs(value - apart(PLACES, ("pump", "guide"))) for value in (further.here, further.there)) < 1e-3
    for value, where in zip((further.here, further.there), (best.at_mm, mirror.places[0]), strict=True):
        after = measuring_of(_with(found.measured, ("pump", "guide"), value))
        assert after.mirrors == () and after.settled
        np.testing.assert_allclose(after.centre("guide").at_mm, where, atol=1e-2)


def test_no_distance_settles_the_image_of_everything() -> None:
    """All distances alike: only a side does, and it is offered in words; given, it leaves nothing open."""
    found = measuring_of(
        measured_of(PLACES, taped(PLACES, every_pair(PLACES)[:13], None), level=("crank", "compressor"))
    )
    (mirror,) = found.mirrors
    assert mirror.further is None
    assert mirror.sides["alternator"] == "above" and set(mirror.sides) == {"alternator", "pump", "guide", "pivot"}
    for name, side in mirror.sides.items():
        assert measuring_of(replace(found.measured, sides={name: (side,)})).settled


def test_a_loose_point_settles_nothing() -> None:
    """A distance to a point that may lie anywhere is no advice."""
    pairs = [("crank", "alternator"), ("crank", "guide"), ("alternator", "guide"), ("crank", "pivot")]
    pairs += [("crank", "compressor"), ("alternator", "compressor")]
    some = {name: PLACES[name] for name in PLACES if name != "pump"}
    found = measuring_of(measured_of(some, taped(PLACES, pairs, None), level=("crank", "alternator")))
    assert [each.point for each in found.undetermined] == ["pivot"]
    assert found.mirrors
    for mirror in found.mirrors:
        assert "pivot" not in mirror.points and (
            mirror.further is None or "pivot" not in (mirror.further.first, mirror.further.second)
        )


def _loose(given: Measured) -> dict[str, tuple[int, tuple[str, ...]]]:
    survey = surveyed(given)
    return {each.point: (each.ties, each.to) for each in undetermined_of(given, solutions_of(given, survey)[0])}


@for_each((0.0, True), (0.3, True), (-1.0, True), (12.0, False), (60.0, False))
def test_a_point_nearly_on_a_line_with_what_it_was_taped_from_is_open(off_mm: float, thin: bool) -> None:
    """Tapes of 1 mm from both ends of a line of 285: by Pythagoras 1 mm more on both lifts a point of it by 17 mm.

    So an offset of 1 mm and none read the same. A tape from the point most squarely off the line settles it.
    """
    places = {"crank": (0.0, 0.0), "compressor": (285.0, 0.0), "pump": (150.0, 240.0), "alternator": (-150.0, 380.0)}
    end = {"end": (160.0, off_mm)}
    tapes = (
        *taped(places, every_pair(places), None),
        *taped(places | end, [("crank", "end"), ("compressor", "end")], None),
    )
    given = measured_of(places | end, tapes, level=("crank", "compressor"))
    found = measuring_of(given)
    assert [each.point for each in found.undetermined] == (["end"] if thin else [])
    assert max(centre.widest_mm for centre in found.centres) < 20.0
    for each in found.undetermined:
        assert {*each.line} == {"crank", "compressor"} and each.to == ("pump", "alternator")
        words = dict(answers(found))["OPEN"]
        assert words.startswith("end lies nearly on the line crank - compressor: ")
        assert "Tape it from off that line: pump - end" in words
        more = replace(given, distances=(*tapes, *taped(places | end, [("pump", "end")], None)))
        assert measuring_of(more).undetermined == ()


def test_how_many_ties_are_missing() -> None:
    """One tape from a held point leaves one to measure, none leaves two; with the level line one less."""
    pairs = [("crank", "alternator"), ("crank", "pump"), ("alternator", "pump"), ("crank", "guide")]
    found = _loose(measured_of(PLACES, taped(PLACES, pairs, None)))
    assert found == {
        "guide": (1, ("alternator", "pump")),
        "pivot": (2, ("crank", "alternator", "pump")),
        "compressor": (2, ("crank", "alternator", "pump")),
    }
    two = {name: PLACES[name] for name in ("crank", "compressor")}
    assert _loose(measured_of(two, ())) == {"compressor": (1, ("crank",))}
    assert _loose(measured_of(two, (), level=("crank", "compressor"))) == {"compressor": (1, ("crank",))}
    half = measured_of(two, (), offsets=(Offset("compressor", "crank", "x", 250.0, 1.0),))
    assert _loose(half) == {"compressor": (1, ("crank",))}
    whole = measured_of(two, (), offsets=tuple(Offset("compressor", "crank", axis, 250.0, 1.0) for axis in ("x", "y")))
    assert _loose(whole) == {}


@for_each(1.0, 2.0, 2.6, 2.7, 2.8, 3.0, 5.0)
def test_a_point_off_a_line_is_open_while_its_own_deviation_bends_a_tape_by_five(off_mm: float) -> None:
    """By Pythagoras: moved by its deviation s across the line, a tape of 1 mm reads more than h s / L by over 5 mm."""
    places = {"crank": (0.0, 0.0), "compressor": (285.0, 0.0), "end": (160.0, off_mm)}
    network = surveyed(measured_of(places, taped(places, every_pair(places), None), level=("crank", "compressor")))
    end = solved_at(network, network.unknowns_at(np.array(list(places.values()))))
    away = np.array([160.0, 125.0])
    tape = np.hypot(away, off_mm)
    s = 1.0 / np.sqrt(np.sum((off_mm / tape) ** 2))
    bent = [np.hypot(away, off_mm + by) - tape - off_mm / tape * by for by in (s, -s)]
    assert (np.max(bent[0]) > 5.0) == (np.max(bent[1]) > 5.0)
    assert bool(end.undetermined[2]) == (np.max(bent[0]) > 5.0)


@for_each(1.0, 20.0, 300.0)
def test_a_point_read_by_offsets_is_held_however_roughly(sd_mm: float) -> None:
    """Offsets are linear in the place: nothing bends beyond the first order, so that no roughness makes it open."""
    two = {name: PLACES[name] for name in ("crank", "compressor")}
    rough = tuple(Offset("compressor", "crank", axis, 250.0, sd_mm) for axis in ("x", "y"))
    assert _loose(measured_of(two, (), offsets=rough)) == {}


def test_a_tie_more_holds_the_point() -> None:
    """What is said to be missing is measured: then no point is loose."""
    pairs = [("crank", "alternator"), ("crank", "pump"), ("alternator", "pump"), ("crank", "guide"), ("pump", "pivot")]
    some = {name: PLACES[name] for name in PLACES if name != "compressor"}
    given = measured_of(some, taped(PLACES, pairs, None))
    more = [(name, other) for name, (ties, to) in _loose(given).items() for other in to[:ties]]
    assert len(more) == 2
    assert _loose(replace(given, distances=(*given.distances, *taped(PLACES, more, None)))) == {}


def test_marks_are_not_asked_for() -> None:
    photo = shot(PLACES, PLACES, turned_sight(2.0, 0.3, (500.0, 400.0)), None)
    tapes = taped(PLACES, [("crank", "compressor")], None)
    found = measuring_of(measured_of(PLACES, tapes, images=(photo,), marks=("guide", "pivot")))
    assert found.further
    for each in found.further:
        assert not {each.first, each.second} & {"guide", "pivot"}

"""Law: a place of a map comes to what `check` finds in the layout with the pulley moved there, field by field."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from beltplan.checks import clearance
from beltplan.checks.every_check import CHECKS, findings_of
from beltplan.checks.gaps import MEASURED
from beltplan.checks.margin import _limited, worst_margin
from beltplan.drive import operation
from beltplan.drive.fit import NO_BELT, UNLISTED
from beltplan.drive.layout import Polygon
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.mechanics import CONDITIONS
from beltplan.drive.profiles import PROFILES
from beltplan.drive.route import Route
from beltplan.drive.settling import Response
from beltplan.geometry.vectors import Bools
from beltplan.judging.judge import BY_PLACE, EVERYWHERE, found_everywhere
from beltplan.judging.running import _AT_THE_ENDS, BY_TENSION, LEFT_TO_CHECK, Running
from beltplan.judging.stages import STATES, JudgedPlaces, judged_places
from tests.checks.drives import sliding
from tests.drive.drives import with_pulley
from tests.for_each import for_each
from tests.place.drives import DRIVES, moved_to, places_round, route_or_none, shipped

COUNT = 24
CLOSE_MM = 1e-6
"""Both measure the same, at settings that each finds by itself."""

EVERY = pytest.mark.parametrize("name", list(DRIVES))


@lru_cache(maxsize=len(DRIVES))
def _judged(name: str) -> JudgedPlaces:
    layout, pulley = DRIVES[name]
    return judged_places(layout, (pulley,), places_round(layout, COUNT, 4)[:, None])


@lru_cache(maxsize=len(DRIVES) * COUNT)
def _checked(name: str, number: int) -> Route | None:
    layout, pulley = DRIVES[name]
    return route_or_none(moved_to(layout, pulley, _judged(name).places[number, 0]))


@lru_cache(maxsize=len(DRIVES) * COUNT)
def _running(route: Route) -> operation.Operation | None:
    return operation.operation_of(route)


@lru_cache(maxsize=len(DRIVES) * COUNT)
def _gaps(route: Route) -> tuple[clearance.Gap, ...]:
    return clearance.gaps_of(route)


def _severities(routes: list[Route | None]) -> list[str]:
    """What `check` comes to, without the cautions that it finds in all of them alike, number for number."""
    found: list[set[tuple[str, str, float | None, str]]] = [
        {
            (f.check, f.subject, f.value if f.value is None else round(f.value, 6), f.severity)
            for f in findings
            if f.check not in _LEFT_TO_CHECK
        }
        for route in routes
        if route is not None
        for findings in [findings_of(route, _running(route))]
    ]
    alike = set.intersection(*found) if len(found) > 1 else set()
    stands = {each for each in alike if each[-1] == "caution" and (each[2] is not None or each[0] in _EVERYWHERE)}
    told = iter([{each[-1] for each in one - stands} for one in found])
    return [_worst({"problem"} if route is None else next(told)) for route in routes]


_LEFT_TO_CHECK = {check.name for check in LEFT_TO_CHECK}
_EVERYWHERE = {check.name for check in EVERYWHERE}


def _worst(severities: set[str]) -> str:
    return next((each for each in ("problem", "caution") if each in severities), "sound")


def _own(state: int) -> str:
    return "problem" if STATES[state] in ("no path", "no belt fits") else STATES[state]


@EVERY
def test_the_severity_is_that_of_check(name: str) -> None:
    judged = _judged(name)
    own = [_own(state) for state in judged.state]
    assert own == _severities([_checked(name, number) for number in range(len(own))])
    assert len(set(judged.state.tolist())) > 1


SHIPPED = [
    (name, pulley.name)
    for name in ("railcar", "camper", "workboat", "orchard_sprayer", "too_tight")
    for pulley in shipped(name).routed
    if pulley.adjuster is None
]


@pytest.mark.parametrize(("name", "pulley"), SHIPPED, ids=[" ".join(each) for each in SHIPPED])
def test_shipped_layouts_come_to_what_check_finds(name: str, pulley: str) -> None:
    """Near the pulley's own place, where little decides, and at that place itself; another place for every pulley."""
    layout, rng = shipped(name), np.random.default_rng(SHIPPED.index((name, pulley)))
    here = np.array(layout.pulleys[pulley].at_mm)
    places = np.concatenate(([here], here + rng.normal(0.0, 15.0, (4, 2))))
    judged = judged_places(layout, (pulley,), places[:, None])
    expected = _severities([route_or_none(moved_to(layout, pulley, at)) for at in places])
    assert [_own(state) for state in judged.state] == expected


def test_every_check_is_asked_of_every_place() -> None:
    """A check that stands in no table would be left out of the map: it must be put in one."""
    asked = {*BY_PLACE, *BY_TENSION, *EVERYWHERE, *LEFT_TO_CHECK}
    assert [check.name for check in CHECKS if check not in asked] == []
    assert {check.name for check in BY_PLACE} & {check.name for check in BY_TENSION} == {"short_span"}


@for_each("railcar", "workboat", "orchard_sprayer")
def test_what_no_place_changes_is_the_same_at_every_place(name: str) -> None:
    """Random places with a path, the pulleys too fast and the speeds so low that much is found."""
    layout = with_pulley(shipped(name), "crank", max_rpm=100.0, turns="counter-clockwise")
    pulley = next(each.name for each in layout.routed if each.adjuster is None and not each.drives)
    routes = [route_or_none(moved_to(layout, pulley, at)) for at in places_round(layout, 40, 4)]
    found = [[(f.check, f.severity, f.subject) for f in found_everywhere(route)] for route in routes if route]
    assert len(found) > 5 and len(found[0]) > 1 and all(each == found[0] for each in found)


@EVERY
def test_window_belt_and_position_are_those_of_check(name: str) -> None:
    judged, compared = _judged(name), 0
    belt, position = judged.spread("belt", -1.0).astype(int), judged.spread("position")
    shortest, longest, reserve = (judged.spread(field) for field in ("shortest_mm", "longest_mm", "reserve_mm"))
    for number in np.flatnonzero(judged.state > 0):
        route = _checked(name, number)
        assert route is not None
        if route.window is not None:
            assert shortest[number] == pytest.approx(route.window.shortest, abs=1e-5)
            assert longest[number] == pytest.approx(route.window.longest, abs=1e-5)
        assert (route.judged is None) == (belt[number] < 0)
        assert (route.to_ask_for_mm is not None) == (belt[number] == UNLISTED)
        if route.judged is None and belt[number] == UNLISTED:
            compared += 1
            assert (
                np.isnan(position[number])
                if route.position is None
                else position[number] == pytest.approx(route.position, abs=1e-7)
            )
        if route.judged is not None:
            compared += 1
            assert route.judged.belt == judged.belts[belt[number]]
            assert reserve[number] == pytest.approx(route.judged.reserve_mm, abs=1e-5)
            assert np.isnan(position[number]) if route.position is None else True
            if route.position is not None:
                assert position[number] == pytest.approx(route.position, abs=1e-7)
    assert compared > 1


@EVERY
def test_wraps_are_those_of_check(name: str) -> None:
    judged = _judged(name)
    for freed, way in judged.ways:
        for row in np.flatnonzero(way.belt != NO_BELT):
            route = _checked(name, int(way.index[row]))
            assert route is not None and tuple(p.name for p in route.pulleys) == freed.pulleys
            np.testing.assert_allclose(way.wrap_rad[row], route.loop.wrap, atol=1e-8)


@EVERY
def test_the_smallest_gaps_are_those_of_check(name: str) -> None:
    judged = _judged(name)
    fields = {"clearance": "clearance_mm", "strand_gap": "span_gap_mm", "rim_gap": "rim_gap_mm"}
    values = {check: judged.spread(field) for check, field in fields.items()}
    for number in np.flatnonzero(judged.spread("belt", -1.0) >= 0):
        route = _checked(name, number)
        assert route is not None
        for check, own in values.items():
            gaps = [gap for gap in _gaps(route) if gap.check == check]
            smallest = min((gap.value_mm for gap in gaps), default=np.inf)
            measured = MEASURED * min((gap.bound.limit for gap in gaps), default=0.0)
            assert min(own[number], measured) >= min(smallest, measured) - CLOSE_MM
            # Where there is a problem not every setting is looked at.
            if judged.state[number] >= STATES.index("caution"):
                assert min(own[number], measured) == pytest.approx(min(smallest, measured), abs=CLOSE_MM)


@EVERY
def test_the_margin_is_that_by_which_layouts_are_ranked(name: str) -> None:
    """By the scalar bounds; the map measures gaps only to so many times their limit, slip only where it is judged."""
    judged = _judged(name)
    margin, slip = judged.spread("margin"), judged.spread("slip_wet")
    for number in np.flatnonzero(judged.spread("belt", -1.0) >= 0):
        route = _checked(name, number)
        assert route is not None
        running = _running(route) if np.isfinite(slip[number]) else None
        worst = worst_margin(route, running, _gaps(route))
        share = np.inf if worst is None else worst.share
        own, share = min(margin[number], MEASURED - 1.0), min(share, MEASURED - 1.0)
        # Where there is a problem the gaps of not every setting are looked at.
        works = judged.state[number] >= STATES.index("caution")
        assert own == pytest.approx(share, abs=CLOSE_MM / 5.0) if works else own >= share - CLOSE_MM / 5.0


@for_each(
    ("railcar", "alternator", 14.8, "crank / tensioner"),
    ("railcar", "crane_pump", 14.8, "crank / tensioner"),
    ("workboat", "alternator", 24.9, "crank / tensioner"),
    ("camper", "house_alternator", 40.0, "tensioner / air_conditioning"),
)
def test_the_own_margin_is_of_what_differs_between_places(name: str, pulley: str, limit_mm: float, gap: str) -> None:
    """Of all that `check` finds, the tightest that is not the same wherever the pulley stands, while the whole travel
    is usable. Tighter at every place is the rim that the tensioner comes nearest to, at its stop or on the way.
    """
    layout = replace(shipped(name), limits={"min_rim_gap_mm": {"tensioner": limit_mm}})
    if name == "camper":  # which slips, and lacks wrap
        layout = replace(layout, limits={**layout.limits, "min_wrap_deg": {"": 60.0}})
        for each in layout.route:
            layout = with_pulley(layout, each, load=None)
    places = np.array(layout.pulleys[pulley].at_mm) + np.random.default_rng(3).normal(0.0, 8.0, (16, 2))
    judged = judged_places(layout, (pulley,), places[:, None])
    found, numbers = list[dict[str, tuple[float, float]]](), list[int]()
    for number in np.flatnonzero(judged.state >= STATES.index("caution")).tolist():
        route = route_or_none(moved_to(layout, pulley, places[number]))
        if route is not None and route.travel is not None and route.travel.whole:
            limited = _limited(route, _running(route), _gaps(route))
            told = [(f"{of} {at}", value, bound) for value, bound, of, at in limited if bound and bound.limit]
            found.append({what: (float(bound.margin(value)), value) for what, value, bound in told})
            numbers.append(number)
    first, *others = found
    own = {what for what in first if any(abs(first[what][1] - each[what][1]) > 1e-6 for each in others if what in each)}
    assert len(found) > 4
    for number, values in zip(numbers, found, strict=True):
        place = judged.place(number)
        least, of = min((share, what) for what, (share, _) in values.items() if what in own)
        assert place.own_margin == pytest.approx(least, abs=1e-6) and place.own_margin_of == of.replace(
            "wrap", "wrap of"
        )
        assert place.margin_of == f"rim gap {gap}" and place.margin is not None and place.margin < least


@EVERY
def test_a_place_judged_alone_comes_to_what_it_does_among_others(name: str) -> None:
    """What a move changes hangs on the pulley, not on how many places are asked after."""
    layout, pulley = DRIVES[name]
    judged = _judged(name)
    numbers = np.flatnonzero(judged.spread("belt", -1.0) >= 0)[:4].tolist()
    for number in numbers:
        alone, among = judged_places(layout, (pulley,), judged.places[[number]]).place(0), judged.place(number)
        assert (alone.verdict, alone.own_margin_of, alone.margin_of) == (
            among.verdict,
            among.own_margin_of,
            among.margin_of,
        )
        assert alone.own_margin == pytest.approx(among.own_margin, abs=1e-6)


@EVERY
def test_slip_is_that_of_check(name: str) -> None:
    """Highest use when wet, over every pulley, duty and speed, steady and revving."""
    judged = _judged(name)
    slip, state = judged.spread("slip_wet"), judged.state
    for number in np.flatnonzero(state >= STATES.index("caution")):
        route = _checked(name, number)
        assert route is not None
        running = _running(route)
        if running is None or not running.judges_grip:
            assert np.isnan(slip[number])
            continue
        changed = running.revving
        utilisations = [running.utilisation] if changed is None else [running.utilisation, changed[1]]
        worst = max(float(utilisation[CONDITIONS.index("wet")].max()) for utilisation in utilisations)
        assert slip[number] == pytest.approx(worst, rel=1e-6)


def test_a_pulley_that_slips_on_revs_has_no_place() -> None:
    """The crank slips while the engine changes speed wherever the alternator sits; steadily it does not."""
    layout, pulley = DRIVES["an engine that changes speed"]
    here = np.array([[layout.pulleys[pulley].at_mm]])
    steady = replace(layout, engine=replace(layout.engine, rev_up_rpm_per_s=None))
    states = [STATES[judged_places(given, (pulley,), here).state[0]] for given in (layout, steady)]
    assert states == [_severities([route_or_none(given)])[0] for given in (layout, steady)] == ["problem", "caution"]


def test_some_places_are_judged_for_slip_and_some_slip() -> None:
    seen = {name: _judged(name).spread("slip_wet") for name in DRIVES}
    assert sum(np.isfinite(slip).any() for slip in seen.values()) >= 5
    layout, pulley = DRIVES["beside an arm, obstacles"]
    hard = with_pulley(layout, "steering_pump", load=TorqueLoad(60.0))
    places = _judged("beside an arm, obstacles").places
    loose, hard_state = (judged_places(given, (pulley,), places).state for given in (layout, hard))
    assert (hard_state < loose).any() and not (hard_state > loose).any()


def test_slip_left_out() -> None:
    name = "seven pulleys, beside the arm"
    layout, pulley = DRIVES[name]
    without = judged_places(layout, (pulley,), _judged(name).places, slip=False)
    assert np.isnan(without.spread("slip_wet")).all()
    assert (without.state >= _judged(name).state).all()


def test_the_same_in_one_chunk_or_many(monkeypatch: pytest.MonkeyPatch) -> None:
    name = "seven pulleys, beside the arm"
    layout, pulley = DRIVES[name]
    monkeypatch.setattr("beltplan.judging.stages.CHUNK", 16)
    again, once = judged_places(layout, (pulley,), _judged(name).places), _judged(name)
    np.testing.assert_array_equal(again.state, once.state)
    np.testing.assert_array_equal(again.spread("belt"), once.spread("belt"))
    np.testing.assert_allclose(again.spread("margin"), once.spread("margin"), rtol=1e-9)


def test_one_place_alone_is_judged_as_among_others() -> None:
    layout, pulley = DRIVES["two pulleys on a slide"]
    many = _judged("two pulleys on a slide")
    for number in range(4):
        alone = judged_places(layout, (pulley,), many.places[[number]])
        assert alone.state.tolist() == [many.state[number]]
        np.testing.assert_allclose(alone.spread("margin"), many.spread("margin")[[number]], rtol=1e-9)


@for_each(*range(clearance.PLACES))
def test_what_is_met_at_one_setting_only_is_met_on_the_map(number: int) -> None:
    """A pulley slides past a thorn, 2 mm off its belt where it comes nearest, over 2.1 mm at other settings."""
    along, across = (np.array(each) / np.sqrt(2.0) for each in ((1.0, 1.0), (1.0, -1.0)))
    share, off_mm = number / (clearance.PLACES - 1), 50.0 + (PROFILES["PK"].back_mm or 0.0) + 2.0
    tip = np.array((300.0, 0.0)) + share * np.array((50.0, 50.0)) + off_mm * across
    corners = (tip, tip + 40.0 * across + 0.5 * along, tip + 40.0 * across - 0.5 * along)
    thorn = Polygon("thorn", tuple((float(x), float(y)) for x, y in corners))
    near = {"min_clearance_mm": {"": 2.1}, "min_rim_gap_mm": {"": 1.0}}
    judged = judged_places(sliding(end=(350.0, 50.0), obstacles=(thorn,), limits=near), ("crank",), np.zeros((1, 1, 2)))
    assert judged.state.tolist() == [STATES.index("problem")]
    assert judged.spread("clearance_mm")[0] == pytest.approx(2.0, abs=0.01)


STEADY_AND_REVVING = (
    *("seven pulleys, beside the arm", "beside an arm, obstacles", "the driver"),
    *("an engine that changes speed", "V-belt on a slide"),
)


@pytest.mark.parametrize("name", STEADY_AND_REVVING)
def test_states_left_out_decide_nothing(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same places judged in every state, at the ends of the tension as well."""
    layout, pulley = DRIVES[name]
    here = np.array(layout.pulleys[pulley].at_mm)
    places = here + np.random.default_rng(5).normal(0.0, 20.0, (400, 1, 2))
    some = judged_places(layout, (pulley,), places)
    questions = {check: replace(each, deciding=_in_every_state) for check, each in BY_TENSION.items()}
    monkeypatch.setattr("beltplan.judging.running.BY_TENSION", questions)
    ends = tuple(tuple(replace(each, deciding=_in_every_state) for each in at_an_end) for at_an_end in _AT_THE_ENDS)
    monkeypatch.setattr("beltplan.judging.running._AT_THE_ENDS", ends)
    every = judged_places(layout, (pulley,), places)
    np.testing.assert_array_equal(some.state, every.state)
    assert some.failing.tolist() == every.failing.tolist() and some.margin_names == every.margin_names
    for told in ("slip_wet", "margin", "own_margin"):
        assert np.isfinite(every.spread(told)).any()
        np.testing.assert_allclose(some.spread(told), every.spread(told), rtol=1e-9, atol=1e-9)


def _in_every_state(run: Running, response: Response) -> Bools:
    return np.ones(len(run.rpm), dtype=bool)


def test_progress_rises_to_the_whole() -> None:
    told: list[float] = []
    layout, pulley = DRIVES["no adjuster"]
    judged_places(layout, (pulley,), places_round(layout, 50, 1)[:, None], told.append)
    assert told == sorted(told) and told[-1] == pytest.approx(1.0) and told[0] > 0.0


def test_two_pulleys_at_once() -> None:
    """Law: a pair of places comes to what the second comes to alone once the first has moved."""
    layout, pulley = DRIVES["beside an arm, obstacles"]
    rng, present = np.random.default_rng(2), np.array(layout.pulleys["alternator"].at_mm)
    first = present + rng.uniform(-25.0, 25.0, (12, 2))
    second = places_round(layout, 12, 9)
    second[::2] = np.array(layout.pulleys[pulley].at_mm) + rng.uniform(-25.0, 25.0, (6, 2))
    both = judged_places(layout, ("alternator", pulley), np.stack((first, second), axis=1))
    for i in range(12):
        alone = judged_places(moved_to(layout, "alternator", first[i]), (pulley,), second[i][None, None])
        assert both.state[i] == alone.state[0]
        np.testing.assert_allclose(both.spread("margin")[i], alone.spread("margin")[0], rtol=1e-9)
    assert len(set(both.state.tolist())) > 1

"""Studies with chances made by hand: which belts are shown and called what, and what is said to fail in nearly all."""

import json
from dataclasses import replace
from functools import cache

import numpy as np

from beltplan.drive.belt import parse_designation
from beltplan.drive.route import route_of
from beltplan.report.screen import Screen, shown
from beltplan.tolerance.picture import tolerance_scene
from beltplan.tolerance.report import answers, tolerance_json, tolerance_report
from beltplan.tolerance.study import BeltChance, Tolerance, WrapSpread, best_of, percent, tolerance_of
from tests.drive.drives import railcar, with_belt
from tests.for_each import for_each
from tests.tolerance.drives import two_fixed


@cache
def _study() -> Tolerance:
    return tolerance_of(route_of(railcar()), 400)


def _chances(*inside: float, kept: float = 0.8) -> tuple[BeltChance, ...]:
    """Belts of 1700 mm and each 10 mm more; with room for wear in so great a share of the draws in which they fit."""
    lengths = range(1700, 1700 + 10 * len(inside), 10)
    return tuple(
        BeltChance(parse_designation(f"8PK{mm}"), mm + 12.0, chance, kept * chance, chance, kept * chance)
        for mm, chance in zip(lengths, inside, strict=True)
    )


def _with(belts: tuple[BeltChance, ...]) -> Tolerance:
    nearest = best_of(belts)
    return replace(_study(), belts=belts, nearest=nearest, fitted=None if nearest is None else nearest.belt)


def test_the_belts_shown_are_the_nearest_the_chosen_and_the_likeliest_the_shortest_first() -> None:
    rng = np.random.default_rng(7)
    for _ in range(40):
        study = _with(_chances(*rng.uniform(0.02, 1.0, rng.integers(1, 14)).tolist()))
        for count in (1, 2, 5, 9):
            found = study.foremost(count)
            assert [belt.line_mm for belt in found] == sorted(belt.line_mm for belt in found)
            assert len(found) == min(count, len(study.belts)) and study.nearest in found
            others = [belt for belt in study.belts if belt not in found]
            least = min((belt.rank for belt in found if belt != study.nearest), default=None)
            assert least is None or all(belt.rank <= least for belt in others)
        assert study.foremost() == study.foremost(9)


@for_each(((0.2, 0.9, 0.4), 0.8, True), ((0.2, 0.45, 0.4), 0.8, False), ((0.9,), 0.1, False))
def test_one_belt_is_called_what_it_is(inside: tuple[float, ...], kept: float, buys: bool) -> None:
    study = _with(_chances(*inside, kept=kept))
    assert (study.best is not None) == buys and not study.plan.count("problem")
    called = [study.called(belt) for belt in study.belts]
    best = inside.index(max(inside))
    assert called == [(("buy",) if buys else ("nearest",)) if i == best else () for i in range(len(inside))]
    told = json.loads(tolerance_json(study))
    designation = study.belts[best].designation
    assert (told["buy"], told["nearest"]) == (designation if buys else None, designation)
    words = dict(answers(study))["BUY"]
    assert words.startswith("none; the nearest is ") != buys and designation in words


def _wrap(pulley: str, under: float) -> WrapSpread:
    return WrapSpread(pulley, 120.0, 121.0, 1.0, (119.0, 123.0), under)


@for_each(
    ((0.0, 0.0), 0.9, ()),
    ((0.99, 0.2), 0.9, ()),
    ((0.199, 0.2), 0.9, ()),
    ((0.199, 0.0), 0.9, ()),
    ((0.991, 0.2), 0.9, ("the wrap of a falls short",)),
    ((0.995, 1.0), 0.9, ("the wrap of a and b falls short",)),
    ((0.0, 0.0), 0.0101, ()),
    ((0.0, 0.0), 0.0099, ("no belt can be fitted",)),
    ((1.0, 0.0), 0.005, ("no belt can be fitted", "the wrap of a falls short")),
)
def test_what_fails_in_over_99_of_100_draws_is_no_matter_of_measuring(
    under: tuple[float, float], inside: float, said: tuple[str, ...]
) -> None:
    study = replace(_with(_chances(inside)), wraps=tuple(map(_wrap, "ab", under)))
    assert study.route.to_ask_for_mm is None and study.windows is not None
    assert study.lost == said and (study.measure_again is None) == bool(said)
    words = dict(answers(study)).get("MEASURE", "")
    assert words.startswith("no measuring helps: in over 99 % of draws " + " and ".join(said)) == bool(said)
    often = [name for name, chance in zip("ab", under, strict=True) if chance >= 0.2]
    first = ". Change the layout before you measure: " in dict(answers(study)).get("WRAP", "")
    assert first == (words == "") == bool(often and not said) and (". Change the layout first" in words) == bool(said)
    narrow = [f"{name} " for name, chance in zip("ab", under, strict=True) if chance >= 0.01]
    assert all(name in dict(answers(study)).get("WRAP", "") for name in narrow)
    assert ("WRAP" in dict(answers(study))) == bool(narrow)


@for_each(((0.01, 0.03), ()), (None, ("nothing takes up wear",)))
def test_without_an_adjuster_wear_is_taken_up_by_a_belt_that_stretches(
    stretch: tuple[float, float] | None, wears: tuple[str, ...]
) -> None:
    study = tolerance_of(route_of(with_belt(two_fixed(300.0, "6PK915"), stretch_fit=stretch)), 300)
    assert study.windows is None and tuple(each for each in study.lost if "wear" in each) == wears
    assert all((belt.with_reserve is None) == bool(wears) for belt in study.belts)


@for_each((100, "10 %"), (400, "5 %"), (10_000, "1 %"), (20_000, "0.7 %"), (1_000_000, "0.1 %"))
def test_how_good_chances_are_follows_from_the_draws(draws: int, words: str) -> None:
    """1.96 standard deviations of a share of a half: 0.98 / sqrt(draws), to one digit."""
    for full in (True, False):
        text = shown(tolerance_report(replace(_study(), draws=draws), full), Screen())
        assert f"Chances are good to {words}{'' if full else '; more: --full'}." in text


@for_each(((0.0, 0.0), False), ((0.2, 0.0), True), ((0.2, 0.3), True), ((0.0, 0.0005), True))
def test_a_chart_of_wraps_says_which_fall_short_where_one_does(under: tuple[float, ...], said: bool) -> None:
    scene = tolerance_scene(replace(_study(), wraps=tuple(map(_wrap, "ab", under))), ("Buy: nothing.",))
    told = [label.text for label in scene.labels]
    assert ("falls short" in told) == said
    every = [percent(chance) for chance in under if chance]
    assert not said or set(every) <= set(told)

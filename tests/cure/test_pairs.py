"""Pairs of changes: which are looked at, and in which order. What a path falls short of is the screening's own."""

from __future__ import annotations

from beltplan.checks.limits import Finding, Severity
from beltplan.cure.changes import Change, Changes, key_of
from beltplan.cure.kinds import A_TARGET, PARTNERS, companions_of, pairs_of
from beltplan.cure.moves import other_diameter
from beltplan.cure.screen import screen_of
from beltplan.cure.trials import Issue, Trial
from tests.cure.drives import route

A, B, C = (("wrap", name) for name in ("crank", "alternator", "guide"))


def trial(change: Change, *left: Issue, severity: Severity = "problem") -> Trial:
    findings = tuple(Finding(check, severity, subject, "message", "source") for check, subject in left)
    return Trial((change,), route("railcar").layout, findings)


def pairs(*singles: Trial, most: int = 50, severity: Severity = "problem") -> tuple[tuple[Changes, ...], int]:
    laid = route("railcar")
    before = Trial((), laid.layout, (Finding("wrap", severity, "crank", "message", "source"),))
    return pairs_of(singles, before, screen_of(laid, None), most)


def larger(name: str, by: float = 5.0) -> Change:
    return other_diameter(name, {"crank": 190.0, "compressor": 150.0, "alternator": 62.0}.get(name, 95.0) + by, 95.0)


def test_two_that_solve_what_the_other_leaves_come_first() -> None:
    found, looked_at = pairs(
        trial(larger("crank"), A), trial(larger("compressor"), A, B), trial(larger("alternator"), B, C)
    )
    assert looked_at == 3
    assert key_of(found[0]) == key_of((larger("crank"), larger("alternator")))


def test_what_cures_alone_is_in_no_pair() -> None:
    found, looked_at = pairs(trial(larger("crank")), trial(larger("crank", 10.0), A), trial(larger("compressor"), A))
    assert (found, looked_at) == ((), 0)


def test_one_target_is_not_paired_with_itself_and_not_taken_too_often() -> None:
    many = [trial(larger("crank", 5.0 * i), A) for i in range(1, 8)]
    assert pairs(*many) == ((), 0)
    _, looked_at = pairs(*many, trial(larger("compressor"), B))
    assert looked_at == A_TARGET
    assert all(count >= 1 for count in PARTNERS.values())


def test_no_more_than_asked_for_and_none_without_a_path() -> None:
    huge = other_diameter("compressor", 900.0, 150.0)
    found, looked_at = pairs(trial(larger("crank"), A), trial(huge, B))
    assert (found, looked_at) == ((), 1), "a disc of 900 mm lies over its neighbours"
    found, _ = pairs(trial(larger("crank"), A), trial(larger("compressor"), B), trial(larger("guide"), C), most=2)
    assert len(found) == 2


def test_where_there_are_only_cautions_what_takes_some_away_is_paired_still() -> None:
    some = [trial(larger("crank"), A, severity="caution"), trial(larger("compressor"), B, severity="caution")]
    assert pairs(*some, severity="caution")[1] == 1
    assert pairs(*some, severity="problem")[1] == 0, "either leaves no problem, so cures alone"
    assert pairs(trial(larger("crank")), some[1], severity="caution")[1] == 0, "the first leaves nothing"


def test_beside_a_cure_comes_first_what_takes_away_what_it_leaves() -> None:
    best = trial(larger("crank"), A, severity="caution")
    useless, useful = trial(larger("compressor", 1.0), A), trial(larger("alternator", 20.0), B)
    same = trial(larger("crank", 30.0))
    found = companions_of(best, [useless, same, useful], 5)
    assert found == ((*best.changes, *useful.changes), (*best.changes, *useless.changes))
    assert companions_of(best, [useless, same, useful], 1) == found[:1]

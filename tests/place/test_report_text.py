"""The text of a map: it says what the map holds, in lines that fit."""

import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from beltplan.checks.plan import plan_of
from beltplan.drive.mounts import Mark
from beltplan.drive.pulleys import Slide, SlideSpring
from beltplan.judging.room import Stays
from beltplan.judging.stages import CAUTION
from beltplan.layoutfile.layout_file import read_layout
from beltplan.place.advice import Advice, Proof, advice_of
from beltplan.place.report import _worth, place_answers, place_json, place_report
from beltplan.place.study import Grid, PlaceMap, grid_of, place_map
from beltplan.report.answer import picture_words
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from tests.drive.drives import with_pulley
from tests.for_each import for_each
from tests.place.drives import shipped


@cache
def _made() -> tuple[PlaceMap, Advice]:
    # Without the load, else the alternator has a caution at every place.
    layout = with_pulley(shipped("railcar"), "alternator", load=None)
    found = place_map(layout, "compressor", grid_of((-420.0, 40.0), (-180.0, 340.0), 12.0, None))
    return found, advice_of(found)


def place_text(found: PlaceMap, advice: Advice, full: bool = False, width: int = 100) -> str:
    return shown(place_report(found, advice, full), Screen(width))


def test_the_answer_stands_first() -> None:
    found, advice = _made()
    text = place_text(found, advice)
    assert advice.best is not None and not advice.stay
    (x0, y0), (x1, y1) = found.present.at_mm[0], advice.best.place.at_mm[0]
    away = f"compressor at x {x1:.1f}, y {y1:.1f} mm: "
    assert text.splitlines()[1].startswith(f"BEST     {away}")
    ways = {"right": x1 - x0, "left": x0 - x1, "up": y1 - y0, "down": y0 - y1}
    way = " ".join(text.split()).partition(away)[2].partition(" from where it is now")[0]
    assert way == " and ".join(f"{by:.1f} mm {word}" for word, by in ways.items() if by > 0.0)
    heads = [line.partition("  ")[0] for line in text.splitlines() if line[:3].isupper()]
    assert heads == ["BEST", "NOW", "MARGIN", "WHY NOT", "AT THE BEST PLACE", "SAFETY"][:4] + heads[4:]


def test_how_far_it_stays_good_is_told_of_both_places() -> None:
    found, advice = _made()
    for proof in (advice.best, advice.now):
        assert proof is not None and proof.stays is not None
        stays = proof.stays
        so = "stays without a problem" if proof.caution is None else "stays so"
        more = " or more" * (stays.at_most_mm is None)
        words = f"{so} within {stays.at_least_mm:.1f} mm{more}, "
        assert words in " ".join(place_text(found, advice).split())


def test_why_not_counts_every_place_once() -> None:
    found, advice = _made()
    words = " ".join(place_text(found, advice).split()).partition("WHY NOT ")[2]
    numbers = [int(n.replace(",", "")) for n in re.findall(r"(?<![\w.])\d[\d,]*", words.partition(" of them")[0])]
    total, no_path, problem = numbers[:3]
    assert (total, no_path, problem) == (found.grid.count, found.counts["no path"], found.counts["problem"])
    *causes, good, sound, other = numbers[3 : 6 + len(found.failing)]
    blamed = numbers[6 + len(found.failing) :]
    assert other == found.counts["caution"] == sum(blamed) == good - sound
    none = replace(found, judged=replace(found.judged, state=np.minimum(found.judged.state, CAUTION)))
    assert f"{good:,} have no problem, but each a caution" in " ".join(place_text(none, advice).split())
    assert sum(causes) == problem and no_path + problem + good == total and sound == found.counts["sound"]


@pytest.mark.parametrize("width", [72, 100])
def test_no_line_is_over_the_width_and_safety_stands_last(width: int) -> None:
    for full, last in ((True, SAFETY), (False, SAFETY_IN_SHORT)):
        text = place_text(*_made(), full, width)
        assert max(map(len, text.splitlines())) <= width
        assert " ".join(text.split()).endswith("SAFETY " + last)


def test_the_table_is_short_and_says_what_it_leaves_out() -> None:
    found, advice = _made()
    lines = place_text(found, advice, full=True).splitlines()
    also = f"BEST should also stay good {advice.needed_mm:.1f} mm off"
    first = lines.index(f"For each belt its best place by margin alone, best first; {also}:") + 2
    rows = [line for line in lines[first:] if line.startswith("8PK")]
    assert len(rows) == min(12, len(found.best_by_belt))
    assert f"and {len(found.best_by_belt) - 12} more belts: --json has them all" in lines
    assert rows[0].split()[0] == found.best_by_belt[0].belt


def test_a_mark_that_the_pulley_comes_to_lie_over_is_told() -> None:
    found, advice = _made()
    assert advice.best is not None
    (x, y), radius = advice.best.place.at_mm[0], 0.5 * found.layout.pulleys["compressor"].diameter_mm
    marks = (Mark("stud", (x + 0.8 * radius, y)), Mark("dowel", (x, y - 1.5 * radius)))
    plan = plan_of(replace(advice.best.plan.layout, marks=marks))
    marked = replace(advice, best=replace(advice.best, plan=plan))
    told = " ".join(place_text(replace(found, layout=replace(found.layout, marks=marks)), marked).split())
    assert " covers the mark stud: see that" in told and "dowel" not in told
    assert " covers the mark" not in place_text(found, advice)


def test_a_mark_that_the_pulley_lies_over_now_and_there_is_told_too() -> None:
    """A stud between both places, under the rim at either: it may foul the pulley there as it may here."""
    found, advice = _made()
    assert advice.best is not None
    now, best = (np.array(place.at_mm[0]) for place in (found.present, advice.best.place))
    assert np.linalg.norm(best - now) < found.layout.pulleys["compressor"].diameter_mm
    marks = (Mark("stud", (*(0.5 * (now + best)).tolist(),)),)
    searched, moved = (replace(each, marks=marks) for each in (found.layout, advice.best.plan.layout))
    marked = replace(advice, best=replace(advice.best, plan=plan_of(moved)))
    told = " ".join(place_text(replace(found, layout=searched), marked).split())
    assert "compressor covers the mark stud: see that" in told
    told_json = json.loads(place_json(replace(found, layout=searched), marked))
    assert told_json["covers"] == [{"pulley": "compressor", "mark": "stud"}]


def test_the_picture_says_what_the_text_says_in_its_own_units() -> None:
    found, advice = _made()
    words = picture_words(place_answers(found, advice), "mm")
    assert [each.partition(":")[0] for each in words] == ["Best", "Now", "Margin", "Why not"]
    text = re.sub("(BEST|NOW|MARGIN|WHY NOT) ", "", " ".join(place_text(found, advice).split()))
    assert " ".join(each.partition(": ")[2] for each in words).replace("where it is now; ", "where it is now ") in text
    assert " in: no problem" in picture_words(place_answers(found, advice), "in")[1]


def test_loads_without_a_tension_are_said() -> None:
    """A V-belt without `stiffness_N`: its profile has no default, so no tension by a spring can be computed."""
    given = shipped("orchard_sprayer")
    given = replace(given, belt=replace(given.belt, stiffness_N=None))
    slide = Slide((296.0, 196.0), (340.0, 224.0), at=0.5, spring=SlideSpring(400.0, 20.0, 2.0))
    given = with_pulley(given, "alternator", adjuster=slide)
    found = place_map(given, "pump_and_fan", grid_of((-30.0, 270.0), (0.0, 300.0), 15.0, None))
    assert "Slip is not judged, though loads are given: give stiffness_N" in " ".join(
        place_text(found, advice_of(found)).split()
    )


def test_nothing_works() -> None:
    found = place_map(shipped("workboat"), "alternator", Grid((-5.0, -5.0), (5.0, 5.0), 5.0))
    advice = advice_of(found)
    text = place_text(found, advice, full=True)
    assert "BEST     none: every place on the map has a problem" in text and "MARGIN" not in text
    assert "WHY NOT  of 9 places 9 have no belt path; none is free of problems" in text


def test_what_no_place_changes_is_said_where_nothing_works() -> None:
    """An alternator that stands 100 rpm is a problem wherever it sits."""
    layout = with_pulley(shipped("workboat"), "alternator", max_rpm=100.0)
    found = place_map(layout, "alternator", Grid((170.0, 350.0), (180.0, 360.0), 5.0))
    text = place_text(found, advice_of(found))
    assert "BEST     none: every place on the map has a problem" in text
    assert "AT EVERY PLACE" in text and "over its maximum of 100" in text
    assert (
        "of 9 places none is free of problems. Besides, wrong at every place: rpm of alternator; 9 have only that"
        in " ".join(text.split())
    )


@pytest.mark.parametrize("at", [(0.0, 100.0)])
def test_a_present_place_without_a_path(at: tuple[float, float]) -> None:
    layout = with_pulley(shipped("railcar"), "alternator", at_mm=at)
    found = place_map(layout, "alternator", Grid((230.0, 290.0), (250.0, 310.0), 10.0))
    text = " ".join(place_text(found, advice_of(found)).split())
    assert "NOW x 0.0, y 100.0 mm: no path; the nearest place without a problem is " in text


def test_what_stands_at_every_place_is_named_once_and_is_no_reason_that_no_belt_fits() -> None:
    """Three spans are out of line and a pulley turns both too slowly and too fast whatever the place."""
    layout = read_layout(str(Path(__file__).parents[1] / "cases" / "findings.yaml")).layout
    found = place_map(layout, "wp", Grid((-300.0, -200.0), (400.0, 500.0), 60.0))
    assert len(set(found.judged.standing)) == len(found.judged.standing) > 5
    told = place_text(found, advice_of(found))
    assert found.present.verdict == "no belt fits" and "no belt fits\nWHY NOT" in told


def _told(stands: Proof, **changed: Any) -> str:
    """The answer for a best place that stands so, in one line."""
    found, advice = _made()
    advice = replace(advice, best=stands, **changed)
    return " ".join(place_text(found, advice).split())


def _stands(problem: Stays | None, caution: Stays | None, **place: Any) -> Proof:
    best = _made()[1].best
    assert best is not None
    return replace(best, place=replace(best.place, **place), problem=problem, caution=caution, one_belt=None)


@for_each(
    (Stays(12.0, 20.0), None, "stays without a problem within 12.0 mm, whichever way it moves; belt"),
    (Stays(12.0, 20.0), Stays(4.0, 12.0),
     "stays so within 4.0 mm, without a problem within 12.0 mm, whichever way it moves; belt"),
    (Stays(15.0, None), Stays(4.0, 12.0), "stays so within 4.0 mm, whichever way it moves; belt"),
    (Stays(4.0, 4.1), Stays(4.0, 4.1), "stays so within 4.0 mm, whichever way it moves; belt"),
    (Stays(0.0, 0.1), None, "; a problem 0.1 mm off; belt"),
    (Stays(8.0, 8.1), Stays(0.0, 0.1),
     "; one caution more 0.1 mm off, without a problem within 8.0 mm, whichever way it moves; belt"),
    (Stays(0.0, 0.1), Stays(0.0, 0.1), "; one caution more 0.1 mm off; belt"),
    (Stays(0.1, 0.2), None, "stays without a problem within 0.1 mm, whichever way it moves; belt"),
    (Stays(15.0, None), None, "stays without a problem within 15.0 mm or more, whichever way it moves; belt"),
)  # fmt: skip
def test_how_far_it_stays_good_in_words(problem: Stays, caution: Stays | None, words: str) -> None:
    assert words in _told(_stands(problem, caution))


@for_each(
    (Stays(2.0, 2.1), " if it sits within 2.0 mm: buy it once the pulley hangs"),
    (Stays(0.0, 0.1), " if it sits exactly there: buy it once the pulley hangs"),
    (Stays(12.0, 12.1), ""),
)
def test_how_near_it_must_sit_for_its_belt_in_words(one_belt: Stays, words: str) -> None:
    stands = replace(_stands(Stays(12.0, 20.0), None), one_belt=one_belt)
    assert f"belt {stands.place.belt}{words} NOW" in _told(stands)


@for_each((0.0, False), (5.0, True), (5000.0, False))
def test_a_place_beyond_what_a_pulley_can_be_moved_says_so(movable_mm: float, told: bool) -> None:
    found, advice = _made()
    name = found.names[0]
    layout = found.layout.with_pulley(replace(found.layout.pulleys[name], movable_mm=movable_mm))
    text = " ".join(place_text(replace(found, layout=layout), advice).split())
    assert ("beyond the 5.0 mm that `movable_mm` allows" in text) is told


@for_each(
    (3.0, 3.0, ""),
    (2.9, 3.1, "by the measurements it may sit up to 3.1 mm off, farther than this place is sure to stay good NOW"),
    (2.9, 3.0, "a bracket may sit up to 3.0 mm off, farther than this place is sure to stay good NOW"),
)
def test_a_place_that_may_be_lost_by_an_error_of_placing_says_so(sure_mm: float, needed_mm: float, words: str) -> None:
    stands = _stands(Stays(sure_mm, 20.0), None)
    told, stay = (_told(stands, needed_mm=needed_mm, stay=why) for why in ("", "because"))
    assert words in told and words in stay and ("mm off, farther" in told) == bool(words)
    assert "stay where you are: because" in stay


@for_each(
    (
        0.3,
        0.1,
        "the tightest check that a move changes: wrap of pump, 30.0 % inside its limit; now {}10.0 % inside",
    ),
    (0.0, -0.2, "changes: wrap of pump, 0.0 % inside its limit; now {}20.0 % short, a caution WHY"),
    (-0.1, None, "changes: wrap of pump, 10.0 % short, a caution WHY"),
    (None, 0.1, None),
)
def test_what_is_gained_in_words(own: float | None, now: float | None, words: str | None) -> None:
    """Beside what the present place has, even where that is of another limit; one of both is named once."""
    found, _ = _made()
    best = _stands(Stays(12.0, 20.0), None, own_margin=own, own_margin_of="wrap of pump", margin=own)
    assert found.present.works
    for of, named in (("rim gap", "another, rim gap, "), ("wrap of pump", "")):
        present = replace(found.present, own_margin=now, own_margin_of=of)
        told = dict(_worth(present, best, False)).get("MARGIN")
        assert (told is None) == (words is None) and (words or "").format(named) in f"{told} WHY"
    # What is tighter wherever it stands is told besides: no move mends it.
    for margin, more in ((0.2, True), (0.4, False)):
        stands = _stands(
            Stays(12.0, 20.0), None, own_margin=0.4, own_margin_of="it", margin=margin, margin_of="gap x / y"
        )
        (told,) = dict(_worth(found.present, stands, True)).values()
        assert told.endswith("; tighter at every place: gap x / y, 20.0 % inside its limit") == more
        assert "now" not in dict(_worth(present, best, True)).get("MARGIN", "")
    lost = dict(_worth(replace(found.present, verdict="problem", own_margin=-0.2), best, False))
    assert own is None or lost["MARGIN"].endswith("20.0 % short")


def test_that_no_listed_belt_fits_at_the_best_place_stands_in_the_first_line() -> None:
    told = _told(_stands(Stays(12.0, 20.0), None, belt=None))
    assert re.search(r"BEST [^;]* from where it is now, but no belt on the list fits there no problem", told)
    assert "belt: ask a supplier NOW" in told and "on the list" not in _told(_stands(Stays(12.0, 20.0), None))


@for_each("", "no place of the map leaves more margin")
def test_the_best_place_says_that_no_belt_but_the_one_named_was_judged(stay: str) -> None:
    """With `belt: 8PK`, all in stock are."""
    found, advice = _made()
    named = replace(found.layout, belt=replace(found.layout.belt, length_mm=2050.0))
    for layout, only in ((found.layout, False), (named, True)):
        best = place_answers(replace(found, layout=layout), replace(advice, stay=stay))[: 1 if stay else 2]
        assert best[-1][1].endswith("; no belt but the file's was judged") == only


@for_each(
    ((10.0, 0.0), "10.0 mm right"), ((7.0, 6.5), "7.0 mm right and 6.5 mm up"), ((0.0, 5.0), "5.0 mm up"),
    ((-9.0, -1.25), "9.0 mm left and 1.2 mm down"), ((0.04, -9.0), "9.0 mm down"),
)  # fmt: skip
def test_which_way_it_is_moved(step: tuple[float, float], way: str) -> None:
    """By its parts, as a ruler lays them off; not one that no ruler shows."""
    found, _ = _made()
    ((x, y),) = found.present.at_mm
    told = _told(_stands(Stays(12.0, 20.0), None, at_mm=((x + step[0], y + step[1]),)))
    assert f": {way} from where it is now" in told

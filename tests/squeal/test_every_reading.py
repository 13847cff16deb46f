"""Every number behind a cause: its margin by hand, its weight that of the check, its place in the list by the rule."""

import math
import re
from functools import cache
from pathlib import Path
from typing import get_args

import numpy as np
import pytest

from beltplan.checks.plan import Plan, plan_of
from beltplan.checks.slip import condition_words
from beltplan.drive.mechanics import CONDITIONS, Condition
from beltplan.drive.operation import REVVING, Operation
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.layout_file import read_layout
from beltplan.squeal.readings import WORDS, Heard, Water
from beltplan.squeal.slipping import low_spring, run_in, steady
from beltplan.squeal.study import CAUSES, Squealing, Weighed, squealing_of
from tests.for_each import for_each
from tests.shipped import SHIPPED_LAYOUTS

CASES = Path(__file__).parents[1] / "cases"
OTHERS = ("squeal", "findings", "stationary", "wide_flat", "hand_set_1425", "fixed")
PATHS = (*SHIPPED_LAYOUTS, *(CASES / f"{name}.yaml" for name in OTHERS))
HEARD = (Heard(), Heard(("wet", "idle"), "louder"), Heard(("letting_off", "hot"), "quieter"))
AT_MOST = ("slip_wet", "slip_dry", "slip_low", "run_in", "slip_revving", "slip_letting_off", "misalignment")
"""Causes whose number is to stay under its limit; of the others it is to stay over it."""
AT_LEAST = ("wrap", "small_pulley", "take_up", "drive_resonance", "resonance")
CHECKS = {"wrap": "wrap", "misalignment": "misalignment", "small_pulley": "small_pulley", "grooves": "grooves"}
"""Causes of which each place is judged by one check alone."""
WEIGHT = {"note": 0, "caution": 1, "problem": 2}


@cache
def _plan(path: Path) -> Plan:
    return plan_of(read_layout(str(path)).layout)


@cache
def _every(path: Path) -> list[tuple[Heard, Squealing]]:
    return [(heard, squealing_of(_plan(path), heard)) for heard in HEARD]


@for_each(*PATHS, ids=lambda path: path.stem)
def test_a_margin_is_the_share_of_the_limit_that_is_left(path: Path) -> None:
    for each in _every(path)[0][1].weighed:
        value, limit = each.reading.value, each.reading.limit
        if value is None or not math.isfinite(value) or each.cause.name not in (*AT_MOST, *AT_LEAST):
            continue
        wanted = value / limit - 1.0 if each.cause.name in AT_LEAST else 1.0 - value / limit
        if each.cause.name == "drive_resonance" and value == 0.0:
            assert each.reading.margin <= -1.0, "less than nothing is left"
        else:
            assert each.reading.margin == pytest.approx(wanted, abs=1e-9), each.cause.name


@for_each(*PATHS, ids=lambda path: path.stem)
def test_the_weight_is_that_of_the_check(path: Path) -> None:
    found = {(each.check, each.subject): WEIGHT[each.severity] for each in _plan(path).findings}
    for each in _every(path)[0][1].weighed:
        if each.cause.name in CHECKS:
            assert each.reading.severity == found.get((CHECKS[each.cause.name], each.reading.where), 0), each.cause.name
        assert (each.reading.severity > 0) == bool(each.reading.change)
    assert {each.name for cause in CAUSES for each in cause.checks} >= set(CHECKS.values())


@for_each(*PATHS, ids=lambda path: path.stem)
def test_the_list_is_in_the_order_of_its_rule(path: Path) -> None:
    """Not ruled out, fits, is no mere screen; then what a check says something of, problems first; then the margin."""
    for heard, squealing in _every(path):
        keys = []
        for each in squealing.weighed:
            reading = each.reading
            words = [word for word in heard.when if word not in each.cause.fits or word in reading.never]
            water = heard.water is not None and heard.water != each.cause.water
            assert [word for word in each.unfit if not word.startswith("water")] == words
            assert any(word.startswith("water") for word in each.unfit) == water
            silent = set(each.cause.fits) <= set(reading.never)
            keys.append(
                (
                    reading.margin == math.inf,
                    bool(words) or water or silent,
                    reading.rests_on_slip,
                    0 if reading.by_design else -reading.severity,
                    round(reading.margin, 9),
                )
            )
        assert keys == sorted(keys)
        assert squealing.likely is None or squealing.likely is squealing.weighed[0]
        first, key = squealing.weighed[0], keys[0]
        assert (squealing.likely is first) == (not any(key[:3]) and key[3] < 0 and first.reading.margin <= 0.35)


@for_each(*PATHS, ids=lambda path: path.stem)
def test_what_is_told_is_what_a_check_speaks_of_and_the_nearest_of_every_other(path: Path) -> None:
    for _, squealing in _every(path):
        first: dict[str, Weighed] = {}
        for each in squealing.weighed:
            first.setdefault(each.cause.name, each)
        wanted = [each for each in squealing.weighed if each.reading.severity or first[each.cause.name] is each]
        assert list(squealing.telling) == wanted


@for_each(*PATHS, ids=lambda path: path.stem)
def test_steady_slip_is_the_highest_use_of_every_duty_and_speed_and_at_idle_of_idle_alone(path: Path) -> None:
    plan = _plan(path)
    if plan.operation is None:
        return
    names = [pulley.name for pulley in plan.route.pulleys]
    for condition in get_args(Condition):
        used = plan.operation.utilisation[CONDITIONS.index(condition)]
        for heard, speeds in ((Heard(), slice(None)), (Heard(("idle",)), slice(0, 1))):
            for reading in steady(plan, heard, condition):
                own = used[:, speeds, names.index(reading.where)]
                assert reading.value == pytest.approx(own.max()), (condition, reading.where)
                rpm = plan.operation.driver_rpm[speeds][np.unravel_index(own.argmax(), own.shape)[1]]
                assert f"{condition_words(condition)} at {rpm:.0f} rpm" in reading.words


@for_each(*PATHS, ids=lambda path: path.stem)
def test_at_the_low_end_of_the_tension_the_use_is_that_of_so_much_less(path: Path) -> None:
    plan = _plan(path)
    if plan.operation is None or plan.operation.ends is None:
        assert not [*low_spring(plan, Heard()), *run_in(plan, Heard())]
        return
    names, low = [pulley.name for pulley in plan.route.pulleys], plan.operation.ends[0]
    wet = CONDITIONS.index("wet")
    every = [*low_spring(plan, Heard()), *run_in(plan, Heard())]
    slipping = {r.where for r in steady(plan, Heard(), "wet") if (r.value or 0.0) >= 1.0}
    told = {r.where for r in every}
    assert not told & slipping and (not told or told | slipping >= {row.pulley for row in plan.slip})
    for reading in every:
        at = names.index(reading.where)
        assert reading.value == pytest.approx(_most(low, wet, at))
        assert reading.severity <= 1 and (reading.severity == 1) == ((reading.value or 0.0) > 1.0)
        full = re.search(r"; ([\d.]+) at full tension", reading.words)
        assert full is not None and float(full[1]) <= _most(plan.operation, wet, at) + 0.005 < 1.005


def _most(operation: Operation, condition: int, index: int) -> float:
    """The most grip used in steady running or while the engine changes speed."""
    ways = [operation.utilisation] if operation.revving is None else [operation.utilisation, *_revving(operation)]
    return max(float(way[condition][..., index].max()) for way in ways)


def _revving(operation: Operation) -> list[Floats]:
    return [] if operation.revving is None else [operation.revving[1][:, i] for i in range(len(REVVING))]


def test_words_and_waters_of_what_is_heard_are_known() -> None:
    assert set(WORDS) >= {word for heard in HEARD for word in heard.when}
    assert set(get_args(Water)) >= {heard.water for heard in HEARD if heard.water}


@for_each(
    ("wrap", r"(\d+\.?\d*) deg of wrap, (\d+\.?\d*) is its minimum"),
    ("misalignment", r"(\d+\.\d\d) deg askew over \d+ mm of span.*; (\d+\.?\d*) deg is the maximum"),
    ("take_up", r"takes up (\d+) % of the belt that a well placed one would; (\d+\.?\d*) is the minimum"),
    ("grooves", r"(\d+) grooves for (\d+) ribs"),
)
def test_the_words_tell_the_number_and_its_limit(text: str, wanted: str) -> None:
    seen = 0
    for path in PATHS:
        for each in _every(path)[0][1].weighed:
            if each.cause.name == text:
                found = re.match(wanted, each.reading.words)
                assert found is not None, each.reading.words
                decimals = len(found[1].partition(".")[2])
                assert float(found[1]) == pytest.approx(each.reading.value, abs=0.51 * 10.0**-decimals)
                assert float(found[2]) == pytest.approx(each.reading.limit, rel=1e-5)
                seen += 1
    assert seen > 3


def test_the_wrap_that_lacks_is_told() -> None:
    """To the minimum where it is short of that, else to the recommended one, a tenth over at least (our own choice)."""
    lacks, seen = re.compile(r"([\d.]+) deg more wrap, to (its minimum of|the recommended) ([\d.]+)"), set()
    for path in PATHS:
        for reading in (each.reading for each in _every(path)[0][1].weighed if each.cause.name == "wrap"):
            if reading.change:
                told = lacks.match(reading.change)
                assert told is not None and reading.value is not None
                short, wanted = reading.value < reading.limit, float(told[3])
                assert (told[2] == "its minimum of") == short
                assert wanted == pytest.approx(reading.limit, rel=1e-4) if short else wanted > 1.099 * reading.limit
                assert float(told[1]) == pytest.approx(wanted - reading.value, abs=0.06)
                seen.add(short)
    assert seen == {True, False}

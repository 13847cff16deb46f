"""What a plan tells of its hubs and of slack spans, by hand."""

import dataclasses
import math
import pkgutil
import re
from collections.abc import Iterator
from dataclasses import replace
from importlib import import_module

import numpy as np
import pytest

import beltplan.checks as checks
from beltplan.checks import plan
from beltplan.checks.card import card_of
from beltplan.checks.clearance import gaps_of
from beltplan.checks.every_check import CALLED, CHECKS, findings_of
from beltplan.checks.limits import LIMIT_KEYS, SEVERITIES, Check, Finding
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.belt import Friction
from beltplan.drive.layout import Circle, Engine, Layout
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.mechanics import CONDITIONS, frictions
from beltplan.drive.operation import REVVING, Operation, TensionCure, operation_of
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.layout_file import read_layout
from tests.checks.drives import pulley, route, sagging, sliding, two
from tests.drawing.drawn_drives import mirrored, shifted, turned
from tests.drive.loaded_drives import on_slide
from tests.for_each import for_each


@pytest.mark.parametrize(("share", "steady"), [(0.99, True), (1.01, False)])
def test_a_pull_is_the_same_at_every_speed_while_m_v2_takes_a_hundredth(share: float, steady: bool) -> None:
    """Unloaded and set to 600 N, a hub is pulled by T - m v^2: 0.105 kg/m, crankshaft 87 mm at the pitch line."""
    idle_rpm = 100.0
    slow = (0.087 * idle_rpm * 2.0 * math.pi / 60.0) ** 2
    fast = slow + share * 0.01 * (600.0 / 0.105 - slow)
    engine = Engine(idle_rpm=idle_rpm, max_rpm=math.sqrt(fast) / 0.087 * 60.0 / (2.0 * math.pi))
    hubs = plan_of(on_slide(tension_N=600.0, loads={}, engine=engine)).hubs
    assert [hub.steady for hub in hubs] == [steady] * 7


def test_a_tension_that_stands_in_is_told_with_its_source_and_a_given_one_without() -> None:
    """US Army TM 9-2320-312-24-2, table 3."""
    given, assumed = (plan_of(on_slide(tension_N=tension)).tension for tension in (600.0, None))
    assert given is not None and given.source is None
    assert assumed is not None and "TM 9-2320-312-24-2" in (assumed.source or "")


@for_each((1000.0, 5500.0, False), (300.0, 5500.0, True), (300.0, None, False))
def test_a_plan_says_whether_a_span_hangs_slack(tension_N: float, rpm: float | None, slack: bool) -> None:
    """45 Nm at the last pulley take what 300 N leave before it, m v^2 off; unknown without speeds."""
    given = on_slide(
        tension_N=tension_N, loads={"cooling": TorqueLoad(45.0)}, engine=Engine(idle_rpm=750.0, max_rpm=rpm)
    )
    assert plan_of(given).goes_slack == slack


@for_each((0.79, True), (0.81, False))
def test_a_wrap_short_of_its_minimum_tells_its_own_slip_where_that_is_small(used: float, told: bool) -> None:
    """The camper's house alternator, its friction for design so low that it uses that share of its grip.

    Held against Euler, ln(high / low) / (friction wrap), over all speeds and duties, steady and while revving.
    """
    given = read_layout("layouts/camper.yaml").layout
    run = plan_of(given).operation
    assert run is not None and run.revved is not None
    i = next(i for i, each in enumerate(run.route.pulleys) if each.name == "house_alternator")
    states = (run.running, run.revved)
    ratios = [np.abs(np.log(each.tractive_N[..., i] / each.tractive_N[..., i - 1])) for each in states]
    needed = max(float((each / own.loop.wrap[..., i]).max()) for each, own in zip(ratios, states, strict=True))
    firm = replace(given, belt=replace(given.belt, friction=Friction(dry=2.0, wet=2.0, design=needed / used)))
    words = f". Its slip is judged: at most {used} of its grip, by the design friction (0."
    assert (words in _of_wrap(firm)) == told
    assert ("A minimum of your own: `limits: {min_wrap_deg: {house_alternator: NUMBER}}`" in _of_wrap(firm)) == told
    if told:
        own = replace(firm, limits={"min_wrap_deg": {"house_alternator": 140.0}})
        assert words in _of_wrap(own) and "of your own" not in _of_wrap(own)
        unloaded = replace(firm.pulleys["air_conditioning"], load=None, usual_load=None)
        assert "Its slip" not in _of_wrap(firm.with_pulley(unloaded))
        slips = replace(firm, belt=replace(firm.belt, friction=Friction(design=needed / used)))
        assert "Its slip" not in _of_wrap(slips)  # the crankshaft does, which comes first


def _of_wrap(given: Layout) -> str:
    """What is advised for the house alternator's wrap, a problem."""
    found = plan_of(given).findings
    (finding,) = (each for each in found if each.issue == ("wrap", "house_alternator") and each.severity == "problem")
    return finding.advice


def test_the_belt_stands_what_no_tension_cures_and_no_tension_that_would_tear_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Fifty times 300 N on six ribs is over any recommendation; where no tension is enough, none is to be stood."""
    cures = [TensionCure("wet", factor, "set tension", 300.0) for factor in (None, 1.1, 50.0)]
    monkeypatch.setattr(plan, "tension_cures_of", lambda operation: cures)
    assert [stood for _, stood in dataclasses.replace(plan_of(on_slide(tension_N=300.0))).cures] == [True, True, False]


# All the checks together: every name has its meaning, and findings come worst first.


def test_every_check_has_a_name_of_its_own_and_a_meaning() -> None:
    names = [check.name for check in CHECKS]
    assert len(set(names)) == len(names) >= 20
    assert all(check.meaning and check.source for check in CHECKS)


def test_every_function_that_finds_is_asked() -> None:
    """And every record of a file is collected."""
    modules = [import_module(f"beltplan.checks.{found.name}") for found in pkgutil.iter_modules(checks.__path__)]
    finders = {
        value
        for m in modules
        for name, value in vars(m).items()
        if name.endswith("_findings") and not name.startswith("_") and callable(value)
    }
    assert finders <= {asked for check in CHECKS for asked in (check.of_route, check.of_operation)}
    assert {value for m in modules for value in vars(m).values() if isinstance(value, Check)} == set(CHECKS)


def test_every_limit_belongs_to_a_check_and_no_check_names_another() -> None:
    assert {key for check in CHECKS for key in check.limits} == set(LIMIT_KEYS)


def test_findings_of_bad_drives_are_ordered_and_named() -> None:
    hose = (Circle("hose", (150.0, 50.0), 30.0),)
    drives = (
        two(450.0, 190.0, 48.0, obstacles=hose, engine=Engine(max_rpm=9000.0)),
        sagging(15.0, pulley("it", "water_pump", 0, 0, 55.0, turns="clockwise")),
        sliding((20.0, 0.0), (360.0, 10.0), at=0.0, stock=()),
    )
    for given in drives:
        findings = findings_of(route(given), operation_of(route(given)))
        keys = [(SEVERITIES.index(f.severity), f.margin, f.check, f.subject) for f in findings]
        assert keys == sorted(keys) and findings[0].severity == "problem"
        assert {f.check for f in findings} <= {check.name for check in CHECKS}
        assert all(f.message and f.source for f in findings)


def test_people_read_the_words_of_the_trade_for_checks() -> None:
    """A span is no strand, whatever the older keys say."""
    assert CALLED["strand_gap"] == "span gap" and CALLED["small_pulley"] == "small pulley"
    assert not [words for words in CALLED.values() if "strand" in words or "_" in words]


# A whole plan does not know where its paper lies: seen from behind, turned and shifted, it tells the same numbers.


DRIVES = ("layouts/camper.yaml", *(f"tests/cases/{name}.yaml" for name in ("asym", "findings", "no_loads")))
NO_PLACE = ("belt_fit", "doubtful_value")
"""Their words name directions and settings, and so may their numbers."""


def numbers(plan: Plan) -> Iterator[tuple[str, tuple[float | None, ...]]]:
    """What has no direction, by what it is of."""
    for finding in plan.findings:
        if finding.check not in NO_PLACE:
            own = (finding.value, finding.limit, finding.margin)
            yield f"{finding.severity} {finding.check} {finding.subject}", own
    for on in plan.pulleys:
        yield on.name, (on.wrap_deg, on.ratio)
    for span in plan.spans:
        yield f"{span.start} {span.end}", (span.length_mm, span.hertz, span.low_N, span.high_N)
    for gap in gaps_of(plan.route):
        yield gap.subject, (gap.value_mm,)
    for slip in plan.slip:
        low = None if slip.low is None else slip.low.utilisation
        yield f"slip {slip.pulley}", (*(point.utilisation for point in slip.points), slip.torque_Nm, low)
    card = card_of(plan)
    for hub in card.hubs:
        yield f"hub {hub.pulley.name}", (hub.pull_N, float(np.hypot(*hub.stopped_N)), hub.high_end_N, hub.rpm)
    if plan.margin is not None:
        yield f"worst {plan.margin.of} {plan.margin.where}", (plan.margin.share,)
    if plan.adjuster is not None:
        yield "adjuster", (abs(plan.adjuster.take_up_mm), plan.adjuster.take_up_percent, plan.route.position)
    if (tension := card.tension) is not None:
        yield from ((f"tension {level.name}", (level.tension_N, level.tone_Hz)) for level in tension.levels)


def moved(given: Layout) -> Layout:
    return turned(shifted(mirrored(given), 137.0, -61.0), 0.7)


@for_each(*DRIVES)
def test_behind_turned_and_shifted_all_numbers_are_the_same(path: str) -> None:
    given = shifted(read_layout(path).layout, 0.0, 0.0)
    here, there = (dict(numbers(plan_of(each))) for each in (given, moved(given)))
    assert here.keys() == there.keys()
    for name, own in here.items():
        one, other = (np.array(each, dtype=float) for each in (there[name], own))
        np.testing.assert_allclose(one, other, rtol=1e-6, atol=1e-6, err_msg=name)


# What findings tell of whole layouts, whatever they are about: laws between value, limit, margin, place and words.


WHOLE = (
    *(f"layouts/{name}.yaml" for name in ("camper", "orchard_sprayer", "too_tight")),
    *(f"tests/cases/{name}.yaml" for name in ("asym", "carrier", "close", "findings", "hz", "no_loads", "pj_1000N")),
    *(f"tests/cases/{name}.yaml" for name in ("squeal", "squeal_low2", "wide_flat")),
)
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
ELSEWHERE = ("resonance", "tension_swing")
"""Checks of which the words tell more than the value: both numbers of which it is the share."""
WHERE = re.compile(r"(?:at|near) (?:a steady )?(\d+) rpm(?: while the engine ([a-z ]+))?, duty '([^']+)'")


def plan_at(path: str) -> Plan:
    return plan_of(read_layout(path).layout)


def measured(path: str) -> list[tuple[Finding, float, float]]:
    """Findings with a value, and with a limit that has a share."""
    every = [(each, each.value, each.limit) for each in plan_at(path).findings]
    return [(each, value, limit) for each, value, limit in every if value is not None and limit]


def as_read(number: str) -> float:
    """Half of the last digit."""
    return 0.5001 * 10.0 ** -len(number.partition(".")[2])


@for_each(*WHOLE)
def test_the_margin_is_the_way_from_the_limit_as_a_share_of_it(path: str) -> None:
    """And on the good side of it only where the words say so, or name it behind what is recommended."""
    told = measured(path)
    for finding, value, limit in told:
        good = re.search(f"over its minimum|under its maximum|imum {limit:g}[ )]", finding.wrong) is not None
        assert finding.margin == pytest.approx((1.0 if good else -1.0) * abs(value - limit) / limit), finding
        assert not good or finding.severity == "caution"
    assert told


@for_each(*WHOLE)
def test_the_value_stands_in_the_words(path: str) -> None:
    """What cuts into another is told by its depth, so without its sign."""
    for finding, value, _ in measured(path):
        numbers = [number.lstrip("-") for number in NUMBER.findall(finding.wrong)]
        read = any(abs(float(number) - abs(value)) <= as_read(number) for number in numbers)
        assert read or value == 0.0 or finding.check in ELSEWHERE, finding


def place(operation: Operation, finding: Finding) -> tuple[str, int, int]:
    """What the engine does, the duty and the speed that a finding names."""
    named = WHERE.search(finding.wrong)
    assert named is not None, finding
    rpm, when, duty = named.groups()
    speed = int(np.abs(operation.driver_rpm - float(rpm)).argmin())
    assert abs(operation.driver_rpm[speed] - float(rpm)) <= 0.5
    return when or "steady", operation.duties.index(duty), speed


def slips(path: str) -> list[tuple[Operation, Finding, float]]:
    """Findings of slip with a number, beside the drive at that end of its tension."""
    operation = plan_at(path).operation
    if operation is None:
        return []
    low = operation.ends[0] if operation.ends else operation
    found = [each for each in plan_at(path).findings if each.check in ("slip", "slip_on_revs")]
    return [(low if f.low else operation, f, f.value) for f in found if f.value is not None]


def condition_of(finding: Finding) -> int:
    words = re.search(r"by the (design) friction|\b(dry|wet)\b", finding.wrong)
    assert words is not None, finding
    return next(i for i, condition in enumerate(CONDITIONS) if condition in words.groups())


def on_revs(operation: Operation, condition: int, index: int) -> list[tuple[float, float]]:
    """The most grip that a pulley uses while the engine speeds up and slows down, and its wrap there, deg."""
    if operation.revving is None:
        return []
    found, (state, used) = list[tuple[float, float]](), operation.revving
    for way in range(len(REVVING)):
        own = used[condition, way, :, :, index]
        at = np.unravel_index(own.argmax(), own.shape)
        found.append((float(own[at]), float(np.degrees(state.at(way).loop.wrap[(*at, index)]))))
    return found


SLIPPING = ("layouts/camper.yaml", *(f"tests/cases/{name}.yaml" for name in ("asym", "close", "squeal", "squeal_low2")))


@for_each(*SLIPPING)
def test_slip_is_told_where_it_is_worst_with_the_wrap_that_it_lacks(path: str) -> None:
    """Euler: use x wrap stays the same, so a use of u comes down to w by (u / w - 1) of the wrap more.

    What is to hold steadily is to hold on revs too.
    """
    told = slips(path)
    for operation, finding, value in told:
        index = [pulley.name for pulley in operation.route.pulleys].index(finding.subject)
        when, duty, speed = place(operation, finding)
        state, use = operation.running, operation.utilisation
        if when != "steady":
            assert operation.revving is not None
            state, use = operation.revving[0].at(REVVING.index(when)), operation.revving[1][:, REVVING.index(when)]
        own = use[condition_of(finding), :, :, index]
        assert own[duty, speed] == own.max() == value
        wrap_deg = float(np.degrees(state.loop.wrap[duty, speed, index]))
        if dry := condition_of(finding) == CONDITIONS.index("dry"):  # to hold it is to hold wet too
            value = use[CONDITIONS.index("wet"), duty, speed, index]
        wanted, wettest = 1.0 if value >= 1.0 else 0.8, CONDITIONS.index("wet") if dry else condition_of(finding)
        revved = [] if when != "steady" else on_revs(operation, wettest, index)
        used, at_deg = max([(value, wrap_deg), *revved], key=lambda each: (each[0] / wanted - 1.0) * each[1])
        lacks = re.search(r"(\d+) deg more wrap (?:stops it|brings it to 0.8)(?:, (.*) too)?", finding.wrong)
        assert (lacks is None) == (used / wanted * at_deg > 240.0), finding
        assert ("more wrap alone will not do" in finding.advice) == (lacks is None), finding
        if lacks is not None:
            assert 0.0 <= float(lacks[1]) - (used / wanted - 1.0) * at_deg < 1.0
            assert (lacks[2] or "") == " and ".join(["wet"] * dry + ["on revs"] * (used != value))
        steadily = re.search(r"\(([\d.]+) steadily\)", finding.wrong)
        assert steadily is None or when != "steady"
        if steadily is not None:
            steady = operation.utilisation[condition_of(finding), :, :, index].max()
            assert float(steadily[1]) == pytest.approx(float(steady), abs=0.00501)
    assert told


@for_each(*SLIPPING[:3])
def test_the_pull_on_a_hub_is_told_where_it_is_greatest(path: str) -> None:
    """Law over every duty and speed, for the tension as it is and at its high end; the first speed of equal pulls."""
    told = plan_at(path)
    assert told.operation is not None and told.operation.ends is not None
    for hub in told.hubs:
        size = told.operation.hub_size_N[..., hub.index]
        assert float(np.hypot(*hub.running_N)) == pytest.approx(float(size.max()), rel=1e-6)
        assert hub.rpm == told.operation.driver_rpm[(size >= size.max() * (1.0 - 1e-6)).argmax() % size.shape[1]]
        for drive, most in ((told.operation, hub.maximum_N), (told.operation.ends[1], hub.high_N)):
            stopped = float(np.hypot(*drive.stopped.hub_load_N[hub.index]))
            assert most == pytest.approx(max(stopped, float(drive.hub_size_N[..., hub.index].max())))


def least_and_worst(values: Floats) -> tuple[float, tuple[int, ...]]:
    return float(values.min()), tuple(int(i) for i in np.unravel_index(int(values.argmin()), values.shape))


@for_each("layouts/camper.yaml", "layouts/orchard_sprayer.yaml", "tests/cases/carrier.yaml")
def test_what_the_firing_does_is_told_where_it_is_worst(path: str) -> None:
    operation = plan_at(path).operation
    assert operation is not None and operation.shaken is not None
    shaken, names = operation.shaken, [pulley.name for pulley in operation.route.pulleys]
    (swing,) = [each for each in plan_at(path).findings if each.check == "tension_swing"]
    least, worst = least_and_worst(shaken.least_N / shaken.mean_N)
    span = f"{names[worst[2]]} to {names[(worst[2] + 1) % len(names)]}"
    assert swing.subject == span and swing.value == pytest.approx(least)
    slack = bool((shaken.least_N <= 0.0).any())
    assert ("falls slack" in swing.wrong) == slack
    slips = [each for each in plan_at(path).findings if each.check == "swing_slip"]
    assert len(slips) == (not slack)
    for slip in slips:
        used = shaken.grip_needed / frictions(operation.route.layout.belt, operation.route.pulleys)[condition_of(slip)]
        _, duty, speed = place(operation, slip)
        assert slip.value == used[..., names.index(slip.subject)].max() == used[duty, speed, names.index(slip.subject)]


def test_when_a_belt_is_set_again_is_the_same_asked_of_the_plan_at_the_low_end_of_its_tension() -> None:
    """It is solved from there, whichever of the two is asked: the tension at which a use comes to 0.8 is one."""
    usual = plan_of(read_layout("tests/checks/exchanged.yaml").layout)
    assert usual.operation is not None and usual.operation.ends is not None and usual.again is not None
    assert dataclasses.replace(usual, operation=usual.operation.ends[0]).again == usual.again

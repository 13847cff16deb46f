"""Where nothing adjusts, no text and no picture speaks of an adjuster or its travel, but for the advice to add one."""

import re
from dataclasses import replace

from beltplan.checks.comparison import compare
from beltplan.checks.every_check import findings_of
from beltplan.checks.plan import plan_on
from beltplan.compare.report import compare_report
from beltplan.cure.report import cure_report
from beltplan.cure.study import cures_of
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.operation import operation_of
from beltplan.drive.route import Route, route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.routing import belt_words, path_words
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY
from beltplan.tolerance.report import tolerance_report
from beltplan.tolerance.study import tolerance_of
from tests.drive.drives import fixed, with_belt, with_pulley
from tests.for_each import for_each
from tests.report.results import text_of

SPEAKS = re.compile(r"travel|adjuster|\barms?\b|\bslide\b|stop\b", re.IGNORECASE)
ADVICE = (
    "direction of belt travel",
    "no adjuster",
    "add an adjuster",
    "needs an adjuster",
    "or an adjuster",
    "without an adjuster",
)


def stretchy(torque_Nm: float) -> Layout:
    given = with_belt(fixed(belt="6PK"), stretch_fit=(0.005, 0.015), stiffness_N=80_000.0)
    loaded = with_pulley(given, "pump", load=TorqueLoad(torque_Nm))
    return replace(loaded, engine=Engine(idle_rpm=700.0, max_rpm=4000.0))


FIXED = {
    "named, does not fit": lambda: read_layout("tests/cases/two_pulley.yaml", None).layout,
    "ordinary": lambda: read_layout("tests/cases/no_adjuster.yaml", None).layout,
    "stretch, slips": lambda: stretchy(90.0),
    "stretch, slack": lambda: stretchy(400.0),
}
EVERY = for_each(*FIXED)


def spoken(text: str) -> list[str]:
    """What is said of a travel, without the general caution and the advice."""
    words = " ".join(text.replace("SAFETY  ", "").replace("CAUTION  ", "").split())
    for kept in (" ".join(SAFETY.split()), *ADVICE):
        words = words.replace(kept, "")
    return SPEAKS.findall(words)


def of(name: str) -> Route:
    return route_of(FIXED[name]())


@EVERY
def test_the_report(name: str) -> None:
    route = of(name)
    assert spoken(text_of(plan_on(route))) == []


@EVERY
def test_the_words_of_the_picture(name: str) -> None:
    assert spoken(f"{belt_words(of(name))}. {path_words(plan_on(of(name)))}") == []


@EVERY
def test_comparing_and_tolerance(name: str) -> None:
    both = compare([("a", FIXED[name]()), ("b", FIXED[name]())])
    assert spoken(shown(compare_report(both, full=True), Screen())) == []
    assert spoken(shown(tolerance_report(tolerance_of(of(name), 200), full=True), Screen())) == []


def test_cures() -> None:
    assert spoken(shown(cure_report(cures_of(FIXED["named, does not fit"]()), full=True), Screen())) == []


def test_more_tension_comes_from_a_shorter_belt() -> None:
    route = of("stretch, slips")
    text = " ".join(text_of(plan_on(route)).split())
    assert re.search(r"a belt tension of [\d.]+ N \(now [\d.]+\) would bring .*: a shorter belt", text)
    slack = of("stretch, slack")
    told = [finding for finding in findings_of(slack, operation_of(slack)) if " slack" in finding.wrong]
    assert any("a shorter belt, or less load" in finding.message for finding in told)


def test_no_belt_is_listed_as_one_that_fits_where_none_can_be_put_on() -> None:
    route = of("ordinary")
    text = " ".join(text_of(plan_on(route)).split())
    assert "BELTS THAT FIT none without an adjuster; nearest to this path: 6PK915" in text and "best first" not in text
    assert "BUY none can be put on; the nearest is 6PK915 (36.02 in)" in text and "marginal" not in text

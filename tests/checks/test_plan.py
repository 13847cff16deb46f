"""What a plan tells of its hubs and of slack spans, by hand."""

from __future__ import annotations

import math

import pytest

from beltplan.checks import plan
from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Engine
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.operation import TensionCure
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


def test_the_belt_stands_what_no_tension_cures_and_no_tension_that_would_tear_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Fifty times 300 N on six ribs is over any recommendation; where no tension is enough, none is to be stood."""
    cures = [TensionCure("wet", factor, "set tension", 300.0) for factor in (None, 1.1, 50.0)]
    monkeypatch.setattr(plan, "tension_cures_of", lambda operation: cures)
    assert [stood for _, stood in plan_of(on_slide(tension_N=300.0)).cures] == [True, True, False]

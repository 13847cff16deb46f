"""What a slip finding advises, where two numbers decide it that lie close together. Euler: grip goes with wrap."""

from dataclasses import replace

import pytest

from beltplan.checks.slip import SLIP
from beltplan.drive.belt import Friction
from beltplan.drive.loads import TorqueLoad
from tests.drive.drives import on_slide, with_belt, with_pulley
from tests.drive.loaded_drives import ENGINE, operation
from tests.drive.loaded_drives import on_slide as seven_on_slide
from tests.for_each import for_each

WRAP, TENSION = "more wrap, or more tension", "more tension, or less load; more wrap alone will not do"


@for_each((1.03, WRAP), (1.08, WRAP), (1.3, WRAP), (1.35, TENSION))
def test_wrap_is_advised_where_it_can_hold_what_slips(utilisation: float, advice: str) -> None:
    """Two equal pulleys, 180 deg each. 240 deg, as far as a belt is led, just hold 240 / 180 = 1.33 of the grip."""
    given = with_pulley(on_slide(tension_N=800.0), "generator", load=TorqueLoad(6.0))
    smooth = replace(with_belt(given, friction=Friction(1.0, 1.0, 1.0)), engine=ENGINE)
    needed = float(operation(smooth).utilisation.max())
    rubbing = with_belt(smooth, friction=Friction(dry=10.0 * needed, wet=needed / utilisation, design=10.0 * needed))
    found = [each for each in SLIP.of_operation(operation(rubbing)) if "slips wet" in each.wrong]
    assert {each.advice for each in found} == {advice}


def test_a_span_that_is_still_pulled_hangs_not_slack() -> None:
    """A pump of 0.07 Nm on 70 mm of radius adds 1 N behind it: where the span before it just hangs slack, that is left.

    A narrow band of speeds keeps what m v^2 takes under 1 N; the tension that leaves so little is a line through two.
    """
    loads = {"cooling": TorqueLoad(60.0), "steering": TorqueLoad(0.07)}
    engine = replace(ENGINE, cruise_rpm=None, max_rpm=800.0)
    runs = [operation(seven_on_slide(loads=loads, engine=engine, tension_N=each)) for each in (500.0, 700.0)]
    low, high = (float(run.running.tractive_N[0, -1, 0]) for run in runs)
    least = 500.0 - (low + 0.5) * 200.0 / (high - low)
    run = operation(seven_on_slide(loads=loads, engine=engine, tension_N=least))
    assert run.running.tractive_N[0, -1, [3, 4, 5]] == pytest.approx([-0.5, -0.5, 0.5], abs=0.05)
    (told,) = [each.wrong for each in SLIP.of_operation(run) if "slack" in each.wrong]
    assert "generator to steering" in told and "steering to cooling" not in told

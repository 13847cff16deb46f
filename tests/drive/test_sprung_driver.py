"""A motor that drives from a sprung arm, as one on a hinged base: it is pulley 0 and the adjuster at once. Invented."""

import numpy as np
import pytest

from beltplan.drive.loads import TorqueLoad
from beltplan.drive.pulleys import ArmSpring, Pulley
from tests.drive.drives import arm, layout, pulley
from tests.drive.loaded_drives import ENGINE
from tests.drive.test_settling import test_bounds_hold_what_the_balance_tells as bounds_hold
from tests.drive.test_settling import test_polynomials_tell_what_the_balance_tells as polynomials_tell
from tests.place.drives import DRIVES

BASE = arm((60.0, -200.0), 200.0, (85.0, 125.0), at_rad=float(np.radians(105.0)), spring=ArmSpring(90.0, 105.0, 0.3))
DRIVEN = [
    pulley("pump", 200.0, 220.0, 100.0, role="water_pump", load=TorqueLoad(7.0)),
    pulley("fan", 300.0, 0.0, 120.0, role="fan", load=TorqueLoad(5.0)),
]
MOTOR = layout([Pulley("motor", "other", 110.0, adjuster=BASE), *DRIVEN], engine=ENGINE)


def test_it_settles_as_by_the_balance_of_every_state(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(DRIVES, "a motor that swings", (MOTOR, "pump"))
    polynomials_tell("a motor that swings", 5)
    bounds_hold("a motor that swings", 64, monkeypatch)

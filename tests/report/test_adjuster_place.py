"""Where the adjuster stands is told from the file's own `from`, alike by `check` and the fitter's card."""

from __future__ import annotations

import re

from beltplan.checks.card import card_of
from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Engine
from beltplan.report.check_text import check_report
from beltplan.report.screen import Screen, shown
from tests.checks.drives import RIM_UNDER_MM, belt_of, sliding


def test_check_counts_from_the_start_of_the_slot_where_its_first_part_cannot_be_used() -> None:
    """Path 2 x distance + 100 pi = 800 puts the centres 242.9 mm apart; rims meet at 99.6, the slot begins at 90."""
    plan = plan_of(
        belt_of(
            800.0,
            sliding((90.0, 0.0), (360.0, 0.0), at=0.5, tension_N=500.0, engine=Engine(idle_rpm=800.0, max_rpm=4000.0)),
        )
    )
    touching, apart = 100.0 - 2.0 * RIM_UNDER_MM, (800.0 - 314.159) / 2.0
    full = " ".join(shown(check_report(plan, full=True), Screen(100)).split())
    assert f"at {apart - 90.0:.1f} mm from `from` (belt at measuring tension)" in full
    assert f"{apart - touching:.1f} mm from the short and {360.0 - apart:.1f} mm from the long end of its" in full
    pointer = card_of(plan).pointer
    told = re.search(r"under set tension, engine stopped, at ([0-9.]+) mm from `from`", full)
    assert pointer is not None and told is not None and float(told[1]) == round(pointer.at, 1) > apart - 90.0

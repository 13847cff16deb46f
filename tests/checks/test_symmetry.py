"""A whole plan does not know where its paper lies: seen from behind, turned and shifted, it tells the same numbers."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from beltplan.checks.card import card_of
from beltplan.checks.clearance import gaps_of
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.layout import Layout
from beltplan.layoutfile.layout_file import read_layout
from tests.drawing.drawn_drives import mirrored, shifted, turned
from tests.for_each import for_each

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

"""SAE J1596 (1989, cancelled 2019), PK, read second-hand. Published: ribbed pulleys 50 mm or more in practice, smooth
ones on the back 90 mm, belts to 50 m/s.

And the least belt length that can be fitted, in inches: 1.003 L1 + L2 + 0.77 + 6.28 h, L1 the path with the adjuster
where the belt is fitted, L2 twice the minus tolerance, h the height of a flange. It is a rule for assembly lines: the
belt goes over every rim at once. Ours asks for the easiest rim last, so it must ask for less: how much less is
our own, frozen.

And an installation tension of 60 N a kW as a floor.
"""

from beltplan.checks.plan import plan_of
from beltplan.drive.profiles import PROFILES
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from tests.cited.published import holds
from tests.for_each import for_each
from tests.shipped import FOLDER

INCH_MM = 25.4


def test_least_diameters_and_speed() -> None:
    pk = PROFILES["PK"]
    holds([pk.grooved_caution_mm, pk.back_caution_mm, pk.top_speed_m_per_s], [50.0, 90.0, 50.0])


@for_each("railcar", "camper", "workboat")
def test_our_rule_asks_less_because_it_fits_over_the_easiest_rim(name: str) -> None:
    route = route_of(read_layout(str(FOLDER / f"{name}.yaml")).layout)
    assert route.acceptable_mm is not None and route.window is not None
    ours, tolerance = route.acceptable_mm[0], route.layout.belt.tolerance_of(route.acceptable_mm[0])
    theirs = 1.003 * route.window.shortest + 2.0 * tolerance + 0.77 * INCH_MM
    assert 25.0 < theirs - ours < 40.0


def test_set_by_hand_a_drive_that_holds_is_over_the_floor_and_one_that_slips_is_under_it() -> None:
    """60 N a kW: both layouts are shipped, invented demos, the camper made to slip."""
    per_kW = {}
    for name in ("orchard_sprayer", "camper"):
        plan = plan_of(read_layout(str(FOLDER / f"{name}.yaml")).layout)
        assert plan.tension is not None and plan.power_kW
        per_kW[name] = plan.tension.each_N / plan.power_kW
        assert (name == "camper") is any(finding.check == "slip" for finding in plan.findings)
    assert per_kW["camper"] < 60.0 < per_kW["orchard_sprayer"]

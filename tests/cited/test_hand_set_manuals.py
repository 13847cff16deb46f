"""Tension of belts that are set by hand, by manuals of engines and machines.

A loader's manual: 5 ribs, new 670 N, tension again at 270 to 530 N. A diesel engine's operation and maintenance manual,
2005, p. 200: 3 to 8 ribs 20-27, 27-36, 34-45, 41-57, 48-66, 59-73 kgf. An engine manual: a V-belt of 13.9 mm is
tightened again under 250 N.
"""

from beltplan.drive.belt import parse_designation
from tests.cited.published import holds
from tests.for_each import for_each

KGF_N = 9.80665


def test_a_loader() -> None:
    belt = parse_designation("5PK")
    holds(belt.profile.hand_new_N * 5, 670.0, 10.0)
    assert 270.0 <= belt.profile.hand_again_N * 5 <= 530.0


@for_each((3, 20, 27), (4, 27, 36), (5, 34, 45), (6, 41, 57), (7, 48, 66), (8, 59, 73))
def test_a_diesel_engine(ribs: int, least: int, most: int) -> None:
    """What it asks lies between setting again and the tension of a run-in belt."""
    profile = parse_designation(f"{ribs}PK").profile
    assert profile.hand_again_N < 1.1 * least * KGF_N / ribs
    assert most * KGF_N / ribs < profile.hand_set_N


def test_a_v_belt_is_tightened_again() -> None:
    holds(parse_designation("AV13").profile.hand_again_N, 250.0)

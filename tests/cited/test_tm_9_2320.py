"""US Army TM 9-2320-312-24-2, specifications, p. 27 (public domain): tension of belts that are set by hand, N.

New, table 3: ribbed PK of 6 ribs 801 +-111, 8 ribs 1068 +-111; V-belt of 13.9 mm 578 +-111, of 10.7 mm 534 +-111.
Run in: ribbed PK of 6 ribs 667 +-44, 8 ribs 890 +-44; V-belt of 13.9 mm 445 +-44, of 10.7 mm 400 +-22. Its table 4,
belts of one make, used: 4 ribs 267 to 445, 5 ribs 334 to 556, 6 ribs 400 to 667, 8 ribs 534 to 890; new: 4, 5, 6, 8,
10 ribs 623, 779, 934, 1157, 1557 N, each +-22: a sixth over those of table 3, which ours are.
"""

from beltplan.drive.belt import parse_designation
from tests.cited.published import holds
from tests.for_each import for_each


@for_each(
    ("6PK", 667.0, 44.0), ("8PK", 890.0, 44.0), ("AV13", 445.0, 44.0), ("AV10", 400.0, 22.0),
)  # fmt: skip
def test_run_in_belts(belt: str, published: float, either_way: float) -> None:
    holds(parse_designation(belt).hand_set_N, published, either_way / 10.0)


@for_each(("4PK", 267, 445), ("5PK", 334, 556), ("6PK", 400, 667), ("8PK", 534, 890))
def test_used_belts(belt: str, least: float, most: float) -> None:
    assert least <= parse_designation(belt).hand_set_N <= most


@for_each(
    ("6PK", 801.0, 111.0), ("8PK", 1068.0, 111.0), ("AV13", 578.0, 111.0), ("AV10", 534.0, 111.0),
)  # fmt: skip
def test_new_belts(belt: str, published: float, either_way: float) -> None:
    given = parse_designation(belt)
    holds(given.profile.hand_new_N * given.ribs, published, either_way / 10.0)


@for_each(("4PK", 267, 445), ("5PK", 334, 556), ("6PK", 400, 667), ("8PK", 534, 890))
def test_a_belt_is_set_again_at_the_least_of_used_ones(belt: str, least: float, most: float) -> None:
    given = parse_designation(belt)
    assert least <= given.profile.hand_again_N * given.ribs < least + 0.05 * (most - least)


@for_each(("4PK", 623), ("5PK", 779), ("6PK", 934), ("8PK", 1157), ("10PK", 1557))
def test_new_belts_of_one_make_are_set_a_little_tighter(belt: str, of_one_make: float) -> None:
    given = parse_designation(belt)
    assert 0.80 < given.profile.hand_new_N * given.ribs / of_one_make < 1.0

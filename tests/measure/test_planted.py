"""The planted slip is named first; a right reading is never called misread without the wrong one beside it.

Over 30 seeds of each kind (`python -m tests.measure.planted`) 527 of 528 were named first, of ten millimetres 22 of 30;
the bound here is 95 in 100. Every seed is in the samples of this test, with two or three of the kinds.
"""

import pytest

from tests.for_each import for_each, mostly_long
from tests.measure.planted import HARD, KINDS, verdict

LEAST_FIRST = 0.95


@pytest.mark.parametrize("share", mostly_long(range(6), 0))
def test_the_planted_slip_is_named_first(share: int) -> None:
    """Of every other kind."""
    sample = [(kind, (5 * i + share // 2) % 30) for i, kind in enumerate(KINDS) if i % 2 == share % 2]
    told = {each: found for each in sample if (found := verdict(*each)) is not None}
    assert len(told) >= 7, "planted at all"
    assert [each for each, found in told.items() if not found.fair] == []
    assert sum(found.first for found in told.values()) >= LEAST_FIRST * len(told)


@for_each(3, 9, 10)
def test_what_hardly_shows_is_told_fairly(seed: int) -> None:
    (kind,) = HARD
    found = verdict(kind, seed)
    assert found is not None and found.fair

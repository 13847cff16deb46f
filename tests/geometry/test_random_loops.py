"""The random layouts that the laws are tested on: enough of them must be sound, and some must not be."""

from __future__ import annotations

from tests.for_each import for_each
from tests.geometry.random_loops import anyhow, mixed, ring


@for_each(2, 3, 5, 7)
def test_most_rings_are_sound(n: int) -> None:
    assert ring(n, 500, n).sound.mean() > 0.5


@for_each(3, 4, 5)
def test_a_good_share_of_mixed_loops_is_sound(inside: int) -> None:
    assert mixed(inside, 500, inside).sound.mean() > 0.5


def test_loops_laid_anyhow_are_of_both_kinds() -> None:
    sound = anyhow(1, 2000, 4).sound
    assert 0.01 < sound.mean() < 0.9

"""A path laid in pieces is the path laid whole, whatever leading axes each piece has."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from beltplan.geometry import crossing
from beltplan.geometry.crossing import crosses, crossings
from beltplan.geometry.loops import close_loop
from beltplan.geometry.pieces import Pieces, pieces_of
from beltplan.geometry.vectors import TURN, Floats, from_angle
from tests.for_each import for_each
from tests.geometry.random_loops import anyhow, crossed_by_kind, sound_mixed


def _split(centre: Floats, radius: Floats, sense: Floats) -> Pieces:
    return pieces_of([centre[..., i, :] for i in range(centre.shape[-2])], radius, sense)


def test_laid_in_pieces_or_whole() -> None:
    """Law: the same circles give the same spans, wraps, length and turns."""
    for seed in range(20):
        given = anyhow(seed, 8, 5)
        for centre, radius, sense in zip(given.centre, given.radius, given.sense, strict=True):
            whole, parts = close_loop(centre, radius, sense), _split(centre, radius, sense)
            np.testing.assert_array_equal(np.array(parts.span), whole.span)
            np.testing.assert_array_equal(np.array(parts.wrap), whole.wrap)
            np.testing.assert_allclose(parts.length, whole.length, rtol=1e-14)
            np.testing.assert_allclose(parts.turns, whole.turns, rtol=1e-14)


@for_each(((0,),), ((3,),), ((5,),), ((1, 2),), ((0, 4),))
def test_moved_or_laid_anew(moved: tuple[int, ...]) -> None:
    """Law: moving circles of a path gives the path through the new places, piece by piece."""
    given = sound_mixed(3)
    centre, radius, sense = given.centre[0], given.radius[0], given.sense[0]
    rng = np.random.default_rng(5)
    places = {index: centre[index] + rng.uniform(-8.0, 8.0, (50, 2)) for index in moved}
    anew = np.array(np.broadcast_to(centre, (50, *centre.shape)))
    for index, at in places.items():
        anew[:, index] = at
    whole, parts = close_loop(anew, radius, sense), _split(centre, radius, sense).moved(places)
    np.testing.assert_allclose(parts.length, whole.length, rtol=1e-13)
    for i in range(centre.shape[0]):
        np.testing.assert_array_equal(np.broadcast_to(parts.wrap[i], 50), whole.wrap[:, i])
        span, arc = parts.free_span(i), parts.arc(i)
        np.testing.assert_allclose(span.start + np.zeros((50, 2)), whole.start[:, i], rtol=1e-13, atol=1e-9)
        np.testing.assert_allclose(span.end + np.zeros((50, 2)), whole.end[:, i], rtol=1e-13, atol=1e-9)
        np.testing.assert_allclose(arc.centre + arc.away + np.zeros((50, 2)), whole.arrival[:, i], atol=1e-9)
        np.testing.assert_allclose(arc.end + np.zeros((50, 2)), whole.start[:, i], atol=1e-7)


@for_each(2, 3, 4, 6)
def test_pieces_cross_where_the_whole_path_does(n: int) -> None:
    """Law, over loops of which some cross; whether the whole one does is held against shapely elsewhere."""
    given = anyhow(n, 200, n)
    whole = [
        crosses(Pieces.of(close_loop(*each))) for each in zip(given.centre, given.radius, given.sense, strict=True)
    ]
    parts = [crosses(_split(*each)) for each in zip(given.centre, given.radius, given.sense, strict=True)]
    np.testing.assert_array_equal(np.array(parts), np.array(whole))
    assert 5 < np.sum(whole) < 195


def test_pieces_of_which_only_spans_or_only_arcs_cross() -> None:
    """Law as above, for what hides behind no other crossing."""
    given = anyhow(21, 20000, 4)
    kinds = crossed_by_kind(given.loop)
    for kind in kinds:
        alone = given.where(kind & (kinds.sum(axis=0) == 1))
        assert len(alone.radius) > 20
        for each in list(zip(alone.centre, alone.radius, alone.sense, strict=True))[:200]:
            assert crosses(_split(*each))


@for_each(0, 2, 5)
def test_after_a_move_only_pieces_beside_what_moved_are_looked_at(moved: int) -> None:
    """Law: where the path did not cross itself before, that is enough."""
    given = sound_mixed(3)
    centre, radius, sense = given.centre[0], given.radius[0], given.sense[0]
    places = centre[moved] + np.random.default_rng(7).uniform(-300.0, 300.0, (400, 2))
    anew = np.array(np.broadcast_to(centre, (400, *centre.shape)))
    anew[:, moved] = places
    whole = close_loop(anew, radius, sense)
    found = np.broadcast_to(crosses(_split(centre, radius, sense).moved({moved: places}), frozenset({moved})), 400)
    there = whole.exists
    np.testing.assert_array_equal(found[there], crosses(Pieces.of(whole))[there])
    assert 5 < found[there].sum() < there.sum() - 5
    among = Pieces.of(close_loop(anew, radius, sense))
    np.testing.assert_array_equal(crosses(among, frozenset({moved})), found)
    couples = list(crossings(among, frozenset({moved})))
    assert all({(moved - 1) % 6, moved, *(6 + (moved + by) % 6 for by in (-1, 0, 1))} & {i, j} for i, j, _ in couples)


def test_parts_that_are_far_apart_in_every_layout_are_not_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """A ring of thirty: its 840 couples of span and arc come down to those of neighbours (own bound)."""
    angle, rng, looked = np.arange(30) * TURN / 30, np.random.default_rng(3), list[int]()
    ring = 450.0 * from_angle(angle) + rng.normal(0.0, 0.5, (500, 30, 2))
    real = crossing.span_meets_arc

    def counted(*parts: Any) -> Any:
        looked.append(1)
        return real(*parts)

    monkeypatch.setattr(crossing, "span_meets_arc", counted)
    assert not crosses(_split(ring, np.full(30, 30.0), np.ones(30))).any()
    assert len(looked) <= 4 * 30
    folded = ring[:, [0, 2, 1, *range(3, 30)]]
    assert crosses(_split(folded, np.full(30, 30.0), np.ones(30))).all()


def test_what_does_not_move_is_not_laid_again() -> None:
    """Two settings by many places: a piece has only the axes on which it depends."""
    given = sound_mixed(3)
    parts = _split(given.centre[0], given.radius[0], given.sense[0])
    both = parts.moved({0: np.zeros((7, 2))}).moved({1: np.zeros((2, 1, 2))})
    n = len(parts.span)
    assert [span.shape for span in both.span] == [(2, 7), (2, 1), *[()] * (n - 3), (7,)]
    assert both.wrap[3].shape == () and both.wrap[2].shape == (2, 1) and both.wrap[n - 1].shape == (7,)


def test_an_arc_further_out() -> None:
    """Plane geometry: the same angle, its ends on the same rays."""
    given = sound_mixed(3)
    arc = _split(given.centre[0], given.radius[0], given.sense[0]).arc(1)
    out = arc.raised(5.0)
    np.testing.assert_allclose(np.linalg.norm(out.end - arc.end), 5.0)
    np.testing.assert_allclose(np.linalg.norm(out.away - arc.away), 5.0)
    np.testing.assert_allclose(np.linalg.norm(out.middle), float(arc.radius) + 5.0)

"""Many layouts settled in many states by polynomials, against the balance of every state by itself."""

import numpy as np
import pytest

from beltplan.drive.balance import Seat
from beltplan.drive.settling import NODES, Settled, _Within, response_of, settled_singly
from beltplan.geometry.vectors import Floats
from beltplan.judging.running import Running, running_of
from beltplan.judging.stages import judged_places
from tests.for_each import for_each
from tests.place.drives import DRIVES, places_round

SETTLING = (
    *("seven pulleys, beside the arm", "beside an arm, obstacles", "an engine that changes speed"),
    *("V-belt on a slide", "where the list ends"),
)


def _states(name: str) -> tuple[Running, Seat]:
    """The layout at those of random places where a belt fits, and all its states."""
    layout, pulley = DRIVES[name]
    places = places_round(layout, 1500, 6)[:, None]
    ways = judged_places(layout, (pulley,), places, slip=False).ways
    freed, way = max(ways, key=lambda each: len(each[1]))
    run = running_of(freed)
    assert run is not None
    keep = np.flatnonzero((way.belt >= 0) & (way.take_up_percent >= 20.0))[:40]
    radius = np.array([each.pitch_radius_mm(layout.belt) for each in freed.circuit.pulleys])
    values = (way.line_mm, way.setting, way.short, way.long)
    return run, Seat(freed.at(places[None, way.index[keep]]), radius, *(each[None, keep] for each in values))


def _told(given: Settled, index: int, count: int, states: slice = slice(None)) -> list[Floats]:
    shape = (count, given.first_N.shape[1])
    told = (given.tractive_N[index][states], given.span(index, states), given.hub_load_N(index, states))
    return [given.grip_needed(index), *(np.broadcast_to(each, shape) for each in told)]


@pytest.mark.parametrize("nodes", NODES)
@pytest.mark.parametrize("name", SETTLING)
def test_polynomials_tell_what_the_balance_tells(name: str, nodes: int) -> None:
    run, seat = _states(name)
    response = response_of(seat, run.mechanics, run.rpm, run.torque_Nm, nodes=nodes)
    swift, trusted = response.settled(slice(None)), response.trusted
    singly = settled_singly(seat, run.mechanics, run.rpm, run.torque_Nm)
    assert trusted.mean() > 0.5 and len(trusted) > 5
    for i in range(run.torque_Nm.shape[-1]):
        for own, other in zip(_told(swift, i, len(run.rpm)), _told(singly, i, len(run.rpm)), strict=True):
            np.testing.assert_allclose(own[..., trusted], other[..., trusted], rtol=2e-7, atol=1e-7)
        for some, every in zip(_told(swift, i, 3, slice(2, 5))[2:], _told(swift, i, len(run.rpm))[2:], strict=True):
            np.testing.assert_array_equal(some, every[2:5])


@pytest.mark.parametrize("share", [0.95, 1.05])
@for_each(*SETTLING)
def test_another_share_of_the_tension_tells_what_the_balance_tells(share: float, name: str) -> None:
    """Of the same polynomials, for those of the layouts asked for that stay within them."""
    run, seat = _states(name)
    response = response_of(seat, run.mechanics, run.rpm, run.torque_Nm)
    asked = response.trusted & (np.arange(len(response.trusted)) % 2 == 0)
    end = response.at_share(share, asked)
    assert end.trusted.sum() > 0.5 * asked.sum() and not (end.trusted & ~asked).any()
    swift, singly = (end.settled(slice(None)), settled_singly(seat, run.mechanics, run.rpm, run.torque_Nm, share))
    for i in range(run.torque_Nm.shape[-1]):
        for own, other in zip(_told(swift, i, len(run.rpm)), _told(singly, i, len(run.rpm)), strict=True):
            np.testing.assert_allclose(own[..., end.trusted], other[..., end.trusted], rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("block", [1, 64])
@pytest.mark.parametrize("name", SETTLING)
def test_bounds_hold_what_the_balance_tells(name: str, block: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every tension, pull on a hub, span and wrap of every state by itself lies between them, and the ends not far from
    them; in a block of one that is all the tensions of a layout.
    """
    run, seat = _states(name)
    monkeypatch.setattr("beltplan.drive.settling._BLOCK", block)
    response = response_of(seat, run.mechanics, run.rpm, run.torque_Nm)
    singly, rows = settled_singly(seat, run.mechanics, run.rpm, run.torque_Nm), response.rows
    assert np.diff(response.starts, append=len(rows)).max() <= block
    for i in range(run.torque_Nm.shape[-1]):
        pull = singly.hub_load_N(i, slice(None))
        for every, (least, most) in ((singly.tractive_N[i], response.tractive_N(i)), (pull, response.hub_load_N(i))):
            ends = [of.reduceat(every[:, rows], response.starts, axis=1) for of in (np.minimum, np.maximum)]
            assert (ends[0] >= least - 1e-6).all() and (ends[1] <= most + 1e-6).all()
            np.testing.assert_allclose(ends, (least, most), rtol=0.2)
        for own, (low, high) in ((singly.path.span[i], response.span(i)), (singly.path.wrap[i], response.wrap(i))):
            own = np.broadcast_to(own, (len(run.rpm), len(response.trusted)))[:, rows]
            assert (own >= low - 1e-6).all() and (own <= high + 1e-6).all()
            for end, told in ((own.min(axis=0), low), (own.max(axis=0), high)):
                np.testing.assert_allclose(end, np.broadcast_to(told, end.shape), rtol=0.1)


@for_each(*SETTLING)
def test_more_nodes_do_for_layouts_that_are_bent_more(name: str) -> None:
    """Whatever few can be relied on for, more can."""
    run, seat = _states(name)
    few, many = (response_of(seat, run.mechanics, run.rpm, run.torque_Nm, nodes=nodes).trusted for nodes in NODES)
    assert many.sum() >= few.sum() and many[few].all()


def test_an_adjuster_at_its_stop_is_not_trusted() -> None:
    """The same belt made so long that no spring takes it up: every state rests against the stop."""
    run, seat = _states("seven pulleys, beside the arm")
    slack = Seat(seat.circuit, seat.pitch_radius_mm, seat.length_mm + 500.0, seat.setting, seat.short, seat.long)
    assert not response_of(slack, run.mechanics, run.rpm, run.torque_Nm).trusted.any()
    assert settled_singly(slack, run.mechanics, run.rpm, run.torque_Nm).at_stop.all()


def test_numbers_that_lie_within_bounds_combine_within_those_told_and_up_to_them() -> None:
    """Interval arithmetic: of every combination of ends none lies outside, and the farthest is as far as is told."""
    rng = np.random.default_rng(3)
    (a, b), (p, q) = rng.uniform(-5.0, 5.0, (2, 2000)), rng.uniform(0.0, 3.0, (2, 2000))
    first, second, above = (_Within(*each) for each in ((a, p), (b, q), (q + np.abs(b) + 0.1, q)))
    for told, of, other in ((first + second, np.add, second), (first * second, np.multiply, second),
                            (first / above, np.divide, above)):  # fmt: skip
        ends = [of(a + i * p, other.middle + j * other.off) for i in (-1.0, 1.0) for j in (-1.0, 1.0)]
        np.testing.assert_allclose(np.abs(np.array(ends) - told.middle).max(axis=0), told.off, rtol=1e-9)

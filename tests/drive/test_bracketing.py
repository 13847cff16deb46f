"""The balance on the adjuster's travel is a root: against scipy's Brent, and as swift as a secant is (order 1.6)."""

import inspect
from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq

from beltplan.drive.balance import Equilibrium, _sign_change, equilibrium_of, seat_of
from beltplan.drive.layout import Layout
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.operation import operation_of
from beltplan.drive.route import route_of
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import Floats
from tests.drive.loaded_drives import SLIDE_SPRING, on_slide, route_and_mechanics, seven, swung_generator
from tests.for_each import for_each

ROOTS = np.array([0.003, 0.1875, 0.41, 0.77, 0.996])
"""Shares of the travel: one lies on a setting that is looked at first."""


def _settled(monkeypatch: pytest.MonkeyPatch, of_share: Callable[[Floats], Floats]) -> tuple[Floats, int]:
    """Shares of the travel where five errors are nothing, and how often they were asked."""
    seat = seat_of(route_and_mechanics(seven())[0])
    assert seat.short is not None and seat.long is not None
    short, span, asked = seat.short, seat.long - seat.short, []

    def error(self: Equilibrium, setting: Floats, path: object) -> Floats:
        asked.append(setting)
        return of_share((setting - short) / span)

    monkeypatch.setattr(Equilibrium, "error", error)
    drive = equilibrium_of(seat, route_and_mechanics(seven())[1], np.zeros(len(ROOTS)), np.zeros((len(ROOTS), 7)))
    setting, at_stop = drive.settled()
    assert not at_stop.any()
    return (setting - short) / span, len(asked)


@for_each(
    (lambda off: off, 4),
    (lambda off: off + 0.5 * off**2, 6),
    (lambda off: np.expm1(np.minimum(900.0 * off, 600.0)), 40),  # as where the arm comes to point along the pull
    (lambda off: np.sign(off) * np.abs(off) ** (1.0 / 3.0), 42),
    (lambda off: np.arctan(1e4 * off), 42),
    (lambda off: 1e6 * off**3, 42),
)  # fmt: skip
def test_the_balance_is_where_brent_finds_it(
    monkeypatch: pytest.MonkeyPatch, of: Callable[[Floats], Floats], most: int
) -> None:
    found, asked = _settled(monkeypatch, lambda share: of(share - ROOTS))
    brent = [
        brentq(lambda share, at=at: float(of(np.asarray(share - at))), 0.0, 1.0, xtol=1e-13, maxiter=999)
        for at in ROOTS
    ]
    np.testing.assert_allclose(found, brent, atol=2e-7)
    assert asked <= most


@for_each(seven(), on_slide(spring=SLIDE_SPRING), swung_generator(TorqueLoad(6.0)))
def test_few_balances_are_asked_for_every_speed_and_load(monkeypatch: pytest.MonkeyPatch, given: Layout) -> None:
    asked, real = [], Equilibrium.error

    def error(self: Equilibrium, setting: Floats, path: Pieces) -> Floats:
        asked.append(setting)
        return real(self, setting, path)

    monkeypatch.setattr(Equilibrium, "error", error)
    inspect.unwrap(operation_of)(route_of(given))  # no answer that is remembered
    assert 2 <= len(asked) <= 6


@for_each(*range(40))
def test_every_state_of_every_layout_turns_within_the_rows(seed: int) -> None:
    """Errors that grow from row to row, each added up here from its parts."""
    rng = np.random.default_rng(seed)
    parts, states = rng.uniform(0.0, 2.0, (30, 3, 4)).cumsum(axis=0), rng.uniform(0.9, 1.1, (3, 5))
    parts[:, 0] -= rng.uniform(20.0, 80.0, 4)
    errors = np.einsum("rmn,ms->rsn", parts, states)
    rows = _sign_change(parts, states)
    assert rows.start == 0 or (errors[rows.start] <= 0.0).all()
    assert rows.stop == len(parts) or (errors[rows.stop - 1] >= 0.0).all()
    assert rows.stop - rows.start < len(parts)

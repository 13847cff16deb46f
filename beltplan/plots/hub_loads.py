"""Hub loads as arrows: what pulls on every bracket, engine stopped and worst in running."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.plots.legend import Entry
from beltplan.plots.palette import FORCE, FORCE_AT_REST, FORCE_AT_REST_EDGE, FORCE_HALO
from beltplan.plots.scene import Item, Shape, broad_arrow
from beltplan.tension.operation import Operation

LONGEST_PT = 115.0
SHAFT_PT, HEAD_PT = 2.4, 10.0
REST_SHAFT_PT, REST_HEAD_PT = 8.0, 13.0
SAME, STEADY = 1e-6, 0.99
SCALE_N = (500.0, 1000.0, 200.0, 2000.0, 100.0, 5000.0, 50.0, 10000.0, 20.0, 10.0)
SHORTEST_BAR_PT, LONGEST_BAR_PT = 28.0, 80.0


@dataclass(frozen=True)
class HubLoad:
    """Pull of the belt on one hub, (2) N: engine stopped, and the greatest in running with its engine rpm.

    steady: whether it hardly changes with speed or duty.
    """

    index: int
    pulley: str
    stopped_N: Floats
    running_N: Floats
    rpm: float
    steady: bool


def hub_loads(operation: Operation) -> tuple[HubLoad, ...]:
    """The loads of every pulley, in the order of the route."""
    return tuple(_hub_load(operation, i) for i in range(len(operation.route.pulleys)))


def _hub_load(operation: Operation, index: int) -> HubLoad:
    running = operation.running.hub_load_N[..., index, :]
    size = operation.hub_size_N[..., index]
    # The first of equal ones: a pull that stays the same has no speed of its own.
    first = int(np.argmax(size >= size.max() * (1.0 - SAME)))
    duty, speed = (int(i) for i in np.unravel_index(first, size.shape))
    return HubLoad(
        index,
        operation.route.pulleys[index].name,
        np.asarray(operation.stopped.hub_load_N[index]),
        np.asarray(running[duty, speed]),
        float(operation.driver_rpm[speed]),
        bool(size[operation.tight].min() >= STEADY * size.max()),
    )


def points_per_N(loads: tuple[HubLoad, ...]) -> float:
    """Length of an arrow on paper for one newton: the greatest load gets the longest arrow."""
    return LONGEST_PT / max(1.0, *(float(np.hypot(*load)) for hub in loads for load in (hub.stopped_N, hub.running_N)))


def arrow_items(load: HubLoad, hub: Floats, per_N: float, unit_pt: float) -> list[Item]:
    """Both arrows of a hub: the broad pale one for the engine stopped under the slim dark one for the worst."""
    return [
        _at_rest(hub, load.stopped_N * per_N / unit_pt, unit_pt, f"stopped {load.pulley}"),
        _worst(hub, load.running_N * per_N / unit_pt, unit_pt, f"running {load.pulley}"),
    ]


def _at_rest(tail: Floats, along: Floats, unit_pt: float, name: str = "") -> Shape:
    ring = broad_arrow(tail, along, REST_SHAFT_PT / unit_pt, REST_HEAD_PT / unit_pt)
    return Shape((ring,), FORCE_AT_REST, FORCE_AT_REST_EDGE, name=name)


def _worst(tail: Floats, along: Floats, unit_pt: float, name: str = "") -> Shape:
    return Shape((broad_arrow(tail, along, SHAFT_PT / unit_pt, HEAD_PT / unit_pt),), FORCE, FORCE_HALO, name=name)


def force_entries(per_N: float) -> list[Entry]:
    """The scale of the arrows, and what each kind stands for."""
    fitting = [newton for newton in SCALE_N if SHORTEST_BAR_PT <= newton * per_N <= LONGEST_BAR_PT]
    newton = fitting[0] if fitting else 0.4 * LONGEST_PT / per_N
    length = newton * per_N

    def slim(at: Floats, pt: float) -> list[Item]:
        along = np.array((length * pt, 0.0))
        return [_worst(at - 0.5 * along, along, 1.0 / pt, "force scale")]

    def broad(at: Floats, pt: float) -> list[Item]:
        along = np.array((30.0 * pt, 0.0))
        return [_at_rest(at - 0.5 * along, along, 1.0 / pt)]

    return [
        Entry(f"pull on the hub, worst in running: this long is {newton:.4g} N", slim, length),
        Entry("pull on the hub, engine stopped", broad),
    ]

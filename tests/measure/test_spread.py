"""One deviation a pulley for places that hang together: the belt length must spread as it really does."""

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Pulley, Slide
from beltplan.drive.route import route_of
from beltplan.geometry.vectors import Floats
from beltplan.measure.layout_writer import points_of, spread_of
from beltplan.measure.network import without_motion
from beltplan.measure.readings import Direction, Distance, Measured
from beltplan.measure.study import Measuring, measuring_of

AT = {"crank": (0.0, 0.0), "pump": (-190.0, 300.0), "guide": (0.0, 245.0), "generator": (235.0, 300.0)}
STEP_MM = 1e-4


def _layout(kind: str) -> Layout:
    adjuster = (
        Arm((-150.0, 215.0), 85.0, (np.radians(265.0), np.radians(300.0)), np.radians(285.0))
        if kind == "arm"
        else Slide((-130.0, 130.0), (-100.0, 110.0), 0.3)
    )
    pulleys = (
        Pulley("crank", "crankshaft", 190.0, at_mm=AT["crank"], drives=True),
        Pulley("tensioner", "tensioner", 72.0, adjuster=adjuster, belt_side="back"),
        Pulley("pump", "water_pump", 130.0, at_mm=AT["pump"]),
        Pulley("guide", "idler", 76.0, at_mm=AT["guide"], belt_side="back"),
        Pulley("generator", "alternator", 60.0, at_mm=AT["generator"]),
    )
    return Layout("measured", parse_designation("6PK"), {p.name: p for p in pulleys}, tuple(p.name for p in pulleys))


def _places(layout: Layout) -> dict[str, tuple[float, float]]:
    adjuster = layout.pulleys["tensioner"].adjuster
    if isinstance(adjuster, Arm):
        return {**AT, "tensioner.pivot": adjuster.pivot_mm}
    assert isinstance(adjuster, Slide)
    return {**AT, "tensioner.from": adjuster.start_mm, "tensioner.to": adjuster.end_mm}


def _found(layout: Layout, level_deg: float = 0.5) -> Measuring:
    places = _places(layout)
    names = tuple(places)
    pairs = [(a, b) for i, a in enumerate(names) for b in names[:i] if {a, b} != {"generator", "pump"}]
    distances = tuple(Distance(a, b, float(np.hypot(*np.subtract(places[a], places[b]))), 1.0) for a, b in pairs)
    angle = Direction("crank", "generator", float(np.arctan2(300.0, 235.0)), np.radians(level_deg))
    return measuring_of(Measured("m", names, "crank", distances, (angle,), sides={"pump": ("left",)}))


def _moved(layout: Layout, places: dict[str, tuple[float, float]]) -> Layout:
    pulleys = {
        name: replace(pulley, at_mm=places[name]) for name, pulley in layout.pulleys.items() if pulley.adjuster is None
    }
    held, adjuster = layout.pulleys["tensioner"], layout.pulleys["tensioner"].adjuster
    if isinstance(adjuster, Arm):
        new: Arm | Slide = replace(adjuster, pivot_mm=places["tensioner.pivot"])
    else:
        assert isinstance(adjuster, Slide)
        new = replace(adjuster, start_mm=places["tensioner.from"], end_mm=places["tensioner.to"])
    return replace(layout, pulleys={**layout.pulleys, **pulleys, "tensioner": replace(held, adjuster=new)})


def _length(layout: Layout) -> float:
    needed = route_of(layout).needed_mm
    assert needed is not None
    return needed


def _slopes(layout: Layout, names: tuple[str, ...]) -> Floats:
    """Change of the needed length with every coordinate, by central differences of whole layouts laid anew."""
    places, slopes = _places(layout), []
    for name in names:
        for axis in np.eye(2):
            ends = [
                _length(_moved(layout, {**places, name: tuple(np.add(places[name], sign * STEP_MM * axis))}))
                for sign in (1.0, -1.0)
            ]
            slopes.append((ends[0] - ends[1]) / (2.0 * STEP_MM))
    return np.array(slopes)


@pytest.mark.parametrize("kind", ["arm", "slide"])
@pytest.mark.parametrize("level_deg", [0.1, 2.0])
def test_independent_errors_spread_the_length_as_the_covariance_does(kind: str, level_deg: float) -> None:
    """Reference: g' Q g with slopes by central differences (numpy)."""
    layout = _layout(kind)
    found = _found(layout, level_deg)
    names = tuple(centre.name for centre in found.centres)
    slopes = _slopes(layout, names)
    spread = spread_of(found, layout)
    owner = {point: pulley.name for pulley in layout.pulleys.values() for point in points_of(pulley)}
    really = slopes @ found.covariance_mm2 @ slopes
    own = np.repeat([spread[owner[name]] for name in names], 2)
    shares = np.sum((slopes * own) ** 2)
    assert np.sqrt(shares) == pytest.approx(np.sqrt(really), rel=1e-5)
    assert set(spread) == set(layout.pulleys)


def test_a_worse_level_changes_next_to_nothing() -> None:
    """A turn of the whole changes no belt length but by the arm, whose angles do not turn with it."""
    layout = _layout("slide")
    good, bad = (spread_of(_found(layout, level), layout) for level in (0.01, 5.0))
    assert [good[name] for name in good] == pytest.approx([bad[name] for name in good], rel=1e-3)


def test_shift_and_turn_are_taken_out() -> None:
    """A covariance of nothing but a common shift and turn leaves nothing; one without them is left as it is."""
    places = np.random.default_rng(1).uniform(-300.0, 300.0, (6, 2))
    away = places - places.mean(axis=0)
    motions = np.stack(
        [np.tile((1.0, 0.0), 6), np.tile((0.0, 1.0), 6), np.stack((-away[:, 1], away[:, 0]), -1).reshape(-1)], -1
    )
    assert np.abs(without_motion(places, motions @ np.diag((4.0, 9.0, 1e-4)) @ motions.T)).max() < 1e-10
    inner = without_motion(places, np.eye(12))
    assert without_motion(places, inner) == pytest.approx(inner, abs=1e-12)
    assert np.trace(inner) == pytest.approx(12.0 - 3.0, abs=1e-12)


def test_without_a_belt_path_nothing_is_scaled() -> None:
    """Overlapping pulleys: the deviations are those of the places, the common motion taken out."""
    layout = _layout("arm")
    broken = replace(layout, pulleys={**layout.pulleys, "guide": replace(layout.pulleys["guide"], diameter_mm=800.0)})
    found = _found(layout)
    inner = without_motion(np.array(list(_places(layout).values())), found.covariance_mm2)
    own = np.sqrt(np.diagonal(inner).reshape(-1, 2).mean(axis=1))
    spread = spread_of(found, broken)
    assert spread["pump"] == pytest.approx(own[1], rel=1e-6)


@pytest.mark.parametrize("kind", ["arm", "slide"])
def test_a_mark_that_checks_nothing_changes_nothing(kind: str) -> None:
    """Two readings fix a point and tell nothing of the others: a least-squares law, so no source is needed."""
    layout = _layout(kind)
    plain = _found(layout)
    given = plain.measured
    # At (-400, 300): 3-4-5 with the crank, level with the generator; its mirror solution lies below.
    taped = (Distance("crank", "bolt", 500.0, 3.0), Distance("generator", "bolt", 635.0, 3.0))
    marked = replace(
        given,
        points=(*given.points, "bolt"),
        distances=(*given.distances, *taped),
        sides={**given.sides, "bolt": ("above",)},
        marks=("bolt",),
    )
    spread, bare = spread_of(measuring_of(marked), layout), spread_of(plain, layout)
    assert set(spread) == set(layout.pulleys)
    assert [spread[name] for name in bare] == pytest.approx(list(bare.values()), rel=1e-6)

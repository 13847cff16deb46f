"""Networks settled against scipy.optimize.least_squares, rows left out, and starts laid for images and rims."""

from collections.abc import Callable
from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import least_squares

from beltplan.geometry.vectors import Floats, from_angle
from beltplan.measure.images import mapped
from beltplan.measure.least_squares import Settled, settle
from beltplan.measure.network import EXACT_RAD, Network, surveyed
from beltplan.measure.readings import Diameter, Direction, Distance, Image, Measured, Offset, Pick, Reading
from tests.for_each import for_each
from tests.measure.drives import PLACES, every_pair, measured_of, shot, taped, turned_sight
from tests.measure.networks import distances, image, level, network, scattered, settled_at

SEED = 51


@pytest.mark.parametrize("off_mm", [5.0, 30.0])
@pytest.mark.parametrize("seed", [26, 190, *range(18)])
def test_noisy_networks_end_no_higher_than_minpack(seed: int, off_mm: float) -> None:
    """scipy's Levenberg-Marquardt from the same start, beside a level line far more exact than the tapes.

    From 5 mm off the first draws of seeds 26 and 190 once ended at sums of 24,747 and 34,310 instead of 7.55 and 17.9.
    """
    rng = np.random.default_rng(seed)
    for _ in range(4):
        places = scattered(rng, 6)
        pairs = list(combinations(range(6), 2))
        given = network(6, distances(places, pairs, rng.normal(size=len(pairs))), level(places))
        start = given.unknowns_at(places + rng.normal(size=(6, 2)) * off_mm)
        found, free = settled_at(given, start), given.free

        def rows(part: Floats, start: Floats = start, given: Network = given) -> tuple[Floats, Floats]:
            whole = start.copy()
            whole[given.free] = part
            residuals, jacobian = given.equations(whole)
            return residuals, jacobian[:, given.free]

        reference = least_squares(
            lambda part: rows(part)[0],
            start[free],
            jac=lambda part: rows(part)[1],
            method="lm",
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
        )
        assert found.cost <= 2.0 * reference.cost * (1.0 + 1e-6)
        # From further off it is MINPACK that may stay on a ridge.
        if off_mm < 10.0:
            np.testing.assert_allclose(found.unknowns[free], reference.x, atol=1e-4)


def test_the_origin_stays_at_nought(rng: np.random.Generator) -> None:
    places = scattered(rng, 4) + 100.0
    given = network(4, distances(places, combinations(range(4), 2)), origin=2)
    found = settled_at(given, given.unknowns_at(places + rng.normal(size=(4, 2))))
    assert found.unknowns[4:6].tolist() == [0.0, 0.0]
    assert not found.jacobian[:, 4:6].any()
    assert found.cost < 1e-12
    assert given.free.tolist() == [True] * 4 + [False] * 2 + [True] * 2


def test_rows_left_out_have_no_say_but_a_residual(rng: np.random.Generator) -> None:
    """Misread by 25.4 mm and left out: the places are the true ones, and the row's residual is just that."""
    places, pairs = scattered(rng, 5), list(combinations(range(5), 2))
    off = np.zeros(len(pairs))
    off[3] = 25.4
    given = network(5, distances(places, pairs, off), level(places))
    found = settled_at(given, given.unknowns_at(places + rng.normal(size=(5, 2))), (3,))
    np.testing.assert_allclose(found.unknowns.reshape(-1, 2), places, atol=1e-4)
    assert found.residuals[3] == pytest.approx(-25.4, abs=1e-4)
    assert not found.jacobian[3].any()
    assert np.abs(np.delete(found.residuals, 3)).max() < 1e-4


def test_residuals_stand_kind_after_kind(rng: np.random.Generator) -> None:
    places = scattered(rng, 3)
    offsets = (Offset("2", "0", "y", float(places[2, 1]) - 7.0, 2.0),)
    given = network(3, distances(places, [(0, 1), (1, 2)], -3.0), offsets, level(places))
    residuals, jacobian = given.equations(given.unknowns_at(places))
    assert residuals == pytest.approx([3.0, 3.0, 3.5, 0.0])
    assert jacobian.shape == (4, 6)


def _with_rims() -> tuple[Network, Floats, Floats]:
    """Two pulleys of 90 and 35 mm radius on a similar photo, picked in the middle and by five rim points each."""
    places, radii = np.array(((0.0, 0.0), (300.0, 40.0))), np.array((90.0, 35.0))
    numbers = np.array((1.4, 0.3, 500.0, 200.0))
    rims = {i: places[i] + radii[i] * from_angle(np.linspace(0.0, 5.0, 5)) for i in (0, 1)}
    at, *rims_at = (mapped("similar", 1.0, numbers, each)[0] for each in (places, *rims.values()))
    photo = image("similar", at, dict(enumerate(rims_at)))
    given = network(2, distances(places, [(0, 1)]), level(places), images=(photo,), radii_mm={0: 50.0, 1: 50.0})
    return given, places, radii


def test_a_start_lays_images_and_rims_as_the_places_ask_for() -> None:
    given, places, radii = _with_rims()
    assert given.size == 20 and list(given.radii_mm.values()) == [50.0, 50.0]
    start = given.unknowns_at(places)
    np.testing.assert_allclose(given.equations(start)[0], 0.0, atol=1e-9)
    np.testing.assert_allclose(start[4:6], radii, atol=1e-9)


def test_radii_come_from_rims_though_the_start_is_off() -> None:
    given, places, radii = _with_rims()
    found = settled_at(given, given.unknowns_at(places + np.array(((0.0, 0.0), (-40.0, 60.0)))))
    assert found.cost < 1e-9
    np.testing.assert_allclose(found.unknowns[2:4], places[1], atol=1e-3)
    np.testing.assert_allclose(found.unknowns[4:6], radii, atol=1e-3)


def test_a_start_is_shifted_to_the_origin(rng: np.random.Generator) -> None:
    places = scattered(rng, 3)
    given = network(3, distances(places, [(0, 1)]))
    np.testing.assert_allclose(given.unknowns_at(places + 77.0), places.reshape(-1), atol=1e-9)


def test_an_image_with_too_few_places_is_finite(rng: np.random.Generator) -> None:
    places = scattered(rng, 3)
    given = network(3, images=(image("slanted", places[:2]),))
    assert np.isfinite(settled_at(given, given.unknowns_at(places)).cost)


# From what was measured to rows: which row belongs to which reading, level lines, radii, words.


RADII = {"crank": 95.0, "alternator": 30.0, "pump": 65.0}
SIGHT = turned_sight(2.0, 0.3, (500.0, 400.0))


def _mixed(**errors: float) -> Measured:
    """One of each, true but for what is named."""
    tapes = list(taped(PLACES, [("crank", "guide"), ("pivot", "pump")], None))
    over = np.hypot(235.0, 300.0) + RADII["crank"] + RADII["alternator"]
    gap = np.hypot(190.0, 300.0) - RADII["crank"] - RADII["pump"]
    tapes.append(Distance("crank", "alternator", over + errors.get("outside", 0.0), 2.0, "outside"))
    tapes.append(Distance("crank", "pump", gap + errors.get("gap", 0.0), 0.5, "gap"))
    sizes = [Diameter(name, 2.0 * radius + errors.get("size", 0.0), 0.2) for name, radius in RADII.items()]
    return measured_of(
        PLACES,
        tuple(tapes),
        directions=(Direction("crank", "alternator", np.arctan2(300.0, 235.0) + errors.get("angle", 0.0), 0.01),),
        offsets=(
            Offset("compressor", "crank", "x", 250.0 + errors.get("x", 0.0), 1.0),
            Offset("compressor", "crank", "y", 60.0, 1.0),
        ),
        diameters=(*sizes, Diameter("guide", 76.0, 0.2)),
        images=(
            shot(PLACES, ["crank", "pump"], SIGHT, None, rims={"alternator": (30.0, 4)}, name="front"),
            shot(PLACES, ["guide", "pivot", "crank"], SIGHT, None, "rigid", 3.0, 2.0, name="scan"),
        ),
    )


def _misfits(survey: Network) -> Floats:
    start = survey.unknowns_at(np.array(list(PLACES.values())))
    start[survey.radii] = [RADII[name] for name in survey.radii_mm]
    return survey.equations(start)[0]


def test_true_readings_have_no_misfit() -> None:
    np.testing.assert_allclose(_misfits(surveyed(_mixed())), 0.0, atol=1e-8)


@for_each(
    ("outside", 4.0, "crank - alternator (outside)", 2.0),
    ("gap", 4.0, "crank - pump (gap)", 8.0),
    ("angle", 0.03, "angle crank - alternator", 3.0),
    ("x", -5.0, "x of compressor from crank", -5.0),
)
def test_what_is_read_too_much_shows_in_its_own_row(what: str, off: float, words: str, share: float) -> None:
    survey = surveyed(_mixed(**{what: off}))
    misfit = _misfits(survey)
    (reading,) = (each for each in survey.readings if each.words == words)
    assert -misfit[survey.rows[reading][0]] == pytest.approx(share)
    assert np.count_nonzero(np.abs(misfit) > 1e-6) == 1


def test_a_diameter_counts_half_on_the_radius() -> None:
    """0.6 mm too much with a deviation of 0.2 mm is 3, whether as a diameter or as a radius. No rim of guide counts."""
    survey = surveyed(_mixed(size=0.6))
    rows = [survey.rows[each][0] for each in survey.readings if each.words.startswith("diameter")]
    np.testing.assert_allclose(_misfits(survey)[rows], [-3.0] * 3, atol=1e-9)
    assert tuple(survey.radii_mm) == ("crank", "alternator", "pump")


def test_every_row_belongs_to_one_reading() -> None:
    survey = surveyed(_mixed())
    rows = sorted(row for each in survey.readings for row in survey.rows[each])
    count = len(_misfits(survey))
    assert rows == list(range(count))
    with_level = surveyed(measured_of(PLACES, taped(PLACES, every_pair(PLACES), None)))
    assert sorted(row for each in with_level.readings for row in with_level.rows[each]) == list(range(15))
    assert len(with_level.rows) == 16


def test_rows_of_picks_are_those_of_their_place() -> None:
    """One place on the second picture is moved: its two rows and no others show it."""
    given = _mixed()
    scan = given.images[1]
    moved = {**scan.places, "pivot": (scan.places["pivot"][0] + 6.0, scan.places["pivot"][1] - 9.0)}
    survey = surveyed(
        measured_of(
            PLACES,
            given.distances,
            diameters=given.diameters,
            directions=given.directions,
            offsets=given.offsets,
            images=(given.images[0], Image("scan", "rigid", 3.0, moved, {}, 2.0)),
        )
    )
    true = surveyed(given)
    start = true.unknowns_at(np.array(list(PLACES.values())))
    misfit = survey.equations(start)[0] - true.equations(start)[0]
    (reading,) = (each for each in survey.readings if each.words == "pivot on scan")
    np.testing.assert_allclose(misfit[list(survey.rows[reading])], [-2.0, 3.0], atol=1e-9)
    assert np.count_nonzero(np.abs(misfit) > 1e-6) == 2
    assert (reading.unit, reading.sd) == ("px", 3.0)


def test_words() -> None:
    front = Image("front", "similar", 1.0, {})
    assert Pick("pump", front, (1.0, 2.0)).words == "pump on front"
    assert Pick("pump", front, (1.0, 2.0), 2).words == "rim point 2 of pump on front"
    assert Diameter("pump", 1.0, 1.0).words == "diameter of pump"
    assert Distance("a", "b", 1.0, 1.0).words == "a - b"


def _taken(measured: Measured) -> list[Reading]:
    """What has rows and was not read."""
    network = surveyed(measured)
    return [reading for reading in network.rows if reading not in network.readings]


def test_the_level_line() -> None:
    """Taken only where nothing says what is level: from the origin to the first point measured from it."""
    pairs = [("alternator", "pump"), ("guide", "crank"), ("crank", "pump")]
    open_frame = measured_of(PLACES, taped(PLACES, pairs, None))
    assert open_frame.frame_is_open and open_frame.level_taken == ("crank", "guide")
    (line,) = _taken(open_frame)
    assert line.sd == np.degrees(EXACT_RAD)
    shut = measured_of(PLACES, taped(PLACES, pairs, None), directions=(Direction("crank", "pump", 1.0, 0.1),))
    assert not shut.frame_is_open and _taken(shut) == []
    given = measured_of(PLACES, (), level=("pump", "alternator"))
    (level,) = _taken(given)
    assert (level.points, level.value) == (("pump", "alternator"), 0.0)


def test_the_level_line_without_a_tape() -> None:
    seen = measured_of(PLACES, (), images=(shot(PLACES, ["pump", "pivot"], SIGHT, None),))
    assert seen.level_taken == ("crank", "pump")
    assert measured_of({"a": (0.0, 0.0)}, ()).level_taken is None
    assert _taken(measured_of({"a": (0.0, 0.0)}, ())) == []


def test_radii_start_from_what_was_read() -> None:
    """The diameter by calipers first, then the rim on a scan of known scale, else a guess."""
    scan = shot(PLACES, [], SIGHT, None, "rigid", 1.0, 2.0, {"pump": (65.0, 5), "crank": (95.0, 5)}, "scan")
    photo = shot(PLACES, [], SIGHT, None, rims={"guide": (38.0, 5)})
    survey = surveyed(measured_of(PLACES, (), diameters=(Diameter("crank", 191.0, 0.2),), images=(scan, photo)))
    found = survey.radii_mm
    assert found["crank"] == 95.5
    assert found["pump"] == pytest.approx(65.0, abs=1e-6)
    assert found["guide"] == 50.0


# Damped Gauss-Newton steps against scipy.optimize.least_squares, and where they must stand still.


Misfit = Callable[[Floats], Floats]
Rows = Callable[[Floats], tuple[Floats, Floats]]
TIME = np.array([0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0])
HEIGHT = 2.5 * np.exp(-0.9 * TIME) + 0.7 + 0.01 * np.cos(40.0 * TIME)
"""A decay with a small wiggle on it: what is left at the best fit is not nought."""


def settle_at(rows: Rows, start: Floats) -> Settled:
    """From one start, by residuals and Jacobian of one set of unknowns."""

    def every(starts: Floats) -> tuple[Floats, Floats]:
        residuals, jacobians = zip(*map(rows, starts), strict=True)
        return np.array(residuals), np.array(jacobians)

    return settle(every, start[None])[0]


def _rosenbrock(x: Floats) -> Floats:
    return np.array((10.0 * (x[1] - x[0] ** 2), 1.0 - x[0]))


def _powell(x: Floats) -> Floats:
    """Powell's singular function: its slopes lose rank at the minimum (0, 0, 0, 0)."""
    return np.array(
        (x[0] + 10.0 * x[1], 5.0**0.5 * (x[2] - x[3]), (x[1] - 2.0 * x[2]) ** 2, 10.0**0.5 * (x[0] - x[3]) ** 2)
    )


def _decay(x: Floats) -> Floats:
    return np.asarray(x[0] * np.exp(-x[1] * TIME) + x[2] - HEIGHT)


def _freudenstein_roth(x: Floats) -> Floats:
    """Its sum of squares has a least value of 48.9842 at (11.41..., -0.8968...) beside nought at (5, 4).

    Source: More, Garbow and Hillstrom 1981, problem 2 (from memory); scipy's minimum is asked in the test as well.
    """
    a, b = x
    return np.array((-13.0 + a + ((5.0 - b) * b - 2.0) * b, -29.0 + a + ((b + 1.0) * b - 14.0) * b))


def _slopes(misfit: Misfit, x: Floats) -> Floats:
    steps = 1e-6 * np.maximum(1.0, np.abs(x))
    return np.column_stack(
        [(misfit(x + h * e) - misfit(x - h * e)) / (2.0 * h) for h, e in zip(steps, np.eye(len(x)), strict=True)]
    )


def _rows(misfit: Misfit) -> Callable[[Floats], tuple[Floats, Floats]]:
    return lambda x: (misfit(x), _slopes(misfit, x))


@pytest.mark.parametrize(
    ("misfit", "start"),
    [
        (_rosenbrock, (-1.2, 1.0)),
        (_rosenbrock, (30.0, -40.0)),
        (_decay, (1.0, 1.0, 0.0)),
        (_decay, (10.0, 3.0, -2.0)),
        (_freudenstein_roth, (0.5, -2.0)),
        (_freudenstein_roth, (6.0, 5.0)),
    ],
)
def test_classic_problems_as_scipy(misfit: Misfit, start: tuple[float, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    """Starts of Moré, Garbow and Hillstrom 1981 for the two named problems (from memory); scipy is the reference."""
    reference = least_squares(misfit, start, method="lm", xtol=1e-13, ftol=1e-13, gtol=1e-13)
    monkeypatch.setattr("beltplan.measure.least_squares.MOST_STEPS", 200)
    found = settle_at(_rows(misfit), np.array(start))
    np.testing.assert_allclose(found.unknowns, reference.x, rtol=1e-4, atol=1e-5)
    assert found.cost == pytest.approx(2.0 * reference.cost, rel=1e-8, abs=1e-10)


def test_a_minimum_where_the_slopes_lose_rank() -> None:
    found = settle_at(_rows(_powell), np.array((3.0, -1.0, 0.0, 1.0)))
    assert found.cost < 1e-9
    assert np.max(np.abs(found.unknowns)) < 1e-2


def test_random_linear_problems_as_lstsq() -> None:
    rng = np.random.default_rng(5)
    for _ in range(50):
        m, n = int(rng.integers(6, 20)), int(rng.integers(1, 6))
        matrix = rng.normal(size=(m, n)) * 10.0 ** rng.uniform(-3.0, 3.0, n)
        aim = rng.normal(size=m)
        found = settle_at(lambda x, a=matrix, b=aim: (a @ x - b, a), rng.normal(size=n))  # type: ignore[misc]
        best = np.linalg.lstsq(matrix, aim, rcond=None)[0]
        np.testing.assert_allclose(matrix @ found.unknowns, matrix @ best, atol=1e-6)


def test_random_curved_problems_as_scipy() -> None:
    """Sums of sines: started near a minimum both must end in it."""
    rng = np.random.default_rng(6)
    for _ in range(30):
        inner, true = rng.normal(size=(12, 3)), rng.normal(size=3)
        aim = np.sin(inner @ true) + 0.01 * rng.normal(size=12)

        def misfit(x: Floats, inner: Floats = inner, aim: Floats = aim) -> Floats:
            return np.asarray(np.sin(inner @ x) - aim)

        start = true + 0.05 * rng.normal(size=3)
        reference = least_squares(misfit, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
        np.testing.assert_allclose(settle_at(_rows(misfit), start).unknowns, reference.x, atol=1e-6)


def test_directions_nothing_depends_on_stay() -> None:
    """Only x + y counts and z not at all: x - y and z keep what they were."""

    def rows(at: Floats) -> tuple[Floats, Floats]:
        return np.array([(at[0] + at[1]) ** 2 - 9.0]), np.array([[2.0 * (at[0] + at[1])] * 2 + [0.0]])

    found = settle_at(rows, np.array((2.0, 3.0, 7.0)))
    assert found.unknowns[0] + found.unknowns[1] == pytest.approx(3.0, abs=1e-6)
    assert found.unknowns[0] - found.unknowns[1] == pytest.approx(-1.0, abs=1e-9)
    assert found.unknowns[2] == 7.0


def test_an_exact_row_does_not_drown_a_rough_one() -> None:
    """One row of slope 1e4 on a slanted direction beside rows of slope 0.05, all curved: the rough ones still count."""
    fixed, centres = np.array((300.0, 40.0)), np.array(((0.0, 0.0), (500.0, -50.0), (100.0, 400.0)))
    reads = np.array((310.0, 230.0, 400.0))
    along = np.array((0.6, 0.8))

    def misfit(x: Floats) -> Floats:
        rough = 0.05 * (np.hypot(*(x - centres).T) - reads)
        return np.concatenate(([1e4 * (along @ (x - fixed))], rough))

    found = settle_at(_rows(misfit), np.array((250.0, 120.0)))
    across = np.array((-0.8, 0.6))
    line = least_squares(lambda t: misfit(fixed + t[0] * across)[1:], [0.0], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    np.testing.assert_allclose(found.unknowns, fixed + line.x[0] * across, atol=1e-3)


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_a_start_without_finite_misfit_is_given_back(bad: float) -> None:
    start = np.array((1.0, 2.0))
    found = settle_at(lambda x: (np.array([bad]), np.ones((1, 2))), start)
    assert found.unknowns.tolist() == [1.0, 2.0]
    assert not np.isfinite(found.cost)


def test_a_step_into_nowhere_is_shortened() -> None:
    """The logarithm has no value below nought; the first full step from 3 for log x = 0 would land there."""

    def rows(x: Floats) -> tuple[Floats, Floats]:
        with np.errstate(invalid="ignore"):
            return np.log(x), np.diag(1.0 / x)

    assert settle_at(rows, np.array([3.0])).unknowns[0] == pytest.approx(1.0, abs=1e-6)


def test_no_row_and_no_unknown() -> None:
    assert settle_at(lambda x: (np.zeros(0), np.zeros((0, 2))), np.ones(2)).unknowns.tolist() == [1.0, 1.0]
    assert settle_at(lambda x: (np.ones(3), np.zeros((3, 0))), np.zeros(0)).cost == 3.0

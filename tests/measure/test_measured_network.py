"""From what was measured to rows: which row belongs to which reading, level lines, radii, words."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.geometry.vectors import Floats
from beltplan.measure.network import EXACT_RAD, Network, surveyed
from beltplan.measure.readings import Diameter, Direction, Distance, Image, Measured, Offset, Pick, Reading
from tests.for_each import for_each
from tests.measure.drives import PLACES, every_pair, measured_of, shot, taped, turned_sight

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
    ("outside", 4.0, "crank - alternator, outside", 2.0),
    ("gap", 4.0, "crank - pump, gap", 8.0),
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

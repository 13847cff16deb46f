"""From what was measured to rows: which row belongs to which reading, level lines, radii, words."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.geometry.vectors import Floats
from beltplan.measure.network import EXACT_RAD, Pick, Surveyed, level_taken, surveyed, words_of
from beltplan.measure.readings import Direction, Distance, Measured, Offset, Picture, Size
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
    sizes = [Size(name, 2.0 * radius + errors.get("size", 0.0), 0.2) for name, radius in RADII.items()]
    return measured_of(
        PLACES,
        tuple(tapes),
        directions=(Direction("crank", "alternator", np.arctan2(300.0, 235.0) + errors.get("angle", 0.0), 0.01),),
        offsets=(
            Offset("compressor", "crank", "x", 250.0 + errors.get("x", 0.0), 1.0),
            Offset("compressor", "crank", "y", 60.0, 1.0),
        ),
        sizes=(*sizes, Size("guide", 76.0, 0.2)),
        pictures=(
            shot(PLACES, ["crank", "pump"], SIGHT, None, rims={"alternator": (30.0, 4)}, name="front"),
            shot(PLACES, ["guide", "pivot", "crank"], SIGHT, None, "rigid", 3.0, 2.0, name="scan"),
        ),
    )


def _misfits(survey: Surveyed) -> Floats:
    start = survey.network.unknowns_at(np.array(list(PLACES.values())))
    first = 2 * survey.network.points
    start[first : first + len(survey.radii)] = [RADII[name] for name in survey.radii]
    return survey.network.rows(start)[0]


def test_true_readings_have_no_misfit() -> None:
    np.testing.assert_allclose(_misfits(surveyed(_mixed())), 0.0, atol=1e-8)


@pytest.mark.parametrize(
    ("what", "off", "words", "share"),
    [
        ("outside", 4.0, "crank - alternator, outside", 2.0),
        ("gap", 4.0, "crank - pump, gap", 8.0),
        ("angle", 0.03, "angle crank - alternator", 3.0),
        ("x", -5.0, "x of compressor from crank", -5.0),
    ],
)
def test_what_is_read_too_much_shows_in_its_own_row(what: str, off: float, words: str, share: float) -> None:
    survey = surveyed(_mixed(**{what: off}))
    misfit = _misfits(survey)
    (reading,) = (each for each in survey.readings if each.words == words)
    assert -misfit[reading.rows[0]] == pytest.approx(share)
    assert np.count_nonzero(np.abs(misfit) > 1e-6) == 1


def test_a_diameter_counts_half_on_the_radius() -> None:
    """0.6 mm too much with a deviation of 0.2 mm is 3, whether as a diameter or as a radius. No rim of guide counts."""
    survey = surveyed(_mixed(size=0.6))
    rows = [each.rows[0] for each in survey.readings if each.words.startswith("diameter")]
    np.testing.assert_allclose(_misfits(survey)[rows], [-3.0] * 3, atol=1e-9)
    assert survey.radii == ("crank", "alternator", "pump")


def test_every_row_belongs_to_one_reading() -> None:
    survey = surveyed(_mixed())
    rows = sorted(row for each in survey.readings for row in each.rows)
    count = len(_misfits(survey))
    assert rows == list(range(count))
    with_level = surveyed(measured_of(PLACES, taped(PLACES, every_pair(PLACES), None)))
    assert sorted(row for each in with_level.readings for row in each.rows) == list(range(15))
    assert sum(kind.count for kind in with_level.network.kinds) == 16


def test_rows_of_picks_are_those_of_their_place() -> None:
    """One place on the second picture is moved: its two rows and no others show it."""
    given = _mixed()
    scan = given.pictures[1]
    moved = {**scan.places, "pivot": (scan.places["pivot"][0] + 6.0, scan.places["pivot"][1] - 9.0)}
    survey = surveyed(
        measured_of(
            PLACES,
            given.distances,
            sizes=given.sizes,
            directions=given.directions,
            offsets=given.offsets,
            pictures=(given.pictures[0], Picture("scan", "rigid", 3.0, moved, {}, 2.0)),
        )
    )
    true = surveyed(given)
    start = true.network.unknowns_at(np.array(list(PLACES.values())))
    misfit = survey.network.rows(start)[0] - true.network.rows(start)[0]
    (reading,) = (each for each in survey.readings if each.source == Pick("pivot", "scan"))
    np.testing.assert_allclose(misfit[list(reading.rows)], [-2.0, 3.0], atol=1e-9)
    assert np.count_nonzero(np.abs(misfit) > 1e-6) == 2
    assert (reading.unit, reading.deviation) == ("px", 3.0)


def test_words() -> None:
    assert words_of(Pick("pump", "front")) == "pump on front"
    assert words_of(Pick("pump", "front", 2)) == "rim point 2 of pump on front"
    assert words_of(Size("pump", 1.0, 1.0)) == "diameter of pump"
    assert words_of(Distance("a", "b", 1.0, 1.0)) == "a - b"


def test_the_level_line() -> None:
    """Taken only where nothing says what is level: from the origin to the first point measured from it."""
    pairs = [("alternator", "pump"), ("guide", "crank"), ("crank", "pump")]
    open_frame = measured_of(PLACES, taped(PLACES, pairs, None))
    assert open_frame.frame_is_open and level_taken(open_frame) == ("crank", "guide")
    kind = surveyed(open_frame).network.kinds[2]
    assert kind.count == 1 and kind.deviation_rad[0] == EXACT_RAD  # type: ignore[union-attr]
    shut = measured_of(PLACES, taped(PLACES, pairs, None), directions=(Direction("crank", "pump", 1.0, 0.1),))
    assert not shut.frame_is_open and surveyed(shut).network.kinds[2].count == 0
    given = measured_of(PLACES, (), level=("pump", "alternator"))
    level = surveyed(given).network.kinds[2]
    assert (level.first[0], level.second[0], level.value_rad[0]) == (2, 1, 0.0)  # type: ignore[union-attr]


def test_the_level_line_without_a_tape() -> None:
    seen = measured_of(PLACES, (), pictures=(shot(PLACES, ["pump", "pivot"], SIGHT, None),))
    assert level_taken(seen) == ("crank", "pump")
    assert level_taken(measured_of({"a": (0.0, 0.0)}, ())) is None
    assert surveyed(measured_of({"a": (0.0, 0.0)}, ())).network.kinds[2].count == 0


def test_radii_start_from_what_was_read() -> None:
    """The diameter by calipers first, then the rim on a scan of known scale, else a guess."""
    scan = shot(PLACES, [], SIGHT, None, "rigid", 1.0, 2.0, {"pump": (65.0, 5), "crank": (95.0, 5)}, "scan")
    photo = shot(PLACES, [], SIGHT, None, rims={"guide": (38.0, 5)})
    survey = surveyed(measured_of(PLACES, (), sizes=(Size("crank", 191.0, 0.2),), pictures=(scan, photo)))
    found = dict(zip(survey.radii, survey.network.start_radii_mm.tolist(), strict=True))
    assert found["crank"] == 95.5
    assert found["pump"] == pytest.approx(65.0, abs=1e-6)
    assert found["guide"] == 50.0

"""How readings and lengths are said."""

from __future__ import annotations

import math

import numpy as np
import pytest

from beltplan.measure.readings import Diameter, Direction, Distance, Image, Offset, Pick
from beltplan.measure.study import Centre, measuring_of
from beltplan.measure.values import as_read, listed, plain, quantity, value_words
from beltplan.report.screen import tape_words
from tests.for_each import for_each
from tests.measure.measurings import level_to, made, measured


@for_each(
    (18.25 * 25.4, True, "18 1/4 in"),
    (25.4 / 64.0, True, "1/64 in"),
    (0.0, True, "0 in"),
    (2.0 * 25.4, True, "2 in"),
    (18.26 * 25.4, True, "18.26 in"),
    (371.5, False, "371.5 mm"),
    (370.0, False, "370 mm"),
)
def test_a_length_is_said_as_a_tape_shows_it(length_mm: float, in_inches: bool, words: str) -> None:
    """An inch is 25.4 mm exactly: the yard and pound agreement of 1959 (from memory)."""
    assert tape_words(length_mm, in_inches) == words


def test_what_a_tape_reads_stays_in_its_unit() -> None:
    """An inch is 25.4 mm; 345 mm stand on a tape in mm."""
    said = f"{as_read(tape_words(345.0, False))} read, 25.4 mm too much"
    assert plain(said, "in") == "345 mm read, 1.00 in too much" and plain(said, "mm") == "345 mm read, 25.4 mm too much"


def test_what_rounds_to_nought_has_no_sign() -> None:
    told = [quantity(value, "mm", "mm") for value in (-0.04, 0.04, -0.06, 0.06)]
    assert told == ["0.0 mm", "0.0 mm", "-0.1 mm", "+0.1 mm"]
    assert quantity(-0.04, "deg", "in", False) == "0.0 deg" and quantity(0.12, "mm", "in") == "0.00 in"


def test_lists_name_the_first_and_count_the_rest() -> None:
    assert listed([]) == "" and listed(["a"]) == "a" and listed(["a", "b", "c"]) == "a, b and c"
    assert listed(["a", "b"], last="or") == "a or b"
    assert listed(list("abcdef"), 2) == "a, b and 4 more"


def test_readings_stand_as_they_were_written_with_a_unit() -> None:
    distance = Distance("a", "b", 381.0, 1.0, written="15")
    assert value_words(distance, True) == "15 in" and value_words(distance, False) == "15 mm"
    assert value_words(Distance("a", "b", 381.5, 1.0, written="381.5 mm"), True) == "381.5 mm"
    assert value_words(Distance("a", "b", 381.0, 1.0, written='15"'), True) == '15"'
    assert value_words(Direction("a", "b", math.pi / 2.0, 0.01), False) == "90 deg"
    assert value_words(Offset("a", "b", "x", -12.5, 1.0), False) == "-12.5 mm"
    assert value_words(Diameter("a", 60.0, 0.2, written="60"), False) == "60 mm"
    assert value_words(Pick("a", Image("photo", "similar", 1.0, {}), (1.0, 2.0)), False) == ""


def test_the_ellipse_has_the_axes_of_the_covariance() -> None:
    """Half axes are the roots of the eigenvalues: recomputed from the angle by turning a known diagonal matrix."""
    turn = np.radians(37.0)
    axes = np.array(((np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))))
    covariance = axes @ np.diag((9.0, 0.25)) @ axes.T
    found = Centre("a", (0.0, 0.0), covariance)
    for half, length, way in zip(found.half_axes_mm, (0.5, 3.0), axes.T[::-1], strict=True):
        assert abs(half @ way) == pytest.approx(float(np.hypot(*half))) == pytest.approx(length)
    assert found.widest_mm == pytest.approx(3.0) and Centre("a", (0.0, 0.0), None).widest_mm == 0.0


def test_the_shape_does_not_mind_how_well_the_level_was_read() -> None:
    """A law: a better level sharpens places, and leaves the shape; in a frame laid level by taking the shape is that of
    the places turned freely as well."""
    sharp = level_to("alternator")
    rough = Direction(sharp.first, sharp.second, sharp.value_rad, 3.0 * sharp.sd_rad, written=sharp.written, line=20)
    one, other = measuring_of(measured(directions=(sharp,))), measuring_of(measured(directions=(rough,)))
    wide = [max(centre.widest_mm for centre in found.centres) for found in (one, other)]
    assert wide[1] > 2.5 * wide[0]
    assert one.shape_mm == pytest.approx(other.shape_mm, rel=1e-3)
    assert one.shape_mm < 0.5 * wide[0]


def test_the_shape_of_offsets_is_near_their_own_accuracy() -> None:
    """Offsets of 1 mm in x and y: a circle of 1 mm each; a free turn can only take away."""
    found = made("offsets")
    assert 0.7 < found.shape_mm <= 1.0 + 1e-9

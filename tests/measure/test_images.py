"""Images: Jacobians against scipy's differences, maps against shapely.affinity and theorems of projective geometry."""

import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from scipy.optimize import approx_fprime
from shapely import affinity

from beltplan.geometry.vectors import Floats, cross, from_angle
from beltplan.measure.images import PARAMETERS, PLANE_UNIT_MM, POINTS_NEEDED, Model, fitted, mapped, placed
from beltplan.measure.network import Network
from beltplan.measure.readings import Image, Measured
from beltplan.measure.study import Measuring, measuring_of
from beltplan.measure.values import plain
from beltplan.measure.words import answers
from tests.cli.running import Runner
from tests.for_each import for_each
from tests.measure.drives import angle, every_pair, taped
from tests.measure.networks import image, network
from tests.measure.samples import FREE, measured_of, measuring_faults

MODELS: tuple[Model, ...] = ("rigid", "similar", "slanted")
SEED = 31
SCALE = 2.3


def _numbers(rng: np.random.Generator, model: Model) -> Floats:
    if model == "rigid":
        return np.array((rng.uniform(-3.0, 3.0), *rng.uniform(-900.0, 900.0, 2)))
    if model == "similar":
        return np.array((*rng.uniform(-3.0, 3.0, 2), *rng.uniform(-900.0, 900.0, 2)))
    near = np.array((600.0, 60.0, 900.0, -50.0, 550.0, 1500.0, 0.1, -0.1))
    return np.asarray(near + rng.normal(size=8) * np.array((50.0, 50.0, 99.0, 50.0, 50.0, 99.0, 0.05, 0.05)))


def _points(rng: np.random.Generator, count: int) -> Floats:
    return rng.uniform(-300.0, 300.0, (count, 2))


@pytest.mark.parametrize("model", MODELS)
def test_jacobians_as_differences(rng: np.random.Generator, model: Model) -> None:
    for _ in range(10):
        numbers, points = _numbers(rng, model), _points(rng, 3)
        _, by_point, by_numbers = mapped(model, SCALE, numbers, points)
        for i, j in np.ndindex(3, 2):
            steps = approx_fprime(points[i], lambda p, j=j: mapped(model, SCALE, numbers, p[None])[0][0, j], 1e-5)  # noqa: B023
            np.testing.assert_allclose(by_point[i, j], steps, rtol=1e-4, atol=1e-4)
            steps = approx_fprime(numbers, lambda n, i=i, j=j: mapped(model, SCALE, n, points)[0][i, j], 1e-7)  # noqa: B023
            np.testing.assert_allclose(by_numbers[i, j], steps, rtol=1e-3, atol=1e-3)


@pytest.mark.parametrize("model", MODELS)
def test_placed_is_the_inverse_of_mapped(rng: np.random.Generator, model: Model) -> None:
    for _ in range(20):
        numbers, points = _numbers(rng, model), _points(rng, 8)
        np.testing.assert_allclose(
            placed(model, SCALE, numbers, mapped(model, SCALE, numbers, points)[0]), points, atol=1e-6
        )


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("more", [0, 4])
def test_fitted_finds_exact_maps(rng: np.random.Generator, model: Model, more: int) -> None:
    for _ in range(20):
        numbers = _numbers(rng, model)
        points = np.array(((-250.0, -200.0), (260.0, -180.0), (240.0, 220.0), (-230.0, 250.0)))
        points = np.concatenate((points, _points(rng, 4)))[: POINTS_NEEDED[model] + more]
        found = fitted(model, SCALE, points, mapped(model, SCALE, numbers, points)[0])
        assert found.shape == (PARAMETERS[model],)
        away = _points(rng, 6)
        np.testing.assert_allclose(
            mapped(model, SCALE, found, away)[0], mapped(model, SCALE, numbers, away)[0], atol=1e-5
        )


def test_a_similar_map_as_shapely_makes_it(rng: np.random.Generator) -> None:
    for _ in range(20):
        turn, scale, shift, points = (
            rng.uniform(-3.0, 3.0),
            rng.uniform(0.5, 4.0),
            rng.uniform(-99.0, 99.0, 2),
            _points(rng, 5),
        )
        shape = affinity.scale(shapely.MultiPoint(points), scale, scale, origin=(0, 0))
        shape = affinity.translate(affinity.rotate(shape, turn, origin=(0, 0), use_radians=True), *shift)
        expected = shapely.get_coordinates(shape)
        spread = np.array((scale * np.cos(turn), scale * np.sin(turn), *shift))
        np.testing.assert_allclose(mapped("similar", 1.0, spread, points)[0], expected, atol=1e-9)
        np.testing.assert_allclose(mapped("rigid", scale, np.array((turn, *shift)), points)[0], expected, atol=1e-9)


def test_least_squares_of_a_similar_map_as_numpy_finds_it(rng: np.random.Generator) -> None:
    """With noise: the four numbers are those of the linear least-squares problem, solved by numpy.linalg.lstsq."""
    points, at = _points(rng, 7), _points(rng, 7)
    x, y, zero, one = points[:, 0], points[:, 1], np.zeros(7), np.ones(7)
    rows = np.concatenate((np.stack((x, -y, one, zero), -1), np.stack((y, x, zero, one), -1)))
    expected = np.linalg.lstsq(rows, np.concatenate((at[:, 0], at[:, 1])), rcond=None)[0]
    np.testing.assert_allclose(fitted("similar", 1.0, points, at), expected, atol=1e-9)


def _cross_ratio(line: Floats) -> float:
    a, b, c, d = (float(np.hypot(*(each - line[0]))) for each in line)
    return ((c - a) * (d - b)) / ((c - b) * (d - a))


def test_a_slanted_map_keeps_the_cross_ratio(rng: np.random.Generator) -> None:
    """Theorem of projective geometry: four points of a line keep the ratio of the ratios of their distances."""
    for _ in range(20):
        through, along = rng.uniform(-100.0, 100.0, 2), from_angle(np.asarray(rng.uniform(0.0, 6.0)))
        line = through + np.array((0.0, 31.0, 90.0, 140.0))[:, None] * along
        seen = mapped("slanted", 1.0, _numbers(rng, "slanted"), line)[0]
        assert _cross_ratio(seen) == pytest.approx(_cross_ratio(line), rel=1e-9)
        assert np.max(np.abs(cross(seen[1:] - seen[0], seen[3] - seen[0]))) < 1e-6 * np.hypot(*(seen[3] - seen[0])) ** 2


def test_a_slanted_map_holds_the_similar_ones(rng: np.random.Generator) -> None:
    a, b, u, v = 1.3, -0.4, 50.0, -20.0
    numbers = np.array((a * PLANE_UNIT_MM, -b * PLANE_UNIT_MM, u, b * PLANE_UNIT_MM, a * PLANE_UNIT_MM, v, 0.0, 0.0))
    points = _points(rng, 5)
    similar = mapped("similar", 1.0, np.array((a, b, u, v)), points)
    slanted = mapped("slanted", 1.0, numbers, points)
    np.testing.assert_allclose(slanted[0], similar[0], atol=1e-9)
    np.testing.assert_allclose(slanted[1], similar[1], atol=1e-12)


@pytest.mark.parametrize("model", ("rigid", "similar"))
def test_places_on_one_spot_tell_nothing_but_break_nothing(model: Model) -> None:
    at = np.array(((100.0, 100.0), (100.0, 100.0)))
    numbers = fitted(model, SCALE, np.array(((0.0, 0.0), (300.0, 0.0))), at)
    assert np.isfinite(placed(model, SCALE, numbers, np.array(((150.0, 90.0),)))).all()


def _network(rng: np.random.Generator, model: Model) -> Network:
    """Three places, and six rim points round two pulleys, one of which was picked itself. 5 points, 2 radii."""
    rims = {
        2: np.array([(100.0, 0.0), (0.0, 100.0), (-100.0, 0.0)]),
        3: np.array([(520.0, 500.0), (500.0, 520.0), (480.0, 500.0)]),
    }
    at = dict(zip((0, 2, 4), rng.uniform(0.0, 900.0, (3, 2)), strict=True))
    return network(5, images=(image(model, at, rims, SCALE, 1.5),), radii_mm={2: 50.0, 3: 50.0})


@pytest.mark.parametrize("model", MODELS)
def test_jacobians_of_picks_as_differences(rng: np.random.Generator, model: Model) -> None:
    given = _network(rng, model)
    for _ in range(2):
        at = np.concatenate(
            (_points(rng, 5).reshape(-1), rng.uniform(20.0, 90.0, 2), _numbers(rng, model), rng.uniform(-3.0, 3.0, 6))
        )
        residuals, jacobian = given.equations(at)
        assert residuals.shape == (18,)
        for i in range(18):
            steps = approx_fprime(at, lambda x, i=i: given.equations(x)[0][i], 1e-7)
            np.testing.assert_allclose(jacobian[i], steps, rtol=2e-3, atol=2e-3)


def test_residuals_are_nought_where_the_image_was_made(rng: np.random.Generator) -> None:
    """Rim points at known angles: a rim point lies at its centre + radius x (cos, sin), then on the image."""
    numbers, points, radius, angles = _numbers(rng, "similar"), _points(rng, 2), 40.0, np.array((0.3, 1.9, 4.0))
    rim = points[1] + radius * np.column_stack((np.cos(angles), np.sin(angles)))
    at, rim_at = (mapped("similar", 1.0, numbers, each)[0] for each in (points, rim))
    given = network(2, images=(image("similar", at, {1: rim_at}),), radii_mm={1: 50.0})
    residuals, _ = given.equations(np.concatenate((points.reshape(-1), [radius], numbers, angles)))
    np.testing.assert_allclose(residuals, 0.0, atol=1e-9)


def test_the_middle_of_a_rim_counts_as_a_place_for_a_start(rng: np.random.Generator) -> None:
    (placed_image,) = _network(rng, "similar").images
    assert placed_image.points.tolist() == [0, 2, 4, 3]
    np.testing.assert_allclose(placed_image.at[3], (500.0, 500.0), atol=1e-9)


def test_a_photo_from_behind_is_none() -> None:
    """Mirrored in the plane, or beyond the horizon, the same places on a photo cannot have been seen from the front."""
    numbers = np.array((630.0, 90.0, 900.0, -60.0, 570.0, 1500.0, 0.09, -0.12))
    points = np.array(((-200.0, -100.0), (250.0, -80.0), (200.0, 200.0), (-150.0, 180.0)))
    at = mapped("slanted", 1.0, numbers, points)[0]
    (photo,) = network(4, images=(image("slanted", at),)).images
    mirrored = points * (1.0, -1.0)
    behind = fitted("slanted", 1.0, mirrored, at)
    beyond = points.copy()
    beyond[0] = PLANE_UNIT_MM * np.array((-20.0, 0.0))
    assert photo.faces(np.concatenate((points.reshape(-1), numbers)))
    assert not photo.faces(np.concatenate((mirrored.reshape(-1), behind)))
    assert not photo.faces(np.concatenate((beyond.reshape(-1), numbers)))


# A picture that is turned the wrong way round, or of another scale, against places of our own by complex numbers.
# Source: geometry. Points are z = x + iy; a picture of 2 px a mm, turned by 0.3 rad, shows w = 2 exp(0.3 i) z + shift,
# and one whose second coordinate runs the other way conj(w). What is taped from a and b alone may lie mirrored in their
# line as well: at a + (b - a) conj((z - a) / (b - a)).


TRUE = {"crank": 0j, "fan": 260.0 + 40.0j, "pump": -20.0 + 290.0j, "pivot": -150.0 + 130.0j, "idler": 190.0 + 230.0j}
PLACES = {name: (z.real, z.imag) for name, z in TRUE.items()}
MIRRORED = TRUE["pump"] * np.conj(TRUE["pivot"] / TRUE["pump"])
TELLS = ("fan", "pivot")
LOOSE = [pair for pair in every_pair(PLACES) if "pivot" not in pair or pair in (("crank", "pivot"), ("pump", "pivot"))]
TURNED = 2.0 * np.exp(0.3j)


def _picture(names: Iterable[str], wrong: bool = False, name: str = "scan", **more: object) -> Image:
    noise = np.random.default_rng(4)
    picked = {each: TURNED * TRUE[each] + 700.0 + 400.0j + complex(*noise.normal(size=2)) for each in names}
    seen = {each: np.conj(w) if wrong else w for each, w in picked.items()}
    return Image(name, "rigid", 1.0, {each: (w.real, w.imag) for each, w in seen.items()}, {}, 2.0, 9, **more)  # type: ignore[arg-type]


def _given(pairs: Iterable[tuple[str, str]], *images: Image, **more: object) -> Measured:
    rng = np.random.default_rng(2)
    levels = tuple(angle(PLACES, ("crank", name), rng) for name in ("fan", "pump"))
    tapes = taped(PLACES, pairs, rng)
    return Measured("own", tuple(PLACES), "crank", tapes, levels, images=images, **more)  # type: ignore[arg-type]


def _told(found: Measuring, lead: str) -> str:
    return " ".join(words for each, words in answers(found) if each == lead)


def _off(found: Measuring, name: str, at: complex) -> float:
    x, y = found.centre(name).at_mm
    return abs(complex(x, y) - at)


@pytest.mark.parametrize("wrong", [False, True])
def test_where_only_a_picture_tells_left_from_right_that_is_open(wrong: bool) -> None:
    """Either way round all fits: the other place is told, whichever of the two is the true one."""
    found = measuring_of(_given(LOOSE, _picture(("crank", "pump", "pivot"), wrong)))
    here, there = (MIRRORED, TRUE["pivot"]) if wrong else (TRUE["pivot"], MIRRORED)
    (mirror,) = found.mirrors
    assert mirror.points == ("pivot",) and abs(complex(*mirror.places[0]) - there) < 4.0
    assert _off(found, "pivot", here) < 4.0
    assert found.settled and found.errors.fits and not found.sound and not found.enough
    assert "`y_runs: down` or `seen_from: back` at scan (line 9) would fit as well" in _told(found, "MIRROR")
    assert "can be trusted" not in _told(found, "PICTURE")
    assert "sides: {pivot: left}" in _told(found, "MIRROR").replace("right", "left")


def test_what_settles_it() -> None:
    """A tape, a word of `sides`, a second point: each by itself."""
    right = _picture(("crank", "pump", "pivot"))
    for found in (
        measuring_of(_given([*LOOSE, TELLS], right)),
        measuring_of(_given(LOOSE, right, sides={"pivot": ("left",)})),
        measuring_of(_given(LOOSE, _picture(("crank", "pump", "fan", "pivot")))),
    ):
        assert found.sound and not found.mirrors and _off(found, "pivot", TRUE["pivot"]) < 4.0
        assert found.errors.cause is None and _told(found, "MIRROR") == ""


def test_a_picture_the_wrong_way_round_is_told_before_its_good_picks() -> None:
    """With the word that fits instead of the one that stands there; the places are the true ones."""
    names, wrong = ("crank", "pump", "pivot"), _picture(("crank", "pump", "pivot"), True)
    for given, words in (
        (_given([*LOOSE, TELLS], wrong), "`y_runs: down` or `seen_from: back` at scan (line 9)"),
        (_given(LOOSE, wrong, sides={"pivot": ("left",)}), "`y_runs: down` or `seen_from: back` at scan (line 9)"),
        (_given(LOOSE, _picture((*names, "fan", "idler"), True, y_runs="down", seen_from="back")), "`y_runs: up` or"),
    ):
        found = measuring_of(given)
        assert found.errors.cause is not None and not found.sound and words in _told(found, "CAUSE")
        assert found.errors.gross_errors == found.errors.suspects == () and _told(found, "NEXT").startswith("look into")
        assert max(_off(found, name, z) for name, z in TRUE.items()) < 5.0


def test_two_pictures_with_the_same_slip() -> None:
    """They agree with one another, and only both together can be the other way round."""
    pair = [_picture(("crank", "pump", "pivot", "idler"), True, name) for name in ("one", "two")]
    tapes = [each for each in LOOSE if "idler" not in each or "crank" in each]
    (words,) = {mirror.picture for mirror in measuring_of(_given(tapes, *pair)).mirrors if mirror.picture}
    assert words.count("`y_runs: down`") == 2 and "at one" in words and "at two" in words


def test_known_places_turn_only_with_the_side_from_which_all_is_seen() -> None:
    """Seen from behind, the corners of a card are mirrored as well; a wrong `y_runs` speaks against them."""
    marks = {"k1": 50.0 + 20.0j, "k2": 150.0 + 10.0j, "k3": 60.0 + 120.0j}
    picks = {name: TURNED * z for name, z in {**TRUE, **marks}.items() if name in ("crank", "pump", "pivot", *marks)}
    card = Image("scan, known", "rigid", 0.3, {n: (z.real, z.imag) for n, z in marks.items()}, given=True)

    def given(known: Image, wrong: bool) -> Measured:
        seen = {name: np.conj(w) if wrong else w for name, w in picks.items()}
        scan = Image("scan", "rigid", 1.0, {name: (w.real, w.imag) for name, w in seen.items()}, {}, 2.0)
        bare = _given(LOOSE, scan, known)
        return replace(bare, points=(*bare.points, *marks), marks=tuple(marks))

    assert "`y_runs: down` at scan" in _told(measuring_of(given(card, True)), "CAUSE")
    behind = measuring_of(given(card.mirrored("seen_from"), True))
    assert {mirror.picture.split(" at ")[0] for mirror in behind.mirrors} == {"`seen_from: back`"}


@pytest.mark.parametrize("factor", [10.0, 0.1, 1.5, 25.4])
def test_a_wrong_scale_is_told_with_the_one_that_fits(factor: float) -> None:
    """By hand: 2 px a mm are 0.5 mm a px."""
    scan = _picture(("crank", "pump", "pivot", "fan"))
    given = _given(every_pair(PLACES), replace(scan, px_per_mm=2.0 / factor, key_lines={"mm_per_px": 77}))
    found = measuring_of(given)
    cause = _told(found, "CAUSE")
    assert "(line 77)" in cause, "of the key, not of the picture"
    assert cause.startswith("everything fits with `mm_per_px: 0.") and f"where {0.5 * factor:.4g} is written" in cause
    assert float(cause.split("mm_per_px: ")[1].split("`")[0]) == pytest.approx(0.5, rel=0.01)
    assert not found.sound and max(_off(found, name, z) for name, z in TRUE.items()) < 5.0


BAR = {"left end": -150.0 - 160.0j, "right end": 160.0 - 160.0j}
"""A scale bar of 310 mm below the pulleys."""


def _barred(written_mm: float) -> Measured:
    names = ("crank", "pump", "pivot", "fan", "idler")
    scan, ends = _picture(names), {name: TURNED * z + 700.0 + 400.0j for name, z in BAR.items()}
    own: dict[tuple[str, int | None], int] = {(name, None): line for line, name in enumerate(BAR, 20)}
    picked = {**scan.places, **{name: (w.real, w.imag) for name, w in ends.items()}}
    photo = replace(scan, model="similar", px_per_mm=1.0, places=picked, lines=own)
    places = {"left end": (0.0, 0.0), "right end": (written_mm, 0.0)}
    given = _given(every_pair(PLACES), photo, Image("scan, known", "rigid", 1.0, places, line=30, given=True))
    return replace(given, points=(*given.points, *BAR), marks=(*given.marks, *BAR))


@pytest.mark.parametrize(
    ("written_mm", "slip"),
    [
        (31.0, "it would fit if it was 310 mm, the decimal point misplaced"),
        (130.0, "it would fit if it was 310 mm, two digits swapped"),
        (210.0, "it would fit if it was 310 mm, 100 mm more"),
        (274.6, ""),
        (350.0, ""),
    ],
)
def test_a_scale_bar_mistyped_is_told_with_its_length_and_not_the_picture(written_mm: float, slip: str) -> None:
    """The tapes alone lay everything: without a word of the bar the picture fits."""
    found = measuring_of(_barred(written_mm))
    cause = plain(_told(found, "CAUSE"), "mm")
    length = float(re.match(r"everything fits with ([\d.]+) mm from left end to right end", cause)[1])  # type: ignore[index]
    assert length == pytest.approx(310.0, abs=3.0)
    assert f"where scan, known (line 30) says {written_mm:g} mm" in cause and "both picks (lines 20 and 21)" in cause
    assert slip in cause and ("it would fit" in cause or "misread" in cause) is bool(slip)
    assert found.errors.gross_errors == found.errors.suspects == () and found.errors.fits and not found.sound
    assert "in doubt" not in _told(found, "PICTURE") and "trusted" not in _told(found, "PICTURE")
    assert max(_off(found, name, z) for name, z in TRUE.items()) < 5.0


def test_a_pick_of_a_bars_end_mistyped_is_told_beside_its_length() -> None:
    """Two digits of the second number swapped: another length would do as well, so both are told."""
    right = _barred(310.0)
    photo = right.images[0]
    u, v = (round(px) for px in photo.places["right end"])
    typed = int((said := str(abs(v)))[1] + said[0] + said[2:]) * (-1 if v < 0 else 1)
    wrong = replace(photo, places={**photo.places, "right end": (u, typed)})
    found = measuring_of(replace(right, images=(wrong, right.images[1])))
    assert f"if right end on scan was [{u}, {v}], two digits swapped" in plain(_told(found, "CAUSE"), "mm")
    assert "on scan was" not in _told(measuring_of(_barred(31.0)), "CAUSE")
    assert "known" not in _told(measuring_of(right), "PICTURE"), "its length is checked by the tapes"


def test_a_bar_is_not_blamed_where_it_is_right() -> None:
    """Nor where a tape beside it is misread by an inch."""
    given = _barred(310.0)
    assert measuring_of(given).sound
    longer = tuple(replace(each, value_mm=each.value_mm + 25.4 * (each.points == TELLS)) for each in given.distances)
    assert measuring_of(replace(given, distances=longer)).errors.cause is None


def test_a_pick_and_a_tape_that_are_misread_are_named_as_ever() -> None:
    scan = _picture(("crank", "pump", "pivot", "fan", "idler"))
    u, v = scan.places["fan"]
    off = replace(scan, places={**scan.places, "fan": (u + 60.0, v)})
    (pick,) = measuring_of(_given(every_pair(PLACES), off)).errors.gross_errors
    given = _given(every_pair(PLACES), scan)
    longer = tuple(replace(each, value_mm=each.value_mm + 25.4 * (each.points == TELLS)) for each in given.distances)
    found = measuring_of(replace(given, distances=longer))
    assert pick.reading.words == "fan on scan" and found.errors.cause is None
    assert [each.reading.words for each in found.errors.gross_errors] == ["fan - pivot"]


def test_a_picture_is_not_accused_of_what_a_string_did() -> None:
    """Many tapes contradict each other without the picture as well; one at a slant is alone to blame."""
    scan = _picture(("crank", "pump", "pivot", "fan", "idler"))
    given = _given(every_pair(PLACES), scan)
    off = {"crank - fan": 60.0, "pump - fan": -50.0, "fan - idler": 70.0, "fan - pivot": 45.0, "crank - idler": -40.0}
    off |= {"pump - pivot": 33.0, "crank - pivot": 55.0}
    tapes = tuple(replace(each, value_mm=each.value_mm + off.get(each.words, 0.0)) for each in given.distances)
    found = measuring_of(replace(given, distances=tapes))
    slanted = {name: (1.2 * u, v) for name, (u, v) in scan.places.items()}
    bent = measuring_of(_given(every_pair(PLACES), replace(scan, places=slanted)))
    assert not found.errors.fits and "in doubt, for the readings contradict each other" in _told(found, "PICTURE")
    assert "a suspect as well: all else agrees without it" in _told(bent, "PICTURE")


def test_what_is_written_says_what_rests_on_the_picture(run: Runner, tmp_path: Path) -> None:
    tapes = "".join(f"  {first} - {second}: {abs(TRUE[second] - TRUE[first]):.1f}\n" for first, second in LOOSE)
    picks = ", ".join(
        f"{name}: [{w[0]:.1f}, {-w[1]:.1f}]" for name, w in _picture(("crank", "pump", "pivot")).places.items()
    )
    pulleys = "".join(f"  {name}: {{diameter: 60, role: idler}}\n" for name in ("pump", "pivot", "idler"))
    path, layout = tmp_path / "own.yaml", tmp_path / "layout.yaml"
    path.write_text(
        "title: own\nbelt: 6PK\nengine: {idle_rpm: 700, max_rpm: 3000, cylinders: 4}\npulleys:\n"
        "  crank: {role: crankshaft, diameter: 150}\n  fan: {role: idler, diameter: 60}\n"
        f"{pulleys}route: [crank, pivot, pump, idler, fan]\ndistances:\n{tapes}level: [crank, fan]\n"
        f"sides: {{pump: above}}\npoints:\n  scan:\n    places: {{{picks}}}\n    mm_per_px: 0.5\n"
    )
    ran = run("measure", str(path), "--write", str(layout))
    assert ran.code == 1 and "# MIRROR: `y_runs: " in layout.read_text(), ran


@for_each(
    *("scale: 0.4 mm/px", "scale_mm: 0.4", "scale: 2.5 px/mm", "pixel_size: 0.4", "mm_per_pixel: 0.4"),
    *("px_per_mm: 2.5", "pixels_per_mm: 2.5", "dpi: 63.5", "resolution: 63.5 dpi"),
)
def test_a_scale_in_other_words_is_told_with_what_to_write(tmp_path: Path, said: str) -> None:
    """An inch is 25.4 mm, so 63.5 dots in one are 2.5 in a mm."""
    text = f"{FREE}points:\n  photo:\n    places: {{a: [0, 0], b: [1000, 0]}}\n    {said}\n    y_runs: down\n"
    (fault,) = measuring_faults(tmp_path, text)
    assert (fault.line, fault.key) == (5, f"points.photo.{said.partition(':')[0]}")
    assert fault.got == f"an unknown key (write mm_per_px: 0.4{', if it is a scan' * ('dpi' in said)})"
    assert measured_of(tmp_path, text.replace(said, "mm_per_px: 0.4")).measured.images[0].px_per_mm == 2.5
    (fault,) = measuring_faults(tmp_path, text.replace(said, "dpi:"))
    assert "(write mm_per_px, 25.4 by the dots in an inch, if it is a scan)" in fault.got


@for_each("scale: 2.5", "scale: 0.4", "resolution: 300", "scale: 1:5")
def test_a_scale_that_may_be_either_way_round_is_told_without_a_number(tmp_path: Path, said: str) -> None:
    text = f"{FREE}points:\n  photo:\n    places: {{a: [0, 0], b: [1000, 0]}}\n    {said}\n"
    (fault,) = measuring_faults(tmp_path, text)
    assert fault.got == "an unknown key (write mm_per_px, mm for one pixel)"


def test_a_known_length_on_a_photo_is_told_how_it_is_written(tmp_path: Path) -> None:
    text = f"{FREE}points:\n  photo:\n    places: {{a: [0, 0], b: [1000, 0]}}\n    known: {{ruler: 200}}\n"
    (fault,) = measuring_faults(tmp_path, text)
    known = "{ruler 1: [0, 0], ruler 2: [200, 0]}"
    assert fault.key == "points.photo.known" and f"write {known}" in fault.allowed
    mended = text.replace("{ruler: 200}", known).replace("b: [", "ruler 1: [9, 9], ruler 2: [509, 9], b: [")
    assert measured_of(tmp_path, mended).measured.images[0].name == "photo"


def test_a_key_of_a_photo_that_nothing_explains_is_told_where_it_stands(tmp_path: Path) -> None:
    text = f"{FREE}points:\n  photo:\n    places: {{a: [0, 0], b: [1000, 0]}}\n    zoom: 0.4\n    y_runs: down\n"
    (fault,) = measuring_faults(tmp_path, text)
    assert (fault.line, fault.key, fault.got) == (5, "points.photo.zoom", "an unknown key")

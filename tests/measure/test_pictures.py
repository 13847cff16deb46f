"""Places and rims picked on pictures: how they are turned, and every way in which they make no sense."""

from pathlib import Path

import pytest

from beltplan.measure.study import measuring_of
from tests.for_each import for_each
from tests.measure.samples import TAPED, measured_of, measuring_faults

PHOTO = """\
distances: {a - b: 400}
points:
  front:
    places:
      a: [100, 900]
      b: [900, 880]
      c: [500, 200]
      k: [300, 300]
circles:
  c: {picture: front, rim: [[550, 200], [500, 150], [450, 200]]}
"""


def test_places_run_up_and_are_seen_from_the_front(tmp_path: Path) -> None:
    for keys, u, v in (
        ("", 1, -1),
        ("y_runs: down, seen_from: front", 1, -1),
        ("y_runs: up", 1, 1),
        ("seen_from: back", -1, -1),
        ("seen_from: back, y_runs: up", -1, 1),
    ):
        more = "".join(f"    {each}\n" for each in keys.split(", ") if each)
        (picture,) = measured_of(tmp_path, PHOTO.replace("  front:\n", f"  front:\n{more}")).measured.images
        assert picture.places == {
            "a": (u * 100, v * 900), "b": (u * 900, v * 880), "c": (u * 500, v * 200), "k": (u * 300, v * 300)
        }  # fmt: skip
        assert picture.rims == {"c": ((u * 550, v * 200), (u * 500, v * 150), (u * 450, v * 200))}
        assert (picture.name, picture.model, picture.sd_px, picture.line) == ("front", "similar", 1.5, 3)


@pytest.mark.parametrize(
    ("more", "model", "px_per_mm", "deviation"),
    [
        ("mm_per_px: 0.25", "rigid", 4.0, 1.5),
        ("slant: true", "slanted", 1.0, 1.5),
        ("slant: false\n    accuracy_px: 3", "similar", 1.0, 3.0),
    ],
)
def test_models(tmp_path: Path, more: str, model: str, px_per_mm: float, deviation: float) -> None:
    (picture,) = measured_of(tmp_path, PHOTO.replace("  front:\n", f"  front:\n    {more}\n")).measured.images
    assert (picture.model, picture.px_per_mm, picture.sd_px) == (model, px_per_mm, deviation)


@pytest.mark.parametrize(("place", "known"), [("left end", "left edn"), ("left edn", "left end")])
def test_a_name_that_known_and_places_spell_otherwise_is_one_fault(tmp_path: Path, place: str, known: str) -> None:
    """Two faults, each with the other's name to write, would change places when both are mended."""
    places = f"    places: {{crank: [100, 900], {place}: [300, 300], right end: [900, 300]}}\n"
    more = f"points:\n  front:\n{places}    known: {{{known}: [0, 0], right end: [300, 0]}}\n"
    (fault,) = measuring_faults(tmp_path, TAPED + more)
    assert (fault.line, fault.key) == ((TAPED + more).count("\n"), f"points.front.known.{known}")
    assert fault.got == f"a name that is not among `places` (did you mean {place}?)"


def test_known_places_are_a_sheet_of_their_own(tmp_path: Path) -> None:
    more = "    known: {k: [0, 0], c: [8 1/2, -11]}\n"
    text = "units: in\n" + PHOTO.replace("400}", "40}").replace("circles:", f"{more}circles:")
    measured = measured_of(tmp_path, text).measured
    photo, known = measured.images
    assert (known.name, known.model, known.px_per_mm, known.sd_px, known.line) == (
        "front, known", "rigid", 1.0, 1.0, 10
    )  # fmt: skip
    assert known.given and not photo.given
    assert set(known.places) == {"k", "c"} and known.places["k"] == (0.0, 0.0) and not known.rims
    assert known.places["c"] == pytest.approx((215.9, -279.4))
    assert set(photo.places) == {"a", "b", "c", "k"} and measured.marks == ("k", "c")
    turned = measured_of(
        tmp_path, text.replace("    places:", "    seen_from: back\n    accuracy_mm: 0.3\n    places:")
    )
    assert turned.measured.images[1].places["c"] == pytest.approx((-215.9, -279.4))
    assert turned.measured.images[1].sd_px == 0.3


def test_every_pick_is_told_with_its_own_line(tmp_path: Path) -> None:
    """Of places known of a picture and of rims as well, also where a rim goes on in another entry."""
    rims = "  c:\n  - rim: [[550, 200],\n      [500, 150], [450, 200]]\n  - rim: [[500, 250], [501, 251], [400, 200]]\n"
    text = PHOTO.split("  c: {picture")[0].replace("circles:", "    known:\n      k: [0, 0]\n      c: [9, 9]\ncircles:")
    photo, known = measured_of(tmp_path, text + rims).measured.images
    assert [pick.line for pick in photo.picks] == [5, 6, 7, 8, 14, 15, 15, 16, 16, 16]
    assert [pick.line for pick in known.picks] == [10, 11]


def test_a_picture_may_be_left_out_where_there_is_one(tmp_path: Path) -> None:
    (picture,) = measured_of(tmp_path, PHOTO.replace("picture: front, ", "")).measured.images
    assert len(picture.rims["c"]) == 3


def test_rims_on_two_pictures(tmp_path: Path) -> None:
    more = "  other: {places: {a: [1, 2], b: [3, 4]}}\ncircles:"
    rims = "c: [{picture: front, rim: [[1, 0], [0, 1], [0, 0]]}, {picture: other, rim: [[5, 0], [0, 5], [0, 0]]}]"
    text = PHOTO.replace("circles:", more).split("  c: {picture")[0] + f"  {rims}\n"
    first, second = measured_of(tmp_path, text).measured.images
    assert first.rims["c"][0] == (1.0, -0.0) and second.rims["c"][0] == (5.0, -0.0)


FAULTS = [
    ("[900, 880]", "[900, .nan]", 6, "points.front.places.b", "'.nan'"),
    ("[900, 880]", "[900, 1e999]", 6, "points.front.places.b", "1e999"),
    ("[900, 880]", "[900]", 6, "points.front.places.b", "a list of 1"),
    ("[900, 880]", "900", 6, "points.front.places.b", "'900'"),
    ("[900, 880]", "", 6, "points.front.places.b", "nothing"),
    ("[900, 880]", "[100, 900]", 6, "points.front.places.b", "the same place as 'a'"),
    ("    places:", "    slant: true\n    mm_per_px: 0.1\n    places:", 5, "points.front.mm_per_px",
     "a scale beside slant"),
    ("    places:", "    mm_per_px: 0\n    places:", 4, "points.front.mm_per_px", "0"),
    ("    places:", "    y_runs: sideways\n    places:", 4, "points.front.y_runs", "'sideways'"),
    ("    places:", "    seen_from: above\n    places:", 4, "points.front.seen_from", "'above'"),
    ("    places:", "    slant: yes\n    places:", 4, "points.front.slant", "'yes' (write true)"),
    ("    places:", "    accuracy_px: 0\n    places:", 4, "points.front.accuracy_px", "0"),
    ("    places:", "    accuracy_mm: 1\n    places:", 4, "points.front.accuracy_mm", "accuracy_mm without `known`"),
    ("    places:", "    colour: 1\n    places:", 4, "points.front.colour", "an unknown key"),
    ("    places:", "    known: {k: [0, 0]}\n    places:", 4, "points.front.known", "1 place"),
    ("    places:", "    known: {k: [0, 0], c: [0, 0]}\n    places:", 4, "points.front.known.c",
     "the same place as 'k'"),
    ("    places:", "    known: {k: [0, 0], m: [0, 3]}\n    places:", 4, "points.front.known.m",
     "a name that is not among"),
    ("    places:", "    known: {k: [0, 0], c: [3]}\n    places:", 4, "points.front.known.c", "a list"),
    ("    places:", "    known: {k: [0, 0], c: [3, x]}\n    places:", 4, "points.front.known.c", "'x'"),
    ("picture: front", "picture: frant", 10, "circles.c.picture", "an unknown picture 'frant' (did you mean front?)"),
    ("[[550, 200], [500, 150], [450, 200]]", "[[550, 200], [500, 150]]", 10, "circles.c.rim", "a list of 2"),
    ("[500, 150]", "[500, 200]", 10, "circles.c.rim", "places on one line"),
    ("[500, 150]", "[550, 200]", 10, "circles.c.rim", "places on one line"),
    ("[500, 150]", "[500, x]", 10, "circles.c.rim.2", "'x'"),
    ("[500, 150]", "5", 10, "circles.c.rim.2", "'5'"),
    ("  c: {picture", "  z: {picture", 10, "circles.z", "an unknown point 'z'"),
    ("  c: {picture: front, rim: [[550, 200], [500, 150], [450, 200]]}", "  c: 5", 10, "circles.c", "'5'"),
    ("  c: {picture: front, rim: [[550, 200], [500, 150], [450, 200]]}", "  c: {}", 10, "circles.c.rim", "nothing"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "key", "got"), FAULTS)
def test_faults(tmp_path: Path, old: str, new: str, line: int, key: str, got: str) -> None:
    faults = measuring_faults(tmp_path, PHOTO.replace(old, new))
    assert [(fault.line, fault.key) for fault in faults] == [(line, key)] and faults[0].got.startswith(got)


@for_each((390.0, "gap"), (610.0, "outside"))
def test_a_distance_over_a_traced_rim_is_told_as_what_it_was(tmp_path: Path, read_mm: float, key: str) -> None:
    """Sides of 300, 400 and 500 mm; rims of 60 mm round the pump, traced, and 50 mm round the fan (geometry)."""
    text = TAPED.replace("water_pump, rim_diameter: 120", "water_pump").replace(
        "pump - fan: 500", f"pump - fan: {read_mm}"
    )
    text += "points: {front: {places: {crank: [0, 0], pump: [0, -300], fan: [400, 0], tight.pivot: [-200, -150]}}}\n"
    text += "circles: {pump: {rim: [[60, -300], [0, -360], [-60, -300]]}}\n"
    (wrong,) = measuring_of(measured_of(tmp_path, text).measured).errors.gross_errors
    assert wrong.reading.points == ("pump", "fan")
    assert any(f"write `{key}: true`" in each.words for each in wrong.causes)


@for_each(("frant", "[550, 200]", "picture"), ("front", "[500, 150]", "rim"))
def test_a_rim_that_is_wrong_is_not_missing_as_well(tmp_path: Path, picture: str, last: str, key: str) -> None:
    """Neither by the pulley that gives no diameter of its own nor by the gap that wants one."""
    text = TAPED.replace("water_pump, rim_diameter: 120", "water_pump")
    text = text.replace("pump - fan: 500", "pump - fan: {value: 388, gap: true}")
    text += "points: {front: {places: {crank: [0, 300], pump: [0, 0], fan: [400, 300]}}}\n"
    text += f"circles: {{pump: {{picture: {picture}, rim: [[500, 150], [450, 200], {last}]}}}}\n"
    (fault,) = measuring_faults(tmp_path, text)
    assert fault.key == f"circles.pump.{key}"


def test_too_few_places(tmp_path: Path) -> None:
    text = PHOTO.split("circles:")[0].replace("      b: [900, 880]\n      c: [500, 200]\n      k: [300, 300]\n", "")
    (fault,) = measuring_faults(tmp_path, text)
    assert (fault.line, fault.key, fault.got) == (4, "points.front.places", "1 place")
    slanted = PHOTO.replace("    places:", "    slant: true\n    places:").replace("      k: [300, 300]\n", "")
    (fault,) = measuring_faults(tmp_path, slanted)
    assert (fault.got, fault.allowed) == ("3 places", "at least 4; at a slant 4, known from elsewhere")


@pytest.mark.parametrize(("points", "got"), [("{}", "no picture"), ("[a]", "a list"), ("{front: 5}", "'5'")])
def test_points_without_a_picture(tmp_path: Path, points: str, got: str) -> None:
    (fault,) = measuring_faults(tmp_path, f"distances: {{a - b: 4}}\npoints: {points}\n")
    assert fault.line == 2 and fault.got == got


def test_a_circle_without_pictures_or_with_several(tmp_path: Path) -> None:
    rim = "circles: {a: {rim: [[1, 0], [0, 1], [0, 0]]}}\n"
    (fault,) = measuring_faults(tmp_path, f"distances: {{a - b: 4}}\n{rim}")
    assert (fault.line, fault.key, fault.got) == (2, "circles.a.picture", "nothing") and "no `points`" in fault.allowed
    two = "points: {p: {places: {a: [1, 2], b: [3, 4]}}, q: {places: {a: [1, 2], b: [3, 4]}}}\n"
    (fault,) = measuring_faults(tmp_path, two + rim)
    assert fault.allowed == "the name of the picture: p, q"


@pytest.mark.parametrize(("height", "round_enough"), [(0.99, False), (1.01, True)])
def test_how_flat_a_rim_may_be(tmp_path: Path, height: float, round_enough: bool) -> None:
    """Three places in a row, the middle one off the line.

    Singular values of three points at -w, 0, w with the middle one h off: w sqrt(2) and h sqrt(2/3).
    """
    off = height * 1e-3 * 1000.0 * 3.0**0.5
    rim = f"[[0, 0], [1000, {off:.6f}], [2000, 0]]"
    text = PHOTO.replace("[[550, 200], [500, 150], [450, 200]]", rim)
    if round_enough:
        assert len(measured_of(tmp_path, text).measured.images[0].rims["c"]) == 3
    else:
        assert measuring_faults(tmp_path, text)[0].got == "places on one line"

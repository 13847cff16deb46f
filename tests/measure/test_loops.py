"""Wires and belts laid round pulleys, as readings: length by shapely, network by scipy, a misread one, faults.

All numbers are invented.
"""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import yaml
from scipy.optimize import approx_fprime
from shapely import Point, union_all

from beltplan.drive.belt import parse_designation
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.measure.layout_writer import with_clashes, write_measured
from beltplan.measure.network import surveyed
from beltplan.measure.picture import measure_scene
from beltplan.measure.readings import Diameter, Direction, LoopLength, Measured, Rounded
from beltplan.measure.study import Checked, Measuring, measuring_of
from beltplan.measure.words import answers
from beltplan.picture.scene import Stroke
from tests.for_each import for_each
from tests.measure.drives import PLACES, RADII, angle, every_pair, found_places, measured_of, taped
from tests.measure.networks import network
from tests.measure.reference import Reference, loop_mm
from tests.measure.samples import TAPED, measuring_faults
from tests.measure.samples import measured_of as file_of
from tests.picture.in_mm import in_mm
from tests.starters import MEASUREMENT_STARTER

AT = {name: complex(*at) for name, at in PLACES.items()}
HULL = ("crank", "alternator", "pump")
SIZES = RADII | {"guide": 38.0}
AROUND = tuple(map(Rounded, HULL, HULL))
CROSSED = (
    *AROUND[:2],
    Rounded("guide", "guide", True, 4.0),
    AROUND[2],
    Rounded("tight", "pivot", True, 0.0, (70.0, -50.0), 36.0),
)
"""With a pulley on the back between them, and one on an arm whose own rim is known."""


def loop(around: tuple[Rounded, ...] = AROUND, off_mm: float = 0.0, sd_mm: float = 1.0) -> LoopLength:
    true = loop_mm(LoopLength("wire", around, 0.0, 1.0), AT, SIZES)
    return LoopLength("wire", around, true + off_mm, sd_mm, written=f"{true + off_mm:.1f}", line=9)


def loops_in(found: Measuring) -> list[Checked]:
    return [each for each in found.checked if each.reading.kind == "loop"]


def found_in(folder: Path, text: str) -> Measuring:
    """What `measure` finds in a file, with what it asks of the layout over the places."""
    source = file_of(folder, text)
    return with_clashes(source, measuring_of(source.measured))


def drive(rng: np.random.Generator | None, *loops: LoopLength, pairs: int = 15) -> Measured:
    sizes = tuple(
        Diameter(name, 2.0 * SIZES[name] + (0.0 if rng is None else 0.2 * float(rng.normal())), 0.2) for name in SIZES
    )
    tapes = taped(PLACES, every_pair(PLACES)[:pairs], rng)
    line = angle(PLACES, ("crank", "alternator"), rng)
    return measured_of(PLACES, tapes, directions=(line,), diameters=sizes, loops=loops)


@pytest.mark.parametrize("mirrored", [1.0, -1.0])
def test_a_wire_outside_all_is_the_hull_of_its_pulleys(mirrored: float) -> None:
    """Shapely's hull of discs of 4 x 4096 corners, whichever way round the pulleys lie."""
    discs = [Point(mirrored * AT[name].real, AT[name].imag).buffer(RADII[name] + 0.5, 4096) for name in HULL]
    read = LoopLength("wire", tuple(each._replace(over_mm=0.5) for each in AROUND), 0.0, 1.0)
    at = [axis for name in HULL for axis in (mirrored * AT[name].real, AT[name].imag)]
    residual, _ = read.equations(np.array([[*at, *(RADII[name] for name in HULL)]]), np.zeros((1, 1)))
    assert residual.item() == pytest.approx(union_all(discs).convex_hull.length, rel=1e-6)


@pytest.mark.parametrize("around", [AROUND, CROSSED], ids=["hull", "crossed"])
def test_jacobian_as_differences(around: tuple[Rounded, ...]) -> None:
    names = [*PLACES]
    number = {name: str(i) for i, name in enumerate(names)}
    own = (each._replace(point=number[each.point], pulley=number.get(each.pulley, "")) for each in around)
    radii = {names.index(name): radius for name, radius in SIZES.items()}
    given = network(6, (replace(loop(around), around=tuple(own)),), radii_mm=radii)
    at = np.array([axis for place in PLACES.values() for axis in place] + [*radii.values()])
    residuals, jacobian = given.equations(at)
    assert residuals == pytest.approx([0.0], abs=1e-8)
    by_steps = approx_fprime(at, lambda x: given.equations(x)[0][0], 1e-6)
    np.testing.assert_allclose(jacobian[0], by_steps, atol=1e-5)


def test_where_no_path_can_be_laid_the_equations_stay_finite() -> None:
    """Two discs, one within the other: the way to and fro, and one turn of the mean radius."""
    read = LoopLength("wire", (Rounded("a", "a"), Rounded("b", "b")), 0.0, 1.0)
    residual, slopes = read.equations(np.array([[0.0, 0.0, 10.0, 0.0, 100.0, 50.0]]), np.zeros((1, 1)))
    assert residual.item() == pytest.approx(20.0 + 150.0 * np.pi) and np.isfinite(slopes).all()
    assert read.drawn({"a": 100.0, "b": 50.0}, np.zeros(2), np.array((10.0, 0.0))).tolist() == [[0, 0], [10, 0], [0, 0]]


@pytest.mark.parametrize("seed", [3, 4])
def test_places_as_scipy_finds_them(seed: int) -> None:
    rng = np.random.default_rng(seed)
    given = drive(rng, loop(off_mm=float(rng.normal())), loop(CROSSED, float(rng.normal()), 0.7))
    found = measuring_of(given)
    expected, cost = Reference(given, SIZES, {}).solved(PLACES)
    assert found.errors.fits and not found.errors.gross_errors
    np.testing.assert_allclose(found_places(found.centres), expected, atol=2e-3)
    assert found.errors.solution.cost == pytest.approx(cost, rel=1e-5, abs=1e-6)


def test_a_loop_is_one_reading_more_with_its_residual_and_redundancy() -> None:
    """Without it one degree of freedom fewer; the redundancies sum to the degrees: Baarda, as of every network."""
    with_it, without = measuring_of(drive(None, loop(off_mm=0.5))), measuring_of(drive(None))
    assert with_it.degrees == without.degrees + 1
    (checked,) = loops_in(with_it)
    assert 0.0 < checked.error < 0.5 and 0.1 < checked.redundancy < 1.0 and checked.share is not None
    solution = with_it.errors.solution
    assert float(solution.precision.redundancy.sum()) == pytest.approx(with_it.degrees, abs=1e-6)


def test_a_loop_holds_a_point_that_no_second_tape_does() -> None:
    """Compressor by one distance and a wire round it: the arc of possible places is cut to one and its mirror."""
    names = ("crank", "compressor", "alternator", "pump")
    around = tuple(map(Rounded, names, names))
    sizes = SIZES | {"compressor": 60.0}
    true = loop_mm(LoopLength("wire", around, 0.0, 1.0), AT, sizes)
    pairs = [pair for pair in every_pair(PLACES) if "compressor" not in pair] + [("crank", "compressor")]
    tapes, line = taped(PLACES, pairs, None), angle(PLACES, ("crank", "alternator"), None)
    diameters = tuple(Diameter(name, 2.0 * sizes[name], 0.2) for name in names)
    bare = measured_of(PLACES, tapes, directions=(line,), diameters=diameters)
    assert [(each.point, each.ties) for each in measuring_of(bare).undetermined] == [("compressor", 1)]
    read = replace(
        bare, loops=(LoopLength("wire", around, true, 1.0),), sides={"compressor": ("right",), "pump": ("left",)}
    )
    found = measuring_of(read)
    assert not found.undetermined and not found.mirrors
    assert found.centre("compressor").at_mm == pytest.approx(PLACES["compressor"], abs=1e-2)


def test_two_loops_hold_a_point_that_nothing_else_is_read_of() -> None:
    rounds = (("crank", "compressor", "alternator", "pump"), ("crank", "compressor", "pump"))
    sizes = SIZES | {"compressor": 60.0}
    around = [tuple(map(Rounded, names, names)) for names in rounds]
    true = [loop_mm(LoopLength("wire", each, 0.0, 1.0), AT, sizes) for each in around]
    read = measured_of(
        PLACES,
        taped(PLACES, [pair for pair in every_pair(PLACES) if "compressor" not in pair], None),
        directions=(angle(PLACES, ("crank", "alternator"), None),),
        diameters=tuple(Diameter(name, 2.0 * size, 0.2) for name, size in sizes.items()),
        loops=tuple(LoopLength(f"wire {i}", each, true[i], 1.0) for i, each in enumerate(around)),
        sides={"compressor": ("right",), "pump": ("left",)},
    )
    assert surveyed(read).tied.all()
    assert measuring_of(read).centre("compressor").at_mm == pytest.approx(PLACES["compressor"], abs=1e-2)


def test_a_loop_round_two_pulleys_is_their_distance() -> None:
    """Discs of 40 mm at 300: 600 and one turn of 40 mm. Nothing else is read of the second."""
    around = (Rounded("a", "a"), Rounded("b", "b"))
    read = LoopLength("belt", around, 600.0 + 80.0 * np.pi, 1.0)
    line, rims = (Direction("a", "b", 0.5, 1e-3),), (Diameter("a", 80.0, 0.1), Diameter("b", 80.0, 0.1))
    given = Measured("two", ("a", "b"), "a", directions=line, loops=(read,), diameters=rims)
    found = measuring_of(given)
    assert surveyed(given).tied.all() and not found.undetermined
    assert found.centre("b").at_mm == pytest.approx((300.0 * np.cos(0.5), 300.0 * np.sin(0.5)), abs=1e-6)
    along, across = 0.5 * np.hypot(1.0, np.pi * np.hypot(0.05, 0.05)), 300.0 * 1e-3
    assert found.centre("b").sd_mm == pytest.approx(np.hypot(along, across) / np.sqrt(2.0), rel=1e-3)


def test_a_misread_loop_is_named_with_its_step() -> None:
    found = measuring_of(drive(None, loop(CROSSED[:4], 100.0)))
    (error,) = found.errors.gross_errors
    assert error.reading.words == "loop wire" and error.misreading is not None and error.misreading.step == 100.0
    (words,) = (words for lead, words in answers(found) if lead == "MISREAD")
    words = words.replace("\N{NO-BREAK SPACE}", " ")
    assert words.startswith("loop wire, read 1755.1 mm (line 9): ") and "1655.1 mm, 100 mm less" in words


def test_a_loop_that_no_slip_explains_may_be_of_an_old_drive_for_the_cause_and_for_what_comes_next() -> None:
    told = dict(answers(measuring_of(drive(None, loop(CROSSED[:4], 41.3)))))
    assert told["MISREAD"].endswith("laid before the route or a pulley was changed? Then take it out. It is left out")
    assert told["NEXT"] == "measure loop wire (line 9) again, or take the loop out if it was laid before a change"


def test_a_loop_that_does_not_fit_over_a_pulley_on_an_arm_asks_after_that_arm() -> None:
    """Its true length by shapely with the arm as it is; the file has it to the far rim."""
    right = loop(CROSSED)
    longer = CROSSED[-1]._replace(carried_mm=(99.3, -70.9))
    told = dict(answers(measuring_of(drive(None, replace(right, around=(*CROSSED[:-1], longer))))))
    assert "; is the arm of tight as it is written? Or was it laid before the route" in told["MISREAD"]
    assert told["NEXT"].startswith("look at the arm of tight; then measure loop wire (line 9) again, or take")
    assert "arm" not in dict(answers(measuring_of(drive(None, loop(CROSSED[:4], 41.3)))))["MISREAD"]


# In a file.


@for_each((False, True), (True, False))
def test_an_arm_that_no_loop_checks_is_told_with_what_would(tmp_path: Path, belt: bool, bare: bool) -> None:
    """No tape speaks for its length or its stops."""
    text = MEASUREMENT_STARTER.split("loops:")[0]
    text += "loops: {own: {belt: 6PK1640, arm_deg: 320, accuracy_mm: 90}}\n" * belt
    told = dict(answers(found_in(tmp_path, text)))
    assert told["CHECKED"].endswith("agree; none checks tensioner's arm") is bare and "agree" in told["CHECKED"]
    assert ("A string laid round the route with tensioner's arm held still" in told["NEXT"]) is bare
    assert ("; a belt on hand only from " in told["NEXT"]) is bare


@for_each(
    ("[265, 300]", "from its pivot down at 265 deg and down and right at 300 deg"),
    ("[-300, -265]", "from its pivot up and right at -300 deg and up at -265 deg"),
    ("[80, 100]", "up from its pivot at both stops, 80 and 100 deg"),
)
def test_where_an_arm_stands_at_its_stops_is_told(tmp_path: Path, stops: str, told: str) -> None:
    """By hand: 265 deg is 5 short of straight down. With its signs exchanged an arm stands elsewhere."""
    words = dict(answers(found_in(tmp_path, TAPED.replace("[265, 300]", stops))))["ARM"]
    assert words.startswith(f"tight: its arm points {told}. Look whether it does")


def test_a_second_loop_leaves_what_the_first_shows_of_an_arm(tmp_path: Path) -> None:
    """Of two the sharper one counts, in whatever order they stand."""
    text = MEASUREMENT_STARTER.split("loops:")[0]
    loops = ("string: {belt: 6PK1620, arm_deg: 320, accuracy_mm: 1}", "own: {belt: 6PK1620, arm_deg: 320}")
    for first, second in (loops, loops[::-1]):
        found = measuring_of(file_of(tmp_path, f"{text}loops:\n  {first}\n  {second}\n").measured)
        shows = [each.shows for each in loops_in(found) if each.shows is not None]
        assert len(shows) == 2 and found.arms_show["tensioner's arm"] == min(shows) < max(shows)


def test_what_a_string_would_show_is_not_known_without_a_belt(tmp_path: Path) -> None:
    found = found_in(tmp_path, TAPED.replace("belt: 6PK\n", "").replace("diameter: 160", "rim_diameter: 160"))
    assert found.unchecked_arms and found.loops_show_mm is None


def test_what_a_loop_would_show_of_an_arm_is_what_it_does_show_once_it_is_laid(tmp_path: Path) -> None:
    """Of a string and of a belt, each as long as the path, by one study with it and one without."""
    text = MEASUREMENT_STARTER.split("loops:")[0]
    found = found_in(tmp_path, text)

    def laid(entry: str) -> Measuring:
        loops = f"loops: {{own: {{{entry}, arm_deg: 320}}}}\n"
        return measuring_of(file_of(tmp_path, text + loops).measured)

    assert found.loops_show_mm is not None
    for told, entry in zip(found.loops_show_mm, ("length: {:.1f} mm", "belt: 6PK{:.0f}"), strict=True):
        (rough,) = loops_in(laid(f"{entry.format(1620)}, accuracy_mm: 99"))
        own = laid(entry.format(1620.0 - rough.error))
        assert own.errors.sound and own.arms_show["tensioner's arm"] == pytest.approx(told, rel=0.03)
    assert found.loops_show_mm[0] < 0.7 * found.loops_show_mm[1]


def test_from_how_much_belt_on_an_error_of_an_arm_shows_is_told(tmp_path: Path) -> None:
    """A belt longer by what is told is a misreading, one longer by half as much is none: both typed and measured."""

    def measured(length_mm: float) -> Measuring:
        text = MEASUREMENT_STARTER.split("loops:")[0]
        belt = f"loops: {{own: {{belt: 6PK{length_mm:.0f}, arm_deg: 320, accuracy_mm: 10}}}}\n"
        return measuring_of(file_of(tmp_path, text + belt).measured)

    (far,) = (each for each in measured(1800.0).checked if isinstance(each.reading, LoopLength))
    path_mm, words = 1800.0 - far.error, dict(answers(measured(1640.0)))["CHECKED"].replace("\N{NO-BREAK SPACE}", " ")
    told = re.search(r"agree; an error of tensioner's arm shows only where it makes ([\d.]+) mm of belt", words)
    assert far.left_out and told is not None
    for share, sound in ((0.5, True), (-0.5, True), (1.05, False), (-1.05, False)):
        assert measured(path_mm + share * float(told[1])).sound is sound


def with_loop(entry: str) -> str:
    return TAPED.replace("sides:", f"loops: {{wire: {entry}}}\nsides:")


def read_loop(folder: Path, entry: str) -> LoopLength:
    (read,) = file_of(folder, with_loop(entry)).measured.loops
    return read


@for_each(("inside", 0.0, 1.5), ("outside", 1.5, 0.0), ("middle", 0.75, 0.75))
def test_the_line_of_a_wire_over_the_rims(tmp_path: Path, line: str, inside: float, on_back: float) -> None:
    """The face inside the loop lies on a rim inside the loop, the outer face on a rim that stands on its back."""
    read = read_loop(tmp_path, f"{{length: 1702, along: {line}, thickness: 1.5, pulleys: [crank, pump, fan]}}")
    assert [(each.pulley, each.on_back, each.over_mm) for each in read.around] == [
        ("crank", False, inside), ("pump", False, inside), ("fan", True, on_back)
    ]  # fmt: skip
    assert (read.value_mm, read.sd_mm, read.written, read.line) == (1702.0, 1.0, "1702", 24)


def test_a_belt_lies_on_its_own_line_with_the_arm_at_its_angle(tmp_path: Path) -> None:
    """Round the route; arm of 70 mm at 270 deg; half of (band of 1700 mm) / sqrt 3 and at most 2 x 70 x 0.5 deg."""
    read, belt = read_loop(tmp_path, "{belt: 6PK1700, arm_deg: 270}"), parse_designation("6PK1700")
    assert [each.point for each in read.around] == ["crank", "tight.pivot", "pump", "fan"]
    tight = read.around[1]
    assert tight.carried_mm == pytest.approx((0.0, -70.0)) and (tight.rim_mm, tight.over_mm) == (36.0, belt.back_mm)
    assert read.around[0].over_mm == -belt.profile.rim_minus_line_mm / 2.0
    arm = 2.0 * 70.0 * np.radians(0.5)
    assert read.sd_mm == pytest.approx(np.hypot(belt.tolerance_of(1700.0) / np.sqrt(3.0), arm))


def test_a_loop_lies_on_the_rim_that_calipers_read_of_a_pulley_on_an_arm(tmp_path: Path) -> None:
    """Half of 71.4 mm, not of the 72 of the layout; calipers on another pulley say nothing of it."""
    entry = "{belt: 6PK1700, arm_deg: 270}"
    for calipers, rim_mm in (("tight: 71.4", 35.7), ("crank: 160", 36.0)):
        text = with_loop(entry).replace("sides:", f"diameters: {{{calipers}}}\nsides:")
        (read,) = file_of(tmp_path, text).measured.loops
        assert read.around[1].rim_mm == pytest.approx(rim_mm)


def test_a_belt_reads_too_much_what_it_is_longer_than_the_path_of_the_written_layout(tmp_path: Path) -> None:
    """So rough a reading that it moves nothing. The starter's arm stands at 320 deg in its layout as in the loop."""
    text = MEASUREMENT_STARTER.split("loops:")[0] + "loops: {own: {belt: 6PK1640, arm_deg: 320, accuracy_mm: 90}}\n"
    source = file_of(tmp_path, text)
    found = measuring_of(source.measured)
    write_measured(str(tmp_path / "out.yaml"), source, found, (), False)
    path = route_of(read_layout(str(tmp_path / "out.yaml")).layout).needed_mm
    (checked,) = loops_in(found)
    assert path is not None and checked.error == pytest.approx(1640.0 - path, abs=0.1)


def test_the_layout_is_written_by_its_places_and_the_picture_shows_it(tmp_path: Path) -> None:
    source = file_of(tmp_path, MEASUREMENT_STARTER.replace("length: 44 5/8", "length: 44 3/4"))
    found = measuring_of(source.measured)
    write_measured(str(tmp_path / "out.yaml"), source, found, (), False)
    made = yaml.safe_load((tmp_path / "out.yaml").read_text(encoding="utf-8"))
    at = np.multiply(25.4, made["pulleys"]["pump"]["at"])
    assert "loops" not in made and at == pytest.approx(found.centre("pump").at_mm, abs=0.01)
    scene = in_mm(measure_scene(found, answers(found)))
    (stroke,) = (each for each in scene.items if isinstance(each, Stroke) and each.name == "read loop string")
    rim = Point(found.centre("crank").at_mm).buffer(found.rims_mm["crank"] + 0.8, 512)
    near = [Point(at).distance(rim.exterior) for at in stroke.points]
    assert min(near) < 0.05 and np.array_equal(stroke.points[0], stroke.points[-1])


@for_each(
    ("{length: 1702, pulleys: [crank, pumpp]}", "pulleys", "an unknown point 'pumpp' (did you mean pump?)"),
    (
        "{length: 1702, pulleys: [crank, pump fan]}",
        "pulleys",
        "an unknown point 'pump fan': a comma is missing between pump and fan",
    ),
    ("{length: 1702, pulleys: [crank]}", "pulleys", "a list of 1"),
    ("{length: 1702, pulleys: [crank, pump, crank]}", "pulleys", "'crank' twice"),
    ("{length: 1702, pulleys: [crank, pump, 7]}", "pulleys", "an unknown point '7'"),
    ("{length: 1702, pulleys: [crank, bolt]}", "", "a loop without a diameter of bolt"),
    ("{length: 400, pulleys: [crank, pump, fan]}", "", "400"),
    ("{length: -5, pulleys: [crank, pump, fan]}", "length", "-5"),
    ("{length: long, pulleys: [crank, pump, fan]}", "length", "'long'"),
    ("{pulleys: [crank, pump, fan]}", "length", "nothing"),
    ("{length: 1702, belt: 6PK1700, pulleys: [crank, pump, fan]}", "belt", "both length and belt"),
    ("{belt: 6PK, pulleys: [crank, pump, fan]}", "belt", "'6PK' without a length"),
    ("{belt: rope, pulleys: [crank, pump, fan]}", "belt", "'rope'"),
    ("{belt: 6PK1700, thickness: 2, pulleys: [crank, pump, fan]}", "thickness", "thickness without `length`"),
    (
        "{belt: 6PK1700, along: middle, thickness: 2, pulleys: [crank, pump, fan]}",
        "thickness",
        "thickness without `length`",
    ),
    ("{length: 1702, along: outside, pulleys: [crank, pump, fan]}", "along", "along without `thickness`"),
    ("{length: 1702, along: over, thickness: 2, pulleys: [crank, pump, fan]}", "along", "'over'"),
    ("{length: 1702, thickness: -1, pulleys: [crank, pump, fan]}", "thickness", "-1"),
    ("{length: 1702}", "arm_deg", "nothing"),
    ("{length: 1702, arm_deg: 270, pulleys: [crank, pump, fan]}", "arm_deg", "an arm's angle, but"),
    ("{length: 1702, turns: 1, pulleys: [crank, pump, fan]}", "turns", "an unknown key"),
    ("{length: 1702, round: [crank, pump, fan]}", "round", "(write pulleys)"),
    ("{length: 1702, dia: 2, pulleys: [crank, pump, fan]}", "dia", "(write thickness)"),
    ("1702", "", "'1702'"),
)
def test_wrong_loops(tmp_path: Path, entry: str, key: str, got: str) -> None:
    (fault,) = measuring_faults(tmp_path, with_loop(entry))
    assert (fault.line, fault.key) == (24, f"loops.wire{'.' * bool(key)}{key}") and got in fault.got


@for_each(
    (70, "them; if its sign is wrong, write -70; else"),
    (-200, "between them; else"),
    (110, "if it was read from pulley to pivot, write -70; else"),
    (-85, None),
    (262, None),
    (303, None),
)
def test_an_arms_angle_outside_its_stops_is_asked_after_first(tmp_path: Path, deg: int, told: str | None) -> None:
    """They are 265 and 300 deg, which are -95 and -60. A belt holds an arm between its stops."""
    faults = measuring_faults(tmp_path, with_loop(f"{{belt: 6PK1700, arm_deg: {deg}}}")) if told else []
    if told:
        (fault,) = faults
        assert fault.line == 24 and fault.got == f"{deg}, outside the stops of tight, 265 to 300 (line 12)"
        assert told in fault.allowed and fault.allowed.startswith("an angle between them; ")
    else:
        assert read_loop(tmp_path, f"{{belt: 6PK1700, arm_deg: {deg}}}").around[1].carried_mm[1] < 0.0


def test_an_arms_angle_needs_what_says_what_is_level(tmp_path: Path) -> None:
    text = with_loop("{belt: 6PK1700, arm_deg: 270}").replace("level: [crank, fan]\n", "")
    (fault,) = measuring_faults(tmp_path, text)
    assert (fault.key, fault.got) == ("loops.wire.arm_deg", "an arm's angle, where nothing says what is level")
    assert len(file_of(tmp_path, text + "angles: {crank - fan: 0}\n").measured.loops) == 1
    wire = with_loop("{length: 1702, pulleys: [crank, pump, fan]}").replace("level: [crank, fan]\n", "")
    assert len(file_of(tmp_path, wire).measured.loops) == 1


SLID = """\
belt: 6PK
pulleys:
  crank: {role: crankshaft, rim_diameter: 80}
  fan: {role: fan, rim_diameter: 80}
  alt: {role: alternator, rim_diameter: 80, slide: {}}
route: [crank, fan, alt]
level: [crank, fan]
distances: {crank - fan: 400, crank - alt.from: 300, fan - alt.from: 500, crank - alt.to: 320, fan - alt.to: 500}
sides: {fan: right, alt.from: above, alt.to: above}
loops: {string: {length: 1451.33, ENTRY}}
"""
"""Equal discs at the corners of a 3-4-5 triangle while the slide is at `from`."""


def test_a_loop_round_a_pulley_at_an_end_of_its_slide(tmp_path: Path) -> None:
    """1200 and one turn of 40 mm, 1451.33; at the other end, 320 mm above, it is 20 mm short."""
    for end, error in (("from", 0.0), ("to", -20.0)):
        measured = file_of(tmp_path, SLID.replace("ENTRY", f"slide_end: {end}, accuracy_mm: 90")).measured
        assert [each.point for each in measured.loops[0].around] == ["crank", "fan", f"alt.{end}"]
        (checked,) = loops_in(measuring_of(measured))
        assert checked.error == pytest.approx(error, abs=0.1)


@for_each(
    ("along: middle, thickness: 0", "slide_end", "nothing"),
    ("slide: 10", "slide", "(write slide_end: from or to, the end of its slide at which a pulley stood"),
    ("slide: from", "slide", "(write slide_end)"),
    ("slide_at: end", "slide_at", "(write slide_end: from or to, "),
    ("slide_end: middle", "slide_end", "'middle'"),
    (
        "slide_end: to, pulleys: [crank, fan]",
        "slide_end",
        "an end of a slide, but the loop goes round no pulley on one",
    ),
)
def test_where_a_slide_stood_is_asked_in_plain_words(tmp_path: Path, entry: str, key: str, got: str) -> None:
    (fault,) = measuring_faults(tmp_path, SLID.replace("ENTRY", entry))
    assert (fault.key, fault.line) == (f"loops.string.{key}", 10) and got in fault.got
    assert key == "slide_end" or all(each in fault.allowed for each in ("length", "belt", "pulleys", "thickness"))


def test_faults_of_a_loop_all_at_once(tmp_path: Path) -> None:
    faults = measuring_faults(
        tmp_path, with_loop("{length: x, along: y, thickness: z, accuracy_mm: 0, pulleys: [crank, fam]}")
    )
    assert {fault.key.removeprefix("loops.wire.") for fault in faults} == {
        "length", "along", "thickness", "accuracy_mm", "pulleys"
    }  # fmt: skip


def test_a_loop_in_a_file_without_pulleys(tmp_path: Path) -> None:
    text = (
        "distances: {a - b: 400, a - c: 300, b - c: 500}\ndiameters: {a: 80, b: 80, c: 80}\nloops: {wire: {length: %s}}"
    )
    (fault,) = measuring_faults(tmp_path, text % "1450")
    assert fault.key == "loops.wire.pulleys" and "no `route`" in fault.allowed
    read = file_of(tmp_path, text % "1451.33, pulleys: [a, b, c]").measured
    (checked,) = loops_in(measuring_of(read))
    assert checked.error == pytest.approx(0.0, abs=0.01), "equal discs: 1200 and one turn of 40 mm, 1451.33"

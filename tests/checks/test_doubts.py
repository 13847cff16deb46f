"""Values in a unit that cannot be meant: asked after once, and what they would be in the likely one."""

import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from beltplan.checks.doubts import DOUBT, shape_doubts
from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding
from beltplan.checks.plan import plan_of
from beltplan.drive.belt import Friction
from beltplan.drive.layout import Circle, Layout, Units
from beltplan.drive.loads import AlternatorLoad, PowerLoad, PumpLoad, fan_load
from beltplan.drive.pulleys import Arm, ArmSpring, SlideSpring
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from tests.cli.running import Runner
from tests.drive.drives import layout as drawn
from tests.drive.drives import pulley, railcar, with_belt, with_pulley
from tests.drive.loaded_drives import SWING, on_slide, seven
from tests.for_each import for_each
from tests.layoutfile.samples import RAILCAR, written

CASES = Path(__file__).parents[1] / "cases"


def _asked(layout: Layout) -> list[Finding]:
    return DOUBT.of_route(replace(route_of(railcar()), layout=layout))


@for_each(
    (1.0, "", 1.0),
    (1.0 / 25.4, "All pulleys are 7.48031 mm or less: is the file in inches? Then write `units: in`. The", 25.4),
    (0.11, "All pulleys are 20.9 mm or less: is the file in centimetres?", 10.0),
    (25.4, "are these mm? Then write `units: mm`. The", 1.0 / 25.4),
    (10.5, "is there a digit too many in every length? Then write every length a tenth as large. The", 0.1),
)
def test_a_whole_file_in_another_unit_is_asked_after_once(factor: float, words: str, unit: float) -> None:
    """One inch is 25.4 mm exactly (ISO 31-1); the rest is common practice, no source. The largest pulley has 190 mm."""
    given = railcar()
    pulleys = {name: replace(each, diameter_mm=each.diameter_mm * factor) for name, each in given.pulleys.items()}
    found = _asked(replace(given, pulleys=pulleys))
    assert [(f.severity, f.subject) for f in found] == [("caution", "units")] * bool(words)
    assert all(words in f.message and f"largest would be {190.0 * factor * unit:.4g} mm" in f.message for f in found)


def test_places_by_readings_that_contradict_each_other() -> None:
    """They lead the findings, and do nothing else to them."""
    sure, doubted = (plan_of(replace(railcar(), in_doubt=each)).findings for each in (None, "a - b (line 3) of x.yaml"))
    assert [each.message for each in doubted[1:]] == [each.message for each in sure]
    assert doubted[0].subject == "places" and doubted[0].asks_first and doubted[0].severity == "caution"
    assert doubted[0].message.endswith("before you cut metal, measure again a - b (line 3) of x.yaml")


@for_each((49.0, False), (51.0, True), (3.1 * 25.4, True), (499.0, True), (501.0, False))
def test_a_whole_file_is_asked_after_where_its_largest_pulley_would_be_a_likely_one(
    largest_mm: float, asked: bool
) -> None:
    """50 to 500 mm, common practice, no source: the others are a tenth smaller, and all were typed in inches."""
    given = railcar()
    pulleys = {name: replace(each, diameter_mm=0.9 * largest_mm / 25.4) for name, each in given.pulleys.items()}
    pulleys["crank"] = replace(pulleys["crank"], diameter_mm=largest_mm / 25.4)
    found = _asked(replace(given, pulleys=pulleys))
    assert any("is the file in inches?" in each.message for each in found) == asked


def test_a_value_that_carries_its_unit_is_not_asked_for_it() -> None:
    drives = [
        _arm(14.9),
        _pump(1230.0),
        _pump(60.0, 0.85),
        with_pulley(railcar(), "generator", rated_A=1600.0),
        with_pulley(railcar(), "pump", overhang_mm=2.5),
        replace(_arm(1524.0), units="in"),
    ]
    for given in drives:
        asked = _asked(given)
        again = _asked(replace(given, own_units=frozenset(each.keys for each in asked)))
        assert any("is it in" in each.advice for each in asked) and len(again) == len(asked)
        assert all(each.advice.startswith("has it a digit too") for each in again)


@for_each((50.0, True), (66.0, True), (67.0, False), (110.0, False))
def test_a_tension_set_under_that_of_any_used_belt_is_told_with_the_usual_one(rib_N: float, told: bool) -> None:
    """Used belts 67 to 111 N a rib: US Army TM 9-2320-312-24-2, table 4."""
    found = [each for each in _asked(on_slide(tension_N=6.0 * rib_N)) if "`tension_N` of" in each.wrong]
    assert [each.advice for each in found] == ["the usual tension, run in, is 666 N"] * told
    assert all(each.severity == "caution" and "is under the 402 N" in each.wrong for each in found)


def _arm(length_mm: float) -> Layout:
    arm = railcar().pulleys["tensioner"].adjuster
    assert isinstance(arm, Arm)
    return with_pulley(railcar(), "tensioner", adjuster=replace(arm, length_mm=length_mm))


def _pump(bar: float, cm3: float = 8.0) -> Layout:
    return with_pulley(railcar(), "pump", load=PumpLoad(bar, cm3, 0.85))


@for_each(
    (_arm(14.9), "an arm of 14.9 mm (0.5866 in): is it in inches? Then write `14.9 in`, which is 378.5 mm"),
    (_arm(601.0), "an arm of 601 mm (23.66 in): has it a digit too many?"),
    (replace(_arm(1524.0), units="in"), "an arm of 1524 mm (60 in): is it in mm? Then write `60 mm`"),
    (replace(_arm(12.7), units="in"), "an arm of 12.7 mm (0.5 in): has it a digit too few?"),
    (_pump(1230.0), "a pressure of 1230 bar: is it in psi? Then write `1230 psi`, which is 84.81 bar"),
    (_pump(60.0, 0.85), "0.85 cm3 a turn: is it in cubic inches? Then write `0.85 in3`, which is 13.93 cm3"),
    (with_pulley(railcar(), "generator", rated_A=1600.0),
     "`rated_A` of 1600 A: is it in watts? 1600 W at 14 V are 114 A. Or has it a digit too many?"),
    (with_pulley(railcar(), "generator", load=AlternatorLoad(800.0, 14.0, 0.6)),
     "`current_A` of 800 A: is it in watts? 800 W at 14 V are 57.1 A. Or has it a digit too many?"),
    (with_pulley(railcar(), "generator", load=AlternatorLoad(50.0, 142.0, 0.6)),
     "a voltage of 142 V: has it a digit too many?"),
    (with_pulley(railcar(), "pump", load=PowerLoad(1500.0, 3000.0, "cube")),
     "a load of 1500 kW: is it in watts? Then write `1500 W`, which is 1.5 kW"),
    (with_pulley(railcar(), "pump", load=PowerLoad(5.05, 3000.0, "cube")),
     "a load of 5.05 kW: has it a digit too many? The usual one is 0.7 kW at 3000 rpm, with the cube of its speed"),
    (with_pulley(railcar(), "pump", overhang_mm=2.5),
     "an overhang of 2.5 mm (0.09843 in): is it in inches? Then write `2.5 in`, which is 63.5 mm"),
    (replace(with_pulley(railcar(), "pump", movable_mm=1.5), units="in"),
     "`movable_mm` lets it be moved by 1.5 mm (0.05906 in): is it in inches? Then write `1.5 in`, else `1.5 mm`"),
    (replace(with_pulley(with_pulley(railcar(), "crank", plane_mm=0.0), "pump", plane_mm=3352.8), units="in"),
     "(132 in): is it in mm? Then write `132 mm`. Or has it a digit too many?"),
    (with_pulley(railcar(), "pump", rated_A=120.0),
     "`rated_A` of 120, but its role is water_pump: does that belong under `generator`?"),
    (with_belt(railcar(), length_mm=66.0),
     "is it in inches? Then write `belt: 6PK1676.4`, or `length_mm: 66 in`. Or has it a digit too few?"),
    (with_pulley(railcar(), "generator", at_mm=(3300.0, 300.0)),
     "from the nearest other pulley: has its place a digit too many, or another unit?"),
    (with_pulley(railcar(), "tensioner", adjuster=replace(SWING, pivot_mm=(-150.0, 4215.0))),
     "from the nearest other pulley: has its place a digit too many, or another unit?"),
)  # fmt: skip
def test_a_value_is_asked_after_with_what_it_would_be_in_the_other_unit(layout: Layout, question: str) -> None:
    """84.81 bar: NIST SP 811, 6.894757 kPa a psi; 1 in = 25.4 mm; W = V A."""
    (finding,) = _asked(layout)
    assert finding.severity == "caution" and question in finding.message
    assert finding.source == "common practice, no source"


@for_each(
    _arm(15.1), _arm(599.0), _pump(440.0, 1.1), with_pulley(railcar(), "pump", overhang_mm=0.0, movable_mm=2.1),
    with_pulley(railcar(), "generator", at_mm=(2900.0, 300.0), rated_A=490.0),
    with_pulley(railcar(), "pump", load=PowerLoad(4.95, 3000.0, "cube")),
)  # fmt: skip
def test_what_can_be_meant_is_not_asked_after(layout: Layout) -> None:
    assert _asked(layout) == []


_IDLE_RPM = 750.0 * 190.0 / 60.0
"""Of the railcar's generator at idle, but for the heights of the lines over the rims."""


@for_each((0.9, 1), (1.1, 0))
def test_a_maximum_that_is_passed_at_idle_is_asked_after(share: float, count: int) -> None:
    given = with_pulley(railcar(), "generator", max_rpm=share * _IDLE_RPM)
    found = _doubts(replace(given, engine=replace(given.engine, idle_rpm=750.0)))
    assert [(f.subject, f.keys[-1]) for f in found] == [("generator", "max_rpm")] * count
    assert all("rpm at idle: has it a digit too few?" in f.message for f in found)


def test_more_than_one_maximum_passed_at_idle_is_no_slip_in_each() -> None:
    given = with_pulley(with_pulley(railcar(), "generator", max_rpm=1500.0), "pump", max_rpm=800.0)
    assert _doubts(replace(given, engine=replace(given.engine, idle_rpm=750.0))) == []


@for_each((6, 8, 8, True), (8, 8, 8, False), (6, 6, 8, False), (6, None, 8, False))
def test_fewer_ribs_than_every_pulley_has_grooves_are_noted(
    ribs: int, first: int | None, other: int, told: bool
) -> None:
    """Of the railcar only the crank and the generator are known by their grooves; with one alone none is asked."""
    bare = {name: replace(p, grooves=None) for name, p in railcar().pulleys.items()}
    given = replace(with_belt(railcar(), ribs=ribs), pulleys=bare)
    given = with_pulley(with_pulley(given, "crank", grooves=first), "generator", grooves=other)
    assert [(f.severity, f.subject, f.message) for f in _asked(given)] == [
        ("note", "belt", f"{ribs} ribs, but every grooved pulley has room for {other}: is {other}PK meant?")
    ] * told


@for_each("tiny", "stationary")
def test_a_model_boat_and_a_gas_engine_are_not_asked(case: str) -> None:
    """Pulleys of 14 to 20 mm on a PH belt, which bends over 13 mm; one of 820 mm beside others of 260 to 560."""
    assert DOUBT.of_route(route_of(read_layout(str(CASES / f"{case}.yaml")).layout)) == []


@pytest.mark.parametrize(
    ("units", "words"),
    [
        ("mm", "7385 mm (291 in) from the nearest pulley: has its place a digit too many, or another unit?"),
        ("in", "7385 mm (291 in) from the nearest pulley: is its place in mm? In mm it is 291 mm (11.4 in) away"),
    ],
)
def test_an_obstacle_25_feet_away(units: Units, words: str) -> None:
    """25 ft are 7620 mm; the generator, the nearest pulley, stands at x = 235 mm."""
    hose = Circle("hose", (7620.0, 300.0), 30.0)
    (finding,) = _asked(replace(railcar(), obstacles=(hose,), units=units))
    assert finding.subject == hose.name and finding.message == words


def test_a_belt_that_cannot_be_laid_for_a_diameter_in_mm_in_a_file_in_inches(run: Runner, tmp_path: Path) -> None:
    text = "{units: in, belt: 6PK, pulleys: {crank: {role: crankshaft, at: [0, 0], diameter: 6.5}, "
    text += "generator: {role: alternator, at: [9, 12], diameter: 60.3}}, route: [crank, generator]}"
    (tmp_path / "layout.yaml").write_text(text)
    told = run("check", tmp_path / "layout.yaml")
    assert told.code == 2
    assert "Is a digit of generator wrong, or its unit? With `diameter: 60.3 mm` for generator (line" in told.err


def _planes(mm: float) -> Layout:
    return with_pulley(
        with_pulley(with_pulley(railcar(), "crank", plane_mm=0.0), "guide", plane_mm=0.0), "pump", plane_mm=mm
    )


@for_each(
    ("guide", 10.0, False, lambda mm: with_pulley(railcar(), "guide", diameter_mm=mm)),
    ("guide", 600.0, True, lambda mm: with_pulley(railcar(), "guide", diameter_mm=mm)),
    ("tensioner", 15.0, False, _arm),
    ("tensioner", 600.0, True, _arm),
    ("pump", 300.0, True, _planes),
    ("pump", 300.0, True, lambda mm: _planes(-mm)),
    ("generator", 3000.0, True, lambda mm: with_pulley(railcar(), "generator", at_mm=(0.0, -mm))),
    ("belt", 200.0, False, lambda mm: with_belt(railcar(), length_mm=mm)),
    ("pump", 8.0, False, lambda mm: with_pulley(railcar(), "pump", overhang_mm=mm)),
    ("pump", 2.0, False, lambda mm: with_pulley(railcar(), "pump", movable_mm=mm)),
    ("pump", 10.0, False, lambda mm: replace(with_pulley(railcar(), "pump", movable_mm=mm), units="in")),
    ("generator", 500.0, True, lambda amperes: with_pulley(railcar(), "generator", rated_A=amperes)),
    ("pump", 450.0, True, _pump),
    ("pump", 1.0, False, lambda cm3: _pump(60.0, cm3)),
    ("pump", 5.0, True, lambda kW: with_pulley(railcar(), "pump", load=PowerLoad(kW, 3000.0, "cube"))),
    ("generator", 200.0, True, lambda kW: with_pulley(railcar(), "generator", load=PowerLoad(kW, 3000.0, "cube"))),
)
def test_edges_of_what_is_likely(subject: str, edge: float, too_much: bool, given: Callable[[float], Layout]) -> None:
    """Numbers of common practice, no source: frozen, our own."""
    asked = {share: subject in {each.subject for each in _asked(given(share * edge))} for share in (0.99, 1.01)}
    assert asked == {0.99: not too_much, 1.01: too_much}


def test_how_far_it_may_be_moved_is_not_asked_after_where_it_carries_its_unit_or_a_limit_is_given() -> None:
    bare = replace(with_pulley(railcar(), "pump", movable_mm=3.0), units="in")
    told = replace(bare, own_units=frozenset({("pulleys", "pump", "movable_mm")}))
    limited = replace(bare, limits={"min_likely_movable_mm": {"": 1.0}})
    assert [any("be moved by" in each.wrong for each in _asked(one)) for one in (bare, told, limited)] == [True, 0, 0]


@for_each((239.0, 601.0, True), (241.0, 601.0, False), (24.6, 9.9, False), (24.9, 9.9, True))
def test_a_diameter_like_the_others_of_its_file_is_meant(usual_mm: float, other_mm: float, asked: bool) -> None:
    """Within 2.5 times the usual one: common practice, no source. A PH belt bends over 13 mm (ISO 9982)."""
    sizes, at = (usual_mm, usual_mm, other_mm), ((0.0, 0.0), (900.0, 0.0), (400.0, 900.0))
    pulleys = [pulley(f"p{i}", *place, mm, role="idler") for i, (place, mm) in enumerate(zip(at, sizes, strict=True))]
    found = shape_doubts(drawn(pulleys, "6PH"))
    assert [each.subject for each in found] == ["p2"] * asked


@for_each((0.99, False), (1.01, True))
def test_edge_of_a_file_in_inches(share: float, inches: bool) -> None:
    """The largest pulley of a drive in inches has 50 mm at least (common practice, no source)."""
    given = railcar()
    factor = share * 50.0 / 25.4 / max(each.diameter_mm for each in given.pulleys.values())
    pulleys = {name: replace(each, diameter_mm=each.diameter_mm * factor) for name, each in given.pulleys.items()}
    found = _asked(replace(given, pulleys=pulleys))
    assert any("is the file in inches?" in each.message for each in found) is inches


def test_what_may_explain_all_problems_stands_under_the_verdict(run: Runner, tmp_path: Path) -> None:
    text = (
        (Path("layouts") / "railcar.yaml").read_text(encoding="utf-8").replace("rotation: clockwise", "rotation: ccw")
    )
    path = tmp_path / "file.yaml"
    path.write_text(text.replace("ccw", "counterclockwise"), encoding="utf-8")
    lines = run("check", str(path)).out.splitlines()
    assert lines[1].startswith("DOES NOT WORK") and lines[2].startswith("FIRST    rotation: ")
    assert " ".join(" ".join(lines).split()).count("`rotation` right") == 1
    (first, *_) = json.loads(run("check", str(path), "--json").out)["findings"]
    assert first["subject"] == "rotation"


def test_a_unit_is_asked_after_under_the_verdict(run: Runner, tmp_path: Path) -> None:
    path = tmp_path / "file.yaml"
    text = (Path(__file__).parent / "exchanged.yaml").read_text(encoding="utf-8")
    path.write_text(text.replace("pressure_bar: 1000 psi", "pressure_bar: 1000"), encoding="utf-8")
    lines = run("check", str(path)).out.splitlines()
    place = next(i for i, line in enumerate(lines) if line.startswith(("DOES NOT WORK", "WORKS ON PAPER")))
    assert lines[place + 1].startswith("FIRST ") and "a pressure of 1000 bar: is it in psi?" in lines[place + 1]


def test_a_mend_of_several_faults_is_told_once(run: Runner, tmp_path: Path) -> None:
    path = tmp_path / "file.yaml"
    path.write_text(
        "units: in\nbelt: 6PK\npulleys:\n  crank: {role: crankshaft, at: [0, 0], diameter: 6}\n"
        "  pump: {role: water_pump, at: [0, 14], diameter: 50}\n  fan: {role: fan, at: [12, 12], diameter: 4}\n"
        "route: [crank, pump, fan]\n",
        encoding="utf-8",
    )
    told = run("check", str(path)).err
    assert told.count("overlap by") == 2
    assert told.count("With `diameter: 5` for pump") == told.count("with `diameter: 50 mm`") == 1


def _typed(tmp_path: Path, old: str, new: str) -> list[str]:
    """What is asked of the railcar with one thing typed otherwise."""
    layout = read_layout(written(tmp_path, RAILCAR.replace(old, new))).layout
    return [each.message for each in _asked(layout)]


@for_each(
    ("diameter: 60,", 'diameter: 60",', "a diameter of 1524 mm (60 in): has it a digit too many?"),
    ("idle_rpm: 750", "idle_rpm: 75", "an idle of 75 rpm: has it a digit too few?"),
    ("at: [0, 245]", "at: [0, 245], mount: {holes: [[0, 0, 105]]}", "a hole of 105 mm (4.134 in): has it a digit too"),
    ("role: idler", "role: tensioner",
     "a tensioner with a fixed place: is it an idler? Then write `role: idler`. Else"),
)  # fmt: skip
def test_what_is_typed_is_asked_after(tmp_path: Path, old: str, new: str, question: str) -> None:
    """Common practice, no source: an inch sign in a file in mm, a hole for no bolt, a tensioner that cannot move."""
    assert not any(question[:12] in each for each in _typed(tmp_path, old, old))
    assert any(question in each for each in _typed(tmp_path, old, new))


@for_each(
    ("min_wrap_deg", "alternator", 12.0, True),
    ("min_wrap_deg", "alternator", 60.0, False),
    ("min_likely_diameter_mm", "", 1.0, False),
)
def test_a_limit_of_a_tenth_of_the_usual_is_asked_after(key: str, name: str, value: float, asked: bool) -> None:
    """Common practice, no source; what is given to be asked less is not asked after in turn."""
    found = [each.message for each in _asked(replace(railcar(), limits={key: {name: value}}))]
    assert any(f"`{key}` of {value:g}: has it a digit too few?" in each for each in found) == asked


# Values that can hardly be meant: edges at each limit, and that a file with them is asked, not refused.


SLIDE_MM = math.hypot(115.0, 20.0)
"""Length of the slide, from (-190, 118) to (-75, 138)."""


def _doubts(given: Layout) -> list[Finding]:
    return [finding for finding in findings_of(route_of(given), None) if finding.check == DOUBT.name]


@pytest.mark.parametrize(("sizes", "count"), [((70.0, 90.0, 600.0), 0), ((9.9, 601.0, 2286.0), 3)])
def test_idlers_of_a_size_that_looks_like_another_unit(sizes: tuple[float, ...], count: int) -> None:
    found = _doubts(replace(seven(), idler_sizes_mm=sizes))
    assert [(f.severity, f.subject) for f in found] == [("caution", "idler_sizes")] * count
    assert any("2286 mm (90 in): has it a digit too many?" in f.message for f in found) == (count == 3)


@for_each((9.9, "Then write `9.9 in`, which is 251.5 mm"), (10.0, ""), (600.0, ""), (606.0, "digit too many"))
def test_pulleys_of_a_size_that_looks_like_another_unit(size: float, words: str) -> None:
    """A size to be had of a pulley, so that the drive stays as it is."""
    found = _doubts(with_pulley(seven(), "cooling", diameters_mm=(size,)))
    assert [f.subject for f in found] == ["cooling"] * bool(words) and all(words in f.message for f in found)


def test_an_own_limit_answers_the_question() -> None:
    given = with_pulley(seven(), "cooling", diameters_mm=(700.0,))
    assert _doubts(given) and not _doubts(replace(given, limits={"max_likely_diameter_mm": {"cooling": 800.0}}))


@for_each(
    (Friction(0.6, 0.9), True), (Friction(0.9, 0.6), False), (Friction(wet=1.1), True), (Friction(), False),
    (Friction(0.8, 0.8), False), (Friction(0.9, 0.6, 1.0), True), (Friction(0.9, 0.6, 0.9), False),
    (Friction(0.4, 0.3), True),
)  # fmt: skip
def test_friction_that_is_greater_wet_or_by_design_than_dry(friction: Friction, asked: bool) -> None:
    """One number alone stands against the default of the other: 1.0 dry, ln 4 / pi by design."""
    found = _doubts(with_belt(seven(), friction=friction))
    assert [(f.severity, f.subject) for f in found] == [("caution", "belt")] * asked


@for_each((265.0 - 29.0, False), (265.0 - 31.0, True), (331.0, True))
def test_a_springs_angle_far_outside_the_stops(at_deg: float, asked: bool) -> None:
    """Stops at 265 and 300 deg; 31 deg at 0.4 Nm a deg are 12.4 Nm by the rate alone."""
    given = seven(replace(SWING, spring=ArmSpring(26.0, at_deg, 0.4)))
    found = _doubts(given)
    assert [(f.severity, f.subject) for f in found] == [("caution", "tensioner")] * asked
    assert all("31 deg outside the travel, 265 to 300" in f.message and "12.4 Nm" in f.message for f in found)


@for_each((17.0, True), (-17.0, False), (-46.0, False), (5.1, True))
def test_a_springs_angle_that_lost_its_minus(at_deg: float, asked: bool) -> None:
    """Stops at -45 and 5 deg: outside them by however little, and within them with its sign turned."""
    layout = read_layout("tests/cases/digger.yaml").layout
    held = layout.pulleys["tensioner"].adjuster
    assert isinstance(held, Arm) and held.spring is not None
    turned = replace(held, spring=replace(held.spring, at_deg=at_deg))
    found = [f for f in _doubts(with_pulley(layout, "tensioner", adjuster=turned)) if f.subject == "tensioner"]
    assert [f"is its sign wrong? {-at_deg:g} lies within" in f.message for f in found] == [True] * asked


@for_each((-29.0, False), (-31.0, True), (SLIDE_MM + 31.0, True))
def test_a_slides_spring_far_outside_its_travel(at_mm: float, asked: bool) -> None:
    """31 mm at 4 N a mm are 124 N by the rate alone."""
    found = _doubts(on_slide(spring=SlideSpring(900.0, at_mm, 4.0)))
    assert [(f.severity, f.subject) for f in found] == [("caution", "tensioner")] * asked
    assert all("31 mm outside the travel, 0 to 116.726" in f.message and "124 N" in f.message for f in found)


# Loads under another pulley than they belong to, and radii typed for diameters: asked first, and of no sound layout.
# The bounds of likely ratios are common practice, no source; no layout that is shipped or checked elsewhere reaches
# them.


SHIPPED = ("railcar", "workboat", "camper", "orchard_sprayer", "too_tight")
RIG = "tests/checks/exchanged.yaml"


def _first(layout: Layout) -> list[Finding]:
    return [each for each in plan_of(layout).findings if each.check == DOUBT.name and each.asks_first]


@for_each(*SHIPPED)
def test_a_sound_layout_is_not_asked(name: str) -> None:
    assert _first(read_layout(f"layouts/{name}.yaml").layout) == []


HALVED = [
    *((RIG, name) for name in ("crank", "hyd_pump", "vac_pump", "water_pump", "alternator", "compressor")),
    *(("layouts/railcar.yaml", name) for name in ("crank", "compressor", "crane_pump", "water_pump", "alternator")),
    *(("layouts/workboat.yaml", name) for name in ("crank", "water_pump", "steering_pump", "alternator")),
    *(("layouts/camper.yaml", name) for name in ("crank", "air_conditioning", "engine_alternator", "water_pump")),
]


@for_each(*HALVED)
def test_a_radius_typed_for_a_diameter_is_asked_after_with_the_diameter(path: str, name: str) -> None:
    right = read_layout(path).layout
    pulley = right.pulleys[name]
    (asked,) = _first(right.with_pulley(replace(pulley, diameter_mm=pulley.diameter_mm / 2.0)))
    key = "rim_diameter" if pulley.reading == "rim" else "diameter"
    meant = pulley.diameter_mm / (25.4 if right.units == "in" else 1.0)
    assert (asked.subject, asked.severity) == (name, "caution")
    assert "its radius? Then write" in asked.advice and f"`{key}: {meant:.6g}`" in asked.advice


def test_the_order_of_the_route_may_begin_anywhere() -> None:
    right = read_layout(RIG).layout
    turned = replace(right, route=(*right.route[2:], *right.route[:2]))
    assert _first(turned) == [] and turned.route[0] != "crank"


def test_an_own_limit_answers_the_question_of_the_radius() -> None:
    right = read_layout(RIG).layout
    small = right.with_pulley(replace(right.pulleys["compressor"], diameter_mm=2.75 * 25.4))
    assert _first(small) and _first(replace(small, limits={"max_likely_ratio": {"compressor": 3.0}})) == []


def test_two_loads_mixed_up_are_told_with_where_they_may_belong() -> None:
    right = read_layout(RIG).layout
    pump, alternator = right.pulleys["hyd_pump"], right.pulleys["alternator"]
    mixed = right.with_pulley(replace(pump, load=alternator.load)).with_pulley(replace(alternator, load=None))
    (asked,) = _first(mixed)
    assert asked.message == ("`current_A` of 55, but its role is hydraulic_pump: does that belong under `alternator`?")
    both = right.with_pulley(replace(pump, load=alternator.load)).with_pulley(replace(alternator, load=pump.load))
    found = {each.subject: each.message for each in _first(both)}
    assert found["hyd_pump"].endswith("its role is hydraulic_pump: does that belong under `alternator`?")
    assert found["alternator"].startswith("`pressure_bar` of 68.95, but its role is alternator")


@for_each(
    (48.0, "mm", "a fan of 48 mm: is it in cm? Then write `fan_diameter: 480`"),
    (19.0, "mm", "a fan of 19 mm: is it in inches? Then write `fan_diameter: 19 in`"),
    (30.0, "mm", "is it in cm or inches? Then write `fan_diameter: 300` or `fan_diameter: 30 in`"),
    (480.0 * 25.4, "in", "is it in mm? Then write `fan_diameter: 480 mm`"),
    (4800.0, "mm", "a fan of 4800 mm: has it a digit too many?"),
    (150.0, "mm", ""),
    (2000.0, "mm", ""),
)
def test_a_fan_of_a_size_that_no_engine_has_is_asked_after(size_mm: float, units: Units, words: str) -> None:
    """150 mm to 2 m, most of them 250 to 1,000: common practice, no source. One inch is 25.4 mm (ISO 31-1)."""
    given = with_pulley(replace(railcar(), units=units), "pump", role="fan", usual_load=fan_load(size_mm))
    found = [each for each in _asked(given) if "a fan of" in each.message]
    assert len(found) == bool(words) and all(words in each.message and each.asks_first for each in found)


@for_each((450.0, 80.0, True), (160.0, 80.0, True), (159.0, 80.0, False), (45.0, 8.0, True), (45.0, 80.0, False))
def test_a_current_of_twice_what_the_alternator_is_rated_is_asked_after(
    asked_A: float, rated: float, is_odd: bool
) -> None:
    """What an alternator is rated is about its most; twice that is common practice, no source."""
    given = with_pulley(railcar(), "generator", rated_A=rated, load=AlternatorLoad(asked_A, 28.0, 0.6))
    found = [each for each in _asked(given) if "digit too many, or `rated_A` one too few?" in each.message]
    assert len(found) == is_odd and all(each.keys[-1] == "current_A" and each.asks_first for each in found)


@for_each((60.0, 0.0, True), (-60.0, 0.0, True), (40.0, 0.0, False), (60.0, 30.0, False))
def test_planes_counted_from_two_faces_are_asked_after(apart_mm: float, wider_mm: float, asked: bool) -> None:
    """Over 50 mm between two heaps of 10 mm at most: common practice, no source."""
    given = seven()
    names = [each.name for each in given.routed]
    for name in names:
        given = with_pulley(given, name, plane_mm=apart_mm * (name in names[1:3]) + wider_mm * (name == names[4]))
    found = [each for each in DOUBT.of_route(route_of(given)) if each.subject == "planes"]
    way = "before" if apart_mm > 0.0 else "behind"
    told = [f"{' and '.join(sorted(names[1:3]))} stand 60 mm {way} all the others"]
    assert [each.wrong for each in found] == told * asked
    assert all(each.advice == "are all planes counted from one face?" for each in found)

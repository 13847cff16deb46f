"""The top of the file: one wrong thing in a sound file gives one fault, at its line and key, in words that help.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

from pathlib import Path

import pytest

from beltplan.drive.belt import Belt, Friction
from beltplan.drive.layout import Block, CrankSwing
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, RAILCAR, faults_of, written

WHOLE = [
    ("belt: 6PK", "", 2, "belt", "nothing"),
    ("belt: 6PK", "belt: 6QK", 1, "belt", "not a belt designation"),
    ("belt: 6PK", "belt: A1400", 1, "belt", "inside, datum or outside"),
    ("belt: 6PK", "belt: 99PK", 1, "belt", "a belt has 1 to 30"),
    ("belt: 6PK", "belt: [6PK]", 1, "belt", "a list"),
    ("belt: 6PK", "belt: 6PJ", 1, "belt.back_over_rim_mm", "nothing for profile PJ"),
    ("belt: 6PK", "belt: {profile: PK, ribs: 6, back_over_rim_mm: 0.4}", 1, "belt.back_over_rim_mm", "0.4"),
    ("belt: 6PK", "belt: 6PK\nbelts: 3", 2, "belts", "`belt` is there too"),
    ("belt: 6PK", "belt: 6PK\nunits: cm", 2, "units", "'cm'"),
    ("belt: 6PK", "belt: 6PK\nrotation: left", 2, "rotation", "'left'"),
    ("belt: 6PK", "belt: 6PK\ntitle: ''", 2, "title", "an empty text"),
    ("belt: 6PK", "belt: 6PK\ntitle: |\n  a\n  b", 2, "title", "'a\\nb\\n'"),
    ("belt: 6PK", "belt: 6PK\ntitle: [a]", 2, "title", "a list"),
    ("belt: 6PK", "belt: 6PK\nengine: 5", 2, "engine", "'5'"),
    ("belt: 6PK", "belt: 6PK\nengine: {idle_rpm: 0}", 2, "engine.idle_rpm", "0"),
    ("belt: 6PK", "belt: 6PK\nengine: {max_rpm: 1000001}", 2, "engine.max_rpm", "1000001"),
    ("belt: 6PK", "belt: 6PK\nengine: {idle_rpm: 900, max_rpm: 800}", 2, "engine.max_rpm", "800, under idle_rpm"),
    ("belt: 6PK", "belt: 6PK\nengine: {cylinders: 2.5}", 2, "engine.cylinders", "'2.5'"),
    ("belt: 6PK", "belt: 6PK\nengine: {rev_up_rpm_per_s: 0}", 2, "engine.rev_up_rpm_per_s", "0"),
    ("belt: 6PK", "belt: 6PK\nengine: {rev_up_rpm_per_s: .inf}", 2, "engine.rev_up_rpm_per_s", "'.inf'"),
    ("belt: 6PK", "belt: 6PK\nengine: {swing_deg: 40}", 2, "engine.swing_deg", "40"),
    ("belt: 6PK", "belt: 6PK\nengine: {swing_deg: [1]}", 2, "engine.swing_deg", "a list"),
    ("belt: 6PK", "belt: 6PK\nengine: {swing_deg: {rpm: [900, 800], deg: [1, 1]}}", 2, "engine.swing_deg.rpm", "800"),
    (
        "belt: 6PK",
        "belt: 6PK\nengine: {swing_deg: {rpm: [800, 900], deg: [1]}}",
        2,
        "engine.swing_deg.deg",
        "a list of 1",
    ),
    ("belt: 6PK", "belt: 6PK\nengine: {rev_up_rpm: 500}", 2, "engine.rev_up_rpm", "write rev_up_rpm_per_s"),
    ("belt: 6PK", "belt: 6PK\nblock: {material: aluminum}", 2, "block.material", "'aluminum'"),
    ("belt: 6PK", "belt: 6PK\nblock: {rise_K: 80}", 2, "block.material", "nothing"),
    ("belt: 6PK", "belt: 6PK\nblock: {material: iron, rise_K: hot}", 2, "block.rise_K", "'hot'"),
    ("belt: 6PK", "belt: 6PK\nblock: {material: iron, rise_K: 501}", 2, "block.rise_K", "501"),
    ("belt: 6PK", "belt: 6PK\nblock: {material: iron, rise: 80}", 2, "block.rise", "an unknown key"),
    ("belt: 6PK", "belt: 6PK\nblock: iron", 2, "block", "'iron'"),
    ("pulleys:", "pullies:", 2, "pullies", "did you mean pulleys?"),
]


@for_each(*WHOLE)
def test_one_wrong_thing_one_fault(tmp_path: Path, old: str, new: str, line: int, key: str, words: str) -> None:
    assert old in PLAIN
    (fault,) = faults_of(tmp_path, PLAIN.replace(old, new, 1))
    assert (fault.line, fault.key) == (line, key)
    assert words in fault.got
    assert fault.allowed


def test_a_sound_file_is_read(tmp_path: Path) -> None:
    assert read_layout(written(tmp_path, PLAIN)).layout.driver.name == "crank"
    assert read_layout(written(tmp_path, RAILCAR)).layout.adjusted is not None


def test_a_block_and_what_is_assumed_of_it(tmp_path: Path) -> None:
    """80 K, of a belt that is set cold: common practice, no source."""

    def read(block: str) -> Block | None:
        return read_layout(written(tmp_path, f"{PLAIN}block: {block}\n")).layout.block

    assert read("{material: iron, rise_K: -20}") == Block("iron", -20.0)
    assert read("{material: aluminium}") == Block("aluminium", 80.0, rise_assumed=True)


@for_each(
    ("1.2", CrankSwing((1.2,))),
    ("{rpm: [700, 2600], deg: [1.0, 0.2]}", CrankSwing((1.0, 0.2), (700.0, 2600.0))),
    ("", None),
)
def test_swing_of_the_crank_is_a_number_or_a_table(tmp_path: Path, words: str, swing: CrankSwing | None) -> None:
    text = PLAIN.replace("belt: 6PK", f"belt: 6PK\nengine: {{swing_deg: {words}}}", 1)
    assert read_layout(written(tmp_path, text)).layout.engine.swing_deg == swing


# Route, driver and adjuster.
# What is allowed is the project's own definition of the layout file; line numbers are counted in the text.


ROUTE = [
    ("tight, pump, idler]", "tight, pump, pump]", 12, "route.4", "'pump' a second time"),
    ("tight, pump, idler]", "tight, pomp, idler]", 12, "route.3", "did you mean pump?"),
    ("tight, pump, idler]", "tight, [pump], idler]", 12, "route.3", "a list"),
    ("route: [crank, tight, pump, idler]", "route: [crank]", 12, "route", "a list of 1"),
    ("route: [crank, tight, pump, idler]", "route: crank", 12, "route", "'crank'"),
    ("route: [crank, tight, pump, idler]", "", 1, "route", "nothing"),
    ("route: [crank, tight, pump, idler]", "route: [tight, pump, idler]", 12, "route", "'crank', the driver"),
    ("route: [crank, tight, pump, idler]", "route: [crank, pump, idler]", 12, "route", "'tight', with its adjuster"),
    ("role: crankshaft", "role: other", 2, "pulleys", "no driver"),
    ("role: water_pump", "role: crankshaft", 2, "pulleys", "more than one driver: crank, pump"),
    ("role: crankshaft", "role: crankshaft, drives: false", 2, "pulleys", "no driver"),
    ("at: [-190, 300]", "slide: {from: [0, 1], to: [1, 1]}", 10, "pulleys.tight.arm", "adjusters on pump, tight"),
]


@for_each(*ROUTE)
def test_wrong_routes_and_drivers(tmp_path: Path, old: str, new: str, line: int, key: str, words: str) -> None:
    assert old in PLAIN
    (fault,) = faults_of(tmp_path, PLAIN.replace(old, new, 1))
    assert (fault.line, fault.key) == (line, key)
    assert words in fault.got
    assert fault.allowed


def test_another_pulley_may_drive(tmp_path: Path) -> None:
    text = PLAIN.replace("diameter: 130", "diameter: 130, drives: true")
    layout = read_layout(written(tmp_path, text)).layout
    assert [pulley.name for pulley in layout.pulleys.values() if pulley.drives] == ["pump"]


def test_a_second_crankshaft_pulley_off_the_route_is_no_driver(tmp_path: Path) -> None:
    text = PLAIN.replace("pulleys:", "pulleys:\n  second: {role: crankshaft, at: [0, 0], diameter: 120}")
    layout = read_layout(written(tmp_path, text)).layout
    assert layout.driver.name == "crank"
    assert [pulley.name for pulley in layout.unrouted] == ["second"]


# Duties: which loads act together, and each wrong thing as one fault.
# What is allowed is the project's own definition of the layout file; line numbers are counted in the text.


LOADED = PLAIN.replace("diameter: 130", "diameter: 130, load: {torque_Nm: 5}").replace(
    "diameter: 76", "diameter: 76, load: {torque_Nm: 0.1}"
)


@for_each(
    ("", {}),
    ("duty: ", {}),
    ("duty: {}", {}),
    ("duty: {all on: [pump, idler], coasting: []}", {"all on": ("pump", "idler"), "coasting": ()}),
    ("duty: {all on: [idler], off: null}", {"all on": ("idler",)}),
    ("duty: {4: [pump]}", {"4": ("pump",)}),
)
def test_duties(tmp_path: Path, duty: str, expected: dict[str, tuple[str, ...]]) -> None:
    assert read_layout(written(tmp_path, f"{LOADED}{duty}\n")).layout.duties == expected


WRONG = [
    ("[pump]", "duty", "a list"),
    ("5", "duty", "'5'"),
    ("{a: pump}", "duty.a", "'pump'"),
    ("{a: {pump: true}}", "duty.a", "a mapping"),
    ("{a: [pomp]}", "duty.a.1", "did you mean pump?"),
    ("{a: [pump, pump]}", "duty.a.2", "'pump' a second time"),
    ("{a: [pump, crank]}", "duty.a.2", "'crank', a pulley without a load"),
    ("{a: [pump, tight]}", "duty.a.2", "'tight', a pulley without a load"),
    ("{a: [[pump]]}", "duty.a.1", "a list"),
    ("{a: [null]}", "duty.a.1", "nothing"),
    ("{a: [3]}", "duty.a.1", "'3'"),
    ('{"": [pump]}', "duty.", "the name ''"),
    ("{" + "d" * 41 + ": [pump]}", "duty." + "d" * 41, "the name"),
    ('{"a\\e[1m": [pump]}', "duty.a\\x1b[1m", "the name"),
    ("{a: [" + "pump, " * 65 + "]}", "duty.a", "a list of 65"),
    ("{" + ", ".join(f"d{n}: []" for n in range(33)) + "}", "duty", "33 names"),
]


@for_each(*WRONG)
def test_one_wrong_duty_one_fault(tmp_path: Path, duty: str, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, f"{LOADED}duty: {duty}\n")
    assert (fault.line, fault.key) == (13, key)
    assert words in fault.got
    assert fault.allowed


def test_those_there_are_stand_in_the_fault(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, LOADED + "duty: {a: [crank]}\n")
    assert fault.allowed == "pulleys with a load: pump, idler"
    (fault,) = faults_of(tmp_path, PLAIN + "duty: {a: [pump]}\n")
    assert fault.allowed == "no name, as no pulley has a `load`"


def test_each_on_its_line(tmp_path: Path) -> None:
    faults = faults_of(tmp_path, LOADED + "duty:\n  a:\n    - pump\n    - nobody\n  b: [crank]\n")
    assert [(fault.line, fault.key) for fault in faults] == [(16, "duty.a.2"), (17, "duty.b.1")]


def test_a_wrong_load_is_one_fault_and_not_a_missing_one(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, LOADED.replace("torque_Nm: 5", "torque_Nm: x") + "duty: {a: [pump]}\n")
    assert fault.key == "pulleys.pump.load.torque_Nm"


# The belt and the stock.
# Sources: designations 6PK1500 of ISO 9981/9982, AV13x1000 of ISO 2790; that the number of a classical V-belt may be
# its inside, datum or outside length is common practice, no source. The rest is the layout file's own definition.


RIBBED_ONLY = PLAIN.replace(", belt_side: back", "").replace("    belt_side: back\n", "")


def belt_of(folder: Path, belt: str) -> Belt:
    """The belt read from that value of the key."""
    return read_layout(written(folder, RIBBED_ONLY.replace("6PK", belt))).layout.belt


@for_each(
    ("6PK", "PK", 6, None, "effective"),
    ("6PK1685", "PK", 6, 1685.0, "effective"),
    ("'8PK 1500'", "PK", 8, 1500.0, "effective"),
    ("AV13x1000", "AV13", 1, 1000.0, "effective"),
    ("A1400 datum", "A", 1, 1400.0, "datum"),
    ("{profile: PK, ribs: 6, length_mm: 1685}", "PK", 6, 1685.0, "effective"),
    ("{profile: PK, ribs: 6, length_mm: 1685.5, length_kind: effective}", "PK", 6, 1685.5, "effective"),
    ("{profile: B, length_mm: 1400, length_kind: inside}", "B", 1, 1400.0, "inside"),
    ("{profile: AV10, ribs: 1}", "AV10", 1, None, "effective"),
    ("{profile: A}", "A", 1, None, "datum"),
)
def test_belts(tmp_path: Path, text: str, profile: str, ribs: int, length: float | None, kind: str) -> None:
    belt = belt_of(tmp_path, text)
    assert (belt.profile.name, belt.ribs, belt.length_mm, belt.length_kind) == (profile, ribs, length, kind)


OWN = (
    "{profile: PK, ribs: 6, stretch_fit_percent: [0.5, 2], back_over_rim_mm: 2.4, cord_below_back_mm: 1.2, "
    "tolerance_mm: 7, mass_kg_per_m: 0.11, stiffness_N: 1.7e5, friction: {dry: 1, wet: 0.6}}"
)


def test_what_the_user_measured(tmp_path: Path) -> None:
    belt = belt_of(tmp_path, OWN)
    assert belt.stretch_fit == pytest.approx((0.005, 0.02))
    assert (belt.back_over_rim_mm, belt.cord_below_back_mm, belt.tolerance_mm) == (2.4, 1.2, 7.0)
    assert (belt.mass_kg_per_m, belt.stiffness_N) == (0.11, 170_000.0)
    assert belt.friction == Friction(1.0, 0.6, None)


@for_each((0.0,), (-0.3,))
def test_a_v_belt_is_flush_with_the_rim_or_a_little_under_it(tmp_path: Path, back_mm: float) -> None:
    """What is measured is read: a new one flush with the rim, a worn one under it (from memory, low confidence)."""
    assert belt_of(tmp_path, f"{{profile: AV10, back_over_rim_mm: {back_mm}}}").back_mm == pytest.approx(back_mm)


def test_stock_takes_over_what_is_said_of_the_belt(tmp_path: Path) -> None:
    text = PLAIN.replace("6PK", OWN) + "stock: [6PK1500, {profile: PK, ribs: 6, length_mm: 1510.5}]\n"
    stock = read_layout(written(tmp_path, text)).layout.stock
    assert stock is not None
    assert [(belt.length_mm, belt.tolerance_mm, belt.back_over_rim_mm) for belt in stock] == [
        (1500.0, 7.0, 2.4),
        (1510.5, 7.0, 2.4),
    ]


@for_each(
    ("{ribs: 6}", "belt.profile", "nothing"),
    ("{profile: PK}", "belt.ribs", "nothing"),
    ("{profile: PK, ribs: 0}", "belt.ribs", "0"),
    ("{profile: PK, ribs: 31}", "belt.ribs", "31"),
    ("{profile: 6PK, ribs: 6}", "belt.profile", "'6PK'"),
    ("{profile: A, ribs: 2}", "belt.ribs", "2"),
    ("{profile: A, length_mm: 1400}", "belt.length_kind", "nothing beside a length"),
    ("{profile: A, length_mm: 1400, length_kind: effective}", "belt.length_kind", "effective"),
    ("{profile: PK, ribs: 6, length_kind: datum}", "belt.length_kind", "datum"),
    ("{profile: PK, ribs: 6, length_mm: 0}", "belt.length_mm", "0"),
    ("{profile: PK, ribs: 6, stretch_fit_percent: [2, 1]}", "belt.stretch_fit_percent", "[2, 1]"),
    ("{profile: PK, ribs: 6, stretch_fit_percent: 2}", "belt.stretch_fit_percent", "'2'"),
    ("{profile: PK, ribs: 6, back_over_rim_mm: 0}", "belt.back_over_rim_mm", "0"),
    ("{profile: PK, ribs: 6, cord_below_back_mm: 0}", "belt.cord_below_back_mm", "0"),
    ("{profile: PK, ribs: 6, tolerance_mm: -1}", "belt.tolerance_mm", "-1"),
    ("{profile: PK, ribs: 6, mass_kg_per_m: 0}", "belt.mass_kg_per_m", "0"),
    ("{profile: PK, ribs: 6, stiffness_N: 1e99}", "belt.stiffness_N", "1e99"),
    ("{profile: PK, ribs: 6, friction: 0.4}", "belt.friction", "'0.4'"),
    ("{profile: PK, ribs: 6, friction: {dry: 0}}", "belt.friction.dry", "0"),
    ("{profile: PK, ribs: 6, friction: {damp: 1}}", "belt.friction.damp", "an unknown key"),
    ("{profile: PK, ribs: 6, lenght_mm: 1500}", "belt.lenght_mm", "write length_mm"),
    ("{profile: PK, ribs: 6, length_mm: 1500,1/4, length_kind: effective}", "belt.1/4", "a number after a comma"),
)
def test_wrong_belts(tmp_path: Path, belt: str, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, RIBBED_ONLY.replace("6PK", belt))
    assert (fault.line, fault.key) == (1, key)
    assert words in fault.got


@for_each(
    ("6PK1500", "stock", "'6PK1500'"),
    ("[]", "stock", "a list of 0"),
    ("[6PK1500, 6PK]", "stock.2", "'6PK'"),
    ("[6PK1500, 5PK1500]", "stock.2", "5PK"),
    ("[AV13x1000]", "stock.1", "AV13"),
    ("[A1400]", "stock.1", "inside, datum or outside"),
    ("[6PK1500, nonsense]", "stock.2", "not a belt designation"),
    ("[[6PK1500]]", "stock.1", "a list"),
    ("[{profile: PK, ribs: 6}]", "stock.1.length_mm", "nothing"),
    ("[{profile: PK, ribs: 6, length_mm: 1500, tolerance_mm: 3}]", "stock.1.tolerance_mm", "an unknown key"),
)
def test_wrong_stock(tmp_path: Path, stock: str, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN + f"stock: {stock}\n")
    assert (fault.line, fault.key) == (13, key)
    assert words in fault.got

"""The table of keys, held against the dataclasses that the keys fill (the project's own definition)."""

import subprocess
import sys
from collections import defaultdict
from dataclasses import fields
from pathlib import Path
from typing import get_args

import pytest

from beltplan.drive.belt import MM_PER_UNIT, Belt, Friction
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.loads import Load, TableLoad
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley, Role, Slide, SlideSpring, Uncertainty
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.layout_file import MEASURED_BY
from beltplan.layoutfile.schema import (
    KEYS,
    LOADS,
    MEASUREMENT_KEYS,
    OBSTACLES,
    WORDS_OF_SIDES,
    SeenSide,
    key_at,
    measuring_under,
    names_under,
)
from beltplan.measure.readers import Accuracy
from tests.for_each import for_each
from tests.layoutfile.samples import RAILCAR, written


def test_every_path_once_and_under_a_known_mapping() -> None:
    paths = [key.path for key in KEYS]
    assert len(set(paths)) == len(paths)
    for key in KEYS:
        parents = key.parent.split(".")
        holder = ".".join(parents[:-1] if parents[-1] in ("NAME", "ENTRY", "LIMIT") else parents)
        assert not holder or holder in paths


@for_each(*((each,) for each in KEYS), ids=lambda key: key.path)
def test_every_key_is_explained(key: Key) -> None:
    assert key.meaning and key.default
    assert key.least < key.most
    assert key.allowed() and "None" not in key.allowed(25.4)


def test_the_keys_of_flat_mappings_are_the_fields_they_fill() -> None:
    assert set(names_under("engine")) == {field.name for field in fields(Engine)}
    assert set(names_under("belt.friction")) == {field.name for field in fields(Friction)}
    for path in ("uncertainty", "pulleys.NAME.uncertainty"):
        assert set(names_under(path)) == {field.name for field in fields(Uncertainty)}
    renamed = {"stretch_fit": "stretch_fit_percent"}
    assert set(names_under("belt")) == {renamed.get(field.name, field.name) for field in fields(Belt)}


def test_the_keys_of_a_pulley_are_the_fields_they_fill() -> None:
    renamed = {
        "diameter_mm": "diameter",
        "reading": "rim_diameter",
        "at_mm": "at",
        "plane_mm": "plane",
        "flange_mm": "flange_height",
        "diameters_mm": "diameters",
    }
    filled = {renamed.get(field.name, field.name) for field in fields(Pulley)} - {
        "name",
        "adjuster",
        "side_open",
        "plane_by_grooves",
        "usual_load",
        "written",
    }
    assert set(names_under("pulleys.NAME")) == filled | {"arm", "slide", "spring", "tension_N"}


@pytest.mark.parametrize(
    ("path", "kind", "renamed"),
    [
        ("arm", Arm, {"pivot_mm": "pivot", "length_mm": "length", "stops_rad": "stops", "at_rad": "at_deg",
                      "marks_rad": "marks"}),
        ("slide", Slide, {"start_mm": "from", "end_mm": "to"}),
    ],
)  # fmt: skip
def test_the_keys_of_an_adjuster_are_the_fields_they_fill(path: str, kind: type, renamed: dict[str, str]) -> None:
    filled = {renamed.get(field.name, field.name) for field in fields(kind)}
    assert filled >= {"spring", "tension_N"}, "both stand beside the adjuster"
    assert set(names_under(f"pulleys.NAME.{path}")) == filled - {"spring", "tension_N"}


def test_the_keys_of_a_spring_are_the_fields_they_fill() -> None:
    filled = {field.name for spring in (ArmSpring, SlideSpring) for field in fields(spring)}
    assert set(names_under("pulleys.NAME.spring")) == filled


def test_the_keys_of_a_load_are_the_fields_they_fill() -> None:
    renamed = {
        "constant_Nm": "torque_Nm",
        "output_rpm": "output.rpm",
        "output_A": "output.A",
        "table_Nm": "table.torque_Nm",
    }
    filled = {
        "table.rpm" if (load, field.name) == (TableLoad, "rpm") else renamed.get(field.name, field.name)
        for load in get_args(Load) for field in fields(load) if field.name != "assumed"
    }  # fmt: skip
    root = "pulleys.NAME.load"
    below = {f"{key}.{name}" for key in ("output", "table") for name in names_under(f"{root}.{key}")}
    assert set(names_under(root)) - {"output", "table"} | below == filled | {"fan_diameter"}
    assert set(names_under(root)) == {key for form, own in LOADS.items() for key in (form, *own)}


def test_the_keys_of_an_obstacle_are_its_kinds_and_what_goes_with_them() -> None:
    assert set(names_under("obstacles.NAME")) == {key for kind, own in OBSTACLES.items() for key in (kind, *own)}
    assert key_at("obstacles.NAME.units").choices == key_at("units").choices == tuple(MM_PER_UNIT)


def test_the_keys_at_the_top_are_the_fields_they_fill() -> None:
    renamed = {"duties": "duty", "variant": "variants", "idler_sizes_mm": "idler_sizes"}
    filled = {renamed.get(field.name, field.name) for field in fields(Layout)}
    # Which way a spring pushes is told by the path; which values carry their unit, by the values.
    assert set(names_under("")) == filled - {"pushes", "own_units"}


def test_roles_are_those_of_the_pulley() -> None:
    assert key_at("pulleys.NAME.role").choices == get_args(Role)


def test_ranges_in_words() -> None:
    assert key_at("pulleys.NAME.max_rpm").allowed() == "a number above 0 to 1000000 rpm"
    assert key_at("pulleys.NAME.at").allowed() == "[x, y], each -100000 to 100000 mm"
    assert key_at("pulleys.NAME.grooves").allowed() == "a whole number 1 to 60"
    assert key_at("pulleys.NAME.drives").allowed() == "true or false"
    assert key_at("pulleys.NAME.load.table.rpm").allowed() == "[first, second, ...], each 0 to 1000000 rpm"


# The table of measuring keys, held against the layout's table and the dataclasses (the project's own definition).


def test_every_measured_path_once_and_under_a_known_mapping() -> None:
    paths = [key.path for key in MEASUREMENT_KEYS]
    assert len(set(paths)) == len(paths)
    assert not set(paths) & {key.path for key in KEYS}
    for key in MEASUREMENT_KEYS:
        parents = key.parent.split(".")
        holder = ".".join(parents[:-1] if parents[-1] in ("NAME", "PAIR") else parents)
        assert not holder or holder in paths


@for_each(*((each,) for each in MEASUREMENT_KEYS), ids=lambda key: key.path)
def test_every_measured_key_is_explained(key: Key) -> None:
    assert key.meaning and key.default
    assert key.least < key.most
    assert key.allowed() and "None" not in key.allowed(25.4)
    assert key_at(key.path) is key


def test_the_accuracies_are_the_fields_they_fill() -> None:
    assert set(measuring_under("accuracy")) == {field.name for field in fields(Accuracy)}
    defaults = {key.name: key.default for key in MEASUREMENT_KEYS if key.parent == "accuracy"}
    for field in fields(Accuracy):
        assert defaults[field.name].startswith(f"{field.default:g}, ")


def test_sides_are_those_of_the_study() -> None:
    assert get_args(SeenSide) == WORDS_OF_SIDES


def test_what_tells_measurements_from_a_layout_is_among_their_keys() -> None:
    assert set(MEASURED_BY) <= set(measuring_under("")) and not set(MEASURED_BY) & set(names_under(""))


def test_the_top_of_a_layout_knows_no_measuring_key() -> None:
    assert not set(names_under("")) & set(measuring_under(""))
    assert set(names_under("distances.PAIR")) == {"value", "outside", "gap", "accuracy_mm"}


def test_an_unknown_path_is_an_error() -> None:
    with pytest.raises(KeyError):
        key_at("distances.PAIR.colour")


def test_a_layout_is_read_without_the_measuring_modules(tmp_path: Path) -> None:
    program = (
        "import sys; from beltplan.cli.main import main; code = main(['check', sys.argv[1]]); "
        "own = sorted(name for name in sys.modules if name.startswith('beltplan') and 'measur' in name); "
        "print(code, own, file=sys.stderr)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program, written(tmp_path, RAILCAR)], capture_output=True, text=True, check=True
    )
    assert ran.stderr.splitlines()[-1] in ("0 []", "1 []")


# Every range of the layout and the measurements file.
# They are frozen: guards of our own against a digit or a unit too many, with no source. Whoever moves one moves what
# every user may write.


EVERY = (*KEYS, *MEASUREMENT_KEYS)
NUMBERS = {
    (-1e6, 1e6): "circles.NAME.rim points.NAME.places.NAME",
    (-1e5, 1e5): "spring.at_mm spring.rate_N_per_mm",
    (-1080.0, 1080.0): "arm.at_deg arm.marks.new arm.marks.worn arm.stops loops.NAME.arm_deg spring.at_deg",
    (-1000.0, 1000.0): "spring.rate_Nm_per_deg",
    (-360.0, 360.0): "angles.PAIR.value mount.turn_deg obstacles.NAME.turn_deg",
    (-150.0, 500.0): "block.rise_K",
    (-10.0, 10.0): "tilt_deg",
    (0.0, 1.0): "slide.at",
    (0.0, 20.0): "belt.stretch_fit_percent",
    (0.0, 30.0): "engine.swing_deg engine.swing_deg.deg",
    (0.0, 45.0): "uncertainty.angle_deg",
    (0.0, 50.0): "loops.NAME.thickness uncertainty.diameter_mm over:belt.cord_below_back_mm",
    (0.0, 100.0): "marks.NAME.uncertainty_mm uncertainty.position_mm",
    (0.0, 1000.0): "belt.tolerance_mm flange_height movable_mm plane.face_to_first_groove over:arm.inertia_kgm2 "
    "over:mount.slots.ENTRY.width over:slide.mass_kg",
    (0.0, 5000.0): "overhang_mm over:pointer_radius_mm",
    (0.0, 1e4): "inertia_kgm2 load.current_A load.output.A load.pressure_bar spring.torque_Nm over:rated_A",
    (0.0, 2e4): "over:obstacles.NAME.circle.diameter",
    (0.0, 1e5): "load.power_kW plane.stack.NAME over:distances.PAIR.value",
    (
        0.0,
        1e6,
    ): "engine.swing_deg.rpm load.output.rpm load.table.rpm load.table.torque_Nm load.torque_Nm spring.force_N "
    "over:engine.cruise_rpm over:engine.idle_rpm over:engine.max_rpm over:engine.rev_up_rpm_per_s over:max_rpm "
    "over:load.displacement_cm3 over:max_moment_Nm over:min_rpm over:tension_N",
    (0.0, 1e7): "over:max_hub_load_N",
    (0.0, 1e9): "limits.LIMIT limits.LIMIT.NAME",
    (1e-6, 1000.0): "points.NAME.mm_per_px",
    (1e-4, 100.0): "belt.mass_kg_per_m",
    (0.001, 10.0): "belt.friction.design belt.friction.dry belt.friction.wet",
    (0.001, 45.0): "accuracy.angle_deg angles.PAIR.accuracy_deg",
    (0.001, 50.0): "accuracy.diameter_mm diameters.NAME.accuracy_mm",
    (0.001, 100.0): "accuracy.distance_mm accuracy.offset_mm distances.PAIR.accuracy_mm loops.NAME.accuracy_mm "
    "offsets.NAME.accuracy_mm points.NAME.accuracy_mm",
    (0.001, 1000.0): "accuracy.place_px points.NAME.accuracy_px",
    (0.01, 1.0): "belt.loss_factor load.efficiency",
    (0.1, 2000.0): "load.voltage_V",
    (0.1, 1e5): "arm.length",
    (-0.5, 50.0): "belt.back_over_rim_mm",
    (1.0, 30.0): "belt.ribs stock.ENTRY.ribs",
    (1.0, 60.0): "first_groove_used grooves",
    (1.0, 64.0): "engine.cylinders",
    (1.0, 5000.0): "diameter diameters diameters.NAME.value idler_sizes rim_diameter",
    (1.0, 1e5): "loops.NAME.length",
    (1.0, 1e6): "load.at_rpm",
    (1.0, 1e9): "belt.stiffness_N",
    (10.0, 5000.0): "load.fan_diameter",
    (10.0, 1e5): "belt.length_mm stock.ENTRY.length_mm",
}
"""What a number may be, lengths in mm; all others from -100 m to 100 m. over: the least itself is shut out."""
ENTRIES = {
    (0, 32): "duty",
    (0, 64): "duty.NAME variants",
    (0, 200): "obstacles",
    (1, 20): "points",
    (1, 50): "angles.PAIR circles.NAME diameters diameters.NAME distances.PAIR idler_sizes loops.NAME mount.holes "
    "mount.slots offsets.NAME plane.stack spring.readings",
    (1, 64): "pulleys",
    (1, 100): "marks",
    (1, 500): "angles circles diameters distances loops offsets sides",
    (1, 1000): "stock",
    (2, 2): "level",
    (2, 64): "route",
    (2, 100): "loops.NAME.pulleys points.NAME.known points.NAME.places",
    (2, 200): "engine.swing_deg.deg engine.swing_deg.rpm load.output.A load.output.rpm load.table.rpm "
    "load.table.torque_Nm",
    (3, 200): "circles.NAME.rim mount.outline",
    (3, 1000): "obstacles.NAME.polygon",
}
"""How few and how many a list or a mapping may have."""


def _called(key: Key) -> str:
    return "over:" * key.above + key.path.removeprefix("pulleys.NAME.")


def test_what_a_number_may_be() -> None:
    found = defaultdict[tuple[float, float], set[str]](set)
    for key in EVERY:
        if (key.least, key.most) != (-1e5, 1e5) or key.kind == "number":
            found[key.least, key.most].add(_called(key))
    assert found == {ends: set(names.split()) for ends, names in NUMBERS.items()}


def test_how_many_there_may_be() -> None:
    found = defaultdict[tuple[int, int], set[str]](set)
    for key in EVERY:
        if key.entries != (0, 0):
            found[key.entries].add(_called(key))
    assert found == {ends: set(names.split()) for ends, names in ENTRIES.items()}

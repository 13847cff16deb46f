"""The table of keys, held against the dataclasses that the keys fill (the project's own definition)."""

from __future__ import annotations

from dataclasses import fields
from typing import get_args

import pytest

from beltplan.drive.belt import MM_PER_UNIT, Belt, Friction
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.loads import Load, TableLoad
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley, Role, Slide, SlideSpring, Uncertainty
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.schema import KEYS, LOADS, OBSTACLES, key_at, names_under
from tests.for_each import for_each


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
    # Which way a spring pushes is told by the path, not by the file.
    assert set(names_under("")) == filled - {"pushes"}


def test_roles_are_those_of_the_pulley() -> None:
    assert key_at("pulleys.NAME.role").choices == get_args(Role)


def test_ranges_in_words() -> None:
    assert key_at("pulleys.NAME.max_rpm").allowed() == "a number above 0 to 1000000 rpm"
    assert key_at("pulleys.NAME.at").allowed() == "[x, y], each -100000 to 100000 mm"
    assert key_at("pulleys.NAME.grooves").allowed() == "a whole number 1 to 60"
    assert key_at("pulleys.NAME.drives").allowed() == "true or false"
    assert key_at("pulleys.NAME.load.table.rpm").allowed() == "[first, second, ...], each 0 to 1000000 rpm"

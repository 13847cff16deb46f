"""Layouts of which places are mapped, and `check`'s own answer at a place. All invented."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from beltplan.drive.belt import Belt
from beltplan.drive.layout import Circle, Engine, Layout
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import Arm, ArmSpring, WrenchReadings
from beltplan.drive.route import Route, route_of
from beltplan.drive.way_round import NoBeltPath
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.layout_file import read_layout
from tests.cure.drives import revving_camper
from tests.drive.drives import fixed, on_slide, pulley, railcar, with_belt, with_pulley
from tests.drive.drives import layout as layout_of

LAYOUTS = Path(__file__).resolve().parents[2] / "layouts"


def shipped(name: str) -> Layout:
    """A layout that comes with the program."""
    return read_layout(str(LAYOUTS / f"{name}.yaml"), None).layout


def marked() -> Layout:
    """The manual's example with marks on its arm, and limits of its own."""
    given = railcar(limits={"min_clearance_mm": {"": 8.0, "guide": 25.0}, "min_wrap_deg": {"pump": 150.0}})
    arm = given.pulleys["tensioner"].adjuster
    assert isinstance(arm, Arm)
    marks = (float(np.radians(270.0)), float(np.radians(296.0)))
    return with_pulley(given, "tensioner", adjuster=replace(arm, marks_rad=marks))


def stretchy() -> Layout:
    """Three fixed pulleys and a belt that goes on by its own stretch."""
    given = layout_of(
        [
            pulley("crank", 0, 0, 150, role="crankshaft"),
            pulley("pump", 260, 0, 120, role="water_pump"),
            pulley("generator", 120, 220, 70, role="alternator"),
        ]
    )
    return with_belt(given, stretch_fit=(0.01, 0.03))


def named() -> Layout:
    """The manual's example with one belt named."""
    return with_belt(railcar(), length_mm=1840.0)


def named_on_slide() -> Layout:
    """A named belt that from some places of the crank is too long to be pulled to its set tension."""
    return with_belt(on_slide(tension_N=8000.0), length_mm=1000.0)


def where_the_list_ends() -> Layout:
    """A V-belt, loaded, of about the longest length that is listed; from some places it must be longer."""
    belt = Belt(PROFILES["AV13"], mass_kg_per_m=0.12, stiffness_N=6e4)
    given = replace(on_slide((640.0, 0.0), (690.0, 0.0), tension_N=400.0), belt=belt)
    hose = (Circle("hose", (300.0, 150.0), 60.0),)
    loaded = with_pulley(given, "generator", load=TorqueLoad(12.0))
    return replace(loaded, engine=Engine(idle_rpm=700.0, max_rpm=3000.0), obstacles=hose)


def read_spring() -> Layout:
    """An arm whose spring was read; which way its path grows longer depends on where the crank is."""
    read = WrenchReadings(((70.0, 36.0, 30.0), (110.0, 30.0, 24.0)))
    spring = ArmSpring(read.torque_Nm, read.middle_deg, abs(read.slope_Nm_per_deg), read)
    given = layout_of([pulley("crank", 0, 0, 150, role="crankshaft"), pulley("generator", 0, 0, 100, grooves=6)])
    arm = Arm((50.0, -100.0), 100.0, (float(np.radians(60.0)), float(np.radians(120.0))), spring=spring)
    return with_pulley(given, "generator", at_mm=None, adjuster=arm)


SMALL = {"min_diameter_mm": {"": 20.0}}
"""For a coarse profile on pulleys too small for it, which would be a problem at every place."""

DRIVES: dict[str, tuple[Layout, str]] = {
    "seven pulleys, far from the arm": (shipped("railcar"), "alternator"),
    "seven pulleys, beside the arm": (shipped("railcar"), "compressor"),
    "the driver": (shipped("railcar"), "crank"),
    "on the back": (shipped("workboat"), "idler"),
    "beside an arm, obstacles": (shipped("workboat"), "steering_pump"),
    "spare pulleys": (shipped("camper"), "house_alternator"),
    "V-belt on a slide": (shipped("orchard_sprayer"), "crank"),
    "V-belt of unknown stiffness": (with_belt(shipped("orchard_sprayer"), stiffness_N=None), "crank"),
    "marks and own limits": (marked(), "generator"),
    "two pulleys on a slide": (on_slide(), "crank"),
    "set by hand, barely": (named_on_slide(), "crank"),
    "no adjuster": (fixed(), "pump"),
    "stretch": (stretchy(), "generator"),
    "stretch, no list": (replace(stretchy(), belt=replace(stretchy().belt, profile=PROFILES["PJ"])), "generator"),
    "where the list ends": (where_the_list_ends(), "crank"),
    "no list": (replace(with_belt(where_the_list_ends(), profile=PROFILES["PM"], ribs=2), limits=SMALL), "crank"),
    "no list, little travel": (with_belt(on_slide((300.0, 0.0), (303.0, 0.0)), profile=PROFILES["PJ"]), "crank"),
    "a named belt": (named(), "generator"),
    "a spring by what was read": (read_spring(), "crank"),
    "an engine that changes speed": (revving_camper(13.9, 4500.0), "house_alternator"),
}
"""Each with the pulley that is moved."""


def places_round(layout: Layout, count: int, seed: int) -> Floats:
    """Random places over the box of a layout's pulleys and 200 mm round it, (count, 2) mm."""
    at = np.array([p.at_mm for p in layout.routed if p.at_mm is not None])
    return np.random.default_rng(seed).uniform(at.min(axis=0) - 200.0, at.max(axis=0) + 200.0, (count, 2))


def moved_to(layout: Layout, name: str, at: Sequence[float]) -> Layout:
    """The layout with one pulley elsewhere."""
    return with_pulley(layout, name, at_mm=(float(at[0]), float(at[1])))


def route_or_none(layout: Layout) -> Route | None:
    """The route, None where there is no belt path."""
    try:
        return route_of(layout)
    except NoBeltPath:
        return None

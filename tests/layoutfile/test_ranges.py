"""Every range of the layout and the measurements file.

They are frozen: guards of our own against a digit or a unit too many, with no source. Whoever moves one moves what
every user may write.
"""

from __future__ import annotations

from collections import defaultdict

from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS

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
    (0.5, 50.0): "belt.back_over_rim_mm",
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

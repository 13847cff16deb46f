"""Slips of typing: the message shows what to write, with the user's own words in it, so that one try mends them.

What is meant is the project's own reading of each slip; every text shown is put in place of the slip and must be read.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

SHOWN = [
    ("diameter: 76", "diameter: {}", "R38", "76"),
    ("diameter: 76", "diameter: {}", "r 38 mm", "76"),
    ("diameter: 76", "diameter: {}", "38 radius", "76"),
    ("diameter: 76", "diameter: {}", "Ø76", "76"),
    ("diameter: 76", "diameter: {}", "dia 3 in", "3 in"),
    ("diameter: 76", "diameter: {}", "76 mm OD", "76 mm"),
    ("diameter: 76", "diameter: {}", "ca. 76", "76"),
    ("diameter: 76", "diameter: {}", "76 +/- 0.5", "76"),
    ("diameter: 72", "diameter: {}", "1,072.5", "1072.5"),
    ("diameter: 72", "diameter: {}", "72#new", "72 #new"),
    ("at: [0, 245]", "at: [{}, 245]", "\N{MINUS SIGN}12", "-12"),
    ("at: [0, 245]", "at: {}", "[x=0, y=245]", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "[y=245, x=0]", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "0 245", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "(0 245)", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "{x: 0, y: 245}", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "[0; 245]", "[0, 245]"),
    ("stops: [265, 300]", "stops: {}", "265 to 300", "[265, 300]"),
    ("stops: [265, 300]", "stops: [{}, 300]", "265°", "265"),
    ("at: [0, 245]", "{}", "x: 0, y: 245", "at: [0, 245]"),
    ("diameter: 76", "diameter: 76, max_rpm: {}", "~9000 rpm", "9000 rpm"),
    ("diameter: 130", "diameter: 130, load: {}", "0.8 kW", "{power_kW: 0.8 kW}"),
    (
        "diameter: 130",
        "diameter: 130, load: {{pressure_bar: 9, displacement_cm3: 6, efficiency: {}}}",
        "85 %",
        "0.85",
    ),
    ("diameter: 130", "diameter: 130, load: {{{}}}", "power_PS: 0.8", "power_kW: 0.5884"),
    ("diameter: 130", "diameter: 130, load: {{power_kW: 1, at_rpm: {}}}", "2 400", "2400"),
    (
        "diameter: 130",
        "diameter: 130, load: {{pressure_bar: 9, {}}}",
        "displacement_l: 0.006",
        "displacement_cm3: 6",
    ),
    (
        "diameter: 130",
        "diameter: 130, load: {{pressure_bar: 9, displacement_cm3: 6, efficiency: {}}}",
        "85",
        "0.85",
    ),
    ("{pivot: [-150, 215], length", "{{{}: [-150, 215], length", "at", "pivot"),
    ("[crank, tight, pump, idler]", "{}", "crank, tight, pump, idler]", "[crank, tight, pump, idler]"),
    ("[crank, tight, pump, idler]", "{}", "{crank, tight, pump, idler}", "[crank, tight, pump, idler]"),
    ("route:", "limits: {{min_clearance_mm: {}}}\nroute:", "~8 mm", "8 mm"),
    ("role: water_pump", "{}", "Role: Water_Pump", "role: water_pump"),
    ("belt_side: back}", "{}}}", "side: Back", "belt_side: back"),
    ("belt: 6PK", "belt: {}", "6pk-1285", "6PK1285"),
    ("belt: 6PK", "belt: {}", "1285 6PK", "6PK1285"),
    ("belt: 6PK", "belt: {}", "PK6 x 1285 mm", "6PK1285"),
    ("[crank, tight, pump, idler]", "{}", "crank tight pump idler", "[crank, tight, pump, idler]"),
    ("[crank, tight, pump, idler]", "{}", "crank > tight > pump > idler", "[crank, tight, pump, idler]"),
    ("[crank, tight, pump, idler]", "{}", "[crank; tight; pump; idler]", "[crank, tight, pump, idler]"),
    ("route:", "{}\nroute:", "marks: dowel 2.55 6", "{dowel: [2.55, 6]}"),
]
"""What stands in the layout, what in its place with the slip at {}, the slip, and what is shown to write."""


@for_each(("good", "bad", "slip", "meant"), SHOWN)
def test_what_to_write_is_shown_and_can_be_read(tmp_path: Path, good: str, bad: str, slip: str, meant: str) -> None:
    fault, *_ = faults_of(tmp_path, PLAIN.replace(good, bad.format(slip)))
    told = f"{fault.got}; {fault.allowed}"
    assert any(
        f"{before}{meant}" in told for before in ("write ", "Write the diameter: ", "Write ", "entries: ", "mapping: ")
    )
    mended = meant if slip[:5] != "marks" else f"marks: {meant}"
    assert read_layout(written(tmp_path, PLAIN.replace(good, bad.format(mended)))).layout.route


@for_each(
    ("good", "bad", "words"),
    [
        ("route:", "variants: {low: {pump: {at: [1, 2]}}}\nroute:", "an unknown key here: it belongs under `pulleys`"),
        (
            "arm: {pivot: [-150, 215], length: 85, stops: [265, 300], at_deg: 285}",
            "slide: {from: [-9, 1], to: [5, 9], at: 2.85 in}",
            "'2.85 in' (a share, no length: 0.5 is half)",
        ),
        ("route:", "duty: {b: {circle: {at: [1, 2], diameter: 3}}, c: {polygon: []}}\nroute:", "an obstacle, as c"),
        ("pump, idler]", "pump idler]", "'pump idler': a comma is missing between pump and idler"),
        ("pump, idler]", "pump. idler]", "'pump. idler': a comma is missing between pump and idler"),
        ("stops: [265, 300]", "stops: [65, 100]", "285, and `stops` 65 to 100 deg: one is wrong"),
        ("arm: {pivot: [-150, 215], length: 85, stops", "arm: {from: [1, 2], to: [3, 4]} #", "the keys of `slide`"),
        ("route:", "duty: {hose: {circle: {at: [1, 2], diameter: 3}}}\nroute:", "an obstacle"),
        ("tight, pump, idler]", "tight pump idler]", "a comma is missing between tight and pump"),
        ("belt: 6PK", "belt: 6PK\nidle_rpm: 900", "an unknown key here: it belongs under `engine`"),
        ("diameter: 130", "diameter: 130, efficiency: 0.8", "an unknown key here: it belongs under `load`"),
        ("diameter: 76", "diameter: 7:60", "(no colon in a number: write 7.60, or 760?)"),
        ("at: [0, 245]", "at: [- 5, 245]", "take out the space behind the sign of `5`"),
        ("pump, idler]", "\n  pump, idler\nduty: {all: [pump]}", "a closing bracket `]` seems to be missing after"),
        ("route:", "marks: pin: [1, 2]\nroute:", "braces seem to be missing: write {pin: [1, 2]}"),
        ("    diameter: 72", "    diameter:\u00a072", "there is a no-break space"),
    ],
)
def test_what_is_missing_is_told(tmp_path: Path, good: str, bad: str, words: str) -> None:
    assert words in faults_of(tmp_path, PLAIN.replace(good, bad))[0].got


@pytest.mark.parametrize("text", ["130 m", "76 lb", "about", "R", "7 6 5"])
def test_no_number_is_made_of_what_may_mean_another(tmp_path: Path, text: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 76", f"diameter: {text}"))
    assert "rite" not in fault.got


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("at_deg: 285, rate", "at_deg: 285 deg, rate"),
        ("torque_Nm: 26", "torque_Nm: 26 N·m"),
        ("belt: 6PK", "engine: {idle_rpm: 900 rpm}\nbelt: 6PK"),
        ("torque_Nm: 26", "torque_Nm: 26 NM"),
        ("torque_Nm: 26", "torque_Nm: 19 FT-LB"),
        ("diameter: 130", "diameter: 130, load: {power_kW: 0.8kw}"),
        ("diameter: 130", "diameter: 130, max_hub_load_N: 90 LBF"),
        ("diameter: 130", "diameter: 130 MM"),
        ("diameter: 130", "diameter: 5 1/8 IN"),
    ],
)
def test_a_value_may_carry_the_unit_of_its_key(tmp_path: Path, good: str, bad: str) -> None:
    assert read_layout(written(tmp_path, PLAIN.replace(good, bad))).layout.route


def test_obstacles_under_a_duty_are_told_once(tmp_path: Path) -> None:
    own = "duty: {a: {circle: {at: [1, 2], diameter: 3}}, b: {circle: {at: [9, 2], diameter: 3}}}\nroute:"
    (fault,) = faults_of(tmp_path, PLAIN.replace("route:", own))
    assert (fault.key, fault.got) == ("duty.a", "an obstacle, as b") and "above the first" in fault.allowed


@pytest.mark.parametrize(("limit", "obstacles"), [("min_wrap_deg", ()), ("min_clearance_mm", ("hose",))])
def test_a_limit_offers_only_what_it_can_be_for(tmp_path: Path, limit: str, obstacles: tuple[str, ...]) -> None:
    own = f"obstacles: {{hose: {{circle: {{at: [300, 0], diameter: 30}}}}}}\nlimits: {{{limit}: {{pumpe: 5}}}}\n"
    (fault,) = faults_of(tmp_path, PLAIN + own)
    offered = fault.allowed.split(", ")
    assert fault.got == "an unknown name (did you mean pump?)"
    assert offered[: 4 + len(obstacles)] == ["crank", "pump", "idler", "tight", *obstacles] and "fan" in offered


_INCHES = PLAIN.replace("belt:", "units: in\nbelt:").replace("route:", "limits: {min_clearance_mm: 3/8 in}\nroute:")


@for_each(
    ("good", "bad", "got"),
    [
        ("3/8 in", "0.375", "0.375 (a key in mm: is it in inches? Write 0.375 in, or 0.375 mm)"),
        ("3/8 in", "3/8", "'3/8' (a fraction goes with inches: 3/8 in; else a decimal: 0.375)"),
        ("3/8 in", "{pump: 0.375}", "0.375 (a key in mm: is it in inches? Write 0.375 in, or 0.375 mm)"),
        (
            "route:",
            "uncertainty: {position_mm: 0.03}\nroute:",
            "0.03 (a key in mm: is it in inches? Write 0.03 in, or 0",
        ),
        ("diameter: 130", "diameter: 8 3 4", "'8 3 4' (write 8 3/4?)"),
        ("diameter: 130", "diameter: 9. 5/8", "'9. 5/8' (a space goes before a fraction: 9 5/8)"),
    ],
)
def test_numbers_of_a_file_in_inches(tmp_path: Path, good: str, bad: str, got: str) -> None:
    """What mends each is in its message, and can be read; 3/8 in is 9.525 mm."""
    (fault,) = faults_of(tmp_path, _INCHES.replace(good, bad))
    assert fault.got.startswith(got)
    for limit in ("3/8 in", "9.525", "9.525 mm", "{pump: 3/8 in}"):
        (value,) = (
            read_layout(written(tmp_path, _INCHES.replace("3/8 in", limit))).layout.limits["min_clearance_mm"].values()
        )
        assert value == pytest.approx(9.525)


def test_a_variant_that_is_not_there_is_told_with_the_nearest(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}variants: {{low idler: {{}}}}\n", "low idlr")
    assert fault.got == "there is no variant 'low idlr' (did you mean low idler?); there is low idler"
    (fault,) = faults_of(tmp_path, PLAIN, "low")
    assert fault.got == "there is no variant 'low'; the file has none"

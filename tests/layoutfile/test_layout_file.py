"""A whole file: the layout that comes out, its lines and its variants.

Expected numbers are those written in the file, converted by hand (1 in = 25.4 mm exactly, the international inch;
pi rad = 180 deg). Line numbers are counted in the text.
"""

import math
import os
import re
from pathlib import Path

import pytest

from beltplan.drive.layout import Circle, Engine, Polygon
from beltplan.drive.loads import PowerLoad
from beltplan.drive.pulleys import Arm, ArmSpring, Slide, SlideSpring
from beltplan.faults import FaultList, LayoutFaults
from beltplan.layoutfile import document
from beltplan.layoutfile.document import FIRST_LINE, Scalar, Sequence, Table, overlay, parse_document
from beltplan.layoutfile.layout_file import read_every_layout, read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, RAILCAR, faults_of, written


def test_the_whole_example(tmp_path: Path) -> None:
    layout = read_layout(written(tmp_path, RAILCAR)).layout
    assert layout.title == "Track-maintenance railcar, straight-six repower"
    assert (layout.belt.profile.name, layout.belt.ribs, layout.belt.length_mm) == ("PK", 6, None)
    assert layout.rotation == "clockwise"
    assert layout.engine == Engine(750.0, 1600.0, 2600.0, 6)
    assert layout.route == ("crank", "tensioner", "pump", "guide", "generator")
    assert layout.obstacles == (
        Circle("hose", (260.0, 120.0), 30.0),
        Polygon("head", ((-60.0, 330.0), (60.0, 330.0), (60.0, 380.0), (-60.0, 380.0))),
    )
    assert [belt.length_mm for belt in layout.stock or ()] == [1685.0, 1700.0]
    assert layout.limits == {"min_wrap_deg": {"alternator": 120.0, "pump": 95.0}}
    assert layout.variant is None


def test_the_pulleys_of_the_example(tmp_path: Path) -> None:
    pulleys = read_layout(written(tmp_path, RAILCAR)).layout.pulleys
    assert [(p.diameter_mm, p.at_mm, p.belt_side, p.drives) for p in pulleys.values()] == [
        (190.0, (0.0, 0.0), "ribbed", True),
        (130.0, (-190.0, 300.0), "ribbed", False),
        (60.0, (235.0, 300.0), "ribbed", False),
        (76.0, (0.0, 245.0), "back", False),
        (72.0, None, "back", False),
    ]
    assert (pulleys["generator"].max_rpm, pulleys["generator"].turns) == (15000.0, "either")
    assert pulleys["crank"].grooves == 6


def test_the_arm_of_the_example(tmp_path: Path) -> None:
    arm = read_layout(written(tmp_path, RAILCAR)).layout.pulleys["tensioner"].adjuster
    assert isinstance(arm, Arm)
    assert (arm.pivot_mm, arm.length_mm) == ((-150.0, 215.0), 85.0)
    assert arm.stops_rad == pytest.approx((265 * math.pi / 180, 300 * math.pi / 180), rel=1e-15)
    assert arm.at_rad == pytest.approx(285 * math.pi / 180, rel=1e-15)
    assert arm.spring == ArmSpring(26.0, 285.0, 0.35)


INCHES = """\
units: in
belt: {profile: PK, ribs: 4, back_over_rim_mm: 2.4}
pulleys:
  crank: {role: crankshaft, at: [0, -1], diameter: 6, plane: 0.5, flange_height: 0.25}
  pump: {role: water_pump, at: [-8, 10], rim_diameter: 5}
  alt: {role: alternator, diameter: 2.5, slide: {from: [8, 10], to: [10, 10], at: 0.25},
        spring: {force_N: 500, at_mm: 12, rate_N_per_mm: -4}}
route: [crank, pump, alt]
obstacles: {hose: {circle: {at: [1, 2], diameter: 3}}, box: {polygon: [[0, 0], [1, 0], [1, 1]]}}
"""


def test_inches_are_lengths_of_the_file_but_never_of_keys_in_mm(tmp_path: Path) -> None:
    """An inch is 25.4 mm exactly (ISO 31-1)."""
    layout = read_layout(written(tmp_path, INCHES)).layout
    crank, pump, alt = layout.pulleys.values()
    assert crank.at_mm == pytest.approx((0.0, -25.4))
    assert (crank.diameter_mm, crank.plane_mm, crank.flange_mm) == pytest.approx((152.4, 12.7, 6.35))
    assert pump.diameter_mm == pytest.approx(127.0) and pump.reading == "rim"
    assert isinstance(alt.adjuster, Slide)
    assert alt.adjuster.start_mm == pytest.approx((203.2, 254.0))
    assert alt.adjuster.end_mm == pytest.approx((254.0, 254.0))
    assert (alt.adjuster.at, alt.adjuster.spring) == (0.25, SlideSpring(500.0, 12.0, 4.0))
    assert layout.belt.back_over_rim_mm == 2.4
    hose, box = layout.obstacles
    assert isinstance(hose, Circle) and isinstance(box, Polygon)
    assert (hose.diameter_mm, *hose.at_mm) == pytest.approx((76.2, 25.4, 50.8))
    assert box.corners_mm[2] == pytest.approx((25.4, 25.4))


def test_inches_of_an_arm(tmp_path: Path) -> None:
    arm = read_layout(written(tmp_path, "units: in\n" + PLAIN)).layout.pulleys["tight"].adjuster
    assert isinstance(arm, Arm)
    assert (arm.length_mm, *arm.pivot_mm) == pytest.approx((25.4 * 85.0, -25.4 * 150.0, 25.4 * 215.0))


def test_lines_of_keys(tmp_path: Path) -> None:
    file = read_layout(written(tmp_path, RAILCAR))
    assert file.line_of("pulleys", "pump", "at") == 8
    assert file.line_of("pulleys", "tensioner", "arm", "pivot") == 15
    assert file.line_of("pulleys", "tensioner", "plane") == 11
    assert file.line_of("stock", "2") == 21
    assert file.line_of("nowhere") == file.line_of() == 1


def test_title_defaults_to_the_file_name(tmp_path: Path) -> None:
    assert read_layout(written(tmp_path, PLAIN)).layout.title == "layout"


def test_a_variant_is_laid_over_the_file(tmp_path: Path) -> None:
    path = written(tmp_path, RAILCAR)
    base, high = read_layout(path), read_layout(path, "high mount")
    assert base.variants == high.variants == ("high mount",)
    assert high.layout.pulleys["generator"].at_mm == (210.0, 335.0)
    assert high.layout.pulleys["generator"].diameter_mm == 60.0
    assert base.layout.pulleys["generator"].at_mm == (235.0, 300.0)
    assert (high.layout.variant, high.layout.title) == ("high mount", base.layout.title)
    assert high.line_of("pulleys", "generator", "at") == 24
    assert high.line_of("pulleys", "pump", "at") == 8


def test_a_variant_replaces_lists_and_null_deletes(tmp_path: Path) -> None:
    text = PLAIN + "variants: {short: {pulleys: {idler: null}, route: [crank, tight, pump]}, same: }\n"
    path = written(tmp_path, text)
    short = read_layout(path, "short").layout
    assert (short.route, list(short.pulleys)) == (("crank", "tight", "pump"), ["crank", "pump", "tight"])
    assert read_layout(path, "same").layout.route == ("crank", "tight", "pump", "idler")


def test_a_key_in_capitals_is_one_fault_with_variants_too(tmp_path: Path) -> None:
    assert "\npulleys:" in PLAIN
    text = PLAIN.replace("\npulleys:", "\nPulleys:") + "variants: {near: {pulleys: {pump: {diameter: 90}}}}\n"
    (fault,) = faults_of(tmp_path, text)
    assert fault.key == "Pulleys" and "(write pulleys)" in fault.got


def test_faults_of_variants_are_found_whichever_is_asked_for(tmp_path: Path) -> None:
    text = PLAIN + "variants:\n  big:\n    pulleys: {pump: {diameter: -1}}\n  none:\n    pulleys: {crank: null}\n"
    faults = faults_of(tmp_path, text)
    assert [(f.line, f.key) for f in faults] == [
        (2, "variants.none.pulleys"),
        (12, "variants.none.route.1"),
        (15, "variants.big.pulleys.pump.diameter"),
    ]


def test_a_fault_of_the_base_is_not_told_again_for_each_variant(tmp_path: Path) -> None:
    faults = faults_of(tmp_path, RAILCAR.replace("diameter: 130", "diameter: 0"))
    assert [(f.line, f.key, f.got) for f in faults] == [(8, "pulleys.pump.diameter", "0")]


def test_an_unknown_variant_lists_those_there_are(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, RAILCAR, "low mount")
    words = "there is no variant 'low mount' (did you mean high mount?); there is high mount"
    assert (fault.line, fault.key, fault.got, fault.allowed) == (23, "variants", words, "")
    (fault,) = faults_of(tmp_path, PLAIN, "low mount")
    assert (fault.line, fault.key, fault.got) == (1, "variants", "there is no variant 'low mount'; the file has none")


@for_each(
    ("variants: [a, b]", 13, "variants", "a list"),
    ("variants: {a: 5}", 13, "variants.a", "'5'"),
    ("variants: {a: {variants: {b: {}}}}", 13, "variants.a.variants", "variants in a variant"),
    ('variants: {"": {}}', 13, "variants.", "the name ''"),
    ("variants: {a: {engin: {}}}", 13, "variants.a.engin", "write engine"),
    ("variants: {" + ", ".join(f"v{n}: " for n in range(65)) + "}", 13, "variants", "65 variants"),
)
def test_wrong_variants(tmp_path: Path, variants: str, line: int, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN + variants + "\n")
    assert (fault.line, fault.key) == (line, key)
    assert words in fault.got


def test_every_fault_in_one_run_by_line(tmp_path: Path) -> None:
    text = (
        RAILCAR.replace("units: mm", "units: cm")
        .replace("belt: 6PK", "belt: 6QK")
        .replace("role: water_pump", "role: waterpump")
        .replace("guide, gen", "gide, gen")
        .replace("at: [260, 120]", "at: [260]")
        .replace("min_wrap_deg", "min_wrap")
        .replace("cylinders: 6", "cylinders: x")
    )
    faults = faults_of(tmp_path, text)
    assert [(f.line, f.key) for f in faults] == [
        (2, "units"),
        (4, "belt"),
        (5, "engine.cylinders"),
        (8, "pulleys.pump.role"),
        (17, "route.4"),
        (19, "obstacles.hose.circle.at"),
        (22, "limits.min_wrap"),
    ]


def test_the_text_of_the_faults(tmp_path: Path) -> None:
    path = written(tmp_path, PLAIN.replace("diameter: 130", "diametr: 130"))
    with pytest.raises(LayoutFaults) as caught:
        read_layout(path)
    lines = str(caught.value).splitlines()
    assert caught.value.path == path
    assert [line.split(": got ")[0] for line in lines] == [f"{path}:4: pulleys.pump.diametr"]
    assert "did you mean diameter?" in lines[0]
    assert "; allowed: diameter, diameters and " in lines[0]


def test_every_layout_of_a_file_is_what_is_read_of_each_alone(tmp_path: Path) -> None:
    text = PLAIN + "variants: {wide: {pulleys: {crank: {diameter: 200}}}, bare: {}}\n"
    path = written(tmp_path, text)
    every = read_every_layout(path)
    assert [file.layout.variant for file in every] == [None, "wide", "bare"]
    for file in every:
        alone = read_layout(path, file.layout.variant)
        assert (file.layout, file.lines, file.variants) == (alone.layout, alone.lines, alone.variants)


def test_a_fault_in_any_variant_refuses_them_all(tmp_path: Path) -> None:
    path = written(tmp_path, PLAIN + "variants: {bad: {belt: 6XY}}\n")
    with pytest.raises(LayoutFaults, match=r"variants\.bad\.belt"):
        read_every_layout(path)


# Laying one mapping over another: key by key, as RFC 7396 (JSON merge patch) does it.


def table(text: str) -> Table:
    """The mapping of a YAML text."""
    read = parse_document(text, FaultList())
    assert read is not None
    return read


def plain(node: object) -> object:
    """The same as plain data, keys that hold null left out."""
    if isinstance(node, Table):
        values = {key: plain(entry.value) for key, entry in node.entries.items()}
        return {key: value for key, value in values.items() if value is not None}
    if isinstance(node, Scalar):
        return None if node.is_null else node.text
    return [plain(item) for item in getattr(node, "items", ())]


def test_the_example_of_rfc_7396_section_3() -> None:
    author = "{givenName: John, familyName: Doe}"
    base = table(f"{{title: Goodbye!, author: {author}, tags: [example, sample], content: This}}")
    patch = table("{title: Hello!, phoneNumber: '+01', author: {familyName: null}, tags: [example]}")
    assert plain(overlay(base, patch)) == {
        "title": "Hello!",
        "author": {"givenName": "John"},
        "tags": ["example"],
        "content": "This",
        "phoneNumber": "+01",
    }


def test_lines_stay_those_of_the_values() -> None:
    laid = overlay(table("a: {b: 1}\nc: 2\n"), table("\n\n\na: {b: 3}\n"))
    inner = laid.entries["a"].value
    assert isinstance(inner, Table)
    assert (laid.entries["a"].line, inner.entries["b"].line, laid.entries["c"].line) == (1, 4, 2)


def test_the_base_is_left_as_it_was() -> None:
    base = table("a: {b: 1}\n")
    overlay(base, table("a: {b: 2, c: 3}\n"))
    assert plain(base) == {"a": {"b": "1"}}


def test_a_pulley_that_a_variant_names_at_its_left_edge_is_told_where_it_belongs(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN + "variants:\n  tight: {pump: {diameter: 120}}\n")
    assert (fault.line, fault.key) == (14, "variants.tight.pump")
    assert (fault.got, fault.allowed) == ("an unknown key here", "under `pulleys`, as pulleys: {pump: ...}")
    assert read_layout(written(tmp_path, PLAIN + "variants:\n  tight: {pulleys: {pump: {diameter: 120}}}\n")).variants


@for_each(
    ("limits: {min_wrap_deg: 100}\nlimits: {min_rim_gap_mm: 6}\n", "; join them: write {"),
    ("title: a\ntitle: b\n", ""),
    ("title: a\ntitle: a\n", "; they say the same: take one out"),
    ("limits: {min_wrap_deg: 100}\nlimits: {min_wrap_deg: 90}\n", "; join them: all of their keys under one"),
    ("limits: {min_wrap_deg: 100}\nlimits: 6\n", ""),
)
def test_mappings_under_one_key_are_to_be_joined(tmp_path: Path, text: str, told: str) -> None:
    """What is shown in place of both reads."""
    (fault,) = faults_of(tmp_path, PLAIN + text)
    assert fault.allowed.startswith("each key once" + told) and (told or fault.allowed == "each key once")
    if told.endswith("{"):
        limits = read_layout(
            written(tmp_path, f"{PLAIN}limits: {fault.allowed.partition('write ')[2]}\n")
        ).layout.limits
        assert limits == {"min_wrap_deg": {"": 100.0}, "min_rim_gap_mm": {"": 6.0}}


@pytest.mark.usefixtures("loader")
@for_each(
    ("diameter: 130", "diameter: 130, plane", "plane", "no value (write plane: ...)"),
    ("diameter: 130", "diameter: 130, rated_A\n , plane: 1", "rated_A", "no value (write rated_A: ...)"),
    ("diameter: 130", "diameter: 130, load", "load", "nothing"),
    ("role: water_pump, ", "role, ", "role", "no value (write role: ...)"),
    ("diameter: 130", "diameter: 130, colour", "colour", "an unknown key"),
    ("diameter: 130", "diameter: 130, plane 12", "plane 12", "an unknown key (write plane: 12, with a colon and a"),
)
def test_a_key_alone_in_braces_is_no_null(tmp_path: Path, good: str, bad: str, key: str, words: str) -> None:
    """YAML takes it for one; behind a colon nothing stands for a key left out, as a null that is written."""
    (fault,) = faults_of(tmp_path, "# \u00fc\U0001f600\n" + PLAIN.replace(good, bad))
    assert fault.key == f"pulleys.pump.{key}" and fault.got.startswith(words)
    for nothing in (": null", ": "):
        text = PLAIN.replace("diameter: 130", f"diameter: 130, plane{nothing}")
        assert read_layout(written(tmp_path, text)).layout.pulleys["pump"].plane_mm is None


@for_each(
    (r"  (pump): .*", "pulleys", "nothing", "{role: ..."),
    (r"(engine): .*", "", "is empty", "{idle_rpm: ..., cruise_rpm: ..., max_rpm: ...}; or `engine: null`"),
    (r"    (arm): .*", "pulleys.tensioner", "is empty", "{pivot: [x, y], length: ..., stops: [first, second]}"),
    (r"    (spring): .*", "pulleys.tensioner", "is empty", "{torque_Nm: ..., at_deg: ..., rate_Nm_per_deg: ...}"),
    (r"    (slide): .*", "pulleys.tensioner", "is empty", "{from: [x, y], to: [x, y]}"),
    (r"    (load): .*", "pulleys.tensioner", "is empty", "usual or {current_A: ..., voltage_V: ...}"),
)
def test_an_empty_block_is_told_alone_at_its_line(tmp_path: Path, at: str, above: str, got: str, form: str) -> None:
    key = at.partition(")")[0].partition("(")[2]
    text = (
        RAILCAR if re.search(at, RAILCAR) else re.sub(r"(    )arm: .*\n.*spring", rf"\1{key}: 1\n\1tension_N", RAILCAR)
    )
    text = re.sub(r"tension_N: .*", "tension_N: 400", text) if key == "slide" else text
    text = text if key != "load" else RAILCAR.replace("    spring", "    load: usual\n    spring")
    text = re.sub(at, lambda found: found[0].partition(":")[0] + ":", text)
    (fault,) = faults_of(tmp_path, text)
    (line,) = [i for i, each in enumerate(text.splitlines(), 1) if each.strip() == f"{key}:"]
    assert (fault.line, fault.key) == (line, f"{above}.{key}".lstrip("."))
    assert fault.got.startswith(got) and form in fault.got + fault.allowed


@for_each(
    ("at: [-190, 300]", "x: -190, y: 300"),
    ("at: [-190, 300]", "Y: 300, X: -190"),
    ("at: [-190, 300]", "y_mm: 300, x_mm: -190"),
    ("at: [-190, 300]", "at: <{y: 300, x: -190}>"),
    ("diameter: 130", "radius: 65"),
    ("diameter: 130", "r: 65 mm"),
    ("diameter: 130", f"circumference: {130.0 * math.pi:.2f}"),
    ("diameter: 30", "radius: 15"),
    ("diameter: 30", f"radius: {15.0 / 25.4:.6f} in"),
    ("at: [260, 120]", "x: 260, y: 120"),
    ("diameter: 130", "diameter: 130, load: {<power_hp: 1.2>}"),
    ("diameter: 130", "diameter: 130, load: {<watts: 900>}"),
)
def test_a_key_for_another_quantity_is_told_with_what_to_write(tmp_path: Path, good: str, bad: str) -> None:
    """What is told, typed in place of the slip, gives the file as it was meant."""
    (fault,) = faults_of(tmp_path, RAILCAR.replace(good, re.sub("[<>]", "", bad)))
    meant = fault.got.partition("(write ")[2].rstrip(")")
    whole = bad if "<" in bad else f"<{bad}>"
    mended = read_layout(written(tmp_path, RAILCAR.replace(good, re.sub("<.*>", meant, whole)))).layout
    if "load" not in bad:
        right = read_layout(written(tmp_path, RAILCAR)).layout
        assert mended.pulleys["pump"].diameter_mm == pytest.approx(right.pulleys["pump"].diameter_mm, abs=0.01)
        assert mended.pulleys["pump"].at_mm == right.pulleys["pump"].at_mm
        hose, known = mended.obstacles[0], right.obstacles[0]
        assert isinstance(hose, Circle) and isinstance(known, Circle) and hose.at_mm == known.at_mm
        assert hose.diameter_mm == pytest.approx(known.diameter_mm, abs=0.01)
    else:
        # 1 hp is 550 ft lbf/s = 745.7 W.
        load = mended.pulleys["pump"].load
        assert isinstance(load, PowerLoad)
        assert load.power_kW == pytest.approx(1.2 * 0.7457 if "hp" in bad else 0.9, rel=1e-4)


@for_each(
    ("gnerator", "route: [crank, tensioner, pump, guide, generator]"),
    ("genreator", "variants:\n  one: {route: [crank, tensioner, pump, guide, generator]}"),
    ("generators", "duty: {all: [generator]}\nroute: [crank, tensioner, pump, guide]"),
)
def test_a_misspelt_name_of_a_pulley_is_told_where_it_is_defined(tmp_path: Path, bad: str, used: str) -> None:
    """Alone, wherever it is used: in variants as well, or only there."""
    text = re.sub("(?s)route: .*?\n", "", RAILCAR).replace("  generator:", f"  {bad}:").replace("variants:\n", "")
    text = text.replace("  high mount", f"{used}\n{'' if 'variants' in used else 'variants:'}\n  high mount")
    own = [fault for fault in faults_of(tmp_path, text) if fault.key != "route" and "load" not in fault.got]
    assert [fault.key for fault in own] == [f"pulleys.{bad}"] and "(write generator, as in line " in own[0].got


def test_a_key_three_times_is_one_fault(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}title: a\ntitle: b\ntitle: c\n")
    assert (fault.line, fault.got) == (14, "the key 3 times: a in line 13, b in line 14, c in line 15")


def test_a_misspelt_pulley_in_a_variant_is_asked_after_once(tmp_path: Path) -> None:
    """It would else be a new pulley of which all is missing."""
    (fault,) = faults_of(tmp_path, PLAIN + "variants:\n  small: {pulleys: {pumpp: {diameter: 120}}}\n")
    assert (fault.line, fault.key) == (14, "variants.small.pulleys.pumpp")
    assert fault.got == "a pulley without a role that the file does not have (did you mean pump?)"


# The bytes of a file. Source: YAML 1.1 specification, 5.1 (character set) and 5.2 (encoding, byte order mark).


@for_each(
    (b"belt: 6PK\ntitle: \xff\xfe\n", 2, "not UTF-8"),
    (PLAIN.encode("utf-16"), 1, "not UTF-8"),
    (b"belt: 6PK\x00\n", 1, "control character '\\x00'"),
    (b"belt: 6PK\n\n\x1b[31m: 1\n", 3, "control character '\\x1b'"),
    (b"belt: 6PK\r\ntitle: a\x7fb\r\n", 2, "control character '\\x7f'"),
    # The first of several is told, a byte order mark inside the text among them.
    ("belt: 6PK\ntitle: \ufeffa\nx: \x00\n".encode(), 2, "control character '\\ufeff'"),
    ("belt: 6PK\ntitle: \x00a\nx: \ufeff\n".encode(), 2, "control character '\\x00'"),
    (b"\x89PNG\r\n\x1a\n\x00\x00", 1, "a picture"),
    (b"%PDF-1.4\n%\xe2\xe3", 1, "a PDF"),
    (b"PK\x03\x04\x14", 1, "a spreadsheet"),
    (b"<html><body>", 1, "a page (HTML)"),
    (FIRST_LINE.encode() + b"<p>", 1, "a page with no layout in it"),
    (b"<svg xmlns='a'/>", 1, "a drawing (SVG)"),
    (b"  0\nSECTION\n  2\n", 1, "a drawing (DXF)"),
    (b"name,x,y\ncrank,0,0\n", 1, "a table (CSV)"),
    (b"#" * (256 * 1024 + 1), 1, "more than 256 kB"),
)
def test_bytes_that_are_no_layout(tmp_path: Path, data: bytes, line: int, words: str) -> None:
    (fault,) = faults_of(tmp_path, data)
    assert (fault.line, fault.key) == (line, "file")
    assert words in fault.got


def test_a_byte_order_mark_and_other_line_ends_are_accepted(tmp_path: Path) -> None:
    data = b"\xef\xbb\xbf" + PLAIN.replace("\n", "\r\n").encode("utf-8")
    assert read_layout(written(tmp_path, data)).layout.route == ("crank", "tight", "pump", "idler")


def test_letters_of_any_language_are_accepted(tmp_path: Path) -> None:
    text = PLAIN.replace("idler", "Umlenkrolle größer").replace("role: Umlenkrolle größer", "role: idler")
    assert "Umlenkrolle größer" in read_layout(written(tmp_path, text)).layout.pulleys


@pytest.mark.parametrize("name", ["missing.yaml", "", "a\x00b", "."])
def test_a_path_that_cannot_be_read(tmp_path: Path, name: str) -> None:
    with pytest.raises(LayoutFaults) as caught:
        read_layout(str(tmp_path / name) if name else "")
    (fault,) = caught.value.faults
    assert (fault.line, fault.key) == (0, "file")
    assert any(word in fault.got for word in ("there is no file", "null byte", "a folder", "ermission"))


def test_a_pipe_or_device_is_never_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for path in (str(tmp_path / "pipe"), os.devnull):
        with pytest.raises(LayoutFaults, match="a pipe or device, no plain file"):
            read_layout(path)


def test_a_file_that_is_not_there_is_told_with_its_folder(tmp_path: Path) -> None:
    for path, words in (
        ("nofile.yaml", "there is no file nofile.yaml in this folder"),
        ("layouts/railcar", "there is no file railcar in layouts (did you mean railcar.yaml?)"),
        ("layouts/railcer.yaml", "there is no file railcer.yaml in layouts (did you mean railcar.yaml?)"),
        (str(tmp_path / "a\x1b[31m.yaml"), f"there is no file a\\x1b[31m.yaml in {tmp_path}"),
    ):
        with pytest.raises(LayoutFaults) as caught:
            read_layout(path)
        assert str(caught.value) == words


# YAML text as a tree: what the parser must never do to us.
# Source of the words (alias, anchor, tag, merge key): YAML 1.1 specification, chapters 3 and 5, and its merge key type.


BOMB = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"a{n}: &a{n} [" + ", ".join([f"*a{n - 1}"] * 9) + "]\n" for n in range(1, 12)
)


@pytest.fixture(params=["compiled", "pure Python"])
def loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both of PyYAML's parsers, for a machine without the compiled one."""
    import yaml

    name = "CSafeLoader" if request.param == "compiled" else "SafeLoader"
    monkeypatch.setattr(document, "LOADER", getattr(yaml, name, yaml.SafeLoader))


def test_tree_with_lines() -> None:
    faults = FaultList()
    tree = parse_document("a: 010\nb:\n  - 'x'\n  - &n {c: }\n  - *n\n", faults)
    assert not faults.found and tree is not None
    assert tree.entries["a"].value == Scalar(1, "010", True)
    items = tree.entries["b"].value
    assert isinstance(items, Sequence) and tree.entries["b"].line == 2
    assert items.items[0] == Scalar(3, "x", False)
    assert isinstance(items.items[1], Table) and items.items[2] is items.items[1]
    empty = items.items[1].entries["c"].value
    assert isinstance(empty, Scalar) and empty.is_null


@pytest.mark.usefixtures("loader")
@for_each(
    ("", 1, "an empty file"),
    ("# only a comment\n", 1, "an empty file"),
    ("---\n", 1, "an empty file"),
    ("- a\n- b\n", 1, "a list"),
    ("just words\n", 1, "'just words'"),
    ("a: 1\n---\nb: 2\n", 2, "a second document"),
    ("a: [1, 2\nb: 3\n", 1, "a closing bracket `]` seems to be missing after `[1, 2`"),
    ("a: 1\n\tb: 2\n", 2, "indent with spaces"),
    ("a: *nobody\n", 1, "no anchor before it"),
    ("a: 1\nb: &b [*b]\n", 2, "inside its own anchor"),
    (BOMB, 5, "more than 20000 values"),
    ("a: " + "[" * 100_000, 1, "nesting"),
    ("a: " + "{b: " * 50_000, 1, "nesting deeper than 30"),
    ("- " * 40 + "x\n", 1, "nesting deeper than 30"),
    ("a: [" + "x," * 100_000 + "]\n", 1, "more than 60000 parts"),
    ("a: [" + "x," * 25_000 + "]\n", 1, "more than 20000 values"),
)
def test_text_that_cannot_be_read(tmp_path: Path, text: str, line: int, words: str) -> None:
    (fault,) = (each for each in faults_of(tmp_path, text) if each.key == "file")
    assert fault.line == line and words in fault.got


@pytest.mark.usefixtures("loader")
@for_each(
    (("diameter: 130}", "diameter: !!float 130}"), 4, "file", "the tag 'tag:yaml.org,2002:float'"),
    (("diameter: 130}", "diameter: !secret 130}"), 4, "file", "the tag '!secret'"),
    (("crank: {role", "crank: !!python/object/apply:os.system {role"), 3, "file", "python/object/apply"),
    (
        ("diameter: 130}", "diameter: 130, diameter: 131}"),
        4,
        "pulleys.pump.diameter",
        "twice: 130 in line 4, 131 in line 4",
    ),
    (("route:", "belt: 6PK\nroute:"), 12, "belt", "the key twice: 6PK in line 1, 6PK in line 12"),
    (("belt: 6PK", "belt: 6PK\n? [a, b]\n: 1"), 2, "file", "a list as a key"),
    (("belt: 6PK", "belt: 6PK\n? {a: b}\n: 1"), 2, "file", "a mapping as a key"),
    (("belt: 6PK", "belt: 6PK\nengine: {{idle_rpm: 800}, cylinders: 4}"), 2, "engine", "braces in braces"),
    (("belt: 6PK", "belt: 6PK\nengine: {{idle_rpm: 800}}"), 2, "engine", "braces in braces"),
    (("belt: 6PK", "belt: 6PK\nengine: {{idle_rpm: 800}, {cylinders: 4}}"), 2, "engine", "lists one after the other"),
    (("diameter: 130}", "diameter: 130, <<: {turns: either}}"), 4, "pulleys.pump.<<", "a merge key"),
)
def test_yaml_that_is_refused(tmp_path: Path, change: tuple[str, str], line: int, key: str, words: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace(*change))
    assert (fault.line, fault.key) == (line, key)
    assert words in fault.got


@pytest.mark.usefixtures("loader")
def test_aliases_within_reason_are_read(tmp_path: Path) -> None:
    text = PLAIN.replace("at: [0, 0]", "at: &zero [0, 0]").replace("at: [0, 245]", "at: *zero")
    assert read_layout(written(tmp_path, text)).layout.pulleys["idler"].at_mm == (0.0, 0.0)

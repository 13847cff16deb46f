"""The starter layout: read without fault, sound, and with a word on every key.

The least wraps are the project's first screen of its roles (common practice, no source) and a tenth more.
"""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
import yaml

from beltplan.drive.layout import Circle, Layout
from beltplan.drive.loads import Load
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import Loop, close_loop
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.schema import KEYS
from beltplan.layoutfile.starter import starter_of
from tests.for_each import for_each
from tests.layoutfile.samples import written
from tests.outlines.drawings import dxf_of, new_dxf
from tests.starters import STARTER

UNUSED = re.compile(r"^#(?=\w|  )", re.MULTILINE)
SHOWN_ELSEWHERE = {
    "pulleys.NAME.uncertainty.diameter_mm", "pulleys.NAME.uncertainty.angle_deg", "stock.ENTRY.length_kind",
    "in_doubt",
}  # fmt: skip
"""As keys of the whole layout, and of its belt; the last is written by `measure`."""
LEAST_WRAP_DEG = {"crank": 150.0, "generator": 132.0, "pump": 99.0, "tensioner": 66.0, "guide": 22.0}


def loops(layout: Layout, settings: int) -> Loop:
    """The belt's path over the adjuster's travel, in the listed order."""
    adjusted = layout.adjusted
    assert adjusted is not None and adjusted.adjuster is not None
    travel = np.linspace(*adjusted.adjuster.travel, settings)
    centres = [
        adjusted.adjuster.track.centre_at(travel) if p is adjusted else np.tile(p.at_mm or (), (settings, 1))
        for p in layout.routed
    ]
    radii = np.array([pulley.line_radius_mm(layout.belt) for pulley in layout.routed])
    senses = np.array([float(layout.sense_of(pulley)) for pulley in layout.routed])
    return close_loop(np.stack(centres, axis=1), radii, senses)


@pytest.mark.parametrize("variant", [None, "high generator"])
def test_a_sound_path_over_the_whole_travel(tmp_path: Path, variant: str | None) -> None:
    layout = read_layout(written(tmp_path, STARTER), variant).layout
    loop = loops(layout, 41)
    assert is_sound(loop, layout.loop_sense).all()
    for name, wrap in zip(layout.route, np.degrees(loop.wrap).min(axis=0), strict=True):
        assert wrap > LEAST_WRAP_DEG[name]
    assert (np.diff(loop.length) > 0.0).all()
    assert loop.length[-1] - loop.length[0] > 10 * 5.0, "ten stock lengths, 5 mm apart"


def test_grooves_are_enough(tmp_path: Path) -> None:
    layout = read_layout(written(tmp_path, STARTER)).layout
    assert all((p.grooves or 0) >= layout.belt.ribs for p in layout.routed if not p.on_back)


def shown(tree: object, form: str = "") -> Iterator[str]:
    """The paths of the table's keys that a tree of values shows."""
    paths = {key.path for key in KEYS}
    if isinstance(tree, list) and any(path.startswith(f"{form}.ENTRY.") for path in paths):
        yield from (path for each in tree for path in shown(each, f"{form}.ENTRY"))
    for key, value in tree.items() if isinstance(tree, dict) else ():
        known = (f"{form}.{each}".strip(".") for each in (key, "NAME", "LIMIT"))
        below = next((path for path in known if any(one.startswith(path) for one in paths)), "")
        yield below
        yield from shown(value, below)


def test_every_key_is_shown_at_its_place() -> None:
    """In the mapping that holds it, in use or in a line that can be taken into use."""
    slide = STARTER.split("    arm:\n")[0] + "".join(
        UNUSED.sub("", line + "\n") for line in STARTER.split("# A slide instead")[1].split("\n\n")[0].splitlines()[1:]
    )
    drawing = "obstacles:\n" + "".join(line[1:] + "\n" for line in STARTER.splitlines() if line.startswith("#  block:"))
    texts = (STARTER, slide, drawing, *(used(STARTER, line) for line in unused_lines()))
    found = {path for text in texts for path in shown(yaml.safe_load(text))}
    assert {key.path for key in KEYS} - found == SHOWN_ELSEWHERE


def test_every_word_of_a_choice_is_shown() -> None:
    words = set(re.findall(r"\w+", STARTER))
    assert {key.path: left for key in KEYS if (left := set(key.choices) - words)} == {}


def test_the_usual_uncertainty_is_that_of_the_table() -> None:
    (line,) = (line for line in unused_lines() if line.startswith("#uncertainty:"))
    given = yaml.safe_load(line[1:])["uncertainty"]
    assert given == {key.name: float(key.default.split(",")[0]) for key in KEYS if key.parent == "uncertainty"}


def test_invented_numbers_are_called_so() -> None:
    assert "INVENTED NUMBERS: replace every one with your own" in STARTER


def unused_lines() -> list[str]:
    """The lines that show an unused key, those of the slide left out."""
    before = STARTER.split("# A slide instead")[0] + STARTER.split("# Belts that can be bought")[1]
    return [line for line in before.splitlines() if UNUSED.match(line)]


def used(text: str, line: str) -> str:
    """The text with an unused line taken into use, and what it stands instead of taken out."""
    if line not in text:  # taken out with a spring that a set tension stands instead of
        return text
    before, after = text.split(line + "\n")
    if "readings:" in line:
        before = before[: before.index("      torque_Nm:")]
    if "load:" in line or "plane:" in line:
        head, _, rest = before.rpartition(f"\n    {line.strip('# ').partition(':')[0]}:")
        before = head + "\n" + rest.split("\n", 1)[1]
    if "tension_N:" in line:
        after = after[after.index("# A slide instead") :]
    return f"{before}{line[1:]}\n{after}"


@for_each(*unused_lines())
def test_each_unused_key_can_be_used(tmp_path: Path, line: str) -> None:
    if "length_kind" in line:
        assert "effective" in line
    read_layout(written(tmp_path, used(STARTER, line)))


def numbers(layout: Layout) -> list[float]:
    """Every number of a layout, lengths in mm."""
    return [float(each) for each in re.findall(r"(?<!\w)-?\d+(?:\.\d+)?(?:e[+-]?\d+)?(?![\w.])", repr(layout))]


@for_each("", *unused_lines())
def test_the_starter_in_inches_is_the_same_drive(tmp_path: Path, line: str) -> None:
    """1 in is 25.4 mm: rounded to what people mark out, a length in inches lies within 2 mm or a twentieth."""
    inches = starter_of(False, "in")
    rows = dict(zip(STARTER.splitlines(), inches.splitlines(), strict=True))
    texts = ((STARTER, line), (inches, rows.get(line, "")))
    own, its = (numbers(read_layout(written(tmp_path, used(text, row) if row else text)).layout) for text, row in texts)
    assert len(own) == len(its) > 60
    np.testing.assert_allclose(its, own, rtol=0.05, atol=2.0)


def test_all_unused_keys_at_once(tmp_path: Path) -> None:
    text = STARTER
    for line in unused_lines():
        text = used(text, line)
    layout = read_layout(written(tmp_path, text)).layout
    assert layout.adjusted is not None and layout.adjusted.adjuster is not None
    assert layout.adjusted.adjuster.tension_N == 500.0
    assert (layout.belt.length_mm, len(layout.stock or ())) == (1615.0, 3)


def test_the_obstacle_from_a_drawing_can_be_used(tmp_path: Path) -> None:
    """The line beside the other obstacles, with a drawing of the name, layer and unit that it gives."""
    (line,) = (line for line in STARTER.splitlines() if line.startswith("#  block: {file: "))
    document = new_dxf(units=1)
    document.modelspace().add_circle((300, 40), 5, dxfattribs={"layer": "edge"})
    document.modelspace().add_circle((0, 0), 5)
    dxf_of(tmp_path, document)
    layout = read_layout(written(tmp_path, STARTER.replace(line, line[1:]))).layout
    assert [obstacle.name for obstacle in layout.obstacles] == ["hose", "bracket", "block"]
    assert layout.obstacles[2] == Circle("block", (300.0 - 90.0, 40.0 + 60.0), 10.0)


def test_every_form_of_load_is_shown(tmp_path: Path) -> None:
    forms = {
        type(load).__name__
        for line in ("", *unused_lines())
        if "load:" in line or not line
        for pulley in read_layout(written(tmp_path, used(STARTER, line) if line else STARTER)).layout.routed
        if (load := pulley.load) is not None
    }
    assert forms == {kind.__name__ for kind in get_args(Load)}


def test_the_duties_name_the_loads(tmp_path: Path) -> None:
    layout = read_layout(written(tmp_path, STARTER)).layout
    assert layout.duties == {"all on": ("pump", "generator"), "no charging": ("pump",)}


def test_the_slide_can_be_used_instead_of_the_arm(tmp_path: Path) -> None:
    head, rest = STARTER.split("    arm:\n")
    slide = UNUSED.sub("", rest.split("# A slide instead")[1].split("route:")[0].split("\n", 1)[1])
    layout = read_layout(written(tmp_path, head + slide + "route:" + rest.split("route:")[1])).layout
    assert layout.adjusted is not None and layout.adjusted.adjuster is not None
    assert layout.adjusted.adjuster.kind == "slide"
    assert is_sound(loops(layout, 41), layout.loop_sense).all()

"""Every case through the command: text, JSON and pictures; no traceback, no NaN, and the exit status stated here.

The statuses are frozen: our own, as the program gave them when they were last looked through.
"""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from beltplan.layoutfile.layout_file import read_layout
from beltplan.measure import study
from beltplan.picture.scene import Scene
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from tests.cli.running import Ran, Runner
from tests.for_each import for_each
from tests.picture.drawn import can_be_painted
from tests.remembered import once

FOLDER = Path(__file__).parent / "cases"
LAYOUTS = {
    "a_belt_stock": 0, "alternator_no_rating": 0, "alternator_rated": 0, "asym": 1, "av13_stock": 0, "carrier": 1,
    "close": 1, "digger": 1, "findings": 1, "fixed": 1, "gokart": 1, "good_tall": 1, "hand_set_1425": 0,
    "hand_set_1449": 0, "hz": 1, "no_adjuster": 1, "no_loads": 1, "non_ascii": 0, "pj_1000N": 1, "pm_stock": 0,
    "squeal": 1, "squeal_low2": 1, "stationary": 1, "tiny": 0, "turned_spring": 1, "two_pulley": 1, "wide_flat": 1,
    "faults/obst": 1, "faults/r30": 1, "faults/r64": 1, "faults/tinypoly": 2,
}  # fmt: skip
MEASUREMENTS = {
    "carrier_measured": 0, "m2_mirror": 1, "m3_photo": 1, "m4_blunders": 1, "faults/cr": 0, "faults/drawn_measured": 0,
    "faults/mark_tiny": 0, "faults/overlap_measured": 1, "faults/photo_card": 0, "faults/slip_0.8": 1,
    "faults/loose30": 1,
}  # fmt: skip
SLOW_TO_DRAW = {"faults/obst", "faults/r30", "faults/r64"}
"""Hundreds of obstacles, dozens of pulleys: each picture takes longer than all others together."""
HARD_TO_PAINT = ("non_ascii", "tiny", "wide_flat")
"""Letters, sizes and sides that a painter seldom meets; of all others the pictures are laid out to the last word."""
SLOW_TO_MEASURE = {"faults/photo_two_slips"}
"""So many readings in doubt that it takes as long as all others together."""


def _path(name: str) -> Path:
    return FOLDER / f"{name}.yaml"


def _is_clean(ran: Ran) -> bool:
    """Words go to one stream: to standard error where the input makes no sense, else to standard output."""
    return (ran.out == "", ran.err == "") == ((True, False) if ran.code == 2 else (False, True))


def _json_of(ran: Ran) -> Any:
    return json.loads(ran.out, parse_constant=pytest.fail)


def _is_drawn(picture: Path, drawn: list[Scene]) -> bool:
    return picture.exists() and len(drawn) == 1 and can_be_painted(drawn[0])


def test_every_case_has_its_status() -> None:
    there = {path.relative_to(FOLDER).with_suffix("").as_posix() for path in FOLDER.rglob("*.yaml")}
    assert there == {*LAYOUTS, *MEASUREMENTS, *SLOW_TO_MEASURE}


@pytest.mark.parametrize("name", LAYOUTS)
def test_layout_is_judged_and_drawn(name: str, run: Runner, drawn: list[Scene], tmp_path: Path) -> None:
    """In words with both pictures, and as JSON. Slip needs tensions: where there are none that picture alone is left
    out, with the reason."""
    routing, slip = tmp_path / "routing.svg", tmp_path / "slip.svg"
    pictures = () if name in SLOW_TO_DRAW else ("--picture", routing, "--slip-picture", slip)
    told, listed = run("check", _path(name), *pictures), run("check", _path(name), "--json")
    assert (told.code, listed.code) == (LAYOUTS[name],) * 2
    assert _is_clean(told) and _is_clean(listed)
    answer = None if listed.code == 2 else _json_of(listed)
    if answer is not None:
        assert ("problem" in [finding["severity"] for finding in answer["findings"]]) is (listed.code == 1)
    can_draw, can_slip = bool(pictures and answer), bool(pictures and answer and answer["slip"] is not None)
    assert (routing.exists(), slip.exists()) == (can_draw, can_slip)
    assert len(drawn) == can_draw + can_slip and all(map(can_be_painted, drawn))
    assert ("--slip-picture: not drawn" in told.out) is (can_draw and not can_slip)


@for_each(*HARD_TO_PAINT)
def test_pictures_of_odd_layouts_are_painted(run: Runner, tmp_path: Path, name: str) -> None:
    picture = tmp_path / "painted.svg"
    run("check", _path(name), "--picture", picture)
    assert ElementTree.parse(picture).getroot().tag.endswith("}svg") and picture.stat().st_size > 10_000


def _last_fixed(name: str) -> str:
    """A pulley of a case that can be moved: the last on the belt that has a place of its own."""
    return [pulley.name for pulley in read_layout(str(_path(name))).layout.routed if pulley.at_mm is not None][-1]


QUICK: dict[str, Callable[[str], tuple[str, ...]]] = {
    "tolerance": lambda name: ("--draws", "100"),
    "compare": lambda name: (),
    "route": lambda name: ("--most", "1"),
    "place": lambda name: ("--pulley", _last_fixed(name), "--step", "60mm"),
}
"""Every other command that judges a layout, with options that make it quick."""
TWINS = {"alternator_no_rating", "hand_set_1449", "squeal_low2"}
"""Of these another case differs in one number: `check` alone looks at both."""
OTHERS = [name for name in LAYOUTS if LAYOUTS[name] != 2 and name not in SLOW_TO_DRAW | TWINS]


IN_TURN = [(name, command) for i, name in enumerate(OTHERS) for j, command in enumerate(QUICK) if (i + j) % 4 == 0]


@pytest.mark.parametrize(("name", "command"), IN_TURN)
def test_every_other_command_answers(name: str, command: str, run: Runner, drawn: list[Scene], tmp_path: Path) -> None:
    """With a picture; one command for each case, in words or as JSON, in turn.

    Only `route` may refuse, where no route goes round or a side contradicts itself.
    """
    picture, as_json = tmp_path / "answer.svg", IN_TURN.index((name, command)) // 4 % 2 == 1
    ran = run(command, _path(name), *QUICK[command](name), "--picture", picture, *(["--json"] if as_json else []))
    assert ran.code in ((0, 1, 2) if command == "route" else (0, 1)) and _is_clean(ran)
    assert not re.search(r"\b(nan|inf|traceback)\b", f"{ran.out} {ran.err}", re.IGNORECASE)
    if ran.code != 2:
        assert _is_drawn(picture, drawn)
        assert _json_of(ran)["caution"] == SAFETY if as_json else SAFETY_IN_SHORT in " ".join(ran.out.split())


@pytest.mark.parametrize("name", MEASUREMENTS)
def test_measurements_are_solved(
    name: str, run: Runner, drawn: list[Scene], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In words with a picture and a layout, which can be judged or is refused in words; and as JSON. Solved once."""
    monkeypatch.setattr(study, "measuring_of", once(study.measuring_of, lambda measured, *_: repr(measured)))
    picture, written = tmp_path / "found.svg", tmp_path / "layout.yaml"
    told = run("measure", _path(name), "--picture", picture, "--write", written)
    listed = run("measure", _path(name), "--json")
    assert listed.code == MEASUREMENTS[name] and told.code in (listed.code, 2)
    assert _is_clean(listed)
    if told.code == 2:  # the layout could not be written; all else is told
        assert "FOUND " in told.out and told.err.startswith("--write: ") and told.err.count("\n") == 1
        assert _is_drawn(picture, drawn) and not written.exists()
    else:
        checked = run("check", written, "--json")
        assert _is_drawn(picture, drawn) and _is_clean(told) and _is_clean(checked)
        assert checked.code == 2 or _json_of(checked)["findings"] is not None
    assert _json_of(listed)["points"]


@for_each(*MEASUREMENTS, *sorted(SLOW_TO_MEASURE))
def test_measurements_are_no_layout(run: Runner, name: str) -> None:
    ran = run("check", _path(name))
    assert ran.code == 2 and _is_clean(ran) and "measure" in ran.err


@for_each(*LAYOUTS)
def test_a_layout_is_no_measurements(run: Runner, name: str) -> None:
    ran = run("measure", _path(name))
    assert ran.code == 2 and _is_clean(ran) and "got a file without measurements" in ran.err

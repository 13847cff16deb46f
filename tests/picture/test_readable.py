"""Every word of the pictures can be read: none on another, none cut, no leader line through any, none too small.

A sample runs in the suite; all pictures of all commands over the shipped layouts and the cases:
    python -m tests.picture.test_readable [WORDS OF A NAME ...]
"""

import contextlib
import io
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest

from beltplan import __version__
from beltplan.cli.main import main
from beltplan.faults import LayoutFaults
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture.pens import INK, LEADER
from beltplan.picture.scene import Label, Scene, Stroke
from tests.picture.crowding import audit
from tests.picture.drawn import unpainted
from tests.shipped import SHIPPED_LAYOUTS

pytestmark = pytest.mark.usefixtures("less_is_judged")
CASES = Path(__file__).parents[1] / "cases"
SHIPPED = SHIPPED_LAYOUTS[0].parent


def _pulley(path: Path) -> str | None:
    """A pulley of a layout that can be placed; None where the file is no layout."""
    try:
        layout = read_layout(str(path)).layout
    except LayoutFaults:  # measurements of one
        return None
    return next((pulley.name for pulley in layout.routed if pulley.at_mm is not None and not pulley.drives), "none")


PULLEYS = {path: _pulley(path) for path in (*SHIPPED_LAYOUTS, *sorted(CASES.glob("*.yaml")))}
FILES = [path for path, pulley in PULLEYS.items() if pulley is not None]
MEASURED = [*SHIPPED.glob("*measured.yaml"), *(path for path, pulley in PULLEYS.items() if pulley is None)]
"""Some of these lack a drawing that stands beside them, and are refused."""
SAMPLE = {"camper", "gokart", "hand_set_1425", "non_ascii", "too_tight", "two_pulley", "wide_flat", "workboat"}
"""Of every kind of adjuster, clean and crowded."""
FEW = {"gokart", "two_pulley", "workboat"}
"""For what is drawn with the same labels, and takes long to find."""


def commands_of(path: Path) -> dict[str, list[str]]:
    if PULLEYS.get(path) is None:
        return {"measure": ["measure", str(path), "--picture"]}
    plain = {name: [name, str(path), "--picture"] for name in ("check", "compare", "route", "cure")}
    return plain | {
        "slip": ["check", str(path), "--slip-picture"],
        "tolerance": ["tolerance", str(path), "--draws", "200", "--picture"],
        "place": ["place", str(path), "--pulley", PULLEYS[path] or "", "--step", "12mm", "--picture"],
    }


def drawn_by(command: list[str]) -> tuple[int, list[Scene]]:
    with tempfile.TemporaryDirectory() as folder, unpainted() as scenes, contextlib.redirect_stdout(io.StringIO()):
        return main([*command, str(Path(folder, "picture.png"))]), scenes


@pytest.mark.parametrize("name", ["check", "slip", "compare", "route", "cure", "tolerance", "place"])
def test_every_word_can_be_read(name: str) -> None:
    found = {}
    for path in (path for path in FILES if path.stem in (SAMPLE if name in ("check", "slip") else FEW)):
        code, scenes = drawn_by(commands_of(path)[name])
        assert len(scenes) == 1 or (name == "slip" and not scenes) or code == 2, path.stem
        found[path.stem] = [fault for scene in scenes for fault in (*audit(scene), *_unsigned(scene, path))]
    assert {stem: faults for stem, faults in found.items() if faults} == {}
    assert found.keys() >= FEW


def test_every_word_can_be_read_of_what_is_measured() -> None:
    code, (scene,) = drawn_by(commands_of(SHIPPED / "buggy_measured.yaml")["measure"])
    assert code != 2 and audit(scene) == [] == _unsigned(scene, SHIPPED / "buggy_measured.yaml")


def _unsigned(scene: Scene, path: Path) -> list[str]:
    """A picture without its file, the day of its last change and the version at its foot."""
    foot = "".join(label.text for label in scene.labels if label.name == "foot")
    signed = foot.startswith(f"{path.name} of 2001-09-09; ") and foot.endswith(f"beltplan {__version__}")
    return [] if signed else [f"at the foot: {foot}"]


def test_every_word_can_be_read_where_all_are_compared() -> None:
    _, (scene,) = drawn_by(["compare", *(str(path) for path in FILES if path.stem in SAMPLE), "--picture"])
    assert audit(scene) == []


def test_the_count_finds_what_it_counts() -> None:
    first, second, cut = (Label("word", at, 10.0, INK) for at in ((20.0, 20.0), (25.0, 22.0), (90.0, 60.0)))
    leader = Stroke(np.array([(30.0, 5.0), (30.0, 22.0)]), LEADER, "leader")
    frame = (0.0, 0.0, 100.0, 80.0)
    assert audit(Scene(frame, (first,))) == []
    assert audit(Scene(frame, (first, second))) == ["word lies on word"]
    assert audit(Scene(frame, (first, cut))) == ["word passes the frame"]
    assert audit(Scene(frame, (first, leader))) == ["a leader runs through word"]
    assert audit(Scene(frame, (Label("word", (20.0, 20.0), 7.0, INK),))) == ["word is 7 points high"]
    assert audit(Scene(frame, (Label("Red: bad", (20.0, 20.0), 8.0, INK),))) == ["Red: bad tells a colour"]
    torn = (Label("it is 12", (20.0, 60.0), 8.0, INK), Label("mm long", (20.0, 40.0), 8.0, INK))
    assert audit(Scene(frame, torn)) == ["it is 12 is torn from mm long"]
    assert audit(Scene(frame, (Label("`key`", (20.0, 20.0), 8.0, INK),))) == ["`key` holds a quote of code"]


def all_of_it(asked: list[str]) -> int:
    """Audit every picture whose name holds all the words asked; returns how many faults there are."""
    count = 0
    for path in (*FILES, *MEASURED):
        for name, command in commands_of(path).items():
            if all(word in f"{path.stem} {name}" for word in asked):
                with contextlib.redirect_stderr(io.StringIO()):
                    code, scenes = drawn_by(command)
                faults = [fault for scene in scenes for fault in audit(scene)]
                count += len(faults)
                print(f"{path.stem} {name}: exit {code}, {len(scenes)} drawn", *faults, sep="\n  ", flush=True)
    return count


if __name__ == "__main__":
    print(f"{all_of_it(sys.argv[1:])} faults")

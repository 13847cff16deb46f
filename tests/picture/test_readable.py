"""Every word of the pictures can be read: none on another, none cut, no leader line through any; all are counted."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from beltplan.cli.main import main
from beltplan.faults import LayoutFaults
from beltplan.layoutfile.layout_file import read_layout
from beltplan.picture import cells as compare_picture
from beltplan.picture import routing as routing_picture
from beltplan.picture.scene import INK, LEADER, Label, Scene, Stroke
from tests.picture.crowding import audit
from tests.shipped import SHIPPED_LAYOUTS

CASES = Path(__file__).parents[1] / "cases"


def _is_layout(path: Path) -> bool:
    try:
        read_layout(str(path))
    except LayoutFaults:  # measurements of one
        return False
    return True


FILES = [*SHIPPED_LAYOUTS, *(path for path in sorted(CASES.glob("*.yaml")) if _is_layout(path))]
FEW = {
    "check": {path.stem for path in FILES},
    "compare": {"camper", "workboat", "non_ascii", "wide_flat"},
    "route": {"camper", "railcar", "asym", "close", "gokart", "non_ascii", "two_pulley"},
    "cure": {"gokart", "two_pulley"},
}
"""Routes and cures are drawn as a comparison is, and take long to find: few layouts, of every kind of adjuster."""


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[Scene]:
    """Every scene that a command paints."""
    scenes: list[Scene] = []
    for module in (compare_picture, routing_picture):
        monkeypatch.setattr(module, "paint", lambda scene, *_: scenes.append(scene))
    return scenes


@pytest.mark.parametrize("command", FEW)
def test_every_word_can_be_read(command: str, drawn: list[Scene]) -> None:
    found = {}
    for path in (path for path in FILES if path.stem in FEW[command]):
        drawn.clear()
        code = main([command, str(path), "--picture", "picture.png"])
        assert len(drawn) == (0 if code == 2 else 1), path.stem
        assert code != 2 or command == "route", path.stem
        found[path.stem] = [fault for scene in drawn for fault in audit(scene)]
    assert {name: faults for name, faults in found.items() if faults} == {}
    assert found.keys() == FEW[command]


def test_every_word_can_be_read_where_all_are_compared(drawn: list[Scene]) -> None:
    main(["compare", *map(str, FILES), "--picture", "picture.png"])
    assert len(drawn) == 1 and audit(drawn[0]) == []


def test_the_count_finds_what_it_counts() -> None:
    first, second, cut = (Label("word", at, 10.0, INK) for at in ((20.0, 20.0), (25.0, 22.0), (90.0, 60.0)))
    leader = Stroke(np.array([(30.0, 5.0), (30.0, 22.0)]), LEADER, "leader")
    frame = (0.0, 0.0, 100.0, 80.0)
    assert audit(Scene(frame, 1.0, (first,))) == []
    assert audit(Scene(frame, 1.0, (first, second))) == ["word lies on word"]
    assert audit(Scene(frame, 1.0, (first, cut))) == ["word passes the frame"]
    assert audit(Scene(frame, 1.0, (first, leader))) == ["a leader runs through word"]

"""The command itself, without a screen and on a real one: a window of the desktop, dragged, saved, and checked."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import ROOT, process
from tests.for_each import for_each
from tests.shipped import FOLDER

_ON_THE_SCREEN = """
import sys
from beltplan.drag import window
from beltplan.cli.main import main
from matplotlib.backend_bases import KeyEvent, MouseEvent

def mouse(shown, kind, at):
    x, y = shown.axes.transData.transform(at)
    MouseEvent(kind, shown.figure.canvas, x, y, 1)._process()

def hand(shown):
    bench = shown.bench
    at = bench.live.centres["house_alternator"]
    before = [f.subject for f in bench.live.findings if f.check == "wrap" and f.severity == "problem"]
    assert "house_alternator" in before, before
    mouse(shown, "button_press_event", at)
    for step in range(1, 11):
        mouse(shown, "motion_notify_event", (at[0] + TO[0] * step / 10, at[1] + TO[1] * step / 10))
    mouse(shown, "button_release_event", (at[0] + TO[0], at[1] + TO[1]))
    KeyEvent("key_press_event", shown.figure.canvas, "s")._process()
    print([(f.check, f.subject, f.severity) for f in bench.live.findings])
    print(type(shown.figure.canvas).__name__)
    from matplotlib import pyplot
    pyplot.close(shown.figure)

class Dragged(window.Window):
    def __init__(self, figure, bench):
        super().__init__(figure, bench)
        self.own = figure.canvas.new_timer(300)
        self.own.single_shot = True
        self.own.add_callback(hand, self)
        self.own.start()

TO = (TO_X, TO_Y)
window.Window = Dragged
sys.exit(main(["drag", "camper.yaml", "--save", "moved.yaml"]))
"""
AWAY_MM = (170.0, 148.0)
"""So far out the house alternator has the wrap that it needs, as the window shows."""


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere a screen is always there")
def test_without_a_screen_it_says_what_is_missing(tmp_path: Path) -> None:
    shutil.copy(FOLDER / "camper.yaml", tmp_path)
    ran = process(["drag", "camper.yaml"], tmp_path)
    assert (ran.code, ran.out) == (2, "") and "drag: got no screen" in ran.err and "`beltplan place`" in ran.err


@for_each(
    (["nofile.yaml"], "there is no file"),
    (["camper.yaml", "--save", "taken.yaml"], "exists already"),
    (["camper.yaml", "--force"], "--force: got no --save beside it"),
    (["camper.yaml", "--save", "camper.yaml", "--force"], "allowed: another file than the layout's own"),
    (["camper.yaml", "--variant", "none such"], "none such"),
)
def test_what_makes_no_sense_is_refused_before_a_window_is_opened(
    tmp_path: Path, options: list[str], told: str
) -> None:
    shutil.copy(FOLDER / "camper.yaml", tmp_path)
    (tmp_path / "taken.yaml").write_text("mine")
    ran = process(["drag", *options], tmp_path)
    assert (ran.code, ran.out) == (2, "") and told in ran.err
    assert (tmp_path / "taken.yaml").read_text() == "mine"


@pytest.mark.skipif(
    not os.environ.get("SCREEN_FOR_TESTS"), reason="no screen here: `xvfb-run pytest tests/drag` gives it a virtual one"
)
def test_a_real_window_is_dragged_saved_and_agrees_with_check(tmp_path: Path) -> None:
    pytest.importorskip("tkinter")
    shutil.copy(FOLDER / "camper.yaml", tmp_path)
    x, y = AWAY_MM
    script = _ON_THE_SCREEN.replace("TO_X", str(x)).replace("TO_Y", str(y))
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False,
        env={**os.environ, "DISPLAY": os.environ["SCREEN_FOR_TESTS"], "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    findings, canvas, saved = done.stdout.splitlines()
    assert canvas != "FigureCanvasAgg" and saved == "saved: moved.yaml"
    assert "('wrap', 'house_alternator', 'problem')" not in findings
    checked = process(["check", "moved.yaml", "--json"], tmp_path)
    told = [(each["check"], each["subject"], each["severity"]) for each in json.loads(checked.out)["findings"]]
    assert str(told) == findings

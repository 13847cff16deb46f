"""Settings and fixtures shared by every test: random examples are drawn alike in every run, and nothing races a clock.

`.ci/run` draws more, `pytest --hypothesis-profile=explore` new ones.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from fontTools import subset
from hypothesis import Phase, settings
from xdist.scheduler import LoadScopeScheduling

from tests.remembered import once  # isort: skip  # before the package's other files
from beltplan.cure import study
from beltplan.faults import Fault, LayoutFaults
from beltplan.report import screen
from tests.cli.running import Runner
from tests.told import faults_of, unreadable_in

if TYPE_CHECKING:
    from beltplan.picture.scene import Scene

# No test opens a window by chance: the one that is meant to asks for the screen by this name.
os.environ.setdefault("SCREEN_FOR_TESTS", os.environ.pop("DISPLAY", ""))
os.environ.pop("WAYLAND_DISPLAY", None)
# Files are of one day, whenever they were checked out.
os.environ["SOURCE_DATE_EPOCH"] = "1000000000"
# Workers share the cores: of one that takes several for a matrix the others get none.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# What is compiled is kept for the next run and for processes of its own; elsewhere where it may not lie beside files.
if sys.dont_write_bytecode:
    sys.dont_write_bytecode, sys.pycache_prefix = False, str(Path(__file__).parents[1] / ".pytest_cache" / "compiled")

# Nothing that is drawn comes from a font's tables for setting scripts: without them a PDF takes a third of its time.
subset.Options._drop_tables_default += ["GDEF", "GPOS", "GSUB"]

settings.register_profile("steady", deadline=None, derandomize=True, max_examples=15)
settings.register_profile("thorough", deadline=None, derandomize=True, max_examples=60)
settings.register_profile("explore", deadline=None, derandomize=False, max_examples=300)
# For changes that are tried one after the other: that a test fails is enough, the smallest example is not looked for.
settings.register_profile("unshrunk", settings.get_profile("steady"), phases=(Phase.explicit, Phase.generate))
settings.load_profile("steady")


class ByFile(LoadScopeScheduling):  # type: ignore[misc]
    """Of several workers one takes a whole file, and one all that asks for cures: what is remembered serves all.

    Whole runs need nothing of each other: one takes those of a command.

    Groups by a mark (`--dist=loadgroup` of pytest-xdist 3.8) do not come through the node ids of pytest 9.2.
    """

    def _split_scope(self, nodeid: str) -> str:
        if "cure" in nodeid or "readme" in nodeid:
            return "cure"
        return nodeid.partition(" " if "test_sample.py" in nodeid else "::")[0]


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> ByFile:
    return ByFile(config, log)


def pytest_collection_finish() -> None:
    """What is loaded stays to the end: nobody need look through it for garbage at every turn."""
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Runner:
    """Runs the command in this process."""
    return Runner(capsys)


@pytest.fixture
def drawn() -> Iterator[list[Scene]]:
    """What commands draw from now on; their files hold empty pictures."""
    from tests.picture.drawn import unpainted

    with unpainted() as scenes:
        yield scenes


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that is the working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def rng(request: pytest.FixtureRequest) -> np.random.Generator:
    """A generator begun anew for every test, by the `SEED` of its file: the order of tests decides nothing."""
    return np.random.default_rng(request.module.SEED)


@pytest.fixture(scope="session", autouse=True)
def cures_looked_for_once() -> Iterator[None]:
    """`cure` looks once a session for the cures of a layout: it takes seconds, and many tests ask for the same.

    Tests of the search itself import it before, and look each time.
    """

    def key(layout: object, *_: object) -> str:
        return f"{study._MOST_PAIRS} {layout!r}"

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(study, "cures_of", once(study.cures_of, key))
        yield


@pytest.fixture(scope="session", autouse=True)
def every_line_is_told_well() -> Iterator[None]:
    """Of all that any test shows: numbers and nouns agree, brackets close, words stand to the left."""
    lines = screen._lines

    def asked(block: screen.Block, *given: Any) -> Iterator[str]:
        faults = faults_of(block)
        assert not faults, faults
        return lines(block, *given)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(screen, "_lines", asked)
        yield


@pytest.fixture(scope="session", autouse=True)
def every_text_offered_can_be_read() -> Iterator[None]:
    """Of all faults that any test meets: what one says to write is YAML, with nothing left empty."""
    raised = LayoutFaults.__init__

    def asked(self: LayoutFaults, path: str, faults: Iterable[Fault]) -> None:
        raised(self, path, faults)
        offered = [text for fault in self.faults for text in unreadable_in(fault)]
        assert not offered, offered

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(LayoutFaults, "__init__", asked)
        yield


@pytest.fixture(scope="module")
def less_is_judged() -> Iterator[None]:
    """`cure` judges less than it does: laws of what it says hold for any share of it, and the whole takes seconds."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(study, "_MOST_JUDGED", {**study._MOST_JUDGED, "order": 8, "diameter": 8, "move": 8, "idler": 16})
        patch.setattr(study, "_MOST_PAIRS", 24)
        yield

"""Which tests call which functions of the package, and how long they take: learnt by running them once.

    python -m tests.mutation --learn

As a plugin of pytest (`-p tests.mutation.learnt`) it listens to calls. What a fixture calls that serves many tests
counts for each of them, and so does what was called for an answer that is remembered (`tests/remembered.py`, and
whatever a test file keeps by `functools.cache`). Only green tests are kept. The answer stands in `.pytest_cache`,
outside what git keeps.
"""

from __future__ import annotations

import functools
import json
import os
import subprocess
import sys
import threading
from collections import defaultdict
from collections.abc import Callable, Generator, Hashable
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import pytest

Trace = Callable[[FrameType, str, object], Any]
ROOT = Path(__file__).resolve().parents[2]
REMEMBERED = str(ROOT / "tests" / "remembered.py")
PACKAGE = f"{ROOT / 'beltplan'}{os.sep}"
MEMORY = ROOT / ".pytest_cache" / "tests_of_functions"
"""A folder: a file for each folder of tests, so that one can be learnt anew."""


def learn(names: list[str]) -> None:
    """Run the tests of these folders, or all, one folder at a time."""
    every = [path.name for path in (ROOT / "tests").iterdir() if path.match("test_*.py") or any(path.glob("test_*.py"))]
    MEMORY.mkdir(parents=True, exist_ok=True)
    for name in names or sorted(every):
        command = [sys.executable, "-B", "-m", "pytest", "-q", "--tb=line", "-p", "no:randomly"]
        surroundings = {**os.environ, "PYTHONPATH": str(ROOT), "LEARNT": str(MEMORY / f"{name}.json")}
        command += ["-p", "tests.mutation.learnt", f"tests/{name}"]
        subprocess.run(["nice", "-n", "10", *command], cwd=ROOT, env=surroundings, check=False)


class Listener:
    """Takes down the functions of the package that a test calls, or a fixture that serves many."""

    def __init__(self) -> None:
        self.called: set[CodeType] = set()
        self.of_fixture: dict[tuple[str, str], set[CodeType]] = defaultdict(set)
        self.of_answer: dict[tuple[int, Hashable], set[CodeType]] = defaultdict(set)
        self.of_test: dict[str, set[CodeType]] = defaultdict(set)
        self.seconds: dict[str, float] = defaultdict(float)
        self.red: set[str] = set()
        sys.settrace(self.hear)
        threading.settrace(self.hear)

    def hear(self, frame: FrameType, event: str, argument: object) -> Trace | None:
        self.called.add(frame.f_code)
        if frame.f_code.co_filename != REMEMBERED or frame.f_code.co_name != "asked":
            return None
        before, self.called = self.called, set()

        def answered(asked: FrameType, event: str, argument: object) -> Trace:
            if event == "return":
                own = self.of_answer[id(asked.f_locals["real"]), asked.f_locals.get("at")]
                own |= self.called
                self.called = before | own
            return answered

        return answered

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Generator[None, object, object]:
        before, self.called = self.called, set()
        made = yield
        if fixturedef.scope != "function":
            self.of_fixture[fixturedef.baseid, fixturedef.argname] |= self.called
        self.called |= before
        return made

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: Any) -> Generator[None, object, object]:
        self.called = set()
        sys.settrace(self.hear)
        done = yield
        used = [self.of_fixture.get((each.baseid, name), set()) for name in item.fixturenames
                for each in item._fixtureinfo.name2fixturedefs.get(name, ())]  # fmt: skip
        self.of_test[name_of(item.nodeid)] |= self.called.union(*used)
        return done

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.seconds[name_of(report.nodeid)] += report.duration
        if report.failed:
            self.red.add(name_of(report.nodeid))

    def pytest_sessionfinish(self) -> None:
        sys.settrace(None)
        told = {
            test: {"seconds": round(self.seconds[test], 3), "calls": sorted(filter(None, map(function_of, called)))}
            for test, called in self.of_test.items()
            if test not in self.red
        }
        Path(os.environ["LEARNT"]).write_text(json.dumps(told))


def name_of(test: str) -> str:
    """A test without its case: all cases of one are run together."""
    return test.split("[")[0]


def function_of(code: CodeType) -> str:
    """`beltplan/folder/file.py:Class.method`, what stands inside of it counted with it; '' outside the package."""
    if not code.co_filename.startswith(PACKAGE):
        return ""
    name = code.co_qualname.split(".<locals>")[0]
    return f"{Path(code.co_filename).relative_to(ROOT).as_posix()}:{name}"


def kept(given: Callable[..., Any]) -> Callable[..., Any]:
    """`functools.cache`, that of a test file by what can be listened to."""
    if not given.__module__.startswith("tests."):
        return functools.lru_cache(maxsize=None)(given)
    from tests.remembered import once

    return once(given, lambda *places, **named: (places, *named.items()))


def pytest_configure(config: pytest.Config) -> None:
    setattr(functools, "cache", kept)  # noqa: B010
    config.pluginmanager.register(Listener(), "listener")

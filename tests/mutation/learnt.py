"""Which tests go through which lines of the package, and how long they take: learnt by running them once.

    python -m tests.mutation --learn

As a plugin of pytest (`-p tests.mutation.learnt`) it has `coverage` take down lines, each test under its own name. A
fixture that serves many tests has a name of its own, and so has an answer that is remembered (`tests/remembered.py`,
and whatever a test file keeps by `functools.cache`): what it went through counts for each test that uses it. Only green
tests are kept. All stands in `.pytest_cache`, outside what git keeps.
"""

from __future__ import annotations

import functools
import json
import os
import subprocess
import sys
from collections import defaultdict
from collections.abc import Callable, Generator, Hashable, Iterator
from contextlib import contextmanager
from multiprocessing.pool import ThreadPool
from pathlib import Path
from typing import Any

import pytest
from coverage import Coverage

ROOT = Path(__file__).resolve().parents[2]
MEMORY = ROOT / ".pytest_cache" / "tests_of_lines"
"""A folder: for each folder of tests its lines, and which tests there are."""
SAMPLE = "tests/corpus/test_sample.py"
"""Whole runs, each for itself: of all other tests the cases are run together."""


def learn(names: list[str]) -> None:
    """Run the tests of these folders, or all, two folders at a time."""
    every = [path.name for path in (ROOT / "tests").iterdir() if path.match("test_*.py") or any(path.glob("test_*.py"))]
    MEMORY.mkdir(parents=True, exist_ok=True)
    with ThreadPool(2) as pool:
        pool.map(_learn, names or sorted(every), chunksize=1)


def _learn(name: str) -> None:
    command = [sys.executable, "-m", "pytest", "-q", "--tb=line", "-p", "no:randomly", "-p", "no:cacheprovider"]
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT), "LEARNT": str(MEMORY / name)}
    command += ["-p", "tests.mutation.learnt", f"tests/{name}"]
    subprocess.run(command, cwd=ROOT, env=surroundings, check=False)


class Listener:
    """Takes down the lines of the package that a test goes through, or a fixture or an answer that serves many."""

    def __init__(self, memory: str) -> None:
        self.counter = Coverage(data_file=f"{memory}.lines", source=[str(ROOT / "beltplan")], config_file=False)
        self.memory = Path(f"{memory}.json")
        self.open = [""]
        self.uses: dict[str, set[str]] = defaultdict(set)
        self.answers: dict[Hashable, str] = {}
        self.seconds: dict[str, float] = defaultdict(float)
        self.red: set[str] = set()
        self.counter.erase()
        self.counter.start()

    @contextmanager
    def under(self, name: str) -> Iterator[None]:
        self.uses[self.open[-1]].add(name)
        self.open.append(name)
        self.counter.switch_context(name)
        try:
            yield
        finally:
            self.open.pop()
            self.counter.switch_context(self.open[-1])

    @contextmanager
    def answering(self, question: Hashable) -> Iterator[None]:
        if name := self.answers.get(question):
            self.uses[self.open[-1]].add(name)
            yield
        else:
            name = self.answers[question] = f"answer {len(self.answers)}"
            with self.under(name):
                yield

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Generator[None, object, object]:
        if fixturedef.scope == "function":
            return (yield)
        with self.under(_fixture(fixturedef.baseid, fixturedef.argname)):
            return (yield)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: Any) -> Generator[None, object, object]:
        name = name_of(item.nodeid)
        self.uses[name] |= {_fixture(each.baseid, fixture) for fixture in item.fixturenames
                            for each in item._fixtureinfo.name2fixturedefs.get(fixture, ())}  # fmt: skip
        with self.under(name):
            return (yield)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.seconds[name_of(report.nodeid)] += report.duration
        if report.failed:
            self.red.add(name_of(report.nodeid))

    def pytest_sessionfinish(self) -> None:
        self.counter.stop()
        self.counter.save()
        told = {
            test: {"seconds": round(seconds, 3), "uses": sorted(self._all_used(test, set()))}
            for test, seconds in self.seconds.items()
            if test not in self.red
        }
        self.memory.write_text(json.dumps(told))

    def _all_used(self, name: str, found: set[str]) -> set[str]:
        if name not in found:
            found.add(name)
            for each in self.uses[name]:
                self._all_used(each, found)
        return found


def _fixture(home: str, name: str) -> str:
    return f"fixture {name} of {home}"


def name_of(test: str) -> str:
    """A test without its case."""
    return test if test.startswith(SAMPLE) else test.split("[")[0]


def kept(given: Callable[..., Any]) -> Callable[..., Any]:
    """`functools.cache`, that of a test file by what can be listened to."""
    if not given.__module__.startswith("tests."):
        return functools.lru_cache(maxsize=None)(given)
    from tests.remembered import once

    return once(given, lambda *places, **named: (places, *named.items()))


def pytest_configure(config: pytest.Config) -> None:
    setattr(functools, "cache", kept)  # noqa: B010
    listener = Listener(os.environ["LEARNT"])
    config.pluginmanager.register(listener, "listener")
    from beltplan.checks.plan import Plan
    from tests import remembered

    remembered.listening = listener.answering
    # A plan serves many tests, and computes once what it is asked for.
    for name, each in [*vars(Plan).items()]:
        if isinstance(each, functools.cached_property):
            setattr(Plan, name, property(remembered.once(each.func, lambda plan: plan)))

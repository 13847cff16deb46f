"""All the checks together: every name has its meaning, and findings come worst first."""

from __future__ import annotations

import pkgutil
from importlib import import_module

import beltplan.checks as checks
from beltplan.checks.every_check import CHECKS, MEANINGS, TENSION_CHECKS, findings_of
from beltplan.checks.limits import SEVERITIES
from beltplan.drive.layout import Circle, Engine
from beltplan.drive.operation import operation_of
from tests.checks.drives import pulley, route, sagging, sliding, two


def named_in_the_sources() -> set[str]:
    """The values of every constant of the package whose name ends in CHECK."""
    modules = [import_module(f"beltplan.checks.{found.name}") for found in pkgutil.iter_modules(checks.__path__)]
    return {
        value for m in modules for name, value in vars(m).items() if name.endswith("CHECK") and isinstance(value, str)
    }


def test_every_name_in_the_sources_has_a_meaning_and_no_other() -> None:
    assert set(MEANINGS) == named_in_the_sources()
    assert len(MEANINGS) >= 20 and all(MEANINGS.values())


def test_every_function_that_finds_is_among_the_checks() -> None:
    modules = [import_module(f"beltplan.checks.{found.name}") for found in pkgutil.iter_modules(checks.__path__)]
    finders = {
        value
        for m in modules
        for name, value in vars(m).items()
        if name.endswith("_findings") and not name.startswith("_") and callable(value)
    }
    assert finders == {*CHECKS, *TENSION_CHECKS}


def test_findings_of_bad_drives_are_ordered_and_named() -> None:
    hose = (Circle("hose", (150.0, 50.0), 30.0),)
    drives = (
        two(450.0, 190.0, 48.0, obstacles=hose, engine=Engine(max_rpm=9000.0)),
        sagging(15.0, pulley("it", "water_pump", 0, 0, 55.0, turns="clockwise")),
        sliding((20.0, 0.0), (360.0, 10.0), at=0.0, stock=()),
    )
    for given in drives:
        findings = findings_of(route(given), operation_of(route(given)))
        keys = [(SEVERITIES.index(f.severity), f.margin, f.check, f.subject) for f in findings]
        assert keys == sorted(keys) and findings[0].severity == "problem"
        assert {f.check for f in findings} <= set(MEANINGS)
        assert all(f.message and f.source for f in findings)

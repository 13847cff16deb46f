"""All the checks together: every name has its meaning, and findings come worst first."""

from __future__ import annotations

import pkgutil
from importlib import import_module

import beltplan.checks as checks
from beltplan.checks.every_check import CALLED, CHECKS, findings_of
from beltplan.checks.limits import LIMIT_KEYS, SEVERITIES, Check
from beltplan.drive.layout import Circle, Engine
from beltplan.drive.operation import operation_of
from tests.checks.drives import pulley, route, sagging, sliding, two


def test_every_check_has_a_name_of_its_own_and_a_meaning() -> None:
    names = [check.name for check in CHECKS]
    assert len(set(names)) == len(names) >= 20
    assert all(check.meaning and check.source for check in CHECKS)


def test_every_function_that_finds_is_asked() -> None:
    """And every record of a file is collected."""
    modules = [import_module(f"beltplan.checks.{found.name}") for found in pkgutil.iter_modules(checks.__path__)]
    finders = {
        value
        for m in modules
        for name, value in vars(m).items()
        if name.endswith("_findings") and not name.startswith("_") and callable(value)
    }
    assert finders <= {asked for check in CHECKS for asked in (check.of_route, check.of_operation)}
    assert {value for m in modules for value in vars(m).values() if isinstance(value, Check)} == set(CHECKS)


def test_every_limit_belongs_to_a_check_and_no_check_names_another() -> None:
    assert {key for check in CHECKS for key in check.limits} == set(LIMIT_KEYS)


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
        assert {f.check for f in findings} <= {check.name for check in CHECKS}
        assert all(f.message and f.source for f in findings)


def test_people_read_the_words_of_the_trade_for_checks() -> None:
    """A span is no strand, whatever the older keys say."""
    assert CALLED["strand_gap"] == "span gap" and CALLED["small_pulley"] == "small pulley"
    assert not [words for words in CALLED.values() if "strand" in words or "_" in words]

"""What is remembered is what is found anew, for each layout its own."""

from dataclasses import replace
from inspect import unwrap
from pathlib import Path

import numpy as np
import pytest
import yaml

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding
from beltplan.checks.plan import plan_of, plan_on
from beltplan.drive.operation import operation_of
from beltplan.drive.route import route_of
from beltplan.layoutfile import document
from beltplan.layoutfile.layout_file import read_layout
from beltplan.measure.measurements_file import read_measurements
from beltplan.measure.study import measuring_of
from tests import remembered
from tests.for_each import for_each
from tests.remembered import MOST, once
from tests.shipped import SHIPPED_LAYOUTS, SHIPPED_MEASUREMENTS


def told(findings: tuple[Finding, ...]) -> list[tuple[object, ...]]:
    return [(each.check, each.severity, each.subject, each.wrong, each.value) for each in findings]


@for_each(*SHIPPED_LAYOUTS, ids=lambda path: path.stem)
def test_the_spine_finds_the_same_each_time(path: Path) -> None:
    layout = read_layout(str(path)).layout
    anew = unwrap(route_of)(layout)
    assert route_of(layout) is route_of(read_layout(str(path)).layout) is not anew
    found = unwrap(findings_of)(anew, unwrap(operation_of)(anew))
    assert found and told(found) == told(findings_of(route_of(layout), operation_of(route_of(layout))))
    assert told(unwrap(plan_on)(anew).findings) == told(plan_of(layout).findings)


def test_places_are_found_the_same_each_time() -> None:
    text = str(SHIPPED_MEASUREMENTS[0])
    anew = unwrap(measuring_of)(read_measurements(text).measured)
    found = measuring_of(read_measurements(text).measured)
    assert found is measuring_of(read_measurements(text).measured) is not anew
    np.testing.assert_array_equal(found.places, anew.places)


def test_another_layout_is_another_question() -> None:
    layout = read_layout(str(SHIPPED_LAYOUTS[0])).layout
    other = replace(layout, belt=replace(layout.belt, length_mm=900.0))
    assert route_of(other).layout.belt.length_mm == 900.0 != route_of(layout).layout.belt.length_mm


def test_a_file_is_read_again_where_it_or_its_parser_changed_or_it_names_a_drawing(
    here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, text = here / "a.yaml", SHIPPED_LAYOUTS[0].read_text(encoding="utf-8")
    file.write_text(text, encoding="utf-8")
    first = read_layout(str(file))
    assert read_layout(str(file)) is first
    file.write_text(f"{text}\n# more\n", encoding="utf-8")
    assert (again := read_layout(str(file))) is not first and again.layout == first.layout
    monkeypatch.setattr(document, "LOADER", yaml.SafeLoader)
    assert read_layout(str(file)) is not again
    assert remembered._text(str(file)) == remembered._text(str(file))
    file.write_text(f"{text}\n# file: block.csv\n", encoding="utf-8")
    assert remembered._text(str(file)) != remembered._text(str(file))


def test_no_more_is_kept_than_there_is_room_for() -> None:
    asked: list[int] = []

    def double(number: int) -> int:
        asked.append(number)
        return 2 * number

    doubled = once(double, repr)
    numbers = (*range(MOST), 0, MOST, 0, 1)
    assert [doubled(number) for number in numbers] == [2 * number for number in numbers]
    assert asked == [*range(MOST + 1), 1], "what was asked for last is kept"

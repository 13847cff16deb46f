"""The whole layout, from the top mapping of a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import cast

from beltplan.belts.belt import Belt
from beltplan.belts.designations import MM_PER_INCH
from beltplan.belts.layout import Engine, Layout, Rotation
from beltplan.belts.pulleys import Pulley
from beltplan.reading.belt_reader import read_belt, read_stock
from beltplan.reading.beside import Beside
from beltplan.reading.document import Scalar, Table
from beltplan.reading.duty_reader import read_duties
from beltplan.reading.faults import FaultList
from beltplan.reading.load_reader import check_driver_load
from beltplan.reading.pulley_reader import read_pulley
from beltplan.reading.route_reader import MOST_PULLEYS, ROUTE_SIZE, check_adjuster, check_backs, read_driver, read_route
from beltplan.reading.section import Section
from beltplan.reading.size_reader import read_sizes
from beltplan.reading.surroundings_reader import read_limits, read_obstacles
from beltplan.reading.uncertainty_reader import read_uncertainty


def build_layout(table: Table, title: str, variant: str | None, faults: FaultList, beside: Beside) -> Layout | None:
    """The layout of a file's top mapping; None where there is any fault, each noted in `faults`.

    title: the one that holds where the file gives none. beside: where files that it names are looked for.
    """
    top = Section(table, table.line, (), "", _mm_per_unit(table), faults, beside)
    top.check_keys()
    top.choice("units")
    belt, engine = read_belt(top), _engine(top)
    name, rotation = top.text("title") or title, top.choice("rotation") or "clockwise"
    every = top.named_mappings("pulleys", MOST_PULLEYS)
    pulleys, route = _pulleys(top, every, belt)
    duties = read_duties(top, every) if every else {}
    stock, obstacles = read_stock(top, belt), read_obstacles(top)
    limits = read_limits(top, (*every, *(obstacle.name for obstacle in obstacles)))
    uncertainty, idlers = read_uncertainty(top), read_sizes(top, "idler_sizes")
    if faults.found or belt is None or route is None:
        return None
    given = (name, belt, pulleys, route, cast(Rotation, rotation), engine, obstacles, stock, limits)
    return Layout(*given, variant, duties, uncertainty, idlers)


def _mm_per_unit(table: Table) -> float:
    entry = table.entries.get("units")
    inches = entry is not None and isinstance(entry.value, Scalar) and entry.value.text == "in"
    return MM_PER_INCH if inches else 1.0


def _engine(top: Section) -> Engine:
    section = top.mapping("engine")
    if section is None:
        return Engine()
    idle, cruise, most = (section.number(key) for key in ("idle_rpm", "cruise_rpm", "max_rpm"))
    given = [(key, rpm) for key, rpm in (("idle_rpm", idle), ("cruise_rpm", cruise), ("max_rpm", most)) if rpm]
    for (slower, low), (faster, high) in pairwise(given):
        if low > high:
            section.refuse(faster, f"{high:g}, under {slower} of {low:g}", "idle_rpm <= cruise_rpm <= max_rpm")
    return Engine(idle, cruise, most, section.whole_number("cylinders"), section.number("rev_up_rpm_per_s"))


def _pulleys(
    top: Section, every: Mapping[str, Section | None], belt: Belt | None
) -> tuple[Mapping[str, Pulley], tuple[str, ...] | None]:
    """The pulleys that could be read, and the route."""
    if not every:
        top.items("route", *ROUTE_SIZE)
        return {}, None
    sections = {name: section for name, section in every.items() if section is not None}
    read = {name: read_pulley(name, section, belt) for name, section in sections.items()}
    pulleys = {name: pulley for name, pulley in read.items() if pulley is not None}
    route = read_route(top, tuple(every))
    check_adjuster(top, sections, route)
    check_backs(top, sections, belt)
    driver = read_driver(top, sections, route) if len(sections) == len(every) else None
    check_driver_load(sections, driver)
    return {name: replace(pulley, drives=name == driver) for name, pulley in pulleys.items()}, route

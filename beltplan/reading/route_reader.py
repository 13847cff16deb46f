"""The route, the driver and the adjuster: what the pulleys are to each other."""

from __future__ import annotations

from collections.abc import Mapping

from beltplan.belts.belt import Belt
from beltplan.reading.document import Scalar, kind_of
from beltplan.reading.faults import did_you_mean, quoted
from beltplan.reading.keys import key_at
from beltplan.reading.pulley_keys import EITHER_SIDE
from beltplan.reading.pulley_reader import PLACES
from beltplan.reading.section import Section

MOST_PULLEYS = 64
ROUTE_SIZE = (2, MOST_PULLEYS)

Sections = Mapping[str, Section]


def read_route(top: Section, names: tuple[str, ...]) -> tuple[str, ...] | None:
    """Names of the pulleys round the loop; None where anything in it is wrong."""
    nodes = top.items("route", *ROUTE_SIZE)
    if nodes is None:
        return None
    route: list[str] = []
    before = len(top.faults.found)
    for place, node in enumerate(nodes, start=1):
        name = node.text if isinstance(node, Scalar) else ""
        if name not in names:
            hint = did_you_mean(name, names)
            top.refuse(f"route.{place}", kind_of(node) + hint, f"names of pulleys: {', '.join(names)}", node.line)
        elif name in route:
            top.refuse(f"route.{place}", f"{quoted(name)} a second time", "each pulley once", node.line)
        route.append(name)
    return tuple(route) if len(top.faults.found) == before else None


def read_driver(top: Section, pulleys: Sections, route: tuple[str, ...] | None) -> str | None:
    """Name of the one driver: the pulley said to drive, else the crankshaft on the route.

    None where there is none or more than one, or a role is wrong and so there is no telling.
    """
    roles = key_at("pulleys.NAME.role").choices
    if any(_word(pulley, "role") not in roles for pulley in pulleys.values()):
        return None
    said = [name for name, pulley in pulleys.items() if _word(pulley, "drives") == "true"]
    cranks = [name for name, p in pulleys.items() if _word(p, "role") == "crankshaft" and _word(p, "drives") != "false"]
    candidates = said or [name for name in cranks if name in (route or ())] or cranks
    if len(candidates) != 1:
        got = "no driver" if not candidates else "more than one driver: " + ", ".join(candidates)
        top.refuse("pulleys", got, "one crankshaft on the route, or one pulley with `drives: true`")
        return None
    if route is not None:
        _check_on_route(top, candidates[0], "the driver", route)
    return candidates[0]


def check_adjuster(top: Section, pulleys: Sections, route: tuple[str, ...] | None) -> None:
    """Note a second adjuster, or one that the belt does not go round."""
    carried = [(name, key) for name, p in pulleys.items() for key in PLACES[1:] if p.has(key)]
    names = list(dict.fromkeys(name for name, _ in carried))
    for name, key in carried[1:]:
        if name != names[0]:
            pulleys[name].refuse(key, f"adjusters on {', '.join(names)}", "one pulley with an arm or slide")
    if len(names) == 1 and route is not None:
        _check_on_route(top, names[0], "with its adjuster", route)


def check_backs(top: Section, pulleys: Sections, belt: Belt | None) -> None:
    """Note that the height of the belt's back must be measured, where a pulley runs on it and it is not known."""
    backs = [name for name, pulley in pulleys.items() if _word(pulley, "belt_side") in ("back", EITHER_SIDE)]
    if belt is None or belt.back_mm is not None or not backs:
        return
    allowed = f"how far the belt's back stands over the rim, measured; needed for {', '.join(backs)} on the back"
    node = top.table.entries["belt"]
    top.faults.add(node.line, ("belt", "back_over_rim_mm"), f"nothing for profile {belt.profile.name}", allowed)


def _check_on_route(top: Section, name: str, what: str, route: tuple[str, ...]) -> None:
    if name not in route:
        top.refuse("route", f"a route without {quoted(name)}, {what}", "a route that goes round it")


def _word(section: Section, key: str) -> str | None:
    node = section.node(key)
    return node.text if isinstance(node, Scalar) else None

"""Duties: which loads act together."""

from __future__ import annotations

from collections.abc import Mapping

from beltplan.reading.document import Node, Scalar, kind_of
from beltplan.reading.faults import did_you_mean, quoted
from beltplan.reading.section import Section
from beltplan.reading.values import LONGEST_NAME

MOST_DUTIES = 32
MOST_LOADS = 64


def read_duties(top: Section, pulleys: Mapping[str, Section | None]) -> Mapping[str, tuple[str, ...]]:
    """Names of the pulleys whose loads act, by the duty's name; empty where the file names none: all act."""
    duty = top.free_mapping("duty")
    if duty is None:
        return {}
    if len(duty.names) > MOST_DUTIES:
        top.refuse("duty", f"{len(duty.names)} duties", f"at most {MOST_DUTIES}")
        return {}
    # A pulley that could not be read has its own fault; what it takes is not known.
    loaded = tuple(name for name, pulley in pulleys.items() if pulley is None or pulley.has("load"))
    return {name: _acting(duty, name, loaded, tuple(pulleys)) for name in duty.names}


def _acting(duty: Section, name: str, loaded: tuple[str, ...], every: tuple[str, ...]) -> tuple[str, ...]:
    if not (name.strip() and name.isprintable() and len(name) <= LONGEST_NAME):
        duty.refuse(name, f"the name {quoted(name)}", f"a name of 1 to {LONGEST_NAME} printable characters")
    acting: list[str] = []
    for place, node in enumerate(duty.list_named(name, 0, MOST_LOADS) or (), start=1):
        _add(duty, f"{name}.{place}", node, acting, loaded, every)
    return tuple(acting)


def _add(
    duty: Section, key: str, node: Node, acting: list[str], loaded: tuple[str, ...], every: tuple[str, ...]
) -> None:
    name = node.text if isinstance(node, Scalar) else ""
    allowed = f"pulleys with a load: {', '.join(loaded) or 'there are none'}"
    if name in loaded and name not in acting:
        acting.append(name)
    elif name in acting:
        duty.refuse(key, f"{quoted(name)} a second time", "each pulley once", node.line)
    elif name in every:
        duty.refuse(key, f"{quoted(name)}, a pulley without a load", allowed, node.line)
    else:
        duty.refuse(key, kind_of(node) + did_you_mean(name, loaded), allowed, node.line)

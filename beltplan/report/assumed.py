"""What the program assumes of the loads, because the layout leaves it out: in words, and as plain values."""

from __future__ import annotations

from typing import Any

from beltplan.drive.loads import ALTERNATOR_SOURCE, OUTPUT_SOURCE, OUTPUT_WORDS, AlternatorLoad, Load, PumpLoad
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Pulley


def assumed_words(pulleys: tuple[Pulley, ...]) -> list[str]:
    """One sentence for each thing that is assumed alike of one or more pulleys."""
    about: dict[str, list[str]] = {}
    for pulley in pulleys:
        for words in _of(pulley.load):
            about.setdefault(words, []).append(pulley.name)
    return [f"assumed for {', '.join(names)}: {words}" for words, names in about.items()]


def _of(load: Load | None) -> list[str]:
    words = []
    if isinstance(load, AlternatorLoad) and "output" in load.assumed:
        words.append(f"output {OUTPUT_WORDS} [{OUTPUT_SOURCE}]; give `output` from its sheet")
    if isinstance(load, AlternatorLoad | PumpLoad) and "efficiency" in load.assumed:
        source = ALTERNATOR_SOURCE if isinstance(load, AlternatorLoad) else PRACTICE
        words.append(f"efficiency {load.efficiency:g} [{source}]; give `efficiency`")
    return words


def loads_of(pulleys: tuple[Pulley, ...]) -> list[dict[str, Any]]:
    """Every pulley with a load, and the values that were assumed of it by their keys."""
    return [{"name": pulley.name, "assumed": _values(pulley.load)} for pulley in pulleys if pulley.load is not None]


def _values(load: Load | None) -> dict[str, Any]:
    values: dict[str, Any] = {}
    if isinstance(load, AlternatorLoad | PumpLoad) and "efficiency" in load.assumed:
        values["efficiency"] = load.efficiency
    if isinstance(load, AlternatorLoad) and "output" in load.assumed:
        values["output"] = {"rpm": list(load.output_rpm), "A": list(load.output_A)}
    return values

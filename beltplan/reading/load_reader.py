"""What a pulley's shaft takes: its load, in one of the forms that the file may write it in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise
from types import MappingProxyType
from typing import cast

from beltplan.belts.loads import (
    ALTERNATOR_EFFICIENCY,
    PUMP_EFFICIENCY,
    AlternatorLoad,
    Assumable,
    Growth,
    Load,
    PowerLoad,
    PumpLoad,
    TableLoad,
    TorqueLoad,
    default_output,
)
from beltplan.reading import values
from beltplan.reading.document import Node
from beltplan.reading.keys import key_at
from beltplan.reading.section import Section
from beltplan.reading.values import Misread

CURVE_SIZE = (2, 200)
ANY_SPEED_RPM = 1.0
"""Speed that a constant power is noted at: it is the same at every speed."""

FORMS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "current_A": ("current_A", "voltage_V", "efficiency", "output"),
        "pressure_bar": ("pressure_bar", "displacement_cm3", "efficiency"),
        "torque_Nm": ("torque_Nm",),
        "power_kW": ("power_kW", "at_rpm", "grows"),
        "table": ("table",),
    }
)
"""The keys of every form of load, by the key that tells which form it is."""

Curve = tuple[tuple[float, ...], tuple[float, ...]]


def read_load(pulley: Section, rated_A: float | None) -> Load | None:
    """The pulley's load; None where it has none or it is wrong.

    rated_A: of the pulley's alternator, which sets its output curve where the load gives none. Without either the
    current is taken as it stands: it may be what a clamp meter reads.
    """
    load = pulley.mapping("load")
    if load is None:
        return None
    given = [key for key in FORMS if load.has(key)]
    if len(given) == 1:
        _refuse_foreign(load, given[0])
        return _alternator(load, rated_A) if given[0] == "current_A" else _READERS[given[0]](load)
    if not given and all(name in key_names() for name in load.table.entries):
        pulley.refuse("load", f"a load without any of {', '.join(FORMS)}", "one of them")
    for key in given[1:]:
        load.refuse(key, f"both {given[0]} and {key}", f"one of {', '.join(FORMS)}")
    return None


def key_names() -> tuple[str, ...]:
    """Every key that some form of load knows."""
    return tuple(dict.fromkeys(key for keys in FORMS.values() for key in keys))


def check_driver_load(pulleys: Mapping[str, Section], driver: str | None) -> None:
    """Note a load on the driver."""
    if driver is not None and pulleys[driver].has("load"):
        pulleys[driver].refuse("load", "a load on the driver", "loads on driven pulleys: the driver drives the belt")


def _refuse_foreign(load: Section, form: str) -> None:
    for key in load.names:
        if key in key_names() and key not in FORMS[form]:
            load.refuse(key, f"{key} beside {form}", ", ".join(FORMS[form]))


def _alternator(load: Section, rated_A: float | None) -> AlternatorLoad | None:
    current, voltage = load.number("current_A"), load.number("voltage_V")
    efficiency, curve = _efficiency(load, ALTERNATOR_EFFICIENCY), _curve(load, "output", "A")
    if current is None or voltage is None:
        return None
    assumed = _left_out(load, "efficiency") if rated_A is None else _left_out(load, "efficiency", "output")
    output = curve or (default_output(rated_A) if rated_A is not None else ((), ()))
    return AlternatorLoad(current, voltage, efficiency, *output, assumed)


def _pump(load: Section) -> PumpLoad | None:
    pressure, displacement = load.number("pressure_bar"), load.number("displacement_cm3")
    efficiency = _efficiency(load, PUMP_EFFICIENCY)
    if pressure is None or displacement is None:
        return None
    return PumpLoad(pressure, displacement, efficiency, _left_out(load, "efficiency"))


def _left_out(load: Section, *keys: Assumable) -> tuple[Assumable, ...]:
    return tuple(key for key in keys if not load.has(key))


def _torque(load: Section) -> TorqueLoad | None:
    torque = load.number("torque_Nm")
    return None if torque is None else TorqueLoad(torque)


def _power(load: Section) -> PowerLoad | None:
    power, at, grows = load.number("power_kW"), load.number("at_rpm"), load.choice("grows") or "constant"
    if grows != "constant" and not load.has("at_rpm"):
        load.missing("at_rpm", f"the shaft speed of that power, since it grows ({grows})")
    return None if power is None else PowerLoad(power, at or ANY_SPEED_RPM, cast(Growth, grows))


def _table(load: Section) -> TableLoad | None:
    curve = _curve(load, "table", "torque_Nm")
    return None if curve is None else TableLoad(*curve)


_READERS: Mapping[str, Callable[[Section], Load | None]] = MappingProxyType(
    {"pressure_bar": _pump, "torque_Nm": _torque, "power_kW": _power, "table": _table}
)


def _efficiency(load: Section, default: float) -> float:
    given = load.number("efficiency")
    return default if given is None else given


def _curve(load: Section, key: str, value: str) -> Curve | None:
    """Shaft speeds, rising, and a value at each."""
    section = load.mapping(key)
    if section is None:
        return None
    rpm, at_rpm = _numbers(section, "rpm"), _numbers(section, value)
    if rpm is None or at_rpm is None:
        return None
    if len(rpm) != len(at_rpm):
        section.refuse(value, f"{len(at_rpm)} values for {len(rpm)} speeds", "one value for each speed of `rpm`")
    for place, (slower, faster) in enumerate(pairwise(rpm), start=2):
        if not slower < faster:
            section.refuse("rpm", f"{faster:g} after {slower:g} (entry {place})", "speeds that rise")
    return rpm, at_rpm


def _numbers(section: Section, key: str) -> tuple[float, ...] | None:
    nodes = section.items(key, *CURVE_SIZE)
    if nodes is None:
        return None
    read = [_number(section, key, place, node) for place, node in enumerate(nodes, start=1)]
    numbers = tuple(number for number in read if number is not None)
    return numbers if len(numbers) == len(read) else None


def _number(section: Section, key: str, place: int, node: Node) -> float | None:
    try:
        return values.number(node, key_at(f"{section.form}.{key}"))
    except Misread as fault:
        section.refuse(f"{key}.{place}", fault.got, fault.allowed, node.line)
        return None

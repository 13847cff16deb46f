"""What a pulley's shaft takes: the load as the layout gives it, and its torque at a shaft speed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np

from beltplan.drive.profiles import PRACTICE
from beltplan.geometry.vectors import TURN, Floats

Growth = Literal["constant", "linear", "square", "cube"]
_EXPONENTS: Mapping[Growth, int] = MappingProxyType({"constant": 0, "linear": 1, "square": 2, "cube": 3})

Assumable = Literal["efficiency", "output"]

ALTERNATOR_EFFICIENCY = 0.50
PUMP_EFFICIENCY = 0.85
_OUTPUT_RPM = (1000.0, 1500.0, 2000.0, 3000.0, 6000.0)
_OUTPUT_SHARE = (0.0, 0.40, 0.62, 0.82, 1.00)
"""Share of its rated current that an alternator can give at a speed of its own shaft, nothing under the first."""

OUTPUT_WORDS = (
    f"{', '.join(f'{share:.2f}' for share in _OUTPUT_SHARE[1:])} of rated_A at "
    f"{', '.join(f'{rpm:.0f}' for rpm in _OUTPUT_RPM[1:])} rpm of its own shaft, nothing under {_OUTPUT_RPM[0]:.0f}"
)

ALTERNATOR_SOURCE = "doi 10.1201/9781003053231-3, abstract: an alternator is about 50 % efficient"
OUTPUT_SOURCE = "from memory, medium confidence"

_SLOWEST_RPM = 1e-3
"""A shaft slower than this takes its torque at this speed: power over speed has no value at rest."""


@dataclass(frozen=True)
class AlternatorLoad:
    """An electrical load: current at a voltage.

    output_rpm, output_A: what the alternator can give at each speed of its shaft, ends held; it never takes more.
    Without them the current is taken as it stands. assumed: what the layout left out and a default stands for.
    Source: torque = V I / (efficiency w).
    """

    current_A: float
    voltage_V: float
    efficiency: float
    output_rpm: tuple[float, ...] = ()
    output_A: tuple[float, ...] = ()
    assumed: tuple[Assumable, ...] = ()

    def torque_Nm(self, rpm: Floats) -> Floats:
        output = np.interp(rpm, self.output_rpm, self.output_A) if self.output_rpm else np.inf
        current = np.minimum(self.current_A, output)
        return np.asarray(self.voltage_V * current / (self.efficiency * _speed(rpm)))


@dataclass(frozen=True)
class PumpLoad:
    """A displacement pump at a pressure. Source: torque = p V_d / (2 pi efficiency).

    >>> pump = PumpLoad(pressure_bar=100.0, displacement_cm3=10.0, efficiency=0.85)
    >>> pump.torque_Nm(np.array([800.0, 3000.0])).round(2).tolist()
    [18.72, 18.72]
    """

    pressure_bar: float
    displacement_cm3: float
    efficiency: float
    assumed: tuple[Assumable, ...] = ()

    def torque_Nm(self, rpm: Floats) -> Floats:
        """Torque that the shaft takes, the same at every speed, (...) Nm."""
        # 1 bar x 1 cm3 = 0.1 J.
        torque = 0.1 * self.pressure_bar * self.displacement_cm3 / (TURN * self.efficiency)
        return np.full(np.shape(rpm), torque)


@dataclass(frozen=True)
class TorqueLoad:
    """The same torque at every speed."""

    constant_Nm: float

    def torque_Nm(self, rpm: Floats) -> Floats:
        return np.full(np.shape(rpm), self.constant_Nm)


@dataclass(frozen=True)
class PowerLoad:
    """A power at one shaft speed that grows with a power of the speed (fan and pump laws); constant without one."""

    power_kW: float
    at_rpm: float
    grows: Growth

    def torque_Nm(self, rpm: Floats) -> Floats:
        power = 1000.0 * self.power_kW * (np.asarray(rpm) / self.at_rpm) ** _EXPONENTS[self.grows]
        return np.asarray(power / _speed(rpm))


@dataclass(frozen=True)
class TableLoad:
    """Torque from a table of shaft speeds, straight between them, ends held."""

    rpm: tuple[float, ...]
    table_Nm: tuple[float, ...]

    def torque_Nm(self, rpm: Floats) -> Floats:
        return np.interp(rpm, self.rpm, self.table_Nm)


Load = AlternatorLoad | PumpLoad | TorqueLoad | PowerLoad | TableLoad


def load_words(load: Load) -> str:
    """A load as it was taken, whatever units the file gives it in.

    >>> load_words(PumpLoad(8.27371, 14.0, 0.85)), load_words(PowerLoad(4.0, 3000.0, "cube"))
    ('8.274 bar at 14 cm3', '4 kW at 3000 rpm, growing by the cube')
    >>> load_words(PowerLoad(2.5, 1.0, "constant"))
    '2.5 kW at every speed'
    """
    match load:
        case AlternatorLoad():
            return f"{load.current_A:.4g} A at {load.voltage_V:.4g} V"
        case PumpLoad():
            return f"{load.pressure_bar:.4g} bar at {load.displacement_cm3:.4g} cm3"
        case TorqueLoad():
            return f"{load.constant_Nm:.4g} Nm"
        case PowerLoad():
            if load.grows == "constant":
                return f"{load.power_kW:.4g} kW at every speed"
            grows = {"linear": ", growing with speed"}.get(load.grows, f", growing by the {load.grows}")
            return f"{load.power_kW:.4g} kW at {load.at_rpm:g} rpm{grows}"
        case TableLoad():
            return f"{min(load.table_Nm):.4g} to {max(load.table_Nm):.4g} Nm at {load.rpm[0]:g} to {load.rpm[-1]:g} rpm"


def default_output(rated_A: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Output curve of an alternator of that rating where none is given: shaft rpm, A; see `OUTPUT_SOURCE`.

    >>> default_output(100.0)[1]
    (0.0, 40.0, 62.0, 82.0, 100.0)
    """
    return _OUTPUT_RPM, tuple(share * rated_A for share in _OUTPUT_SHARE)


def _speed(rpm: Floats) -> Floats:
    return np.maximum(rpm, _SLOWEST_RPM) * TURN / 60.0


# What a role usually takes, for those who do not know it.

USUAL = "usual"
"""What a file writes for a load to take that of its role."""
EVERYTHING_ON, CRUISING = "everything on", "cruising"
"""Duties that come with usual loads; in a duty of the second name a usual load takes what it does on the road."""

_VOLTAGE_V = 14.2
_STEERING_CM3, _HARD_OVER_BAR, _STRAIGHT_BAR = 6.0, 90.0, 10.0
_COOLING_KW, _COOLING_RPM = 4.0, 3000.0
_FAN_KW, _FAN_RPM, _FAN_MM = 2.0, 2500.0, 450.0
_FADING = 1.1 ** np.arange(20)


@dataclass(frozen=True)
class UsualLoad:
    """What a role usually takes: with everything on, and cruising; in words, where that comes from, like what it is.

    fan_mm: diameter of the fan that it is given by.
    """

    load: Load
    cruising: Load
    words: str
    source: str
    like: str = ""
    fan_mm: float | None = None


def usual_loads(rated_A: float = 100.0) -> Mapping[str, UsualLoad]:
    """The usual load of every role that has one; rated_A: of the alternator.

    >>> usual_loads()["steering_pump"].load.torque_Nm(np.array(1000.0)).round(1).item()
    10.1
    """
    charging, topping_up = (
        AlternatorLoad(asked, _VOLTAGE_V, ALTERNATOR_EFFICIENCY, *default_output(rated_A), ("efficiency", "output"))
        for asked in (rated_A, 0.5 * rated_A)
    )
    hard_over, straight = (
        PumpLoad(bar, _STEERING_CM3, PUMP_EFFICIENCY, ("efficiency",)) for bar in (_HARD_OVER_BAR, _STRAIGHT_BAR)
    )
    cooling_Nm = 1000.0 * _COOLING_KW / float(_speed(np.array(_COOLING_RPM)))
    cooling = TableLoad(tuple((_COOLING_RPM * _FADING).tolist()), tuple((cooling_Nm / _FADING).tolist()))
    water_pump, vacuum_pump = PowerLoad(0.7, 3000.0, "cube"), PowerLoad(0.3, 1.0, "constant")
    return {
        "alternator": UsualLoad(
            charging,
            topping_up,
            f"all of rated_A at {_VOLTAGE_V:g} V, half of it {CRUISING}, as far as it gives that",
            PRACTICE,
        ),
        "steering_pump": UsualLoad(
            hard_over,
            straight,
            f"{_STEERING_CM3:g} cm3 at {_HARD_OVER_BAR:g} bar hard over; {_STRAIGHT_BAR:g} bar {CRUISING}, straight on",
            f"service texts: about 6 cm3, relief at 80 to 105 bar; straight on {PRACTICE}",
        ),
        "air_conditioning": UsualLoad(
            cooling,
            cooling,
            f"{_COOLING_KW:g} kW at {_COOLING_RPM:.0f} rpm of its shaft and above; below, the same torque",
            f"service texts: 0.5 to 8 kW; the speed {PRACTICE}",
        ),
        "water_pump": UsualLoad(water_pump, water_pump, "0.7 kW at 3000 rpm, with the cube of its speed", PRACTICE),
        "fan": fan_load(_FAN_MM),
        "vacuum_pump": UsualLoad(vacuum_pump, vacuum_pump, "0.3 kW at every speed", PRACTICE),
    }


def fan_load(diameter_mm: float) -> UsualLoad:
    """What a fan usually takes, by the diameter over its blades.

    Source: fan laws, power with the cube of the speed and the fifth power of the diameter.

    >>> fan_load(225.0).words
    '0.062 kW at 2500 rpm, with the cube of its speed, as a fan of 225 mm'
    """
    power_kW = _FAN_KW * (diameter_mm / _FAN_MM) ** 5
    load = PowerLoad(power_kW, _FAN_RPM, "cube")
    like = f"as a fan of {diameter_mm:.5g} mm"
    words = f"{power_kW:.2g} kW at {_FAN_RPM:.0f} rpm, with the cube of its speed, {like}"
    return UsualLoad(load, load, words, f"fan laws; 2 kW of a fan of {_FAN_MM:.0f} mm {PRACTICE}", like, diameter_mm)

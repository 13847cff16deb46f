"""What a pulley's shaft takes: the load as the layout gives it, and its torque at a shaft speed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np

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


def default_output(rated_A: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Output curve of an alternator of that rating where none is given: shaft rpm, A; see `OUTPUT_SOURCE`.

    >>> default_output(100.0)[1]
    (0.0, 40.0, 62.0, 82.0, 100.0)
    """
    return _OUTPUT_RPM, tuple(share * rated_A for share in _OUTPUT_SHARE)


def _speed(rpm: Floats) -> Floats:
    return np.maximum(rpm, _SLOWEST_RPM) * TURN / 60.0

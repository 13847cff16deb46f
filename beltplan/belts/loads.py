"""What a pulley's shaft takes: the load as the layout gives it, and its torque at a shaft speed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np

from beltplan.geometry.vectors import TURN, Floats

Growth = Literal["constant", "linear", "square", "cube"]
EXPONENTS: Mapping[Growth, int] = MappingProxyType({"constant": 0, "linear": 1, "square": 2, "cube": 3})

ALTERNATOR_EFFICIENCY = 0.60
PUMP_EFFICIENCY = 0.85
OUTPUT_RPM = (0.0, 1000.0, 1500.0, 2000.0, 3000.0, 4000.0, 6000.0)
OUTPUT_SHARE = (0.0, 0.0, 0.35, 0.50, 0.75, 0.90, 1.00)
"""Share of its rated current that an alternator can give at a shaft speed, cold; common practice, no source."""

SLOWEST_RPM = 1e-3
"""A shaft slower than this takes its torque at this speed: power over speed has no value at rest."""


@dataclass(frozen=True)
class AlternatorLoad:
    """An electrical load: current at a voltage, never more than the output curve gives at the shaft's speed.

    output_rpm, output_A: what the alternator can give at each shaft speed, ends held.
    Source: torque = V I / (efficiency w).
    """

    current_A: float
    voltage_V: float
    efficiency: float
    output_rpm: tuple[float, ...]
    output_A: tuple[float, ...]

    def torque_Nm(self, rpm: Floats) -> Floats:
        """Torque that the shaft takes, (...) rpm -> (...) Nm."""
        current = np.minimum(self.current_A, np.interp(rpm, self.output_rpm, self.output_A))
        return np.asarray(self.voltage_V * current / (self.efficiency * _speed(rpm)))


@dataclass(frozen=True)
class PumpLoad:
    """A displacement pump at a pressure. Source: torque = p V_d / (2 pi efficiency)."""

    pressure_bar: float
    displacement_cm3: float
    efficiency: float

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
        """Torque that the shaft takes, (...) Nm."""
        return np.full(np.shape(rpm), self.constant_Nm)


@dataclass(frozen=True)
class PowerLoad:
    """A power at one shaft speed that grows with a power of the speed (fan and pump laws); constant without one."""

    power_kW: float
    at_rpm: float
    grows: Growth

    def torque_Nm(self, rpm: Floats) -> Floats:
        """Torque that the shaft takes, (...) rpm -> (...) Nm."""
        power = 1000.0 * self.power_kW * (np.asarray(rpm) / self.at_rpm) ** EXPONENTS[self.grows]
        return np.asarray(power / _speed(rpm))


@dataclass(frozen=True)
class TableLoad:
    """Torque from a table of shaft speeds, straight between them, ends held."""

    rpm: tuple[float, ...]
    table_Nm: tuple[float, ...]

    def torque_Nm(self, rpm: Floats) -> Floats:
        """Torque that the shaft takes, (...) rpm -> (...) Nm."""
        return np.interp(rpm, self.rpm, self.table_Nm)


Load = AlternatorLoad | PumpLoad | TorqueLoad | PowerLoad | TableLoad


def default_output(rated_A: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Output curve of an alternator of that rating where none is given: shaft rpm, A. Common practice, no source."""
    return OUTPUT_RPM, tuple(share * rated_A for share in OUTPUT_SHARE)


def _speed(rpm: Floats) -> Floats:
    return np.maximum(rpm, SLOWEST_RPM) * TURN / 60.0

"""What was measured, solved once more by scipy.optimize.least_squares from the true places, with nothing of our own.

Points are complex numbers, a slanted photo a 3 x 3 matrix in plain mm: another way to write the same model.
"""

from collections.abc import Mapping

import numpy as np
from scipy.optimize import least_squares

from beltplan.geometry.vectors import Floats
from beltplan.measure.readings import Image, LoopLength, Measured
from tests.measure.drives import Places

RIM_SIGN = {"centres": 0.0, "outside": 1.0, "gap": -1.0}


def _seen(picture: Image, numbers: Floats, at: Floats) -> Floats:
    """Places of the plane (m) complex, on the picture (m) complex."""
    if picture.model == "rigid":
        return np.asarray(picture.px_per_mm * np.exp(1j * numbers[0]) * at + complex(numbers[1], numbers[2]))
    if picture.model == "similar":
        return np.asarray(complex(numbers[0], numbers[1]) * at + complex(numbers[2], numbers[3]))
    u, v, w = np.append(numbers, 1.0).reshape(3, 3) @ np.stack((at.real, at.imag, np.ones(len(at))))
    return np.asarray((u + 1j * v) / w)


def loop_mm(loop: LoopLength, at: Mapping[str, complex], radius: Mapping[str, float]) -> float:
    """The length of a loop whose inside pulleys turn counter-clockwise: tangents of circles, turn by turn."""
    around = loop.around
    centre = np.array([at[each.point] + complex(*each.carried_mm) for each in around])
    rims = [radius[each.pulley] if each.rim_mm is None else each.rim_mm for each in around]
    signed = np.array([(rim + e.over_mm) * (-1 if e.on_back else 1) for rim, e in zip(rims, around, strict=True)])
    step, fall = np.roll(centre, -1) - centre, signed - np.roll(signed, -1)
    heading = np.angle(step) + np.arcsin(fall / np.abs(step))
    turn = np.mod(np.sign(signed) * (heading - np.roll(heading, 1)), 2.0 * np.pi)
    return float(np.sum(np.sqrt(np.abs(step) ** 2 - fall**2) + turn * np.abs(signed)))


class Reference:
    """The misfits of what was measured, as a function of one vector."""

    def __init__(self, measured: Measured, radii_mm: Mapping[str, float], sights: Mapping[str, tuple[float, ...]]):
        """radii_mm: true radii of the pulleys whose rims count. sights: true numbers of each picture."""
        self.measured, self.radii_mm, self.sights = measured, radii_mm, sights

    def start(self, places: Places) -> Floats:
        """The vector at the true places."""
        parts = [v for name in self.measured.points for v in places[name]] + list(self.radii_mm.values())
        for picture in self.measured.images:
            numbers = np.array(self.sights[picture.name])
            parts += numbers.tolist()
            for name, rim in picture.rims.items():
                middle = _seen(picture, numbers, np.array([complex(*places[name])]))[0]
                ahead = _seen(picture, numbers, np.array([complex(*places[name]) + 1.0]))[0]
                parts += [float(np.angle((complex(*at) - middle) / (ahead - middle))) for at in rim]
        return np.array(parts)

    def misfits(self, x: Floats) -> Floats:
        """All misfits over their deviations, and the origin held at (0, 0) by 1e-7 mm."""
        given = self.measured
        at = dict(
            zip(given.points, x[: 2 * len(given.points) : 2] + 1j * x[1 : 2 * len(given.points) : 2], strict=True)
        )
        rest = x[2 * len(given.points) :]
        radius = dict(zip(self.radii_mm, rest, strict=False))
        rest = rest[len(self.radii_mm) :]
        rows = [at[given.origin].real / 1e-7, at[given.origin].imag / 1e-7]
        for tape in given.distances:
            rims = RIM_SIGN[tape.between]
            over = rims * (radius[tape.first] + radius[tape.second]) if rims else 0.0
            rows.append((abs(at[tape.second] - at[tape.first]) + over - tape.value_mm) / tape.sd_mm)
        for line in given.directions:
            turned = (at[line.second] - at[line.first]) * np.exp(-1j * line.value_rad)
            rows.append(float(np.angle(turned)) / line.sd_rad)
        if given.level is not None:
            rows.append(float(np.angle(at[given.level[1]] - at[given.level[0]])) / 1e-6)
        for offset in given.offsets:
            step = at[offset.point] - at[offset.datum]
            rows.append(((step.real if offset.axis == "x" else step.imag) - offset.value_mm) / offset.sd_mm)
        rows += [(loop_mm(loop, at, radius) - loop.value_mm) / loop.sd_mm for loop in given.loops]
        rows += [(2.0 * radius[s.pulley] - s.value_mm) / s.sd_mm for s in given.diameters if s.pulley in radius]
        for picture in given.images:
            part, rest = self._of_picture(picture, at, radius, rest)
            rows += part
        return np.array(rows)

    def _of_picture(
        self, picture: Image, at: Mapping[str, complex], radius: Mapping[str, float], rest: Floats
    ) -> tuple[list[float], Floats]:
        count = {"rigid": 3, "similar": 4, "slanted": 8}[picture.model]
        numbers, rest = rest[:count], rest[count:]
        here, read = [at[name] for name in picture.places], [complex(*each) for each in picture.places.values()]
        for name, rim in picture.rims.items():
            here += list(at[name] + radius[name] * np.exp(1j * rest[: len(rim)]))
            read += [complex(*each) for each in rim]
            rest = rest[len(rim) :]
        off = (_seen(picture, numbers, np.array(here)) - np.array(read)) / picture.sd_px
        return [*off.real.tolist(), *off.imag.tolist()], rest

    def solved(self, places: Places) -> tuple[Floats, float]:
        """The best places, (points, 2) mm, and the sum of squares."""
        found = least_squares(
            self.misfits, self.start(places), method="lm", x_scale="jac", xtol=1e-13, ftol=1e-13, gtol=1e-13
        )
        return found.x[: 2 * len(self.measured.points)].reshape(-1, 2), 2.0 * float(found.cost)

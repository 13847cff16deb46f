"""The belt as a body, and the plain formulas of tension: mass, stiffness, friction; tensions round the loop, slip, hub
loads; the tone of a span."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np

from beltplan.drive.belt import Belt
from beltplan.drive.pulleys import Adjuster, Pulley
from beltplan.geometry.loops import Loop, before
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import Bools, Floats

Condition = Literal["dry", "wet", "design"]
CONDITIONS: tuple[Condition, ...] = ("dry", "wet", "design")
REAL: tuple[Condition, ...] = ("dry", "wet")

_RIB_FRICTION: Mapping[Condition, float] = MappingProxyType({"dry": 1.0, "wet": 0.65, "design": np.log(4.0) / np.pi})
_V_FRICTION: Mapping[Condition, float] = MappingProxyType({"dry": 1.0, "wet": 0.65, "design": 0.5123})
_BACK_FRICTION: Mapping[Condition, float] = MappingProxyType({"dry": 0.35, "wet": 0.2, "design": 0.154})

SOURCES: Mapping[str, str] = MappingProxyType(
    {
        "dry": "from memory, low confidence: friction 0.35 in a 40 deg groove, 0.35 on the back",
        "wet": "Sheng, Lee, Narravula, Song 2011: 30-40 % below dry; back from memory, low confidence",
        "design": "ARPM/RMA IP-26, from memory, high confidence: 4 : 1 at 180 deg (V 5 : 1, Shigley); back scaled",
        "V_belt": "from memory, low confidence: friction as in a PK groove",
        "damping": "half of a damping ratio 2 (A - B) / (A + B), US patent 5,362,280, abstract; 20 to 40 % is common "
        "practice, no source",
    }
)


def source_of(belt: Belt, what: str) -> str:
    """Source of a default of the belt's profile or of `SOURCES`, ribbed belts' friction taken over for V-belts."""
    if what in belt.profile.sources:
        return belt.profile.sources[what]
    return SOURCES["V_belt" if what in ("dry", "wet") and not belt.profile.is_ribbed else what]


DAMPING = 0.15
"""Friction of a sprung adjuster, either way, as a share of what its spring does without; see `SOURCES`."""


def friction_of_arm(adjuster: Adjuster | None) -> tuple[float, str]:
    """Friction of a sprung adjuster, either way, as a share of its spring: by its readings, else usual; its source."""
    read = None if adjuster is None or adjuster.spring is None else adjuster.spring.readings
    return (DAMPING, SOURCES["damping"]) if read is None else (read.friction, "`spring.readings` of the layout file")


@dataclass(frozen=True, eq=False)
class Mechanics:
    """A belt's mass (kg/m), stiffness (N per unit strain; None where it is not known and its tension goes not by it),
    tension at which its length is measured, span limit."""

    mass_kg_per_m: float
    known_stiffness_N: float | None
    measuring_N: float
    span_limit_N: float
    hand_set_N: float

    @property
    def stiffness_N(self) -> float:
        assert self.known_stiffness_N is not None, "asked only where `missing_values` or `why_not_shaken` did"
        return self.known_stiffness_N


def missing_values(belt: Belt, held: Adjuster | None = None) -> tuple[str, ...]:
    """Keys of the belt that must be given, because its profile has no default for them.

    held: what adjusts it. Set by hand and locked, its tensions are shared out by lengths alone: the stretch of all its
    spans together stays as set, whatever force that takes.
    """
    locked = held is not None and held.spring is None
    needed = {"mass_kg_per_m": belt.full_mass_kg_per_m, "stiffness_N": locked or belt.full_stiffness_N}
    return tuple(key for key, value in needed.items() if not value)


def mechanics_of(belt: Belt, held: Adjuster | None = None) -> Mechanics | None:
    """Mechanical values of a belt; None where `missing_values` names some."""
    mass = belt.full_mass_kg_per_m
    if mass is None or missing_values(belt, held):
        return None
    limit_N = belt.profile.span_limit_N * belt.ribs
    return Mechanics(mass, belt.full_stiffness_N, belt.measuring_N, limit_N, belt.hand_set_N)


def asked_of(belt: Belt, missing: tuple[str, ...]) -> tuple[str, str]:
    """What must be given, where it is told how to find it; and why it is asked."""
    how = f"(see `beltplan words {missing[-1]}`)"
    return f"give {' and '.join(missing)} under `belt` {how}", f"{belt.profile.name} has no default"


def give_words(belt: Belt, missing: tuple[str, ...]) -> str:
    """What must be given and why, in one."""
    return ": ".join(asked_of(belt, missing))


def friction_of(belt: Belt, pulley: Pulley, condition: Condition) -> float:
    """Effective friction of a pulley: mu / sin(groove angle / 2) in a wedge, mu on the back.

    The layout's own `friction` is the effective one in the grooves; on the back it is taken down by the wedge.
    Source: Shigley, belts chapter, eq. 17-7 ff. for the wedge; defaults see `SOURCES`.

    >>> from beltplan.drive.belt import parse_designation
    >>> ribbed = parse_designation("6PK")
    >>> [friction_of(ribbed, Pulley("idler", "idler", 70.0, belt_side=side), "dry") for side in ("ribbed", "back")]
    [1.0, 0.35]
    """
    own: float | None = getattr(belt.friction, condition)
    if own is not None:
        return own * wedge_of(belt) if pulley.on_back else own
    if pulley.on_back:
        return _BACK_FRICTION[condition]
    return float((_RIB_FRICTION if belt.profile.is_ribbed else _V_FRICTION)[condition])


def wedge_of(belt: Belt) -> float:
    """What a friction factor given for the grooves is taken down by on the belt's back."""
    return float(np.sin(np.radians(belt.profile.groove_angle_deg / 2.0)))


def frictions(belt: Belt, pulleys: tuple[Pulley, ...]) -> Floats:
    """Effective friction in every condition, (conditions, n), in the order of `CONDITIONS`."""
    return np.array([[friction_of(belt, pulley, condition) for pulley in pulleys] for condition in CONDITIONS])


# Tensions round the loop, slip and hub loads: the plain formulas, over any leading axes.


def rises_N(torque_Nm: Floats, pitch_radius_mm: Floats) -> Floats:
    """Tractive tension of every span over that of the span leaving the driver (pulley 0).

    torque_Nm: (..., n) that each shaft takes, the driver's entry ignored; pitch_radius_mm: (n).
    Returns (..., n) N, entry i for the span leaving pulley i.
    Source: P_leaving = P_entering + M / r, Beer and Johnston; Khurmi and Gupta, Theory of Machines.

    >>> rises_N(np.array([0.0, 10.0, 5.0]), np.array([100.0, 50.0, 25.0])).tolist()
    [0.0, 200.0, 400.0]
    """
    pull = 1000.0 * np.asarray(torque_Nm) / pitch_radius_mm
    pull[..., 0] = 0.0
    return np.cumsum(pull, axis=-1)


def stretching_mm(path: Pieces) -> list[Floats]:
    """Length of belt that stretches with each span: the span and half of both arcs; n arrays (...) mm."""
    half = [0.5 * wrap * radius for wrap, radius in zip(path.wrap, path.radius, strict=True)]
    return [span + half[i] + half[i + 1 - len(half)] for i, span in enumerate(path.span)]


def grip_utilisation(entering_N: Floats, leaving_N: Floats, friction: Floats, wrap_rad: Floats) -> Floats:
    """How much of a pulley's grip is used: 1 is slip; infinite where a loaded span is slack.

    Tractive tensions of the spans beside the pulley, (...) N; effective friction; wrap in rad.
    Source: ln(P_high / P_low) / (f wrap), Euler; wedge friction of Shigley, eq. 17-7 ff.

    >>> friction, wrap = np.array(0.5), np.array(np.pi)
    >>> slack_N = np.array([200.0, 0.0])
    >>> tight_N = np.array([200.0 * np.exp(0.5 * np.pi), 300.0])
    >>> grip_utilisation(tight_N, slack_N, friction, wrap).round(6).tolist()
    [1.0, inf]
    """
    high, low = np.maximum(entering_N, leaving_N), np.minimum(entering_N, leaving_N)
    grip = friction * wrap_rad
    slack, idle = ~(low > 0.0), high - low <= 1e-9 + 1e-12 * np.abs(low)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        utilisation = np.log(np.where(slack, 1.0, high / np.where(slack, 1.0, low))) / grip
    return np.where(idle, 0.0, np.where(slack | ~(grip > 0.0), np.inf, utilisation))


def hub_load_N(loop: Loop, tractive_N: Floats) -> Floats:
    """Pull of the belt on every hub, (..., n, 2) N: P_i u_i - P_(i-1) u_(i-1).

    m v^2 turns the belt and loads no shaft, so only tractive tension counts.
    Source: Beer and Johnston; moving-belt form Beikmann, Perkins, Ulsoy 1996, from memory, high confidence.
    """
    leaving = tractive_N[..., None] * loop.direction
    return np.asarray(leaving - leaving[..., before(loop.span.shape[-1]), :])


def entering(by_span: Floats) -> Floats:
    """A value by span, listed by the pulley that the span enters; (..., n)."""
    return np.asarray(by_span[..., before(by_span.shape[-1])])


def is_slack(tractive_N: Floats) -> Bools:
    """Which spans hang slack, (..., n)."""
    return np.asarray(~(tractive_N > 0.0))


# Of a span: its natural frequency, to tune it by ear or phone; and how far it gives, to set it without.


def frequency_Hz(total_N: Floats, mass_kg_per_m: float, span_mm: Floats, speed_m_per_s: Floats | None = None) -> Floats:
    """First natural frequency of a span, still or travelling, (...) Hz; zero for a slack one, where there is no length,
    and where the speed reaches that of its waves.

    total_N is the whole tension, m v^2 included.
    Source: f = (w^2 - c^2) / (2 l w), w^2 = T / m; still, the string's f = sqrt(T / m) / (2 l). Sack 1954; Ulsoy,
    Whitesell, Hooven 1985, from memory, high confidence.

    >>> frequency_Hz(np.array(400.0), 0.1, np.array([250.0, 500.0])).round(2).tolist()
    [126.49, 63.25]
    >>> frequency_Hz(np.array(400.0), 0.1, np.array(250.0), np.array([0.0, 30.0])).round(2).tolist()
    [126.49, 98.03]
    """
    wave_sq = np.maximum(total_N, 0.0) / mass_kg_per_m
    wave = np.sqrt(wave_sq)
    if speed_m_per_s is None:
        return np.asarray(wave / (2.0 * _length_m(span_mm)))
    slower = np.maximum(wave_sq - speed_m_per_s**2, 0.0)
    return np.asarray(slower / (2.0 * _length_m(span_mm) * np.where(wave > 0.0, wave, 1.0)))


def _length_m(span_mm: Floats) -> Floats:
    """In m; infinite, so without a frequency, where nothing is left of a span."""
    length = np.asarray(span_mm) / 1000.0
    return np.where(length > 0.0, length, np.inf)


def deflection_mm(press_N: Floats, tension_N: Floats, span_mm: Floats, stiffness_N: Floats) -> Floats:
    """How far the middle of a still span gives under a force across it, (...) mm; tension above zero.

    stiffness_N: force for a span that is twice as long: EA of the span alone, EA x span / loop where the whole loop
    slides and shares the stretch, 0 where a spring keeps the tension.
    Source: F = 4 T d / l + 8 EA d^3 / l^3, a string pressed by a little: 2 % off at a tenth of l.

    >>> press, tension, span = np.array(98.0), np.array(700.0), np.array(300.0)
    >>> deflection_mm(press, tension, span, np.array([0.0, 28000.0, 168000.0])).round(2).tolist()
    [10.5, 9.69, 7.89]
    """
    press, tension, stretch = (np.asarray(each, dtype=float) for each in (press_N, tension_N, stiffness_N))
    straight = press / (4.0 * tension)
    # The one real root of x^3 + p x = q for x = d / l, in a form that loses nothing where the belt hardly stretches.
    third = np.sqrt(tension / np.where(stretch > 0.0, 6.0 * stretch, np.inf))
    bent = 2.0 * third * np.sinh(np.arcsinh(1.5 * straight / np.where(third > 0.0, third, 1.0)) / 3.0)
    return np.asarray(span_mm * np.where(third > 0.0, bent, straight))

"""Belt profiles: what each is, and its dimensions, each number with its source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Literal

PRACTICE = "common practice, no source"

Family = Literal["ribbed", "automotive V", "classical V"]
LengthKind = Literal["effective", "inside", "datum", "outside"]


@dataclass(frozen=True, eq=False)
class Profile:
    """One belt profile. Every number's source stands in `sources` under the field's name.

    The line that is followed round the pulleys is the effective line for ribbed and automotive V-belts and the
    datum line for classical sections; below, 'line' means that one.

    pitch_mm: rib pitch (None for V-belts). width_mm: top width of a V-belt (None for ribbed belts).
    pitch_line_mm: pitch line over the line (ratio counts on diameter + 2 x this), under it where negative.
    rim_minus_line_mm: rim diameter less the line's diameter, nominal; rim_range_mm: its least and most.
    climb_mm: height the belt must climb to pass over a rim without side flanges.
    thickness_mm: whole height of the belt. back_mm: belt's back over the line (None: must be measured).
    cord_below_back_mm: depth of the pulling cord under the back.
    grooved_caution_mm, grooved_least_mm: diameters of a grooved pulley below which there is a caution, a problem.
    back_caution_mm, back_least_mm: the same for a smooth pulley on the back (None: not judged).
    top_speed_m_per_s: highest belt speed. wear_share: stretch and wear in life as a share of length.
    tolerance_least_mm, tolerance_share: length tolerance, the greater of the two, either way.
    inside_below_mm, outside_above_mm: inside and outside length against datum length (classical sections only).
    mass_kg_per_m, stiffness_N: per rib, or per V-belt; stiffness is force per unit strain (None: must be given).
    groove_angle_deg: angle of the groove, for wedge friction.
    measuring_force_N, hand_set_N, span_limit_N: tension of one span, per rib or per V-belt, at which the
    belt's length is measured, to which a run-in belt is set by hand, and the most in running. hand_new_N, hand_again_N:
    to which a new belt is set by hand, and under which it is set again.
    """

    name: str
    family: Family
    pitch_mm: float | None
    width_mm: float | None
    pitch_line_mm: float
    rim_minus_line_mm: float
    rim_range_mm: tuple[float, float]
    climb_mm: float
    thickness_mm: float
    back_mm: float | None
    cord_below_back_mm: float
    grooved_caution_mm: float
    grooved_least_mm: float
    back_caution_mm: float | None
    back_least_mm: float | None
    top_speed_m_per_s: float
    wear_share: float
    tolerance_least_mm: float
    tolerance_share: float
    inside_below_mm: float | None
    outside_above_mm: float | None
    mass_kg_per_m: float | None
    stiffness_N: float | None
    groove_angle_deg: float
    measuring_force_N: float
    hand_set_N: float
    hand_new_N: float
    hand_again_N: float
    span_limit_N: float
    sources: Mapping[str, str]

    @property
    def is_ribbed(self) -> bool:
        """Whether the belt is V-ribbed, so that its designation counts ribs."""
        return self.family == "ribbed"

    @property
    def is_classical(self) -> bool:
        """Whether a bare length number is ambiguous (inside, datum or outside)."""
        return self.family == "classical V"

    @property
    def is_automotive(self) -> bool:
        """Whether the line lies at the rim of a V-groove, with the cord under it."""
        return self.family == "automotive V"

    @property
    def line_name(self) -> LengthKind:
        return "datum" if self.is_classical else "effective"


# The belt profiles, each number with its source: the one place to add or correct a profile.

_ISO_9982 = "ISO 9982:2021 table 2 (quoted in a public test table, not read here)"
_ISO_9981 = "ISO 9981:2020, 5.2-5.4"
_J1596 = "SAE J1596:1989 (cancelled 2019), second-hand"
_TM_9_2320 = "US Army TM 9-2320-312-24-2, specifications"
_J636 = "SAE J636, second-hand"
_RMA = "ANSI/RMA IP-20, in Machinery's Handbook 31st ed. pp. 2575-2577"
_DERIVED_RIM = (
    "derived from groove pitch, rim radius and 40 deg groove of ISO 9982:2021 table 2; "
    "range over the rim radius tolerance"
)


def _memory(confidence: str, what: str = "") -> str:
    return f"from memory, {confidence} confidence" + (f": {what}" if what else "")


_RIBBED: Mapping[str, str] = {
    "pitch_mm": _ISO_9982,
    "pitch_line_mm": _memory("high", "ISO 9982, nominal effective line differential"),
    "rim_minus_line_mm": _DERIVED_RIM,
    "rim_range_mm": _DERIVED_RIM,
    "climb_mm": _memory("low", "rib height"),
    "thickness_mm": _memory("low", "belt height"),
    "cord_below_back_mm": _memory("low"),
    "grooved_least_mm": _memory("medium", "ISO 9982, smallest effective diameter"),
    "grooved_caution_mm": "set equal to the smallest diameter plus a tenth; " + PRACTICE,
    "top_speed_m_per_s": _memory("low"),
    "wear_share": PRACTICE,
    "tolerance_least_mm": _memory("medium"),
    "tolerance_share": _memory("medium"),
    "groove_angle_deg": _ISO_9982,
    "measuring_force_N": _memory("medium", "ISO 9982, force of one span a rib"),
    **dict.fromkeys(
        ("hand_set_N", "hand_new_N", "hand_again_N"), "derived: PK's, in the proportion of the measuring forces"
    ),
    "span_limit_N": "derived: PK's, in the proportion of the measuring forces; that one " + PRACTICE,
}

_PK: Mapping[str, str] = {
    **_RIBBED,
    "pitch_line_mm": _ISO_9981,
    "rim_range_mm": _DERIVED_RIM + ", widened to the rim of SAE J1459-2022 (0.885 under), second-hand",
    "climb_mm": _memory("medium", "rib height"),
    "thickness_mm": _memory("medium", "belt height"),
    "back_mm": "derived from the groove; belt height 4.5 mm from memory, medium confidence; 2 to 3.5 mm occurs",
    "cord_below_back_mm": PRACTICE,
    "grooved_least_mm": _ISO_9981,
    "grooved_caution_mm": _J1596,
    "back_caution_mm": _J1596,
    "back_least_mm": PRACTICE,
    "top_speed_m_per_s": _J1596,
    "mass_kg_per_m": _memory("medium", "drive of Beikmann, Perkins and Ulsoy 1996"),
    "stiffness_N": _memory("medium", "drive of Beikmann, Perkins and Ulsoy 1996"),
    "hand_set_N": _TM_9_2320 + ": 111 N a rib after running in, 133 when new",
    "hand_new_N": _TM_9_2320 + ", table 3: 133 N a rib",
    "hand_again_N": _TM_9_2320 + ", table 4: used belts 67 to 111 N a rib",
    "span_limit_N": PRACTICE + ": about 180 N a rib in running",
}

_V: Mapping[str, str] = {
    "climb_mm": _memory("low", "the belt sits about flush with the rim and climbs out by its height"),
    "thickness_mm": _memory("high", "ISO 4184 and ISO 2790 nominal heights"),
    "cord_below_back_mm": _memory("low", "a third of the belt's height"),
    "pitch_line_mm": _memory("low", "pitch line taken on the line itself; the ratio is 'about'"),
    "top_speed_m_per_s": PRACTICE,
    "wear_share": PRACTICE,
    "mass_kg_per_m": _memory("medium"),
    "measuring_force_N": _memory("low", "as much as four PK ribs"),
    "span_limit_N": _memory("low", "as much as four PK ribs"),
    "grooved_caution_mm": "set equal to the smallest diameter plus a tenth; " + PRACTICE,
}

_AUTOMOTIVE: Mapping[str, str] = {
    **_V,
    "width_mm": _memory("high", "ISO 2790 designation"),
    "hand_set_N": _TM_9_2320 + ": used V-belt, 10.7 mm 400 N, 13.9 mm 445 N; new 534 and 578",
    "hand_new_N": _TM_9_2320 + ": new V-belt, 10.7 mm 534 N, 13.9 mm 578 N",
    "hand_again_N": "an engine manual: a V-belt 13.9 mm wide is set again under 250 N; 225 N of a 10.7 mm one "
    "is derived, in the ratio of their used tensions",
    "pitch_line_mm": "derived " + _memory("low", "depth of the cord under a back flush with the rim"),
    "rim_minus_line_mm": _memory("low", "effective diameter lies at the rim"),
    "rim_range_mm": _memory("low"),
    "grooved_least_mm": _J636,
    "tolerance_least_mm": _memory("low"),
    "tolerance_share": _memory("low"),
    "groove_angle_deg": _J636,
}

_CLASSICAL: Mapping[str, str] = {
    **_V,
    "width_mm": _memory("high", "ISO 4183 and ISO 4184"),
    "hand_set_N": _memory("low", f"as a used V-belt of 13.9 mm in {_TM_9_2320}"),
    "hand_new_N": _memory("low", f"as a new V-belt of 13.9 mm in {_TM_9_2320}"),
    "hand_again_N": _memory("low", "as a V-belt of 13.9 mm in an engine manual"),
    "rim_minus_line_mm": _memory("high", "ANSI/RMA IP-20 datum groove, 2 h_d"),
    "rim_range_mm": _memory("medium", "ISO 4183 least to ANSI/RMA IP-20"),
    "grooved_least_mm": _RMA,
    "tolerance_least_mm": _RMA,
    "tolerance_share": _RMA + " (short belts; one band for all)",
    "inside_below_mm": _RMA + " (datum length = nominal inside inches + 1.3 A, + 1.8 B)",
    "outside_above_mm": _memory("high", "ISO 4183: datum width 2.75 (A), 3.5 mm (B) under the top, times 2 pi"),
    "groove_angle_deg": _RMA,
}

_KINDS: Mapping[str, tuple[Family, Mapping[str, str]]] = {
    "PK": ("ribbed", _PK),
    **dict.fromkeys(("PH", "PJ", "PL", "PM"), ("ribbed", _RIBBED)),
    **dict.fromkeys(("AV10", "AV13"), ("automotive V", _AUTOMOTIVE)),
    "A": ("classical V", {**_CLASSICAL, "groove_angle_deg": _RMA + " (34 below 137 mm, 38 above; 36 stands between)"}),
    "B": ("classical V", {**_CLASSICAL, "groove_angle_deg": _RMA + " (34 below 178 mm, 38 above; 36 stands between)"}),
}
"""What each profile is, and where its numbers come from."""

# fmt: off
_NUMBERS: Mapping[str, tuple[float | None, ...]] = {
    #                           PK     PH     PJ     PL     PM    AV10    AV13      A      B
    "pitch_mm":           (   3.56,   1.6,  2.34,   4.7,   9.4,   None,   None,  None,  None),
    "width_mm":           (   None,  None,  None,  None,  None,   10.0,   13.0,  13.0,  17.0),
    "pitch_line_mm":      (    2.0,   0.8,   1.2,   3.0,   4.0,   -2.7,   -3.0,   0.0,   0.0),
    "rim_minus_line_mm":  ( -0.385, -0.38, -0.38, -0.58, -0.57,    0.0,    0.0,  6.35,  8.89),
    "rim_least_mm":       (   -0.9, -0.57, -0.57, -1.15, -1.15,   -0.5,   -0.5,   5.5,   7.0),
    "rim_most_mm":        (    0.0, -0.19, -0.19,   0.0,   0.0,    0.5,    0.5,   6.6,   9.1),
    "climb_mm":           (   2.35,   1.1,   1.6,   3.6,   7.5,    8.0,    9.0,   8.0,  11.0),
    "thickness_mm":       (    4.5,   2.7,   3.5,   7.5,  13.0,    8.0,    9.0,   8.0,  11.0),
    "back_mm":            (    2.2,  None,  None,  None,  None,   None,   None,  None,  None),
    "cord_below_back_mm": (    1.1,   0.8,   0.9,   1.7,   2.5,    2.7,    3.0,  2.75,   3.5),
    "grooved_caution_mm": (   50.0,  14.3,  22.0,  82.5, 198.0,   67.1,   83.6,  83.8, 150.9),
    "grooved_least_mm":   (   45.0,  13.0,  20.0,  75.0, 180.0,   61.0,   76.0,  76.2, 137.2),
    "back_caution_mm":    (   90.0,  None,  None,  None,  None,   None,   None,  None,  None),
    "back_least_mm":      (   60.0,  None,  None,  None,  None,   None,   None,  None,  None),
    "top_speed_m_per_s":  (   50.0,  60.0,  50.0,  40.0,  35.0,   30.0,   30.0,  30.0,  30.0),
    "wear_share":         (  0.007, 0.007, 0.007, 0.007, 0.007,  0.015,  0.015, 0.015, 0.015),
    "tolerance_least_mm": (    5.0,   5.0,   5.0,   5.0,   5.0,    5.0,    5.0, 15.24, 15.24),
    "tolerance_share":    (  0.005, 0.005, 0.005, 0.005, 0.005,  0.005,  0.005,   0.0,   0.0),
    "inside_below_mm":    (   None,  None,  None,  None,  None,   None,   None, 33.02, 45.72),
    "outside_above_mm":   (   None,  None,  None,  None,  None,   None,   None, 17.28, 21.99),
    "mass_kg_per_m":      ( 0.0175,  None,  None,  None,  None,   0.08,   0.12,  0.11,  0.19),
    "stiffness_N":        (28000.0,  None,  None,  None,  None,   None,   None,  None,  None),
    "groove_angle_deg":   (   40.0,  40.0,  40.0,  40.0,  40.0,   36.0,   36.0,  36.0,  36.0),
    "measuring_force_N":  (   50.0,  15.0,  25.0, 100.0, 225.0,  200.0,  200.0, 200.0, 200.0),
    "hand_set_N":         (  111.0,  33.3,  55.5, 222.0, 499.5,  400.0,  445.0, 445.0, 445.0),
    "hand_new_N":         (  133.0,  39.9,  66.5, 266.0, 598.5,  534.0,  578.0, 578.0, 578.0),
    "hand_again_N":       (   67.0,  20.1,  33.5, 134.0, 301.5,  225.0,  250.0, 250.0, 250.0),
    "span_limit_N":       (  180.0,  54.0,  90.0, 360.0, 810.0,  720.0,  720.0, 720.0, 720.0),
}
# fmt: on
"""The numbers, a column a profile, in the order of `_KINDS`; rim_least_mm, rim_most_mm: ends of `rim_range_mm`.

None: not known, or no such thing.
"""


def _profile(column: int, name: str) -> Profile:
    numbers: dict[str, Any] = {field: values[column] for field, values in _NUMBERS.items()}
    rim_range_mm = (numbers.pop("rim_least_mm"), numbers.pop("rim_most_mm"))
    family, sources = _KINDS[name]
    return Profile(name=name, family=family, rim_range_mm=rim_range_mm, sources=MappingProxyType(sources), **numbers)


PROFILES: Mapping[str, Profile] = MappingProxyType({name: _profile(i, name) for i, name in enumerate(_KINDS)})

"""What people write for a word or key of the file or command line: the one table of it, and the hint it gives."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from beltplan.drive.belt import MM_PER_INCH
from beltplan.faults import did_you_mean


def meant_by(said: str, words: tuple[str, ...]) -> str:
    """A hint at the allowed word that another one means, else at the nearest one, or nothing.

    >>> meant_by("CCW", ("clockwise", "counterclockwise")), meant_by("max_tension_N", ("max_strand_N", "max_rpm"))
    (' (write counterclockwise)', ' (write max_strand_N)')
    """
    plain = letters_of(said)
    hints = (hint for (beside, names), hint in _NO_KEY.items() if beside in words and plain in names.split())
    if hint := next(hints, None):
        return f" ({hint})"
    meant = " or ".join(words_meant(said, words))
    return f" (write {meant})" if meant else did_you_mean(said, words)


def turned(said: str, key: str, text: str, quantity: str = "") -> str:
    """What to write at a key for the number of one that stands for it in another quantity; empty where it does not.

    quantity: what the key holds, where its name does not say it.

    >>> turned("radius", "diameter", "1 1/2 in"), turned("r", "value", "80", "diameter"), turned("d", "diameter", "80")
    ('diameter: 3 in', 'value: 160', '')
    >>> turned("scale", "mm_per_px", "2.5 px/mm"), turned("scale", "mm_per_px", "2.5")
    ('mm_per_px: 0.4', 'mm_per_px, mm for one pixel')
    """
    turn, read = _turn_of(letters_of(said), quantity or key), _A_NUMBER.fullmatch(text.strip())
    if turn is None:
        return ""
    # A unit behind the number says which of several quantities it is.
    unit, number = (read[2], sum(map(Fraction, read[1].split()))) if read else ("", 0)
    turn = _turn_of(letters_of(unit.replace("/", "per")), quantity or key) or turn
    if turn.factor is None or not number:
        return f"{key}, {turn.words}{turn.only_if}"
    shown = f"{key}: {turn.factor * float(number) ** turn.power:.6g}{turn.only_if}"
    return f"{shown} {unit}" if unit and "_per_" not in key else shown


class _Turn(NamedTuple):
    """How a number of another quantity becomes that of a key: a factor, None where the unit must tell it, and the power
    of the number. words: what the key holds then. only_if: what must be so, after a comma.
    """

    words: str
    factor: float | None = None
    power: int = 1
    only_if: str = ""


def _turn_of(plain: str, key: str) -> _Turn | None:
    """How the quantity that a word in small letters names is turned into that of the key; None where it is not."""
    for (of_key, names), turn in _TURNED.items():
        # rim_radius is to rim_diameter as radius is to diameter.
        before = letters_of(key.removesuffix(of_key))
        if key.endswith(of_key) and plain.removeprefix(before) in names.split():
            return turn
    return None


def word_meant(said: str, words: tuple[str, ...]) -> str | None:
    """The allowed word that another one stands for; of several the first.

    >>> word_meant("diameter-rim", ("diameter", "rim_diameter"))
    'rim_diameter'
    """
    return next(iter(words_meant(said, words)), None)


def words_meant(said: str, words: tuple[str, ...]) -> list[str]:
    """The allowed words that one may stand for: in other letters or order, as people call it, its first part or last.

    >>> words_meant("compressor", ("air_conditioning", "fan", "air_compressor")), words_meant("max", ("max_rpm",))
    (['air_conditioning', 'air_compressor'], ['max_rpm'])
    """
    plain = letters_of(said)
    alike = [word for word in words if sorted(plain) == sorted(letters_of(word))]
    called = alike or [word for word in words if plain in _SAID.get(word, "").split()]
    first, last = f"{said.lower()}_", f"_{said.lower()}"
    called = called or [word for word in words if len(said) > 2 and (word.startswith(first) or word.endswith(last))]
    return called or [word for word in words if len(said) > 4 and word.startswith(said.lower())]


def in_letters(said: str, words: Iterable[str]) -> list[str]:
    """The words that one is but for capitals, gaps and the marks in them."""
    plain = letters_of(said)
    return [word for word in words if letters_of(word) == plain]


def letters_of(said: str) -> str:
    """A word in small letters and without gaps.

    >>> letters_of("Water_Pump"), letters_of("tension N")
    ('waterpump', 'tensionn')
    """
    return re.sub(r"[ _.-]", "", said.lower())


_SAID = {
    "in": 'inch inches " imperial',
    "mm": "millimeter millimeters millimetre millimetres metric",
    "clockwise": "cw righthand",
    "counterclockwise": "ccw acw anticlockwise lefthand",
    "either": "both any bothways eitherway",
    "ribbed": "ribs ribside grooved groove grooves grooveside inside inner front teeth toothed poly v",
    "back": "backside smooth smoothside outside outer flat flatside plain reverse rear behind mirrored",
    "crankshaft": "crank crankpulley crankshaftpulley damper balancer driver",
    "alternator": "alt generator dynamo",
    "steering_pump": "powersteering powersteeringpump steering ps pspump",
    "hydraulic_pump": "hydraulic hydraulics oilpump",
    "air_conditioning": "ac a/c aircon airconditioner accompressor a/ccompressor airconditioningcompressor compressor",
    "water_pump": "coolantpump waterpumppulley wp",
    "fan": "coolingfan enginefan",
    "air_compressor": "compressor aircomp",
    "supercharger": "blower",
    "idler": "guide guidepulley idlerpulley roller deflection",
    "tensioner": "tension tensionerpulley tensioningpulley adjuster",
    "datum": "pitch pitchlength",
    "value": "length distance reading read angle diameter diam dia d measured tape number",
    "diameters": "dias rims rimdiameters calipers",
    "points": "photo photos picture pictures image images picks",
    "distances": "tape taped tapes lengths measured",
    "plumb": "vertical up upright plumbline",
    "level": "horizontal horizon",
    "outside": "over overall rims",
    "above": "upper top up over higher",
    "below": "lower bottom down under beneath",
    "diameter": "dia diam d od size radius rad r circumference girth effectivediameter pitchdiameter",
    "rise_K": "hot warm heat temp temperature",
    "at": "position pos center centre location place x y xy xmm ymm xin yin coordinates coords",
    "pulleys": "round around over",
    "thickness": "diameter diam dia d thick",
    "route": "order path routing sequence beltpath",
    "rotation": "direction spin rotates",
    "idle_rpm": "idlespeed lowidle",
    "cruise_rpm": "cruisespeed workingspeed operatingspeed",
    "max_strand_N": "maxtension maxtensionn maxbelttension maxpull maxpulln tensionlimit pulllimit",
    "max_rpm": "rpm redline redlinerpm topspeed maxspeed speedlimit governed governor",
    "cylinders": "cyl cyls cylindercount",
    "ribs": "rib ribcount grooves groove",
    "profile": "section type",
    "role": "type kind function accessory",
    "rim_diameter": "rim overrim diarim diamrim diameteroverrim diameterofrim outsidediameter outerdiameter",
    "grooves": "groove groovecount ribs rib ribcount",
    "belt_side": "side runson face",
    "plane": "offset z depth stickout",
    "turns": "direction rotation spin rotates",
    "rated_A": "amps amp amperage amperes a current output ratedcurrent ratedamps maxamps rating",
    "current_A": "amps amp amperage amperes a",
    "voltage_V": "volts volt v",
    "max_hub_load_N": "hubload bearingload sideload",
    "one_way": "overrunning overrun decoupler freewheel clutch",
    "arm": "swingarm lever",
    "slide": "slot slider track",
    "slide_end": "slide slidemm slidein slideat",
    "tension_N": "settension belttension preload",
    "width": "diameter dia d w wide",
    "pivot": "at center centre axis",
    "length": "armlength radius rad r len",
    "stops": "range travel limits endstops",
    "at_deg": "angle position",
    "check": "belt beltlength judge verify analyze analyse",
    "squeal": "noise noises squeak squeaks chirp whine sound",
    "template": "print printout drill punch papertemplate",
    "export": "dxf svg cad cnc laser cut",
    "vibration": "resonance shake shaking vibrate",
    "fit": "card install fitting",
    "page": "html web handout",
    "cure": "fix mend repair",
    "findings": "problem problems caution cautions note notes warning warnings verdict",
    "out": "output save write o",
    "write": "output save out o",
    "save": "output write out o",
    "picture": "image plot draw drawing png svg pdf output out o",
    "force": "overwrite replace",
    "full": "verbose all details",
    "wet": "rain rainy damp",
    "cold": "start startup coldstart morning",
    "hot": "warm",
    "idle": "idling standing",
    "revving": "rev revs acceleration accelerating",
    "letting_off": "deceleration decelerating coasting",
    "louder": "loud worse more",
    "quieter": "quiet softer gone stops better less",
    "same": "none nothing nochange unchanged no",
    "true": "yes on y 1",
    "false": "no off n 0",
}
"""What people write for a word, in small letters and without gaps."""

_NO_KEY = {
    ("from", "plumb vertical fromplumb"): "write from: plumb",
    ("rim_diameter", "od outsidediameter outerdiameter"): "write rim_diameter, or diameter of a smooth pulley",
}
"""What is said where one word is not all: a key that stands beside, what people write there, and the hint."""

_A_NUMBER = re.compile(r"((?:\d+ )?\d+/[1-9]\d*|\d+\.?\d*|\.\d+)\s*([a-z/_\"]*)", re.ASCII)
_TURNED = {
    ("diameter", "radius rad r"): _Turn("twice the radius", 2.0),
    ("diameter", "circumference girth"): _Turn("the circumference by pi", 1.0 / math.pi),
    ("mm_per_px", "scale resolution"): _Turn("mm for one pixel"),
    ("mm_per_px", "scalemm mmperpixel mmperpx mmpx pixelsize"): _Turn("mm for one pixel", 1.0),
    ("mm_per_px", "pxpermm pxmm pixelspermm pixelpermm"): _Turn("1 by the pixels in a mm", 1.0, -1),
    ("mm_per_px", "dpi ppi"): _Turn("25.4 by the dots in an inch", MM_PER_INCH, -1, ", if it is a scan"),
}
"""Other quantities that people write for a key, small and without gaps."""

"""What people write for a word or key of the file: the one table of it, and the hint that comes of it."""

from __future__ import annotations

import re

from beltplan.faults import did_you_mean


def meant_by(said: str, words: tuple[str, ...]) -> str:
    """A hint at the allowed word that another one means, else at the nearest one, or nothing.

    >>> meant_by("CCW", ("clockwise", "counterclockwise"))
    ' (write counterclockwise)'
    """
    plain = _plain(said)
    hints = (hint for (beside, names), hint in _NO_KEY.items() if beside in words and plain in names.split())
    if hint := next(hints, None):
        return f" ({hint})"
    meant = word_meant(said, words)
    return f" (write {meant})" if meant else did_you_mean(said, words)


def word_meant(said: str, words: tuple[str, ...]) -> str | None:
    """The allowed word that another one stands for: in other letters, without its unit, or as people call it."""
    plain = _plain(said)
    for word in words:
        if plain in (word.lower().replace("_", ""), *_SAID.get(word, "").split()):
            return word
    return next((word for word in words if len(said) > 2 and word.startswith(f"{said.lower()}_")), None)


def _plain(said: str) -> str:
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
    "air_conditioning": "ac a/c aircon airconditioner accompressor a/ccompressor airconditioningcompressor",
    "water_pump": "coolantpump waterpumppulley wp",
    "fan": "coolingfan enginefan",
    "air_compressor": "compressor aircomp",
    "vacuum_pump": "vacuum",
    "supercharger": "blower charger",
    "idler": "guide guidepulley idlerpulley roller deflection",
    "tensioner": "tension tensionerpulley tensioningpulley adjuster",
    "effective": "effectivelength eff",
    "datum": "pitch pitchlength",
    "constant": "flat none same",
    "linear": "proportional",
    "square": "squared quadratic",
    "cube": "cubed cubic",
    "plumb": "vertical up upright plumbline",
    "level": "horizontal horizon",
    "down": "downward downwards below",
    "up": "upward upwards above",
    "front": "frontside",
    "above": "upper top up over",
    "below": "lower bottom down under beneath",
    "diameter": "dia diam d od size radius r effectivediameter pitchdiameter",
    "at": "position pos center centre location place x y xy coordinates coords",
    "pivot": "at center centre axis",
    "polygon": "points corners vertices box rectangle",
    "title": "name",
    "route": "order path routing sequence beltpath",
    "units": "unit measure lengthunit",
    "rotation": "direction spin rotates",
    "belt": "belttype beltprofile",
    "engine": "motor",
    "pulleys": "pulley sheaves wheels",
    "obstacles": "obstacle keepout keepouts",
    "stock": "available lengths",
    "limits": "limit",
    "variants": "variant options alternatives",
    "idle_rpm": "idlespeed lowidle",
    "cruise_rpm": "cruisespeed workingspeed operatingspeed",
    "max_rpm": "redline topspeed maxspeed speedlimit governed governor",
    "cylinders": "cyl cyls cylindercount",
    "ribs": "rib ribcount grooves groove",
    "profile": "section type",
    "friction": "mu cof",
    "role": "type kind function accessory",
    "rim_diameter": "rim overrim outsidediameter outerdiameter",
    "grooves": "groove groovecount ribs rib ribcount",
    "belt_side": "side runson face",
    "plane": "offset z depth stickout",
    "tilt_deg": "lean",
    "turns": "direction rotation spin rotates",
    "rated_A": "amps amp amperage amperes a current output ratedcurrent ratedamps maxamps rating",
    "current_A": "amps amp amperage amperes a",
    "voltage_V": "volts volt v",
    "pressure_bar": "bar",
    "displacement_cm3": "disp capacity",
    "power_kW": "kw",
    "torque_Nm": "nm",
    "efficiency": "eff",
    "inertia_kgm2": "moi momentofinertia",
    "drives": "driver driving drive isdriver",
    "one_way": "overrunning overrun decoupler freewheel clutch",
    "max_hub_load_N": "hubload bearingload sideload",
    "overhang_mm": "standout",
    "movable_mm": "moves adjustment",
    "arm": "swingarm lever",
    "slide": "slot slider track",
    "tension_N": "settension belttension preload",
    "load": "loads power",
    "spring": "springs",
    "mount": "bolts holes boltholes",
    "length": "armlength radius r len",
    "length_mm": "len",
    "stops": "range travel limits endstops",
    "at_deg": "angle position",
    "rate_Nm_per_deg": "springrate stiffness",
    "rate_N_per_mm": "springrate stiffness",
    "from": "start begin",
    "to": "end finish",
    "circle": "round disc",
    "holes": "bolts boltholes",
    "slots": "slot",
    "true": "yes on y",
    "false": "no off n",
}
"""What people write for a word, in small letters and without gaps."""

_NO_KEY = {
    ("diameter", "radius r"): "write diameter, twice the radius",
    ("rim_diameter", "od outsidediameter outerdiameter"): "write rim_diameter, or diameter of a smooth pulley",
    ("belt_side", "ratio"): "there is no key for it: it comes of the diameters",
    ("belt_side", "rpm speed"): "there is no key for it: it comes of the engine's; max_rpm is what the pulley stands",
    ("belt_side", "wrap"): "there is no key for it: it comes of the places; its minimum stands under `limits`",
    ("belt_side", "width"): "there is no key for it: write grooves, or the belt's ribs",
    ("belt_side", "teeth toothcount"): "there is no key for it: toothed belts cannot be laid; write grooves",
    ("ribs", "width"): "there is no key for it: write ribs, their number",
    ("ribs", "teeth pitch"): "there is no key for it: toothed belts cannot be laid",
}
"""What is said where one word is not all: a key that stands beside, what people write there, and the hint."""

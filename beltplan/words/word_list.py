"""The word list: every key, role, profile, limit, finding and term, with units, defaults and sources."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from beltplan.checks.comparison import RULE
from beltplan.checks.every_check import CHECKS
from beltplan.checks.limits import (
    CAUTION_BAND,
    LIMIT_KEYS,
    LIMITS,
    OWN,
    PROFILE_LIMITS,
    SEVERITIES,
    THRESHOLDS,
    Bound,
    Check,
    begun,
)
from beltplan.drive.belt import Belt
from beltplan.drive.fit import BUILT_IN_SOURCE, built_in_lengths_mm
from beltplan.drive.inertias import USUAL_KGM2, USUAL_SOURCE
from beltplan.drive.loads import ALTERNATOR_SOURCE, CRUISING, EVERYTHING_ON, OUTPUT_SOURCE, USUAL, usual_loads
from beltplan.drive.mechanics import CONDITIONS, friction_of, source_of
from beltplan.drive.profiles import PRACTICE, PROFILES, Profile
from beltplan.drive.pulleys import Pulley, Role, Side
from beltplan.layoutfile.keys import FAR_MM, USERS, Key
from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS, written_as
from beltplan.report.words import role_words
from beltplan.tolerance.study import BUYING

Told = tuple[str, str]
"""A text and its source, '' where it has none."""


@dataclass(frozen=True)
class Entry:
    """One word and what it means, a paragraph each. more: what is told only of a word that is asked for."""

    name: str
    texts: tuple[Told, ...]
    more: tuple[Told, ...] = ()


@dataclass(frozen=True)
class Group:
    """Words of one kind. name: by which all of them are asked for. one: what each is. note: what holds of all."""

    name: str
    one: str
    note: str
    entries: tuple[Entry, ...]


def groups() -> tuple[Group, ...]:
    """All words, in the order in which a user needs them."""
    users = "NAME stands for a name of your own"
    loads = tuple(Entry(role, ((usual.words, usual.source),)) for role, usual in usual_loads().items())
    pairs = "beside those of a layout; PAIR stands for two points: A - B"
    return (
        Group("keys", "key of a layout file", users, tuple(map(_key, KEYS))),
        Group("measurements", "key of a measurements file", pairs, tuple(map(_key, MEASUREMENT_KEYS))),
        Group("roles", "role of a pulley", "what a pulley drives", tuple(map(_role, get_args(Role)))),
        Group("profiles", "belt profile", "their numbers", tuple(map(_profile, PROFILES.values()))),
        Group("loads", "usual load", _LOADS_NOTE, loads),
        Group("limits", "limit", "set your own under `limits`", tuple(map(_limit, LIMIT_KEYS))),
        Group("findings", "finding", "what `check` may say", tuple(map(_finding, CHECKS))),
        Group("terms", "term of a report", "", tuple(Entry(name, _plain(*texts)) for name, texts in _TERMS.items())),
    )


def _plain(*texts: str) -> tuple[Told, ...]:
    return tuple((text, "") for text in texts)


# Keys of files.

_DEFAULTS = {
    **dict.fromkeys(("by profile", "usual for the belt", "built-in list"), "each profile's own: `beltplan words PK`"),
    "usual for its role": "each role's own: `beltplan words alternator`",
    "built-in limits": "each limit's own: `beltplan words limits`",
}
"""Where the default is told in full."""
_SOURCES = {"pulleys.NAME.load.efficiency": ALTERNATOR_SOURCE, "pulleys.NAME.load.output": OUTPUT_SOURCE}


def _key(key: Key) -> Entry:
    words = key.in_words
    if "mapping" in key.kind:
        written = re.sub(", each by [a-zA-Z ]+", "", written_as(key.path))
        words = key.kind.replace("mapping", written) + words.removeprefix(key.kind)
    find = [(f"to find it: {_TO_FIND[key.path]}", PRACTICE)] if key.path in _TO_FIND else []
    return Entry(key.path, ((words, _SOURCES.get(key.path, "")),), (*_plain(*_more_of(key)), *find))


def _more_of(key: Key) -> Iterator[str]:
    inside = [each.name for each in (*KEYS, *MEASUREMENT_KEYS) if each.parent == key.path]
    if inside:
        yield f"keys in it: {', '.join(inside)}"
    ranged = key.kind.endswith(("number", "numbers", "length")) and (key.least, key.most) != (-FAR_MM, FAR_MM)
    if key.choices or ranged:
        yield f"allowed: {key.allowed()}"
    if key.default in _DEFAULTS:
        lacking = ", ".join(each.name for each in PROFILES.values() if key.path in _keys_lacking(each))
        yield f"default: {_DEFAULTS[key.default]}{lacking and f'; none for {lacking}'}"


_TO_FIND = {
    "belt.mass_kg_per_m": "weigh a belt, and divide its kilograms by its length in metres",
    "belt.stiffness_N": "cut an old belt of the same kind open, hang it up and straighten it with a weight. Mark 1000 "
    "mm on it, then hang on as much as it runs with: some 50 kg on a V-belt, low over the floor, feet clear. Read how "
    "many mm the marks part: 9.81 x kg x 1000 / mm, so 50 kg and 8 mm make 61300 N",
}
"""How a fabricator finds what a profile has no default for; told of a key that is asked for."""
_OWN_KEYS = {each: f"belt.{each}" for each in ("mass_kg_per_m", "stiffness_N")} | {"back_mm": "belt.back_over_rim_mm"}
"""The keys of what some profiles have no number for, by that number."""


def _keys_lacking(profile: Profile) -> list[str]:
    return [key for name, key in _OWN_KEYS.items() if getattr(profile, name) is None]


# Roles, limits and findings tell of each other.


def _role(role: Role) -> Entry:
    usual = USUAL_KGM2.get(role)
    inertia = ("no usual inertia", "") if usual is None else (f"usual inertia {usual:g} kg m2", USUAL_SOURCE)
    limits = tuple(_bound_told(key, key, bound) for (key, who), bound in LIMITS.items() if who == role)
    return Entry(role, (inertia,), limits)


_LOADS_NOTE = f"for `load: {USUAL}`; duties '{EVERYTHING_ON}' and '{CRUISING}' come with them where the file has none"


def _limit(key: str) -> Entry:
    if key in PROFILE_LIMITS:
        else_words = "; else a third over its smallest grooved pulley, a caution" * (key == "min_back_diameter_mm")
        texts = _plain(f"default: {_side(PROFILE_LIMITS[key])} as the belt profile says{else_words}")
        who = "alternator" if "diameter" in key else ""
    else:
        rows = [(role, bound) for (each, role), bound in LIMITS.items() if each == key]
        told = ((_bound_told(role_words(role) or "all", key, bound), _other_wraps(key, role)) for role, bound in rows)
        texts = tuple((words + others, source) for (words, source), others in told)
        who = rows[-1][0]
    judged = [check for check in CHECKS if key in check.limits]
    beside = sorted({each for check in judged for each in check.limits} - {key})
    asks = ", ".join(check.name for check in judged)
    own = f"{{{key}: {{{who}: NUMBER}}}}" if who else f"{{{key}: NUMBER}}"
    also = [f"see also: {', '.join(beside)}"] if beside else []
    return Entry(
        key, texts, _plain(f"findings by it: {asks}", *also, f"your own: `limits: {own}`, by pulley name or role")
    )


def _side(kind: str) -> str:
    return "minimum" if kind == "lower" else "maximum"


def _bound_told(who: str, key: str, bound: Bound) -> Told:
    if key in THRESHOLDS:
        return f"{who}: default: {bound.limit:g} {bound.unit}, {THRESHOLDS[key]}", bound.source
    caution, source = "within a tenth of it", bound.source
    if bound.only_caution:
        caution = f"{'under' if bound.kind == 'lower' else 'over'} it, never a problem"
    elif bound.caution is not None:
        caution = f"{'under' if bound.kind == 'lower' else 'over'} {bound.caution:g}"
        source += f"; caution: {bound.caution_source}" if bound.caution_source not in (None, bound.source) else ""
    return f"{who}: default: {_side(bound.kind)} {bound.limit:g} {bound.unit}; caution {caution}", source


def _other_wraps(key: str, role: str) -> str:
    """What holds of a wrap in place of its role's own minimum; '' of any other limit."""
    if key != "min_wrap_deg":
        return ""
    others = {"min_wrap_on_back_deg": "on the back", "min_wrap_big_alternator_deg": "if rated over {:g} A"}
    rated = LIMITS["big_alternator_A", "alternator"].limit
    return "".join(
        f"; {when.format(rated)} minimum {bound.limit:g} ({other})"
        for (other, who), bound in LIMITS.items()
        if who == role and (when := others.get(other))
    )


def _finding(check: Check) -> Entry:
    by = _plain(f"limits: {', '.join(check.limits)}") if check.limits else ()
    return Entry(check.name, ((check.meaning, "" if check.source == OWN else check.source),), by)


# Belt profiles.

_NUMBERS = {
    "pitch_mm": "from rib to rib, mm",
    "width_mm": "width of the belt's top, mm",
    "pitch_line_mm": "pitch line over the line of the length, mm: ratios count on it",
    "rim_minus_line_mm": "rim diameter less effective or datum diameter, mm",
    "rim_range_mm": "its range, mm",
    "climb_mm": "height that the belt climbs over a rim, mm",
    "thickness_mm": "height of the belt, mm",
    "back_mm": "back over the line of the length, mm",
    "cord_below_back_mm": "pulling cord under the back, mm",
    "grooved_caution_mm": "a grooved pulley below it is a caution, mm",
    "grooved_least_mm": "minimum diameter of a grooved pulley, mm",
    "back_caution_mm": "a smooth pulley on the back below it is a caution, mm",
    "back_least_mm": "minimum diameter of a smooth pulley on the back, mm",
    "top_speed_m_per_s": "maximum belt speed, m/s",
    "wear_share": "stretch and wear in life, as a share of the length",
    "tolerance_least_mm": "length tolerance either way, at least, mm",
    "tolerance_share": "or this share of the length, where that is more",
    "inside_below_mm": "inside length under datum length, mm",
    "outside_above_mm": "outside length over datum length, mm",
    "mass_kg_per_m": "mass, kg/m a rib or V-belt",
    "stiffness_N": "force that would stretch it to twice its length, N a rib or V-belt",
    "groove_angle_deg": "angle of the groove, deg",
    "measuring_force_N": "tension of a span at which the length is measured, N a rib or V-belt",
    "hand_set_N": "tension of a span that is set by hand, run in, N a rib or V-belt",
    "hand_new_N": "tension of a span that is set by hand, new, N a rib or V-belt",
    "hand_again_N": "tension of a span under which it is set again by hand, N a rib or V-belt",
    "span_limit_N": "maximum tension of a span in running, N a rib or V-belt",
}  # fmt: skip
"""The numbers of a profile in words."""


def _profile(profile: Profile) -> Entry:
    known = [name for name in profile.sources if getattr(profile, name) is not None]
    numbers = ((f"{_NUMBERS[name]}: {_number(getattr(profile, name))}", profile.sources[name]) for name in known)
    lengths, source = built_in_lengths_mm(profile.name), BUILT_IN_SOURCE
    if lengths:
        stock = f"{len(lengths)} from {lengths[0]:.10g} to {lengths[-1]:.10g} mm"
    else:
        stock, source = "none built in, for the steps are not known: ask your supplier", ""
    first = f"{profile.family} belt; lengths on the {profile.line_name} line"
    lacking = ", ".join(f"`{key}`" for key in _keys_lacking(profile))
    none = [(f"no default, so asked of you where it is needed: {lacking}", "")] * bool(lacking)
    rest = (*_frictions(Belt(profile)), *none, (f"stock lengths: {stock}", source))
    return Entry(profile.name, ((first, ""), *numbers, *rest))


def _frictions(belt: Belt) -> Iterator[tuple[str, str]]:
    sides = [Pulley("any", "other", 100.0, belt_side=side) for side in get_args(Side)]
    for condition in CONDITIONS:
        ribs, back = (f"{friction_of(belt, pulley, condition):.3g}" for pulley in sides)
        yield f"friction, {condition}: {ribs} in the grooves, {back} on the back", source_of(belt, condition)


def _number(value: object) -> str:
    if isinstance(value, tuple):
        return " to ".join(f"{end:g}" for end in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


# What the words of reports mean, and what answers rest on: rules that are told once, here.

_TERMS: Mapping[str, tuple[str, ...]] = {
    "frame": (
        "Seen from the front, facing the pulleys: x to your right, y up, origin anywhere.",
        "Angles in degrees, counter-clockwise from x: 0 is to your right, 90 straight up. Left and right are the "
        "viewer's, not the driver's.",
    ),
    "span": (
        "The free belt between two pulleys. Older keys have another word for it: `free_strand`, `min_strand_gap_mm`.",
    ),
    "wrap": ("The angle over which the belt lies on a pulley, in degrees. A minimum wrap is a first screen.",),
    "ribs, back": (
        "The ribs face the inside of the loop. A pulley inside the loop runs on the ribs and turns as the crankshaft "
        "does. One outside it runs on the smooth back (`belt_side: back`) and turns the other way.",
    ),
    "turns": ("cw is clockwise, ccw counterclockwise, seen from the front.",),
    "ratio": ("Speed of a pulley over that of the driving one, on pitch diameters, without creep: read it as about.",),
    "rim": (
        "The metal of a grooved pulley over its rib tips. On PK it is 0.4 mm under the effective diameter, up to 0.9 "
        "on a well-rounded rim. That makes the path uncertain by 2 to 3 mm on a usual drive.",
    ),
    "effective length, effective diameter": (
        "Effective, pitch, datum, inside and outside length are lines of the same belt, apart by fixed amounts. The "
        "number in a V-ribbed designation is the effective length; the effective diameter goes with it.",
        "The number of a classical V-belt (A, B) may be its inside, datum or outside length: say which by "
        "`length_kind`.",
    ),
    "outside length": ("What a tape reads round the outside of a belt.",),
    "path": (
        "The length of the way round all pulleys. At the design setting: where `at_deg` or `at` puts the adjuster, or "
        "the middle of its travel. It belongs to the adjuster: buy by BUY, not by it.",
    ),
    "chosen belt": (
        "The belt that fits best, or the one named by `belt`. All figures hold where it puts the adjuster, at its "
        "measuring tension; a belt in service is about 0.3 % longer.",
    ),
    "fits": (
        "The adjuster's travel holds length tolerance, slack to slip the belt over the easiest fixed rim, and wear in "
        "life. Where it is set by hand, it also holds the stretch up to its tension.",
        "Fits, but: it can be fitted, and one of these is short; the report says which, and by how much.",
        "Without an adjuster only a stretch belt (`stretch_fit_percent`) fits.",
    ),
    "reserve": (
        "Travel that is left after tolerance, fitting and wear, as mm of belt: to the short stop and to the long stop.",
        "Room in `tolerance`: the same of the belts drawn, whose tolerance is drawn too.",
    ),
    "fitting": (
        "The belt is slipped over the easiest fixed rim last, with the adjuster at its short stop. If it "
        "must go on in one go, buy longer: SAE J1596 (cancelled, for assembly lines) asks for 30 to 35 mm more.",
    ),
    "tensioner, adjuster": (
        "A tensioner is sprung. An adjuster is a slide or arm that is set by hand and locked, or either of the two.",
        "Its position counts from the short stop, 0 %, to the long stop, 100 % of the usable travel.",
    ),
    "short stop, long stop": (
        "Ends of the usable travel. At the short stop the belt's path is shortest, and the belt is put on. At the long "
        "stop it is longest, and nothing is left for wear.",
    ),
    "design setting": (
        "Where the file puts the adjuster: an arm at `at_deg`, a slide at `at`, else the middle of its travel. The "
        "chosen belt may put it elsewhere.",
    ),
    "pointer": (
        "What some tensioners show their position by, against marks for a new and a worn belt. `fit` tells where it "
        "stands; with `pointer_radius_mm` in mm along its rim too.",
    ),
    "tired": (
        "Of a spring: so weak that the belt has less tension than a sound spring of these data could leave it. `fit` "
        "tells below which tension it is tired.",
    ),
    "take-up": ("Belt that an adjuster takes up for its movement, as a share of the best that this movement could.",),
    "hub, hub load": (
        "What belt tension pulls a shaft by, at rest and at its worst, in N, with its direction. Belt weight and "
        "misalignment are not in it.",
    ),
    "set tension": (
        "Tension of one span, engine stopped, to which a hand-set adjuster is locked with a run-in belt: `tension_N`. "
        "A new belt is set higher, 1.2 times for PK: `beltplan fit` tells it.",
    ),
    "damping ratio": (
        "Of a tensioner, 2 (A - B) / (A + B): A the torque against its spring, B the one with it. Half of it is the "
        "friction either way. A torque wrench reads both: `spring.readings`.",
    ),
    "tone": (
        "What a plucked span sounds, engine stopped, in Hz. A short one sounds higher than told, for a belt is stiff. "
        "It is about 15 % at 91 mm and 5 % at 233 mm of a 6PK (from memory, low confidence).",
    ),
    "grip used": (
        "The share of its grip that a pulley's load takes, at the worst speed and duty; tension, wrap and friction "
        "make the grip. 1 slips, 0.8 is a caution.",
        "Dry and wet are friction as it may be; friction varies by a factor of two with wear, water and dust. "
        "Its numbers, on the ribs and on the back: `beltplan words PK`.",
        "Grip falls with a pulley's radius, which is not modelled. An AV10 belt's tight side held 21 times its slack "
        "side on a radius of 51 mm, 5 times on 21 mm. Source: abstract of Childs and Cowburn, 1987.",
    ),
    "design friction": (
        "The low friction that industrial drives are laid out by. Slip at it alone is a caution.",
        "Its numbers: `beltplan words PK`.",
    ),
    "revving": (
        "Grip used, wet, while the engine gains or loses `rev_up_rpm_per_s`, by the inertia of each accessory: the "
        "chirp. Other figures are of steady running.",
    ),
    "first mode": (
        "The slowest way in which pulleys turn to and fro against each other on the springy belt. Where the engine "
        "fires as often it swings widest. `vibration` tells where.",
    ),
    "swing of the crank": (
        "How far the crank runs ahead of even turning and falls behind, as it fires: `engine.swing_deg`, either way.",
    ),
    "duty": ("Loads that act together. Without `duty` all act.",),
    "see slip": (
        "In `squeal`, of a wrap: loads and speeds are given, so grip used tells whether the pulley slips; its wrap is "
        "a first screen only.",
    ),
    "draw": (
        "One layout out of thousands that `tolerance` makes by chance: every measurement off as far as its standard "
        "deviation makes likely. A chance is the share of draws. In `place`, a pair of places made by chance.",
    ),
    "margin, worst margin": (
        "Distance to a limit on its good side, as a share of that limit. The worst margin is the smallest of a layout.",
    ),
    "tightest margin": (
        "In `place`, the smallest margin of those limits that moving the pulley changes: it tells which position is "
        "better. 20 % inside its limit: 20 % over a minimum, or under a maximum.",
    ),
    "severity": (
        f"{', '.join(SEVERITIES)}. A problem: it will not work so. A caution: beyond a limit that is a guideline, or "
        f"within {100 * (CAUTION_BAND - 1):.0f} % of a limit ({PRACTICE}). A note: what an answer rests on.",
    ),
    "sigmas": (
        "How far a reading is off, in its standard deviations as all the others make it: over 3 or so is rare. Error "
        "seen from: smaller ones would go unnoticed. Never: no other reading checks it.",
    ),
    "misread": ("A reading that the others contradict. It is not used; measure it again.",),
    "loop": (
        "A wire or string laid round pulleys, or a belt on them with the arm at a known angle. Its length is one "
        "reading more: `loops` in a file of measurements.",
    ),
    "plumb, level, levels": (
        "What an angle is counted from: level, to the right, or plumb, straight up; both counterclockwise. In a file "
        "of measurements: `angles: {crank - pump: {value: 7.4, from: plumb}}`.",
    ),
    "mirror solution": ("Another way for the points to lie that fits as well. A word of `sides` decides.",),
    "standard deviation": ("How far a reading may be off: two of three lie within one, 19 of 20 within two.",),
    "ranking": (f"{begun(RULE)}.",),
    "buying": (BUYING,),
    "left out": (
        "Belts lie in one plane, but for misalignment. Bending stiffness, creep, bending of shafts, belt flap and heat "
        "beyond `block` are not computed: keep clear by more than the minimum.",
    ),
    "numbers": (
        "In every --json lengths and angles are rounded to 1e-6 mm and deg, others to 9 significant digits; `export` "
        "keeps more.",
    ),
    "exit status": (
        "0: no problem. 1: at least one. 2: an input error, told with the line, or no command given; nothing is "
        "written. 3: the program or the machine failed. 130: stopped by Ctrl-C.",
    ),
    "drawing of an obstacle": (
        "`block: {file: block.csv}`. A CSV holds one point a row round the edge, in columns x and y (or x_mm, y_mm, "
        "x_in, y_in). A DXF (text form) or SVG holds lines, arcs and curves.",
        "`at` and `turn_deg` place the drawing's origin; `outline` names the layer (DXF) or id (SVG); `units` is the "
        "drawing's. The origin of an SVG is the zero of its coordinates, y turned up.",
        "Gaps up to 0.05 mm are closed, larger ones are named; holes do not count. A trace of many points is thinned "
        "to 0.05 mm; a rough one is drawn larger by 1.6 mm at most, never smaller. Look at the picture.",
    ),
}
"""By the word, or words, that a report has; a paragraph each."""


# Which words are meant.


def found(word: str, among: Sequence[Group]) -> list[tuple[Group, Entry]]:
    """All that a word may mean: a whole name, its end, one with the user's own names in it, and a group's name.

    >>> [entry.name for _, entry in found("pulleys.crank.at", groups())]
    ['pulleys.NAME.at']
    """
    asked = word.strip("`: ").lower().replace(" ", "_")
    every = [(group, entry) for group in among for entry in group.entries]
    exact = [(group, entry) for group, entry in every if any(_means(asked, name) for name in names_of(entry))]
    return exact + [(group, entry) for group, entry in every if group.name == asked]


def names_of(entry: Entry) -> tuple[str, ...]:
    """The names that an entry can be asked for by: `ribs, back` are two."""
    return tuple(entry.name.replace(" ", "_").split(",_"))


def _means(asked: str, name: str) -> bool:
    parts, given = name.split("."), asked.split(".")
    if parts[-1].lower() != given[-1] and not (len(parts) == len(given) and parts[-1] in USERS):
        return False
    pairs = zip(reversed(parts), reversed(given), strict=False)
    return len(given) <= len(parts) and all(part in USERS or part.lower() == each for part, each in pairs)

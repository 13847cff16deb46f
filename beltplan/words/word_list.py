"""The word list: every key, role, profile, limit, finding and term, with units, defaults and sources."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import get_args

from beltplan.checks.every_check import CHECKS
from beltplan.checks.limits import LIMIT_KEYS, LIMITS, OWN, PROFILE_LIMITS, THRESHOLDS, Bound, Check
from beltplan.drive.fit import BUILT_IN_SOURCE, built_in_lengths_mm
from beltplan.drive.inertias import USUAL_KGM2, USUAL_SOURCE
from beltplan.drive.loads import ALTERNATOR_SOURCE, CRUISING, EVERYTHING_ON, OUTPUT_SOURCE, USUAL, usual_loads
from beltplan.drive.profiles import PROFILES, Profile
from beltplan.drive.pulleys import Role
from beltplan.layoutfile.keys import FAR_MM, USERS, Key
from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS, written_as
from beltplan.report.words import role_words
from beltplan.words.terms import TERMS

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
        Group("terms", "term of a report", "", tuple(Entry(name, _plain(*texts)) for name, texts in TERMS.items())),
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
        written = written_as(key.path).replace(", each by a NAME of your own", "")
        words = key.kind.replace("mapping", written) + words.removeprefix(key.kind)
    return Entry(key.path, ((words, _SOURCES.get(key.path, "")),), _plain(*_more_of(key)))


def _more_of(key: Key) -> Iterator[str]:
    inside = [each.name for each in (*KEYS, *MEASUREMENT_KEYS) if each.parent == key.path]
    if inside:
        yield f"keys in it: {', '.join(inside)}"
    ranged = key.kind.endswith(("number", "numbers", "length")) and (key.least, key.most) != (-FAR_MM, FAR_MM)
    if key.choices or ranged:
        yield f"allowed: {key.allowed()}"
    if key.default in _DEFAULTS:
        yield f"default: {_DEFAULTS[key.default]}"


# Roles, limits and findings tell of each other.


def _role(role: Role) -> Entry:
    usual = USUAL_KGM2.get(role)
    inertia = ("no usual inertia", "") if usual is None else (f"usual inertia {usual:g} kg m2", USUAL_SOURCE)
    limits = tuple(_bound_told(key, key, bound) for (key, who), bound in LIMITS.items() if who == role)
    return Entry(role, (inertia,), limits)


_LOADS_NOTE = f"for `load: {USUAL}`; duties '{EVERYTHING_ON}' and '{CRUISING}' come with them where the file has none"


def _limit(key: str) -> Entry:
    if key in PROFILE_LIMITS:
        texts = _plain(f"default: {_side(PROFILE_LIMITS[key])} as the belt profile says")
        who = "alternator" if "diameter" in key else ""
    else:
        rows = [(role, bound) for (each, role), bound in LIMITS.items() if each == key]
        texts = tuple(_bound_told(role_words(role) or "all", key, bound) for role, bound in rows)
        who = rows[-1][0]
    asks = ", ".join(check.name for check in CHECKS if key in check.limits)
    own = f"{{{key}: {{{who}: NUMBER}}}}" if who else f"{{{key}: NUMBER}}"
    return Entry(key, texts, _plain(f"findings by it: {asks}", f"your own: `limits: {own}`, by pulley name or role"))


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
    return Entry(profile.name, ((first, ""), *numbers, (f"stock lengths: {stock}", source)))


def _number(value: object) -> str:
    if isinstance(value, tuple):
        return " to ".join(f"{end:g}" for end in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


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

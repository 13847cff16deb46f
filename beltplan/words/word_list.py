"""The word list: every key, role, profile, limit and finding, with units, values and sources."""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args

from beltplan.checks.comparison import RULE
from beltplan.checks.every_check import CHECKS
from beltplan.checks.limits import LIMITS, PROFILE_LIMITS, SEVERITIES, THRESHOLDS, Bound
from beltplan.drive.fit import BUILT_IN_SOURCE, built_in_lengths_mm
from beltplan.drive.loads import CRUISING, EVERYTHING_ON, USUAL, usual_loads
from beltplan.drive.operation import USUAL_KGM2, USUAL_SOURCE
from beltplan.drive.profiles import PROFILES, Profile
from beltplan.drive.pulleys import Role
from beltplan.layoutfile.keys import Key
from beltplan.report.words import SAFETY, paragraph, role_words
from beltplan.tolerance.study import BUYING

_LAYOUT = "KEYS OF A LAYOUT FILE  (NAME stands for a name of your own)"
_MEASUREMENTS = "KEYS OF A MEASUREMENTS FILE  (beside those of a layout; PAIR stands for two points: A - B)"


def word_list(keys: Sequence[Key], measuring: Sequence[Key]) -> str:
    """The whole word list as text, no line over 100 columns. keys: of a layout; measuring: those of measurements."""
    parts = (
        _keys(_LAYOUT, keys),
        _keys(_MEASUREMENTS, measuring),
        _roles(),
        _profiles(),
        _loads(),
        _limits(),
        _findings(),
        _ranking(),
    )
    return "\n".join([line for part in parts for line in [*part, ""]] + paragraph(SAFETY, "CAUTION  "))


def _keys(heading: str, keys: Sequence[Key]) -> list[str]:
    lines = [heading]
    for key in keys:
        lines += [f"  {key.path}", *paragraph(key.in_words, "      ")]
    return lines


def _roles() -> list[str]:
    words = ", ".join(get_args(Role))
    usual = ", ".join(f"{role} {inertia:g}" for role, inertia in USUAL_KGM2.items())
    inertias = f"usual inertia, kg m2: {usual}; other roles have none [{USUAL_SOURCE}]"
    return ["ROLES", *paragraph(words, "  ", "  "), *paragraph(inertias, "  ", "      ")]


def _loads() -> list[str]:
    lines = paragraph(
        f"USUAL LOADS  (for `load: {USUAL}`; duties '{EVERYTHING_ON}' and '{CRUISING}' "
        "come with them where the file has none)"
    )
    for role, usual in usual_loads().items():
        lines += paragraph(f"{role}: {usual.words} [{usual.source}]", "  ", "      ")
    return lines


def _profiles() -> list[str]:
    return ["BELT PROFILES", *[line for profile in PROFILES.values() for line in _profile(profile)]]


def _stock_words(profile: str) -> str:
    lengths = built_in_lengths_mm(profile)
    if not lengths:
        return "none built in, for the steps are not known: ask your supplier"
    return f"{len(lengths)} from {lengths[0]:.10g} to {lengths[-1]:.10g} mm [{BUILT_IN_SOURCE}]"


def _profile(profile: Profile) -> list[str]:
    names = [name for name in profile.sources if getattr(profile, name) is not None]
    lines = [f"  {profile.name}  ({profile.family} belt; lengths on the {profile.line_name} line)"]
    for name in names:
        lines += paragraph(f"{name} {_number(getattr(profile, name))} [{profile.sources[name]}]", "      ", "        ")
    lines += paragraph(f"stock lengths: {_stock_words(profile.name)}", "      ", "        ")
    return lines


def _number(value: object) -> str:
    if isinstance(value, tuple):
        return " to ".join(f"{end:g}" for end in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _limits() -> list[str]:
    lines = ["LIMITS  (override under `limits`, by pulley name, by role, or one number for all)"]
    for (key, who), bound in LIMITS.items():
        lines += paragraph(_limit_words(key, role_words(who) or "all", bound), "  ", "      ")
    for key, kind in PROFILE_LIMITS.items():
        lines += paragraph(f"{key}: {'least' if kind == 'lower' else 'most'} as the belt profile says", "  ", "      ")
    return lines


def _limit_words(key: str, who: str, bound: Bound) -> str:
    side = "least" if bound.kind == "lower" else "most"
    if key in THRESHOLDS:
        return f"{key}, {who}: {bound.limit:g} {bound.unit}, {THRESHOLDS[key]} [{bound.source}]"
    caution, source = "within a tenth of it", bound.source
    if bound.only_caution:
        caution = "beyond it, never a problem"
    elif bound.caution is not None:
        caution = f"{'under' if bound.kind == 'lower' else 'over'} {bound.caution:g}"
        source += f"; caution: {bound.caution_source}" if bound.caution_source else ""
    return f"{key}, {who}: {side} {bound.limit:g} {bound.unit}; caution {caution} [{source}]"


def _findings() -> list[str]:
    lines = [f"FINDINGS  (each a {', '.join(SEVERITIES[:-1])} or {SEVERITIES[-1]})"]
    for check in CHECKS:
        by = f" [by {', '.join(check.limits)}]" if check.limits else ""
        lines += paragraph(f"{check.name}: {check.meaning}{by}", "  ", "      ")
    return lines


def _ranking() -> list[str]:
    return [
        "RANKING  (of layouts that are compared)",
        *paragraph(RULE, "  ", "  "),
        "BUYING  (the belt that `beltplan tolerance` names)",
        *paragraph(BUYING, "  ", "  "),
    ]

"""A map of places as text, as JSON, and as a table for other programs."""

from __future__ import annotations

import csv
import math
from io import StringIO
from typing import Any

import numpy as np

from beltplan.checks.gaps import MEASURED
from beltplan.checks.limits import Finding
from beltplan.drive.layout import Layout
from beltplan.geometry.vectors import Floats
from beltplan.place.pair import PairSearch, Proof
from beltplan.place.study import CAUTION, NO_BELT_FITS, RULE, SOUND, STATES, Place, PlaceMap
from beltplan.report.check_json import finding_of
from beltplan.report.findings_text import findings_lines
from beltplan.report.words import SAFETY, json_text, paragraph, table

MOST_BELTS = 12
"""Belts that the table names; the JSON result has them all."""
_SCOPE = "Every place is judged as `check` would judge the layout with the pulley there, by every check."
_COLUMNS = "In mm. Moved: from where the pulley is now. "
_TRAVEL_COLUMNS = "Adjuster: place in its travel from the short-path end. "
_MARGIN_COLUMNS = (
    f"Clear: counted up to {MEASURED:g} times its limit. Margin: the worst, of what; own: the worst of those that the "
    "place changes."
)


def place_text(found: PlaceMap, best: Proof | None) -> str:
    """The whole report of a map as plain text."""
    title = found.layout.title + (f" (variant: {found.layout.variant})" if found.layout.variant else "")
    parts = (
        [
            *paragraph(title),
            *paragraph(_extent(found), "PLACES   "),
            *paragraph(counts_words(found.counts), "         "),
        ],
        paragraph(_standing(found), "NOW      "),
        _best(found, best),
        _belts(found),
        [*paragraph(f"Best: {RULE}."), *paragraph(_SCOPE), *_without_slip(found, best)],
    )
    return _joined(parts)


def _without_slip(found: PlaceMap, best: Proof | None) -> list[str]:
    """Why slip is not on the map although there are loads."""
    if best is None or all(pulley.load is None for pulley in found.layout.routed):
        return []
    reason = best.plan.not_judged
    return [] if reason is None else paragraph(f"Slip is not on this map, though loads are given: {reason}.")


def map_words(found: PlaceMap, best: Proof | None) -> tuple[str, ...]:
    """What stands at the head of the picture of a map, the title first."""
    words = [_title(found.layout), f"Where {found.pulley} may sit: {counts_words(found.counts)}"]
    words.append(f"Now: {_standing(found)}")
    words.append("Best: none, every place has a problem" if best is None else f"Best: {_best_words(found, best)}")
    return tuple(words)


def pair_words(layout: Layout, found: PairSearch) -> tuple[str, ...]:
    """What stands at the head of the picture of a pair of places, the title first."""
    words = [_title(layout), f"Where {' and '.join(found.names)} may sit together: {found.draws:,} pairs drawn"]
    words.append(f"Now: {_pair_at(found, found.present)}: {place_words(found.present)}")
    if found.best is not None:
        words.append(f"Best: {_pair_at(found, found.best)}: {place_words(found.best)}")
    return tuple(words)


def _title(layout: Layout) -> str:
    return layout.title + (f" (variant: {layout.variant})" if layout.variant else "")


def pair_text(layout: Layout, found: PairSearch, proof: Proof | None) -> str:
    """The whole report of a search for two places as plain text."""
    low, high = found.low, found.high
    words = (
        f"{' and '.join(found.names)} over x {low[0]:.1f} to {high[0]:.1f} mm, y {low[1]:.1f} to {high[1]:.1f} mm: "
        f"{found.draws:,} pairs drawn (seed {found.seed}), the first {sum(found.counts.values()):,} anywhere, the "
        "others closer and closer round the best"
    )
    lines = [
        *paragraph(_title(layout)),
        *paragraph(words, "PLACES   "),
        *paragraph(counts_words(found.counts), "         "),
    ]
    now = paragraph(f"{_pair_at(found, found.present)}: {place_words(found.present)}", "NOW      ")
    if found.best is None:
        return _joined((lines, now, _none("BEST     none: every pair drawn has a problem", found.everywhere)))
    told = paragraph(f"{_pair_at(found, found.best)}: {place_words(found.best)}", "BEST     ")
    return _joined((lines, now, told + _proof(proof), [*paragraph(f"Best: {RULE}."), *paragraph(_SCOPE)]))


def _joined(parts: tuple[list[str], ...]) -> str:
    lines = [line for part in parts if part for line in [*part, ""]]
    return "\n".join([*lines, *paragraph(SAFETY, "CAUTION  ")])


def _extent(found: PlaceMap) -> str:
    x, y = found.grid.x_mm, found.grid.y_mm
    return (
        f"{found.pulley} over x {x[0]:.1f} to {x[-1]:.1f} mm, y {y[0]:.1f} to {y[-1]:.1f} mm in steps of "
        f"{found.grid.step_mm:g} mm: {found.grid.count:,} places"
    )


def counts_words(counts: dict[str, int]) -> str:
    """How many places come to what, in words."""
    sound, caution = counts["sound"], counts["caution"]
    return (
        f"{sound + caution:,} without a problem ({sound:,} of them without a caution), {counts['problem']:,} with a "
        f"problem, {counts['no belt fits']:,} where no belt on the list fits, {counts['no path']:,} without a belt path"
    )


def place_words(at: Place) -> str:
    """What a place comes to, in words."""
    if STATES.index(at.verdict) <= NO_BELT_FITS:
        return at.verdict
    words = [{"sound": "no problem, no caution", "caution": "no problem, but a caution"}.get(at.verdict, "a problem")]
    words.append("no belt on the built-in list: ask a supplier" if at.belt is None else f"belt {at.belt}")
    if at.position is not None:
        words.append(f"adjuster at {100.0 * at.position:.0f} %")
    if at.margin is not None:
        words.append(f"worst margin {100.0 * at.margin:.0f} % ({at.margin_of})")
    if at.margin is not None and at.own_margin is not None and at.own_margin > at.margin:
        words.append(f"{100.0 * at.own_margin:.0f} % of what the place changes")
    return ", ".join(words)


def _standing(found: PlaceMap) -> str:
    present = found.present
    words = f"{_at(present)}: {place_words(present)}"
    for state, what in ((CAUTION, "a problem"), (SOUND, "a caution")):
        nearest = found.nearest(state)
        if nearest is None:
            return f"{words}; no place on the map is without {what}"
        if nearest[1] > 0.0:
            words += f"; the nearest place without {what} is {_away(present, nearest[0])}"
    return words


def _best(found: PlaceMap, best: Proof | None) -> list[str]:
    if best is None:
        return _none("BEST     none: every place on the map has a problem", found.judged.everywhere)
    return paragraph(_best_words(found, best), "BEST     ") + _proof(best)


def _none(words: str, everywhere: tuple[Finding, ...]) -> list[str]:
    """That nothing is without a problem, and which problems no place changes."""
    problems = tuple(finding for finding in everywhere if finding.severity == "problem")
    return [words, *(["         at every place:", *findings_lines(problems)] if problems else [])]


def _best_words(found: PlaceMap, best: Proof) -> str:
    return f"{_at(best.place)}, {_away(found.present, best.place)} from now: {place_words(best.place)}"


def _proof(proof: Proof | None) -> list[str]:
    if proof is None:
        return []
    return [*paragraph(f"what `check` finds there: {proof.plan.verdict}", "         "), *_told(proof)]


def _told(proof: Proof) -> list[str]:
    found = tuple(finding for finding in proof.plan.findings if finding.severity != "note")
    return findings_lines(found) if found else []


def _belts(found: PlaceMap) -> list[str]:
    every = found.best_by_belt
    if not every:
        return []
    shown = every[:MOST_BELTS]
    heads = ["belt", "x mm", "y mm", "moved", "adjuster", "reserve", "clear", "own", "margin", "of"]
    lines = ["BELTS  the best place for each, best first", *table(heads, [_row(found, at) for at in shown])]
    if len(every) > len(shown):
        lines += paragraph(f"and {len(every) - len(shown)} more belts: --json has them all", "  ")
    travel = "" if found.layout.adjusted is None else _TRAVEL_COLUMNS
    return lines + paragraph(_COLUMNS + travel + _MARGIN_COLUMNS)


def _row(found: PlaceMap, at: Place) -> list[str]:
    x, y = at.at_mm[0]
    numbers = [at.reserve_mm, at.clearance_mm]
    return [
        at.belt or "-",
        f"{x:.1f}",
        f"{y:.1f}",
        f"{distance_mm(found.present, at):.1f}",
        "-" if at.position is None else f"{100.0 * at.position:.0f} %",
        *("-" if number is None else f"{number:.1f}" for number in numbers),
        *("-" if share is None else f"{100.0 * share:.0f} %" for share in (at.own_margin, at.margin)),
        at.margin_of or "-",
    ]


def _at(at: Place) -> str:
    x, y = at.at_mm[0]
    return f"x {x:.1f}, y {y:.1f} mm"


def _pair_at(found: PairSearch, at: Place) -> str:
    return ", ".join(f"{name} x {x:.1f}, y {y:.1f} mm" for name, (x, y) in zip(found.names, at.at_mm, strict=True))


def distance_mm(first: Place, second: Place) -> float:
    """How far a pulley is moved from one place to another."""
    return math.dist(first.at_mm[0], second.at_mm[0])


def _away(first: Place, second: Place) -> str:
    (x0, y0), (x1, y1) = first.at_mm[0], second.at_mm[0]
    away = math.dist((x0, y0), (x1, y1))
    if not away:
        return "0 mm"
    toward = math.degrees(math.atan2(y1 - y0, x1 - x0)) % 360.0
    return f"{away:.1f} mm toward {toward:.0f} deg"


# A map of places as JSON: fixed keys, unknown values null, every number finite; mm, %, shares of a limit.

_Object = dict[str, Any]


def place_json(found: PlaceMap, best: Proof | None) -> str:
    """The result of a map as one JSON object in plain ASCII."""
    x, y, names = found.grid.x_mm, found.grid.y_mm, (found.pulley,)
    return json_text(
        {
            "title": found.layout.title,
            "variant": found.layout.variant,
            "pulley": found.pulley,
            "bounds_mm": {"x": [float(x[0]), float(x[-1])], "y": [float(y[0]), float(y[-1])]},
            "step_mm": found.grid.step_mm,
            "rows": len(y),
            "columns": len(x),
            "counts": found.counts,
            "present": _place(names, found.present),
            "nearest_without_problem": _nearest(names, found.nearest(CAUTION)),
            "nearest_without_caution": _nearest(names, found.nearest(SOUND)),
            "best": None if best is None else _proof_json(names, best),
            "best_by_belt": [_place(names, at) for at in found.best_by_belt],
            "everywhere": [finding_of(finding) for finding in found.judged.everywhere],
            **_words(),
        }
    )


def pair_json(title: str, variant: str | None, found: PairSearch, proof: Proof | None) -> str:
    """The result of a search for two places as one JSON object in plain ASCII."""
    return json_text(
        {
            "title": title,
            "variant": variant,
            "pulleys": list(found.names),
            "bounds_mm": {"x": [found.low[0], found.high[0]], "y": [found.low[1], found.high[1]]},
            "seed": found.seed,
            "draws": found.draws,
            "counts": found.counts,
            "present": _place(found.names, found.present),
            "best": None if proof is None else _proof_json(found.names, proof),
            "everywhere": [finding_of(finding) for finding in found.everywhere],
            **_words(),
        }
    )


def _words() -> _Object:
    return {"rule": RULE, "gaps_measured_to_times_limit": MEASURED, "caution": SAFETY}


def _place(names: tuple[str, ...], at: Place) -> _Object:
    return {
        "at_mm": {name: list(own) for name, own in zip(names, at.at_mm, strict=True)},
        "verdict": at.verdict,
        "belt": at.belt,
        "adjuster_position": at.position,
        "reserve_mm": at.reserve_mm,
        "take_up_percent": at.take_up_percent,
        "clearance_mm": at.clearance_mm,
        "strand_gap_mm": at.span_gap_mm,
        "rim_gap_mm": at.rim_gap_mm,
        "slip_wet": at.slip_wet,
        "margin": at.margin,
        "own_margin": at.own_margin,
        "margin_of": at.margin_of,
    }


def _nearest(names: tuple[str, ...], found: tuple[Place, float] | None) -> _Object | None:
    return None if found is None else _place(names, found[0]) | {"distance_mm": found[1]}


def _proof_json(names: tuple[str, ...], proof: Proof) -> _Object:
    return _place(names, proof.place) | {
        "check": proof.plan.verdict,
        "findings": [finding_of(finding) for finding in proof.plan.findings],
    }


# A map of places as a table for other programs: one row a place, columns named with their units.

_DIGITS = 4
_MARGIN_FIELDS = (("margin_percent", "margin"), ("own_margin_percent", "own_margin"))
_MM_FIELDS = ("reserve_mm", "clearance_mm", "span_gap_mm", "rim_gap_mm", "shortest_mm", "longest_mm")
_OLDER = {"span_gap_mm": "strand_gap_mm"}


def place_csv(found: PlaceMap) -> str:
    """Every place of the grid, row by row; a value that a place does not have is left empty."""
    names, columns = _columns(found)
    target = StringIO()
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(names)
    writer.writerows(zip(*columns, strict=True))
    return target.getvalue()


def _columns(found: PlaceMap) -> tuple[list[str], list[list[str]]]:
    judged, count = found.judged, found.grid.count
    columns = {
        "x_mm": _numbers(judged.places[:count, 0, 0]),
        "y_mm": _numbers(judged.places[:count, 0, 1]),
        "verdict": judged.verdicts[:count],
        "belt": judged.designations[:count],
        "adjuster_percent": _numbers(100.0 * judged.spread("position")[:count]),
        "take_up_percent": _numbers(judged.spread("take_up_percent")[:count]),
        **{_OLDER.get(name, name): _numbers(judged.spread(name)[:count]) for name in _MM_FIELDS},
        **{name: _numbers(100.0 * judged.spread(field)[:count]) for name, field in _MARGIN_FIELDS},
        "slip_use_wet": _numbers(judged.spread("slip_wet")[:count]),
        **{f"wrap_{name}_deg": _numbers(judged.wrap_deg(name)[:count]) for name in judged.pulleys[0]},
    }
    return list(columns), list(columns.values())


def _numbers(values: Floats) -> list[str]:
    return ["" if not np.isfinite(value) else f"{value:.{_DIGITS}f}" for value in values.tolist()]

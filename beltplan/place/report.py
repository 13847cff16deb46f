"""A map of places, or of pairs of them, as a report and as JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from operator import ne
from typing import Any

from beltplan.checks.gaps import MEASURED
from beltplan.checks.lengths import sound_belt
from beltplan.checks.limits import Finding
from beltplan.checks.placing import LEAST_OFF_MM, at_least_words
from beltplan.checks.plan import counted
from beltplan.checks.pulleys import AT_MEASURING
from beltplan.drive.belt import format_designation
from beltplan.drive.fit import setting_words
from beltplan.drive.layout import Layout, Units
from beltplan.judging.stages import CAUTION, NO_BELT_FITS, RULE, SOUND, STATES, Place
from beltplan.place.advice import Advice, Proof, at_words
from beltplan.place.pair import SEED, PairSearch, Search
from beltplan.place.study import PlaceMap
from beltplan.report.answer import (
    NOTHING_WRITTEN,
    Answers,
    Written,
    answered,
    covered,
    findings_blocks,
    made_worse_json,
    report_of,
    title_of,
    written_answers,
)
from beltplan.report.check_json import finding_of
from beltplan.report.screen import Block, Cell, Column, Footnotes, Paragraph, Report, Table
from beltplan.report.words import SAFETY, fields_of, json_text

_MOST_BELTS = 12
"""Belts that the table names; the JSON result has them all."""
_MOST_CAUSES = 4
"""What fails, named with its number of places; the rest together."""
_SCOPE = (
    "Every place is judged by every check, as `check` would; a caution that stands at every place does not count. How "
    "the engine shakes it is asked only of the places told here."
)
_COLUMNS = (
    f"moved: how far from the present position; clear: smallest gap, up to {MEASURED:g} times its limit; own: margin "
    "left to the tightest limit that the position changes; margin: to the tightest of all"
)
_ANY = (
    "each place has the length, in whole mm, that leaves most reserve; another may do as well. Ask which are sold, "
    "list them under `stock` and run `place` again"
)
_OWN = " that a move changes"
_NO_CAUSES: Mapping[str, int] = {}


@dataclass(frozen=True)
class Extra:
    """What was asked for besides a map. belts: 'stock' or 'any'."""

    belts: str = "stock"
    written: Written = NOTHING_WRITTEN

    @property
    def answers(self) -> Answers:
        belts = [("BELTS", _ANY)] if self.belts == "any" else []
        return [*belts, *written_answers(self.written)]


_NOTHING_MORE = Extra()


def place_report(found: Search, advice: Advice, full: bool = False, extra: Extra = _NOTHING_MORE) -> Report:
    """Where to put it, what is gained, why not elsewhere; with `full`, the next best places, and the rule."""
    notes, at = Footnotes(), "WHERE IT IS NOW" if advice.stay else "AT THE BEST PLACE"
    parts: list[Sequence[Block]] = [
        [title_of(found.layout), *answered([*place_answers(found, advice, full), *extra.answers])],
        _findings(advice.best, found.everywhere, notes, at),
        _without_slip(found, advice),
        *(_in_full(found, advice) if full else []),
    ]
    one = isinstance(found, PlaceMap)
    more = "the best place for each belt, how it is chosen" if one else "the next best pairs, how they are found"
    return report_of(found.layout.units, parts, notes, full, f"more: --full ({more})")


def _in_full(found: Search, advice: Advice) -> list[list[Block]]:
    if isinstance(found, PlaceMap):
        return [_belts(found, advice.needed_mm), _how(found, advice)]
    return [_pairs(found), _pairs_how(found)]


def place_answers(found: Search, advice: Advice, full: bool = False) -> Answers:
    """What a search comes to, as its report and its picture tell it."""
    return [
        *_best(found, advice, full),
        ("NOW", f"{_at(found, found.present)}: {_now_words(found, advice.now, full)}"),
        *_worth(found.present, advice.best, bool(advice.stay)),
        ("WHY NOT", _why_no_other_pair(found, advice) if isinstance(found, PairSearch) else _why_not_elsewhere(found)),
    ]


def _at(found: Search, place: Place) -> str:
    if not place.at_mm[1:]:
        return at_words(place.at_mm[0], found.layout.units)
    moves, each = place.at_mm != found.present.at_mm, zip(found.names, place.at_mm, found.present.at_mm, strict=True)
    return ", ".join(
        f"{name}{' stays at' * (moves and at == now)} {at_words(at, found.layout.units)}" for name, at, now in each
    )


def _best(found: Search, advice: Advice, full: bool) -> Answers:
    best = advice.best
    if best is None:
        every = "pair tried" if isinstance(found, PairSearch) else "place on the map"
        return [("BEST", f"none: every {every} has a problem; `beltplan cure` tries other belts and changes")]
    if advice.stay:
        return [("BEST", f"stay where you are: {advice.stay}{_only(found.layout)}"), *_unless_robust(advice)]
    at = _at(found, best.place)
    if isinstance(found, PlaceMap):
        at = f"{found.pulley} at {at}: {_moved(found.present, best.place)} from where it is now{_beyond(found, best)}"
    at += "" if best.place.belt else ", but no belt on the list fits there"
    return [
        ("BEST", at),
        ("", f"{_proof_words(best, full)}{_only(found.layout)}"),
        *(
            ("", f"{pulley} covers the mark {mark}: see that nothing stands out there")
            for pulley, mark in _covers(found, best)
        ),
        *_unless_robust(advice),
    ]


def _beyond(found: Search, proof: Proof) -> str:
    """That a place is farther off than the file says that its pulley may be moved, where it does."""
    able_mm = found.layout.pulleys[found.names[0]].movable_mm
    away_mm = math.dist(found.present.at_mm[0], proof.place.at_mm[0])
    beyond = f", {away_mm:.1f} mm in all, beyond the {able_mm:.1f} mm that `movable_mm` allows"
    return beyond * (0.0 < able_mm < away_mm)


def _covers(found: Search, best: Proof | None) -> list[tuple[str, str]]:
    return [each for each in covered(best.plan.layout) if each[0] in found.names] if best else []


def _unless_robust(advice: Advice) -> Answers:
    """That the best place may be lost by an error of placing, where it may."""
    by = "by the measurements it" if advice.needed_mm > LEAST_OFF_MM else "a bracket"
    words = f"{by} may sit up to {advice.needed_mm:.1f} mm off, farther than this place is sure to stay good"
    return [] if advice.robust else [("", words)]


def _now_words(found: Search, now: Proof | None, full: bool) -> str:
    present = found.present
    words = present.verdict if now is None else _proof_words(now, full)
    if isinstance(found, PairSearch):
        return words
    nearest = found.nearest(CAUTION)
    if STATES.index(present.verdict) in range(NO_BELT_FITS + 1, CAUTION):
        words += f"; the worst is {found.judged.failing[-1] or ', '.join(found.judged.standing)}"
    if nearest is not None and nearest[1] > 0.0:
        words += f"; the nearest place without a problem is {_moved(present, nearest[0])}"
    return words


def _proof_words(proof: Proof, full: bool = False) -> str:
    """What a place comes to, how far it stays so, and with which belt."""
    place, route = proof.place, proof.plan.route
    if STATES.index(place.verdict) <= NO_BELT_FITS:
        return place.verdict
    counts, stays = counted(proof.plan.findings, "problem", "caution"), _stays_words(proof, route.layout.units)
    if place.works:
        counts = f"no problem, {counts or 'no caution'}"
    belt = "belt: ask a supplier" if place.belt is None else f"belt {place.belt}"
    other = sound_belt(proof.plan)
    belt += f" ({other.designation} has no problem here)" if other else ""
    if (one := proof.one_belt) is not None and one.at_least_mm < proof.surely_mm:
        near = f"within {at_least_words(one.at_least_mm, route.layout.units)}" if one.at_least_mm else "exactly there"
        belt += f" if it sits {near}: buy it once the pulley hangs"
    words = "; ".join((counts, *([stays] if stays else []), belt))
    if not full or route.setting is None:
        return words
    return f"{words}, adjuster at {setting_words(route.circuit, route.setting)}, {AT_MEASURING}"


def _only(layout: Layout) -> str:
    return "; no belt but the file's was judged" * (layout.belt.length_mm is not None)


def _stays_words(proof: Proof, units: Units) -> str:
    """How far it stays as it is; where it comes to cautions first, how far without a problem, as `cure` tells it."""
    told = [("stays so", "one caution more", proof.caution)] if proof.caution else []
    if proof.problem and not (proof.caution and proof.problem.at_most_mm in (None, proof.caution.at_most_mm)):
        told.append(("without a problem" if told else "stays without a problem", "a problem", proof.problem))
    words = [
        f"{so} within {at_least_words(stays.at_least_mm, units)}{' or more' * (stays.at_most_mm is None)}"
        if stays.at_least_mm
        else f"{lost} {stays.at_most_mm:.1f} mm off"
        for so, lost, stays in told
    ]
    which = "either" if proof.place.at_mm[1:] else "it"
    return ", ".join((*words, *[f"whichever way {which} moves"] * any(stays.at_least_mm for *_, stays in told)))


def _worth(now: Place, best: Proof | None, stays: bool) -> Answers:
    place = None if best is None else best.place
    if place is None or place.own_margin is None:
        return []
    words = f"the tightest check that a move changes: {place.own_margin_of}, {_margin_words(place, place.own_margin)}"
    if not stays and now.own_margin is not None:
        of = "" if now.own_margin_of == place.own_margin_of else f"another, {now.own_margin_of}, "
        words += f"; now {of}{_margin_words(now, now.own_margin)}"
    if place.margin is not None and place.margin < place.own_margin:
        words += f"; tighter at every place: {place.margin_of}, {_margin_words(place, place.margin)}"
    return [("MARGIN", words)]


def _margin_words(place: Place, share: float) -> str:
    short = f"short{', a caution' * place.works}"
    return f"{_share(abs(share))} {'inside its limit' if share >= 0.0 else short}"


def _why_not_elsewhere(found: PlaceMap) -> str:
    own, stands = sum(found.failing.values()), found.judged.standing
    problem = bool(stands) or any(each.severity == "problem" for each in found.everywhere)
    by = f"{_OWN * problem} (by the worst of each: {_most(found.failing)})"
    words = _why_not(found, f"{found.grid.count:,} places", found.counts | {"problem": own}, by, found.cautioned)
    only = found.counts["problem"] - own
    left = f"; {only:,} {_have(only)} only that" if only else ""
    return f"{words}. Besides, wrong at every place: {', '.join(stands)}{left}" if stands else words


def _most(causes: Mapping[str, int]) -> str:
    """What places are blamed for, the most first, with how many they are."""
    shown, rest = list(causes.items())[:_MOST_CAUSES], sum(list(causes.values())[_MOST_CAUSES:])
    return "; ".join(f"{cause} {count:,}" for cause, count in [*shown, *([("others", rest)] if rest else [])])


def _why_not(
    found: Search, tried: str, counts: Mapping[str, int], by: str = "", cautioned: Mapping[str, int] = _NO_CAUSES
) -> str:
    belt, works = found.layout.belt, counts["caution"] + counts["sound"]
    named = f"a path that {format_designation(belt)} does not fit"
    fits = "no belt on the list that fits" if belt.length_mm is None else named
    against = {"no path": "no belt path", "no belt fits": fits, "problem": f"a problem{by}"}
    told = [f"{counts[state]:,} {_have(counts[state])} {what}" for state, what in against.items() if counts[state]]
    well = f"{works:,} {_have(works)} no problem{_cautions(found, counts, cautioned)}"
    return f"of {tried} {'; '.join([*told, well if works else 'none is free of problems'])}"


def _cautions(found: Search, counts: Mapping[str, int], cautioned: Mapping[str, int]) -> str:
    """How many of the places without a problem have no caution either, and what the others mostly have."""
    some, free, by = counts["caution"], counts["sound"], f" ({_most(cautioned)})" * bool(cautioned)
    stands = any(each.severity == "caution" for each in found.everywhere)
    if not free:
        return f", but {'a' if some == 1 else 'each a'} caution{_OWN * stands}{by}"
    none = f"no caution{' but those at every place' * stands}"
    return f"; {free:,} of these {_have(free)} {none}, the other {some:,} a caution{by}" if some else f" and {none}"


def _why_no_other_pair(found: PairSearch, advice: Advice) -> str:
    works, best = found.counts["caution"] + found.counts["sound"], advice.best
    better = not works or (not found.counts["sound"] and best is not None and not best.plan.count("caution"))
    why = _why_not(found, f"{sum(found.counts.values()):,} pairs tried", found.counts)
    near = f"; BEST was found by looking closer round {'the best of these' if works else 'where they stand now'}"
    moves = advice.move is not None and all(map(ne, advice.move.place.at_mm, found.present.at_mm))
    return why + near * (better and moves)


def _have(count: int) -> str:
    return "has" if count == 1 else "have"


def _findings(best: Proof | None, everywhere: Sequence[Finding], notes: Footnotes, head: str) -> list[Block]:
    """What is found at the best place: what the place decides, then what stands at every place; without a best place
    what is a problem at every place.
    """
    at, severities = (everywhere, ("problem",)) if best is None else (best.plan.findings, ("problem", "caution"))
    known, told = {each.issue for each in everywhere}, [each for each in at if each.severity in severities]
    stands = [finding for finding in told if finding.issue in known]
    parts = (([finding for finding in told if finding not in stands], head), (stands, "AT EVERY PLACE"))
    return [block for some, over in parts if some for block in findings_blocks(some, notes, over)]


def _without_slip(found: Search, advice: Advice) -> list[Block]:
    if advice.best is None or all(pulley.load is None for pulley in found.layout.routed):
        return []
    reason = advice.best.plan.not_judged
    return [] if reason is None else [Paragraph(f"Slip is not judged, though loads are given: {reason}.")]


def _how(found: PlaceMap, advice: Advice) -> list[Block]:
    x, y = found.grid.x_mm, found.grid.y_mm
    extent = (
        f"{found.pulley} over x {x[0]:z.1f} to {x[-1]:z.1f} mm, y {y[0]:z.1f} to {y[-1]:z.1f} mm, in steps of "
        f"{found.grid.step_mm:g} mm: {found.grid.count:,} places."
    )
    rule = (
        f"Best: of the places that surely stay good within {advice.needed_mm:.1f} mm, whichever way (two standard "
        f"deviations of the pulley's position, at least {LEAST_OFF_MM:g} mm): {RULE}. None ranks below the present "
        "place by the rule of `compare`. They are looked for by ever closer maps round the best of this one. Where so "
        "much error may cost all that a move gains, the pulley stays."
    )
    return [*map(Paragraph, (extent, rule, _SCOPE))]


def _belts(found: PlaceMap, needed_mm: float) -> list[Block]:
    every = found.best_by_belt
    if not every:
        return []
    columns = (
        *(Column("belt", left=True), Column("x", decimals_mm=1), Column("y", decimals_mm=1)),
        *(Column("moved", drop=1, decimals_mm=1), Column("adjuster", drop=2), Column("reserve", drop=3, decimals_mm=1)),
        *(Column("clear", drop=4, decimals_mm=1), Column("own"), Column("margin"), Column("of", left=True, drop=5)),
    )
    more = len(every) - _MOST_BELTS
    rows: list[list[Cell]] = [
        [
            *(at.belt, *at.at_mm[0], math.dist(found.present.at_mm[0], at.at_mm[0]), _share(at.position, 0)),
            *(at.reserve_mm, at.room_mm, _share(at.own_margin), _share(at.margin), at.margin_of),
        ]
        for at in every[:_MOST_BELTS]
    ]
    tail = [f"and {more} more belts: --json has them all"] if more > 0 else []
    also = f"BEST should also stay good {needed_mm:.1f} mm off"
    return [
        Paragraph(f"For each belt its best place by margin alone, best first; {also}:"),
        Table(columns, rows),
        *tail,
        Paragraph(_COLUMNS),
    ]


def _share(share: float | None, decimals: int = 1) -> str | None:
    return None if share is None else f"{100.0 * share:.{decimals}f} %"


def _moved(first: Place, second: Place) -> str:
    """How far a place is from another one: 27.0 mm left and 61.3 mm up."""
    (x0, y0), (x1, y1) = first.at_mm[0], second.at_mm[0]
    ways = ((x1 - x0, "right", "left"), (y1 - y0, "up", "down"))
    return " and ".join(f"{abs(by):.1f} mm {more if by > 0.0 else less}" for by, more, less in ways if abs(by) >= 0.05)


# Two pulleys at once.


def _pairs(found: PairSearch) -> list[Block]:
    heads = [f"{name} {axis}" for name in found.names for axis in "xy"]
    columns = (*(Column(head, decimals_mm=1) for head in heads), Column("belt", left=True, drop=2), Column("own"),
               Column("margin"), Column("of", left=True, drop=1), Column("cautions"))  # fmt: skip
    rows = [
        (
            *(value for at in proof.place.at_mm for value in at),
            *(proof.place.belt, _share(proof.place.own_margin), _share(proof.place.margin), proof.place.margin_of),
            str(proof.plan.count("caution")),
        )
        for proof in found.foremost
    ]
    return ["The best pairs, each checked in full:", Table(columns, rows)] if rows else []


def _pairs_how(found: PairSearch) -> list[Block]:
    low, high = found.low, found.high
    words = (
        f"x {low[0]:z.1f} to {high[0]:z.1f} mm, y {low[1]:z.1f} to {high[1]:z.1f} mm: {found.draws:,} pairs tried "
        f"(seed {SEED}), the first {sum(found.counts.values()):,} anywhere, the others ever closer round the best. "
        "Each of the two was put where `place` finds it best alone as well."
    )
    rule = f"Best: {RULE}. The ten best are checked in full and ranked by the rule of `compare`."
    return [*map(Paragraph, (words, rule, _SCOPE))]


# A map of places as JSON: fixed keys, unknown values null, every number finite; mm, %, shares of a limit.

_Object = dict[str, Any]


def place_json(found: Search, advice: Advice, extra: Extra = _NOTHING_MORE) -> str:
    besides: _Object = {
        "everywhere": [finding_of(finding) for finding in found.everywhere],
        "covers": [{"pulley": pulley, "mark": mark} for pulley, mark in _covers(found, advice.move)],
        "belts": extra.belts,
        "written": extra.written.path,
        "made_worse": made_worse_json(extra.written),
        "rule": RULE,
        "gaps_measured_to_times_limit": MEASURED,
        "caution": SAFETY,
    }
    told = _map_json(found, advice) if isinstance(found, PlaceMap) else _pair_json(found, advice)
    return json_text(fields_of(found.layout, "title", "variant") | told | besides)


def _map_json(found: PlaceMap, advice: Advice) -> _Object:
    x, y, names, best = found.grid.x_mm, found.grid.y_mm, found.names, advice.best
    return {
        "pulley": found.pulley,
        "bounds_mm": {"x": [float(x[0]), float(x[-1])], "y": [float(y[0]), float(y[-1])]},
        "step_mm": found.grid.step_mm,
        "rows": len(y),
        "columns": len(x),
        "counts": found.counts,
        "failing": found.failing,
        "cautioned": found.cautioned,
        "standing": list(found.judged.standing),
        "present": _place(names, found.present) | _stays_json(advice.now),
        "nearest_without_problem": _nearest(names, found.nearest(CAUTION)),
        "nearest_without_caution": _nearest(names, found.nearest(SOUND)),
        "best": None if best is None else _proof_json(names, best) | _stays_json(best),
        "may_be_off_mm": advice.needed_mm,
        "best_is_robust": advice.robust,
        "stay_because": advice.stay or None,
        "best_by_belt": [_place(names, at) for at in found.best_by_belt],
    }


def _pair_json(found: PairSearch, advice: Advice) -> _Object:
    foremost = [_proof_json(found.names, proof) for proof in found.foremost]
    return {
        "pulleys": list(found.names),
        "bounds_mm": {"x": [found.low[0], found.high[0]], "y": [found.low[1], found.high[1]]},
        "seed": SEED,
        "draws": found.draws,
        "counts": found.counts,
        "present": _place(found.names, found.present) | _stays_json(advice.now),
        "best": foremost[0] | _stays_json(advice.best) if foremost else None,
        "may_be_off_mm": advice.needed_mm,
        "best_is_robust": advice.robust,
        "foremost": foremost,
    }


def _place(names: tuple[str, ...], at: Place) -> _Object:
    return {
        "at_mm": {name: list(own) for name, own in zip(names, at.at_mm, strict=True)},
        **fields_of(at, "verdict", "belt"),
        "adjuster_position": at.position,
        **fields_of(at, "reserve_mm", "take_up_percent", "clearance_mm"),
        "strand_gap_mm": at.span_gap_mm,
        **fields_of(at, "rim_gap_mm", "slip_wet", "margin", "own_margin", "margin_of", "own_margin_of"),
    }


def _stays_json(proof: Proof | None) -> _Object:
    """How far a place stays without a problem, and without a caution: at least and at most, null where not known."""
    stays = (None, None) if proof is None else (proof.problem, proof.caution)
    return {
        f"stays_without_{way}_mm": None if own is None else [own.at_least_mm, own.at_most_mm]
        for way, own in zip(("problem", "caution"), stays, strict=True)
    }


def _nearest(names: tuple[str, ...], found: tuple[Place, float] | None) -> _Object | None:
    return None if found is None else _place(names, found[0]) | {"distance_mm": found[1]}


def _proof_json(names: tuple[str, ...], proof: Proof) -> _Object:
    findings = [finding_of(finding) for finding in proof.plan.findings]
    return _place(names, proof.place) | {"check": proof.plan.verdict, "findings": findings}

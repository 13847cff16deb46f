"""A map of places as a report and as JSON."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from beltplan.checks.gaps import MEASURED
from beltplan.checks.limits import Finding
from beltplan.drive.fit import setting_words
from beltplan.drive.layout import Layout
from beltplan.place.advice import Advice, Standing, Stays
from beltplan.place.pair import PairSearch, Proof
from beltplan.place.study import CAUTION, NO_BELT_FITS, RULE, SOUND, STATES, Place, PlaceMap
from beltplan.report.answer import (
    MadeWorse,
    findings_blocks,
    made_worse_json,
    made_worse_words,
    report_of,
    title_of,
    title_words,
)
from beltplan.report.check_json import finding_of
from beltplan.report.screen import Block, Cell, Column, Footnotes, Paragraph, Report, Table, in_units
from beltplan.report.words import SAFETY, json_text

_MOST_BELTS = 12
"""Belts that the table names; the JSON result has them all."""
_MOST_CAUSES = 4
"""What fails, named with its number of places; the rest together."""
_SCOPE = (
    "Every place is judged as `check` would judge the layout with the pulley there, by every check; a caution that no "
    "place changes marks none. How the engine shakes it is asked only of the places told here."
)
_COLUMNS = (
    f"moved: how far from the present position; clear: smallest gap, up to {MEASURED:g} times its limit; own: margin "
    "left to the tightest limit that the position changes; margin: to the tightest of all"
)
_LEAD = "         "
_ANY = "any length is judged, every whole millimetre: ask whether it is sold, and run `place` again with those that are"


@dataclass(frozen=True)
class Extra:
    """What was asked for besides a map. belts: 'stock' or 'any'; write: whether the best place was to be written;
    written: to which path, None where there was nothing to write. worse: the other layouts of its file that it harms.
    """

    belts: str = "stock"
    write: bool = False
    written: str | None = None
    worse: MadeWorse = field(default_factory=dict)

    def blocks(self) -> list[Block]:
        told = self.written or "nothing: there is no better place"
        return [
            *([Paragraph(_ANY, "BELTS    ")] if self.belts == "any" else []),
            *([Paragraph(told, "WRITTEN  ")] if self.write else []),
            *([Paragraph(made_worse_words(self.worse), "BUT      ")] if self.worse else []),
        ]


_NOTHING_MORE = Extra()


def place_report(found: PlaceMap, advice: Advice, full: bool = False, extra: Extra = _NOTHING_MORE) -> Report:
    """Where to put it, what is gained, why not elsewhere; with `full`, the best place for each belt, and the rule."""
    notes = Footnotes()
    parts: list[list[Block]] = [
        [title_of(found.layout), *_best(found, advice, full), *_now(found, advice, full)],
        [*_worth(found, advice), Paragraph(_why_not(found), "WHY NOT  "), *extra.blocks()],
        _findings(found, advice, notes),
        _without_slip(found, advice),
        *([_belts(found), _how(found, advice)] if full else []),
    ]
    return report_of(found.layout.units, parts, notes, full, _MORE)


_MORE = "more: --full (the best place for each belt, how it is chosen)"


def _best(found: PlaceMap, advice: Advice, full: bool) -> list[Block]:
    best = advice.best
    if best is None:
        return [Paragraph("none: every place on the map has a problem", "BEST     ")]
    if advice.stay:
        return [Paragraph(f"stay where you are: {advice.stay}", "BEST     "), *_unless_robust(advice, best)]
    at = f"{_at(best.proof.place)}: {_moved(found.present, best.proof.place)} where it is now"
    return [
        Paragraph(f"{found.pulley} at {at}", "BEST     "),
        Paragraph(_standing_words(best, full), _LEAD),
        *_over_marks(found, best.proof.place),
        *_unless_robust(advice, best),
    ]


def _over_marks(found: PlaceMap, at: Place) -> list[Block]:
    """The marks that the pulley comes to lie over: a bolt or a stud may stand there."""
    radius = found.layout.pulleys[found.pulley].rim_radius_mm(found.layout.belt)
    away = {mark.name: math.dist(mark.at_mm, at.at_mm[0]) for mark in found.layout.marks}
    told = [f"the mark {name}, {mm:.1f} mm from its middle" for name, mm in away.items() if mm < radius]
    words = f"it lies over {' and '.join(told)}: see that nothing stands out there"
    return [Paragraph(words, _LEAD)] if told else []


def _unless_robust(advice: Advice, best: Standing) -> list[Block]:
    """That the best place may be lost by an error of placing, where it may."""
    if advice.robust:
        return []
    words = f"it may sit {advice.needed_mm:.1f} mm off, and no place of the map is sure to stay good that far"
    words += "" if advice.stay else "; this one stays good farthest"
    most = None if best.problem is None else best.problem.at_most_mm
    finer = most is not None and most > advice.needed_mm
    return [Paragraph(words + ("; a finer --step may find one" if finer else ""), _LEAD)]


def _now(found: PlaceMap, advice: Advice, full: bool) -> list[Block]:
    at, now = _at(found.present), advice.now
    if now is not None and now.state >= CAUTION:
        return [Paragraph(f"{at}: {_standing_words(now, full)}", "NOW      ")]
    nearest, by = found.nearest(CAUTION), ""
    if STATES.index(found.present.verdict) > NO_BELT_FITS:
        failing = str(found.judged.failing[-1]) or ", ".join(found.judged.standing)
        by = f", by {failing}" if failing not in ("", found.present.margin_of) else ""
    words = f"{at}: {place_words(found.present)}{by}"
    if nearest is not None:
        words += f"; the nearest place without a problem is {_moved(found.present, nearest[0])} it"
    return [Paragraph(words, "NOW      ")]


def _standing_words(standing: Standing, full: bool) -> str:
    place = standing.proof.place
    words = _counted(standing)
    words += "" if standing.stays is None else f"; {_stays_words(standing)}"
    words += f"; {'no belt on the built-in list: ask a supplier' if place.belt is None else f'belt {place.belt}'}"
    route = standing.proof.plan.route
    if full and route.setting is not None:
        words += f", adjuster at {setting_words(route.circuit, route.setting)}"
    return words


def _counted(standing: Standing) -> str:
    cautions = standing.proof.plan.count("caution")
    return f"no problem, {cautions or 'no'} caution{'s' if cautions > 1 else ''}"


def _stays_words(standing: Standing) -> str:
    so, lost = ("stays so", "not so") if standing.caution is not None else ("stays without a problem", "a problem")
    stays = standing.stays or Stays(0.0, None)
    least, most = stays.at_least_mm, stays.at_most_mm
    if most is None or stays.map_ends:
        return f"{so} up to {least:.1f} mm off to every side, as far as the map goes"
    if least < 0.05:
        return f"{lost} at the nearest other place, {most:.1f} mm off"
    return f"{so} up to {least:.1f} mm off to every side; {lost} {most:.1f} mm off to one side"


def _worth(found: PlaceMap, advice: Advice) -> list[Block]:
    best = None if advice.best is None else advice.best.proof.place
    if best is None or best.own_margin is None or best.own_margin_of is None:
        return []
    words = f"tightest of what its place changes: {best.own_margin_of}, {_margin_words(best.own_margin)}"
    now = found.present
    if not advice.stay and now.own_margin is not None:
        of = "" if now.own_margin_of == best.own_margin_of else f"{now.own_margin_of}, "
        words += f" (now {of}{_margin_words(now.own_margin)})"
    if best.margin is not None and best.margin_of is not None and best.margin < best.own_margin:
        words += f"; tightest of what no place changes: {best.margin_of}, {_margin_words(best.margin)}"
    return [Paragraph(words, "WORTH    ")]


def _margin_words(share: float) -> str:
    return f"{100.0 * share:.0f} % inside its limit" if share >= 0.0 else f"{-100.0 * share:.0f} % short"


def _why_not(found: PlaceMap) -> str:
    """The places that are not to be had, by what stands against them."""
    counts, causes = found.counts, list(found.failing.items())
    shown = [f"{cause} {count:,}" for cause, count in causes[:_MOST_CAUSES]]
    rest = sum(count for _, count in causes[_MOST_CAUSES:])
    shown += [f"others {rest:,}"] if rest else []
    works, own, stands = counts["caution"] + counts["sound"], sum(found.failing.values()), found.judged.standing
    whose = " of their own" if found.judged.everywhere or stands else ""
    problem = f"has a problem{whose.replace('their', 'its')}" if own == 1 else f"have a problem{whose}"
    free = f"{counts['sound']:,} of them" if counts["sound"] else "but none"
    told = [
        *([f"{counts['no path']:,} have no belt path"] if counts["no path"] else []),
        *([f"{counts['no belt fits']:,} have a path that no belt on the list fits"] if counts["no belt fits"] else []),
        *([f"{own:,} {problem}, counted by the worst: {', '.join(shown)}"] if causes else []),
        f"{works:,} are good, {free} without a caution{whose}" if works else "none is good",
    ]
    only = counts["problem"] - own if stands else 0
    left = f"; {only:,} {'has' if only == 1 else 'have'} only that" if only > 0 else ""
    anyway = f". No place of it mends: {', '.join(stands)}{left}" if stands else ""
    return f"of {found.grid.count:,} places {'; '.join(told)}{anyway}"


def _findings(found: PlaceMap, advice: Advice, notes: Footnotes) -> list[Block]:
    """What is found at the best place; where there is none, what is a problem at every place."""
    if advice.best is None:
        return _stands(found.judged.everywhere, notes)
    head = "WHERE IT IS NOW" if advice.stay else _BEST
    return _found_there(advice.best.proof, found.judged.everywhere, notes, head)


def _stands(everywhere: tuple[Finding, ...], notes: Footnotes) -> list[Block]:
    problems = [finding for finding in everywhere if finding.severity == "problem"]
    return findings_blocks(problems, notes, "AT EVERY PLACE") if problems else []


_BEST = "AT THE BEST PLACE"


def _found_there(proof: Proof, everywhere: tuple[Finding, ...], notes: Footnotes, head: str = _BEST) -> list[Block]:
    """What is found at a place: what the place decides, then what stands at every place."""
    known = {(finding.check, finding.subject) for finding in everywhere}
    told = [finding for finding in proof.plan.findings if finding.severity != "note"]
    stands = [finding for finding in told if (finding.check, finding.subject) in known]
    own = [finding for finding in told if finding not in stands]
    blocks = findings_blocks(own, notes, head) if own else []
    return blocks + (findings_blocks(stands, notes, "AT EVERY PLACE") if stands else [])


def _without_slip(found: PlaceMap, advice: Advice) -> list[Block]:
    """Why slip is not on the map although there are loads."""
    if advice.best is None or all(pulley.load is None for pulley in found.layout.routed):
        return []
    reason = advice.best.proof.plan.not_judged
    return [] if reason is None else [Paragraph(f"Slip is not on this map, though loads are given: {reason}.")]


def _how(found: PlaceMap, advice: Advice) -> list[Block]:
    rule = (
        f"Best: of the places that surely stay good within {advice.needed_mm:.1f} mm to every side (two standard "
        f"deviations of the pulley's position, at least 3 mm): {RULE}. None ranks below the present place by the "
        "rule of `compare`. A gain that so much error may take away is none."
    )
    return [Paragraph(words) for words in (f"{_extent(found)}.", rule, _SCOPE)]


def map_words(found: PlaceMap, advice: Advice) -> tuple[str, ...]:
    """What stands at the head of the picture of a map, the title first, then the best."""
    words = [title_words(found.layout), f"Best: {_best_words(found, advice)}", f"Now: {_standing(found, advice)}"]
    words.append(f"Where {found.pulley} may sit: {counts_words(found.counts)}")
    return tuple(in_units(each, found.layout.units) for each in words)


def pair_words(layout: Layout, found: PairSearch, best: Proof | None) -> tuple[str, ...]:
    """What stands at the head of the picture of a pair of places, the title first, then the best."""
    told = "none: every pair drawn has a problem"
    if best is not None:
        told = f"{_pair_at(found, best.place)}: {place_words(best.place)}"
    words = [title_words(layout), f"Best: {told}"]
    words.append(f"Now: {_pair_at(found, found.present)}: {place_words(found.present)}")
    words.append(f"Where {' and '.join(found.names)} may sit together: {found.draws:,} pairs drawn")
    return tuple(in_units(each, layout.units) for each in words)


def pair_report(
    layout: Layout, found: PairSearch, proofs: tuple[Proof, ...], full: bool = False, extra: Extra = _NOTHING_MORE
) -> Report:
    """The answer of a search for two places; with `full`, the foremost pairs, all checked in full."""
    notes = Footnotes()
    if not proofs:
        best: list[Block] = [Paragraph("none: every pair drawn has a problem", "BEST     ")]
    else:
        stay = "stay where you are: " if proofs[0].place == found.present else ""
        words = f"{stay}{_pair_at(found, proofs[0].place)}: {place_words(proofs[0].place)}"
        best = [Paragraph(words, "BEST     ")]
    now = Paragraph(f"{_pair_at(found, found.present)}: {place_words(found.present)}", "NOW      ")
    drawn = f"of {sum(found.counts.values()):,} pairs tried anywhere {counts_words(found.counts)}"
    parts: list[list[Block]] = [
        [title_of(layout), *best, now, Paragraph(drawn, "WHY NOT  "), *extra.blocks()],
        _found_there(proofs[0], found.everywhere, notes) if proofs else _stands(found.everywhere, notes),
        *([_pairs(found, proofs), _pairs_how(found)] if full else []),
    ]
    return report_of(layout.units, parts, notes, full, _MORE_PAIRS)


_MORE_PAIRS = "more: --full (the next best pairs, how they are found)"


def _pairs(found: PairSearch, proofs: tuple[Proof, ...]) -> list[Block]:
    if not proofs:
        return []
    heads = [f"{name} {axis}" for name in found.names for axis in "xy"]
    columns = (*(Column(head, decimals_mm=1) for head in heads), Column("belt", left=True, drop=2), Column("own"),
               Column("margin"), Column("of", left=True, drop=1), Column("cautions"))  # fmt: skip
    rows = [
        (
            *(value for at in proof.place.at_mm for value in at),
            *(proof.place.belt, _share(proof.place.own_margin), _share(proof.place.margin), proof.place.margin_of),
            str(proof.plan.count("caution")),
        )
        for proof in proofs
    ]
    return ["The best pairs, each checked in full:", Table(columns, rows)]


def _pairs_how(found: PairSearch) -> list[Block]:
    low, high = found.low, found.high
    words = (
        f"x {low[0]:z.1f} to {high[0]:z.1f} mm, y {low[1]:z.1f} to {high[1]:z.1f} mm: {found.draws:,} pairs drawn "
        f"(seed {found.seed}), the first {sum(found.counts.values()):,} anywhere, the others ever closer round the "
        "best."
    )
    ranked = "The ten best are checked in full and ranked by the rule of `compare`."
    return [Paragraph(words), Paragraph(f"Best: {RULE}. {ranked}"), Paragraph(_SCOPE)]


def _extent(found: PlaceMap) -> str:
    x, y = found.grid.x_mm, found.grid.y_mm
    return (
        f"{found.pulley} over x {x[0]:z.1f} to {x[-1]:z.1f} mm, y {y[0]:z.1f} to {y[-1]:z.1f} mm, in steps of "
        f"{found.grid.step_mm:g} mm: {found.grid.count:,} places"
    )


def counts_words(counts: dict[str, int]) -> str:
    """How many places come to what, in words."""
    sound, works = counts["sound"], counts["sound"] + counts["caution"]
    free = f" ({f'{sound:,}' if sound else 'none'} of them without a caution)" if works else ""
    others = (
        *((counts["problem"], "with a problem"), (counts["no belt fits"], "where no belt on the list fits")),
        (counts["no path"], "without a belt path"),
    )
    good = f"{f'{works:,}' if works else 'none'} without a problem{free}"
    return ", ".join((good, *(f"{count:,} {what}" for count, what in others if count)))


def place_words(at: Place, counted: str = "") -> str:
    """What a place comes to, in words. counted: its problems and cautions, where it was checked in full."""
    if STATES.index(at.verdict) <= NO_BELT_FITS:
        return at.verdict
    verdicts = {"sound": "no problem, no caution of its own", "caution": "no problem, but a caution"}
    words = [counted or verdicts.get(at.verdict, "a problem")]
    words.append("no belt on the built-in list: ask a supplier" if at.belt is None else f"belt {at.belt}")
    if at.position is not None:
        words.append(f"adjuster at {100.0 * at.position:.0f} %")
    if at.margin is not None:
        words.append(f"tightest: {at.margin_of}, {_margin_words(at.margin)}")
    if at.margin is not None and at.own_margin is not None and at.own_margin > at.margin:
        words[-1] += f"; of what its place changes: {at.own_margin_of}, {_margin_words(at.own_margin)}"
    return ", ".join(words)


def _standing(found: PlaceMap, advice: Advice) -> str:
    present, now = found.present, advice.now
    counted = _counted(now) if now is not None and now.state >= CAUTION else ""
    words = f"{_at(present)}: {place_words(present, counted)}"
    for state, what in ((CAUTION, "a problem"), (SOUND, "a caution")):
        nearest = found.nearest(state)
        if nearest is None:
            # That all have a problem stands at the best place.
            return words if state == CAUTION else f"{words}; no place on the map is without {what}"
        if nearest[1] > 0.0:
            words += f"; the nearest place without {what} is {_moved(present, nearest[0])} it"
    return words


def _best_words(found: PlaceMap, advice: Advice) -> str:
    if advice.best is None:
        return "none: every place on the map has a problem"
    if advice.stay:
        return f"stay where it is: {advice.stay}"
    place = advice.best.proof.place
    words = f"{place_words(place, _counted(advice.best))}; {_stays_words(advice.best)}"
    return f"{_at(place)}: {_moved(found.present, place)} where it is now: {words}"


def _belts(found: PlaceMap) -> list[Block]:
    every = found.best_by_belt
    if not every:
        return []
    shown = every[:_MOST_BELTS]
    columns = (
        *(Column("belt", left=True), Column("x", decimals_mm=1), Column("y", decimals_mm=1)),
        *(Column("moved", drop=1, decimals_mm=1), Column("adjuster", drop=2), Column("reserve", drop=3, decimals_mm=1)),
        *(Column("clear", drop=4, decimals_mm=1), Column("own"), Column("margin"), Column("of", left=True, drop=5)),
    )
    more = len(every) - len(shown)
    return [
        "The best place for each belt, best first:",
        Table(columns, [_row(found, at) for at in shown]),
        *([f"and {more} more belts: --json has them all"] if more else []),
        Paragraph(_COLUMNS),
    ]


def _row(found: PlaceMap, at: Place) -> list[Cell]:
    x, y = at.at_mm[0]
    return [
        *(at.belt, x, y, distance_mm(found.present, at)),
        None if at.position is None else f"{100.0 * at.position:.0f} %",
        *(at.reserve_mm, at.clearance_mm, _share(at.own_margin), _share(at.margin), at.margin_of),
    ]


def _share(share: float | None) -> str | None:
    return None if share is None else f"{100.0 * share:.0f} %"


def _at(at: Place) -> str:
    x, y = at.at_mm[0]
    return f"x {x:z.1f}, y {y:z.1f} mm"


def _pair_at(found: PairSearch, at: Place) -> str:
    return ", ".join(f"{name} x {x:z.1f}, y {y:z.1f} mm" for name, (x, y) in zip(found.names, at.at_mm, strict=True))


def distance_mm(first: Place, second: Place) -> float:
    """How far a pulley is moved from one place to another."""
    return math.dist(first.at_mm[0], second.at_mm[0])


_WAYS = ("right of", "up and right of", "above", "up and left of", "left of", "down and left of", "below",
         "down and right of")  # fmt: skip


def _moved(first: Place, second: Place) -> str:
    """How far a place is from another one, and which way: 67.0 mm up and left of."""
    (x0, y0), (x1, y1) = first.at_mm[0], second.at_mm[0]
    way = _WAYS[round(math.degrees(math.atan2(y1 - y0, x1 - x0)) / 45.0) % len(_WAYS)]
    return f"{math.dist((x0, y0), (x1, y1)):.1f} mm {way}"


# A map of places as JSON: fixed keys, unknown values null, every number finite; mm, %, shares of a limit.

_Object = dict[str, Any]


def place_json(found: PlaceMap, advice: Advice, extra: Extra = _NOTHING_MORE) -> str:
    """The result of a map as one JSON object in plain ASCII."""
    x, y, names, best = found.grid.x_mm, found.grid.y_mm, (found.pulley,), advice.best
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
            "failing": found.failing,
            "standing": list(found.judged.standing),
            "present": _place(names, found.present) | _stays_json(advice.now),
            "nearest_without_problem": _nearest(names, found.nearest(CAUTION)),
            "nearest_without_caution": _nearest(names, found.nearest(SOUND)),
            "best": None if best is None else _proof_json(names, best.proof) | _stays_json(best),
            "may_be_off_mm": advice.needed_mm,
            "best_is_robust": advice.robust,
            "stay_because": advice.stay or None,
            "best_by_belt": [_place(names, at) for at in found.best_by_belt],
            "everywhere": [finding_of(finding) for finding in found.judged.everywhere],
            **_words(extra),
        }
    )


def pair_json(title: str, variant: str | None, found: PairSearch, proofs: tuple[Proof, ...], extra: Extra) -> str:
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
            "best": _proof_json(found.names, proofs[0]) if proofs else None,
            "foremost": [_proof_json(found.names, proof) for proof in proofs],
            "everywhere": [finding_of(finding) for finding in found.everywhere],
            **_words(extra),
        }
    )


def _words(extra: Extra) -> _Object:
    told = {"belts": extra.belts, "written": extra.written, "made_worse": made_worse_json(extra.worse)}
    return told | {"rule": RULE, "gaps_measured_to_times_limit": MEASURED, "caution": SAFETY}


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
        "own_margin_of": at.own_margin_of,
    }


def _stays_json(standing: Standing | None) -> _Object:
    """How far a place stays without a problem, and without a caution: at least and at most, null where not known."""
    ways = ("problem", "caution")
    stays = {way: None if standing is None else getattr(standing, way) for way in ways}
    return {
        f"stays_without_{way}_mm": None if own is None else [own.at_least_mm, own.at_most_mm]
        for way, own in stays.items()
    }


def _nearest(names: tuple[str, ...], found: tuple[Place, float] | None) -> _Object | None:
    return None if found is None else _place(names, found[0]) | {"distance_mm": found[1]}


def _proof_json(names: tuple[str, ...], proof: Proof) -> _Object:
    return _place(names, proof.place) | {
        "check": proof.plan.verdict,
        "findings": [finding_of(finding) for finding in proof.plan.findings],
    }

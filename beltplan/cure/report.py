"""The cures of a layout as text and as JSON, before and after."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from beltplan.checks.comparison import Column, Comparison, value_words
from beltplan.checks.every_check import CALLED, SHAKEN
from beltplan.checks.limits import SEVERITIES, Finding, all_of, begun, problems_of
from beltplan.checks.plan import Plan, counted
from beltplan.checks.slip import SLIP, SLIP_ON_REVS, condition_words, used_words
from beltplan.cure.changes import MEANINGS, words_of
from beltplan.cure.kinds import Remedy, at_slip, cautions_of, leaves_margin, low_use, together
from beltplan.cure.moves import SIZES_MM, SIZES_SOURCE
from beltplan.cure.study import MOST_TOGETHER, RULE, Cures
from beltplan.cure.trials import SLIPS, Trial, issue_of, issues_in, issues_of
from beltplan.drive.belt import with_article
from beltplan.drive.layout import Layout
from beltplan.drive.operation import WANTED_USE
from beltplan.report.answer import (
    MORE,
    NOTHING_WRITTEN,
    Answers,
    Written,
    answered,
    findings_blocks,
    first_blocks,
    made_worse_json,
    newly_covered,
    report_of,
    title_of,
    written_answers,
)
from beltplan.report.check_json import finding_of, highest_utilisation_of
from beltplan.report.rows import COUNTS, RESERVE, UNKNOWN, Kind, SideBySide, plain_rows
from beltplan.report.screen import Block, Columns, Footnotes, Paragraph, Report, Table, in_units, tape_words
from beltplan.report.screen import Column as Head
from beltplan.report.words import SAFETY, fields_of, json_text


def concerned(cures: Cures) -> tuple[str, ...]:
    """Pulleys on the belt that the findings to be cured are about."""
    names = {part for finding in cures.wanted for part in (finding.subject, *finding.parts)}
    return tuple(name for name in cures.layout.route if name in names)


def _wraps_of(plan: Plan) -> dict[str, tuple[float | None, float | None]]:
    """Wrap and minimum by pulley, neither known of one that is not on the belt."""
    return defaultdict(lambda: (None, None), {row.name: (row.wrap_deg, row.minimum_deg) for row in plan.pulleys})


def _table(cures: Cures, plans: Sequence[Plan]) -> Columns:
    made = Kind("new", "  of them new", lambda plan: len(cautions_of(cures.before.findings, plan.findings).made))
    new = (made,) * any(map(made.of, plans))
    wraps = [_wrap_kind(cures, name) for name in concerned(cures)]
    rows = plain_rows((*COUNTS[:2], *new, *wraps, *_GRIP, _BELT, RESERVE), plans, cures.layout.units)
    told = tuple((row.label, row.cells) for row in rows if set(row.cells) != {UNKNOWN})
    return Columns(("before", "after")[: len(plans)], told)


def _wrap_kind(cures: Cures, name: str) -> Kind:
    _, bound = _wraps_of(cures.before)[name]
    wanted = "" if bound is None else f", min {bound:g}"
    return Kind(f"wrap of {name}", f"wrap of {name}, deg{wanted}", lambda plan: _wraps_of(plan)[name][0], 1)


def _grips(plan: Plan) -> str | None:
    point = plan.wettest
    return None if point is None else f"{point.pulley}{'' if point.when == 'steady' else ', revving'}"


_GRIP = (
    Kind("wet", "grip used, wet", lambda plan: None if plan.wettest is None else used_words(plan.wettest.utilisation)),
    Kind("wet_at", "  at", _grips),
)
_BELT = Kind("belt", "belt", lambda plan: plan.route.designation)


def side_by_side(cures: Cures) -> SideBySide:
    columns, after = [Column("before", cures.layout, cures.before)], cures.best or cures.nearest
    if after is not None:
        columns.append(Column("after", after.trial.layout, after.plan))
    # Numbered as they follow each other, not ranked.
    which = tuple(range(len(columns)))
    comparison = Comparison(tuple(columns), which, tuple(i + 1 for i in which))
    plans = [cures.before] if after is None else [cures.before, after.plan]
    answer = answer_of(cures)
    verdicts = tuple(plan.verdict for plan in plans)
    lead = "Nearest" if cures.best is None else "Could" if cures.healthy else "Do"
    names = ("before", "the nearest, not a cure" if cures.best is None else "after")[: len(columns)]
    to_do = "" if after is None else f"{lead}: {in_units(_what_to_do(cures, after), cures.layout.units)}."
    return SideBySide(comparison, names, verdicts, _table(cures, plans), begun(answer), "", to_do)


def answer_of(cures: Cures) -> str:
    return "".join(_lead_and_rest(cures))


def _lead_and_rest(cures: Cures) -> tuple[str, str]:
    """The answer: its first words, that the text tells in capitals, and the rest."""
    if not cures.wanted:
        return "nothing to cure", f": it {cures.before.verdict}"
    if cures.healthy:
        return "leave it", f": there is no problem to cure; {_taken_away(cures)}"
    if cures.best is not None:
        return "cured", f" by {_how(cures.best.trial)}, with {left_words(cures.unchanged, cures.best.trial)}"
    left, left_over = "every change tried leaves at least as many problems", cures.before.findings
    if cures.nearest is not None:
        before, left_over = cures.before.count("problem"), cures.nearest.trial.findings
        left = f"the nearest leaves {counted(cures.nearest.trial.findings, 'problem')} instead of {before}"
    if any(each.check in SHAKEN for each in problems_of(left_over)):
        left += "; what else calms the drive: `beltplan vibration`"
    return "no small change", f" that was tried cures it; {left}"


def _how(trial: Trial) -> str:
    many = {1: "one change", 2: "two changes", 3: "three changes"}[together(trial.changes)]
    return many + " and another belt" * (len(trial.changes) > together(trial.changes))


def _taken_away(cures: Cures) -> str:
    every, count = counted(cures.wanted, "caution"), len(cures.wanted)
    if cures.best is None:
        worse = " and makes none worse" if cures.almost else ""
        less = "takes its caution away" if count == 1 else f"leaves fewer than {every}"
        return f"no small change that was tried {less}{worse}"
    cautions = cautions_of(cures.before.findings, cures.best.trial.findings)
    all_gone = {1: "its caution", 2: "both cautions"}.get(count, f"all {every}")
    taken = f"{count - len(cautions.left)} of {every}" if cautions.left else all_gone
    new = f" and make {len(cautions.made)} new" if cautions.made else ""
    return f"{_how(cures.best.trial)} would take away {taken}{new}"


def left_words(before: Trial, trial: Trial, named: bool = False) -> str:
    """The cautions that a change leaves, makes and makes worse, and which are left of a problem, in one breath.

    named: whether the new ones are told by name.
    """
    cautions = cautions_of(before.findings, trial.findings)
    every, (problems, was), worse = (*cautions.left, *cautions.made), before.counts, trial.worse(before)
    told = counted(every, "caution") or "no caution"
    if cautions.made and named:
        told += f", new: {_all_named(cautions.made, trial)}"
    elif cautions.made:
        told += f"{f' instead of {was}' * (len(every) > was)}, {len(cautions.made)} of them new"
    else:
        told += " left"
    told += _worse_words(worse, trial) if named else ""
    edge = cautions.edge if problems else ()
    still = f"; now a caution: {_all_named(edge, trial)}" if edge else ""
    near = [each for each in at_slip(trial).items() if (SLIP.name, each[0]) not in issues_of(edge)]
    slip = f"; just under slipping: {', '.join(f'{name} {used_words(used)} wet' for name, used in near)}"
    return told + (slip if near else "") + still


def _worse_words(worse: Mapping[Finding, Finding], trial: Trial) -> str:
    each = (
        f"{_named(now, trial, numbered=True)}{_number(now)} ({_before_words(now, was)})" for now, was in worse.items()
    )
    return f"; worse: {', '.join(each)}" if worse else ""


def _before_words(now: Finding, was: Finding) -> str:
    """What a caution that is worse was before, or that only its time is worse."""
    return f"before:{_number(was)}" if _number(now) != _number(was) else "sooner than before"


def _number(finding: Finding) -> str:
    return "" if finding.value is None else f" {value_words(finding.value)} {finding.unit}"


def _all_named(findings: Sequence[Finding], trial: Trial) -> str:
    return ", ".join(dict.fromkeys(_named(finding, trial) for finding in findings))


def _named(finding: Finding, trial: Trial, numbered: bool = False) -> str:
    """A finding in a few words; of slip, how near it comes in the wet, or where else it is a caution.

    numbered: whether its own number follows, beside which that of the wet would be a second one of the same slip.
    """
    words = f"{CALLED[issue_of(finding)[0]]} of {finding.subject}"
    if _holds_wet(finding, trial) or (numbered and finding.low):
        return f"{words} ({condition_words('design') if finding.condition == 'design' else _LOWEST})"
    revving = " and revving" if finding.check == SLIP_ON_REVS.name else ""
    return f"{words} ({_grip(trial, finding)} wet{revving})" if finding.check in SLIPS and not numbered else words


_LOWEST = "at the lowest tension"


def _holds_wet(finding: Finding, trial: Trial) -> bool:
    """Whether what makes a slip a caution is something else than the wet at the tension that is set."""
    return finding.check in SLIPS and trial.wet_utilisation.get(finding.subject, 1.0) < WANTED_USE


def _grip(trial: Trial, finding: Finding) -> str:
    utilisation = trial.wet_utilisation.get(finding.subject)
    return UNKNOWN if utilisation is None else used_words(utilisation)


def cure_words(cures: Cures, trial: Trial) -> str:
    belt = _with_belt(trial, cures.before.route.designation)
    placed = _names_words(trial.layout, cures.layout) + _placing_words(trial, cures.layout)
    return f"{_words(cures, trial, beside=True)}{belt}{placed}: {left_words(cures.unchanged, trial, named=True)}"


def _words(cures: Cures, trial: Trial, beside: bool = False) -> str:
    """The changes, and the marks that they put a pulley over: of these no check knows whether they may be covered.

    beside: only what is other in them than in the best, where they share some.
    """
    over = [f"{name} then covers mark {mark}" for name, mark in newly_covered(cures.layout, trial.layout)]
    best = cures.best.trial.changes if beside and cures.best else ()
    own = [change for change in trial.changes if change not in best]
    gone = [which for which, change in zip(_ORDINALS, best, strict=False) if change not in trial.changes]
    shared = own and len(own) < len(trial.changes)
    then = f"but in place of its {all_of(gone)} change: " if gone else "and "
    lead = f"as {_LEADS[cures.healthy]}, {then}" if shared else ""
    return "; ".join((lead + words_of(own if shared else trial.changes), *over))


_ORDINALS = ("first", "second", "third", "fourth")
_LEADS = ("DO", "COULD")


def _with_belt(trial: Trial, other: str | None) -> str:
    if trial.belt is None or trial.belt == other or any(change.family == "belt" for change in trial.changes):
        return ""
    return f", with {with_article(trial.belt)}"


def _ample_words(cures: Cures, remedy: Remedy) -> str | None:
    """Which of the same kind leaves margin, or goes farthest toward it; None where that is the best."""
    if remedy.ample is None:
        return None
    ample = leaves_margin(remedy.ample, cures.before.findings)
    most = "with margin" if ample else "with more margin, though a caution stays"
    return f"{most}: {cure_words(cures, remedy.ample)}"


def as_well_words(cures: Cures) -> list[str]:
    """What goes with the best cure against a caution of it, the belt where that changes, and what is left then."""
    best = cures.best
    if best is None:
        return []
    return [
        f"against {_named(finding, best.trial)}: "
        f"{words_of([change for change in trial.changes if change not in best.trial.changes])}"
        f"{_with_belt(trial, best.trial.belt)}{_placing_words(trial, best.trial.layout)}: "
        f"{_grip_then(trial, finding, finding.low and _holds_wet(finding, best.trial))}"
        f"{left_words(best.trial, trial, named=True)}"
        for finding, trial in cures.as_well
    ]


def _grip_then(trial: Trial, finding: Finding, low: bool) -> str:
    """How much grip a pulley that slips uses after a change, at the tension that the finding is told of."""
    if not low:
        return f"{_grip(trial, finding)} wet then; " if finding.check in SLIPS else ""
    used = low_use(trial, finding, finding.subject)
    return f"{used_words(used)} wet then, {_LOWEST}; " if used < math.inf else ""


# The cures of a layout as text: the answer first, then before and after, other cures, and what was tried.

_LEAD = "         "
_HUNG = f"{_LEAD}  "


def cure_report(cures: Cures, written: Written = NOTHING_WRITTEN, full: bool = False) -> Report:
    """The answer first; with `full`, what was to be cured, more of the kind of each cure, and what was tried."""
    notes, shown, nearest = Footnotes(), cures.best or cures.nearest, cures.nearest
    table = _table(cures, [cures.before, *([] if shown is None else [shown.plan])])
    known = issues_of(cures.before.findings, "problem")
    left = problems_of(nearest.plan.findings) if nearest else []
    left = [replace(f, wrong=f.wrong + "; no problem before" * (not issues_in(f) & known)) for f in left]
    lead, *answer = _answer(cures, written)
    besides = answered([*_not_tried(cures), *written_answers(written)])
    parts: list[Sequence[Block]] = [
        [title_of(cures.layout), lead, *first_blocks(cures.asked, notes), *answer, *besides],
        [] if shown is None else [replace(table, rows=tuple(row for row in table.rows if row[0] != "belt"))],
        findings_blocks(left, notes, "LEFT     the problems that it leaves") if left else [],
        _before(cures, notes, full),
        _others(cures, full),
        *(_tried(cures) if full and cures.wanted else []),
    ]
    more = MORE if cures.smallest is None else f"{MORE}; the smallest first: --smallest"
    return report_of(cures.layout.units, parts, notes, full, more)


def _not_tried(cures: Cures) -> Answers:
    """What is left out, so that nobody takes it for a whole search, and which key lets more be tried."""
    layout, missed = cures.layout, list[str]()
    if cures.wanted and cures.best is None and not _movable(layout):
        missed.append(f"{_NONE_MOVED}: give `movable_mm` to one that can be moved")
    if cures.wanted and layout.belt.back_mm is None:
        missed.append("no idler was tried on the belt's back: give `back_over_rim_mm` of the belt, measured")
    if cures.share < 1.0:
        looked_at, judged = (sum(getattr(tried, what) for tried in cures.tried) for what in ("looked_at", "judged"))
        words = f"of {looked_at} changes and pairs looked at, {judged} were judged by every check, the most promising"
        why = f"judging all takes too long with {len(layout.route)} pulleys"
        missed.append(f"{words}: {why}. Of idlers the largest size alone was tried")
    elif cures.wanted and not cures.healthy and cures.best is None:
        missed.append("an idler that fits only in a place narrower than a twentieth of its span may be missed")
    return [("" if i else "NOT ALL", words) for i, words in enumerate(missed)]


_NONE_MOVED = "no pulley is `movable_mm`, so none was moved"


def _movable(layout: Layout) -> bool:
    return any(pulley.movable_mm for pulley in layout.pulleys.values())


def _almost(cures: Cures, trial: Trial) -> Answers:
    """What comes nearest where nothing leaves less, and at what price: what stays a problem, what is new or worse."""
    if cures.healthy:
        return [("NEAREST", cure_words(cures, trial))]
    was = {issue_of(each): each for each in problems_of(cures.before.findings)}
    stay = sorted(problems_of(trial.findings), key=lambda each: each.margin)
    more = f"; and {len(stay) - _FEW} more" * (len(stay) > _FEW)
    left = "; ".join(
        each.about + (f" (before:{_number(old)})" if (old := was.get(issue_of(each))) else " (no problem before)")
        for each in stay[:_FEW]
    )
    made = cautions_of(cures.before.findings, trial.findings).made
    new = f"; new: {_all_named(made, trial)}" if made else ""
    price = left + more + new + _worse_words(trial.worse(cures.unchanged), trial)
    return [("NEAREST", _words(cures, trial) + _with_belt(trial, cures.before.route.designation)), ("BUT", price)]


_FEW = 2


def _nearest(cures: Cures, nearest: Remedy, written: Written) -> Answers:
    """What comes nearest to a cure; where no more changes go together, what to type to go on from there."""
    told = [("NEAREST", _what_to_do(cures, nearest))]
    if together(nearest.trial.changes) < MOST_TOGETHER:
        return told
    first = "" if written.path else "write it (`--write FILE`); then "
    return [*told, ("NEXT", f"{first}`beltplan cure {written.asked or 'FILE'}` looks for more changes beside these")]


def _answer(cures: Cures, written: Written) -> list[Paragraph]:
    lead, rest = _lead_and_rest(cures)
    blocks = [Paragraph(lead.upper() + rest, rest=_LEAD)]
    if cures.best is None:
        nearest = _nearest(cures, cures.nearest, written) if cures.nearest else []
        return blocks + answered(_almost(cures, cures.almost) if cures.almost else nearest)
    cautions, as_well = cautions_of(cures.before.findings, cures.best.trial.findings), as_well_words(cures)
    blocks += answered([(_LEADS[cures.healthy], _what_to_do(cures, cures.best))])
    left = [each for each in cautions.left if not each.asks_first]
    worse = cures.best.trial.worse(cures.unchanged)
    beside = {now: f" ({_before_words(now, was)})" for now, was in worse.items()}
    beside |= dict.fromkeys(() if cures.healthy else cautions.edge, " (was a problem)")
    blocks += _cautions_listed("LEFT     ", left, beside) + _cautions_listed("NEW      ", cautions.made, {})
    others = [("SAFER", _ample_words(cures, cures.best))]
    others += [("" if i else "AS WELL", words) for i, words in enumerate(as_well)]
    others += [("SMALLEST", cure_words(cures, cures.smallest) if cures.smallest else None)]
    return blocks + answered([(lead, words) for lead, words in others if words])


def _names_words(layout: Layout, before: Layout) -> str:
    """Which of several added idlers has which name in the file that is written."""
    names = [name for name in layout.pulleys if name not in before.pulleys]
    told = [f"the {which} idler is {name}" for which, name in zip(_ORDINALS, names, strict=False)]
    return f"; {all_of(told)}" if len(names) > 1 else ""


def _placing_words(trial: Trial, before: Layout, why: bool = False) -> str:
    """How exactly an added pulley is to be placed that may come to sit so far off that something falls short."""
    added = (name for *_, name in trial.placed() if name not in before.pulleys)
    near = ((name, room) for name in added if (room := trial.room(name)) is not None)
    told = ((name, room if why else room._replace(why="")) for name, room in near)
    return "".join(f"; place {name} {room.words(before.units)}" for name, room in told)


def _cautions_listed(lead: str, cautions: Sequence[Finding], beside: Mapping[Finding, str]) -> list[Paragraph]:
    """Each caution, its further lines hung in, and what it was; what to do about it `check` tells."""
    told = [f"{each.about}{beside.get(each, '')}" for each in cautions]
    return [Paragraph(words, _LEAD if i else lead, _HUNG) for i, words in enumerate(told)]


def _what_to_do(cures: Cures, remedy: Remedy) -> str:
    was, now = cures.before.route.designation, remedy.plan.route.designation
    words = _words(cures, remedy.trial) + _names_words(remedy.plan.layout, cures.layout)
    words += _placing_words(remedy.trial, cures.layout, why=True)
    if now is None or any(change.family == "belt" for change in remedy.trial.changes):
        return words
    instead = "" if was is None else f" instead of {was}"
    return f"{words}; {f'the belt stays {now}' if now == was else f'buy {now}{instead}'}"


def _before(cures: Cures, notes: Footnotes, full: bool) -> list[Block]:
    """What was to be cured; told without `full` where problems stay that no change is of use for."""
    if not cures.wanted or (not full and (cures.healthy or cures.best or cures.nearest)):
        return []
    what = "the cautions; there is no problem" if cures.healthy else "the problems to be cured"
    return findings_blocks(cures.wanted, notes, f"BEFORE   {what}")


def _others(cures: Cures, full: bool) -> list[Block]:
    """The cures after the best and the smallest, in a sentence each; with `full`, all, and those of their kinds."""
    numbered = list(enumerate(cures.listed, start=1))[1:]
    others = [(i, each) for i, each in numbered if full or each.trial is not cures.smallest]
    if not others:
        return []
    above = [f"1 is {_LEADS[cures.healthy]}", *(f"{i} is SMALLEST" for i, each in numbered if (i, each) not in others)]
    more = f", the first {len(cures.listed)} of {cures.found}" if cures.found > len(cures.listed) else ""
    blocks: list[Block] = [f"OTHER {'CHANGES' if cures.healthy else 'CURES'}, the best first ({all_of(above)}){more}"]
    for i, remedy in others:
        blocks.append(Paragraph(cure_words(cures, remedy.trial), f"{i:2} "))
        smallest = f"smallest: {cure_words(cures, remedy.smallest)}" if remedy.smallest else None
        kind = (smallest, _ample_words(cures, remedy)) if full else ()
        blocks += [Paragraph(words, "   ") for words in kind if words]
    return blocks


def _tried(cures: Cures) -> list[list[Block]]:
    rows = [(_TRIED[each.what], *map(str, (each.looked_at, each.judged, each.cured))) for each in cures.tried]
    said = ["judged: by all the checks that `beltplan check` makes"]
    if cures.best and not _movable(cures.layout):
        said.insert(0, _NONE_MOVED)
    if not cures.layout.idler_sizes_mm:
        units = cures.layout.units
        said.insert(0, f"{SIZES_SOURCE}: {', '.join(tape_words(size, units == 'in') for size in SIZES_MM[units])}")
    heads = (Head("TRIED", left=True), Head("looked at"), Head("judged"), Head("cures"))
    return [[Table(heads, rows), *map(Paragraph, said)], [Paragraph(f"Order: {RULE}.")]]


_TRIED = {**MEANINGS, "pair": "two of these together", "more": "one change more, to the best"}


# The cures of a layout as JSON: fixed keys, unknown values null, every number finite.

_Object = dict[str, Any]
_WRAP = ("pulley", "wrap_deg", "least_deg")


def cure_json(cures: Cures, file: str, written: Written = NOTHING_WRITTEN) -> str:
    """The whole answer as one JSON object in plain ASCII. file: of the layout."""
    names = concerned(cures)
    return json_text(
        {
            "file": file,
            **fields_of(cures.layout, "title", "variant"),
            "answer": answer_of(cures),
            "asked_first": [finding_of(each) for each in cures.asked],
            "healthy": cures.healthy,
            "cured": cures.best is not None and not cures.healthy,
            "before": _state(cures.before, names),
            "cures": [_remedy_json(cures, remedy, names) for remedy in cures.listed],
            "found": cures.found,
            "smallest": cures.smallest and _trial(cures, cures.smallest),
            "as_well": [{"against": _issue(finding), **_trial(cures, trial)} for finding, trial in cures.as_well],
            "nearest": cures.nearest and _remedy_json(cures, cures.nearest, names),
            "almost": cures.almost and _trial(cures, cures.almost),
            "tried": [fields_of(tried, "what", "looked_at", "judged", "cured") for tried in cures.tried],
            "rule": RULE,
            "written": written.path,
            "made_worse": made_worse_json(written),
            "caution": SAFETY,
        }
    )


def _remedy_json(cures: Cures, remedy: Remedy, names: tuple[str, ...]) -> _Object:
    others = {"smallest": remedy.smallest, "with_margin": remedy.ample}
    told = {name: trial and _trial(cures, trial) for name, trial in others.items()}
    return _trial(cures, remedy.trial, _state(remedy.plan, names)) | told


def _trial(cures: Cures, trial: Trial, state: _Object | None = None) -> _Object:
    return {
        "changes": [fields_of(change, "family", "target", "size", "words") for change in trial.changes],
        **(state or {"counts": dict(zip(SEVERITIES, trial.counts, strict=False)), "belt": trial.belt}),
        **_cautions_json(cures, trial),
        "leaves_margin": leaves_margin(trial, cures.before.findings),
    }


def _cautions_json(cures: Cures, trial: Trial) -> _Object:
    """still: those left of what was to be cured."""
    cautions = cautions_of(cures.before.findings, trial.findings)
    found = {"left": cautions.left, "made": cautions.made, "still": cautions.edge}
    told: _Object = {f"cautions_{what}": [_issue(finding) for finding in some] for what, some in found.items()}
    worse = trial.worse(cures.unchanged).items()
    told["cautions_worse"] = [
        {**_issue(now), **fields_of(now, "value", "unit"), "before": was.value} for now, was in worse
    ]
    covered = newly_covered(cures.layout, trial.layout)
    return told | {"covers": [{"pulley": pulley, "mark": mark} for pulley, mark in covered]}


def _issue(finding: Finding) -> _Object:
    return fields_of(finding, "check", "subject")


def _state(plan: Plan, names: tuple[str, ...]) -> _Object:
    return {
        "verdict": plan.verdict,
        "counts": {severity: plan.count(severity) for severity in SEVERITIES},
        "belt": plan.route.designation,
        "reserve_mm": RESERVE.of(plan),
        "wraps": [dict(zip(_WRAP, (name, *_wraps_of(plan)[name]), strict=True)) for name in names],
        "slip_wet": highest_utilisation_of(plan, plan.wettest),
        "findings": [finding_of(finding) for finding in plan.findings],
    }

"""The cures of a layout as text and as JSON, before and after."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from beltplan.checks.limits import SEVERITIES, Finding
from beltplan.checks.plan import Plan
from beltplan.checks.tension import SLIP_ON_REVS
from beltplan.cure.changes import MEANINGS, Change, words_of
from beltplan.cure.moves import SIZES_MM, SIZES_SOURCE
from beltplan.cure.study import RULE, SLIPS, Cautions, Cures, Remedy, Trial, Tried, cautions_of, issue_of
from beltplan.drive.belt import with_article
from beltplan.report.check_json import finding_of, highest_utilisation_of
from beltplan.report.findings_text import findings_lines
from beltplan.report.rows import SLACK, UNKNOWN, smallest_reserve_mm
from beltplan.report.words import SAFETY, json_text, paragraph, table


@dataclass(frozen=True)
class _ConcernedWrap:
    """The wrap of a pulley that is to be cured; None where it has no least, or is not on the belt."""

    pulley: str
    wrap_deg: float | None
    minimum_deg: float | None


def concerned(cures: Cures) -> tuple[str, ...]:
    """Pulleys on the belt that the findings to be cured are about."""
    names = {part for finding in cures.wanted for part in (finding.subject, *finding.parts)}
    return tuple(name for name in cures.layout.route if name in names)


def wrap_of(judged: Plan, name: str) -> _ConcernedWrap:
    """The wrap of a pulley of that name."""
    row = next((row for row in judged.pulleys if row.name == name), None)
    return _ConcernedWrap(name, None, None) if row is None else _ConcernedWrap(name, row.wrap_deg, row.minimum_deg)


def cure_rows(cures: Cures, after: Plan) -> tuple[tuple[str, str, str], ...]:
    """Rows of label, before and after."""
    both = (cures.before, after)
    rows = [
        ("problems", *(str(judged.count("problem")) for judged in both)),
        ("cautions", str(cures.before.count("caution")), _cautions_after(cures, after)),
    ]
    rows += [_wrap_row(name, both) for name in concerned(cures)]
    rows += [
        ("worst slip use, wet", *(_slip(judged) for judged in both)),
        ("belt", *(judged.route.designation or UNKNOWN for judged in both)),
        ("smallest reserve, mm", *(_number(smallest_reserve_mm(judged), 1) for judged in both)),
    ]
    return tuple((label, first, second) for label, first, second in rows)


def _cautions_after(cures: Cures, after: Plan) -> str:
    made = len(cautions_of(cures.before.findings, after.findings).made)
    return f"{after.count('caution')}{f', {made} new' if made else ''}"


def _wrap_row(name: str, both: tuple[Plan, Plan]) -> tuple[str, str, str]:
    first, second = (wrap_of(judged, name) for judged in both)
    wanted = "" if first.minimum_deg is None else f", {first.minimum_deg:g} wanted"
    return f"wrap of {name}, deg{wanted}", _number(first.wrap_deg, 1), _number(second.wrap_deg, 1)


def _slip(judged: Plan) -> str:
    point = judged.wettest
    if point is None:
        return UNKNOWN
    return f"{_number(point.utilisation, 2)} {point.pulley}{'' if point.when == 'steady' else ', revving'}"


def _number(value: float | None, digits: int) -> str:
    if value is None:
        return UNKNOWN
    return f"{round(value, digits) + 0.0:.{digits}f}" if math.isfinite(value) else SLACK


def answer_of(cures: Cures) -> str:
    """The answer in a sentence."""
    if cures.clean:
        return f"nothing to cure: it {cures.before.verdict}"
    if cures.healthy:
        return f"no problem to cure; {_taken_away(cures)}"
    if cures.best is not None:
        return f"cured by {_how(cures.best.trial)}, with {left_words(cures, cures.best.trial)}"
    left = "every change tried leaves at least as many problems"
    if cures.nearest is not None:
        left = f"the nearest leaves {cures.nearest.judged.count('problem')} of {cures.before.count('problem')} problems"
    return f"no small change that was tried cures it, alone or in pairs; {left}"


def _how(trial: Trial) -> str:
    return {1: "one change", 2: "two changes"}.get(len(trial.changes), f"{len(trial.changes)} changes")


def _taken_away(cures: Cures) -> str:
    """What the best change does to cautions, where there is no problem."""
    count = cures.before.count("caution")
    if cures.best is None:
        return f"no small change that was tried, alone or in pairs, leaves fewer than {_cautions(count)}"
    cautions = cures.cautions(cures.best.trial)
    gone = count - len(cautions.left)
    taken = (
        f"{gone} of {_cautions(count)}" if cautions.left else "its caution" if count == 1 else f"all {count} cautions"
    )
    made = f" and makes {len(cautions.made)}" if cautions.made else ""
    return f"{_how(cures.best.trial)} takes away {taken}{made}"


def left_words(cures: Cures, trial: Trial) -> str:
    """The cautions that a cure leaves and makes, and which of them are left of a problem, in one breath."""
    cautions = cures.cautions(trial)
    counted = [
        f"{_cautions(len(some))} {deed}" for some, deed in ((cautions.left, "left"), (cautions.made, "made")) if some
    ]
    edge = () if cures.healthy else dict.fromkeys(_named(finding, trial) for finding in cautions.edge)
    still = f"; still a caution: {', '.join(edge)}" if edge else ""
    return (" and ".join(counted) or "no caution left") + still


def _cautions(count: int) -> str:
    return f"{count} caution{'' if count == 1 else 's'}"


def _named(finding: Finding, trial: Trial) -> str:
    """A finding in a few words; of slip, how near it comes in the wet."""
    words = f"{issue_of(finding)[0].replace('_', ' ')} of {finding.subject}"
    revving = ", revving" if finding.check == SLIP_ON_REVS.name else ""
    used = f" ({_number(trial.wet_utilisation.get(finding.subject), 2)} wet{revving})"
    return words + used if finding.check in SLIPS else words


def cure_words(cures: Cures, trial: Trial) -> str:
    """Another cure in a sentence: what is to be done, the belt where it changes, and the cautions."""
    belt = _with_belt(trial, cures.before.route.designation)
    return f"{words_of(trial.changes)}{belt}: {left_words(cures, trial)}"


def _with_belt(trial: Trial, other: str | None) -> str:
    """The belt of a trial, where it is not that other one."""
    return "" if trial.belt in (None, other) else f", with {with_article(trial.belt)}"


def _margin_words(cures: Cures) -> str | None:
    """Which of the same kind as the best leaves margin; None where the best does, or where there is no cure."""
    if cures.best is None or cures.best.kind is None or cures.best.kind.margin:
        return None
    ample = cures.best.kind.ample
    if ample is None:
        return "none of the same kind leaves more"
    most = "" if cures.leaves_margin(ample) else f"{_ample_words(cures, ample)}: "
    return f"{most}{cure_words(cures, ample)}"


def _ample_words(cures: Cures, ample: Trial) -> str:
    """Whether the one of its kind that goes farthest leaves margin."""
    return "with margin" if cures.leaves_margin(ample) else "the most of this kind, not enough"


def as_well_words(cures: Cures) -> tuple[str, ...]:
    """What goes with the best cure against a caution of it, the belt where that changes, and what is left then."""
    best = cures.best
    if best is None:
        return ()
    return tuple(
        f"against {_named(finding, best.trial)}: "
        f"{words_of([change for change in trial.changes if change not in best.changes])}"
        f"{_with_belt(trial, best.trial.belt)}: {_remaining_of(cures, finding, trial)}{left_words(cures, trial)}"
        for finding, trial in cures.as_well
    )


def _remaining_of(cures: Cures, finding: Finding, trial: Trial) -> str:
    """How near the pulley still comes to slipping in the wet, where that was the caution and is not said besides."""
    told = () if cures.healthy else map(issue_of, cures.cautions(trial).edge)
    if finding.check not in SLIPS or issue_of(finding) in told:
        return ""
    return f"{_number(trial.wet_utilisation.get(finding.subject), 2)} wet then; "


# The cures of a layout as text: the answer first, then each cure before and after, and what was tried.

_INDENT = "   "


def cure_text(
    cures: Cures, written: str | None = None, worse: Mapping[str, tuple[int | None, int | None]] | None = None
) -> str:
    """The whole answer as plain text, no line over 100 columns.

    written: the file that was written, if any. worse: other layouts of the file that the change gives more problems, by
    name: before and after, None for no belt path.
    """
    parts = (
        _head(cures, written) + _worse(worse or {}),
        [] if cures.clean else findings_lines(cures.wanted, f"BEFORE   {_wanted_words(cures)}"),
        *_cures(cures),
        _nearest(cures),
        _tried(cures),
    )
    lines = [line for part in parts if part for line in [*part, ""]]
    return "\n".join([*lines, *paragraph(SAFETY, "CAUTION  ")])


def _worse(worse: Mapping[str, tuple[int | None, int | None]]) -> list[str]:
    if not worse:
        return []
    told = ", ".join(
        f"{name} ({before} before, {'no belt path' if after is None else after} now)"
        for name, (before, after) in worse.items()
    )
    words = f"the change goes into these layouts of the file too, and gives them more problems: {told}"
    return paragraph(words, "BUT      ")


def _wanted_words(cures: Cures) -> str:
    return "the cautions; there is no problem" if cures.healthy else "the problems to be cured"


def _problems(judged: Plan) -> tuple[Finding, ...]:
    return tuple(finding for finding in judged.findings if finding.severity == "problem")


def _head(cures: Cures, written: str | None) -> list[str]:
    variant = f" (variant: {cures.layout.variant})" if cures.layout.variant else ""
    lines = [*paragraph(cures.layout.title + variant), *paragraph(answer_of(cures), "ANSWER   ")]
    if cures.best is not None:
        lines += paragraph(words_of(cures.best.changes), "DO       ")
        lines += paragraph(_belt_words(cures.before, cures.best.judged), "BELT     ")
        lines += _remaining(cures, cures.best.trial)
    if written is not None:
        lines += paragraph(written, "WRITTEN  ")
    return lines


def _remaining(cures: Cures, best: Trial) -> list[str]:
    """The cautions that the best cure leaves and makes, what leaves more margin, and the smallest cure."""
    cautions = cures.cautions(best)
    left = [f"{finding.subject}: {finding.message}{_was(cures, finding, cautions)}" for finding in cautions.left]
    lines = _listed("LEFT     ", left)
    lines += _listed("MADE     ", [f"{finding.subject}: {finding.message}" for finding in cautions.made])
    lines += _listed("MARGIN   ", [margin] if (margin := _margin_words(cures)) else [])
    lines += _listed("AS WELL  ", as_well_words(cures))
    return lines + _listed("SMALLEST ", [] if cures.smallest is None else [cure_words(cures, cures.smallest)])


def _was(cures: Cures, finding: Finding, cautions: Cautions) -> str:
    return " (before, it was a problem)" if finding in cautions.edge and not cures.healthy else ""


def _listed(lead: str, words: Sequence[str]) -> list[str]:
    return [line for i, each in enumerate(words) for line in paragraph(each, lead if i == 0 else " " * len(lead))]


def _belt_words(before: Plan, after: Plan) -> str:
    was, now = before.route.designation, after.route.designation
    if was == now:
        return f"{now}, as before"
    return f"{now}" if was is None else f"{now} instead of {was}"


def _cures(cures: Cures) -> list[list[str]]:
    if not cures.listed:
        return []
    more = f"the first {len(cures.listed)} of {cures.found}" if cures.found > len(cures.listed) else str(cures.found)
    head = paragraph(f"{more} found, the best first", "CURES    ")
    blocks = [_remedy_words(cures, remedy, f"{i:2} ") for i, remedy in enumerate(cures.listed, start=1)]
    return [[*head, *blocks[0]], *blocks[1:]]


def _remedy_words(cures: Cures, remedy: Remedy, lead: str) -> list[str]:
    rows = [(f"{_INDENT}{label}", before, after) for label, before, after in cure_rows(cures, remedy.judged)]
    lines = [*paragraph(words_of(remedy.changes), lead), *table((_INDENT, "before", "after"), rows, left=1)]
    smallest, ample = (None, None) if remedy.kind is None else (remedy.kind.smallest, remedy.kind.ample)
    lines += [] if smallest is None else paragraph(f"smallest: {cure_words(cures, smallest)}", _INDENT)
    words = "" if ample is None else f"{_ample_words(cures, ample)}: {cure_words(cures, ample)}"
    return lines + paragraph(words, _INDENT)


def _nearest(cures: Cures) -> list[str]:
    if cures.nearest is None:
        return []
    head = paragraph("the least bad of what was tried, not a cure", "NEAREST  ")
    left = findings_lines(_problems(cures.nearest.judged), "LEFT     the problems that it leaves")
    return [*head, *_remedy_words(cures, cures.nearest, _INDENT), *left]


def _tried(cures: Cures) -> list[str]:
    if cures.clean:
        return []
    rows = [
        (f"  {_what(tried)}", *(str(number) for number in (tried.looked_at, tried.judged, tried.cured)))
        for tried in cures.tried
    ]
    lines = table(("TRIED", "looked at", "judged", "cures"), rows)
    if not cures.layout.idler_sizes_mm:
        sizes = ", ".join(f"{size:g}" for size in SIZES_MM)
        lines += paragraph(f"{SIZES_SOURCE}: {sizes} mm", "  ")
    if not any(pulley.movable_mm for pulley in cures.layout.pulleys.values()):
        words = "no pulley is `movable_mm`, so none was moved"
        adjusted = cures.before.route.travel is not None
        lines += paragraph(words + ("; another belt uses the adjuster's travel" if adjusted else ""), "  ")
    lines += paragraph("judged: by all the checks that `beltplan check` makes", "  ")
    return [*lines, *paragraph(f"Order: {RULE}.", "  ")]


def _what(tried: Tried) -> str:
    if tried.what == "more":
        return "one change more, to the best"
    return next((words for family, words in MEANINGS.items() if family == tried.what), "two of these together")


# The cures of a layout as JSON: fixed keys, unknown values null, every number finite.

_Object = dict[str, Any]


def cure_json(
    cures: Cures,
    file: str,
    written: str | None = None,
    worse: Mapping[str, tuple[int | None, int | None]] | None = None,
) -> str:
    """The whole answer as one JSON object in plain ASCII. file: of the layout; written: of the cured one.

    worse: other layouts of the file that the change gives more problems, by name: before and after.
    """
    names = concerned(cures)
    return json_text(
        {
            "file": file,
            "title": cures.layout.title,
            "variant": cures.layout.variant,
            "answer": answer_of(cures),
            "healthy": cures.healthy,
            "cured": cures.best is not None and not cures.healthy,
            "before": _state(cures.before, names),
            "cures": [_remedy_json(cures, remedy, names) for remedy in cures.listed],
            "found": cures.found,
            "smallest": None if cures.smallest is None else _other(cures, cures.smallest),
            "as_well": [{"against": _issue(finding), **_other(cures, trial)} for finding, trial in cures.as_well],
            "nearest": None if cures.nearest is None else _remedy_json(cures, cures.nearest, names),
            "tried": [
                {"what": tried.what, "looked_at": tried.looked_at, "judged": tried.judged, "cured": tried.cured}
                for tried in cures.tried
            ],
            "rule": RULE,
            "written": written,
            "made_worse": [
                {"variant": name, "problems_before": before, "problems_after": after}
                for name, (before, after) in (worse or {}).items()
            ],
            "caution": SAFETY,
        }
    )


def _remedy_json(cures: Cures, remedy: Remedy, names: tuple[str, ...]) -> _Object:
    kind = remedy.kind
    return {
        "changes": [_change(change) for change in remedy.changes],
        **_state(remedy.judged, names),
        **_cautions_json(cures, remedy.trial),
        "leaves_margin": kind is not None and kind.margin,
        "smallest": None if kind is None or kind.smallest is None else _other(cures, kind.smallest),
        "with_margin": None if kind is None or kind.ample is None else _other(cures, kind.ample),
    }


def _other(cures: Cures, trial: Trial) -> _Object:
    """Another cure in short."""
    return {
        "changes": [_change(change) for change in trial.changes],
        "counts": dict(zip(SEVERITIES, trial.counts, strict=False)),
        "belt": trial.belt,
        **_cautions_json(cures, trial),
        "leaves_margin": cures.leaves_margin(trial),
    }


def _cautions_json(cures: Cures, trial: Trial) -> _Object:
    """still: those left of what was to be cured."""
    cautions = cures.cautions(trial)
    found = {"left": cautions.left, "made": cautions.made, "still": cautions.edge}
    return {f"cautions_{what}": [_issue(finding) for finding in some] for what, some in found.items()}


def _issue(finding: Finding) -> _Object:
    return {"check": finding.check, "subject": finding.subject}


def _change(change: Change) -> _Object:
    return {"family": change.family, "target": change.target, "size": change.size, "words": change.words}


def _state(judged: Plan, names: tuple[str, ...]) -> _Object:
    return {
        "verdict": judged.verdict,
        "counts": {severity: judged.count(severity) for severity in SEVERITIES},
        "belt": judged.route.designation,
        "reserve_mm": smallest_reserve_mm(judged),
        "wraps": [
            {"pulley": wrap.pulley, "wrap_deg": wrap.wrap_deg, "least_deg": wrap.minimum_deg}
            for wrap in (wrap_of(judged, name) for name in names)
        ],
        "slip_wet": highest_utilisation_of(judged, judged.wettest),
        "findings": [finding_of(finding) for finding in judged.findings],
    }

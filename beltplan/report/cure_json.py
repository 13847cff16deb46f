"""The cures of a layout as JSON: fixed keys, unknown values null, every number finite."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from beltplan.checks.finding import SEVERITIES, Finding
from beltplan.report.compare_rows import smallest_reserve_mm
from beltplan.report.cure_rows import answer_of, concerned, wrap_of
from beltplan.report.json_lines import json_text
from beltplan.report.json_result import finding_of
from beltplan.report.words import CAUTION, verdict_of
from beltplan.studies.compare import Judged
from beltplan.studies.cure import RULE, Cures, Remedy
from beltplan.studies.cure_change import Change
from beltplan.studies.cure_trial import Trial

Object = dict[str, Any]


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
            "cures": [_remedy(cures, remedy, names) for remedy in cures.listed],
            "found": cures.found,
            "smallest": None if cures.smallest is None else _other(cures, cures.smallest),
            "as_well": [{"against": _issue(finding), **_other(cures, trial)} for finding, trial in cures.as_well],
            "nearest": None if cures.nearest is None else _remedy(cures, cures.nearest, names),
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
            "caution": CAUTION,
        }
    )


def _remedy(cures: Cures, remedy: Remedy, names: tuple[str, ...]) -> Object:
    kind = remedy.kind
    return {
        "changes": [_change(change) for change in remedy.changes],
        **_state(remedy.judged, names),
        **_cautions(cures, remedy.trial),
        "leaves_margin": kind is not None and kind.margin,
        "smallest": None if kind is None or kind.smallest is None else _other(cures, kind.smallest),
        "with_margin": None if kind is None or kind.ample is None else _other(cures, kind.ample),
    }


def _other(cures: Cures, trial: Trial) -> Object:
    """Another cure in short."""
    return {
        "changes": [_change(change) for change in trial.changes],
        "counts": dict(zip(SEVERITIES, trial.counts, strict=False)),
        "belt": trial.belt,
        **_cautions(cures, trial),
        "leaves_margin": cures.leaves_margin(trial),
    }


def _cautions(cures: Cures, trial: Trial) -> Object:
    """still: those left of what was to be cured."""
    cautions = cures.cautions(trial)
    found = {"left": cautions.left, "made": cautions.made, "still": cautions.edge}
    return {f"cautions_{what}": [_issue(finding) for finding in some] for what, some in found.items()}


def _issue(finding: Finding) -> Object:
    return {"check": finding.check, "subject": finding.subject}


def _change(change: Change) -> Object:
    return {"family": change.family, "target": change.target, "size": change.size, "words": change.words}


def _state(judged: Judged, names: tuple[str, ...]) -> Object:
    return {
        "verdict": verdict_of(judged.findings),
        "counts": {severity: judged.count(severity) for severity in SEVERITIES},
        "belt": judged.route.designation,
        "reserve_mm": smallest_reserve_mm(judged),
        "wraps": [
            {"pulley": wrap.pulley, "wrap_deg": wrap.wrap_deg, "least_deg": wrap.least_deg}
            for wrap in (wrap_of(judged, name) for name in names)
        ],
        "slip_wet": _slip(judged),
        "findings": [finding_of(finding) for finding in judged.findings],
    }


def _slip(judged: Judged) -> Object | None:
    """A slip use of null at a named pulley means a slack strand."""
    point = judged.wet
    if point is None or judged.operation is None:
        return None
    use = point.use if math.isfinite(point.use) else None
    return {"pulley": point.pulley, "slip_use": use, "rpm": point.rpm, "duty": judged.operation.duties[point.duty]}

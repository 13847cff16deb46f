"""The cures of a layout as text: the answer first, then each cure before and after, and what was tried."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from beltplan.checks.finding import Finding
from beltplan.report.cure_rows import ample_words, answer_of, as_well_words, cure_rows, cure_words, margin_words
from beltplan.report.tables import paragraph, table
from beltplan.report.text import findings_lines
from beltplan.report.words import CAUTION
from beltplan.studies.compare import Judged
from beltplan.studies.cure import RULE, Cures, Remedy, Tried
from beltplan.studies.cure_change import MEANINGS, words_of
from beltplan.studies.cure_idler import SIZES_MM, SIZES_SOURCE
from beltplan.studies.cure_kinds import Cautions
from beltplan.studies.cure_trial import Trial

INDENT = "   "


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
    return "\n".join([*lines, *paragraph(CAUTION, "CAUTION  ")])


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


def _problems(judged: Judged) -> tuple[Finding, ...]:
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
    lines += _listed("MARGIN   ", [margin] if (margin := margin_words(cures)) else [])
    lines += _listed("AS WELL  ", as_well_words(cures))
    return lines + _listed("SMALLEST ", [] if cures.smallest is None else [cure_words(cures, cures.smallest)])


def _was(cures: Cures, finding: Finding, cautions: Cautions) -> str:
    return " (before, it was a problem)" if finding in cautions.edge and not cures.healthy else ""


def _listed(lead: str, words: Sequence[str]) -> list[str]:
    return [line for i, each in enumerate(words) for line in paragraph(each, lead if i == 0 else " " * len(lead))]


def _belt_words(before: Judged, after: Judged) -> str:
    was, now = before.route.designation, after.route.designation
    if was == now:
        return f"{now}, as before"
    return f"{now}" if was is None else f"{now} instead of {was}"


def _cures(cures: Cures) -> list[list[str]]:
    if not cures.listed:
        return []
    more = f"the first {len(cures.listed)} of {cures.found}" if cures.found > len(cures.listed) else str(cures.found)
    head = paragraph(f"{more} found, the best first", "CURES    ")
    blocks = [_remedy(cures, remedy, f"{i:2} ") for i, remedy in enumerate(cures.listed, start=1)]
    return [[*head, *blocks[0]], *blocks[1:]]


def _remedy(cures: Cures, remedy: Remedy, lead: str) -> list[str]:
    rows = [(f"{INDENT}{label}", before, after) for label, before, after in cure_rows(cures, remedy.judged)]
    lines = [*paragraph(words_of(remedy.changes), lead), *table((INDENT, "before", "after"), rows, left=1)]
    smallest, ample = (None, None) if remedy.kind is None else (remedy.kind.smallest, remedy.kind.ample)
    lines += [] if smallest is None else paragraph(f"smallest: {cure_words(cures, smallest)}", INDENT)
    words = "" if ample is None else f"{ample_words(cures, ample)}: {cure_words(cures, ample)}"
    return lines + paragraph(words, INDENT)


def _nearest(cures: Cures) -> list[str]:
    if cures.nearest is None:
        return []
    head = paragraph("the least bad of what was tried, not a cure", "NEAREST  ")
    left = findings_lines(_problems(cures.nearest.judged), "LEFT     the problems that it leaves")
    return [*head, *_remedy(cures, cures.nearest, INDENT), *left]


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
    return next((words for family, words in MEANINGS.items() if family == tried.what), "two of these together")

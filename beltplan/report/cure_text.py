"""The cures of a layout as text: the answer first, then each cure before and after, and what was tried."""

from __future__ import annotations

from collections.abc import Mapping

from beltplan.checks.finding import Finding
from beltplan.report.cure_rows import answer_of, cure_rows
from beltplan.report.tables import paragraph, table
from beltplan.report.text import findings_lines
from beltplan.report.words import CAUTION, verdict_of
from beltplan.studies.compare import Judged
from beltplan.studies.cure import RULE, Cures, Remedy, Tried
from beltplan.studies.cure_change import MEANINGS, words_of
from beltplan.studies.cure_idler import SIZES_MM, SIZES_SOURCE

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
        [] if cures.healthy else findings_lines(_problems(cures.before), "BEFORE   the problems to be cured"),
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


def _problems(judged: Judged) -> tuple[Finding, ...]:
    return tuple(finding for finding in judged.findings if finding.severity == "problem")


def _head(cures: Cures, written: str | None) -> list[str]:
    variant = f" (variant: {cures.layout.variant})" if cures.layout.variant else ""
    lines = [*paragraph(cures.layout.title + variant), *paragraph(answer_of(cures), "ANSWER   ")]
    if cures.best is not None:
        lines += paragraph(words_of(cures.best.changes), "DO       ")
        lines += paragraph(_belt_words(cures.before, cures.best.judged), "BELT     ")
        lines += paragraph(verdict_of(cures.best.judged.findings), "THEN     ")
    if written is not None:
        lines += paragraph(written, "WRITTEN  ")
    return lines


def _belt_words(before: Judged, after: Judged) -> str:
    was, now = before.route.designation, after.route.designation
    if was == now:
        return f"{now}, as before"
    return f"{now}" if was is None else f"{now} instead of {was}"


def _cures(cures: Cures) -> list[list[str]]:
    if not cures.listed:
        return []
    more = f"the first {len(cures.listed)} of {cures.found}" if cures.found > len(cures.listed) else str(cures.found)
    head = paragraph(f"{more} found, the one that disturbs least first", "CURES    ")
    blocks = [_remedy(cures, remedy, f"{i:2} ") for i, remedy in enumerate(cures.listed, start=1)]
    return [[*head, *blocks[0]], *blocks[1:]]


def _remedy(cures: Cures, remedy: Remedy, lead: str) -> list[str]:
    rows = [(f"{INDENT}{label}", before, after) for label, before, after in cure_rows(cures, remedy.judged)]
    return [*paragraph(words_of(remedy.changes), lead), *table((INDENT, "before", "after"), rows, left=1)]


def _nearest(cures: Cures) -> list[str]:
    if cures.nearest is None:
        return []
    head = paragraph("the least bad of what was tried, not a cure", "NEAREST  ")
    left = findings_lines(_problems(cures.nearest.judged), "LEFT     the problems that it leaves")
    return [*head, *_remedy(cures, cures.nearest, INDENT), *left]


def _tried(cures: Cures) -> list[str]:
    if cures.healthy:
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
        lines += paragraph(
            "no pulley is `movable_mm`, so none was moved; another belt uses the adjuster's travel", "  "
        )
    lines += paragraph("judged: by all the checks that `beltplan check` makes", "  ")
    return [*lines, *paragraph(f"Order: {RULE}.", "  ")]


def _what(tried: Tried) -> str:
    return next((words for family, words in MEANINGS.items() if family == tried.what), "two of these together")

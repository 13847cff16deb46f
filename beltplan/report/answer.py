"""What every report has: its title, parts under each other, sources under letters, SAFETY last."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from math import dist
from types import MappingProxyType
from typing import Any, NamedTuple

from beltplan.checks.limits import Finding
from beltplan.drive.layout import Layout, Units
from beltplan.report.screen import Block, Footnotes, Paragraph, Report, in_units
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT

MORE = "more: --full"
Answers = Sequence[tuple[str, str]]
"""What an answer says, each with the lead that stands before it, in capitals; '' under the one before."""


class Written(NamedTuple):
    """What came of `--write`. path: of the file written, None where none was. remark: what to
    know of it; without one why there is none, if it was asked for. asked: how a command names it, as it is typed;
    of_variant: whether it takes the path and a variant.

    worse: other layouts of the file that the change gives more problems, by name: before and after, None for no belt
    path.
    """

    path: str | None = None
    remark: str = ""
    worse: Mapping[str, tuple[int | None, int | None]] = MappingProxyType({})
    asked: str = ""
    of_variant: bool = False


NOTHING_WRITTEN = Written()


def title_words(layout: Layout) -> str:
    return layout.title + (f" (variant: {layout.variant})" if layout.variant else "")


def title_of(layout: Layout) -> Paragraph:
    return Paragraph(title_words(layout))


def answered(answers: Answers) -> list[Paragraph]:
    return [Paragraph(words, f"{lead:9}") for lead, words in answers]


def picture_words(answers: Answers, units: Units) -> list[str]:
    """The same as a picture says it, a line a lead."""
    lines: list[str] = []
    for lead, words in answers:
        lines += [f"{lead.capitalize()}: {words}" if lead else f"{lines.pop()}; {words}"]
    return [in_units(line, units) for line in lines]


def written_answers(written: Written) -> Answers:
    """The file that was written, if one was asked for, and what else of it the change harms."""
    told, worse = list[tuple[str, str]](), written.worse
    if written.path:
        judged = f"`beltplan check {written.asked}` judges the change" * written.of_variant
        told = [("WRITTEN", "; ".join(filter(None, [written.path, written.remark, judged])))]
    elif written.remark:
        told = [("NO FILE", f"written: {written.remark}")]
    each = (
        f"{name} ({before} before, {'no belt path' if after is None else after} now)"
        for name, (before, after) in worse.items()
    )
    harmed = f"the change goes into these layouts of the file too, and gives them more problems: {', '.join(each)}"
    return [*told, ("BUT", harmed)] if worse else told


def covered(layout: Layout) -> list[tuple[str, str]]:
    """Fixed pulleys that stand over a mark, each with it: a bolt or a stud may stand there."""
    return [
        (pulley.name, mark.name)
        for pulley in layout.pulleys.values()
        for mark in layout.marks
        if pulley.at_mm is not None and dist(pulley.at_mm, mark.at_mm) < pulley.rim_radius_mm(layout.belt)
    ]


def newly_covered(before: Layout, after: Layout) -> list[tuple[str, str]]:
    """Those that do so only after a change."""
    known = covered(before)
    return [each for each in covered(after) if each not in known]


def report_of(units: Units, parts: Iterable[Sequence[Block]], notes: Footnotes, full: bool, more: str = MORE) -> Report:
    """Parts with an empty line between them, the letters' legend, where more stands, and SAFETY."""
    every: list[Sequence[Block]] = [
        *parts,
        [*notes.legend(), *([] if full or not more else [more])],
        [Paragraph(SAFETY if full else SAFETY_IN_SHORT, "SAFETY  ")],
    ]
    return Report(tuple(block for part in every if part for block in [*part, ""])[:-1], units)


def made_worse_json(written: Written) -> list[dict[str, Any]]:
    return [
        {"variant": name, "problems_before": before, "problems_after": after}
        for name, (before, after) in written.worse.items()
    ]


# Findings as a report tells them: by what to do, worst first, each with its severity, its sources under letters.


_LEAD = " " * 11


def findings_blocks(findings: Sequence[Finding], notes: Footnotes, head: str = "TO DO") -> list[Block]:
    """The findings under a head, worst first; those of one advice stand together, before it. `notes` takes sources."""
    if not findings:
        return [f"{head}  nothing"]
    return [head, *(block for group in grouped(findings) for block in _group(group, notes))]


def first_blocks(findings: Sequence[Finding], notes: Footnotes) -> list[Block]:
    """What is asked of the file before all else, in a line each."""
    asked = (each for each in findings if each.asks_first)
    return [Paragraph(f"{each.about}: {each.advice} {notes.mark(each.source)}", "FIRST    ") for each in asked]


def grouped(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Those of one advice together, where the first of them stands; one without advice stands alone. What is asked of
    the whole file comes first.
    """
    groups: dict[object, list[Finding]] = {}
    for finding in sorted(findings, key=lambda each: not each.asks_first):
        groups.setdefault(finding.advice or finding, []).append(finding)
    return list(groups.values())


def _group(findings: Sequence[Finding], notes: Footnotes) -> Iterator[Paragraph]:
    for finding in findings:
        yield Paragraph(f"{finding.about} {notes.mark(finding.source)}", f"  {finding.severity:8} ", _LEAD + "  ")
    if findings[0].advice:
        whose = {1: "", 2: "both"}.get(len(findings), f"all {len(findings)}")
        yield Paragraph(findings[0].advice, f"  {whose:8} ")


def in_units_of(layout: Layout, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    told = partial(in_units, units=layout.units)
    return tuple(replace(each, wrong=told(each.wrong), advised=(told(each.advice),), amount="") for each in findings)

"""The causes of noise as a report and as JSON: three in full, of the others those that are near a line each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from beltplan.checks.limits import CAUTION, NONE, PROBLEM, Severity, against
from beltplan.drive.belt import format_designation
from beltplan.drive.layout import Units
from beltplan.drive.profiles import PRACTICE
from beltplan.report.answer import report_of, title_of
from beltplan.report.check_text import headline_beside
from beltplan.report.screen import Block, Column, Footnotes, Paragraph, Report, Table, in_units
from beltplan.report.words import SAFETY, fields_of, finite, head_of, json_text
from beltplan.squeal.study import CAUSES, RULE, WATER_TEST, Squealing, Weighed, look_for

_FIRST = 3
"""So many causes are told in full, where each lies nearest."""


def squealing_report(squealing: Squealing, full: bool = False) -> Report:
    notes, layout = Footnotes(), squealing.plan.layout
    shown = squealing.weighed if full else squealing.telling
    first = shown if full else _first(squealing)
    curable = any(each.near and each.cause.checks for each in squealing.weighed)
    lacking = [
        Paragraph(f"{'; '.join(each.title for each in causes)}: {words}", "  ", "    ")
        for words, causes in squealing.not_judged
        if words != squealing.plan.not_judged
    ]
    parts: list[list[Block]] = [
        [title_of(layout), Paragraph(headline_beside(squealing.plan)), *_head(squealing)],
        ["NEAREST, by the numbers"] if squealing.likely is None else [],
        *([*_in_full(number, each, notes)] for number, each in enumerate(first, 1)),
        _others([each for each in shown if each not in first], squealing),
        [f"changes, tried and judged: beltplan cure {squealing.command}"] if curable else [],
        ["NOT JUDGED" + " EITHER" * bool(_unjudged(squealing)), *lacking] if lacking else [],
        [
            "LOOK FOR, engine off",
            *(Paragraph(f"{name}: {words}", "  ", "    ") for name, words in look_for(layout.belt)),
        ],
        [Paragraph(f"{WATER_TEST} {notes.mark(PRACTICE)}.", "WATER TEST  ", "  ")],
        [Paragraph(f"{RULE}.", "ORDER  ")] if full else [],
    ]
    return report_of(layout.units, parts, notes, full)


def _first(squealing: Squealing) -> tuple[Weighed, ...]:
    """The first place of the first causes; where one is likely, of those that may be it too."""
    may = tuple(each for each in squealing.nearest if each.worth_telling and not each.reading.rests_on_slip)
    return (squealing.nearest if squealing.likely is None else may)[:_FIRST]


def _head(squealing: Squealing) -> list[Block]:
    heard, likely, unjudged = squealing.heard, squealing.likely, _unjudged(squealing)
    said = [", ".join(map(_said, heard.when))] * bool(heard.when) + [f"water: {heard.water}"] * bool(heard.water)
    if likely is not None:
        words = f"{likely.reading.where}: {likely.cause.title}"
    else:
        behind = (
            each
            for each in squealing.weighed
            if each.near and each.reading.rests_on_slip and not (each.unfit or each.cause.slips)
        )
        wraps = " and ".join(each.reading.where for each in behind)
        but = f". {wraps}: little wrap, which squeals only where it slips" if wraps else ""
        assumed = [each for each in squealing.weighed if each.unsure and not each.unfit]
        may = [f" for sure; perhaps {each.cause.title} at {each.reading.where}" for each in assumed[:1]]
        begin = f": {'have that judged, or ' if unjudged else ''}begin with LOOK FOR"
        words = f"no number{' that fits' if said else ''} explains it{''.join(may) or begin}{but}"
    return [
        *([Paragraph("; ".join(said), "HEARD  ")] if said else []),
        *([Paragraph(unjudged, "NOT JUDGED   ")] if unjudged else []),
        Paragraph(f"{'of the rest, ' if unjudged else ''}{words}", "MOST LIKELY  "),
    ]


def _unjudged(squealing: Squealing) -> str:
    """Why nothing is known that goes by tension, and what to give; empty where it is."""
    layout, because = squealing.plan.layout, squealing.plan.not_judged
    if squealing.plan.route.named_outside:
        belt, whose = layout.belt, "this variant" if layout.variant else "the layout"
        size = format_designation(replace(belt, length_mm=None))
        because = f"{format_designation(belt)} does not fit. Give {whose} a `belt` that does, or its size alone: {size}"
    return "" if because is None else f"slip and all that goes by the belt's tension: {because}"


def _said(word: str) -> str:
    return word.replace("_", " ")


def _in_full(number: int, weighed: Weighed, notes: Footnotes) -> Iterator[Block]:
    cause, reading = weighed.cause, weighed.reading
    yield Paragraph(f"{reading.where}: {cause.title}", f"{number}  ")
    unfit = f"; does not fit {', '.join(map(_said, weighed.unfit))}" if weighed.unfit else ""
    when = ", ".join(map(_said, weighed.fits)) or "not with these numbers"
    rows = {
        "number": f"{reading.words} {notes.mark(reading.source)}",
        "heard": f"{when}; water: {cause.water} {notes.mark(PRACTICE)}{unfit}",
        "try": weighed.test,
        **({"change": reading.change} if reading.change else {}),
    }
    yield from (Paragraph(text, f"   {label:8}") for label, text in rows.items())


def _others(rest: Sequence[Weighed], squealing: Squealing) -> list[Block]:
    """A line each; of those that are far, all together, the names alone."""
    near = [each for each in rest if each.worth_telling]
    told_near = {each.cause.title for each in near}
    far = dict.fromkeys(each.cause.title for each in rest if each.cause.title not in told_near)
    told = [Paragraph(f"far, by their numbers (--full): {', '.join(far)}", rest="  ")] if far else []
    return [*([_table(near, squealing)] if near else []), *told]


def _table(rest: Sequence[Weighed], squealing: Squealing) -> Table:
    columns = (
        *(Column("others", left=True), Column("where", left=True), Column("number"), Column("limit", drop=1)),
        *(Column("unit", left=True), Column("computed", left=True, drop=2)),
    )
    rows = [_row(each, squealing.plan.layout.units) for each in rest]
    if not (squealing.heard.when or squealing.heard.water):
        return Table(columns, rows)
    fits = ("no" if each.unfit or not each.fits else "yes" for each in rest)
    heard = Column("as heard", left=True)
    return Table((*columns, heard), [[*row, fit] for row, fit in zip(rows, fits, strict=True)])


def _row(weighed: Weighed, units: Units) -> list[str | None]:
    reading, decimals = weighed.reading, weighed.cause.decimals
    told = in_units(f"{reading.limit:.{decimals}f} {reading.unit}", units)
    limit, _, unit = told.partition(" (")[0].partition(" ")
    value = None
    if reading.value is not None:
        shown = against(reading.value, reading.limit, decimals)[0]
        value = in_units(f"{shown} {reading.unit}", units).partition(" ")[0]
    where = (weighed.cause.title, reading.where)
    return [*where, "slack" if value == "inf" else value, limit, unit, _computed(weighed)]


def _computed(weighed: Weighed) -> str:
    if weighed.unsure:
        return "unsure"
    if weighed.reading.rests_on_slip:
        return "see slip"
    if weighed.cause.slips and weighed.reading.margin <= 0.0:
        return "slips"
    if weighed.reading.faster:
        return "if faster"
    return "near" if weighed.reading.severity == CAUTION else "beyond"


# As JSON.


def squealing_json(squealing: Squealing) -> str:
    layout, heard = squealing.plan.layout, squealing.heard
    return json_text(
        {
            **head_of(layout),
            "heard": {"when": list(heard.when), "water": heard.water},
            "rule": RULE,
            "causes": [_weighed(squealing, each) for each in squealing.weighed],
            "table": [
                {"cause": cause.name, "fits": list(cause.fits), "water": cause.water, "source": PRACTICE}
                for cause in CAUSES
            ],
            "not_judged": [
                {"causes": [cause.name for cause in causes], "because": words} for words, causes in squealing.not_judged
            ],
            "look_for": [{"cause": name, "look": words} for name, words in look_for(layout.belt)],
            "water_test": WATER_TEST,
            "caution": SAFETY,
        }
    )


_SEVERITY: Mapping[int, Severity | None] = {NONE: None, CAUTION: "caution", PROBLEM: "problem"}


def _weighed(squealing: Squealing, weighed: Weighed) -> dict[str, Any]:
    cause, reading = weighed.cause, weighed.reading
    return {
        "cause": cause.name,
        "where": reading.where,
        "checks": [check.name for check in cause.checks],
        "value": finite(reading.value),
        **fields_of(reading, "limit", "unit"),
        "margin": finite(reading.margin),
        "severity": _SEVERITY[reading.severity],
        "fits": not weighed.unfit,
        "does_not_fit": list(weighed.unfit),
        "rests_on_slip": reading.rests_on_slip,
        "number": reading.words,
        "test": weighed.test,
        "change": reading.change or None,
        "command": f"beltplan cure {squealing.command}" if reading.severity and cause.checks else None,
        "source": reading.source,
    }

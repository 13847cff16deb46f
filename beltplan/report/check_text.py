"""The report of `check`: the verdict, the belt to buy, what to do, the pulleys; with `full`, all the rest."""

from __future__ import annotations

import numpy as np

from beltplan.checks.belt import RESERVE, no_belt_words, none_can_be_put_on, none_put_on_words, too_short_words
from beltplan.checks.card import settled_at
from beltplan.checks.every_check import CALLED, SHAKEN
from beltplan.checks.lengths import lengths_words
from beltplan.checks.limits import against, all_of
from beltplan.checks.plan import OnBelt, Plan, counted, toward_deg
from beltplan.checks.slip import used_words
from beltplan.drive.belt import MM_PER_INCH, designation_inches, outside_length_mm
from beltplan.drive.fit import is_sprung, setting_words
from beltplan.drive.pulleys import way_of
from beltplan.drive.route import Route
from beltplan.drive.shaking import asked_to_shake, why_not_shaken
from beltplan.report.answer import MORE, findings_blocks, first_blocks, report_of, title_of
from beltplan.report.full_text import full_blocks
from beltplan.report.screen import Block, Column, Footnotes, Paragraph, Report, Table
from beltplan.report.words import role_words

_LEAD = "         "


def check_report(plan: Plan, full: bool = False) -> Report:
    notes = Footnotes()
    told = [each for each in plan.findings if not each.asks_first and (full or each.severity != "note")]
    sign = "! beside a wrap: see TO DO" * any(each.check == "wrap" for each in told)
    below = (sign, _planned(plan), *(() if full else (_adjuster(plan), _grip(plan), _shaking(plan), _hub(plan))))
    parts: list[list[Block]] = [
        [title_of(plan.layout), headline(plan), *first_blocks(plan.findings, notes)],
        buy_blocks(plan),
        [*findings_blocks(told, notes), *([] if full else _notes(plan))],
        [pulleys_table(plan, full), *(Paragraph(words, rest="  ") for words in below if words)],
        *(full_blocks(plan, notes).values() if full else []),
    ]
    return report_of(
        plan.layout.units, parts, notes, full, f"{MORE}   fitting it: beltplan fit   how sure: beltplan tolerance"
    )


def _notes(plan: Plan) -> list[Block]:
    notes = [each for each in plan.findings if each.severity == "note" and not each.asks_first]
    grave = next((each for each in notes if each.misses_all), None)
    first = "" if grave is None else f"{'; one of them' * (len(notes) > 1)}: {CALLED[grave.check]}"
    first += " (assumed)" * (grave is not None and grave.check in SHAKEN)
    count = f"{len(notes)} note{'s' * (len(notes) > 1)}"
    return [Paragraph(f"{count} with --full{first}", "  ")] if notes else []


def headline(plan: Plan) -> str:
    if plan.count("problem"):
        return f"DOES NOT WORK   {counted(plan.findings, 'problem', 'caution')}"
    return f"WORKS ON PAPER   {counted(plan.findings, 'caution') or 'nothing found against it'}"


def headline_beside(plan: Plan, so: str = "") -> str:
    """The headline for another command, with what no check has judged; so: what to do while a problem stands."""
    so, unjudged = so * (plan.count("problem") > 0), not_judged_words(plan)
    told = f"{headline(plan)}{unjudged and f'; {unjudged}'}"
    found = plan.count("problem") + plan.count("caution") or unjudged
    return told + (f": {so}see `beltplan check`" if found else "")


def not_judged_words(plan: Plan) -> str:
    """What of slip and shaking is not judged where no problem stands, in few words; empty where both are."""
    if plan.count("problem"):
        return ""
    if plan.operation is None or plan.wettest is None:
        return "slip and shaking not judged"
    return "shaking not judged" if why_not_shaken(plan.route) else ""


# What belt to buy.


NOT_YET = "nothing yet, for a mend may change the length; as it stands "
"""Before a belt that would be bought if no problem stood."""


def buy_blocks(plan: Plan) -> list[Block]:
    """The belt to buy; while a problem stands only what the layout would take: the mend may change it."""
    waits = plan.count("problem") and plan.route.judged is not None and not none_can_be_put_on(plan.route)
    first = NOT_YET if waits else ""
    buy: list[Block] = [Paragraph(f"{first}{_belt(plan.route)}", "BUY      ")]
    found = none_put_on_words(plan.route) or any(each.check == RESERVE.name for each in plan.findings)
    # What is found against every length stands with the findings.
    return buy if plan.route.acceptable_mm is None and found else [*buy, Paragraph(lengths_words(plan), _LEAD)]


def _belt(route: Route) -> str:
    if route.designation is None:
        return no_belt_words(route)
    outside = outside_length_mm(route.belt, route.length_mm)
    size = f"{route.designation} ({designation_inches(route.belt)} in)"
    size += "" if outside is None else f", outside length {outside:.0f} mm ({outside / MM_PER_INCH:.2f} in)"
    if route.judged is None:
        return f"not {size}: it does not fit"
    if none_can_be_put_on(route):
        return f"none can be put on; the nearest is {size}"
    good = route.judged.verdict == "good" or too_short_words(route)  # a line of its own tells it
    return size if good else f"{size}, without full reserve"


# The pulleys.


def pulleys_table(plan: Plan, full: bool) -> Table:
    columns = (
        *(Column("pulley", left=True), Column("role", left=True, drop=6), Column("runs on", left=True, drop=3)),
        *(Column("turns", left=True), Column("dia", drop=2, decimals_mm=1)),
        *((Column("x", drop=4, decimals_mm=1), Column("y", drop=4, decimals_mm=1)) if full else ()),
        *(Column("wrap"), Column("min"), Column("ratio")),
        *(Column(f"{name} rpm", drop=1 if name == "max" else 5) for name in _speeds(plan, full)),
    )
    return Table(columns, [_row(plan, row, full) for row in plan.pulleys])


def _speeds(plan: Plan, full: bool) -> list[str]:
    return [name for name in plan.layout.engine.speeds_rpm if full or name == "max"]


def _row(plan: Plan, row: OnBelt, full: bool) -> list[str | float | None]:
    belt, short = plan.layout.belt, {each.subject for each in plan.findings if each.check == "wrap"}
    wrap = against(row.wrap_deg, row.minimum_deg)[0]
    return [
        row.name,
        role_words(row.pulley.role),
        "back" if row.pulley.on_back else "ribs" if belt.profile.is_ribbed else "inner",
        "cw" if row.turns == "clockwise" else "ccw",
        row.pulley.diameter_mm if row.pulley.on_back else row.pulley.line_diameter_mm(belt),
        *(row.at_mm if full else ()),
        f"{wrap}{' !' if row.name in short else '  '}",
        f"{row.minimum_deg:.0f}",
        f"{row.ratio:.2f}",
        *(f"{row.rpm[name]:.0f}" for name in _speeds(plan, full)),
    ]


# One line each of what else decides.


def _adjuster(plan: Plan) -> str:
    adjuster, route = plan.adjuster, plan.route
    if adjuster is None:
        return "no adjuster: only a stretch belt may do without"
    settled = settled_at(plan)
    way = f" ({way_of(settled)})" if adjuster.is_arm else ""
    words = f"{adjuster.pulley.name} stands at {setting_words(route.circuit, settled)}{way}"
    if route.judged is None:
        return words
    short, long = route.judged.short_reserve_mm, route.judged.long_reserve_mm
    left, after = (against(reserve, 0.0)[0] for reserve in (short, long))
    unstretched = ", its stretch as it is set not counted," * (adjuster.growth.set is None)
    reserve = f"reserve after tolerance, fitting and wear{unstretched}"
    return f"{words}; {reserve} {left} mm of belt to the short stop, {after} mm to the long"


def _planned(plan: Plan) -> str:
    names = [pulley.name for pulley in plan.route.pulleys if pulley.planned]
    return (
        f"not placed yet: {all_of(names)}; how near to its place it must stand: `beltplan tolerance`" if names else ""
    )


def _grip(plan: Plan) -> str:
    if plan.operation is None:
        return f"slip not judged: {plan.not_judged}"
    point = plan.wettest
    if point is None:
        return "slip not judged: no pulley has a `load`"
    at = f"at {point.rpm:.0f} rpm{'' if point.when == 'steady' else ', revving'}"
    if not np.isfinite(point.utilisation):
        why = "a span beside it hangs slack" if point.wrap_rad > 0.0 else "it has no wrap left"
        return f"highest grip used, wet: {point.pulley} slips, for {why} {at}"
    return f"highest grip used, wet: {point.pulley} {used_words(point.utilisation)} {at} (1 slips)"


def _shaking(plan: Plan) -> str:
    asked = asked_to_shake(plan.route) if plan.slip else []
    return f"shaking not judged: {'; '.join(what for what, _ in asked)}" if asked else ""


def _hub(plan: Plan) -> str:
    hub = plan.hub
    if hub is None:
        return ""
    load = max(hub.running_N, hub.stopped_N, key=lambda force: float(np.hypot(*force)))
    most = hub.words(is_sprung(plan.route.circuit))
    return f"highest hub load: {hub.pulley} {most}, toward {toward_deg(load):.0f} deg (0 right, 90 up)"

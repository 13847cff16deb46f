"""What is to be done, where findings ask for one thing and its contrary, and how much of it?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from beltplan.checks.limits import OWN, Finding, Way, all_of, problems_of
from beltplan.checks.pulleys import WRAP, room_words, with_one_size
from beltplan.checks.slip import SLIP, SLIP_ON_REVS, condition_words, grip_bound, grip_words, used_words
from beltplan.checks.tension import SPAN_TENSION
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import CONDITIONS
from beltplan.drive.operation import WANTED_USE, Again, Operation


def with_agreeing_advice(findings: list[Finding]) -> list[Finding]:
    """Findings with advice that serves all of them: never more tension for one and less for another.

    Nor a pulley that is larger for one and smaller for another.
    Where the belt alone is at its limit, more ribs bear more tension; a hub does not, but a smaller load serves both.
    A belt that is tightened sooner is set to no more than before.
    """
    findings = with_one_size(findings)
    tighter, sooner, less = (
        [each for each in findings if way in each.advised] for way in (Way.TIGHTER, Way.SOONER, Way.SLACKER)
    )
    more = tighter + sooner
    if not more or not less:
        return findings
    over = dict.fromkeys("the belt" if each.check == SPAN_TENSION.name else each.subject for each in less)
    instead = Way.RIBS_FOR_TENSION if list(over) == ["the belt"] else Way.SMALLER_LOAD
    stands = f"; {all_of(over)} {'stands' if len(over) == 1 else 'stand'} no more tension as it is"
    # A span does not slip: it hangs slack, and the pulleys beside it slip then.
    pulleys = dict.fromkeys(name for each in more if each.check != SPAN_TENSION.name for name in each.parts)
    hang = dict.fromkeys(each.subject for each in more)
    so = f"{'slip' if pulleys else 'hang slack'}{' sooner' * (not tighter)}"
    slips = f". Less tension is no help: {all_of(pulleys or hang)} would {so}"
    new = {each: each.by(instead, Way.TIGHTER, stands) for each in tighter}
    ribs = (Way.MORE_RIBS, ", or ", Way.SMALLER_LOAD, slips)
    for each in less:
        of_span = each.check == SPAN_TENSION.name
        new[each] = replace(each, advised=ribs) if of_span else each.by(Way.SMALLER_LOAD, Way.SLACKER, slips)
    return [new.get(each, each) for each in findings]


_WIDER: Mapping[str, Way] = {Way.MORE_RIBS: Way.WIDER, Way.RIBS_FOR_TENSION: Way.WIDER_FOR_TENSION}


def as_sold(layout: Layout, part: str) -> str:
    """A part of an advice as the belt has it: a V-belt has no ribs, but wider sections."""
    return part if layout.belt.profile.is_ribbed else _WIDER.get(part, part)


def with_what_is_known(
    layout: Layout, findings: Sequence[Finding], again: Again | None, usual_tension: str, tighter: str, looser: str
) -> tuple[Finding, ...]:
    """The first advice of more ribs with how many the pulleys take, of less load with whose is assumed, of more or less
    tension with how much; every advice of setting a belt again sooner with when, of more ribs as a V-belt has it.
    """
    findings = [replace(f, advised=tuple(as_sold(layout, part) for part in f.advised)) for f in findings]
    usual = [pulley.name for pulley in layout.routed if pulley.usual_load is not None]
    whose = f"the load of {all_of(usual)} is the usual one: its maker's may be less" if usual else ""
    ribs, load = {Way.MORE_RIBS, Way.RIBS_FOR_TENSION}, {Way.LESS_LOAD, Way.SMALLER_LOAD}
    told = ((ribs, room_words(layout)), (load, whose), ({Way.TIGHTER}, tighter), ({Way.SLACKER}, looser))
    for ways, known in told:
        first = next((each.advised for each in findings if known and not ways.isdisjoint(each.advised)), None)
        findings = [replace(f, amount=f"{f.amount}; {known}") if f.advised == first else f for f in findings]
    if again is None:
        return tuple(findings)
    to = f": now, to the usual {usual_tension}, and then" if again.is_usual else ","
    sooner = (Way.SOONER, f"{to} when it has fallen to {again.at_N:.0f} N a span")
    told_when = ([part for way in f.advised for part in (sooner if way == Way.SOONER else (way,))] for f in findings)
    return tuple(replace(f, advised=tuple(advised)) for f, advised in zip(findings, told_when, strict=True))


def beside_slip(operation: Operation | None, findings: list[Finding]) -> list[Finding]:
    """Wraps short of their minimum with their pulley's own slip, where that is judged with every load, and is small;
    where another pulley slips, that comes first.
    """
    if operation is None or not operation.carries_load:
        return findings
    slips = any(each.check in (SLIP.name, SLIP_ON_REVS.name) for each in problems_of(findings))
    unknown = any(each.load is None and not each.guides_only for each in operation.route.pulleys[1:])
    if slips or unknown:
        return findings
    short = [each for each in problems_of(findings) if each.check == WRAP.name]
    return [_with_its_slip(operation, each) if each in short else each for each in findings]


def _with_its_slip(operation: Operation, finding: Finding) -> Finding:
    pulleys, layout = operation.route.pulleys, operation.route.layout
    index = next(i for i, pulley in enumerate(pulleys) if pulley.name == finding.subject)
    if index > 0 and pulleys[index].load is None:
        return finding
    used = operation.highest_utilisation[:, index].tolist()
    low = operation if operation.ends is None else operation.ends[0]
    wet_low = float(low.highest_utilisation[CONDITIONS.index("wet"), index])
    bounds = [grip_bound(layout, pulleys[index], each) for each in (*CONDITIONS, "wet")]
    ways = zip(bounds, (*used, wet_low), strict=True)
    if any(use >= WANTED_USE or bound.severity(use) for bound, use in ways):
        return finding
    most = int(np.argmax(used))
    words = f". Its slip is judged: at most {grip_words(used[most])}, {condition_words(CONDITIONS[most])}"
    words += "" if operation.ends is None else f" ({used_words(wet_low)} wet on a slackened belt)"
    if finding.source != OWN:
        words += f". A minimum of your own: `limits: {{min_wrap_deg: {{{finding.subject}: NUMBER}}}}`"
    return replace(finding, amount=words)

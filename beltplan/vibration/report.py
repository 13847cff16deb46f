"""How the drive shakes as a report and as JSON: the first mode, speeds to keep away from, what would move it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from beltplan.checks.limits import all_of
from beltplan.checks.plan import counted
from beltplan.checks.shaking import (
    GIVE_THE_SWING,
    WHAT_WOULD_HELP,
    assumed_swing_words,
    range_words,
    when_words,
    where_most,
)
from beltplan.drive.fit import is_arm
from beltplan.drive.forced import LOSS_SOURCE, SWING_SOURCE
from beltplan.drive.inertias import CRANK_SOURCE, USUAL_SOURCE
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import CONDITIONS
from beltplan.drive.modes import Modes
from beltplan.drive.shaking import assumed_inertias
from beltplan.report.answer import findings_blocks, report_of, title_of
from beltplan.report.check_json import finding_of
from beltplan.report.screen import Block, Cell, Column, Footnotes, Paragraph, Report, Table, in_units
from beltplan.report.words import SAFETY, fields_of, head_of, json_text
from beltplan.vibration.study import FLAP_SOURCE, HARMONICS, NEAR_PEAK, Away, Vibration, spread_Hz

_TELLING, _FEW = 0.1, 4
"""Share of the energy from which a pulley belongs to a mode; modes told without `--full`."""
_TRIED = "largest swing: of any span, at any speed or duty; least: where a tension falls nearest to nothing of its mean"
_MODEL = "rotors on springs of EA over the length of a span, the belt sticking on its pulleys (Barker 1991; Hwang 1994)"


def vibration_report(vibration: Vibration, trials: Mapping[str, Vibration], full: bool = False) -> Report:
    notes, layout = Footnotes(), vibration.route.layout
    told = (each for each in vibration.findings if full or each.severity != "note")
    found = [replace(each, advised=tuple(way for way in each.advised if way != WHAT_WOULD_HELP)) for each in told]
    parts: list[list[Block]] = [
        [title_of(layout), *_head(vibration, notes)],
        findings_blocks(found, notes) if found else [],
        _keep_away(vibration, notes),
        _modes(vibration, full, notes),
        _would_move(vibration, trials),
        _spans(vibration, notes) if full else [],
        _assumed(vibration, notes),
    ]
    return report_of(layout.units, parts, notes, full)


def not_judged_report(layout: Layout, reason: str) -> Report:
    return report_of(layout.units, [[title_of(layout), Paragraph(reason, "NOT JUDGED  ")]], Footnotes(), False, more="")


def _head(vibration: Vibration, notes: Footnotes) -> Iterator[Block]:
    if vibration.slack_at:
        yield Paragraph(_slack_words(vibration), "FALLS SLACK ")
    first = vibration.first_Hz
    met, moved = vibration.met_at_rpm(first), moves(vibration, vibration.held, 0)
    if met is None:
        low, high = vibration.rpm[[0, -1]]
        at = f"{vibration.firing_rpm(first):.0f} rpm"
        words = f"the firing meets it at {at}, outside the {low:.0f} to {high:.0f} rpm of the engine"
    else:
        words = f"the firing meets it at {met:.0f} rpm, {_between(vibration, met)}"
    carried = [pulley.name for pulley in vibration.route.pulleys if pulley.one_way]
    held = f". The one-way pulley of {all_of(carried)} is taken as locked" if carried else ""
    yield Paragraph(f"{first:.0f} Hz ({moved}): {words}{held} {notes.mark(_MODEL)}", "FIRST MODE  ")
    yield Paragraph(_worst_words(vibration), "WORST       ")
    engine = vibration.route.layout.engine
    if engine.swing_deg is None:
        worth = f"{assumed_swing_words(engine, float(vibration.rpm[0]))} {notes.mark(SWING_SOURCE)}"
        yield Paragraph(f"{worth}: {GIVE_THE_SWING}", "TRUE IF     ")


def _between(vibration: Vibration, rpm: float) -> str:
    engine = vibration.route.layout.engine
    if engine.cruise_rpm is None:
        return "between idle and maximum"
    return "between idle and cruise" if rpm < engine.cruise_rpm else "between cruise and maximum"


def _slack_words(vibration: Vibration) -> str:
    slack = vibration.shaken.least_N <= 0.0
    spans, circuit = slack.any(axis=(0, 1)), vibration.route.circuit
    names = ["every span"] if spans.all() else [circuit.span_name(i) for i in np.flatnonzero(spans).tolist()]
    return f"{', '.join(names)}, as the engine fires at {vibration.slack_at}: the belt flaps or jumps"


def _worst_words(vibration: Vibration) -> str:
    duty, speed, span = vibration.worst
    shaken, operation, wet = vibration.shaken, vibration.operation, CONDITIONS.index("wet")
    swing, mean, least = (each[duty, speed, span] for each in (shaken.span_swing_N, shaken.mean_N, shaken.least_N))
    left = f"{least:.0f} N is left at its lowest" if least > 0.0 else "it falls slack"
    grips = vibration.grip("wet")[duty, speed]
    most = int(grips.argmax())
    grip, steady = float(grips[most]), float(operation.utilisation[wet, duty, speed, most])
    pulley = vibration.route.pulleys[most].name
    then = f". For that moment {pulley} uses {grip:.2f} of its wet grip (1 slips; {steady:.2f} in steady running)"
    name = vibration.route.circuit.span_name(span)
    swings = f"the tension of {name} swings {swing:.0f} N below its mean of {mean:.0f} N"
    return f"at {when_words(operation, duty, speed)}, {swings}: {left}{then if np.isfinite(grip) else ''}"


def moves(vibration: Vibration, modes: Modes, number: int) -> str:
    """Which pulleys move in a mode, those that move most first, and which against them; 'tensioner: arm' swings."""
    names = [pulley.name for pulley in vibration.route.pulleys]
    if len(modes.energy) > len(names) and vibration.route.moving is not None:
        names.append(f"arm of {vibration.route.moving.name}")
    energy, shape = modes.energy[:, number], modes.shape[:, number]
    if modes.crank_free and number == 0:
        return "all as one"
    telling = [i for i in np.argsort(-energy).tolist() if energy[i] >= _TELLING]
    swung = [names[i] for i in telling if i >= len(vibration.route.pulleys)]
    with_first, against = (
        [names[i] for i in telling if i < len(vibration.route.pulleys) and (shape[i] * shape[telling[0]] > 0.0) == same]
        for same in (True, False)
    )
    together = " together" if len(with_first) > 1 and not against else ""
    turning = " against ".join(", ".join(each) for each in (with_first, against) if each) + together
    return ", with ".join(part for part in (turning, ", ".join(swung)) if part)


def _keep_away(vibration: Vibration, notes: Footnotes) -> list[Block]:
    ranges = vibration.keep_away
    if not ranges:
        return []
    columns = (
        *(Column("rpm"), Column("because", left=True), Column("span left with least", left=True, drop=2)),
        *(Column("swing N", force="N"), Column("mean N", drop=3, force="N"), Column("least N", force="N")),
    )
    mark = notes.mark(FLAP_SOURCE) if any(away.flaps for away in ranges) else ""
    told = "swing: how far the tension falls below its mean, in the duty that leaves it with least"
    if vibration.slack_rpm and any(low < high and (low, high) not in vibration.slack_rpm for low, high, *_ in ranges):
        told += f"; a range: swing at least {NEAR_PEAK:.1f} of its peak, or slack"
    worst, step = float(vibration.rpm[vibration.worst[1]]), vibration.step_rpm
    if not any(low - step <= worst <= high + step for low, high, *_ in ranges):
        told += f". WORST, at {worst:.0f} rpm, is none of these: {vibration.met_beside(worst, worst)}"
    rows = [_away_row(vibration, each) for each in ranges]
    return [f"KEEP AWAY FROM {mark}".rstrip(), Table(columns, rows), Paragraph(told)]


def _away_row(vibration: Vibration, away: Away) -> list[Cell]:
    # Of a range the least anywhere in it, as WORST tells it.
    low, high, because, _ = away
    swing, mean, least, left = vibration.between_rpm(low, high)
    worst = where_most(-left)
    told = float(least[worst]) if least[worst] > 0.0 else "slack"
    span_name = vibration.route.circuit.span_name(worst[-1])
    return [range_words(low, high), because, span_name, float(swing[worst]), float(mean[worst]), told]


def _modes(vibration: Vibration, full: bool, notes: Footnotes) -> list[Block]:
    columns = (
        *(Column("mode"), Column("Hz"), Column("crank", left=True), Column("firing at rpm")),
        *(Column("twice at", drop=1), Column("what moves", left=True)),
    )
    rows: list[list[Cell]] = []
    for modes in (vibration.held, vibration.free) if full else (vibration.held,):
        for number, hertz in enumerate(modes.frequency_Hz.tolist()[: None if full else _FEW]):
            met = (vibration.firing_rpm(hertz, harmonic) for harmonic in HARMONICS)
            told = [None if hertz < 0.1 else f"{rpm:.0f}" for rpm in met]
            crank = "free" if modes.crank_free else "held"
            rows.append([f"{number + 1}", f"{hertz:.1f}", crank, *told, moves(vibration, modes, number)])
    head = f"MODES, engine stopped {notes.mark(CRANK_SOURCE) if full else ''}".rstrip()
    turns = f"the engine turns {vibration.rpm[0]:.0f} to {vibration.rpm[-1]:.0f} rpm"
    return [head, Table(columns, rows), Paragraph(f"{turns}; a mode that is met just under idle shakes it at idle too")]


def _would_move(vibration: Vibration, trials: Mapping[str, Vibration]) -> list[Block]:
    units = vibration.route.layout.units
    columns = (
        *(Column("what would move it, each tried", left=True), Column("first mode Hz", drop=1)),
        *(Column("firing at rpm"), Column("largest swing N", force="N"), Column("least N", force="N")),
    )
    rows: list[list[Cell]] = []
    for words, each in {"as it stands": vibration, **trials}.items():
        at, least = f"{each.firing_rpm(each.first_Hz):.0f}", each.least_N if each.least_N > 0.0 else "slack"
        rows.append([in_units(words, units), f"{each.first_Hz:.1f}", at, each.widest_N, least])
    new = {words: counted(each.worse_than(vibration), "problem", "caution") for words, each in trials.items()}
    worse = "; ".join(f"{words}, {count}" for words, count in new.items() if count)
    more = [Paragraph(f"`check` then finds more against it: {worse}")] if worse else []
    return [Table(columns, rows), Paragraph(_TRIED), *more]


def _spans(vibration: Vibration, notes: Footnotes) -> list[Block]:
    columns = (
        Column("span", left=True),
        Column("Hz at idle"),
        Column("Hz at maximum"),
        Column("met at rpm", left=True),
    )
    own, rows = vibration.span_Hz, list[list[Cell]]()
    for i in range(len(vibration.route.pulleys)):
        met = ", ".join(f"{each.rpm:.0f} ({each.by})" for each in vibration.span_meetings(i))
        rows.append([vibration.route.circuit.span_name(i), f"{own[0, i]:.0f}", f"{own[-1, i]:.0f}", met or None])
    return [f"SPANS {notes.mark(FLAP_SOURCE)}", Table(columns, rows)]


def _assumed(vibration: Vibration, notes: Footnotes) -> list[Block]:
    evenly = "even firing: else, as in most V-twins, a mode is met at 120 x its Hz / 1, 2, 3 ... rpm too"
    told = [evenly] * (vibration.firings > 0.5)
    if vibration.route.layout.belt.loss_factor is None:
        told.append(f"how much the belt damps {notes.mark(LOSS_SOURCE)}: give `belt.loss_factor`")
    assumed, spread = assumed_inertias(vibration.route), spread_Hz(vibration)
    if spread is not None:
        each = ", ".join(f"{name} {value:g}" for name, value in assumed.items())
        source, doubled = notes.mark(f"{USUAL_SOURCE}; {CRANK_SOURCE}"), "All doubled or halved: first mode"
        told.append(f"inertias, kg m2 {source}: {each}. {doubled} {spread[0]:.0f} or {spread[1]:.0f} Hz")
    return ["ASSUMED", *(Paragraph(words, "  ", "    ") for words in told)] if told else []


# As JSON.


def vibration_json(vibration: Vibration, trials: Mapping[str, Vibration]) -> str:
    layout, route = vibration.route.layout, vibration.route
    own = vibration.span_Hz
    return json_text(
        {
            **head_of(layout),
            "not_judged": None,
            "modes": [*_modes_json(vibration, vibration.held), *_modes_json(vibration, vibration.free)],
            "keep_away": [fields_of(away, "low_rpm", "high_rpm", "because") for away in vibration.keep_away],
            "forced": list(_forced(vibration)),
            "spans": [
                {
                    "from": start.name,
                    "to": end.name,
                    "frequency_Hz": own[0, i].item(),
                    "met_at_rpm": [{"by": each.by, "rpm": each.rpm} for each in vibration.span_meetings(i)],
                }
                for i, (start, end) in enumerate(route.spans)
            ],
            "assumed_inertias": [{"name": name, "value": value} for name, value in assumed_inertias(route).items()],
            "trials": [_trial(words, after, vibration) for words, after in trials.items()],
            "findings": [finding_of(finding) for finding in vibration.findings],
            "caution": SAFETY,
        }
    )


def not_judged_json(layout: Layout, reason: str) -> str:
    empty = dict.fromkeys(("modes", "keep_away", "forced", "spans", "assumed_inertias", "trials", "findings"))
    return json_text({**head_of(layout), "not_judged": reason, **empty, "caution": SAFETY})


def _modes_json(vibration: Vibration, modes: Modes) -> Iterator[dict[str, Any]]:
    names, kind = [pulley.name for pulley in vibration.route.pulleys], "free" if modes.crank_free else "fixed"
    largest = np.abs(modes.shape[: len(names)]).max(axis=0)
    shape = modes.shape / np.where(largest > 0.0, largest, 1.0)
    on_arm = len(shape) > len(names) and is_arm(vibration.route.circuit)
    for number, hertz in enumerate(modes.frequency_Hz.tolist()):
        met = [vibration.met_at_rpm(hertz, harmonic) for harmonic in HARMONICS]
        yield {
            "frequency_Hz": hertz,
            "crank": kind,
            "shape": dict(zip(names, shape[:, number].tolist(), strict=False)),
            "arm_deg": float(shape[-1, number]) if on_arm else None,
            "met_at_rpm": [rpm for rpm in met if rpm is not None and hertz > 0.1],
            "moves": moves(vibration, modes, number),
        }


def _forced(vibration: Vibration) -> Iterator[dict[str, Any]]:
    shaken, names = vibration.shaken, [pulley.name for pulley in vibration.route.pulleys]
    grips = {condition: vibration.grip(condition).max(axis=-1) for condition in CONDITIONS}
    swing = np.degrees(shaken.swing)
    arm = None if shaken.adjuster is None or not is_arm(vibration.route.circuit) else np.degrees(shaken.adjuster)
    for duty, name in enumerate(vibration.operation.duties):
        for speed, rpm in enumerate(vibration.rpm.tolist()):
            for condition, grip in grips.items():
                used = float(grip[duty, speed])
                yield {
                    "rpm": rpm,
                    "duty": name,
                    "condition": condition,
                    "swing_deg": dict(zip(names, swing[duty, speed].tolist(), strict=True)),
                    "arm_deg": None if arm is None else float(arm[duty, speed]),
                    "tension_swing_N": float(shaken.span_swing_N[duty, speed].max()),
                    "least_tension_N": float(shaken.least_N[duty, speed].min()),
                    "grip_utilisation": used if np.isfinite(used) else None,
                }


def _trial(words: str, after: Vibration, before: Vibration) -> dict[str, Any]:
    return {
        "change": words,
        "frequency_Hz": after.first_Hz,
        "met_at_rpm": after.met_at_rpm(after.first_Hz),
        "tension_swing_N": after.widest_N,
        "least_tension_N": after.least_N,
        "new_findings": [finding_of(finding) for finding in after.worse_than(before)],
    }

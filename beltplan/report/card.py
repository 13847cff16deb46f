"""The fitter's card on one screen, in the order of the work, and as JSON: it reads the `Card`, and computes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from beltplan.checks.alignment import (
    THINNEST_MM,
    entry_angles_deg,
    is_measured,
    maximum_misalignment,
    misread_words,
    squaring_words,
    way_words,
)
from beltplan.checks.belt import no_belt_words
from beltplan.checks.card import LEAST_FOR_THE_EAR_MM, STEP_MM, Card, HubPull, Pointer, PuttingOn, Tensioning, at_rest
from beltplan.checks.limits import all_of
from beltplan.checks.plan import toward_deg
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.route import Route
from beltplan.report.answer import report_of, title_of
from beltplan.report.check_text import headline_beside
from beltplan.report.full_text import heat_words, load_cells, set_words
from beltplan.report.screen import Block, Cell, Column, Footnotes, Paragraph, Report, Table, known_columns
from beltplan.report.words import SAFETY, fields_of, head_of, json_text


def card_report(card: Card) -> Report:
    notes, layout = Footnotes(), card.plan.layout
    parts: list[list[Block]] = [
        [title_of(layout), Paragraph(headline_beside(card.plan, "do not fit it yet, "))],
        *card_parts(card, notes),
    ]
    return report_of(layout.units, parts, notes, full=False, more="")


def card_parts(card: Card, notes: Footnotes) -> list[list[Block]]:
    fit = [_told("FIT", " ".join(_fit(card))), *_pointer(card)]
    return [_line_up(card), fit, _tension(card, notes), _bracket(card)]


def _told(head: str, text: str) -> Paragraph:
    return Paragraph(text, f"{head:9}")


# Line up.


def _line_up(card: Card) -> list[Block]:
    pulleys = card.plan.route.pulleys
    unmeasured = [pulley.name for pulley in pulleys if pulley.plane_mm is None]
    if not is_measured(card.plan.route):
        across = f"lay a straightedge across {pulleys[0].name}, measure how far every other pulley stands off it"
        return [_told("LINE UP", f"{across}, and give that as its `plane`, + toward the viewer: no plane is given yet")]
    words = _shims(card)
    if unmeasured:
        words = f"first measure the plane of {all_of(unmeasured)}, here taken as 0. As it stands, {words}"
    grooves = [_told("GROOVES", _grooves(card))] if card.grooves else []
    planes = _planes(card)
    signed = any("!" in str(cell) for row in planes.rows for cell in row)
    return [_told("LINE UP", words), *grooves, planes, *(["! more askew than is recommended"] if signed else [])]


def _shims(card: Card) -> str:
    straight = "every span runs straight enough"
    if card.too_thin:
        less = f"out of line by less than the thinnest spacer, {THINNEST_MM:g} mm"
        straight += f", but for {' and '.join(card.too_thin)}, {less}"
    pulleys = card.plan.route.pulleys
    same = len({pulley.plane_mm for pulley in pulleys}) == 1 and not any(pulley.plane_by_grooves for pulley in pulleys)
    if same and not card.tilted:
        # As a starter file has them.
        across = f"lay a straightedge across {pulleys[0].name} to see"
        return (
            f"nothing to move if every `plane` is the same, as the file says: {across}. Planes: + is toward the viewer"
        )
    if not (card.shims_mm or card.tilted):
        return f"nothing to move: {straight}. Planes: + is toward the viewer"
    asked = misread_words(card.plan.layout, card.shims_mm)
    moves = [f"{asked}move {_moves(card, card.shims_mm)}"] if card.shims_mm else []
    steps = [*map(squaring_words, card.tilted), *moves]
    tilt = f". No shim cures a tilt: square {', '.join(p.name for p in card.tilted)} first" if card.tilted else ""
    return f"{'; '.join(steps)}. Then {straight}{tilt}"


def _moves(card: Card, shims_mm: dict[str, float]) -> str:
    """Spacers are sold by mm and by inches, so both are told, the file's own unit first."""
    steps = []
    for name, mm in shims_mm.items():
        both = f"{abs(mm):.2f} mm", f"{abs(mm) / MM_PER_INCH:.3f} in"
        first, beside = both if card.plan.layout.units == "mm" else both[::-1]
        steps.append(f"{name} {first} ({beside}) {way_words(mm)}")
    return "; ".join(steps)


def _grooves(card: Card) -> str:
    ribs = card.plan.layout.belt.ribs
    where = [f"grooves {first} to {first + ribs - 1} of {name}" for name, first in card.grooves.items()]
    keys = ", ".join(f"`first_groove_used: {first}`" for first in card.grooves.values())
    moves = _moves(card, card.grooved_shims_mm)
    left = f"then move only {moves}" if moves else "then nothing is to be moved"
    return f"it lines up best in {' and '.join(where)}, counted from the engine ({keys}): {left}"


def _planes(card: Card) -> Table:
    route, rows = card.plan.route, []
    leans = any(any(pulley.tilt_deg) for pulley in route.pulleys)
    alike = all(pulley.plane_mm is not None for pulley in route.pulleys) and not card.common_plane_mm
    for pulley, (start, end), angle in zip(route.pulleys, route.spans, entry_angles_deg(route).tolist(), strict=True):
        bound = maximum_misalignment(route.layout, start, end)
        plane: Cell = "not measured" if pulley.plane_mm is None else pulley.plane_mm
        off = (pulley.plane_mm or 0.0) - card.common_plane_mm
        askew = f"{angle:.2f}{'  ' if bound.verdict(angle) is None else ' !'}"
        tilt = [f"{deg:z.2f}" if leans else None for deg in pulley.tilt_deg]
        rows.append((pulley.name, None if alike else plane, off, *tilt, end.name, askew, f"{bound.ample:.2f}"))
    columns = (
        *(Column("pulley", left=True), Column("plane", decimals_mm=2)),
        Column(f"ahead of {card.plan.layout.driver.name}", decimals_mm=2),
        *(Column("tilt x deg", drop=4), Column("y", drop=4), Column("span to", left=True, drop=2)),
        *(Column("askew deg", drop=1), Column("recommended", drop=3)),
    )
    return known_columns(columns, rows)


# Put the belt on.


def _fit(card: Card) -> list[str]:
    route, on = card.plan.route, card.putting_on
    order = " - ".join(f"{row.name}{' (back)' * row.pulley.on_back}" for row in card.plan.pulleys)
    way = "clockwise" if route.circuit.turning < 0 else "counter-clockwise"
    first = f"{route.designation or 'the belt'}, {way} from the front: {order}."
    if on is not None:
        slip = f"Slip the belt over {on.last_over} last: {_slack(route, on)}"
        return [first, f"{_to_the_short_end(card, on)}.", f"{slip}."]
    if route.layout.belt.stretch_fit is None:
        return [first, "Without an adjuster an ordinary belt cannot be put on: add one, or take a stretch belt."]
    return [
        first,
        "No adjuster: turn the engine by hand and lead the belt on with its maker's tool; never lever it on.",
    ]


def _to_the_short_end(card: Card, on: PuttingOn) -> str:
    held = card.plan.route.circuit.adjuster
    if held is not None and held.kind == "slide":
        effort = "" if on.effort is None else f", against {on.effort:.0f} N"
        stops = zip(("from", "to"), held.travel, strict=True)
        stop = next((f"its short stop, `{key}`" for key, at in stops if abs(at - on.short) < _SAME), "")
        return f"Push {on.pulley} along its slide to {stop or f'{on.short:z.1f} mm past `from`'}{effort}"
    way = "counter-clockwise" if on.short > on.at else "clockwise"  # seen from the front
    effort = "" if on.effort is None else f", which takes {on.effort:.0f} Nm at its pivot and more for its friction"
    return f"Turn the arm of {on.pulley} {way} to {on.short:z.1f} deg{effort}"


def _slack(route: Route, on: PuttingOn) -> str:
    needs = f"it needs {on.needs_mm:.1f} mm of slack"
    if on.has_mm is None:
        return f"{needs}; {no_belt_words(route)}: `beltplan check` tells more"
    if on.has_mm < on.needs_mm:
        return f"{needs} and has only {on.has_mm:z.1f} mm, so it does not go over: a longer belt, or more travel"
    return f"{needs}; a belt of exactly its nominal length gives {on.has_mm:z.1f} mm"


# The pointer.

_SAME = 1e-6


def _pointer(card: Card) -> list[Block]:
    pointer = card.pointer
    if pointer is None:
        return []
    shorter, longer = (
        f"{setting:z.1f} {pointer.unit}{' and no further' if abs(setting - end) < _SAME else ''}"
        for setting, end in zip((pointer.shorter, pointer.longer), pointer.ends, strict=True)
    )
    others = f"A belt {STEP_MM:g} mm shorter puts it at {shorter}, {STEP_MM:g} mm longer at {longer}"
    short, long = ("the short stop", "the long stop") if pointer.marks is None else ("`new`", "`worn`")
    step, unit = ("mm", "mm") if card.plan.layout.units == "mm" else ("inch", "in")
    way, per = ("degree", "mm") if pointer.is_arm else (f"{step} along the slide", unit)
    taken = f"{pointer.take_up_mm:.2f}"
    counts = f" If it stands elsewhere, each {way} is {taken} {per} of belt." if float(taken) else ""
    ways = f"Nearer {long} the belt is longer or has stretched; nearer {short} it is shorter or laid wrong"
    return [_told("POINTER", f"{_stands(card, pointer)}. {others}.{counts} {ways}.")]


def _stands(card: Card, pointer: Pointer) -> str:
    names = _ends(pointer) if pointer.marks is None else ("mark `new`", "mark `worn`")
    past, left = pointer.past_first, pointer.to_last
    what = "the arm" if pointer.is_arm or card.plan.adjuster is None else card.plan.adjuster.pulley.name
    at = f"under tension, engine stopped, {what} stands "
    if pointer.is_arm:
        at += f"at {pointer.at:z.1f} deg, "
    elif not any("`from`" in name for name in names):
        at += f"{pointer.at:z.1f} mm past `from`, "
    return (
        f"{at}{_apart(pointer, past)} {'past' if past >= 0.0 else 'before'} the {names[0]}, "
        f"{_apart(pointer, left)} {'short of' if left >= 0.0 else 'past'} the {names[1]}"
    )


def _ends(pointer: Pointer) -> tuple[str, ...]:
    """What it is read against: the stops, or where the usable travel ends before them."""
    each = zip(("short", "long"), pointer.ends, pointer.stops, strict=True)
    return tuple(
        f"{way} stop{'' if pointer.is_arm or abs(end) >= _SAME else ' (`from`)'}"
        if abs(end - stop) < _SAME
        else f"{way} end of the usable travel, {end:z.1f} {pointer.unit} (the file's stop is at {stop:z.1f})"
        for way, end, stop in each
    )


def _apart(pointer: Pointer, apart: float) -> str:
    rim = pointer.along_rim_mm(abs(apart))
    return f"{abs(apart):.1f} {pointer.unit}" + ("" if rim is None else f" ({rim:.1f} mm along its rim)")


# The tension.


def _tension(card: Card, notes: Footnotes) -> list[Block]:
    tension = card.tension
    if tension is None:
        return [_told("TENSION", f"not known, nor what pulls on the brackets: {card.not_known}")]
    cold = "engine stopped and cold" if card.plan.layout.block is not None else "engine stopped"
    words = f"set by hand, the same in every span, {cold}; turn the engine over by hand before each reading"
    words, again = words + heat_words(card.plan, notes), card.plan.again
    if tension.settled is not None:
        words = set_words(at_rest(card.plan), tension.settled, notes)
    elif tension.levels[1].tension_N < max(tension.levels[2].tension_N, again.set_N if again else 0.0):
        usual = card.plan.usual_tension
        words += f". `tension_N` is too low, and so are the pulls below: set the usual {usual}"
    columns = (
        *(Column("tension", left=True), Column("N a span", force="N"), Column("N a rib", drop=1, force="N")),
        *(Column("dip", decimals_mm=1), Column("tone Hz"), Column("", left=True)),
    )
    rows = list[Sequence[Cell]]()
    for level in tension.levels:
        tone = None if level.tone_Hz is None else f"{level.tone_Hz:.0f}"
        rows.append((level.name, level.tension_N, level.rib_N, level.deflection_mm, tone, notes.mark(level.source)))
    ways = " ".join(f"{each}." for each in _shown_by(tension, notes))
    return [_told("TENSION", words), known_columns(columns, rows), *([Paragraph(ways)] if ways else [])]


_STIFF = "a span is stiff, so a short one sounds higher: some 15 % at 91 mm of a 6PK; from memory, low confidence"


def _shown_by(tension: Tensioning, notes: Footnotes) -> list[str]:
    first, told = tension.levels[0], []
    span = f"{tension.span[0]} to {tension.span[1]} ({tension.span_mm:.1f} mm)"
    press = [f"press it with {tension.press_N:g} N and read how far it dips"] * (first.deflection_mm is not None)
    ways = [*press, *(["pluck it and read its tone"] * (first.tone_Hz is not None))]
    if ways:
        told.append(f"In the middle of the longest span, {span}, {', or '.join(ways)}")
    if tension.gentle_N is not None:
        told.append(f"{tension.press_N:g} N is too much across {span}: take `--press {tension.gentle_N:g}`")
    elif not tension.stretch_known:
        told.append("It dips less than that, by what the belt stretches: see `beltplan words stiffness_N`")
    if first.tone_Hz is None and tension.span_mm >= LEAST_FOR_THE_EAR_MM:
        told.append("For its tone give `belt.mass_kg_per_m`")
    if tension.short:
        names = ", ".join(f"{start} to {end}" for start, end, _ in tension.short)
        told.append(f"Too short for the ear, under {LEAST_FOR_THE_EAR_MM:.0f} mm {notes.mark(_STIFF)}: {names}")
    return told


# What pulls on the brackets.


def _bracket(card: Card) -> list[Block]:
    if not card.hubs:
        return []
    columns = (
        *(Column("pulley", left=True), Column("stopped N", force="N"), Column("toward")),
        *(Column("usual N", force="N"), Column("toward"), Column("at rpm", drop=1), Column("max N", force="N")),
    )
    words = "each must hold max, the most that the belt pulls on its hub. Usual: the highest at the tension set. "
    words += "Toward: degrees, 0 right, 90 up"
    if card.tension is not None and card.tension.settled is None:
        new, run_in, _, *heated = card.tension.levels
        tightest = max((new, *heated), key=lambda level: level.tension_N)
        times = f"{tightest.tension_N / run_in.tension_N:.1f} times as tight"
        words += f". Max: {tightest.name}, {times} as run in; the other pulls: run in"
    running, rows = any(hub.rpm is not None for hub in card.hubs), list[Sequence[Cell]]()
    for hub in card.hubs:
        rpm = "stopped" if hub.rpm is None else f"{hub.rpm:.0f}"
        highest = (*load_cells(hub.highest_N), rpm) if running else (None, None, None)
        rows.append((hub.pulley.name, *load_cells(hub.stopped_N), *highest, hub.high_end_N))
    bent = [hub for hub in card.hubs if hub.moments_Nm is not None]
    return [_told("BRACKET", words), known_columns(columns, rows), *([_moments(bent)] if bent else [])]


def _moments(hubs: Sequence[HubPull]) -> Table:
    columns = (
        *(Column("bearing or nose", left=True), Column("overhang", decimals_mm=1)),
        *(Column("moment Nm", force="Nm"), Column("max Nm", force="Nm"), Column("allowed Nm", force="Nm")),
        Column("", left=True),
    )
    rows = list[Sequence[Cell]]()
    for hub in hubs:
        (moment, high), most = hub.moments_Nm or (0.0, 0.0), hub.pulley.max_moment_Nm
        allowed, over = ("ask its maker", "") if most is None else (most, "!" * (high > most))
        rows.append((hub.pulley.name, hub.pulley.overhang_mm, moment, high, allowed, over))
    return Table(columns, rows)


# As JSON: always mm, deg, N, Nm and Hz; what is unknown is null.


_Object = dict[str, Any]


def card_json(card: Card) -> str:
    """The card as JSON text in plain ASCII.

    line_up: move_mm is 0 where a pulley stays, + toward the viewer. fitting, pointer: null without an adjuster.
    past_new_mm, to_worn_mm: along the rim. high_end: at the high end of the tension. rpm: null where stopped.
    """
    return json_text(
        {
            **head_of(card.plan.layout, card.plan.verdict),
            "belt": card.plan.route.designation,
            "line_up": _line_up_json(card),
            "turns": "clockwise" if card.plan.route.circuit.turning < 0 else "counterclockwise",
            "route": [{"name": row.name, "belt_side": row.pulley.belt_side} for row in card.plan.pulleys],
            "fitting": None if card.putting_on is None else _fitting_json(card, card.putting_on),
            "pointer": None if card.pointer is None else _pointer_json(card.pointer),
            "not_known": card.not_known,
            "tension": None if card.tension is None else _tension_json(card.tension),
            "hubs": [_hub_json(hub) for hub in card.hubs],
            "caution": SAFETY,
        }
    )


def _line_up_json(card: Card) -> _Object:
    rows = [
        {
            **fields_of(pulley, "name", "plane_mm"),
            "off_mm": (pulley.plane_mm or 0.0) - card.common_plane_mm,
            "move_mm": card.shims_mm.get(pulley.name, 0.0),
            "first_groove_used": pulley.first_groove_used,
            "best_first_groove": card.grooves.get(pulley.name, pulley.first_groove_used),
            "tilt_deg": list(pulley.tilt_deg),
            "set_square": pulley in card.tilted,
        }
        for pulley in card.plan.route.pulleys
    ]
    return {"common_plane_mm": card.common_plane_mm, "pulleys": rows}


def _fitting_json(card: Card, on: PuttingOn) -> _Object:
    is_arm = card.plan.adjuster is not None and card.plan.adjuster.is_arm
    kind, unit, spring = ("arm", "deg", "spring_Nm") if is_arm else ("slide", "mm", "spring_N")
    return {
        "adjuster": on.pulley,
        "kind": kind,
        **fields_of(on, "last_over", "needs_mm", "has_mm"),
        "unit": unit,
        **fields_of(on, "at", "short"),
        spring: on.effort,
    }


def _pointer_json(pointer: Pointer) -> _Object:
    marked = pointer.marks is not None
    past, left = (pointer.along_rim_mm(each) if marked else None for each in (pointer.past_first, pointer.to_last))
    return {
        **fields_of(pointer, "unit", "at"),
        **dict(zip(("short", "long"), pointer.ends, strict=True)),
        "marks": None if pointer.marks is None else dict(zip(("new", "worn"), pointer.marks, strict=True)),
        "radius_mm": pointer.radius_mm,
        "past_new_mm": past,
        "to_worn_mm": left,
        "step_mm": STEP_MM,
        **fields_of(pointer, "shorter", "longer", "take_up_mm"),
    }


def _tension_json(tension: Tensioning) -> _Object:
    told = ("name", "tension_N", "rib_N", "tension_lbf", "deflection_mm", "tone_Hz", "source")
    return {
        "span": _span(*tension.span, tension.span_mm),
        **fields_of(tension, "press_N", "gentle_N", "stretch_known"),
        "not_by_ear": [_span(*each) for each in tension.short],
        "levels": [fields_of(level, *told) for level in tension.levels],
    }


def _span(start: str, end: str, length_mm: float) -> _Object:
    return {"from": start, "to": end, "length_mm": length_mm}


def _hub_json(hub: HubPull) -> _Object:
    moment, high = hub.moments_Nm or (None, None)
    return {
        "name": hub.pulley.name,
        "stopped_N": hub.stopped_N.tolist(),
        "highest_N": hub.highest_N.tolist(),
        **fields_of(hub, "pull_N", "high_end_N"),
        "toward_deg": toward_deg(hub.highest_N),
        "rpm": hub.rpm,
        "overhang_mm": hub.pulley.overhang_mm,
        "moment_Nm": moment,
        "high_end_Nm": high,
        "max_moment_Nm": hub.pulley.max_moment_Nm,
    }

"""What `check --full` adds: the adjuster, the belts that fit, spans, tension, slip and hub loads."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np

from beltplan.checks.belt import none_can_be_put_on, unlisted_words
from beltplan.checks.card import settled_at
from beltplan.checks.every_check import new_words
from beltplan.checks.lengths import findings_with, worse_with
from beltplan.checks.limits import all_of
from beltplan.checks.plan import Plan, SetTension, toward_deg
from beltplan.checks.slip import slackened, used_words
from beltplan.drive.belt import MM_PER_INCH, designation_inches, format_designation, length_words
from beltplan.drive.fit import (
    BUILT_IN_SOURCE,
    FittedBelt,
    adjuster_word,
    built_in_lengths_mm,
    is_sprung,
    left_words,
    setting_words,
)
from beltplan.drive.layout import Layout
from beltplan.drive.loads import ALTERNATOR_SOURCE, OUTPUT_SOURCE, OUTPUT_WORDS, AlternatorLoad, PumpLoad, load_words
from beltplan.drive.mechanics import CONDITIONS, friction_of, wedge_of
from beltplan.drive.operation import HEAT_SOURCE, WANTED_USE, Again, TensionCure, heat_N
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Arm, Pulley, stops_words
from beltplan.drive.route import Route
from beltplan.drive.travel import END_WORDS
from beltplan.geometry.vectors import Floats
from beltplan.report.screen import Block, Cell, Column, Footnotes, Paragraph, Table, known_columns
from beltplan.report.words import pitch_line_source

_MOST_BELTS = 8
_LEAST_WINDOW_MM = 0.1
"""A window narrower than this is no window."""


def full_blocks(plan: Plan, notes: Footnotes) -> dict[str, list[Block]]:
    return {
        "frame": [Paragraph(_frame(plan))],
        "adjuster": _adjuster(plan),
        "belts": _belts(plan),
        "spans": _spans(plan),
        "tension": [Paragraph(_tension(plan, notes), "TENSION  ")],
        "slip": _slip(plan),
        "hubs": _hubs(plan),
        "bolted": _bolted(plan.layout),
    }


def _frame(plan: Plan) -> str:
    belt = plan.layout.belt
    words = (
        "Seen from the front: x right, y up; cw is clockwise. Runs on: the side of the belt. Wrap in degrees, belt at "
        "measuring tension, against its minimum; ratio to the driver's speed, without creep."
    )
    if belt.profile.is_automotive:
        depth = f"{-belt.pitch_line_mm:.1f} mm under the rim [{pitch_line_source(belt)}]"
        words += f" Ratios are about: the cord of {belt.profile.name} is taken {depth}."
    if plan.belt_speed_m_per_s is not None:
        words += f" The belt runs {plan.belt_speed_m_per_s:.1f} m/s at {plan.layout.engine.max_rpm:g} rpm."
    return words


# The adjuster: how far it goes, where the belt puts it, how the belt goes on.


def _adjuster(plan: Plan) -> list[Block]:
    window, adjuster = plan.route.window, plan.adjuster
    if window is None or adjuster is None:
        return []
    head = adjuster_word(plan.route.circuit).upper()
    held = f"{'arm' if adjuster.is_arm else 'slide'}, {'sprung' if adjuster.sprung else 'locked by hand'}"
    usable = window.longest - window.shortest > _LEAST_WINDOW_MM
    lengths = partial(length_words, plan.layout.belt.profile, inches=True)
    path = lengths(window.shortest, window.longest)
    travel = f"path {path} over its travel" if usable else "no usable travel at its setting"
    needed = plan.route.needed_mm
    travel += "" if needed is None else f"; at its design setting {lengths(needed)}"
    fitting = f"fit the belt over {plan.route.last_over} last: it needs {window.fitting:.1f} mm of slack"
    arm = adjuster.pulley.adjuster
    points = f"its arm points {stops_words(arm)}" if isinstance(arm, Arm) else ""
    lines = [*filter(None, (f"{adjuster.pulley.name}, {held}: {travel}", points, _stands(plan))), fitting]
    return [head, *(Paragraph(text, "  ", "    ") for text in lines)]


def _stands(plan: Plan) -> str:
    adjuster, route = plan.adjuster, plan.route
    if adjuster is None or route.setting is None or route.travel is None:
        return ""
    taken = "{:.2f} mm of belt a degree" if adjuster.is_arm else "belt by {:.2f} times its own way"
    best = f"({adjuster.take_up_percent:.0f} % of what a well placed one would)"
    taken = taken.format(adjuster.take_up_mm)
    settled = settled_at(plan)
    at = f"{setting_words(route.circuit, settled)}, {left_words(route.circuit, route.travel, settled)}"
    return f"under tension, engine stopped, it stands at {at}; it takes up {taken} {best}"


# The belts that fit, best first.


def _belts(plan: Plan) -> list[Block]:
    route = plan.route
    profile, shown = route.layout.belt.profile, route.stock[:_MOST_BELTS]
    source = "" if route.layout.stock is not None else f" ({BUILT_IN_SOURCE})"
    if not shown:
        unlisted = source and not built_in_lengths_mm(profile.name)
        return [
            Paragraph(
                f"{unlisted_words(profile)}: ask your supplier" if unlisted else "none on the list" + source, _HEAD
            )
        ]
    if none_can_be_put_on(route):
        near = ", ".join(fitted.designation for fitted in shown)
        return [Paragraph(f"none without an adjuster; nearest to this path: {near}{source}", _HEAD)]
    more = len(route.stock) - len(shown)
    reserves = [(fitted.designation, designation_inches(fitted.belt), fitted.reserve_mm) for fitted in shown]
    without = Table((*_BELT, Column("reserve", decimals_mm=1)), reserves)
    return [
        Paragraph("best first" + source, _HEAD),
        _with_adjuster(plan, shown) if route.window else without,
        *([f"and {more} more"] if more > 0 else []),
        Paragraph(_tolerance(route)),
    ]


_HEAD = "BELTS THAT FIT  "
_BELT = (Column("belt", left=True), Column("in", drop=2))


def _with_adjuster(plan: Plan, shown: tuple[FittedBelt, ...]) -> Table:
    columns = (
        *(*_BELT, Column("position", drop=1), Column("short reserve", decimals_mm=1)),
        *(Column("long reserve", decimals_mm=1), Column("", left=True)),
    )
    rows = []
    for fitted in shown:
        reserves = fitted.short_reserve_mm, fitted.long_reserve_mm
        lacks = (words for words, mm in zip(("hard to put on", "no room for wear"), reserves, strict=True) if mm < 0.0)
        new = worse_with(findings_with(plan.route, fitted.belt), plan) if fitted.verdict == "good" else []
        position = None if fitted.position is None else f"{100 * fitted.position:.0f} %"
        fits = ", but ".join(filter(None, ("fits", " and ".join(lacks), new_words(new))))
        told = (round(mm, 1) for mm in reserves)  # so that inches are those of the mm that `check` tells
        rows.append((fitted.designation, designation_inches(fitted.belt), position, *told, fits))
    return Table(columns, rows)


def _tolerance(route: Route) -> str:
    tolerance = route.layout.belt.tolerance_of(route.length_mm)
    words, belt = f"Length tolerance {tolerance:.1f} mm either way. ", route.stock[0].belt
    if belt.length_kind == "inside" and belt.length_mm is not None:
        number = f"{belt.length_mm / MM_PER_INCH:.1f}".removesuffix(".0")
        words += f"Sold by inside inches: {format_designation(belt)} is {belt.profile.name}{number}. "
    if route.window is not None:
        growth = route.window.growth
        words += f"Reserve: travel left to the short or long stop after tolerance, fitting slack, {growth.words}. "
        if growth.set is None:
            words += "Stretch to the set tension is not counted: `belt.stiffness_N` is not known. "
    return words + "Lengths are at the belt's measuring tension; a tensioned belt is a little longer."


# Spans, and their tones.

_SHORT_SPANS = (
    "Tone: plucked, engine stopped. A short span sounds higher, for it is stiff: some 15 % at 91 mm of a 6PK, 5 % at "
    "233 mm (from memory, low confidence). Min and max: the lowest and the highest tension that it comes to, running "
    "or stopped."
)


def _spans(plan: Plan) -> list[Block]:
    known, rows = plan.operation is not None, list[Sequence[Cell]]()
    for span in plan.spans:
        # A belt cannot push: below nothing a span hangs slack.
        low = "slack" if span.low_N is not None and span.low_N < 0.0 else span.low_N
        tone = None if span.hertz is None else f"{span.hertz:.0f}"
        rows.append((f"{span.start} to {span.end}", span.length_mm, tone, low, span.high_N))
    columns = (
        *(Column("span", left=True), Column("length", decimals_mm=1), Column("tone Hz", drop=1)),
        *(Column("min N", drop=2, force="N"), Column("max N", drop=2, force="N")),
    )
    told = Table(columns, rows) if known else Table(columns[:2], [row[:2] for row in rows])
    return [told, *([Paragraph(_SHORT_SPANS)] if known else [])]


# Tension: what to set, or what the spring gives.

_BEYOND = ": do not rely on this tension, past there nothing holds the belt tight"


def _tension(plan: Plan, notes: Footnotes) -> str:
    return f"not judged: {plan.not_judged}" if plan.tension is None else set_words(plan, plan.tension, notes)


def set_words(plan: Plan, tension: SetTension, notes: Footnotes) -> str:
    return _span_words(plan, tension, notes) + heat_words(plan, notes) + _read_words(plan)


def _read_words(plan: Plan) -> str:
    adjuster = None if plan.adjuster is None else plan.adjuster.pulley.adjuster
    if adjuster is None or adjuster.spring is None or adjuster.spring.readings is None:
        return ""
    read, spring = adjuster.spring.readings, adjuster.spring
    way = "less" if read.slope_Nm_per_deg <= 0.0 else "more"
    fit = f"they lie up to {read.off_Nm:.2f} Nm off that line" if len(read.rows) > 2 else "a third angle would check it"
    return (
        f". Its spring is the line through {len(read.rows)} `readings` of the file: {read.torque_Nm:.4g} Nm at "
        f"{spring.at_deg:.4g} deg, {spring.rate_Nm_per_deg:.3g} {way} a degree; {fit}; damping ratio "
        f"{200.0 * read.friction:.0f} %, half of which is the {100.0 * read.friction:.0f} % friction, one way"
    )


def _span_words(plan: Plan, tension: SetTension, notes: Footnotes) -> str:
    each = f"{tension.each_N:.0f} N in every span, engine stopped"
    if tension.rib_N is not None:
        # Of so little the pounds are told to a tenth, from what is read here.
        each += f", {tension.rib_N:.{0 if tension.rib_N >= 100.0 else 1}f} N a rib"
    if tension.end is not None:
        end, setting = tension.end
        stretched = end in ("stop", "shortest path")
        why = ", and the belt's stretch sets the tension, not the spring" if stretched else _BEYOND
        return f"{each}: the tensioner {END_WORDS[end]}, at {setting_words(plan.route.circuit, setting)}{why}"
    if tension.band_N is not None:
        low, high = tension.band_N
        arm = "arm" if plan.adjuster is not None and plan.adjuster.is_arm else "slide"
        share, source = tension.friction
        friction = f"{100 * share:.0f} % friction in the {arm} {notes.mark(source)}"
        return f"{each}; {low:.0f} to {high:.0f} N with {friction}"
    return each + ("" if tension.source is None else f"; not given, so assumed {notes.mark(tension.source)}")


def heat_words(plan: Plan, notes: Footnotes) -> str:
    block, heat = plan.layout.block, heat_N(plan.layout, plan.route.circuit)
    if block is None or heat is None:
        return (
            "" if block is None or plan.set_by_hand else "; `block` is of no use here: it counts for a belt set by hand"
        )
    assumed = " (assumed)" if block.rise_assumed else ""
    way = f"{abs(block.rise_K):g} K {'hotter' if block.rise_K >= 0.0 else 'colder'}{assumed}"
    more = f"{abs(heat):.0f} N {'more' if heat >= 0.0 else 'less'}"
    return f"; with the {block.material} block {way} {more} {notes.mark(HEAT_SOURCE)}"


# Slip, pulley by pulley.

_FRICTION_WORDS = (
    "Friction varies by a factor of two with wear, water and dust: go by the wet column, with margin. The strength of "
    "brackets and bolts is for a qualified person."
)
_SPRING = {
    "spring torque": (1000.0, ("torque_Nm", "rate_Nm_per_deg"), "deg"),
    "spring force": (1.0, ("force_N", "rate_N_per_mm"), "mm"),
}
"""By what sets the tension: the scale to the layout's unit, its two keys there, and the unit of `at`."""


def _slip(plan: Plan) -> list[Block]:
    if plan.operation is None:
        return []
    if not plan.slip:
        return ["no pulley has a `load`: slip is not judged"]
    columns = (
        *(Column("slip", left=True), Column("worst duty", left=True, drop=2), *map(Column, CONDITIONS)),
        *(Column("wet low"), Column("revving"), Column("at rpm"), Column("torque Nm", drop=1, force="Nm")),
    )
    rows: list[list[Cell]] = []
    for row in plan.slip:
        points = (*row.points, row.low, row.revving)
        uses = [None if point is None else used_words(point.utilisation) for point in points]
        duty = plan.operation.duties[row.wet.duty]
        rows.append([row.pulley, duty, *uses, f"{row.wet.rpm:.0f}", row.torque_Nm])
    loads = ((pulley.name, pulley.own_load) for pulley in plan.route.pulleys)
    given = [f"{name} {load_words(load)}" for name, load in loads if load is not None]
    assumed: dict[str, list[str]] = {}
    for pulley in plan.route.pulleys:
        for words in _assumed_of(pulley):
            assumed.setdefault(words, []).append(pulley.name)
    power, rate, aside = f"Most power {plan.power_kW:.1f} kW.", plan.layout.engine.rev_up_rpm_per_s, ""
    if plan.operation.ends is not None:
        aside = f" Wet low: wet, {slackened(plan.operation.ends[0])[0]}."
    if any(used_words(np.inf) in row for row in rows):
        aside += " Slack: a span beside it hangs slack, so that it has no grip to use."
    if plan.revving and rate is not None:
        aside += f" Revving: wet, while the engine speeds up or slows down by {rate:g} rpm a second."
    return [
        known_columns(columns, rows),
        Paragraph(f"Grip used at the worst steady speed and duty (1 slips; twice the wrap halves it).{aside} {power}"),
        Paragraph(_friction_words(plan), "  "),
        *([Paragraph(f"loads as read: {'; '.join(given)}", "  ")] if given else []),
        *(Paragraph(f"assumed for {', '.join(names)}: {words}", "  ") for words, names in assumed.items()),
        *(Paragraph(_cure_words(*cure, plan.again), "  ") for cure in plan.cures),
    ]


def _friction_words(plan: Plan) -> str:
    belt, pulleys = plan.layout.belt, [plan.route.pulleys[row.index] for row in plan.slip]
    # By the belt's side: pulleys on one side have one friction.
    sides = {"on the belt's back" if each.on_back else "in the grooves": each for each in pulleys}
    told = (
        f"{', '.join(f'{friction_of(belt, each, condition):.2f}' for condition in CONDITIONS)} {where}"
        for where, each in sides.items()
    )
    assumed = [condition for condition in CONDITIONS if getattr(belt.friction, condition) is None]
    which = f"{all_of(assumed)} " * (len(assumed) < len(CONDITIONS))
    usual = f"{which}assumed (from where: `beltplan words {belt.profile.name}`); give `belt.friction`"
    back = any(each.on_back for each in pulleys) and len(assumed) < len(CONDITIONS)
    wedged = f"; a given one counts {wedge_of(belt):.2f} times on the back" * back
    return f"friction ({', '.join(CONDITIONS)}): {'; '.join(told)}; {usual if assumed else 'as given'}{wedged}"


def _assumed_of(pulley: Pulley) -> list[str]:
    load, words = pulley.load, list[str]()
    if pulley.usual_load is not None:
        words.append(f"load {pulley.usual_load.words} [{pulley.usual_load.source}]; give its power as `load`")
    if isinstance(load, AlternatorLoad) and "output" in load.assumed:
        words.append(f"output {OUTPUT_WORDS} [{OUTPUT_SOURCE}]; give `output` from its sheet")
    if isinstance(load, AlternatorLoad | PumpLoad) and "efficiency" in load.assumed:
        source = ALTERNATOR_SOURCE if isinstance(load, AlternatorLoad) else PRACTICE
        words.append(f"efficiency {load.efficiency:g} [{source}]; give `efficiency`")
    return words


def _cure_words(cure: TensionCure, stood: bool, again: Again | None) -> str:
    if cure.preload_factor is None or cure.times is None:
        return f"{cure.condition}: no {cure.holds} brings it to {WANTED_USE:g}: more wrap, or the adjuster elsewhere"
    done = f"would bring it to {WANTED_USE:g}{': a shorter belt' if cure.holds == 'belt tension' else ''}"
    but = "; but the belt does not stand it" if not stood else ", but not wet low" if again else ""
    if cure.at is None or cure.rate is None:
        wanted = cure.preload_factor * cure.now
        return f"{cure.condition}: a {cure.holds} of {wanted:.4g} N (now {cure.now:.4g}) {done}{but}"
    scale, names, unit = _SPRING[cure.holds]
    now = (cure.now / scale, cure.rate / scale)
    torque, rate = (f"{name} {cure.times * was:.4g} (now {was:.4g})" for name, was in zip(names, now, strict=True))
    at = f"{torque} at {cure.at:g} {unit}, {rate}"
    return f"{cure.condition}: a spring {cure.times:.2f} times as strong {done}: {at}{but}"


# What pulls on every hub.


def _hubs(plan: Plan) -> list[Block]:
    if plan.operation is None:
        return []
    columns = (
        *(Column("hub load", left=True), Column("stopped N", force="N"), Column("toward", drop=1)),
        *(Column("running N", force="N"), Column("toward"), Column("max N", force="N")),
    )
    rows = [(hub.pulley, *load_cells(hub.stopped_N), *load_cells(hub.running_N), hub.high_N) for hub in plan.hubs]
    new = " (new)" * plan.set_by_hand
    words = f"Running: at the tension set. Max: with the belt at its tightest{new}. Toward: degrees, 0 right, 90 up."
    if plan.adjuster is not None and plan.adjuster.is_arm:
        words += " The arm's pivot carries the load on its pulley's hub."
    sprung = " Keep clear of a sprung arm." if is_sprung(plan.route.circuit) else ""
    return [Table(columns, rows), Paragraph(f"{words} {_FRICTION_WORDS}{sprung}")]


def load_cells(load: Floats) -> tuple[float, str]:
    return float(np.hypot(load[0], load[1])), f"{toward_deg(load):.0f}"


# What is drilled or measured from: holes, slots and marks.


def _bolted(layout: Layout) -> list[Block]:
    bolts = ((name, *each) for name, pulley in layout.pulleys.items() for each in pulley.mounted.bolts)
    rows: list[tuple[Cell, ...]] = [(f"{name} {hole}", *at, size, None) for name, hole, at, size in bolts]
    rows += [(f"mark {mark.name}", *mark.at_mm, None, mark.uncertainty_mm) for mark in layout.marks]
    heads = ("x", "y", "diameter", "+-")
    columns = (Column("hole or mark", left=True), *(Column(head, decimals_mm=2) for head in heads))
    return [known_columns(columns, rows)] if rows else []

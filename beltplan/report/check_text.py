"""The terminal report: verdict first, then findings, pulleys, adjuster, belts, tension, cautions."""

from __future__ import annotations

import numpy as np

from beltplan.checks.belt import NONE_GOOD, none_can_be_put_on, unlisted_words
from beltplan.checks.limits import Finding, demanded
from beltplan.checks.plan import Adjusted, Plan, SetTension, Slip
from beltplan.drive.belt import MM_PER_INCH, designation_inches, format_designation, length_words
from beltplan.drive.fit import BUILT_IN_SOURCE, FittedBelt, built_in_lengths_mm, is_sprung
from beltplan.drive.loads import ALTERNATOR_SOURCE, OUTPUT_SOURCE, OUTPUT_WORDS, AlternatorLoad, Load, PumpLoad
from beltplan.drive.mechanics import CONDITIONS, DAMPING, SOURCES
from beltplan.drive.operation import WANTED_USE, Cure
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.drive.travel import END_WORDS
from beltplan.geometry.vectors import Floats
from beltplan.report.words import SAFETY, paragraph, pitch_line_source, role_words, table

_MOST_ROWS = 8


def _belts_lines(route: Route) -> list[str]:
    profile = route.layout.belt.profile.name
    source = "" if route.layout.stock is not None else f" ({BUILT_IN_SOURCE})"
    if not route.stock and source and not built_in_lengths_mm(profile):
        return paragraph(f"{unlisted_words(route.layout.belt.profile)}: ask your supplier", "BELTS THAT FIT  ")
    if not route.stock:
        return paragraph("none on the list" + source, "BELTS THAT FIT  ")
    shown, more = route.stock[:_MOST_ROWS], len(route.stock) - _MOST_ROWS
    if none_can_be_put_on(route):
        near = ", ".join(fitted.designation for fitted in shown)
        return paragraph(f"none without an adjuster; nearest to this path: {near}{source}", "BELTS THAT FIT  ")
    tail = [f"and {more} more"] if more > 0 else []
    head = paragraph("best first" + source, "BELTS THAT FIT  ")
    return [*head, *(_adjusted(shown) if route.window else _fixed(shown)), *tail, *_tolerance(route)]


def _adjusted(shown: tuple[FittedBelt, ...]) -> list[str]:
    rows = [
        [
            *_belt_cells(fitted),
            "-" if fitted.position is None else f"{100 * fitted.position:.0f} %",
            f"{fitted.short_reserve_mm:+.1f} mm",
            f"{fitted.long_reserve_mm:+.1f} mm",
        ]
        for fitted in shown
    ]
    return table(["belt", "judged", "in", "position", "short reserve", "long reserve"], rows, left=2)


def _fixed(shown: tuple[FittedBelt, ...]) -> list[str]:
    rows = [[*_belt_cells(fitted), f"{fitted.reserve_mm:+.1f} mm"] for fitted in shown]
    return table(["belt", "judged", "in", "in hand"], rows, left=2)


def _belt_cells(fitted: FittedBelt) -> list[str]:
    return [fitted.designation, fitted.judged, designation_inches(fitted.belt)]


def _sold_as(route: Route) -> str:
    """How classical belts are asked for: by their inside length in inches."""
    belt = route.stock[0].belt
    if belt.length_kind != "inside" or belt.length_mm is None:
        return ""
    number = f"{belt.length_mm / MM_PER_INCH:.1f}".removesuffix(".0")
    return f"Sold by inside inches: {format_designation(belt)} is {belt.profile.name}{number}. "


def _tolerance(route: Route) -> list[str]:
    tolerance = route.layout.belt.tolerance_of(route.length_mm)
    words = f"Length tolerance {tolerance:.1f} mm either way. "
    words += _sold_as(route)
    if route.window is not None:
        growth = route.window.growth
        words += f"Reserves are what is left of the travel after tolerance, fitting slack, {growth.words}. "
        if growth.set is None:
            words += "Stretch to the set tension is left out, for `belt.stiffness_N` is not known. "
    return paragraph(words + "All lengths at the belt's measuring tension; a tensioned belt is a little longer.")


# The tension section of the terminal report: what to set, what slips, what the brackets must hold.

_FRICTION_WORDS = (
    "Friction varies by a factor of two with wear, water and dust: judge by the wet column and leave some in hand. The "
    "strength of brackets and bolts is for a qualified person."
)

_SHORT_SPANS = (
    "A short one sounds higher than that, for it is stiff: by some 15 % at 91 mm of a 6PK, 5 % at 233 mm (from memory, "
    "low confidence)."
)
_BEYOND = ": do not rely on this tension, past there nothing holds the belt tight"
_SPRING = {
    "spring torque": (1000.0, ("torque_Nm", "rate_Nm_per_deg"), "deg"),
    "spring force": (1.0, ("force_N", "rate_N_per_mm"), "mm"),
}
"""By what sets the tension: the scale to the layout's unit, its two keys there, and the unit of `at`."""


def tension_lines(plan: Plan) -> list[str]:
    """The section's lines; why there are no figures, where there are none."""
    if plan.tension is None:
        return paragraph(f"not judged: {plan.not_judged}", "TENSION  ")
    return [
        "TENSION",
        *paragraph(_set_words(plan, plan.tension), "  "),
        *paragraph(_tune_words(plan), "  "),
        *_warnings(plan),
        *_slip(plan),
        *[line for cure in plan.cures for line in paragraph(_cure_words(cure), "  ")],
        *_hubs(plan),
        *paragraph(_FRICTION_WORDS + (" Keep clear of a sprung arm." if is_sprung(plan.route.circuit) else "")),
    ]


def _set_words(plan: Plan, tension: SetTension) -> str:
    each = f"{tension.each_N:.0f} N in every span, engine stopped"
    if tension.rib_N is not None:
        each += f" ({tension.rib_N:.0f} N a rib)"
    if tension.end is not None:
        end, setting = tension.end
        words = f"{each}: the adjuster {END_WORDS[end]}, at {_setting_words(plan, setting)}"
        stretched = end in ("stop", "shortest path")
        return words + (", and the belt's stretch sets the tension, not the spring" if stretched else _BEYOND)
    if tension.band_N is not None:
        low, high = tension.band_N
        arm = "arm" if plan.adjuster is not None and plan.adjuster.is_arm else "slide"
        return (
            f"{each}; {low:.0f} to {high:.0f} N with {100 * DAMPING:.0f} % friction in the {arm} "
            f"({SOURCES['damping']}). The belt's stretch puts the adjuster at {_setting_words(plan, tension.setting)}, "
            "a little off its place at measuring tension"
        )
    return each + ("" if tension.source is None else f"; not given, so taken ({tension.source})")


def _setting_words(plan: Plan, setting: float) -> str:
    return f"{setting:.1f} {'deg' if plan.adjuster is not None and plan.adjuster.is_arm else 'mm'}"


def _tune_words(plan: Plan) -> str:
    spans = ", ".join(
        f"{span.start} to {span.end} {'-' if span.hertz is None else format(span.hertz, '.0f')}" for span in plan.spans
    )
    return f"plucked, engine stopped, the spans sound at (Hz): {spans}. {_SHORT_SPANS}"


def _warnings(plan: Plan) -> list[str]:
    bound, adjuster = demanded(plan.layout, "min_take_up_percent"), plan.adjuster
    if adjuster is None or not adjuster.sprung or bound.verdict(adjuster.take_up_percent) is None:
        return []
    percent = f"{adjuster.take_up_percent:.0f} % of the best here"
    return paragraph(f"the adjuster takes up only {percent}: do not rely on the tension from its spring", "  ")


def _slip(plan: Plan) -> list[str]:
    if not plan.slip or plan.operation is None:
        return paragraph("no pulley has a `load`: slip is not judged", "  ")
    rows = [[row.pulley, *_slip_cells(row, plan.operation.duties)] for row in plan.slip]
    heads = ["slip", "worst duty", *CONDITIONS, *["revving"] * bool(plan.revving), "worst at", "torque"]
    words = "Share of the grip used in steady running, worst over all speeds and duties; 1 is slip."
    return [
        *table(heads, rows, left=2),
        *paragraph(f"{words}{_revving_words(plan)} Most power taken in steady running: {plan.power_kW:.1f} kW."),
        *[line for assumed in assumed_words(plan.route.pulleys) for line in paragraph(assumed, "  ")],
    ]


def assumed_words(pulleys: tuple[Pulley, ...]) -> list[str]:
    """One sentence for each thing that is assumed alike of one or more pulleys."""
    about: dict[str, list[str]] = {}
    for pulley in pulleys:
        for words in _assumed_of(pulley.load):
            about.setdefault(words, []).append(pulley.name)
    return [f"assumed for {', '.join(names)}: {words}" for words, names in about.items()]


def _assumed_of(load: Load | None) -> list[str]:
    words = []
    if isinstance(load, AlternatorLoad) and "output" in load.assumed:
        words.append(f"output {OUTPUT_WORDS} [{OUTPUT_SOURCE}]; give `output` from its sheet")
    if isinstance(load, AlternatorLoad | PumpLoad) and "efficiency" in load.assumed:
        source = ALTERNATOR_SOURCE if isinstance(load, AlternatorLoad) else PRACTICE
        words.append(f"efficiency {load.efficiency:g} [{source}]; give `efficiency`")
    return words


def _revving_words(plan: Plan) -> str:
    rate = plan.layout.engine.rev_up_rpm_per_s
    if not plan.revving or rate is None:
        return ""
    return f" Revving: the worst when wet while the engine speeds up or slows down by {rate:g} rpm a second."


def _slip_cells(row: Slip, duties: tuple[str, ...]) -> list[str]:
    points = row.points if row.revving is None else (*row.points, row.revving)
    cells = [f"{point.utilisation:.2f}" if np.isfinite(point.utilisation) else "slack" for point in points]
    return [duties[row.wet.duty], *cells, f"{row.wet.rpm:.0f} rpm", f"{row.torque_Nm:.1f} Nm"]


def _cure_words(cure: Cure) -> str:
    if cure.preload_factor is None or cure.times is None:
        return f"{cure.condition}: no tension brings the worst use to {WANTED_USE:g}: more wrap"
    done = f"would bring the worst use to {WANTED_USE:g}"
    by = ": a shorter belt" if cure.holds == "belt tension" else ""
    if cure.at is None or cure.rate is None:
        wanted = cure.preload_factor * cure.now
        return f"{cure.condition}: a {cure.holds} of {wanted:.4g} N (now {cure.now:.4g}) {done}{by}"
    scale, names, unit = _SPRING[cure.holds]
    now = (cure.now / scale, cure.rate / scale)
    torque, rate = (f"{name} {cure.times * was:.4g} (now {was:.4g})" for name, was in zip(names, now, strict=True))
    return f"{cure.condition}: a spring {cure.times:.2f} times as strong {done}: {torque} at {cure.at:g} {unit}, {rate}"


def _hubs(plan: Plan) -> list[str]:
    rows = [[hub.pulley, *_load_cells(hub.stopped_N), *_load_cells(hub.running_N)] for hub in plan.hubs]
    heads = ["pull on the hub", "stopped", "toward", "worst running", "toward"]
    words = "Directions in degrees, 0 right, 90 up."
    if plan.adjuster is not None and plan.adjuster.is_arm:
        words += " The pivot of an arm carries the pull on its pulley's hub."
    return [*table(heads, rows), *paragraph(words)]


def _load_cells(load: Floats) -> list[str]:
    return [f"{np.hypot(load[0], load[1]):.0f} N", f"{np.degrees(np.arctan2(load[1], load[0])) % 360.0:.0f}"]


# The terminal report: verdict first, then findings, pulleys, adjuster, belts, cautions.

_LEAST_WINDOW_MM = 0.1
"""A window narrower than this is no window."""


def report_text(plan: Plan) -> str:
    """The whole report as plain text, no line over 100 columns."""
    parts = (
        _head(plan),
        findings_lines(plan.findings),
        _pulleys(plan),
        _spans(plan),
        _adjuster(plan),
        _belts_lines(plan.route),
        tension_lines(plan),
    )
    lines = [line for part in parts if part for line in [*part, ""]]
    return "\n".join([*lines, *paragraph(SAFETY, "CAUTION  ")])


def _head(plan: Plan) -> list[str]:
    variant = f" (variant: {plan.layout.variant})" if plan.layout.variant else ""
    return [
        *paragraph(plan.layout.title + variant),
        *paragraph(plan.verdict, "VERDICT  "),
        *paragraph(_belt_words(plan.route), "BELT     "),
    ]


def _belt_words(route: Route) -> str:
    profile = route.layout.belt.profile
    needed = "none at the design setting" if route.needed_mm is None else _both(route, route.needed_mm)
    # Lengths of a classical belt say their kind themselves.
    words = [f"length needed {needed}" if profile.is_classical else f"{profile.line_name} length needed {needed}"]
    if route.designation is None:
        unlisted = unlisted_words(profile)
        words.insert(0, "no belt on the list fits" if route.to_ask_for_mm is None else unlisted)
    else:
        belt = route.layout.belt if route.judged is None else route.judged.belt
        words.insert(0, f"{route.designation} ({designation_inches(belt)} in)" + _judged_words(route))
    if route.acceptable_mm is not None:
        words.append(f"any from {_both(route, *route.acceptable_mm)} is good")
    elif route.window is not None:
        words.append(NONE_GOOD)
    return "; ".join(words)


def _judged_words(route: Route) -> str:
    if route.judged is None:
        return ", which does not fit"
    if none_can_be_put_on(route):
        return ", nearest to this path, but it cannot be put on"
    return "" if route.judged.judged == "good" else ", marginal"


def _both(route: Route, *lengths_mm: float) -> str:
    """One length, or two as an interval, in mm and inches."""
    profile = route.layout.belt.profile
    if profile.is_classical:
        return length_words(profile, *lengths_mm)
    return " to ".join(length_words(profile, length, inches=True) for length in lengths_mm)


def findings_lines(findings: tuple[Finding, ...], head: str = "FINDINGS") -> list[str]:
    """The findings under a head, each with its number, limit and source."""
    if not findings:
        return [f"{head}  none"]
    lines = [head]
    for finding in findings:
        source = f" [{_limit_words(finding)}{finding.source}]"
        lines += paragraph(f"{finding.subject}: {finding.message}{source}", f"  {finding.severity.upper():8} ")
    return lines


def _limit_words(finding: Finding) -> str:
    if finding.limit is None:
        return ""
    return f"limit {finding.limit:g} {finding.unit}; " if finding.limit == round(finding.limit, 3) else ""


def _pulleys(plan: Plan) -> list[str]:
    heads = ["pulley", "role", "side", "turns", "x mm", "y mm", "wrap", "least", "ratio", *plan.speeds_rpm]
    inside = "ribs" if plan.layout.belt.profile.is_ribbed else "inner"
    rows = [
        [
            row.name,
            role_words(row.pulley.role),
            "back" if row.pulley.on_back else inside,
            "cw" if row.turns == "clockwise" else "ccw",
            *(f"{mm:.1f}" for mm in row.at_mm),
            f"{row.wrap_deg:.1f}",
            "-" if row.minimum_deg is None else f"{row.minimum_deg:.0f}",
            f"{row.ratio:.2f}",
            *(f"{rpm:.0f}" for rpm in row.rpm.values() if rpm is not None),
        ]
        for row in plan.pulleys
    ]
    return [
        "PULLEYS  in the direction of belt travel, from the driver",
        *table(heads, rows, left=4),
        *_pulley_words(plan),
    ]


def _pulley_words(plan: Plan) -> list[str]:
    belt = plan.layout.belt
    words = (
        "Seen from the front: x right, y up; cw is clockwise. Side: of the belt that runs on it. Wrap and least wrap "
        "in degrees; ratio to the driver's speed on pitch diameters, without creep, so about; then rpm."
    )
    if belt.profile.is_automotive:
        depth = f"{-belt.pitch_line_mm:.1f} mm under the rim [{pitch_line_source(belt)}]"
        words += f" Ratios are about: the cord of {belt.profile.name} is taken {depth}."
    if plan.belt_speed_m_per_s is not None:
        words += f" The belt runs {plan.belt_speed_m_per_s:.1f} m/s at {plan.speeds_rpm['max']:g} rpm."
    return paragraph(words)


def _spans(plan: Plan) -> list[str]:
    words = ", ".join(f"{span.start} to {span.end} {span.length_mm:.1f}" for span in plan.spans)
    return ["STRANDS  free length, mm", *paragraph(words, "  ", "  ")]


def _adjuster(plan: Plan) -> list[str]:
    window, adjuster = plan.route.window, plan.adjuster
    if window is None or adjuster is None:
        return ["ADJUSTER  none: only a belt that fits by its own stretch may do without"]
    held = f"{'arm' if adjuster.is_arm else 'slide'}, {'sprung' if adjuster.sprung else 'locked by hand'}"
    usable = window.longest - window.shortest > _LEAST_WINDOW_MM
    path = f"path {_both(plan.route, window.shortest, window.longest)}" if usable else "no usable travel at its setting"
    lines = [
        f"{adjuster.pulley.name}, {held}: {path}",
        _place_words(plan.route, adjuster),
        f"fitting: slip the belt over {plan.route.last_over} last, which takes {window.fitting:.1f} mm of slack at the "
        "short-path stop",
    ]
    return ["ADJUSTER", *[line for text in lines for line in paragraph(text, "  ", "    ")]]


def _place_words(route: Route, adjuster: Adjusted) -> str:
    place, unit = ("arm at {:.1f} deg", "deg") if adjuster.is_arm else ("{:.1f} mm along the slide", "mm")
    return (
        f"judged at {100 * (route.position or 0.0):.0f} % of the travel from the short-path stop, "
        f"{place.format(adjuster.setting)}; takes up {adjuster.take_up_mm:.2f} mm of belt per {unit} "
        f"({adjuster.take_up_percent:.0f} % of the best)"
    )

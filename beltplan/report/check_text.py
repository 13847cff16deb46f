"""The terminal report: verdict first, then findings, pulleys, adjuster, belts, tension, cautions."""

from __future__ import annotations

import math

import numpy as np

from beltplan.checks.belt import NONE_GOOD, unlisted_words
from beltplan.checks.limits import Finding, demanded
from beltplan.checks.pulleys import least_wrap
from beltplan.drive.belt import MM_PER_INCH, designation_inches, format_designation, length_words
from beltplan.drive.fit import BUILT_IN_SOURCE, FittedBelt, built_in_lengths_mm, is_sprung
from beltplan.drive.mechanics import CONDITIONS, DAMPING, source_of
from beltplan.drive.operation import (
    WANTED_USE,
    Cure,
    Operation,
    cures_of,
    end_of_travel,
    spring_band_N,
    tones_Hz,
    why_not_judged,
    worst_point,
)
from beltplan.drive.route import (
    Route,
    belt_speed_m_per_s,
    engine_speeds_rpm,
    ratios,
    take_up_per_unit,
    take_up_percent,
    turning_sense,
)
from beltplan.drive.travel import END_WORDS
from beltplan.geometry.vectors import Floats
from beltplan.report.assumed import assumed_words
from beltplan.report.words import SAFETY, paragraph, pitch_line_source, role_words, table, verdict_of

MOST_ROWS = 8


def belts_lines(route: Route) -> list[str]:
    """The table's lines, best belt first."""
    profile = route.layout.belt.profile.name
    source = "" if route.layout.stock is not None else f" ({BUILT_IN_SOURCE})"
    if not route.stock and source and not built_in_lengths_mm(profile):
        return paragraph(f"{unlisted_words(route.layout.belt.profile)}: ask your supplier", "BELTS THAT FIT  ")
    if not route.stock:
        return paragraph("none on the list" + source, "BELTS THAT FIT  ")
    shown, more = route.stock[:MOST_ROWS], len(route.stock) - MOST_ROWS
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

FRICTION_WORDS = (
    "Friction varies by a factor of two with wear, water and dust: judge by the wet column and leave some in hand. The "
    "strength of brackets and bolts is for a qualified person."
)

BEYOND = ": do not rely on this tension, past there nothing holds the belt tight"
_SPRING = {
    "spring torque": (1000.0, ("torque_Nm", "rate_Nm_per_deg"), "deg"),
    "spring force": (1.0, ("force_N", "rate_N_per_mm"), "mm"),
}
"""By what sets the tension: the scale to the layout's unit, its two keys there, and the unit of `at`."""


def tension_lines(route: Route, operation: Operation | None) -> list[str]:
    """The section's lines; why there are no figures, where there are none."""
    if operation is None:
        return paragraph(f"not judged: {why_not_judged(route)}", "TENSION  ")
    return [
        "TENSION",
        *paragraph(_set_words(operation), "  "),
        *paragraph(_tune_words(operation), "  "),
        *_warnings(operation),
        *_slip(operation),
        *[line for cure in cures_of(operation) for line in paragraph(_cure_words(cure), "  ")],
        *_hubs(operation),
        *paragraph(FRICTION_WORDS + (" Keep clear of a sprung arm." if is_sprung(route.circuit) else "")),
    ]


def _set_words(operation: Operation) -> str:
    route = operation.route
    stopped, ribs = float(operation.stopped.total_N.mean()), route.layout.belt.ribs
    each = f"{stopped:.0f} N in every strand, engine stopped"
    if route.layout.belt.profile.is_ribbed:
        each += f" ({stopped / ribs:.0f} N a rib)"
    end = end_of_travel(operation)
    if operation.stopped.at_stop and end is not None:
        words = f"{each}: the adjuster {END_WORDS[end[0]]}, at {_setting_words(operation, end[1])}"
        stretched = end[0] in ("stop", "shortest path")
        return words + (", and the belt's stretch sets the tension, not the spring" if stretched else BEYOND)
    band = spring_band_N(operation, DAMPING)
    if band is not None:
        return (
            f"{each}; {band[0]:.0f} to {band[1]:.0f} N with {100 * DAMPING:.0f} % friction in the arm. The belt's "
            f"stretch puts the adjuster at {_setting_words(operation, float(operation.stopped.setting))}, a little off "
            "its place at measuring tension"
        )
    adjuster = route.circuit.adjuster
    given = adjuster is not None and adjuster.tension_N is not None
    return each + (
        "" if given or adjuster is None else f"; not given, so taken ({source_of(route.layout.belt, 'hand_set_N')})"
    )


def _setting_words(operation: Operation, setting: float) -> str:
    adjuster = operation.route.circuit.adjuster
    if adjuster is not None and adjuster.kind == "arm":
        return f"{np.degrees(setting):.1f} deg"
    return f"{setting:.1f} mm"


def _tune_words(operation: Operation) -> str:
    strands = ", ".join(
        f"{start.name} to {end.name} {'-' if hertz is None else format(hertz, '.0f')}"
        for (start, end), hertz in zip(operation.route.strands, tones_Hz(operation), strict=True)
    )
    return f"plucked, engine stopped, the strands sound at (Hz): {strands}"


def _warnings(operation: Operation) -> list[str]:
    percent = take_up_percent(operation.route)
    bound = demanded(operation.route.layout, "min_take_up_percent")
    if not is_sprung(operation.route.circuit) or percent is None or bound.verdict(percent) is None:
        return []
    words = f"the adjuster takes up only {percent:.0f} % of the best here: do not rely on the tension from its spring"
    return paragraph(words, "  ")


def _slip(operation: Operation) -> list[str]:
    if not operation.carries_load:
        return paragraph("no pulley has a `load`: slip is not judged", "  ")
    rows = [
        [pulley.name, *_slip_cells(operation, i)]
        for i, pulley in enumerate(operation.route.pulleys)
        if i == 0 or pulley.load is not None
    ]
    power = float(operation.driver_power_kW.max())
    words = f"Share of the grip used, worst over all speeds and duties; 1 is slip. Most power taken: {power:.1f} kW."
    return [
        *table(["slip", "worst duty", *CONDITIONS, "worst at", "torque"], rows, left=2),
        *paragraph(words),
        *[line for assumed in assumed_words(operation.route.pulleys) for line in paragraph(assumed, "  ")],
    ]


def _slip_cells(operation: Operation, index: int) -> list[str]:
    points = [worst_point(operation, operation.use, index, condition) for condition in CONDITIONS]
    wet = points[CONDITIONS.index("wet")]
    torque = abs(float(operation.running.torque_Nm[wet.duty, wet.speed, index]))
    cells = [f"{point.use:.2f}" if np.isfinite(point.use) else "slack" for point in points]
    return [operation.duties[wet.duty], *cells, f"{wet.rpm:.0f} rpm", f"{torque:.1f} Nm"]


def _cure_words(cure: Cure) -> str:
    if cure.push is None:
        return f"{cure.condition}: no tension brings the worst use to {WANTED_USE:g}: more wrap"
    done = f"would bring the worst use to {WANTED_USE:g}"
    by = ": a shorter belt" if cure.holds == "belt tension" else ""
    if cure.at is None or cure.rate is None:
        return f"{cure.condition}: a {cure.holds} of {cure.push * cure.now:.4g} N (now {cure.now:.4g}) {done}{by}"
    scale, names, unit = _SPRING[cure.holds]
    now = (cure.now / scale, cure.rate / scale)
    torque, rate = (f"{name} {cure.push * was:.4g} (now {was:.4g})" for name, was in zip(names, now, strict=True))
    return f"{cure.condition}: a spring {cure.push:.2f} times as strong {done}: {torque} at {cure.at:g} {unit}, {rate}"


def _hubs(operation: Operation) -> list[str]:
    stopped = operation.stopped.hub_load_N
    rows = [
        [pulley.name, *_load_cells(stopped[i]), *_load_cells(_worst_hub(operation, i))]
        for i, pulley in enumerate(operation.route.pulleys)
    ]
    heads = ["pull on the hub", "stopped", "toward", "worst running", "toward"]
    words = "Directions in degrees, 0 right, 90 up."
    adjuster = operation.route.circuit.adjuster
    if adjuster is not None and adjuster.kind == "arm":
        words += " The pivot of an arm carries the pull on its pulley's hub."
    return [*table(heads, rows), *paragraph(words)]


def _worst_hub(operation: Operation, index: int) -> Floats:
    loads, size = operation.running.hub_load_N[..., index, :].reshape(-1, 2), operation.hub_size_N[..., index]
    return np.asarray(loads[int(np.argmax(size))])


def _load_cells(load: Floats) -> list[str]:
    return [f"{np.hypot(load[0], load[1]):.0f} N", f"{np.degrees(np.arctan2(load[1], load[0])) % 360.0:.0f}"]


# The terminal report: verdict first, then findings, pulleys, adjuster, belts, cautions.

LEAST_WINDOW_MM = 0.1
"""A window narrower than this is no window."""


def report_text(route: Route, findings: tuple[Finding, ...], operation: Operation | None) -> str:
    """The whole report as plain text, no line over 100 columns."""
    parts = (
        _head(route, findings),
        findings_lines(findings),
        _pulleys(route),
        _strands(route),
        _adjuster(route),
        belts_lines(route),
        tension_lines(route, operation),
    )
    lines = [line for part in parts if part for line in [*part, ""]]
    return "\n".join([*lines, *paragraph(SAFETY, "CAUTION  ")])


def _head(route: Route, findings: tuple[Finding, ...]) -> list[str]:
    variant = f" (variant: {route.layout.variant})" if route.layout.variant else ""
    return [
        *paragraph(route.layout.title + variant),
        *paragraph(verdict_of(findings), "VERDICT  "),
        *paragraph(_belt_words(route), "BELT     "),
    ]


def _belt_words(route: Route) -> str:
    line = route.layout.belt.profile.line_name
    needed = "none at the design setting" if route.needed_mm is None else _both(route, route.needed_mm)
    words = [f"{line} length needed {needed}"]
    if route.designation is None:
        unlisted = unlisted_words(route.layout.belt.profile)
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


def _pulleys(route: Route) -> list[str]:
    speeds = {name: rpm for name, rpm in engine_speeds_rpm(route).items() if rpm is not None}
    heads = ["pulley", "role", "side", "turns", "x mm", "y mm", "wrap", "least", "ratio", *speeds]
    rows = [
        [
            pulley.name,
            role_words(pulley.role),
            "back" if pulley.on_back else "ribs" if route.layout.belt.profile.is_ribbed else "inner",
            "cw" if turning_sense(route, pulley) == "clockwise" else "ccw",
            f"{centre[0]:.1f}",
            f"{centre[1]:.1f}",
            f"{wrap:.1f}",
            _least(route, i),
            f"{ratio:.2f}",
            *[f"{rpm * ratio:.0f}" for rpm in speeds.values()],
        ]
        for i, (pulley, centre, wrap, ratio) in enumerate(
            zip(route.pulleys, route.loop.centre, np.degrees(route.loop.wrap), ratios(route), strict=True)
        )
    ]
    return [
        "PULLEYS  in the direction of belt travel, from the driver",
        *table(heads, rows, left=4),
        *_pulley_words(route),
    ]


def _least(route: Route, index: int) -> str:
    bound = least_wrap(route.layout, route.pulleys[index])
    return "-" if bound is None else f"{bound.limit:.0f}"


def _pulley_words(route: Route) -> list[str]:
    most, belt = route.layout.engine.max_rpm, route.layout.belt
    words = (
        "Seen from the front: x right, y up; cw is clockwise. Side: of the belt that runs on it. Wrap and least wrap "
        "in degrees; ratio to the driver's speed on pitch diameters, without creep, so about; then rpm."
    )
    if belt.profile.is_automotive:
        depth = f"{-belt.pitch_line_mm:.1f} mm under the rim [{pitch_line_source(belt)}]"
        words += f" Ratios are about: the cord of {belt.profile.name} is taken {depth}."
    if most is not None:
        words += f" The belt runs {belt_speed_m_per_s(route, most):.1f} m/s at {most:g} rpm."
    return paragraph(words)


def _strands(route: Route) -> list[str]:
    words = ", ".join(
        f"{start.name} to {end.name} {span:.1f}"
        for (start, end), span in zip(route.strands, route.loop.span, strict=True)
    )
    return ["STRANDS  free length, mm", *paragraph(words, "  ", "  ")]


def _adjuster(route: Route) -> list[str]:
    window, travel, pulley = route.window, route.travel, route.moving
    if window is None or travel is None or pulley is None:
        return ["ADJUSTER  none: only a belt that fits by its own stretch may do without"]
    kind = route.circuit.adjuster.kind if route.circuit.adjuster else ""
    held = "sprung" if is_sprung(route.circuit) else "locked by hand"
    usable = window.longest - window.shortest > LEAST_WINDOW_MM
    path = f"path {_both(route, window.shortest, window.longest)}" if usable else "no usable travel at its setting"
    lines = [
        f"{pulley.name}, {kind}, {held}: {path}",
        _place_words(route),
        f"fitting: slip the belt over {window.last_over} last, which takes {window.fitting:.1f} mm of slack at the "
        "short-path stop",
    ]
    return ["ADJUSTER", *[line for text in lines for line in paragraph(text, "  ", "    ")]]


def _place_words(route: Route) -> str:
    adjuster, setting, percent = route.circuit.adjuster, route.setting, take_up_percent(route)
    if adjuster is None or setting is None or route.position is None or percent is None:
        return ""
    slope = take_up_per_unit(route) or 0.0
    place = f"judged at {100 * route.position:.0f} % of the travel from the short-path stop, "
    if adjuster.kind == "arm":
        return place + (
            f"arm at {math.degrees(setting):.1f} deg; takes up {math.radians(slope):.2f} mm of belt per deg "
            f"({percent:.0f} % of the best)"
        )
    return (
        place
        + f"{setting:.1f} mm along the slide; takes up {slope:.2f} mm of belt per mm ({percent:.0f} % of the best)"
    )

"""The terminal report: verdict first, then findings, pulleys, adjuster, belts, cautions."""

from __future__ import annotations

import math

import numpy as np

from beltplan.belts.designations import MM_PER_INCH
from beltplan.belts.fit import is_sprung
from beltplan.belts.route import Route
from beltplan.belts.speeds import belt_speed_m_per_s, engine_speeds_rpm, ratios, turning_sense
from beltplan.belts.take_up import take_up_per_unit, take_up_percent
from beltplan.checks.finding import Finding
from beltplan.checks.wrap import least_wrap
from beltplan.report.belts_text import belts_lines
from beltplan.report.tables import paragraph, table
from beltplan.report.tension_text import tension_lines
from beltplan.report.words import CAUTION, pitch_line_source, role_words, verdict_of
from beltplan.tension.operation import Operation

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
    return "\n".join([*lines, *paragraph(CAUTION, "CAUTION  ")])


def _head(route: Route, findings: tuple[Finding, ...]) -> list[str]:
    variant = f" (variant: {route.layout.variant})" if route.layout.variant else ""
    return [
        *paragraph(route.layout.title + variant),
        *paragraph(verdict_of(findings), "VERDICT  "),
        *paragraph(_belt_words(route), "BELT     "),
    ]


def _belt_words(route: Route) -> str:
    line = route.layout.belt.profile.line_name
    needed = "none at the design setting" if route.needed_mm is None else _both(route.needed_mm)
    words = [f"{line} length needed {needed}"]
    if route.designation is None:
        words.insert(0, "no belt on the list fits" if route.to_ask_for_mm is None else "none on the built-in list")
    else:
        words.insert(0, f"{route.designation} ({route.length_mm / MM_PER_INCH:.2f} in)" + _judged_words(route))
    if route.acceptable_mm is not None:
        words.append("any from {} to {} is good".format(*map(_both, route.acceptable_mm)))
    elif route.window is not None:
        words.append("no length leaves tolerance, fitting and wear in hand")
    return "; ".join(words)


def _judged_words(route: Route) -> str:
    if route.judged is None:
        return ", which does not fit"
    return "" if route.judged.judged == "good" else ", marginal"


def _both(length_mm: float) -> str:
    return f"{length_mm:.1f} mm ({length_mm / MM_PER_INCH:.2f} in)"


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
    path = f"path {_both(window.shortest)} to {_both(window.longest)}" if usable else "no usable travel at its setting"
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

"""The table of belts that fit, and what each leaves in hand."""

from __future__ import annotations

from beltplan.belts.designations import MM_PER_INCH, format_designation
from beltplan.belts.fit import FittedBelt
from beltplan.belts.route import Route
from beltplan.belts.stock import BUILT_IN_SOURCE, built_in_lengths_mm
from beltplan.report.tables import paragraph, table

MOST_ROWS = 8


def belts_lines(route: Route) -> list[str]:
    """The table's lines, best belt first."""
    profile = route.layout.belt.profile.name
    source = "" if route.layout.stock is not None else f" ({BUILT_IN_SOURCE})"
    if not route.stock and source and not built_in_lengths_mm(profile):
        return paragraph(f"no list of {profile} lengths is built in: ask your supplier", "BELTS THAT FIT  ")
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
    return [fitted.designation, fitted.judged, f"{fitted.line_mm / MM_PER_INCH:.2f}"]


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

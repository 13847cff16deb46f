"""The table of belts that fit, and what each leaves in hand."""

from __future__ import annotations

from beltplan.belts.designations import MM_PER_INCH
from beltplan.belts.fit import FittedBelt
from beltplan.belts.route import Route
from beltplan.belts.stock import BUILT_IN_SOURCE
from beltplan.report.tables import paragraph, table

MOST_ROWS = 8


def belts_lines(route: Route) -> list[str]:
    """The table's lines, best belt first."""
    source = "" if route.layout.stock is not None else f" ({BUILT_IN_SOURCE})"
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


def _tolerance(route: Route) -> list[str]:
    tolerance = route.layout.belt.tolerance_of(route.length_mm)
    words = f"Length tolerance {tolerance:.1f} mm either way. "
    if route.window is not None:
        words += "Reserves are what is left of the travel after tolerance, fitting slack and wear. "
    return paragraph(words + "All lengths at the belt's measuring tension; a tensioned belt is a little longer.")

"""Is there a belt that fits, and if not, how far off is the nearest?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.designations import MM_PER_INCH, format_designation
from beltplan.belts.fit import Window, seat_mm
from beltplan.belts.layout import Layout
from beltplan.belts.lengths import line_length_mm
from beltplan.belts.route import Route
from beltplan.belts.stock import BEGINS_MM, BUILT_IN_SOURCE, built_in_lengths_mm, stock_of
from beltplan.checks.finding import Finding, plain

CHECK = "belt_fit"
MEANING = "no belt on the list fits, or the named belt lies outside what the drive can take"
NEEDED = "computed path length of this layout"


def belt_fit_findings(route: Route) -> list[Finding]:
    """A belt that does not fit: how far off it is, and what would make it fit."""
    if route.judged is not None:
        return []
    if route.to_ask_for_mm is not None:
        return [plain(CHECK, "caution", "belt", ask_words(route.layout, route.to_ask_for_mm), BUILT_IN_SOURCE)]
    if route.window is None:
        return _nothing_fits_fixed(route)
    if route.named_outside:
        return _named_outside(route, route.window)
    return _nothing_in_window(route, route.window)


def ask_words(layout: Layout, good: tuple[float, float]) -> str:
    """What to ask a supplier for where no belt of the built-in list fits, which is from memory."""
    profile = layout.belt.profile
    begins = BEGINS_MM.get(profile.name, 0.0)
    known = f"no {profile.name} belt on the built-in list fits, and the list is short"
    if not built_in_lengths_mm(profile.name):
        known = f"no list of {profile.name} lengths is built in"
    words = f"{known}: ask a supplier for {interval_words(*good)} ({inch_words(*good)}), {profile.line_name}"
    if good[0] >= begins:
        return words
    words += f"; as far as known {profile.name} begins at {begins:.0f} mm"
    return words + (", so look for another profile or a longer path" if good[1] < begins else "")


def inch_words(least_mm: float, most_mm: float) -> str:
    """Two lengths as an interval in inches."""
    return f"{least_mm / MM_PER_INCH:.2f} to {most_mm / MM_PER_INCH:.2f} in"


def _named_outside(route: Route, window: Window) -> list[Finding]:
    off = _outside(route.length_mm, window)
    words = "short: it cannot be put on" if off < 0.0 else "long: the adjuster cannot take it up"
    window_words = interval_words(window.shortest, window.longest)
    message = f"{route.designation} is {abs(off):.1f} mm too {words}; the window is {window_words}"
    return [_off(message, off, route.length_mm)]


def _nothing_in_window(route: Route, window: Window) -> list[Finding]:
    message = f"no belt on the list lies in the window {interval_words(window.shortest, window.longest)}"
    offs = [(_outside(line_length_mm(belt), window), belt) for belt in stock_of(route.layout)]
    if not offs:
        why = "the list is empty" if route.acceptable_mm is not None else "no length is good here, it needs more travel"
        return [plain(CHECK, "problem", "belt", f"{message}: {why}", NEEDED)]
    nearest, belt = min(offs, key=lambda pair: abs(pair[0]))
    message += f"; {_near_words(offs)}: look for another length, or move a bracket"
    return [_off(message, nearest, line_length_mm(belt))]


def _outside(length_mm: float, window: Window) -> float:
    """How far a length lies outside a window: negative where too short."""
    return min(length_mm - window.shortest, 0.0) + max(length_mm - window.longest, 0.0)


def _off(message: str, off: float, length_mm: float) -> Finding:
    limit = length_mm - off
    return Finding(CHECK, "problem", "belt", message, NEEDED, length_mm, limit, "mm", -abs(off) / limit)


def _nothing_fits_fixed(route: Route) -> list[Finding]:
    needed = route.needed_mm
    if needed is None:
        return []
    belts = (route.layout.belt,) if route.named_outside else stock_of(route.layout)
    offs = [(seat_mm(belt) - needed, belt) for belt in belts]
    if not offs:
        # An ordinary belt is a problem of its own here, whatever is on a list.
        empty = plain(CHECK, "problem", "belt", f"the list is empty; the path is {needed:.1f} mm", NEEDED)
        return [] if route.layout.stock is None else [empty]
    nearest, belt = min(offs, key=lambda pair: abs(pair[0]))
    message = (
        f"there is no adjuster, and the path is {needed:.1f} mm: {_near_words(offs)}; for "
        f"{format_designation(belt)}, {move_words(route, seat_mm(belt))}"
    )
    return [_off(message, nearest, seat_mm(belt))]


def _near_words(offs: list[tuple[float, Belt]]) -> str:
    """The nearest belts, on either side, and how far they are off."""
    short = max((pair for pair in offs if pair[0] < 0.0), key=lambda pair: pair[0], default=None)
    long = min((pair for pair in offs if pair[0] >= 0.0), key=lambda pair: pair[0], default=None)
    return " and ".join(
        f"{format_designation(pair[1])} is {abs(pair[0]):.1f} mm too {word}"
        for pair, word in ((short, "short"), (long, "long"))
        if pair is not None
    )


def move_words(route: Route, length_mm: float) -> str:
    """Which pulley of a drive without adjuster to move, which way and how far, to make the path that long."""
    from beltplan.belts.moves import shortest_move  # seldom needed, so not loaded at start

    move = shortest_move(route.circuit, length_mm)
    if move is None:
        return "no single pulley moved a little makes it fit"
    return (
        f"move {move.pulley} by {move.distance_mm:.1f} mm toward {np.degrees(move.direction_rad) % 360.0:.0f} deg "
        "(0 is right, 90 up), or better, add an adjuster"
    )


def interval_words(least: float, most: float) -> str:
    """Two lengths as an interval."""
    return f"{least:.1f} to {most:.1f} mm"
